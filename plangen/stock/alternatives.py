"""Other ways to buy for the same parts, to stand beside the one chosen: boards of one length alone, sheets of one size
alone, or another stock."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from plangen.stock.breakdown import Breakdown, boards_sold, laid
from plangen.stock.lengths import Purchase
from plangen.stock.lengths_layout import LengthLayout, LengthPart, LengthStock
from plangen.stock.sheets.layout import NoLayout, SheetLayout, SheetStock
from plangen.stock.sheets.solve import cut_sheets
from plangen.tables.allowances import Allowances
from plangen.tables.yard import Yard
from plangen.units import MM_PER_FOOT, LengthUnit

_MOST = 3
"""Other lengths that are told: those that buy least."""


@dataclass(frozen=True)
class Alternative:
    """What the job would take otherwise, without spares."""

    words: str
    """``all of one length``, or the other stock's name."""
    pieces: tuple[Purchase, ...]
    cost: float | None
    waste: float


def alternatives_of(
    found: Breakdown, units: LengthUnit, allowed: Allowances, yard: Yard
) -> tuple[Alternative, ...]:
    """Of boards in one length only, the least first, and in the stocks that the yard says can stand in. By first fit:
    good enough to compare with."""
    layout = found.layout
    assert isinstance(layout, LengthLayout)
    parts = layout.parts
    sold = [board for board in layout.stock if not board.shop]
    longest = max(p.length for p in parts)
    usable = [board for board in sold if board.length >= longest + 2 * allowed.ends]
    many = sum(not layout.stock[bar.stock].shop for bar in layout.bars) > 1
    chosen = {layout.stock[bar.stock].length for bar in layout.bars if not layout.stock[bar.stock].shop}
    alone = [
        _alternative("all of one length", [board], parts, found.priced, allowed)
        for board in usable
        if many and {board.length} != chosen and board.count is None
    ]
    alone.sort(key=lambda a: (round(a.cost or _length(a.pieces), 6), a.pieces[0].length))
    special = float(MM_PER_FOOT) if units == "in" else 100.0
    others = []
    for name in dict.fromkeys(line.stock for line in yard.stands_in(found.stock.name)):
        lines = [line for line in yard.stands_in(found.stock.name) if line.stock == name]
        boards, priced = boards_sold(found.stock, lines, units, allowed.ends, longest, special)
        others.append(_alternative(name, boards, parts, priced, allowed))
    return (*alone[:_MOST], *others)


def other_sheets(found: Breakdown, allowed: Allowances, yard: Yard) -> tuple[Alternative, ...]:
    """Of sheets of one of the sizes in the list, the least first, and of the stocks that the yard says can stand in."""
    layout = found.layout
    assert isinstance(layout, SheetLayout)
    sold = [sheet for sheet in layout.stock if not sheet.shop]
    chosen = {layout.stock[s.stock] for s in layout.sheets if not layout.stock[s.stock].shop}
    alone = [
        a
        for sheet in sold
        if len(sold) > 1 and {sheet} != chosen and sheet.count is None
        if (a := _of_sheets("all of one size", [sheet], layout, found.priced, allowed)) is not None
    ]
    alone.sort(key=lambda a: round(a.cost or _area(a.pieces), 6))
    others = []
    for name in dict.fromkeys(line.stock for line in yard.stands_in(found.stock.name)):
        lines = [line for line in yard.stands_in(found.stock.name) if line.stock == name]
        priced = all(line.price is not None for line in lines)
        sizes = [(line, line.sheet or found.stock.sheet or (0.0, 0.0)) for line in lines]
        sheets = [
            SheetStock(
                name, length, width,
                line.piece_price(length, (width, found.stock.thickness or 0.0)) if priced else None,
                line.count, sold[0].grain if sold else "none",
            )
            for line, (length, width) in sizes
            if length > 0
        ]  # fmt: skip
        others.append(_of_sheets(name, sheets, layout, priced, allowed))
    return (*alone[:_MOST], *(a for a in others if a is not None))


def _of_sheets(
    words: str, sheets: Sequence[SheetStock], chosen: SheetLayout, priced: bool, allowed: Allowances
) -> Alternative | None:
    """None where a part fits on none of the sheets."""
    try:
        layout = cut_sheets(sheets, chosen.parts, allowed.kerf, effort=1)
    except NoLayout:
        return None
    used = [layout.stock[s.stock] for s in layout.sheets]
    sizes = Counter((s.length, s.width) for s in used)
    pieces = tuple(Purchase(a, n, b) for (a, b), n in sorted(sizes.items(), reverse=True))
    parts = math.fsum(p.length * p.width * p.quantity for p in layout.parts)
    return Alternative(words, pieces, layout.cost if priced else None, 1 - parts / _area(pieces))


def _area(pieces: Sequence[Purchase]) -> float:
    return math.fsum(p.length * (p.width or 0.0) * p.count for p in pieces)


def _alternative(
    words: str,
    boards: Sequence[LengthStock],
    parts: Sequence[LengthPart],
    priced: bool,
    allowed: Allowances,
) -> Alternative:
    layout, _ = laid(boards, parts, allowed, 0)
    lengths: dict[float, int] = {}
    for bar in layout.bars:
        length = layout.stock[bar.stock].length
        lengths[length] = lengths.get(length, 0) + 1
    pieces = tuple(Purchase(length, n) for length, n in sorted(lengths.items(), reverse=True))
    cost = math.fsum(layout.stock[bar.stock].price or 0.0 for bar in layout.bars) if priced else None
    return Alternative(words, pieces, cost, layout.waste)


def _length(pieces: Sequence[Purchase]) -> float:
    return math.fsum(p.length * p.count for p in pieces)
