"""What a print is measured by: rulers in inches and in millimetres, a square of each, on every page at full size.

A square of 50 mm and another of 2 in, each by itself; rulers of 100 mm and 4 in across and up the page.
"""

from __future__ import annotations

from plangen.drawing.mark_geometry import rectangle
from plangen.drawing.marks import Lettering, Mark, Stroke
from plangen.geometry.curves import Line, Vec2
from plangen.units import MM_PER_INCH

INCH = float(MM_PER_INCH)
RULER_BAND = 7.0
"""Height of a ruler with its figures, mm."""
SQUARES = ((50.0, "50 mm"), (2 * INCH, "2 in"))
"""Sides in mm and what they are called."""
LETTERS = 2.5
_GAP = 0.5


def ruler(start: Vec2, upward: bool, millimetres: int, inches: int) -> list[Mark]:
    """Millimetres over the line and eighths of an inch under it, from ``start`` on; upward it is turned to the left."""

    def at(along: float, off: float) -> Vec2:
        return (start[0] - off, start[1] + along) if upward else (start[0] + along, start[1] + off)

    end = max(float(millimetres), inches * INCH)
    lines = [Line(at(0, 0), at(end, 0))]
    lines += [Line(at(i, 0), at(i, _millimetre_tick(i))) for i in range(millimetres + 1)]
    lines += [Line(at(i * INCH / 8, 0), at(i * INCH / 8, -_inch_tick(i))) for i in range(8 * inches + 1)]
    turn = 90.0 if upward else 0.0
    names = ((f"{millimetres} mm", _GAP), (f"{inches} in", -_GAP - LETTERS))
    return [
        Stroke(tuple(lines), "narrow"),
        *(Lettering(text, at(end + 1.5, off), LETTERS, "left", turn) for text, off in names),
    ]


def _millimetre_tick(i: int) -> float:
    return 2.6 if i % 10 == 0 else 1.9 if i % 5 == 0 else 1.2


def _inch_tick(i: int) -> float:
    return 2.6 if i % 8 == 0 else 1.9 if i % 4 == 0 else 1.2


def square(corner: Vec2, side: float, name: str) -> list[Mark]:
    """Its sides in a narrow line, its size inside."""
    x, y = corner
    return [
        Stroke(rectangle((x, y, x + side, y + side)), "narrow", True),
        Lettering(name, (x + side / 2, y + side / 2 - LETTERS / 2), LETTERS, "middle"),
    ]
