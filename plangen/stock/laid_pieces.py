"""A board or a sheet of a layout as rectangles and numbered cuts, whichever of the two it is.

Millimetres from its lower left corner.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from plangen.stock.breakdown import Breakdown
from plangen.stock.lengths_layout import LengthLayout
from plangen.stock.real_wood import SCRAP
from plangen.stock.sheets.cuts import numbered_cuts
from plangen.stock.sheets.layout import SheetLayout


@dataclass(frozen=True)
class LaidArea:
    """A part, an offcut, or a place that is kept out of. ``name`` is the part's mark."""

    x: float
    y: float
    length: float
    width: float
    use: Literal["part", "offcut", "spoilt"]
    name: str = ""
    turned: bool = False


@dataclass(frozen=True)
class LaidCut:
    """A cut from edge to edge of what it divides, in the order in which it is made."""

    number: int
    upright: bool
    """Across the length; else along it, a rip."""
    start: tuple[float, float]
    end: tuple[float, float]
    stop: float | None
    """From fence or stop to the blade; None for a cut that only squares an end."""


@dataclass(frozen=True)
class LaidStock:
    """One board or sheet."""

    kind: Literal["BOARD", "SHEET"]
    length: float
    width: float
    shop: bool
    areas: tuple[LaidArea, ...]
    cuts: tuple[LaidCut, ...]


def laid_stock(found: Breakdown) -> tuple[LaidStock, ...]:
    """Every board or sheet of a breakdown, in the order in which they are cut."""
    layout = found.layout
    if isinstance(layout, SheetLayout):
        return tuple(laid_sheet(layout, i) for i in range(len(layout.sheets)))
    width = found.stock.width or max(row.rough[1] for row in found.rows)
    return tuple(laid_board(layout, i, width) for i in range(len(layout.bars)))


def laid_sheet(layout: SheetLayout, index: int) -> LaidStock:
    """One sheet of a layout."""
    sheet = layout.sheets[index]
    stock = layout.stock[sheet.stock]
    areas = []
    for piece in sheet.root.leaves():
        use: Literal["part", "offcut", "spoilt"] = "offcut"
        if piece.part is not None:
            use = "part"
        elif piece.keep_out:
            use = "spoilt"
        name = "" if piece.part is None else layout.parts[piece.part].name
        areas.append(LaidArea(piece.x, piece.y, piece.length, piece.width, use, name, piece.turned))
    cuts = tuple(
        LaidCut(c.number, c.cut == "crosscut", c.start, c.end, c.setting)
        for c in numbered_cuts(layout, sheet)
    )
    return LaidStock("SHEET", stock.length, stock.width, stock.shop, tuple(areas), cuts)


def _board_area(name: str, at: float, length: float, width: float) -> LaidArea:
    """Scrap that is kept to try settings on is an offcut."""
    use: Literal["part", "offcut"] = "offcut" if name == SCRAP else "part"
    return LaidArea(at, 0.0, length, width, use, name)


def laid_board(layout: LengthLayout, index: int, width: float) -> LaidStock:
    """One board of a layout, ``width`` wide."""
    bar = layout.bars[index]
    stock = layout.stock[bar.stock]
    areas = (
        *(_board_area(layout.parts[p.part].name, p.at, p.length, width) for p in bar.parts),
        *(LaidArea(o.at, 0.0, o.length, width, "offcut") for o in bar.offcuts),
        *(LaidArea(a, 0.0, b - a, width, "spoilt") for a, b in stock.keep_outs),
    )
    mine = (c for c in layout.cuts if c.bar == index)
    cuts = tuple(LaidCut(n, True, (c.at, 0.0), (c.at, width), c.stop) for n, c in enumerate(mine, 1))
    return LaidStock("BOARD", stock.length, width, stock.shop, areas, cuts)
