"""Lengths and angles as the trade writes them, kept exact: text to fractions, fractions to text.

Lengths are millimetres and angles degrees, both as ``Fraction``; one inch is 25.4 mm exactly (international
yard and pound agreement, 1959). Only the angle of a slope (``1 in 8``) is inexact: it is the float nearest to
atan(1/8), kept as that float's own fraction.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, TypeAlias

LengthUnit: TypeAlias = Literal["in", "mm"]
Kind: TypeAlias = Literal["length", "angle", "number"]

MM_PER_INCH = Fraction(254, 10)
MM_PER_FOOT = 12 * MM_PER_INCH
POUNDS_PER_KILOGRAM = 1 / Fraction(45359237, 10**8)
"""The avoirdupois pound is 0.45359237 kg exactly (same agreement)."""

FEET_ABOVE = 72 * MM_PER_INCH
"""Longer overall sizes of an inch design are told in feet and inches."""
LONGEST = Fraction(10**6)
"""Millimetres. A kilometre: a longer length in a design is a slip of the pen."""
LARGEST_NUMBER = 10**9
_LONGEST_TEXT = 60
_MOST_DIGITS = 12
_ROUNDING_GRAIN = 10**6
"""Parts of a step. A value within half of one such part of a tie counts as the tie, so that float noise in
the last bits never decides a printed figure."""


@dataclass(frozen=True)
class Quantity:
    """A value as written. A bare number is of kind ``number``: its reader decides what it counts."""

    value: Fraction
    """Millimetres of a length, degrees of an angle, plain for a number."""
    kind: Kind


@dataclass(frozen=True)
class UnitStyle:
    """How figures are printed: the unit of lengths and the steps they are rounded to."""

    length: LengthUnit
    step: Fraction
    """Millimetres."""
    angle_step: Fraction
    """Degrees."""


STYLES: dict[LengthUnit, UnitStyle] = {
    "in": UnitStyle("in", MM_PER_INCH / 16, Fraction(1, 4)),
    "mm": UnitStyle("mm", Fraction(1), Fraction(1, 2)),
}

_UNIT_NAMES: dict[tuple[Fraction, Kind], str] = {
    (Fraction(1), "length"): "mm millimetre millimetres millimeter millimeters",
    (Fraction(10), "length"): "cm centimetre centimetres centimeter centimeters",
    (Fraction(1000), "length"): "m metre metres meter meters",
    (MM_PER_INCH, "length"): '" in inch inches',
    (MM_PER_FOOT, "length"): "' ft foot feet",
    (Fraction(1), "angle"): "° deg degree degrees",
}
_UNIT_WORDS = {word: unit for unit, words in _UNIT_NAMES.items() for word in words.split()}

_VULGAR = {
    "¼": "1/4",
    "½": "1/2",
    "¾": "3/4",
    "⅛": "1/8",
    "⅜": "3/8",
    "⅝": "5/8",
    "⅞": "7/8",
    "⅓": "1/3",
    "⅔": "2/3",
}
_PLAIN_SIGNS = str.maketrans(
    {
        "′": "'",
        "’": "'",
        "″": '"',
        "”": '"',
        "“": '"',
        "⁄": "/",
        "−": "-",
        "–": "-",
        "\u00a0": " ",
        "\u202f": " ",
    }
)

_NUMBER = r"(?:\d+[ -]\d+/\d+|\d+/\d+|\d+(?:\.\d+)?|\.\d+)"
_PLAIN = re.compile(rf"({_NUMBER}) ?([^\d\s.]*)", re.ASCII)
_FEET_AND_INCHES = re.compile(
    rf"({_NUMBER}) ?(?:'|ft|foot|feet) ?-? ?({_NUMBER}) ?(?:\"|''|in|inch|inches)?", re.ASCII
)
_SLOPE = re.compile(rf"({_NUMBER}) ?(?: in |:) ?({_NUMBER})", re.ASCII)


def read_quantity(text: str, units: LengthUnit) -> Quantity:
    """The quantity that ``text`` says: ``3 1/2``, ``1' 6 3/8"``, ``90 mm``, ``12 deg``, ``1 in 8``, ``0.5``.

    ``units`` is the design's own unit; it only words the examples of an error, since a bare number stays a
    number. Raises ValueError with one sentence that says what was read and what was expected.
    """
    text = "".join(sign if sign.isprintable() else " " for sign in text).strip()
    if len(text) > _LONGEST_TEXT:
        raise ValueError(f'"{text[:24]}..." is too long for a size or an angle; expected {_examples(units)}')
    plain = _normalised(text)
    sign, body = (-1, plain[1:].lstrip()) if plain.startswith("-") else (1, plain.removeprefix("+").lstrip())
    if slope := _SLOPE.fullmatch(body):
        return _checked(text, Quantity(sign * _slope_angle(text, *slope.groups()), "angle"))
    if both := _FEET_AND_INCHES.fullmatch(body):
        inches = _number(text, both[2])
        if inches >= 12:
            raise ValueError(
                f'"{text}" has 12 inches or more after the feet; write the whole size in one unit'
            )
        return _checked(text, Quantity(sign * (_number(text, both[1]) * 12 + inches) * MM_PER_INCH, "length"))
    if one := _PLAIN.fullmatch(body):
        value = sign * _number(text, one[1])
        if not one[2]:
            return _checked(text, Quantity(value, "number"))
        if one[2] in _UNIT_WORDS:
            factor, kind = _UNIT_WORDS[one[2]]
            return _checked(text, Quantity(value * factor, kind))
        raise ValueError(f'"{text}" has the unknown unit "{one[2]}"; expected {_examples(units)}')
    if re.fullmatch(r"\d+,\d+.*", body):
        raise ValueError(f'"{text}" has a comma in a number; write a point: {body.replace(",", ".", 1)}')
    raise ValueError(f'"{text}" is not a size or an angle; expected {_examples(units)}')


def as_length(quantity: Quantity, units: LengthUnit) -> Fraction:
    """Millimetres; a bare number counts the design's own ``units``. Raises ValueError for an angle."""
    if quantity.kind == "angle":
        raise ValueError(f"this is an angle ({_decimal(quantity.value, 3)} deg) where a length is expected")
    if quantity.kind == "length":
        return quantity.value
    length = quantity.value * (MM_PER_INCH if units == "in" else 1)
    if abs(length) > LONGEST:
        raise ValueError(f"{_decimal(quantity.value, 3)} {units} is longer than a kilometre")
    return length


