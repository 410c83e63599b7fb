"""The lists as CSV: UTF-8, LF, no byte-order mark, fixed headings.

Sizes stand in the design's unit without a unit mark, the unit in the heading: inch lists thickness, width,
length, metric lists length, width, thickness. A fraction under an inch is written ``0 3/4``, because a
spreadsheet takes ``3/4`` for a date.
"""

from __future__ import annotations

import csv
import io
import unicodedata
from collections.abc import Iterable, Sequence
from fractions import Fraction

from plangen.drawing.wording import finished_text, rough_text
from plangen.stock.cutting_list import CuttingRow
from plangen.stock.hardware_list import HardwareRow
from plangen.stock.lengths import Purchase
from plangen.stock.materials_list import MaterialRow
from plangen.units import MM_PER_FOOT, POUNDS_PER_KILOGRAM, UnitStyle, length_text, mixed_text

_FORMULA_STARTS = ("=", "+", "-", "@", "＝", "＋", "－", "＠")
_TRADE_ORDER = {"in": ("thickness", "width", "length"), "mm": ("length", "width", "thickness")}
_SIZE_INDEX = {"length": 0, "width": 1, "thickness": 2}


def cutting_list_csv(rows: Sequence[CuttingRow], style: UnitStyle) -> bytes:
    """The cutting list, finished and rough sizes side by side."""
    order = _TRADE_ORDER[style.length]
    heading = [
        "mark", "name", "quantity", "left", "right",
        *(f"{side} ({style.length})" for side in order),
        *(f"rough {side} ({style.length})" for side in order),
        "length is", "stock", "species", "grain", "role", f"mass ({'lb' if style.length == 'in' else 'kg'})",
    ]  # fmt: skip
    return _csv(
        heading,
        (
            [
                row.mark, row.name, str(row.quantity), *_hands(row),
                *_sizes(row, style),
                row.origin, row.stock.name, row.stock.species, row.grain, row.role, _mass(row.mass, style),
            ]
            for row in rows
        ),
    )  # fmt: skip


def materials_list_csv(rows: Sequence[MaterialRow], style: UnitStyle) -> bytes:
    """What to buy, spare included, and how much of it the parts do not take."""
    heading = [
        "stock", "species", "bought", "quantity", "unit", "waste (%)", "spare", "for", "note",
        "from the shop", "offcuts (%)", "cost", "board feet", "cubic metres",
    ]  # fmt: skip
    return _csv(
        heading,
        (
            [
                row.stock.name, row.stock.species, bought_text(row, style), _count(row.quantity), row.unit,
                f"{100 * row.waste:.0f}", str(row.spare), " ".join(row.marks), " ".join(row.notes),
                ", ".join(_piece_text(p, style) for p in row.from_shop), f"{100 * row.offcuts:.0f}",
                "" if row.cost is None else f"{row.cost:.2f}",
                "" if row.board_feet is None else f"{row.board_feet:.2f}",
                "" if row.cubic_metres is None else f"{row.cubic_metres:.4f}",
            ]
            for row in rows
        ),
    )  # fmt: skip


def hardware_list_csv(rows: Sequence[HardwareRow], style: UnitStyle) -> bytes:
    """Fasteners and bought parts."""
    heading = ["name", "size", "quantity", "spare", f"length ({style.length})", "use"]
    return _csv(
        heading,
        (
            [
                row.name, row.size, str(row.quantity), str(row.spare),
                "" if row.length is None else _cell_length(row.length, style), "; ".join(row.uses),
            ]
            for row in rows
        ),
    )  # fmt: skip


def bought_text(row: MaterialRow, style: UnitStyle) -> str:
    """What to ask for, in the yard's words: ``5 of 8 ft``, ``24 board feet, random widths``, ``2 sheets``."""
    if row.pieces or row.from_shop:
        return ", ".join(_piece_text(p, style) for p in row.pieces)
    if row.unit == "board foot":
        return f"{_count(row.quantity)} board feet, random widths"
    if row.unit == "sheet" and row.stock.sheet:
        sides = " x ".join(_yard_length(side, style) for side in row.stock.sheet)
        return f"{_count(row.quantity)} of {sides}"
    plural = {"square foot": "square feet", "square metre": "square metres"}
    return f"{_count(row.quantity)} {plural.get(row.unit, row.unit)}, random widths"


def _piece_text(piece: Purchase, style: UnitStyle) -> str:
    sides = [piece.length] if piece.width is None else [piece.length, piece.width]
    return f"{piece.count} of {' x '.join(_yard_length(side, style) for side in sides)}"


def _yard_length(mm: float, style: UnitStyle) -> str:
    feet = Fraction(round(mm * 10**6), 10**6) / MM_PER_FOOT
    if style.length == "in" and feet.denominator == 1:
        return f"{feet} ft"
    return f"{length_text(mm, style)} {style.length}"


def _hands(row: CuttingRow) -> list[str]:
    return [str(row.left), str(row.right)] if row.left or row.right else ["", ""]


def _sizes(row: CuttingRow, style: UnitStyle) -> list[str]:
    """Finished, then rough."""
    order = [_SIZE_INDEX[side] for side in _TRADE_ORDER[style.length]]
    return [
        *(_cell(finished_text(row.finished[i], style)) for i in order),
        *(_cell(rough_text(row.rough[i], row.finished[i], style)) for i in order),
    ]


def _cell_length(mm: float, style: UnitStyle) -> str:
    return _cell(length_text(mm, style))


def _cell(text: str) -> str:
    """As a spreadsheet takes for a number and for no date."""
    return f"0 {text}" if "/" in text and " " not in text and "<" not in text else text


def _count(value: Fraction) -> str:
    text = mixed_text(value)
    return text if "/" not in text else f"{float(value):g}"


def _mass(mass: float | None, style: UnitStyle) -> str:
    """Of one piece: pounds in inch lists, kilograms in metric ones."""
    if mass is None:
        return ""
    return f"{mass * float(POUNDS_PER_KILOGRAM) if style.length == 'in' else mass:.2f}"


def _csv(heading: Sequence[str], rows: Iterable[Sequence[str]]) -> bytes:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(heading)
    writer.writerows([_inert(cell) for cell in row] for row in rows)
    return text.getvalue().encode("utf-8")


def _inert(cell: str) -> str:
    """``cell`` on one line, with an apostrophe before what a spreadsheet would run as a formula.

    Numbers stay numbers.
    """
    line = "".join(" " if unicodedata.category(sign) == "Cc" else sign for sign in cell)
    if not line.lstrip().startswith(_FORMULA_STARTS):
        return line
    try:
        float(line)
    except ValueError:
        return "'" + line
    return line
