"""Every layout of every design, held by checkers that know nothing of how it was found."""

import csv
import io
from collections import Counter

import pytest
from bars_checked import faults
from sheet_checker import check_layout
from worked_out import DESIGNS, facts_of

from plangen.export.csv_lists import materials_list_csv
from plangen.stock.laid_pieces import laid_stock
from plangen.stock.lengths_layout import LengthLayout
from plangen.stock.real_wood import SCRAP


@pytest.mark.parametrize("path", DESIGNS, ids=lambda p: p.stem)
def test_every_part_comes_out_of_what_is_bought_and_every_cut_can_be_made(path) -> None:
    facts = facts_of(path)
    for row in facts.materials:
        found = row.breakdown
        if found is None:
            assert row.unit in ("board foot", "square foot", "square metre", "sheet")
            continue
        layout = found.layout
        if isinstance(layout, LengthLayout):
            assert faults(layout) == []
            boards = Counter(
                layout.stock[b.stock].length for b in layout.bars if not layout.stock[b.stock].shop
            )
        else:
            check_layout(layout, layout.stock, layout.parts, layout.kerf, layout.trim, turn=True)
            boards = Counter(
                layout.stock[s.stock].length for s in layout.sheets if not layout.stock[s.stock].shop
            )
        bought = Counter[float]()
        for p in row.pieces:
            bought[p.length] += p.count
        assert all(bought[length] >= n for length, n in boards.items())
        assert bought.total() - boards.total() == row.spare
        _holds_the_cutting_list(row, layout)


def _holds_the_cutting_list(row, layout) -> None:
    """Each mark as often and as long as the cutting list has it; ripped and glued ones by their pieces."""
    found = row.breakdown
    ripped = {mark: (side, beside) for mark, side, beside in found.ripped}
    made = Counter[str]()
    for part in layout.parts:
        made[part.name] += part.quantity
    del made[SCRAP]
    for listed in found.rows:
        side, beside = ripped.get(listed.mark, (1, 1))
        assert made.pop(listed.mark) == -(-listed.quantity * beside // side)
        lengths = {p.length for p in layout.parts if p.name == listed.mark}
        assert lengths == {listed.rough[0]}
    assert not made


@pytest.mark.parametrize("path", DESIGNS, ids=lambda p: p.stem)
def test_of_boards_one_in_five_more_is_bought_and_said(path) -> None:
    """Five if clear, buy six (common practice); the list's own words and numbers against the boards as they are cut."""
    facts = facts_of(path)
    text = materials_list_csv(facts.materials, facts.style).decode()
    printed = {row["stock"]: row for row in csv.DictReader(io.StringIO(text, newline=""))}
    for row in facts.materials:
        if row.breakdown is None or not isinstance(row.breakdown.layout, LengthLayout):
            continue
        needed = sum(not board.shop for board in laid_stock(row.breakdown))
        told = printed[row.stock.name]
        assert (int(told["quantity"]), int(told["spare"])) == (needed + needed // 5, needed // 5)


@pytest.mark.parametrize("path", DESIGNS, ids=lambda p: p.stem)
def test_where_something_is_cut_into_square_wood_there_is_scrap_to_try_settings_on(path) -> None:
    """A foot of the same section, or 300 mm (common practice): an offcut, a spare board, or a length that is bought.
    None is bought beside a spare, nor of wood that is turned, only cut to size, or for jigs alone."""
    facts = facts_of(path)
    least = 304.8 if facts.design.units == "in" else 300.0
    cut_into = {m.mark for m in facts.bench.members if m.role == "work" and m.features and not m.is_round} - {
        b.flat.mark for b in facts.bent
    }
    for row in facts.materials:
        if row.breakdown is None or not isinstance(row.breakdown.layout, LengthLayout):
            continue
        left = [a for board in laid_stock(row.breakdown) for a in board.areas if a.use == "offcut"]
        bought = [a for a in left if a.name == SCRAP]
        if row.spare or not cut_into & set(row.marks):
            assert bought == []
        else:
            assert max(a.length for a in left) >= least - 1e-6
            assert len(bought) <= 1
