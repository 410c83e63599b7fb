"""Arithmetic that keeps track of what is a length, an angle or a plain number.

Values are exact fractions (millimetres, degrees, plain) until a function needs a float or a fraction grows
past 256 bits; then they are the nearest float, kept as that float's own fraction. Every function raises
ValueError with one sentence for the designer.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeAlias

from plangen.units import LARGEST_NUMBER, LONGEST, LengthUnit, Quantity, as_angle, as_length

_MOST_BITS = 256
_LARGEST_TURN = 36_000
_ARTICLE = {"length": "a length", "angle": "an angle", "number": "a number"}


def add(a: Quantity, b: Quantity, units: LengthUnit) -> Quantity:
    a, b = _alike(a, b, units, "added to")
    return _bounded(Quantity(a.value + b.value, a.kind))


def subtract(a: Quantity, b: Quantity, units: LengthUnit) -> Quantity:
    a, b = _alike(a, b, units, "subtracted from", swap=True)
    return _bounded(Quantity(a.value - b.value, a.kind))


def multiply(a: Quantity, b: Quantity, units: LengthUnit) -> Quantity:
    if "number" not in (a.kind, b.kind):
        raise ValueError(
            f"{_ARTICLE[a.kind]} times {_ARTICLE[b.kind]} is no size; one of them must be a number"
        )
    return _bounded(Quantity(a.value * b.value, b.kind if a.kind == "number" else a.kind))


def divide(a: Quantity, b: Quantity, units: LengthUnit) -> Quantity:
    """A length or angle by a number keeps its kind; by its like it is a number. ``30 / 2 in`` is 15."""
    if b.value == 0:
        raise ValueError("this divides by zero")
    if b.kind == "number":
        return _bounded(Quantity(a.value / b.value, a.kind))
    a, b = _alike(a, b, units, "divided by")
    return _bounded(Quantity(a.value / b.value, "number"))


def negate(a: Quantity) -> Quantity:
    return Quantity(-a.value, a.kind)


def truth(a: Quantity) -> bool:
    """Whether a condition holds: it is a plain 1 or 0, as comparing gives."""
    if a.kind != "number" or a.value not in (0, 1):
        raise ValueError("a condition such as sides = 6 is expected")
    return a.value == 1


def _compared(holds: Callable[[Fraction, Fraction], bool]) -> Operation:
    def apply(a: Quantity, b: Quantity, units: LengthUnit) -> Quantity:
        a, b = _alike(a, b, units, "compared with")
        return _condition(holds(a.value, b.value))

    return apply


def _condition(holds: bool) -> Quantity:
    return Quantity(Fraction(int(holds)), "number")


Operation: TypeAlias = Callable[[Quantity, Quantity, LengthUnit], Quantity]

OPERATIONS: dict[str, Operation] = {
    "+": add,
    "-": subtract,
    "*": multiply,
    "/": divide,
    "=": _compared(lambda a, b: a == b),
    "<>": _compared(lambda a, b: a != b),
    "<": _compared(lambda a, b: a < b),
    "<=": _compared(lambda a, b: a <= b),
    ">": _compared(lambda a, b: a > b),
    ">=": _compared(lambda a, b: a >= b),
    "and": lambda a, b, units: _condition(truth(a) & truth(b)),
    "or": lambda a, b, units: _condition(truth(a) | truth(b)),
}
COMPARISONS = ("=", "<>", "<=", ">=", "<", ">")


@dataclass(frozen=True)
class Function:
    """A function of expressions: how many arguments it takes, at least and at most, and what it does."""

    least: int
    most: int
    apply: Callable[[list[Quantity], LengthUnit], Quantity]


def _bounded(a: Quantity) -> Quantity:
    value = a.value
    if max(value.numerator.bit_length(), value.denominator.bit_length()) > _MOST_BITS:
        value = Fraction(float(value)) if abs(value) < 1e300 else value
    if a.kind == "length" and abs(value) > LONGEST:
        raise ValueError("this comes to more than a kilometre")
    if a.kind == "angle" and abs(value) > _LARGEST_TURN:
        raise ValueError("this comes to more than a hundred turns")
    if abs(value) > LARGEST_NUMBER:
        raise ValueError("this comes to too large a number")
    return Quantity(value, a.kind)


def _alike(
    a: Quantity, b: Quantity, units: LengthUnit, verb: str, swap: bool = False
) -> tuple[Quantity, Quantity]:
    """Both of one kind; a bare number beside a length counts the design's units."""
    if a.kind == b.kind:
        return a, b
    if {a.kind, b.kind} == {"number", "length"}:
        return Quantity(as_length(a, units), "length"), Quantity(as_length(b, units), "length")
    first, second = (b, a) if swap else (a, b)
    hint = "; an angle says its unit, as in 12 deg" if "number" in (a.kind, b.kind) else ""
    raise ValueError(f"{_ARTICLE[first.kind]} cannot be {verb} {_ARTICLE[second.kind]}{hint}")


