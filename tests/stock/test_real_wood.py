"""Honest about real wood: short parts left together for the machines, scrap for their settings, knots kept out of."""

from collections import Counter
from dataclasses import replace
from itertools import pairwise

import pytest
from bars_checked import faults
from hypothesis import given, settings
from hypothesis import strategies as st

from plangen.stock.breakdown import break_down
from plangen.stock.cutting_list import CuttingRow, cutting_list
from plangen.stock.laid_pieces import laid_stock
from plangen.stock.lengths_layout import LengthPart
from plangen.stock.materials_list import listed
from plangen.stock.real_wood import SCRAP, gang_lengths, ganged, gangs_of
from plangen.tables.allowances import ALLOWANCES
from plangen.tables.yard import NO_LIST, Lying, Sold, Yard

IN = 25.4
FOOT = 304.8


@pytest.fixture
def rows(part, model_of):
    """Cutting rows of machined parts (mark, length, quantity) of one stock, lengths in inches as cut."""

    def build(*parts: tuple[str, float, int], stock: str = "2x4 larch") -> tuple[CuttingRow, ...]:
        members = [
            part(mark, stock, ((length - 1) * IN, 3.5 * IN, 1.5 * IN), hands=(None,) * quantity)
            for mark, length, quantity in parts
        ]
        return tuple(replace(row, worked=True) for row in cutting_list(model_of(*members)))

    return build


@settings(max_examples=50, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(20, 500), st.integers(1, 4), st.sampled_from([None, 0, 1])),
        min_size=1, max_size=6,
    ),
    st.integers(0, 4),
)  # fmt: skip
def test_a_gang_is_as_long_as_a_machine_needs_and_no_longer_than_its_last_part_makes_it(
    asked: list[tuple[int, int, int | None]], kerf: int
) -> None:
    parts = [LengthPart(str(k), n, q) for k, (n, q, _) in enumerate(asked)]
    alike = [a for _, _, a in asked]
    gangs = gangs_of(parts, alike, 300, kerf)
    for gang, told in zip(gangs, gang_lengths(parts, gangs, kerf), strict=True):
        lengths = [parts[i].length for i in gang]
        assert told.length == sum(lengths) + kerf * (len(gang) - 1) >= 300
        assert told.length - lengths[-1] - kerf < 300
        assert len({alike[i] for i in gang}) == 1 < len(gang)
        assert None not in {alike[i] for i in gang}
    everything = ganged(parts, gangs)
    made = Counter[str]()
    for p in everything:
        made[p.name] += p.quantity
    assert made == Counter({p.name: p.quantity for p in parts})


def test_blocks_too_short_for_the_planer_stay_one_length(rows) -> None:
    # Common practice: nothing under 12 in goes over a planer.
    found = break_down(rows(("A", 5, 3))[0].stock, rows(("A", 5, 3)), "in")
    assert found is not None
    (gang,) = found.gangs
    assert gang.marks == ("A", "A", "A")
    assert gang.length == pytest.approx((15 + 2 / 8) * IN)
    (bar,) = found.layout.bars
    places = sorted(p.at for p in bar.parts)
    assert [b - a for a, b in pairwise(places)] == pytest.approx([5.125 * IN] * 2)
    assert faults(found.layout) == []


def test_parts_long_enough_or_of_plain_square_wood_are_cut_as_they_come(rows) -> None:
    for parts in (rows(("A", 12, 3)), tuple(replace(r, worked=False) for r in rows(("A", 5, 3)))):
        found = break_down(parts[0].stock, parts, "in")
        assert found is not None
        assert found.gangs == ()


def test_an_offcut_is_scrap_enough(rows) -> None:
    parts = rows(("A", 80, 1))
    found = break_down(parts[0].stock, parts, "in")
    assert found is not None
    assert found.scrap == 0
    assert [p.name for p in found.layout.parts] == ["A"]


def test_where_no_offcut_is_left_the_list_buys_scrap_of_the_same_section(rows) -> None:
    parts = rows(("A", 94, 1))
    (row,) = listed(parts, "in", ALLOWANCES["in"], NO_LIST)
    found = row.breakdown
    assert found is not None
    assert found.scrap == pytest.approx(12 * IN)
    # 94 in and 12 in and the kerf between them come out of 10 ft.
    assert [(p.length, p.count) for p in row.pieces] == [(10 * FOOT, 1)]
    assert any("set-up scrap" in note for note in row.notes)
    assert row.net == pytest.approx(94 * IN)
    (board,) = laid_stock(found)
    (scrap,) = [a for a in board.areas if a.name == SCRAP]
    assert (scrap.use, scrap.length) == ("offcut", pytest.approx(12 * IN))


def test_a_spare_board_serves_as_scrap(rows) -> None:
    parts = rows(("A", 94, 5))
    (row,) = listed(parts, "in", ALLOWANCES["in"], NO_LIST)
    assert row.breakdown is not None
    assert (row.breakdown.scrap, row.spare) == (0, 1)


def test_of_layouts_that_buy_as_much_the_shorter_boards_are_taken_and_it_is_proven(rows) -> None:
    parts = tuple(replace(r, worked=False) for r in rows(("A", 23, 8)))
    found = break_down(parts[0].stock, parts, "in")
    assert found is not None
    # Four of 23 in a board of 8 ft, twice, or eight in one of 16 ft.
    assert [found.layout.stock[b.stock].length for b in found.layout.bars] == [8 * FOOT] * 2
    assert found.layout.proven
    assert found.layout.cost == found.layout.bound == pytest.approx(16 * FOOT)
    assert faults(found.layout) == []


def test_knots_seen_in_a_board_of_the_shop_are_cut_round(rows) -> None:
    """The yard's list as it is entered once the boards were looked over."""
    parts = tuple(replace(r, worked=False) for r in rows(("A", 30, 3)))
    stock = parts[0].stock
    clear = Yard(lying=(Lying(stock.name, 95 * IN),), sold=(Sold(stock.name, (8 * FOOT,)),))
    knotty = replace(clear, lying=(Lying(stock.name, 95 * IN, knots=((40 * IN, 42 * IN),)),))
    (with_clear,) = listed(parts, "in", ALLOWANCES["in"], clear)
    (with_knots,) = listed(parts, "in", ALLOWANCES["in"], knotty)
    assert (with_clear.pieces, with_clear.amount) == ((), 0)
    assert with_knots.pieces[0].count == 1
    assert with_knots.breakdown is not None
    assert faults(with_knots.breakdown.layout) == []
    spoilt = [a for board in laid_stock(with_knots.breakdown) for a in board.areas if a.use == "spoilt"]
    assert [v for a in spoilt for v in (a.x, a.length)] == pytest.approx([40 * IN, 2 * IN])
