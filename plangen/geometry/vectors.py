"""Plain vectors: tuples of three floats, and the few operations everything else is built from.

Sums are written out, never left to a linear-algebra library, so that published geometry has the same
bits on every processor.
"""

from __future__ import annotations

import math
from typing import TypeAlias

Vec: TypeAlias = tuple[float, float, float]
Point: TypeAlias = tuple[float, float, float]

LENGTH_TOLERANCE = 1e-6
"""Millimetres. Two lengths closer than this are the same length."""
DIRECTION_TOLERANCE = 1e-9
"""Two unit vectors closer than this to parallel or square are made exactly so (the kernel's rule)."""


def add(a: Vec, b: Vec) -> Vec:
    return (a[0] + b[0], a[1] + b[1], a[2] + b[2])


def sub(a: Vec, b: Vec) -> Vec:
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def scale(a: Vec, k: float) -> Vec:
    return (a[0] * k, a[1] * k, a[2] * k)


def along(p: Point, direction: Vec, distance: float) -> Point:
    """The point reached from ``p`` by going ``distance`` along ``direction``."""
    return (
        p[0] + direction[0] * distance,
        p[1] + direction[1] * distance,
        p[2] + direction[2] * distance,
    )


def dot(a: Vec, b: Vec) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Vec, b: Vec) -> Vec:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def length(a: Vec) -> float:
    return math.sqrt(dot(a, a))


def unit(a: Vec) -> Vec:
    """``a`` at length one. Raises ZeroDivisionError for the zero vector."""
    n = length(a)
    return (a[0] / n, a[1] / n, a[2] / n)


def squared(a: Vec) -> Vec:
    """A unit vector whose components that are zero but for rounding are made exactly so."""
    x, y, z = (0.0 if abs(c) < DIRECTION_TOLERANCE else c for c in a)
    return unit((x, y, z))


def neg(a: Vec) -> Vec:
    return (-a[0], -a[1], -a[2])


def angle_between(a: Vec, b: Vec) -> float:
    """Radians between two directions, from 0 to pi, accurate near both ends."""
    return math.atan2(length(cross(a, b)), dot(a, b))
