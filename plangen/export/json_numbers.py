"""Numbers as plan.json writes them: rounded, never -0, so that equal work gives equal text."""

from __future__ import annotations

import math
from collections.abc import Iterable

LENGTH_DECIMALS = 6
"""Millimetres, degrees, kilograms, square and cubic millimetres."""
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


def degrees(radians: float) -> float:
    return plain(math.degrees(radians))
