"""Softwood lumber: nominal sizes and the dressed sizes the yard hands over.

Source: American Softwood Lumber Standard PS 20, minimum dressed sizes, dry (19 % moisture or less), as
tabulated at engineeringtoolbox.com "softwood lumber standard"; read there, the standard itself not seen.
Figures are inches.
"""

from __future__ import annotations

from fractions import Fraction

from plangen.units import inches


def _inches(table: dict[str, str]) -> dict[Fraction, Fraction]:
    return {inches(nominal): inches(dressed) for nominal, dressed in table.items()}


BOARD_THICKNESS = _inches(
    {
        "3/8": "5/16",
        "1/2": "7/16",
        "5/8": "9/16",
        "3/4": "5/8",
        "1": "3/4",
        "1-1/4": "1",
        "1-1/2": "1-1/4",
    }
)
"""Boards: nominal thickness under 2 in."""

BOARD_WIDTH = _inches(
    {
        "2": "1-1/2",
        "3": "2-1/2",
        "4": "3-1/2",
        "5": "4-1/2",
        "6": "5-1/2",
        "7": "6-1/2",
        "8": "7-1/4",
        "9": "8-1/4",
        "10": "9-1/4",
        "11": "10-1/4",
        "12": "11-1/4",
        "14": "13-1/4",
        "16": "15-1/4",
    }
)

DIMENSION_THICKNESS = _inches(
    {"2": "1-1/2", "2-1/2": "2", "3": "2-1/2", "3-1/2": "3", "4": "3-1/2", "4-1/2": "4"}
)
"""Dimension lumber: nominal thickness from 2 in to under 5 in."""

DIMENSION_WIDTH = _inches(
    {
        "2": "1-1/2",
        "2-1/2": "2",
        "3": "2-1/2",
        "3-1/2": "3",
        "4": "3-1/2",
        "4-1/2": "4",
        "5": "4-1/2",
        "6": "5-1/2",
        "8": "7-1/4",
        "10": "9-1/4",
        "12": "11-1/4",
        "14": "13-1/4",
        "16": "15-1/4",
    }
)

TIMBER_OFF = (
    (Fraction(5), Fraction(6), Fraction(1, 2)),
    (Fraction(7), Fraction(15), Fraction(3, 4)),
    (Fraction(16), Fraction(24), Fraction(1)),
)
"""Timbers: least nominal size 5 in; (from, to, what dressing takes off) for thickness and width alike. The
last row's end is ours: the standard says 16 in and over."""

STANDARD_LENGTHS_FEET = (8, 10, 12, 14, 16)
"""Lengths a yard keeps. ``common practice``"""

STANDARD_LENGTHS_METRIC = tuple(range(1800, 6301, 300))
"""Millimetres, in steps of 300. EN 1313-1 preferred lengths, from memory."""


def dressed_size(thickness: Fraction, width: Fraction) -> tuple[Fraction, Fraction] | None:
    """Dressed dry thickness and width, inches, of a nominal size in inches; None if the standard has none."""
    if thickness in BOARD_THICKNESS and width in BOARD_WIDTH:
        return BOARD_THICKNESS[thickness], BOARD_WIDTH[width]
    if thickness in DIMENSION_THICKNESS and width in DIMENSION_WIDTH:
        return DIMENSION_THICKNESS[thickness], DIMENSION_WIDTH[width]
    if thickness < 5 or thickness.denominator != 1 or width.denominator != 1:
        return None
    dressed = [
        side - taken
        for side in (thickness, width)
        for least, most, taken in TIMBER_OFF
        if least <= side <= most
    ]
    return (dressed[0], dressed[1]) if len(dressed) == 2 else None
