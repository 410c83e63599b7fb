"""Scale bars: inches and millimetres of the work, one above the other, true on a copy of any size.

60 to 100 mm long, four or five divisions in round numbers of the work, the first one halved (drawing guide
1.1; that a graphic scale survives copying: record practice, read).
"""

from __future__ import annotations

import math
from fractions import Fraction

from plangen.drawing.block import Block
from plangen.drawing.lettering import text_width
from plangen.drawing.mark_geometry import polyline, rectangle
from plangen.drawing.marks import Fill, Lettering, Mark, Stroke
from plangen.units import MM_PER_INCH, mixed_text

SHORTEST, LONGEST = 60.0, 100.0
_BAR = 1.6
_LETTERS = 2.5
_GAP = 1.0
_INCHES = (
    *(Fraction(1, d) for d in (32, 16, 8, 4, 2)),
    *(Fraction(n) for n in (1, 2, 3, 4, 6)),
    *(Fraction(12 * feet) for feet in (1, 2, 3, 4, 5, 10, 20, 25, 50, 100)),
)
_MILLIMETRES = tuple(Fraction(n) * 10**k for k in range(6) for n in (1, 2, Fraction(5, 2), 5))


def divisions(scale: float, inches: bool) -> tuple[int, Fraction]:
    """Number of divisions, and what each stands for in inches or mm, for paper over work ``scale``."""
    unit = float(MM_PER_INCH) if inches else 1.0
    steps = _INCHES if inches else _MILLIMETRES
    middle = math.sqrt(SHORTEST * LONGEST)
    choices = [
        (abs(round(math.log(float(step) * n * unit * scale / middle), 6)), n, step)
        for step in steps
        for n in (4, 5)
    ]
    _, n, step = min(choices)
    return n, step


def scale_bar(scale: float) -> Block:
    """Both bars, zero on one upright, inches above."""
    marks: list[Mark] = []
    left = text_width("0", _LETTERS) / 2
    down = _LETTERS + _GAP
    right = 0.0
    for inches in (True, False):
        n, step = divisions(scale, inches)
        unit = float(MM_PER_INCH) if inches else 1.0
        pitch = float(step) * unit * scale
        marks += _bar(left, -down, n, pitch)
        base = -down + _GAP if inches else -down - _BAR - _GAP - _LETTERS
        for i in range(n + 1):
            text = _label(step * i, inches)
            marks.append(Lettering(text, (left + pitch * i, base), _LETTERS, "middle", fractions=False))
        end = left + pitch * n + text_width(_label(step * n, inches), _LETTERS, fractions=False) / 2 + 1.5
        name = "in" if inches else "mm"
        marks.append(Lettering(name, (end, base), _LETTERS))
        right = max(right, end + text_width(name, _LETTERS))
        down += _BAR
    return Block("scale bar", tuple(marks), right, down + _GAP + _LETTERS)


def _label(value: Fraction, inches: bool) -> str:
    return mixed_text(value) if inches else f"{float(value):g}"


def _bar(left: float, top: float, count: int, pitch: float) -> list[Mark]:
    """Outline, and every second division filled, halves of the first counted."""
    foot = top - _BAR
    cuts = [0.0, pitch / 2, *(pitch * i for i in range(1, count + 1))]
    marks: list[Mark] = []
    for i in range(0, len(cuts) - 1, 2):
        marks.append(Fill(rectangle((left + cuts[i], foot, left + cuts[i + 1], top))))
    marks.append(Stroke(rectangle((left, foot, left + cuts[-1], top)), "narrow", True))
    marks += [Stroke(polyline((left + c, foot), (left + c, top)), "narrow") for c in cuts[1:-1]]
    return marks