def _all_alike(values: list[Quantity], units: LengthUnit) -> list[Quantity]:
    """All of the kind of the first that is not a bare number."""
    kinds = [v for v in values if v.kind != "number"]
    return [_alike(v, kinds[0], units, "compared with")[0] for v in values] if kinds else values


def _of_float(value: float, kind: str) -> Quantity:
    if not math.isfinite(value):
        raise ValueError("this comes to too large a number")
    return _bounded(
        Quantity(Fraction(value), "angle" if kind == "angle" else "length" if kind == "length" else "number")
    )


def _plain(a: Quantity, what: str) -> float:
    if a.kind != "number":
        raise ValueError(f"{what} takes a number, not {_ARTICLE[a.kind]}")
    return float(a.value)


def _smallest(values: list[Quantity], units: LengthUnit) -> Quantity:
    return min(_all_alike(values, units), key=lambda v: v.value)


def _largest(values: list[Quantity], units: LengthUnit) -> Quantity:
    return max(_all_alike(values, units), key=lambda v: v.value)


def _absolute(values: list[Quantity], units: LengthUnit) -> Quantity:
    return Quantity(abs(values[0].value), values[0].kind)


def _stepped(choose: Callable[[Fraction], int]) -> Callable[[list[Quantity], LengthUnit], Quantity]:
    """Rounding to a multiple of the second argument; by default of one, the design's unit or one degree."""

    def apply(values: list[Quantity], units: LengthUnit) -> Quantity:
        one = Quantity(Fraction(1), "angle" if values[0].kind == "angle" else "number")
        value, step = _alike(values[0], values[1] if len(values) == 2 else one, units, "rounded to")
        if step.value <= 0:
            raise ValueError("the step to round to must be greater than zero")
        return _bounded(Quantity(choose(value.value / step.value) * step.value, value.kind))

    return apply


def _square_root(values: list[Quantity], units: LengthUnit) -> Quantity:
    value = _plain(values[0], "sqrt")
    if value < 0:
        raise ValueError("a number below zero has no square root")
    return _of_float(math.sqrt(value), "number")


def _of_angle(function: Callable[[float], float]) -> Callable[[list[Quantity], LengthUnit], Quantity]:
    def apply(values: list[Quantity], units: LengthUnit) -> Quantity:
        return _of_float(function(math.radians(as_angle(values[0]))), "number")

    return apply


def _to_angle(
    name: str, function: Callable[[float], float]
) -> Callable[[list[Quantity], LengthUnit], Quantity]:
    def apply(values: list[Quantity], units: LengthUnit) -> Quantity:
        value = _plain(values[0], name)
        if name != "atan" and abs(value) > 1:
            raise ValueError(f"{name} takes a number from -1 to 1")
        return _of_float(math.degrees(function(value)), "angle")

    return apply


def _direction_angle(values: list[Quantity], units: LengthUnit) -> Quantity:
    up, across = _all_alike(values, units)
    return _of_float(math.degrees(math.atan2(up.value, across.value)), "angle")


def _diagonal(values: list[Quantity], units: LengthUnit) -> Quantity:
    alike = _all_alike(values, units)
    return _of_float(math.hypot(*(float(v.value) for v in alike)), alike[0].kind)


def _chosen(values: list[Quantity], units: LengthUnit) -> Quantity:
    condition, first, second = values
    first, second = _alike(first, second, units, "chosen beside")
    return first if truth(condition) else second


def _negated(values: list[Quantity], units: LengthUnit) -> Quantity:
    return _condition(not truth(values[0]))


FUNCTIONS: dict[str, Function] = {
    "if": Function(3, 3, _chosen),
    "not": Function(1, 1, _negated),
    "min": Function(1, 12, _smallest),
    "max": Function(1, 12, _largest),
    "abs": Function(1, 1, _absolute),
    "round": Function(1, 2, _stepped(round)),
    "floor": Function(1, 2, _stepped(math.floor)),
    "ceil": Function(1, 2, _stepped(math.ceil)),
    "sqrt": Function(1, 1, _square_root),
    "sin": Function(1, 1, _of_angle(math.sin)),
    "cos": Function(1, 1, _of_angle(math.cos)),
    "tan": Function(1, 1, _of_angle(math.tan)),
    "asin": Function(1, 1, _to_angle("asin", math.asin)),
    "acos": Function(1, 1, _to_angle("acos", math.acos)),
    "atan": Function(1, 1, _to_angle("atan", math.atan)),
    "atan2": Function(2, 2, _direction_angle),
    "hypot": Function(2, 3, _diagonal),
}
