"""Numbers as plan.json writes them: rounded, never -0, so that equal work gives equal text."""

from __future__ import annotations

import math
from collections.abc import Iterable

LENGTH_DECIMALS = 6
"""Millimetres, degrees, kilograms, square and cubic millimetres."""
SETTING_DECIMALS = 9
"""Degrees and millimetres of a machine's setting: at 1e-6 degrees the far end of a taper a metre long would be off by
1e-5 mm, and of the lengths that place one plane the halves of 1e-6 mm add up to more than 1e-6."""
DIRECTION_DECIMALS = 12
"""Components of unit vectors and of rotations: at 1e-6 a normal would cost 5e-4 mm on a metre."""


def plain(value: float) -> float:
    """A length, angle, area, volume or mass."""
    return round(value, LENGTH_DECIMALS) + 0.0


def plain_all(values: Iterable[float]) -> list[float]:
    return [plain(v) for v in values]


def unit_all(values: Iterable[float]) -> list[float]:
    """The components of a direction."""
    return [round(v, DIRECTION_DECIMALS) + 0.0 for v in values]


def set_degrees(radians: float) -> float:
    """An angle to which a machine is set."""
    return round(math.degrees(radians), SETTING_DECIMALS) + 0.0


def set_length(value: float) -> float:
    """A length to which a machine or stop is set."""
    return round(value, SETTING_DECIMALS) + 0.0


def set_lengths(values: Iterable[float]) -> list[float]:
    return [set_length(v) for v in values]


def degrees(radians: float) -> float:
    return plain(math.degrees(radians))
