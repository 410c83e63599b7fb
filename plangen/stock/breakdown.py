"""How what is bought is cut: a layout for each stock of the cutting list that comes in known sizes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from plangen.stock.cutting_list import CuttingRow
from plangen.stock.lengths_layout import LengthLayout, LengthPart, LengthStock
from plangen.stock.lengths_solve import cut_lengths
from plangen.stock.real_wood import SCRAP, Gang, gang_lengths, ganged, gangs_of, has_scrap, is_machined
from plangen.stock.sheets.layout import (
    KeepOut,
    NoLayout,
    PartGrain,
    SheetGrain,
    SheetLayout,
    SheetPart,
    SheetStock,
)
from plangen.stock.sheets.solve import cut_sheets
from plangen.tables.allowances import ALLOWANCES, BAR_LENGTHS, ROUND_LENGTHS, SHORTEST_MACHINED, Allowances
from plangen.tables.softwood import STANDARD_LENGTHS_FEET, STANDARD_LENGTHS_METRIC
from plangen.tables.stock import Stock, is_metal
from plangen.tables.yard import NO_LIST, Sold, Yard
from plangen.units import MM_PER_FOOT, LengthUnit

_SAME = 1e-6
LENGTHS_EFFORT, SHEETS_EFFORT = 1, 2
"""Steps of effort of the two searches: the jobs of one piece are small, and most are proven long before."""
_WITHOUT_GRAIN = ("fibreboard", "hardboard", "particleboard")


@dataclass(frozen=True)
class Breakdown:
    """One stock and how it is cut: by its length (boards, bars, dowels) or from sheets."""

    stock: Stock
    rows: tuple[CuttingRow, ...]
    layout: LengthLayout | SheetLayout
    ripped: tuple[tuple[str, int, int], ...] = ()
    """Of boards: mark, how many parts lie side by side in one piece, how many pieces side by side make one part;
    left out where both are one."""
    priced: bool = False
    """What is bought has a price; else its cost in the layout is its size."""
    short: bool = False
    """There are fewer in the yard than the parts take."""
    gangs: tuple[Gang, ...] = ()
    """Of boards: short parts that stay one length until they are machined."""
    scrap: float = 0.0
    """Millimetres of a board kept to try settings on, where no offcut is long enough."""


def break_down(
    stock: Stock,
    rows: Sequence[CuttingRow],
    units: LengthUnit,
    allowances: Allowances | None = None,
    yard: Yard = NO_LIST,
) -> Breakdown | None:
    """None for boards of random width and length, which are laid out at the yard, boards in hand, and for sheet parts
    that no sheet holds.

    Sections take the lengths of the yard's list, else the standard ones, that come to the least in all, after what
    lies in the shop; a part longer than all of them is bought by itself, its length rounded up.
    """
    allowed = allowances or ALLOWANCES[units]
    if stock.kind == "sheet":
        return _sheets(stock, rows, allowed, yard)
    by_length = stock.width is not None or (stock.thickness is None and _are_billets(rows))
    if stock.kind == "quarter" or not by_length:
        return None
    return _lengths(stock, rows, units, allowed, yard)


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
    if is_metal(stock):
        return BAR_LENGTHS[units]
    if stock.kind == "round":
        return ROUND_LENGTHS[units]
    if units == "in":
        return tuple(float(feet * MM_PER_FOOT) for feet in STANDARD_LENGTHS_FEET)
    return tuple(map(float, STANDARD_LENGTHS_METRIC))


def section_of(stock: Stock) -> tuple[float, float] | None:
    """Width and thickness, where both are known."""
    return None if stock.width is None or stock.thickness is None else (stock.width, stock.thickness)


def _are_billets(rows: Sequence[CuttingRow]) -> bool:
    """Square or round parts, each from a billet of its own: of stock without a section of its own."""
    return all(abs(row.finished[1] - row.finished[2]) < _SAME for row in rows)


# --- boards -----------------------------------------------------------------------------------------------


def _lengths(
    stock: Stock, rows: Sequence[CuttingRow], units: LengthUnit, allowed: Allowances, yard: Yard
) -> Breakdown:
    counted = [strips(row, stock.width, allowed.kerf) for row in rows]
    parts = tuple(LengthPart(r.mark, r.rough[0], n[0]) for r, n in zip(rows, counted, strict=True))
    special = float(MM_PER_FOOT) if units == "in" else 100.0
    longest = max(p.length for p in parts)
    boards, priced = boards_sold(stock, yard.sells(stock.name), units, allowed.ends, longest, special)
    lying = [
        LengthStock(stock.name, piece.length, 0.0, piece.count, True, piece.knots, 0.0)
        for piece in yard.has(stock.name)
        if piece.width is None
    ]
    supply = (*lying, *boards)
    layout, short = laid(supply, parts, allowed, LENGTHS_EFFORT)
    layout, gangs = _with_gangs(layout, rows, allowed, SHORTEST_MACHINED[units])
    layout = _with_short_boards(layout, priced, allowed)
    scrap = _scrap_missing(layout, rows, allowed)
    if scrap:
        layout = _with_short_boards(_with_scrap(layout, scrap, allowed), priced, allowed)
    ripped = tuple((r.mark, n[1], n[2]) for r, n in zip(rows, counted, strict=True) if n[1:] != (1, 1))
    return Breakdown(stock, tuple(rows), layout, ripped, priced, short, gangs, scrap)


def _with_gangs(
    layout: LengthLayout, rows: Sequence[CuttingRow], allowed: Allowances, shortest: float
) -> tuple[LengthLayout, tuple[Gang, ...]]:
    """Short parts of one section side by side, where no more has to be bought for that."""
    sections = [(round(r.rough[1], 6), round(r.rough[2], 6)) if is_machined(r) else None for r in rows]
    alike = [None if s is None else sections.index(s) for s in sections]
    found = gangs_of(layout.parts, alike, shortest, allowed.kerf)
    if not found:
        return layout, ()
    try:
        parts = ganged(layout.parts, found)
        together = cut_lengths(layout.stock, parts, allowed.kerf, allowed.ends, LENGTHS_EFFORT)
    except NoLayout:
        return layout, ()
    if together.cost > layout.cost + _SAME:
        return layout, ()
    return together, gang_lengths(layout.parts, found, allowed.kerf)


def _scrap_missing(layout: LengthLayout, rows: Sequence[CuttingRow], allowed: Allowances) -> float:
    """The length of scrap to buy: where something is machined, and neither an offcut nor a spare board will do."""
    bought = sum(not layout.stock[bar.stock].shop for bar in layout.bars)
    machined = any(is_machined(row) and row.role == "work" for row in rows)
    wanted = machined and bought < allowed.spare and not has_scrap(layout, allowed.scrap)
    return allowed.scrap if wanted else 0.0


def _with_scrap(layout: LengthLayout, length: float, allowed: Allowances) -> LengthLayout:
    """With a length more; where the yard has too little of it, as if it had enough."""
    return laid(layout.stock, (*layout.parts, LengthPart(SCRAP, length)), allowed, LENGTHS_EFFORT)[0]


def _with_short_boards(layout: LengthLayout, priced: bool, allowed: Allowances) -> LengthLayout:
    """Of layouts that buy as much, one of shorter boards, which are easier to carry and to find straight: searched
    for where longer ones cost a trifle more, and taken if it buys no more than what is known to be least."""
    if priced or len({s.length for s in layout.stock if not s.shop}) < 2 or not layout.proven:
        return layout
    dearer = [s if s.shop else replace(s, price=s.length * (1.0 + s.length * 1e-9)) for s in layout.stock]
    other = cut_lengths(dearer, layout.parts, allowed.kerf, allowed.ends, LENGTHS_EFFORT)
    bought = math.fsum(s.length for s in (layout.stock[b.stock] for b in other.bars) if not s.shop)
    if bought > layout.cost + _SAME:
        return layout
    return replace(layout, bars=other.bars, cuts=other.cuts, work=layout.work + other.work)


def boards_sold(
    stock: Stock, lines: Sequence[Sold], units: LengthUnit, ends: float, longest: float, special: float
) -> tuple[list[LengthStock], bool]:
    """The boards to be had, the longer ones that a part may need among them; whether all have a price."""
    found: list[tuple[float, float | None, int | None]] = []
    section = section_of(stock)
    for line in lines:
        for length in line.lengths or standard_lengths(stock, units):
            found.append((length, line.piece_price(length, section), line.count))
    if not found:
        found = [(length, None, None) for length in standard_lengths(stock, units)]
    most = max(length for length, _, _ in found) - 2 * ends
    if longest > most + _SAME:
        needed = math.ceil((longest + 2 * ends - _SAME) / special) * special
        by_length = [line for line in lines if line.per != "piece"]
        price = by_length[0].piece_price(needed, section) if by_length else None
        found.append((needed, price, None))
    priced = all(price is not None for _, price, _ in found)
    return [
        LengthStock(stock.name, length, price if priced else None, count) for length, price, count in found
    ], priced


def laid(
    boards: Sequence[LengthStock], parts: Sequence[LengthPart], allowed: Allowances, effort: int
) -> tuple[LengthLayout, bool]:
    """The layout, and whether there are too few boards: it is then made as if there were enough."""
    try:
        return cut_lengths(boards, parts, allowed.kerf, allowed.ends, effort), False
    except NoLayout:
        enough = [board if board.shop else replace(board, count=None) for board in boards]
        return cut_lengths(enough, parts, allowed.kerf, allowed.ends, effort), True


# --- sheets -----------------------------------------------------------------------------------------------


def _sheets(stock: Stock, rows: Sequence[CuttingRow], allowed: Allowances, yard: Yard) -> Breakdown | None:
    if stock.sheet is None:
        raise ValueError(f"the sheet stock {stock.name} has no sheet size")
    plain = stock.species in _WITHOUT_GRAIN
    parts = [SheetPart(r.mark, r.rough[0], r.rough[1], r.quantity, _grain(r, plain)) for r in rows]
    lines = yard.sells(stock.name) or (Sold(stock.name),)
    priced = all(line.price is not None for line in lines)
    grain: SheetGrain = "none" if plain else "along"
    sheets = [
        SheetStock(
            stock.name, piece.length, piece.width, 0.0, piece.count, grain, True,
            tuple(KeepOut(*spoilt) for spoilt in piece.spoilt),
        )
        for piece in yard.has(stock.name)
        if piece.width is not None
    ]  # fmt: skip
    for line in lines:
        length, width = line.sheet or stock.sheet
        price = line.piece_price(length, (width, stock.thickness or 0.0)) if priced else length * width
        sheets.append(SheetStock(stock.name, length, width, price, line.count, grain))
    try:
        layout = cut_sheets(sheets, parts, allowed.kerf, effort=SHEETS_EFFORT)
        return Breakdown(stock, tuple(rows), layout, priced=priced)
    except NoLayout:
        pass
    try:
        enough = [sheet if sheet.shop else replace(sheet, count=None) for sheet in sheets]
        layout = cut_sheets(enough, parts, allowed.kerf, effort=SHEETS_EFFORT)
    except NoLayout:
        return None
    return Breakdown(stock, tuple(rows), layout, priced=priced, short=True)


def _grain(row: CuttingRow, plain: bool) -> PartGrain:
    return "any" if plain else "along" if row.grain == "length" else "across"
