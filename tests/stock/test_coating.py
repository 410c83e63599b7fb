"""Finish and glue against published coverages."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plangen.stock.coating import bare_surface, coating_rows, glue_row, tins_for
from plangen.stock.cutting_list import cutting_list
from plangen.tables.finishes import SQUARE_FEET_A_GALLON, TINS, Coating

SQ_FT = 304.8**2
GALLON = 3.785411784


def test_500_square_feet_a_gallon_are_12_27_square_metres_a_litre() -> None:
    # A maker's page for brushed film finishes (read) gives 500 sq ft a gallon; the metric figure is arithmetic.
    assert pytest.approx(12.27, abs=0.005) == 500 * SQUARE_FEET_A_GALLON


@pytest.mark.parametrize(
    ("words", "coats", "least", "most"),
    # Square feet a gallon a coat: polyurethane 300 to 600, varnish 400 to 500 (a dealer's page, read), tung oil 400 to
    # 500 and brushed lacquer 500 (a maker's page, read), paint 350 to 400 (common practice).
    [
        ("three coats of polyurethane", 3, 300, 600),
        ("spar varnish, 2 coats", 2, 400, 500),
        ("raw tung oil", 1, 400, 500),
        ("two coats lacquer", 2, 500, 500),
        ("exterior paint", 1, 350, 400),
    ],
)
def test_finish_goes_as_far_as_its_makers_say(words: str, coats: int, least: int, most: int) -> None:
    (row,) = coating_rows(1000 * SQ_FT, (), [words], "in")
    assert row.coats == coats
    assert row.most / GALLON == pytest.approx(1000 * coats / least)
    assert row.least / GALLON == pytest.approx(1000 * coats / most)
    assert row.source


def test_a_designs_own_coverage_governs_in_its_own_unit() -> None:
    (inch,) = coating_rows(900 * SQ_FT, [Coating("floor oil", 2, 450.0)], [], "in")
    assert inch.most == inch.least == pytest.approx(4 * GALLON)
    (metric,) = coating_rows(30e6, [Coating("floor oil", 2, 15.0)], ["ten coats of paint"], "mm")
    assert (metric.most, metric.source) == (pytest.approx(4.0), "the design")


@settings(max_examples=50, deadline=None)
@given(st.floats(0.001, 30), st.sampled_from(["in", "mm"]))
def test_the_tins_bought_hold_enough_and_no_smaller_tin_would(litres: float, units: str) -> None:
    bought = tins_for(litres, units)
    assert bought >= litres - 1e-9
    sizes = TINS[units]
    if litres <= sizes[-1]:
        assert bought in sizes
        assert all(size < litres for size in sizes if size < bought)
    else:
        assert bought / sizes[-1] == pytest.approx(round(bought / sizes[-1]))
        assert bought - sizes[-1] < litres


def test_all_six_faces_are_coated_and_jigs_are_not(part, model_of) -> None:
    work = part("A", "2x4 larch", (1000, 100, 50), hands=(None, None))
    jig = part("J", "2x4 larch", (500, 100, 50), role="jig")
    area = bare_surface(model_of(work, jig), ())
    assert area == pytest.approx(2 * 2 * (1000 * 100 + 1000 * 50 + 100 * 50))


def test_a_panel_of_three_boards_takes_glue_on_two_edges(part, model_of) -> None:
    # Common practice: 150 to 250 g of white glue a square metre, 1.1 kg a litre.
    model = model_of(part("A", "25 oak", (975, 444, 25), units="mm"))
    cutting = cutting_list(model, "mm")
    (row,) = cutting
    assert row.panel is not None
    assert row.panel.boards == 3
    glue = glue_row((), cutting, "mm")
    assert glue is not None
    assert glue.area == pytest.approx(2 * 1.0 * 0.025)
    assert glue.most == pytest.approx(2 * 1.0 * 0.025 * 0.25 / 1.1)
