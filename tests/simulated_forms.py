"""The surfaces that the simulated machine leaves, and those of plan.json, as arrays: plane, cylinder, cone, walls.

Nothing of plangen is imported.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np

Record: TypeAlias = Mapping[str, Any]
Array: TypeAlias = np.ndarray


class Unclear(Exception):
    """The record does not say enough, or contradicts itself: a maker could not make the cut."""


def unit(v: Array) -> Array:
    size = float(np.linalg.norm(v))
    if size < 1e-9:
        raise Unclear("two surfaces that should meet are parallel")
    return v / size


@dataclass(frozen=True)
class Flat:
    """``normal . x = offset``; the normal points out of the wood."""

    normal: Array
    offset: float

    def off(self, points: Array) -> Array:
        """Signed distances, positive on the outer side; points (n, 3)."""
        return points @ self.normal - self.offset


@dataclass(frozen=True)
class Round:
    """A cylinder (``slope`` 0) or cone about ``axis``; ``post``: the wood is inside it."""

    point: Array
    axis: Array
    radius: float
    slope: float
    post: bool

    def off(self, points: Array) -> Array:
        d = points - self.point
        height = d @ self.axis
        radial = np.linalg.norm(d - np.outer(height, self.axis), axis=1)
        found = (radial - self.radius - self.slope * height) / math.hypot(1.0, self.slope)
        return found if self.post else -found


@dataclass(frozen=True)
class Walls:
    """Curves (as plan.json writes them, head to tail) carried along ``axis``; wood on the left, the axis toward the
    eye."""

    axis: Array
    curves: tuple[Record, ...]


Form: TypeAlias = Flat | Round | Walls


def published_form(surface: Record) -> Form:
    """A surface as ``members[].surfaces`` describes it."""
    match surface["kind"]:
        case "plane":
            return Flat(np.array(surface["normal"]), surface["offset"])
        case "cylinder" | "cone":
            return Round(
                np.array(surface["point"]), np.array(surface["axis"]), surface["radius"],
                surface.get("slope", 0.0), surface["side"] == "post",
            )  # fmt: skip
    return sawn(np.array(surface["axis"]), surface["outline"])


def sawn(axis: Array, curves: Sequence[Record]) -> Form:
    """What a saw leaves that follows a line, the blade along ``axis``: a plane where it is straight, else walls."""
    if len(curves) == 1 and curves[0]["kind"] == "line":
        a, b = (np.array(p) for p in curves[0]["points"])
        out = unit(np.cross(b - a, axis))
        return Flat(out, float(out @ a))
    return Walls(axis, tuple(curves))


def _arc(curve: Record, axis: Array) -> tuple[Array, float, int]:
    """Centre, radius, and 1 where it turns counter-clockwise about the axis, from three points."""
    a, b, c = (np.array(p, dtype=float) for p in curve["points"])
    u, v = b - a, c - a
    n = np.cross(u, v)
    centre = a + (np.cross(n, u) * (v @ v) + np.cross(v, n) * (u @ u)) / (2.0 * (n @ n))
    return centre, float(np.linalg.norm(a - centre)), 1 if n @ axis > 0 else -1


def curve_points(curve: Record, axis: Array, count: int) -> Array:
    """``count`` + 1 points along one curve of an outline."""
    s = np.linspace(0.0, 1.0, count + 1)[:, None]
    if curve["kind"] == "ellipse":
        first, last = np.radians(curve["parameters"])
        p = first + (last - first) * s
        major, minor = (np.array(a) for a in curve["half_axes"])
        return np.array(curve["centre"]) + np.cos(p) * major + np.sin(p) * minor
    points = np.array(curve["points"], dtype=float)
    if curve["kind"] == "arc":
        centre, _, turn = _arc(curve, axis)
        x = points[0] - centre
        y = np.cross(axis, x) * turn
        end = points[2] - centre
        angle = math.atan2(float(end @ y), float(end @ x)) % (2 * math.pi)
        return centre + np.cos(angle * s) * x + np.sin(angle * s) * y
    while len(points) > 1 and points.ndim == 2:
        points = np.stack([points] * (count + 1))
    while points.shape[1] > 1:
        points = points[:, :-1] * (1 - s[:, None]) + points[:, 1:] * s[:, None]
    return points[:, 0]
