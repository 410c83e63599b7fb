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

GREEN_TIMBER_OFF = Fraction(1, 2)
"""What dressing takes off a green timber, of any size."""


def _green_thickness(nominal: Fraction) -> Fraction:
    """What is left on the thickness of green lumber over the dry one."""
    return Fraction(1, 32) if nominal < 2 and nominal != Fraction(3, 4) else Fraction(1, 16)


def _green_width(nominal: Fraction) -> Fraction:
    """What is left on the width of green lumber over the dry one: it shrinks to that."""
    return Fraction(1, 16) if nominal <= 4 else Fraction(1, 8) if nominal <= 7 else Fraction(1, 4)


STANDARD_LENGTHS_FEET = (8, 10, 12, 14, 16)
"""Lengths a yard keeps. ``common practice``"""

STANDARD_LENGTHS_METRIC = tuple(range(1800, 6301, 300))
"""Millimetres, in steps of 300. EN 1313-1 preferred lengths, from memory."""


SAWN_METRIC = (50, 63, 75, 100, 125, 150, 175, 200, 225, 250, 300)
PLANED_METRIC = (47, 60, 72, 97, 120, 145, 170, 195, 220, 245, 295)
"""Customary sawn sizes of structural softwood and the planed size of each, millimetres (a British timber page of
EN 336 target sizes, read)."""


def planed_size(thickness: Fraction, width: Fraction) -> tuple[int, int] | None:
    """Planed thickness and width, mm, of a customary sawn section in mm; None of one that is not."""
    planed = dict(zip(SAWN_METRIC, PLANED_METRIC, strict=True))
    if thickness not in planed or width not in planed:
        return None
    return planed[int(thickness)], planed[int(width)]


def dressed_size(
    thickness: Fraction, width: Fraction, green: bool = False
) -> tuple[Fraction, Fraction] | None:
    """Dressed thickness and width, inches, of a nominal size in inches, dry or ``green``; None if the standard has
    none."""
    if thickness in BOARD_THICKNESS and width in BOARD_WIDTH:
        dry = BOARD_THICKNESS[thickness], BOARD_WIDTH[width]
        return (dry[0] + _green_thickness(thickness), dry[1] + _green_width(width)) if green else dry
    if thickness in DIMENSION_THICKNESS and width in DIMENSION_WIDTH:
        dry = DIMENSION_THICKNESS[thickness], DIMENSION_WIDTH[width]
        return (dry[0] + _green_thickness(thickness), dry[1] + _green_width(width)) if green else dry
    if thickness < 5 or thickness.denominator != 1 or width.denominator != 1:
        return None
    dressed = [
        side - (GREEN_TIMBER_OFF if green else taken)
        for side in (thickness, width)
        for least, most, taken in TIMBER_OFF
        if least <= side <= most
    ]
    return (dressed[0], dressed[1]) if len(dressed) == 2 else None
