"""Members small enough to work out by hand: what their sheets must state."""

from __future__ import annotations

import math
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from plangen.dimensioning.members import dimension_member
from plangen.dimensioning.proof import prove
from plangen.dimensioning.rounding import exact_style
from plangen.units import STYLES

ROOT = Path(__file__).parents[2]

# A leg of 38 x 90, 700 long on its face-edge arris, lying along X with its face side up. End A leans 9 mm over
# the width and 1.9 mm over the thickness; end B is square; the back edge tapers from 90 to 60 (over the box);
# a key 40 wide enters the face edge 300 mm from the world's origin, 20 deep at the face and 23.8 at the back.
LEG = """
title: Leg
units: mm
stock:
  larch: {ask for: 38 x 90 larch, thickness: 38, width: 90}
  block: {ask for: 60 x 60 larch, thickness: 60}
planes:
  slant: {through point: [0, 0, 38], square to: [-1, 0.1, 0.05]}
  stop: {through point: [700, 0, 0], square to: right}
  slope: {through point: [0, 20, 38], square to: [0, 1, 0.1]}
members:
  leg:
    stock: larch
    place:
      length: right
      width: rear
      edge: {flush with: {through point: [0, 0, 0], square to: front}}
      back: {flush with: {level at: 0, facing: down}}
    trim: {end A: slant, end B: stop}
  key:
    stock: block
    width: 40
    length: 60
    place: {corner: [300, -20, -10], length: up, width: right}
    trim: {rear: slope}
joints:
  - {notch: [key, leg], fit: snug}
"""


def test_a_compound_end_is_a_position_and_two_slopes(sheet_of):
    leg = sheet_of(LEG, "leg")
    over_width = leg.figure("end A over width")
    assert over_width.value == pytest.approx(90 * 0.1)
    assert over_width.view == "face"
    over_thickness = leg.figure("end A over thickness")
    assert over_thickness.value == pytest.approx(38 * 0.05)
    assert over_thickness.view == "edge"
    angle = leg.figure("end A over width, angle")
    assert angle.value == pytest.approx(math.degrees(math.atan2(90, 9)))
    assert angle.reference != over_width.reference


def test_the_length_is_on_the_face_edge_and_the_overall_length_stands_in_parentheses(sheet_of):
    leg = sheet_of(LEG, "leg")
    length = leg.sized("length")
    assert length.value == pytest.approx(700)
    assert length.printed == "700 ON FACE EDGE"
    assert {n for names in length.on for n in names} >= {"edge", "face"}


def test_a_sloping_notch_has_its_place_its_width_and_a_depth_at_both_sides(sheet_of):
    leg = sheet_of(LEG, "leg")
    place = leg.figure("position from end A")
    assert place.value == pytest.approx(300)
    assert place.printed == "300"
    width = leg.figure("notch 1 width")
    assert width.value == pytest.approx(40)
    assert width.held
    assert width.origin == "matched"
    depths = [f for f in leg.figures.figures if f.id.startswith("notch 1 depth")]
    assert sorted(round(f.value, 6) for f in depths) == [20.0, 23.8]


TAPERED = """
title: Tapered leg
units: in
members:
  leg:
    stock: 8/4 white oak
    thickness: 1 3/4
    width: 3 1/2
    length: 28
    place: {corner: [0, 0, 0], length: up, width: right}
    taper: {on: back edge, at end A: 2, at end B: 3 1/2}
"""


def test_a_taper_is_two_widths_and_a_note(sheet_of):
    leg = sheet_of(TAPERED, "leg")
    assert leg.figure("width at end A").printed == "2"
    assert leg.figure("width at end B").printed == "3 1/2"
    assert "Taper back edge only." in leg.figures.notes
    assert not [f for f in leg.figures.figures if f.kind == "angular"]


FRAME = """
title: Frame corner
units: mm
stock: {larch: {ask for: 27 x 90 larch, thickness: 27, width: 90}}
planes:
  level middle: {through point: [0, 0, 300], square to: up}
  depth middle: {through point: [0, 13.5, 0], square to: rear}
members:
  left post:
    stock: larch
    length: 600
    place: {corner: [0, 0, 0], length: up, width: right}
  right post:
    stock: larch
    length: 600
    place: {corner: [590, 0, 0], length: up, width: right}
  rail:
    stock: larch
    place: {length: right, face: {toward: front}, middle: [level middle, depth middle]}
    trim: {left: left post.right, right: right post.left}
joints:
  - {mortise and tenon: [rail, left post], length: 40, thickness: 9, width: 60}
  - {mortise and tenon: [rail, right post], length: 40, thickness: 9, width: 60}
"""


