"""The materials list: what to buy at the yard, with the spare it allows for."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, TypeAlias

from plangen.joinery.model import Model
from plangen.stock.board_feet import board_feet, surface_measure
from plangen.stock.breakdown import Breakdown, break_down
from plangen.stock.cutting_list import CuttingRow, cutting_list
from plangen.stock.lengths import Purchase
from plangen.stock.lengths_layout import LengthLayout
from plangen.stock.sheets.layout import SheetLayout
from plangen.tables.allowances import BOARD_SPARE, LENGTHS_A_SPARE, SHEET_SPARE
from plangen.tables.hardwood import rough_inches
from plangen.tables.stock import Stock, stock_notes
from plangen.units import MM_PER_FOOT, LengthUnit

Measure: TypeAlias = Literal["board_feet", "area", "length"]
Unit: TypeAlias = Literal["piece", "sheet", "board foot", "square foot", "square metre"]

_SQUARE_FOOT = MM_PER_FOOT**2
_SQUARE_METRE = Fraction(10**6)


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
    """Standard lengths to buy, the spare ones among them."""
    spare: int = 0
    """How many of the pieces are spare."""
    mass: float | None = None
    """Kilograms of the finished parts; None where a part's weight is not known."""
    notes: tuple[str, ...] = ()
    breakdown: Breakdown | None = None
    """How it is cut; None where it is laid out boards in hand."""

    @property
    def waste(self) -> float:
        """The share of what is bought that the rough parts do not take: 1 - net / amount."""
        return 1 - self.net / self.amount


def materials_list(model: Model, units: LengthUnit = "in") -> tuple[MaterialRow, ...]:
    """A row for each stock of the cutting list, in its order; bought by ``units`` of the yard.

    Sections by the piece, in the standard lengths of the layout (``stock/breakdown.py``), and one spare for each
    five; a wide part takes several pieces side by side, narrow ones are ripped from one piece. Boards of random
    width by the board foot (quarter stock) or by area, 20 % over. Sheets by area, 10 % over, but never fewer than
    the layout takes, or than the parts that each fill more than half a sheet.
    """
    groups: dict[Stock, list[CuttingRow]] = {}
    for row in cutting_list(model, units):
        groups.setdefault(row.stock, []).append(row)
    return tuple(_material(stock, rows, units) for stock, rows in groups.items())


def _material(stock: Stock, rows: Sequence[CuttingRow], units: LengthUnit) -> MaterialRow:
    found = break_down(stock, rows, units)
    if stock.kind == "sheet":
        return _sheets(stock, rows, found)
    if stock.kind == "quarter":
        return _quarter_boards(stock, rows)
    return _wide_boards(stock, rows, units) if found is None else _lengths(stock, rows, found)


def _rough_area(rows: Sequence[CuttingRow]) -> float:
    return math.fsum(row.rough[0] * row.rough[1] * row.quantity for row in rows)


def _marks(rows: Sequence[CuttingRow]) -> tuple[str, ...]:
    return tuple(row.mark for row in rows)


def _mass(rows: Sequence[CuttingRow]) -> float | None:
    masses = [row.mass * row.quantity for row in rows if row.mass is not None]
    return math.fsum(masses) if len(masses) == len(rows) else None


def _quarter_boards(stock: Stock, rows: Sequence[CuttingRow]) -> MaterialRow:
    net_surface = Fraction(_rough_area(rows)) / _SQUARE_FOOT
    thickness = rough_inches(stock.nominal)
    bought = board_feet(max(1, surface_measure(net_surface * (1 + BOARD_SPARE))), thickness)
    net = float(board_feet(1, thickness) * net_surface)
    return MaterialRow(
        stock,
        _marks(rows),
        bought,
        "board foot",
        "board_feet",
        float(bought),
        net,
        mass=_mass(rows),
        notes=stock_notes(stock),
    )


def _wide_boards(stock: Stock, rows: Sequence[CuttingRow], units: LengthUnit) -> MaterialRow:
    net = _rough_area(rows)
    unit = _SQUARE_FOOT if units == "in" else _SQUARE_METRE / 10
    count = math.ceil(Fraction(net) * (1 + BOARD_SPARE) / unit)
    quantity = Fraction(count) if units == "in" else Fraction(count, 10)
    return MaterialRow(
        stock,
        _marks(rows),
        quantity,
        "square foot" if units == "in" else "square metre",
        "area",
        float(count * unit),
        net,
        mass=_mass(rows),
        notes=stock_notes(stock),
    )


def _sheets(stock: Stock, rows: Sequence[CuttingRow], found: Breakdown | None) -> MaterialRow:
    if stock.sheet is None:
        raise ValueError(f"the sheet stock {stock.name} has no sheet size")
    sheet = stock.sheet[0] * stock.sheet[1]
    net = _rough_area(rows)
    halves = sum(row.quantity for row in rows if row.rough[0] * row.rough[1] > sheet / 2)
    laid = len(found.layout.sheets) if found is not None and isinstance(found.layout, SheetLayout) else 0
    count = max(halves, laid, math.ceil(net * float(1 + SHEET_SPARE) / sheet - 1e-9))
    return MaterialRow(
        stock,
        _marks(rows),
        Fraction(count),
        "sheet",
        "area",
        count * sheet,
        net,
        mass=_mass(rows),
        notes=stock_notes(stock),
        breakdown=found,
    )


def _lengths(stock: Stock, rows: Sequence[CuttingRow], found: Breakdown) -> MaterialRow:
    """The boards of the layout, and the spares among them in the length that most of them have."""
    assert isinstance(found.layout, LengthLayout)
    lengths = Counter(found.layout.stock[bar.stock].length for bar in found.layout.bars)
    count = sum(lengths.values())
    spare = count // LENGTHS_A_SPARE
    lengths[max(lengths, key=lambda n: (lengths[n], -n))] += spare
    pieces = tuple(Purchase(length, n) for length, n in sorted(lengths.items(), reverse=True))
    return MaterialRow(
        stock,
        _marks(rows),
        Fraction(count + spare),
        "piece",
        "length",
        math.fsum(purchase.length * purchase.count for purchase in pieces),
        math.fsum(p.length * p.quantity for p in found.layout.parts),
        pieces=pieces,
        spare=spare,
        mass=_mass(rows),
        notes=stock_notes(stock),
        breakdown=found,
    )


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
