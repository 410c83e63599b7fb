"""Our tables against published figures, typed here a second time and by other rules than the tables use.

Sources are named beside each check; ``read`` means seen in a retrieved copy, ``memory`` recalled.
"""

import math
from fractions import Fraction
from itertools import pairwise

import pytest

from plangen.tables import cautions, fasteners, hardwood, panels, paper, scales, softwood, woods
from plangen.units import MM_PER_INCH, inches


@pytest.mark.parametrize(
    ("dressed", "label"),
    # Trade metric labels of dressed sizes (engineeringtoolbox.com, softwood lumber dimensions, read).
    [
        ("3/4", 19),
        ("1-1/2", 38),
        ("2-1/2", 64),
        ("3-1/2", 89),
        ("5-1/2", 140),
        ("7-1/4", 184),
        ("9-1/4", 235),
        ("11-1/4", 286),
        ("13-1/4", 337),
        ("15-1/4", 387),
    ],
)
def test_dressed_sizes_carry_the_trades_metric_labels(dressed: str, label: int) -> None:
    sizes = {*softwood.BOARD_THICKNESS.values(), *softwood.DIMENSION_WIDTH.values()}
    assert inches(dressed) in sizes
    assert math.floor(float(inches(dressed) * MM_PER_INCH) + 0.5) == label


@pytest.mark.parametrize(
    ("nominal", "dressed"),
    # PS 20 as commonly quoted by yards (read in the table's copy).
    [
        ("1 4", "3/4 3-1/2"),
        ("1 8", "3/4 7-1/4"),
        ("1-1/4 6", "1 5-1/2"),
        ("2 4", "1-1/2 3-1/2"),
        ("2 6", "1-1/2 5-1/2"),
        ("2 10", "1-1/2 9-1/4"),
        ("4 4", "3-1/2 3-1/2"),
        ("4 6", "3-1/2 5-1/2"),
        ("6 6", "5-1/2 5-1/2"),
        ("8 8", "7-1/4 7-1/4"),
        ("6 8", "5-1/2 7-1/4"),
        ("16 16", "15 15"),
    ],
)
def test_nominal_lumber_dresses_to_the_standards_dry_size(nominal: str, dressed: str) -> None:
    thickness, width = (inches(figure) for figure in nominal.split())
    assert softwood.dressed_size(thickness, width) == tuple(inches(figure) for figure in dressed.split())


def test_dressing_takes_more_off_wide_lumber_than_off_narrow() -> None:
    # PS 20 (read): 1/2 in to 7 in (boards) and 6 in (dimension), 3/4 in from 8 in up.
    for table, turn in ((softwood.BOARD_WIDTH, 8), (softwood.DIMENSION_WIDTH, 8)):
        for nominal, dressed in table.items():
            assert nominal - dressed == (Fraction(3, 4) if nominal >= turn else Fraction(1, 2))


@pytest.mark.parametrize(
    ("nominal", "green"),
    # PS 20 minimum dressed sizes, green (engineeringtoolbox.com, softwood lumber standard, read).
    [
        ("3/8 2", "11/32 1-9/16"),
        ("1/2 3", "15/32 2-9/16"),
        ("3/4 4", "11/16 3-9/16"),
        ("1 5", "25/32 4-5/8"),
        ("1-1/4 6", "1-1/32 5-5/8"),
        ("1-1/2 7", "1-9/32 6-5/8"),
        ("1 8", "25/32 7-1/2"),
        ("1 12", "25/32 11-1/2"),
        ("2 4", "1-9/16 3-9/16"),
        ("2-1/2 5", "2-1/16 4-5/8"),
        ("3 8", "2-9/16 7-1/2"),
        ("4 16", "3-9/16 15-1/2"),
        ("4-1/2 6", "4-1/16 5-5/8"),
        ("6 6", "5-1/2 5-1/2"),
        ("8 10", "7-1/2 9-1/2"),
        ("16 16", "15-1/2 15-1/2"),
    ],
)
def test_green_lumber_is_left_larger_by_what_it_shrinks(nominal: str, green: str) -> None:
    thickness, width = (inches(figure) for figure in nominal.split())
    assert softwood.dressed_size(thickness, width, green=True) == tuple(inches(f) for f in green.split())


def test_green_sizes_dry_to_about_the_dry_ones() -> None:
    # PS 20-70 (a research paper, read): 2.35 % in thickness and 2.80 % in width from green to 15 %.
    for thickness, t in softwood.DIMENSION_THICKNESS.items():
        for width, w in softwood.DIMENSION_WIDTH.items():
            green = softwood.dressed_size(thickness, width, green=True)
            assert green is not None
            assert float(green[0]) * (1 - 0.0235) == pytest.approx(float(t), abs=0.035)
            assert float(green[1]) * (1 - 0.028) == pytest.approx(float(w), abs=0.2)