def test_between_the_shoulders_governs_and_the_tenons_are_added(sheet_of):
    rail = sheet_of(FRAME, "rail")
    between = rail.figure("between shoulders")
    assert between.value == pytest.approx(500)
    assert between.printed == "500 BETWEEN SHOULDERS"
    assert not between.reference
    assert rail.figure("tenon 1 length").value == pytest.approx(40)
    assert rail.sized("length").printed == "(580)"
    assert rail.figure("tenon 1 thickness").printed == "9"
    assert rail.figure("tenon 1 set-back").printed == "9"
    assert rail.figure("tenon 1 width").value == pytest.approx(60)


def test_tenon_and_mortise_print_the_same_figures(sheet_of):
    rail, post = sheet_of(FRAME, "rail"), sheet_of(FRAME, "left post and right post")
    mortise = {f.printed: f for f in post.figures.figures if "mortise 1 width" in f.id}
    for tail in ("tenon 1 thickness", "tenon 1 width"):
        tenon = rail.figure(tail)
        assert tenon.held
        assert mortise[tenon.printed].held
        assert mortise[tenon.printed].value == pytest.approx(tenon.value)


def test_a_mortise_is_figured_where_one_looks_into_it_and_its_depth_is_a_note(sheet_of):
    post = sheet_of(FRAME, "left post and right post")
    depth = post.figure("mortise 1 depth")
    # The rule of thumb leaves 1/8 in below a tenon of 40 mm.
    assert depth.value == pytest.approx(40 + 3.175)
    assert depth.kind == "depth"
    assert depth.printed == "43 DEEP"
    assert depth.view in ("edge", "back edge")


# Two panels of 10 mm meet in a corner 100 mm high, divided into five fingers.
PANELS = """
title: Corner of a box
units: mm
stock: {birch: {ask for: 10 mm birch plywood, thickness: 10}}
members:
  side:
    stock: birch
    length: 300
    width: 100
    place: {corner: [0, 0, 0], length: right, width: up}
  end:
    stock: birch
    length: 200
    width: 100
    place: {corner: [0, -10, 0], length: rear, width: up}
joints:
  - {finger joint: [side, end], finger: 20, fit: snug}
"""


def test_fingers_are_running_ordinates_and_one_depth(sheet_of):
    for name in ("side", "end"):
        panel = sheet_of(PANELS, name)
        ordinates = [f for f in panel.figures.figures if " finger from" in f.id]
        assert sorted(round(f.value, 6) for f in ordinates) == [20, 40, 60, 80]
        assert len({f.points[0][1] for f in ordinates}) == 1, "all from the face edge"
        assert panel.figure("fingers 1 depth").value == pytest.approx(10)


CROWNED = """
title: Crowned rail
units: mm
stock: {larch: {ask for: 40 x 150 larch, thickness: 40}}
members:
  rail:
    stock: larch
    width: 120
    length: 800
    place: {corner: [0, 0, 0], length: right, width: up}
    curve: {on: back edge, rise: 40, bows: out}
"""


def test_a_crown_is_a_radius_over_a_chord_with_the_rise_to_check_it(sheet_of):
    """R = (c²/4 + h²) / 2h: 800 and 40 make 2020 (the sagitta formula of the trade's handbooks, common practice)."""
    rail = sheet_of(CROWNED, "rail")
    radius = rail.figure("radius")
    assert radius.printed == "R2020"
    assert not radius.reference
    assert rail.figure("width at end A").value == pytest.approx(80)
    assert rail.figure("rise").printed == "(40)"
    assert rail.figure("width at the middle").printed == "(120)"
    # Its centre is found: the curve stands on the middle of the length, which the sheet says.
    assert any(c.kind == "symmetric" for c in rail.figures.conventions) or rail.sized("width at end B")


PLYWOOD = """
title: Shelf in its housing
units: in
stock: {ply: {ask for: 3/4 plywood, thickness: 23/32}}
members:
  upright:
    stock: 1x12 pine
    length: 30
    place: {corner: [0, 0, 0], length: up, width: rear}
  shelf:
    stock: ply
    length: 20
    width: 11 1/4
    place: {corner: [-1/4, 0, 12], length: left, width: rear}
joints:
  - {housing: [shelf, upright]}
"""


def test_a_bought_thickness_is_printed_as_it_is_on_both_sheets(sheet_of):
    shelf, upright = sheet_of(PLYWOOD, "shelf"), sheet_of(PLYWOOD, "upright")
    thickness, housing = shelf.sized("thickness"), upright.figure("housing 1 width")
    assert thickness.printed == housing.printed == "23/32"
    assert thickness.off == pytest.approx(0, abs=1e-9)
    assert thickness.origin == "bought"
    assert housing.origin == "matched"


def test_held_sizes_are_shown_at_the_coarsest_step_that_is_true():
    inch, mm = STYLES["in"], STYLES["mm"]
    assert exact_style(25.4 * 23 / 32, inch).step == Fraction(254, 10) / 32
    assert exact_style(38.1, inch).step == inch.step
    assert exact_style(9.5, mm).step == Fraction(1, 2)