def as_angle(quantity: Quantity) -> Fraction:
    """Degrees. Raises ValueError for a length and for a bare number, which may be a slope or an angle."""
    if quantity.kind == "angle":
        return quantity.value
    if quantity.kind == "length":
        raise ValueError("this is a length where an angle is expected, such as 12 deg or 1 in 8")
    figure = _decimal(quantity.value, 3)
    raise ValueError(f"an angle says its unit: {figure} deg, or a slope such as 1 in 8")


def inches(figure: str) -> Fraction:
    """Inches of a figure of a published table, such as ``1-1/2``. Raises ValueError as ``read_quantity``."""
    return read_quantity(figure, "in").value


def exact(mm: Fraction | float) -> Fraction:
    """A length as a fraction of millimetres; floats are taken at their own binary value."""
    return mm if isinstance(mm, Fraction) else Fraction(mm)


def rounded(mm: Fraction | float, style: UnitStyle) -> Fraction:
    """``mm`` at the nearest multiple of the style's step, a tie at the even multiple.

    A value within half a millionth of a step of a tie is taken for the tie.
    """
    return _nearest(exact(mm), style.step)


def off(mm: Fraction | float, style: UnitStyle) -> Fraction:
    """Rounded value less true value, millimetres: what printing at this style's step costs."""
    return rounded(mm, style) - exact(mm)


def rounded_angle(degrees: Fraction | float, style: UnitStyle) -> Fraction:
    """``degrees`` at the nearest multiple of the angle step, ties as in ``rounded``."""
    return _nearest(exact(degrees), style.angle_step)


def length_text(mm: Fraction | float, style: UnitStyle) -> str:
    """The figure without a unit: ``3 15/16`` in inch designs, ``120`` in millimetre designs.

    A size that is not zero never prints as 0: where the step is too coarse for it, it prints at the coarsest
    finer step that shows it (``1/64``, ``0.2``), and below 1/128 in or 0.01 mm as ``<1/128`` or ``<0.01``.
    Sizes under a millionth of a step are zero.
    """
    unit = MM_PER_INCH if style.length == "in" else Fraction(1)
    return _figure(exact(mm) / unit, style.step / unit, binary=style.length == "in")


def ascii_length_text(mm: Fraction | float, style: UnitStyle) -> str:
    """The figure for files that only carry ASCII: ``3-15/16"`` in inch designs, ``120`` otherwise."""
    text = length_text(mm, style)
    return text.replace(" ", "-") + '"' if style.length == "in" else text


def length_text_with_unit(mm: Fraction | float, style: UnitStyle) -> str:
    """The figure as it stands in a sentence: ``3 15/16 in``, ``120 mm``."""
    return f"{length_text(mm, style)} {style.length}"


def whole_bits(mm: float, units: LengthUnit) -> float:
    """The largest diameter up to this that can be bored, at least the smallest: bits come by the millimetre or the
    sixteenth of an inch (``common practice``)."""
    step = 1.0 if units == "mm" else float(MM_PER_INCH) / 16
    return step * max(1, math.floor(mm / step + 1e-9))


