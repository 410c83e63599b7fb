"""Labels that a tool can follow: single strokes, drawn for this project on a grid four wide and six high."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from plangen.geometry.contour_faults import Contour
from plangen.geometry.curves import Curve, Line, Vec2
from plangen.geometry.free_places import free_place

HEIGHTS = (10.0, 7.0, 5.0, 3.5)
"""Millimetres, the first that fits (heights of ISO 3098)."""
MARGIN = 3.0
"""Millimetres between the label and anything that is cut."""
_ADVANCE = 6
_GRID = 6
_ARROW_GAP = 4
_ARROW = 18

_STROKES = {
    "A": "00 26 40|12 32", "B": "00 06 36 45 44 33 42 41 30 00|03 33", "C": "41 30 10 01 05 16 36 45",
    "D": "00 06 26 44 42 20 00", "E": "40 00 06 46|03 33", "F": "00 06 46|03 33",
    "G": "45 36 16 05 01 10 30 41 43 23", "H": "00 06|40 46|03 43", "I": "20 26|10 30|16 36",
    "J": "01 10 20 31 36|26 46", "K": "00 06|02 46|13 40", "L": "06 00 40", "M": "00 06 23 46 40",
    "N": "00 06 40 46", "O": "10 30 41 45 36 16 05 01 10", "P": "00 06 36 45 44 33 03",
    "Q": "10 30 41 45 36 16 05 01 10|22 40", "R": "00 06 36 45 44 33 03|23 40",
    "S": "01 10 30 41 42 33 13 04 05 16 36 45", "T": "20 26|06 46", "U": "06 01 10 30 41 46",
    "V": "06 20 46", "W": "06 10 23 30 46", "X": "00 46|06 40", "Y": "06 23 46|23 20", "Z": "06 46 00 40",
    "0": "10 30 41 45 36 16 05 01 10|01 45", "1": "14 26 20|10 30", "2": "05 16 36 45 44 00 40",
    "3": "05 16 36 45 44 33 42 41 30 10 01|13 33", "4": "30 36 02 42", "5": "46 06 03 33 42 41 30 10 01",
    "6": "45 36 16 05 01 10 30 41 42 33 03", "7": "06 46 20",
    "8": "13 04 05 16 36 45 44 33 13 02 01 10 30 41 42 33", "9": "01 10 30 41 45 36 16 05 04 13 43",
    "-": "13 33", ".": "20 21", "/": "00 46", "+": "13 33|22 24",
}  # fmt: skip
"""Strokes as grid points ``xy``, parted by bars."""


def place_label(
    text: str, outline: Contour, taken: Sequence[Contour], lines: Sequence[Contour]
) -> tuple[tuple[Curve, ...], ...]:
    """The label and an arrow along the grain, as open lines in a free place of the part.

    Clear of the areas ``taken`` and of other ``lines``. The first word alone where there is no room for all;
    empty where there is none for it. Signs that the alphabet lacks are left out.
    """
    signs = [c for c in text.upper() if c in _STROKES or c == " "]
    for shown in (signs, signs[: signs.index(" ")] if " " in signs else signs):
        columns = len(shown) * _ADVANCE + _ARROW_GAP + _ARROW
        for height in HEIGHTS:
            unit = height / _GRID
            at = free_place(outline, taken, lines, columns * unit, height, MARGIN)
            if at is not None:
                return _drawn(shown, at, unit)
    return ()


def _drawn(signs: Sequence[str], at: Vec2, unit: float) -> tuple[tuple[Curve, ...], ...]:
    lines: list[list[Vec2]] = []
    for place, sign in enumerate(signs):
        for stroke in _STROKES.get(sign, "").split("|"):
            lines.append([(int(p[0]) + place * _ADVANCE, int(p[1])) for p in stroke.split()])
    start = len(signs) * _ADVANCE + _ARROW_GAP
    end, middle = start + _ARROW, _GRID / 2
    lines.append([(start, middle), (end, middle)])
    lines.append([(end - 2, middle - 1), (end, middle), (end - 2, middle + 1)])
    placed = [[(at[0] + x * unit, at[1] + y * unit) for x, y in line] for line in lines]
    return tuple(tuple(Line(a, b) for a, b in itertools.pairwise(line)) for line in placed if len(line) > 1)
