"""The materials list: what to buy at the yard, what lies in the shop, the spare it allows for, and what it costs."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, TypeAlias

from plangen.joinery.model import Model
from plangen.stock.alternatives import Alternative, alternatives_of, other_sheets
from plangen.stock.board_feet import board_feet, piece_board_feet, surface_measure
from plangen.stock.breakdown import Breakdown, break_down, section_of
from plangen.stock.cutting_list import CuttingRow, cutting_list
from plangen.stock.lengths import Purchase
from plangen.stock.lengths_layout import LengthLayout, LengthStock
from plangen.stock.real_wood import SCRAP
from plangen.stock.sheets.layout import SheetLayout
from plangen.tables.allowances import ALLOWANCES, SHEET_SPARE, Allowances
from plangen.tables.hardwood import rough_inches
from plangen.tables.stock import Stock, stock_notes
from plangen.tables.yard import NO_LIST, Sold, Yard
from plangen.units import MM_PER_FOOT, LengthUnit

Measure: TypeAlias = Literal["board_feet", "area", "length"]
Unit: TypeAlias = Literal["piece", "sheet", "board foot", "square foot", "square metre"]

_SQUARE_FOOT = MM_PER_FOOT**2
_SQUARE_METRE = Fraction(10**6)
_MM3_PER_M3 = 1e9
_M3_PER_BOARD_FOOT = 0.3048**3 / 12


@dataclass(frozen=True)
class MaterialRow:
    """One line to buy; amounts include what is spare."""

    stock: Stock
    marks: tuple[str, ...]
    """The parts it is for."""
    quantity: Fraction
    """How many of ``unit``."""
    unit: Unit
    measure: Measure
    amount: float
    """What is bought: board feet, mm2 or mm by ``measure``."""
    net: float
    """What the rough parts take of it."""
    pieces: tuple[Purchase, ...] = ()
    """Lengths to buy, the spare ones among them."""
    spare: int = 0
    """How many of the pieces are spare."""
    mass: float | None = None
    """Kilograms of the finished parts; None where a part's weight is not known."""
    notes: tuple[str, ...] = ()
    breakdown: Breakdown | None = None
    """How it is cut; None where it is laid out boards in hand."""
    from_shop: tuple[Purchase, ...] = ()
    """Boards that lie in the shop and are cut first, or pieces of sheet by their length."""
    over: Fraction = Fraction(0)
    """Bought over what the parts take, as a share of that: of boards of random width."""
    spare_amount: float = 0.0
    """How much of ``amount`` is spare or bought over."""
    cost: float | None = None
    """In the yard's currency, spares and all; None where it has no price."""
    board_feet: float | None = None
    """Of what is bought, by nominal sizes where it has them."""
    cubic_metres: float | None = None
    """Of what is bought, as it measures."""
    alternatives: tuple[Alternative, ...] = ()
    """Other ways to buy for the same parts."""

    @property
    def waste(self) -> float:
        """The share of what is bought that the rough parts do not take: 1 - net / amount; 0 where nothing is."""
        return 1 - self.net / self.amount if self.amount else 0.0

    @property
    def offcuts(self) -> float:
        """The share of what is cut up that becomes offcuts and sawdust: waste without spares and what is bought
        over. 0 where nothing is bought."""
        cut = self.amount - self.spare_amount
        return max(0.0, 1 - self.net / cut) if cut > 0 else 0.0


def materials_list(
    model: Model, units: LengthUnit = "in", allowances: Allowances | None = None, yard: Yard = NO_LIST
) -> tuple[MaterialRow, ...]:
    """A row for each stock of the cutting list, in its order; bought by ``units`` of the yard.

    Sections by the piece, in the lengths of the layout (``stock/breakdown.py``), after what lies in the shop, and a
    spare for each so many; a wide part takes several pieces side by side, narrow ones are ripped from one piece.
    Boards of random width by the board foot (quarter stock) or by area, so much over. Sheets by area, 10 % over, but
    never fewer than the layout takes, or than the parts that each fill more than half a sheet. Prices are the yard's.
    """
    allowed = allowances or ALLOWANCES[units]
    return listed(cutting_list(model, units, allowed, yard), units, allowed, yard)


def listed(
    rows: Iterable[CuttingRow], units: LengthUnit, allowed: Allowances, yard: Yard
) -> tuple[MaterialRow, ...]:
    """As ``materials_list``, from the cutting list."""
    groups: dict[Stock, list[CuttingRow]] = {}
    for row in rows:
        groups.setdefault(row.stock, []).append(row)
    return tuple(_material(stock, rows, units, allowed, yard) for stock, rows in groups.items())


def _material(
    stock: Stock, rows: Sequence[CuttingRow], units: LengthUnit, allowed: Allowances, yard: Yard
) -> MaterialRow:
    found = break_down(stock, rows, units, allowed, yard)
    if stock.kind == "sheet":
        return _sheets(stock, rows, found, allowed, yard)
    if stock.kind == "quarter":
        return _quarter_boards(stock, rows, allowed, yard)
    if found is None:
        return _wide_boards(stock, rows, units, allowed, yard)
    return _lengths(stock, rows, found, units, allowed, yard)


