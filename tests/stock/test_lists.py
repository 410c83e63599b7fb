"""The lists: what to cut, what to buy, what to ask for at the counter."""

import math
from dataclasses import replace
from fractions import Fraction

import pytest

from plangen.findings import Place
from plangen.joinery.model import Hardware
from plangen.stock.cutting_list import cutting_list, known_mass
from plangen.stock.hardware_list import hardware_list
from plangen.stock.lengths import Purchase
from plangen.stock.materials_list import MaterialRow, materials_list, stock_facts
from plangen.tables.stock import Stock, resolve_stock

IN = 25.4
FOOT = 304.8
HERE = Place("bench.yaml", 9, 1)


def test_parts_of_one_stock_stand_together_and_jigs_come_last(part, model_of) -> None:
    model = model_of(
        part("A", "2x4 larch", (600, 88.9, 38.1)),
        part("J", "2x4 larch", (100, 88.9, 38.1), role="jig"),
        part("B", "4/4 oak", (400, 80, 20)),
        part("C", "2x4 larch", (500, 88.9, 38.1)),
        part("H", "1 dowel", (40, 25, 25), role="bought", bought_size="pair of 3 in"),
    )
    assert [row.mark for row in cutting_list(model)] == ["A", "C", "B", "J"]


def test_hands_are_counted_and_quantities_are_instances(part, model_of) -> None:
    (row,) = cutting_list(
        model_of(part("A", "2x4 larch", (600, 88.9, 38.1), hands=("left", "right", "left")))
    )
    assert (row.quantity, row.left, row.right) == (3, 2, 1)
    (plain,) = cutting_list(model_of(part("A", "2x4 larch", (600, 88.9, 38.1), hands=(None, None))))
    assert (plain.quantity, plain.left, plain.right) == (2, 0, 0)


def test_a_part_is_roughed_out_longer_and_quarter_stock_wider_and_as_thick_as_it_comes(
    part, model_of
) -> None:
    section, quarter, sheet = cutting_list(
        model_of(
            part("A", "2x4 larch", (24 * IN, 3.5 * IN, 1.5 * IN)),
            part("B", "8/4 white oak", (24 * IN, 3 * IN, 1.625 * IN)),
            part("C", "1/2 plywood", (20 * IN, 10 * IN, 0.5 * IN)),
        )
    )
    # Common practice: an inch in length for both ends, a quarter for both edges of random-width boards.
    assert section.rough == pytest.approx((25 * IN, 3.5 * IN, 1.5 * IN))
    assert quarter.rough == pytest.approx((25 * IN, 3.25 * IN, 2 * IN))
    assert sheet.rough == sheet.finished


def test_wood_left_on_for_fitting_is_in_the_rough_length_and_the_length_says_it_is_fitted(
    part, model_of
) -> None:
    (row,) = cutting_list(
        model_of(part("A", "2x4 larch", (600, 88.9, 38.1), origin="fitted", allowance=(25.0, 0.0))), "mm"
    )
    assert row.rough[0] == 600 + 25 + 25
    assert row.origin == "fitted"


def test_six_two_by_fours_of_two_feet_are_bought_as_the_length_that_wastes_least(part, model_of) -> None:
    model = model_of(part("A", "2x4 larch", (22 * IN, 3.5 * IN, 1.5 * IN), hands=(None,) * 8))
    (row,) = materials_list(model)
    # Eight of 23 in rough: four a piece of 96 in (4 x 23 + 3 x 1/8 = 92 3/8), two pieces.
    assert row.pieces == (Purchase(8 * FOOT, 2),)
    assert (row.quantity, row.unit, row.spare) == (2, "piece", 0)
    assert row.amount == pytest.approx(192 * IN)
    assert row.waste == pytest.approx(1 - 8 * 23 / 192)


def test_five_lengths_if_clear_buy_six(part, model_of) -> None:
    model = model_of(part("A", "2x4 larch", (94 * IN, 3.5 * IN, 1.5 * IN), hands=(None,) * 5))
    (row,) = materials_list(model)
    assert (row.quantity, row.spare, row.pieces) == (6, 1, (Purchase(8 * FOOT, 6),))


def test_narrow_parts_are_ripped_side_by_side_and_wide_ones_take_several_boards(part, model_of) -> None:
    strips = part("A", "1x6 pine", (94 * IN, 1.75 * IN, 0.75 * IN), hands=(None,) * 4)
    wide = part("B", "1x6 pine", (94 * IN, 11 * IN, 0.75 * IN))
    # Three strips of 1-3/4 in and two kerfs of 1/8 are 5-1/2 in, the width of a 1x6: four take two boards.
    assert materials_list(model_of(strips))[0].quantity == 2
    assert materials_list(model_of(wide))[0].quantity == 2


def test_legs_from_billets_are_bought_by_length_not_by_area(part, model_of) -> None:
    billets = Stock("ash billets", "planed", "ash", None, None)
    leg = replace(part("A", "2x4 larch", (470, 38, 38), hands=(None,) * 4), stock=billets)
    (row,) = materials_list(model_of(leg), "mm")
    assert (row.unit, row.measure) == ("piece", "length")
    board = replace(part("A", "2x4 larch", (470, 120, 38)), stock=billets)
    assert materials_list(model_of(board), "mm")[0].measure == "area"


def test_hardwood_is_bought_by_the_board_foot_with_a_fifth_over(part, model_of) -> None:
    model = model_of(part("A", "8/4 white oak", (47 * IN, 5.75 * IN, 1.75 * IN), hands=(None,) * 4))
    (row,) = materials_list(model)
    # Four of 48 x 6 in rough: 8 sq ft net, 9.6 with a fifth, 10 of surface measure, 20 board feet at 2 in.
    assert (row.quantity, row.unit, row.measure) == (20, "board foot", "board_feet")
    assert row.net == pytest.approx(16)
    assert row.waste == pytest.approx(0.2)


