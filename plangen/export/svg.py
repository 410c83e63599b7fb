"""Marks to SVG (SVG 1.1, W3C): a picture for pages that are read on a screen. One unit is one millimetre.

Whole sheets, for paper too, are written by ``svg_sheets.py``.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape, quoteattr

from plangen.drawing.lettering import text_width
from plangen.drawing.linework import LINES
from plangen.drawing.mark_geometry import drawn
from plangen.drawing.marks import Fill, Lettering, LineUse, Mark, Stroke
from plangen.geometry.cubics import to_cubics
from plangen.geometry.curves import Curve, Line, Vec2

CAPITAL = 0.66
"""Height of a capital over the type size, near enough for any plain typeface (from memory)."""


def svg_bytes(marks: Iterable[Mark], width: float, height: float, title: str) -> bytes:
    """A drawing ``width`` by ``height`` millimetres, its origin at the lower left, on white paper.

    ``title`` says in words what it shows. Links are left out.
    """
    body = [_element(mark, height) for mark in drawn(marks)]
    size = f'width="{_n(width)}mm" height="{_n(height)}mm" viewBox="0 0 {_n(width)} {_n(height)}"'
    head = f'<svg xmlns="http://www.w3.org/2000/svg" role="img" {size}>'
    paper = f'<rect width="{_n(width)}" height="{_n(height)}" fill="#fff"/>'
    lines = [head, f"<title>{escape(title)}</title>", paper, *(b for b in body if b), "</svg>", ""]
    return "\n".join(lines).encode("utf-8")


def _element(mark: object, height: float) -> str:
    match mark:
        case Stroke():
            return f'<path d="{path_data(mark.curves, mark.closed, height)}" {_line(mark.use)}/>'
        case Fill():
            path = path_data(mark.curves, True, height)
            return f'<path d="{path}" fill="{grey_text(mark.grey)}" fill-rule="evenodd"/>'
        case Lettering():
            return _text(mark, height)
        case _:
            return ""


def _line(use: LineUse) -> str:
    style = LINES[use]
    said = f'fill="none" stroke="{grey_text(style.grey)}" stroke-width="{_n(style.width)}"'
    if style.cap == "round":
        said += ' stroke-linecap="round"'
    if style.dashes:
        said += f' stroke-dasharray="{" ".join(_n(d) for d in style.dashes)}"'
    return said


def _text(mark: Lettering, height: float) -> str:
    x, y = mark.at[0], height - mark.at[1]
    anchor = {"left": "start", "middle": "middle", "right": "end"}[mark.align]
    turn = f' transform="rotate({_n(-mark.rotation)} {_n(x)} {_n(y)})"' if mark.rotation else ""
    weight = ' font-weight="bold"' if mark.weight == "bold" else ""
    length = text_width(mark.text, mark.height, mark.weight, fractions=False)
    return (
        f'<text x="{_n(x)}" y="{_n(y)}" font-family="sans-serif" font-size="{_n(mark.height / CAPITAL)}"{weight} '
        f"text-anchor={quoteattr(anchor)} textLength={quoteattr(_n(length))}{turn}>{escape(mark.text)}</text>"
    )


def path_data(curves: Sequence[Curve], closed: bool, height: float, digits: int = 2) -> str:
    """The ``d`` of a path, y turned to run down from ``height`` mm.

    A curve that does not begin where the one before it ended begins a new part.
    """

    def at(p: Vec2) -> str:
        return f"{plain_number(p[0], digits)},{plain_number(height - p[1], digits)}"

    parts: list[str] = []
    pen: Vec2 | None = None
    for curve in curves:
        if pen is None or math.dist(pen, curve.start) > 1e-6:
            if pen is not None and closed:
                parts.append("Z")
            parts.append(f"M{at(curve.start)}")
        if isinstance(curve, Line):
            parts.append(f"L{at(curve.end)}")
        else:
            for _, p, q, end in to_cubics(curve):
                parts.append(f"C{at(p)} {at(q)} {at(end)}")
        pen = curve.end
    return " ".join(parts) + (" Z" if closed else "")


def grey_text(grey: float) -> str:
    """``#000000`` for 0, ``#ffffff`` for 1."""
    level = round(255 * grey)
    return f"#{level:02x}{level:02x}{level:02x}"


def _n(value: float) -> str:
    """Hundredths of a millimetre: finer than a screen."""
    return plain_number(value, 2)


def plain_number(value: float, digits: int) -> str:
    """Rounded, never -0, without zeros at its end."""
    return f"{round(value, digits) + 0.0:.{digits}f}".rstrip("0").rstrip(".")
