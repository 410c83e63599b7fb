"""How what is bought is cut: a layout for each stock of the cutting list that comes in known sizes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from plangen.stock.cutting_list import CuttingRow
from plangen.stock.lengths_layout import LengthLayout, LengthPart, LengthStock
from plangen.stock.lengths_solve import cut_lengths
from plangen.stock.sheets.layout import NoLayout, SheetLayout, SheetPart, SheetStock
from plangen.stock.sheets.solve import cut_sheets
from plangen.tables.allowances import ALLOWANCES, BAR_LENGTHS, ROUND_LENGTHS
from plangen.tables.softwood import STANDARD_LENGTHS_FEET, STANDARD_LENGTHS_METRIC
from plangen.tables.stock import Stock
from plangen.units import MM_PER_FOOT, LengthUnit

_SAME = 1e-6
LENGTHS_EFFORT, SHEETS_EFFORT = 1, 2
"""Steps of effort of the two searches: the jobs of one piece are small, and most are proven long before."""


@dataclass(frozen=True)
class Breakdown:
    """One stock and how it is cut: by its length (boards, bars, dowels) or from sheets."""

    stock: Stock
    rows: tuple[CuttingRow, ...]
    layout: LengthLayout | SheetLayout
    ripped: tuple[tuple[str, int, int], ...] = ()
    """Of boards: mark, how many parts lie side by side in one piece, how many pieces side by side make one part;
    left out where both are one."""


def break_down(stock: Stock, rows: Sequence[CuttingRow], units: LengthUnit) -> Breakdown | None:
    """None for boards of random width and length, which are laid out at the yard, boards in hand, and for sheet parts
    that no sheet holds.

    Sections take the standard lengths that come to the least in all; a part longer than all of them is bought by
    itself, its length rounded up.
    """
    if stock.kind == "sheet":
        return _sheets(stock, rows, units)
    by_length = stock.width is not None or (stock.thickness is None and _are_billets(rows))
    if stock.kind == "quarter" or not by_length:
        return None
    return _lengths(stock, rows, units)


def strips(row: CuttingRow, stock_width: float | None, kerf: float) -> tuple[int, int, int]:
    """How many full-width pieces the row's parts take, how many parts are ripped side by side out of one, and how many
    pieces side by side make one part."""
    width, whole = row.rough[1], stock_width or row.rough[1]
    if width > whole + _SAME:
        beside = math.ceil((width - _SAME) / whole)
        return row.quantity * beside, 1, beside
    side_by_side = math.floor((whole + kerf + _SAME) / (width + kerf))
    return math.ceil(row.quantity / side_by_side), side_by_side, 1


def standard_lengths(stock: Stock, units: LengthUnit) -> tuple[float, ...]:
    """Millimetres, as the stock is sold in the design's unit."""
    if stock.kind == "round":
        return ROUND_LENGTHS[units]
    if stock.kind == "bought":
        return BAR_LENGTHS[units]
    if units == "in":
        return tuple(float(feet * MM_PER_FOOT) for feet in STANDARD_LENGTHS_FEET)
    return tuple(map(float, STANDARD_LENGTHS_METRIC))


def _are_billets(rows: Sequence[CuttingRow]) -> bool:
    """Square or round parts, each from a billet of its own: of stock without a section of its own."""
    return all(abs(row.finished[1] - row.finished[2]) < _SAME for row in rows)


def _lengths(stock: Stock, rows: Sequence[CuttingRow], units: LengthUnit) -> Breakdown:
    kerf = ALLOWANCES[units].kerf
    counted = [strips(row, stock.width, kerf) for row in rows]
    parts = [LengthPart(r.mark, r.rough[0], n[0]) for r, n in zip(rows, counted, strict=True)]
    special = float(MM_PER_FOOT) if units == "in" else 100.0
    sold = standard_lengths(stock, units)
    over = sorted(
        {math.ceil((p.length - _SAME) / special) * special for p in parts if p.length > max(sold) + _SAME}
    )
    boards = [LengthStock(stock.name, length, _rather_short(length)) for length in (*sold, *over)]
    ripped = tuple((r.mark, n[1], n[2]) for r, n in zip(rows, counted, strict=True) if n[1:] != (1, 1))
    return Breakdown(stock, tuple(rows), cut_lengths(boards, parts, kerf, 0.0, LENGTHS_EFFORT), ripped)


def _rather_short(length: float) -> float:
    """What a board counts for: its length, and so little more for a long one that only ties are settled by it."""
    return length * (1.0 + length * 1e-9)


def _sheets(stock: Stock, rows: Sequence[CuttingRow], units: LengthUnit) -> Breakdown | None:
    if stock.sheet is None:
        raise ValueError(f"the sheet stock {stock.name} has no sheet size")
    parts = [
        SheetPart(r.mark, r.rough[0], r.rough[1], r.quantity, "along" if r.grain == "length" else "across")
        for r in rows
    ]
    sheet = SheetStock(stock.name, stock.sheet[0], stock.sheet[1], grain="along")
    try:
        layout = cut_sheets([sheet], parts, ALLOWANCES[units].kerf, effort=SHEETS_EFFORT)
    except NoLayout:
        return None
    return Breakdown(stock, tuple(rows), layout)
