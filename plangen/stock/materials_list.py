"""The materials list: what to buy at the yard, with the spare it allows for."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, TypeAlias

from plangen.joinery.model import Model
from plangen.stock.board_feet import board_feet, surface_measure
from plangen.stock.cutting_list import CuttingRow, cutting_list
from plangen.stock.lengths import Purchase, lengths_to_buy
from plangen.tables.allowances import (
    ALLOWANCES,
    BAR_LENGTHS,
    BOARD_SPARE,
    LENGTHS_A_SPARE,
    ROUND_LENGTHS,
    SHEET_SPARE,
)
from plangen.tables.hardwood import rough_inches
from plangen.tables.softwood import STANDARD_LENGTHS_FEET, STANDARD_LENGTHS_METRIC
from plangen.tables.stock import Stock, stock_notes
from plangen.units import MM_PER_FOOT, LengthUnit

Measure: TypeAlias = Literal["board_feet", "area", "length"]
Unit: TypeAlias = Literal["piece", "sheet", "board foot", "square foot", "square metre"]

_SQUARE_FOOT = MM_PER_FOOT**2
_SQUARE_METRE = Fraction(10**6)
_SAME = 1e-6


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

    @property
    def waste(self) -> float:
        """The share of what is bought that the rough parts do not take: 1 - net / amount."""
        return 1 - self.net / self.amount


def materials_list(model: Model, units: LengthUnit = "in") -> tuple[MaterialRow, ...]:
    """A row for each stock of the cutting list, in its order; bought by ``units`` of the yard.

    Sections by the piece, in the one standard length that buys least by first fit with the kerf, and one
    spare for each five; a wide part takes several pieces side by side, narrow ones are ripped from one piece.
    Boards of random width by the board foot (quarter stock) or by area, 20 % over. Sheets by area, 10 % over,
    but never fewer than the parts that each fill more than half a sheet.
    """
    groups: dict[Stock, list[CuttingRow]] = {}
    for row in cutting_list(model, units):
        groups.setdefault(row.stock, []).append(row)
    return tuple(_material(stock, rows, units) for stock, rows in groups.items())


def _material(stock: Stock, rows: Sequence[CuttingRow], units: LengthUnit) -> MaterialRow:
    if stock.kind == "sheet":
        return _sheets(stock, rows)
    if stock.kind == "quarter":
        return _quarter_boards(stock, rows)
    by_length = stock.width is not None or (stock.thickness is None and _are_billets(rows))
    return _lengths(stock, rows, units) if by_length else _wide_boards(stock, rows, units)


def _are_billets(rows: Sequence[CuttingRow]) -> bool:
    """Square or round parts, each from a billet of its own: of stock without a section of its own."""
    return all(abs(row.finished[1] - row.finished[2]) < _SAME for row in rows)


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


def _sheets(stock: Stock, rows: Sequence[CuttingRow]) -> MaterialRow:
    if stock.sheet is None:
        raise ValueError(f"the sheet stock {stock.name} has no sheet size")
    sheet = stock.sheet[0] * stock.sheet[1]
    net = _rough_area(rows)
    halves = sum(row.quantity for row in rows if row.rough[0] * row.rough[1] > sheet / 2)
    count = max(halves, math.ceil(net * float(1 + SHEET_SPARE) / sheet - 1e-9))
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
    )


def _lengths(stock: Stock, rows: Sequence[CuttingRow], units: LengthUnit) -> MaterialRow:
    kerf = ALLOWANCES[units].kerf
    parts = [row.rough[0] for row in rows for _ in range(_strips(row, kerf))]
    special = float(MM_PER_FOOT) if units == "in" else 100.0
    needed = lengths_to_buy(parts, _standard_lengths(stock, units), kerf, special)
    count = sum(purchase.count for purchase in needed)
    spare = count // LENGTHS_A_SPARE
    # The last purchase is of the standard length, where there is one: spares are bought in it.
    pieces = (*needed[:-1], Purchase(needed[-1].length, needed[-1].count + spare))
    return MaterialRow(
        stock,
        _marks(rows),
        Fraction(count + spare),
        "piece",
        "length",
        math.fsum(purchase.length * purchase.count for purchase in pieces),
        math.fsum(parts),
        pieces=pieces,
        spare=spare,
        mass=_mass(rows),
        notes=stock_notes(stock),
    )


def _strips(row: CuttingRow, kerf: float) -> int:
    """How many full-width strips of its stock the row's parts take, at the part's own length."""
    width, stock_width = row.rough[1], row.stock.width or row.rough[1]
    if width > stock_width + _SAME:
        return row.quantity * math.ceil((width - _SAME) / stock_width)
    side_by_side = math.floor((stock_width + kerf + _SAME) / (width + kerf))
    return math.ceil(row.quantity / side_by_side)


def _standard_lengths(stock: Stock, units: LengthUnit) -> tuple[float, ...]:
    if stock.kind == "round":
        return ROUND_LENGTHS[units]
    if stock.kind == "bought":
        return BAR_LENGTHS[units]
    if units == "in":
        return tuple(float(feet * MM_PER_FOOT) for feet in STANDARD_LENGTHS_FEET)
    return tuple(map(float, STANDARD_LENGTHS_METRIC))


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