def feet_text(mm: Fraction | float, style: UnitStyle) -> str:
    """An overall size: ``6' 7 1/2"`` above 72 in in an inch design, else the plain figure with its unit."""
    size = rounded(mm, style)
    if style.length != "in" or abs(size) <= FEET_ABOVE:
        return length_text(mm, style) + ('"' if style.length == "in" else " mm")
    feet, rest = divmod(abs(size), MM_PER_FOOT)
    inches = f' {length_text(rest, style)}"' if rest else ""
    return f"{'-' if size < 0 else ''}{feet}'{inches}"


def angle_text(degrees: Fraction | float, style: UnitStyle) -> str:
    """``9.75°``; small angles that are not zero as in ``length_text``."""
    return _figure(exact(degrees), style.angle_step, binary=False) + "°"


def ascii_angle_text(degrees: Fraction | float, style: UnitStyle) -> str:
    """``9.75 deg``."""
    return _figure(exact(degrees), style.angle_step, binary=False) + " deg"


def mixed_text(value: Fraction) -> str:
    """A fraction as a mixed number, exactly: ``3 15/16``, ``7``, ``-1/2``."""
    whole, part = divmod(abs(value), 1)
    words = [str(whole)] if whole or not part else []
    if part:
        words.append(f"{part.numerator}/{part.denominator}")
    return ("-" if value < 0 else "") + " ".join(words)


def _examples(units: LengthUnit) -> str:
    return (
        """a size such as 3 1/2 or 1' 6 3/8", or an angle such as 12 deg"""
        if units == "in"
        else "a size such as 120 or 9 cm, or an angle such as 12 deg"
    )


def _normalised(text: str) -> str:
    plain = text.translate(_PLAIN_SIGNS)
    for sign, fraction in _VULGAR.items():
        plain = plain.replace(sign, " " + fraction)
    return " ".join(plain.lower().split())


def _number(text: str, figure: str) -> Fraction:
    if any(len(run) > _MOST_DIGITS for run in re.findall(r"\d+", figure)):
        raise ValueError(f'"{text}" has a number of more than {_MOST_DIGITS} digits')
    *whole, last = re.split(r"[ -]", figure)
    if re.fullmatch(r"\d+/0+", last):
        raise ValueError(f'"{text}" divides by zero')
    part = Fraction(last)
    if whole and part >= 1:
        raise ValueError(f'"{text}" has a fraction of one or more after its whole number')
    return part + (Fraction(whole[0]) if whole else 0)


def _slope_angle(text: str, rise: str, run: str) -> Fraction:
    """Degrees of a slope ``rise in run``."""
    run_value = _number(text, run)
    if run_value == 0:
        raise ValueError(f'"{text}" is a slope over a run of zero')
    return Fraction(math.degrees(math.atan(_number(text, rise) / run_value)))


def _checked(text: str, quantity: Quantity) -> Quantity:
    if quantity.kind == "length" and abs(quantity.value) > LONGEST:
        raise ValueError(f'"{text}" is longer than a kilometre')
    if quantity.kind == "angle" and abs(quantity.value) > 360:
        raise ValueError(f'"{text}" is more than a full turn; angles run from -360 to 360 degrees')
    if abs(quantity.value) > LARGEST_NUMBER:
        raise ValueError(f'"{text}" is too large a number')
    return quantity


def _nearest(value: Fraction, step: Fraction) -> Fraction:
    return round(Fraction(round(value / step * _ROUNDING_GRAIN), _ROUNDING_GRAIN)) * step


def _figure(value: Fraction, step: Fraction, *, binary: bool) -> str:
    """``value`` in its printed unit at ``step``, which is refined for small values that are not zero."""
    fractions = binary and not step.denominator & (step.denominator - 1)
    finest = Fraction(1, 128) if fractions else Fraction(1, 100)
    fine = step
    while abs(value) * _ROUNDING_GRAIN > step and _nearest(value, fine) == 0:
        if fine <= finest:
            smallest = mixed_text(fine) if fractions else _decimal(fine, 6)
            return f"{'-' if value < 0 else ''}<{smallest}"
        fine = fine / 2 if fractions else _next_finer_decimal(fine)
    size = _nearest(value, fine)
    return mixed_text(size) if fractions else _decimal(size, 6)


def _next_finer_decimal(step: Fraction) -> Fraction:
    """The largest of 0.1, 0.01 ... under ``step``."""
    fine = Fraction(1, 10)
    while fine >= step:
        fine /= 10
    return fine


def _decimal(value: Fraction, places: int) -> str:
    """``value`` to at most ``places`` decimals, without trailing zeros and never as -0."""
    scaled = round(abs(value) * 10**places)
    whole, part = divmod(scaled, 10**places)
    tail = f"{part:0{places}d}".rstrip("0")
    sign = "-" if value < 0 and scaled else ""
    return f"{sign}{whole}.{tail}" if tail else f"{sign}{whole}"