def _rough_area(rows: Sequence[CuttingRow]) -> float:
    return math.fsum(row.area for row in rows)


def _marks(rows: Sequence[CuttingRow]) -> tuple[str, ...]:
    return tuple(row.mark for row in rows)


def _mass(rows: Sequence[CuttingRow]) -> float | None:
    masses = [row.mass * row.quantity for row in rows if row.mass is not None]
    return math.fsum(masses) if len(masses) == len(rows) else None


def _notes(stock: Stock, rows: Sequence[CuttingRow], found: Breakdown | None) -> tuple[str, ...]:
    pairs = [row.mark for row in rows if row.pair is not None]
    panels = [row.mark for row in rows if row.panel is not None]
    said = [*stock_notes(stock)]
    if pairs:
        said.append(f"{', '.join(pairs)}: two from one blank, head to foot.")
    if panels:
        said.append(f"{', '.join(panels)}: glued up from boards.")
    if found is not None and found.scrap:
        said.append("A length of it is kept as set-up scrap.")
    if found is not None and found.short:
        said.append("The yard's list has too few of them.")
    return tuple(said)


# --- boards of random width -------------------------------------------------------------------------------


def _quarter_boards(stock: Stock, rows: Sequence[CuttingRow], allowed: Allowances, yard: Yard) -> MaterialRow:
    net_surface = Fraction(_rough_area(rows)) / _SQUARE_FOOT
    thickness = rough_inches(stock.nominal)
    bought = board_feet(max(1, surface_measure(net_surface * (1 + allowed.over))), thickness)
    net = float(board_feet(1, thickness) * net_surface)
    volume = float(bought) * _M3_PER_BOARD_FOOT
    return MaterialRow(
        stock,
        _marks(rows),
        bought,
        "board foot",
        "board_feet",
        float(bought),
        net,
        mass=_mass(rows),
        notes=_notes(stock, rows, None),
        over=allowed.over,
        spare_amount=max(0.0, float(bought) - net),
        cost=_cost_of_boards(yard.sells(stock.name), volume, float(thickness) * 25.4),
        board_feet=float(bought),
        cubic_metres=volume,
    )


def _wide_boards(
    stock: Stock, rows: Sequence[CuttingRow], units: LengthUnit, allowed: Allowances, yard: Yard
) -> MaterialRow:
    net = _rough_area(rows)
    unit = _SQUARE_FOOT if units == "in" else _SQUARE_METRE / 10
    count = math.ceil(Fraction(net) * (1 + allowed.over) / unit)
    quantity = Fraction(count) if units == "in" else Fraction(count, 10)
    area = float(count * unit)
    thickness = max(row.rough[2] for row in rows)
    volume = area * thickness / _MM3_PER_M3
    return MaterialRow(
        stock,
        _marks(rows),
        quantity,
        "square foot" if units == "in" else "square metre",
        "area",
        area,
        net,
        mass=_mass(rows),
        notes=_notes(stock, rows, None),
        over=allowed.over,
        spare_amount=max(0.0, area - net),
        cost=_cost_of_boards(yard.sells(stock.name), volume, thickness),
        board_feet=volume / _M3_PER_BOARD_FOOT,
        cubic_metres=volume,
    )


def _cost_of_boards(lines: Sequence[Sold], volume: float, thickness: float) -> float | None:
    """Of so many cubic metres of boards so thick (mm); None where no line has a price by area or volume."""
    area = volume * _MM3_PER_M3 / thickness
    for line in lines:
        if line.per in ("square metre", "square foot", "cubic metre", "board foot"):
            side = math.sqrt(area)
            return line.piece_price(side, (side, thickness))
    return None


# --- sheets and lengths -----------------------------------------------------------------------------------


def _sheets(
    stock: Stock, rows: Sequence[CuttingRow], found: Breakdown | None, allowed: Allowances, yard: Yard
) -> MaterialRow:
    """Sheets of one size are counted with a tenth over; those of several, and what lies in the shop, as laid out."""
    if stock.sheet is None:
        raise ValueError(f"the sheet stock {stock.name} has no sheet size")
    layout = found.layout if found is not None and isinstance(found.layout, SheetLayout) else None
    bought, shop = _sheets_used(layout)
    net = _rough_area(rows) if layout is None else _area_on(layout, shop=False)
    size = next(iter(bought), stock.sheet) if len(bought) < 2 else None
    if size is not None and (bought or not shop):
        sheet = size[0] * size[1]
        halves = sum(row.quantity for row in rows if row.rough[0] * row.rough[1] > sheet / 2)
        least = math.ceil(net * float(1 + SHEET_SPARE) / sheet - 1e-9)
        bought = {size: max(bought.get(size, 0), least, 0 if shop else halves)}
    laid = sum(_sheets_used(layout)[0].values())
    count = sum(bought.values())
    area = math.fsum(a * b * n for (a, b), n in bought.items())
    prices = [_sheet_price(yard.sells(stock.name), stock, s) for s in bought]
    cost = None
    if found is not None and found.priced and all(p is not None for p in prices):
        cost = math.fsum((p or 0.0) * n for p, n in zip(prices, bought.values(), strict=True))
    return MaterialRow(
        stock,
        _marks(rows),
        Fraction(count),
        "sheet",
        "area",
        area,
        net,
        pieces=tuple(Purchase(a, n, b) for (a, b), n in bought.items()) if layout else (),
        spare=count - laid if layout else 0,
        mass=_mass(rows),
        notes=_notes(stock, rows, found),
        breakdown=found,
        from_shop=tuple(Purchase(a, n, b) for (a, b), n in shop.items()),
        spare_amount=area * (count - laid) / count if layout and count else 0.0,
        cost=cost,
        cubic_metres=area * (stock.thickness or 0.0) / _MM3_PER_M3,
        alternatives=other_sheets(found, allowed, yard) if found is not None and layout is not None else (),
    )


