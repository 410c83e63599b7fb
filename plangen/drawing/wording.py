"""Words and sizes as sheets print them."""

from __future__ import annotations

from collections.abc import Sequence

from plangen.dimensioning.rounding import exact_style
from plangen.geometry.vectors import Vec
from plangen.joinery.model import Member, Origin
from plangen.units import POUNDS_PER_KILOGRAM, LengthUnit, UnitStyle, length_text

ORIGIN_WORDS: dict[Origin, str] = {
    "worked": "cut to the figure",
    "bought": "as bought",
    "matched": "matched to its mate",
    "fitted": "a guide: fit on the work",
    "formed": "a guide: formed on the work",
    "eye": "a guide: by eye",
}
ORIGIN_SHORT: dict[Origin, str] = {
    "worked": "to the figure",
    "bought": "as bought",
    "matched": "to its mate",
    "fitted": "FIT on the work",
    "formed": "FORM on the work",
    "eye": "by eye",
}
"""For the columns of lists."""
SIZE_ORDER: dict[LengthUnit, tuple[int, int, int]] = {"in": (2, 1, 0), "mm": (0, 1, 2)}
"""Inch lists run T x W x L, metric ones L x W x T (common practice)."""
SIZE_LETTERS = "LWT"
UNIT_WORDS: dict[LengthUnit, str] = {"in": "inches", "mm": "millimetres"}


def size_text(size: Vec, style: UnitStyle) -> str:
    """``1 1/2 x 3 1/2 x 32 5/16``, in the order of the unit."""
    return " x ".join(finished_text(size[i], style) for i in SIZE_ORDER[style.length])


def finished_text(mm: float, style: UnitStyle) -> str:
    """A finished size as part sheets print it: a bought one, as 23/32 of plywood, is not rounded to the step."""
    return length_text(mm, exact_style(mm, style))


def rough_text(mm: float, finished: float, style: UnitStyle) -> str:
    """A rough size; what is not worked further prints as it finishes."""
    return finished_text(mm, style) if abs(mm - finished) < 1e-6 else length_text(mm, style)


def size_heading(units: LengthUnit) -> str:
    """``T x W x L``."""
    return " x ".join(SIZE_LETTERS[i] for i in SIZE_ORDER[units])


def mass_text(kilograms: float, units: LengthUnit) -> str:
    """``12.5 kg``, in inch designs ``27.6 lb``: three figures at most, never 0."""
    value = kilograms * float(POUNDS_PER_KILOGRAM) if units == "in" else kilograms
    unit = "lb" if units == "in" else "kg"
    return (
        f"{value:.0f} {unit}"
        if value >= 99.5
        else f"{value:.1f} {unit}"
        if value >= 0.95
        else f"{value:.2g} {unit}"
    )


def make_text(member: Member) -> str:
    """``MAKE 4``, ``MAKE 2: 1 AS DRAWN (LEFT), 1 OPPOSITE HAND (RIGHT)``."""
    count = member.quantity
    verb = "BEND" if member.length_origin == "formed" else "MAKE"
    if member.drawn is None:
        return f"{verb} {count}"
    same = sum(1 for i in member.instances if i.hand == member.drawn)
    other = "right" if member.drawn == "left" else "left"
    if same == count:
        return f"{verb} {count}, {member.drawn.upper()} HAND AS DRAWN"
    drawn = f"{same} AS DRAWN ({member.drawn.upper()})"
    return f"{verb} {count}: {drawn}, {count - same} OPPOSITE HAND ({other.upper()})"


def has_other_hand(member: Member) -> bool:
    """Whether some of the pieces are the opposite hand of the drawn one."""
    return member.drawn is not None and any(i.hand != member.drawn for i in member.instances)


def joined(words: Sequence[str]) -> str:
    """``a``, ``a and b``, ``a, b and c``."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def capital(text: str) -> str:
    """With a capital first letter, the rest as it is."""
    return text[:1].upper() + text[1:]


def plain_words(text: object) -> str:
    """Words of the design as they print: names in it without the marks that set them off on a screen."""
    return str(text).replace("`", "")