def test_planing_takes_3_mm_off_a_sawn_side_to_100_mm_and_5_mm_above() -> None:
    # A British timber page of target sizes (read).
    assert softwood.planed_size(Fraction(50), Fraction(225)) == (47, 220)
    assert softwood.planed_size(Fraction(40), Fraction(100)) is None
    for sawn, planed in zip(softwood.SAWN_METRIC, softwood.PLANED_METRIC, strict=True):
        assert sawn - planed == (3 if sawn <= 100 else 5)


def test_sizes_outside_the_standard_have_no_dressed_size() -> None:
    assert softwood.dressed_size(Fraction(7, 4), Fraction(4)) is None
    assert softwood.dressed_size(Fraction(2), Fraction(7)) is None
    assert softwood.dressed_size(Fraction(30), Fraction(30)) is None
    assert softwood.dressed_size(Fraction(11, 2), Fraction(6)) is None


def test_surfacing_hardwood_takes_three_sixteenths_up_to_six_quarter_and_a_quarter_above() -> None:
    # NHLA standard surfaced thicknesses (dealers' lists read to 8/4; memory above).
    for quarter, surfaced in hardwood.SURFACED_TWO_SIDES.items():
        rough = hardwood.rough_inches(quarter)
        assert rough - surfaced == (Fraction(3, 16) if rough <= Fraction(3, 2) else Fraction(1, 4))


def test_plywood_limits_lie_about_their_category() -> None:
    # PS 1 (read): at most 1/32 in under and over for categories to 13/16, 5 % above.
    assert len(panels.PS1_LIMITS) == 15
    for category, limits in panels.PS1_LIMITS.items():
        least, most, label = (float(figure) for figure in limits)
        slack = 1 / 32 if category <= Fraction(13, 16) else float(category) * 0.05
        assert least == pytest.approx(float(category) - slack, abs=7e-4)
        assert most == pytest.approx(float(category) + slack, abs=7e-4)
        assert least < label < float(category)


def test_a_sheet_of_half_inch_plywood_weighs_what_a_builder_lifts() -> None:
    # 3.0 lb a square foot for each inch of thickness: 48 lb for 4 x 8 ft x 1/2 in (common practice).
    plywood = next(panel for panel in panels.PANELS if panel.name == "plywood")
    length, width = panels.SHEET_INCH
    pounds = plywood.density * length * width * 12.7 * 1e-9 / 0.45359237
    assert pounds == pytest.approx(48, rel=0.02)


@pytest.mark.parametrize(
    ("name", "pounds_a_cubic_foot"),
    # Usual weights at 12 % of older trade tables, lb a cubic foot (memory): within a tenth.
    [
        ("white oak", 47),
        ("red oak", 44),
        ("hard maple", 44),
        ("white ash", 42),
        ("black walnut", 38),
        ("cherry", 35),
        ("yellow-poplar", 29),
        ("douglas fir", 34),
        ("western red cedar", 23),
        ("eastern white pine", 25),
        ("american beech", 45),
        ("larch", 37),
        ("oak", 45),
        ("spruce", 29),
    ],
)
def test_densities_agree_with_trade_weights(name: str, pounds_a_cubic_foot: float) -> None:
    _, wood = woods.SPELLINGS[name]
    assert wood.density * 0.3048**3 / 0.45359237 == pytest.approx(pounds_a_cubic_foot, rel=0.1)


def test_no_spelling_names_two_woods() -> None:
    spellings = [s.removeprefix("=") for w in woods.WOODS for s in (w.name, *w.spellings)]
    assert len(spellings) == len(set(spellings))
    assert all(s == s.lower().strip() for s in spellings)


# --- screws and bolts ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("gauge", "diameter"),
    # ASME B18.6.1 list (read): printed thousandths.
    [(4, 0.112), (5, 0.125), (6, 0.138), (8, 0.164), (10, 0.190), (12, 0.216), (14, 0.242), (18, 0.294)],
)
def test_screw_gauges_have_their_printed_diameter(gauge: int, diameter: float) -> None:
    assert float(fasteners.screw_diameter(gauge)) == pytest.approx(diameter, abs=1e-9)


def test_every_screw_passes_its_clearance_hole_and_bites_in_its_pilot() -> None:
    for gauge, (hard, soft, clear) in fasteners.SCREW_HOLES.items():
        major = fasteners.screw_diameter(gauge)
        assert major <= inches(clear) <= major + Fraction(1, 64)
        assert inches(soft) <= inches(hard) < major
        if gauge in fasteners.SCREW_ROOT:
            assert float(inches(hard)) <= fasteners.SCREW_ROOT[gauge]
    for size, (metric_hard, metric_soft, metric_clear) in fasteners.METRIC_SCREWS.items():
        assert metric_soft < metric_hard < float(size) < metric_clear