def test_waste_is_a_share_of_what_is_bought_not_an_addition_to_what_is_used() -> None:
    # A trade digest (read): 30 % waste needs 142.86 a hundred net; adding 30 % is 23 % waste.
    def waste(amount: float) -> float:
        stock = resolve_stock("50 elm", "mm")
        return MaterialRow(stock, ("A",), Fraction(1), "square metre", "area", amount, 100.0).waste

    assert waste(142.86) == pytest.approx(0.30, abs=1e-4)
    assert waste(130.0) == pytest.approx(0.2308, abs=1e-4)


def test_sheets_are_counted_by_area_but_large_parts_take_one_each(part, model_of) -> None:
    small = part("A", "18 plywood", (600, 600, 18), units="mm", hands=(None,) * 7)
    (row,) = materials_list(model_of(small), "mm")
    assert (row.quantity, row.unit) == (1, "sheet")  # 2.52 m2 and a tenth: under one sheet of 2.977 m2
    assert row.amount == 2440 * 1220
    large = part("B", "18 plywood", (1500, 1100, 18), units="mm", hands=(None,) * 3)
    assert materials_list(model_of(large), "mm")[0].quantity == 3


def test_boards_of_any_width_are_bought_by_area(part, model_of) -> None:
    model = model_of(part("A", "50 elm", (975, 394, 50), units="mm"))
    (row,) = materials_list(model, "mm")
    # 1.0 m x 0.4 m rough is 0.4 m2, 0.48 with a fifth, bought by the tenth of a square metre.
    assert (row.quantity, row.unit, row.amount) == (Fraction(1, 2), "square metre", pytest.approx(5e5))


def test_facts_say_name_quantity_one_measure_and_waste(part, model_of) -> None:
    model = model_of(
        part("A", "2x4 larch", (600, 88.9, 38.1)),
        part("B", "4/4 oak", (400, 80, 20)),
        part("C", "1/2 plywood", (400, 80, 12.7)),
    )
    facts = stock_facts(materials_list(model))
    for fact, measure in zip(facts, ("length", "board_feet", "area"), strict=True):
        assert set(fact) == {"name", "bought", "quantity", "unit", "waste", measure}
        assert 0 <= fact["waste"] < 1
    assert [fact["name"] for fact in facts] == [m.stock.name for m in model.members]


def test_nothing_to_buy_is_less_than_what_is_cut(part, model_of) -> None:
    for stock in ("2x4 larch", "4/4 oak", "1/2 plywood", "1 dowel birch", "3/4 pine", "2x12 larch"):
        for length in (10.0, 333.3, 1219.2, 2400.0):
            for row in materials_list(model_of(part("A", stock, (length, 30, 12), hands=(None,) * 3))):
                assert row.amount >= row.net * (1 - 1e-9) or row.unit == "board foot"
                assert row.quantity > 0


def test_masses_add_up_and_unknown_weights_are_named(part, model_of) -> None:
    oak = part("A", "4/4 white oak", (1000, 100, 20), hands=(None, None))
    odd = part("B", "4/4 other zebrano", (1000, 100, 20))
    mass, unknown = known_mass(model_of(oak, odd))
    # White oak: specific gravity 0.68 at 12 % (Wood Handbook, read): 1120 x 0.68 = 762 kg/m3.
    assert mass == pytest.approx(2 * 0.002 * 762, rel=1e-3)
    assert unknown == ("B",)
    rows = {row.marks[0]: row.mass for row in materials_list(model_of(oak, odd))}
    assert rows["A"] == pytest.approx(mass)
    assert rows["B"] is None


def test_like_hardware_is_one_line_and_small_fasteners_have_a_tenth_spare(part, model_of) -> None:
    hinge = part("H", "1 dowel", (40, 25, 25), role="bought", bought_size="3 in butt", hands=(None, None))
    model = model_of(
        hinge,
        hardware=(
            Hardware("wood screw", "#8 x 1 1/4", 14, 31.75, "gussets", HERE),
            Hardware("carriage bolt", "1/4 x 3", 4, 76.2, "braces", HERE),
            Hardware("wood screw", "#8 x 1 1/4", 7, 31.75, "cleats", HERE),
        ),
    )
    screws, bolts, hinges = hardware_list(model)
    assert (screws.quantity, screws.spare, screws.uses) == (21, 3, ("gussets", "cleats"))
    assert (bolts.quantity, bolts.spare) == (4, 0)
    assert (hinges.name, hinges.size, hinges.quantity) == ("part h", "3 in butt", 2)


def test_bought_parts_named_in_the_hardware_are_not_counted_twice(part, model_of) -> None:
    hinge = part("H", "1 dowel", (40, 25, 25), role="bought", bought_size="3 in butt")
    model = model_of(hinge, hardware=(Hardware("part h", "3 in butt", 1, None, "", HERE),))
    assert [row.quantity for row in hardware_list(model)] == [1]


def test_the_bench_of_the_worked_example_weighs_as_much_as_its_wood(part, model_of) -> None:
    rows = materials_list(model_of(part("A", "2x4 doug fir", (96 * IN, 3.5 * IN, 1.5 * IN))))
    # Common practice: an 8 ft dry Douglas fir 2x4 weighs about 9 to 10 lb.
    assert rows[0].mass is not None
    assert 9 <= rows[0].mass / 0.45359237 <= 10.6
    assert math.isfinite(rows[0].waste)