def _sheets_used(
    layout: SheetLayout | None,
) -> tuple[dict[tuple[float, float], int], dict[tuple[float, float], int]]:
    """Sheets of each size that are bought, and that are taken from the shop."""
    bought: Counter[tuple[float, float]] = Counter()
    shop: Counter[tuple[float, float]] = Counter()
    for sheet in layout.sheets if layout else ():
        stock = layout.stock[sheet.stock] if layout else None
        if stock is not None:
            (shop if stock.shop else bought)[(stock.length, stock.width)] += 1
    return dict(sorted(bought.items(), reverse=True)), dict(sorted(shop.items(), reverse=True))


def _area_on(layout: SheetLayout, shop: bool) -> float:
    """Of the parts that lie on sheets of the shop, or on those that are bought."""
    return math.fsum(
        piece.length * piece.width
        for sheet in layout.sheets
        if layout.stock[sheet.stock].shop == shop
        for piece in sheet.placed
    )


def _sheet_price(lines: Sequence[Sold], stock: Stock, size: tuple[float, float]) -> float | None:
    found = [
        line.piece_price(size[0], (size[1], stock.thickness or 0.0))
        for line in lines
        if (line.sheet or stock.sheet) == size
    ]
    prices = [price for price in found if price is not None]
    return min(prices) if prices else None


def _lengths(
    stock: Stock,
    rows: Sequence[CuttingRow],
    found: Breakdown,
    units: LengthUnit,
    allowed: Allowances,
    yard: Yard,
) -> MaterialRow:
    """The boards of the layout, and the spares among them in the length that most of them have."""
    layout = found.layout
    assert isinstance(layout, LengthLayout)
    boards = [layout.stock[bar.stock] for bar in layout.bars]
    bought = [board for board in boards if not board.shop]
    lengths = Counter(board.length for board in bought)
    spare = len(bought) // allowed.spare
    spare_length = max(lengths, key=lambda n: (lengths[n], -n)) if lengths else 0.0
    if spare:
        lengths[spare_length] += spare
    pieces = _purchases(lengths)
    amount = math.fsum(purchase.length * purchase.count for purchase in pieces)
    section = section_of(stock)
    return MaterialRow(
        stock,
        _marks(rows),
        Fraction(len(bought) + spare),
        "piece",
        "length",
        amount,
        _cut_from_bought(layout),
        pieces=pieces,
        spare=spare,
        mass=_mass(rows),
        notes=_notes(stock, rows, found),
        breakdown=found,
        from_shop=_purchases(Counter(board.length for board in boards if board.shop)),
        spare_amount=spare_length * spare,
        cost=_paid(bought, spare, spare_length) if found.priced else None,
        board_feet=piece_board_feet(stock, amount),
        cubic_metres=amount * section[0] * section[1] / _MM3_PER_M3 if section else None,
        alternatives=alternatives_of(found, units, allowed, yard),
    )


def _purchases(lengths: Counter[float]) -> tuple[Purchase, ...]:
    """The longest first."""
    return tuple(Purchase(length, n) for length, n in sorted(lengths.items(), reverse=True))


def _cut_from_bought(layout: LengthLayout) -> float:
    """How much of the boards bought the parts take, end to end."""
    return math.fsum(
        p.length
        for bar in layout.bars
        if not layout.stock[bar.stock].shop
        for p in bar.parts
        if layout.parts[p.part].name != SCRAP
    )


def _paid(bought: Sequence[LengthStock], spare: int, spare_length: float) -> float:
    """With spares at the least price of a board of their length."""
    extra = min((b.price or 0.0 for b in bought if b.length == spare_length), default=0.0)
    return math.fsum([*(b.price or 0.0 for b in bought), extra * spare])


def stock_facts(rows: Sequence[MaterialRow]) -> list[dict[str, str | int | float]]:
    """The rows as plain data for ``plan.json``: amounts in mm, mm2 and board feet, spare included."""
    return [
        {
            "name": row.stock.name,
            "bought": row.stock.nominal or row.stock.name,
            "quantity": _plain(row.quantity),
            "unit": row.unit,
            row.measure: round(row.amount, 6),
            "waste": round(row.waste, 6),
        }
        for row in rows
    ]


def _plain(value: Fraction) -> int | float:
    return value.numerator if value.denominator == 1 else round(float(value), 6)