def test_pilots_are_within_a_64th_of_the_boat_builders_plate() -> None:
    # A boat-building archive's plate of pilot holes (read): softwood column in 64ths.
    plate = {6: 4, 7: 4, 8: 5, 9: 5, 10: 6, 12: 7, 14: 7, 16: 9, 18: 9}
    for gauge, in_64ths in plate.items():
        assert abs(inches(fasteners.SCREW_HOLES[gauge][1]) - Fraction(in_64ths, 64)) <= Fraction(2, 64)


def test_carriage_bolt_heads_are_about_twice_the_bolt_and_their_square_fits_the_shank() -> None:
    # ASME B18.5 and DIN 603 (read): head 2 D + 3/32 at most, square within 0.02 in over the bolt.
    for size, (head, height, square, depth) in fasteners.CARRIAGE_HEADS_INCH.items():
        bolt = float(fasteners.screw_diameter(10) if size == "#10" else inches(size))
        assert head == pytest.approx(2 * bolt + 3 / 32, abs=0.005)
        assert bolt < square <= bolt + 0.02
        assert height < depth + 0.001
    for size, (head, _, square, _) in fasteners.CARRIAGE_HEADS_METRIC.items():
        bolt = float(size[1:])
        assert 2.3 * bolt < head < 2.8 * bolt
        assert bolt < square < bolt * 1.1


def test_washers_pass_their_bolt_and_cover_its_hole() -> None:
    for size, (hole, outside, _) in fasteners.WASHERS_INCH.items():
        bolt = float(fasteners.screw_diameter(10) if size == "#10" else inches(size))
        assert bolt < hole < bolt + 0.07
        assert outside > 2 * (bolt + float(fasteners.BOLT_HOLE_OVER_INCH))
    for size, (hole, outside, _) in fasteners.WASHERS_METRIC.items():
        assert float(size[1:]) < hole
        assert outside > 1.7 * float(size[1:])


# --- paper and scales ---------------------------------------------------------------------------------------


def test_each_a_sheet_is_half_the_next_and_a0_is_a_square_metre() -> None:
    # ISO 216 (read): sides in the ratio of the square root of two, rounded to whole millimetres.
    names = ["A0", "A1", "A2", "A3", "A4"]
    assert paper.SHEETS["A0"][0] * paper.SHEETS["A0"][1] == pytest.approx(1e6, rel=1e-4)
    for large, small in pairwise(names):
        assert paper.SHEETS[small] == (paper.SHEETS[large][1] // 2, paper.SHEETS[large][0])
        assert abs(paper.SHEETS[small][1] / paper.SHEETS[small][0] - math.sqrt(2)) < 0.005


def test_ansi_sheets_double_and_the_universal_tile_fits_a4_and_letter() -> None:
    assert paper.SHEETS["Letter"] == pytest.approx((215.9, 279.4))
    for small, large in (
        ("Letter", "Tabloid"),
        ("Tabloid", "ANSI C"),
        ("ANSI C", "ANSI D"),
        ("ANSI D", "ANSI E"),
    ):
        assert paper.SHEETS[large] == pytest.approx((paper.SHEETS[small][1], 2 * paper.SHEETS[small][0]))
    for name in ("A4", "Letter"):
        assert all(
            tile <= side - 20
            for tile, side in zip(paper.SHEETS["universal"], paper.SHEETS[name], strict=True)
        )


def test_a_drawing_area_of_a4_is_180_by_277() -> None:
    # ISO 5457:1999 borders (memory).
    short, long = paper.SHEETS["A4"]
    assert (short - paper.FILING_BORDER - paper.BORDER, long - 2 * paper.BORDER) == (180, 277)


def test_inch_scales_say_their_inches_to_the_foot() -> None:
    for scale in scales.INCH_SCALES:
        if scale.text.endswith(" in = 1 ft"):
            assert inches(scale.text.removesuffix(" in = 1 ft")) / 12 == scale.ratio


def test_metric_scales_are_those_of_iso_5455() -> None:
    # ISO 5455 (memory): 1, 2 and 5 times powers of ten.
    for scale in scales.ISO_SCALES:
        big = max(scale.ratio.numerator, scale.ratio.denominator)
        assert big / 10 ** int(math.log10(big) + 1e-9) in {1, 2, 5}
        assert scale.text == scale.ratio_text


def test_scales_run_from_large_to_small() -> None:
    for row in scales.SCALES.values():
        ratios = [scale.ratio for scale in row]
        assert ratios == sorted(set(ratios), reverse=True)


def test_cautions_speak_each_unit_and_the_deferral_names_codes_makers_and_licence() -> None:
    for caution in cautions.CAUTIONS:
        assert set(caution.texts) == {"in", "mm"}
        assert caution.source
        assert " in " not in caution.texts["mm"].replace(" in a ", " ").replace(" in force", "") or (
            caution.texts["mm"] == caution.texts["in"]
        )
    for word in ("Local codes", "makers' instructions", "licensed practice"):
        assert word in cautions.DEFERRAL
