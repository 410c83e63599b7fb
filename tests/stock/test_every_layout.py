"""Every layout of every design, held by checkers that know nothing of how it was found."""

from collections import Counter

import pytest
from bars_checked import faults
from sheet_checker import check_layout
from worked_out import DESIGNS, facts_of

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
