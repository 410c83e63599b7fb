"""The same job from other stock, side by side with the way that is chosen."""

import pytest

from plangen.stock.lengths import Purchase
from plangen.stock.materials_list import materials_list
from plangen.tables.yard import Sold, Yard


def _ways(model, *sold: Sold) -> tuple:
    (row,) = materials_list(model, "mm", yard=Yard(sold=sold))
    return row, {a.words: a for a in row.alternatives}


def test_sheets_of_another_size_and_of_another_stock_stand_beside_the_chosen_one(part, model_of) -> None:
    model = model_of(part("A", "9 plywood", (600, 400, 9), units="mm", hands=(None,) * 3))
    row, ways = _ways(
        model,
        Sold("9 mm plywood", sheet=(1220.0, 610.0), price=20.0),
        Sold("9 mm plywood", sheet=(2440.0, 1220.0), price=60.0),
        Sold("9 mm poplar board", sheet=(1220.0, 610.0), price=15.0, instead_of="9 mm plywood"),
    )
    # Two of 600 x 400 lie on a sheet of 1220 x 610, so three take two sheets.
    assert row.pieces == (Purchase(1220.0, 2, 610.0),)
    assert row.cost == pytest.approx(40)
    assert ways["all of one size"].pieces == (Purchase(2440.0, 1, 1220.0),)
    assert ways["all of one size"].cost == pytest.approx(60)
    assert ways["9 mm poplar board"].cost == pytest.approx(30)
    assert ways["9 mm poplar board"].waste == pytest.approx(1 - 3 * 0.6 * 0.4 / (2 * 1.22 * 0.61))


def test_what_no_part_fits_on_is_no_way(part, model_of) -> None:
    model = model_of(part("A", "9 plywood", (1100, 600, 9), units="mm"))
    _, ways = _ways(
        model,
        Sold("9 mm plywood", sheet=(1220.0, 610.0)),
        Sold("9 mm poplar board", sheet=(800.0, 600.0), instead_of="9 mm plywood"),
    )
    assert ways == {}


def test_boards_of_another_wood_stand_beside_the_chosen_one(part, model_of) -> None:
    model = model_of(part("A", "45 x 95 larch", (1100, 95, 45), units="mm", hands=(None,) * 4))
    row, ways = _ways(
        model,
        Sold("45 x 95 mm larch", (2400.0,), price=6.0, per="metre"),
        Sold("45 x 95 mm spruce", (4800.0,), price=3.0, per="metre", instead_of="45 x 95 mm larch"),
    )
    assert row.cost == pytest.approx(2 * 2.4 * 6)
    assert ways["45 x 95 mm spruce"].pieces == (Purchase(4800.0, 1),)
    assert ways["45 x 95 mm spruce"].cost == pytest.approx(4.8 * 3)