# One bolt through a board, with its head let in.
BORED = """
title: Bored board
units: mm
stock: {larch: {ask for: 30 x 100 larch, thickness: 30, width: 100}}
members:
  upper:
    stock: larch
    length: 400
    place: {corner: [0, 0, 30], length: right, width: rear}
  lower:
    stock: larch
    length: 400
    place: {corner: [0, 0, 0], length: right, width: rear}
fasteners:
  - bolt: M8 x 80
    through: [upper, lower]
    from: top
    at: [[60, 40], [160, 40], [300, 40]]
    counterbore: {diameter: 24, depth: 12}
"""


def test_equal_holes_have_one_note_and_a_row_one_distance_from_the_edge(sheet_of):
    upper = sheet_of(BORED, "upper")
    notes = [f for f in upper.figures.figures if f.kind == "diameter" and not f.said_by]
    assert len(notes) == 1
    assert notes[0].printed.startswith("3 x Ø ")
    assert "THRU, CBORE Ø 24 x 12 DEEP" in notes[0].printed
    along = [f.printed for f in upper.figures.figures if f.id.endswith("centre from end A")]
    assert along == ["60", "160", "300"]
    assert [f.printed for f in upper.figures.figures if f.id.endswith("centre from face edge")] == ["40"]


def test_a_hole_bored_askew_has_its_tilt_by_offset(sheet_of):
    """The front leg of the stool leans 12 degrees out and 10 forward from plumb; the seat slopes 3 degrees
    down to the rear. The hole's offset over 44 mm of seat, worked out from the three directions alone."""
    text = (ROOT / "tests/designs/round-leg-stool.yaml").read_text(encoding="utf-8")
    seat = sheet_of(text, "seat")
    lean = (math.tan(math.radians(12)), -math.tan(math.radians(10)), -1.0)
    turn = math.radians(3)
    square = (0.0, math.sin(turn), math.cos(turn))
    across = (0.0, math.cos(turn), -math.sin(turn))
    fall = sum(a * b for a, b in zip(lean, square, strict=True))
    along = abs(44 * lean[0] / fall)
    aside = abs(44 * sum(a * b for a, b in zip(lean, across, strict=True)) / fall)
    tilts = {round(f.value, 6) for f in seat.figures.figures if " tilt " in f.id}
    assert round(along, 6) in tilts
    assert round(aside, 6) in tilts
    resultant = math.degrees(math.acos(-fall / math.sqrt(sum(a * a for a in lean))))
    line = math.degrees(math.atan2(aside, along))
    said = [p for p in seat.printed if "TOWARD END B AND" in p or "TOWARD END A AND" in p]
    assert any(f"LEANS {resultant:.1f}° TOWARD" in p for p in said)
    assert any(p.endswith(f"SIGHT LINE {line:.1f}°") for p in said)
    assert "Sight lines: on the surface bored, from the length of the piece." in seat.figures.notes


@pytest.mark.parametrize(
    ("text", "name"), [(LEG, "leg"), (FRAME, "rail"), (PANELS, "end"), (CROWNED, "rail")]
)
def test_a_sheet_with_one_figure_less_is_found_out(text, name, sheet_of, model_of):
    sheet, style = sheet_of(text, name), model_of(text)[1]
    assert prove(sheet.member, sheet.figures, style).undetermined == ()
    for figure in sheet.figures.figures:
        if not figure.reference:
            fewer = tuple(f for f in sheet.figures.figures if f is not figure)
            assert prove(sheet.member, replace(sheet.figures, figures=fewer), style).undetermined, figure.id


def test_a_figure_told_twice_is_named(sheet_of, model_of):
    sheet, style = sheet_of(LEG, "leg"), model_of(LEG)[1]
    twice = next(f for f in sheet.figures.figures if f.reference)
    figures = tuple(replace(f, reference=False) if f is twice else f for f in sheet.figures.figures)
    assert prove(sheet.member, replace(sheet.figures, figures=figures), style).redundant == (twice.id,)


def test_no_corner_of_these_members_drifts_by_more_than_three_half_steps(sheet_of, model_of):
    for text, name in ((LEG, "leg"), (TAPERED, "leg"), (FRAME, "rail"), (PANELS, "side"), (CROWNED, "rail")):
        sheet, style = sheet_of(text, name), model_of(text)[1]
        assert prove(sheet.member, sheet.figures, style).drift <= 3 * float(style.step) / 2 + 1e-6, name


def test_the_same_design_gives_the_same_figures_again(model_of):
    model, style = model_of(LEG)
    assert dimension_member(model, model.members[0], style) == dimension_member(
        model, model.members[0], style
    )
