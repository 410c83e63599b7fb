"""What the piece weighs, where its weight acts, and how far that lies inside its feet. Kilograms and millimetres."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from plangen.geometry.vectors import Point
from plangen.joinery.model import Model

_FLOOR_MM = 0.5
"""What is this near to the floor stands on it, unless nothing is lower."""


@dataclass(frozen=True)
class Balance:
    """Of all parts whose weight is known."""

    mass: float
    centre: Point
    """In the world: right, rear, up."""
    unknown: tuple[str, ...]
    """Marks of the parts whose weight is not known: they are left out."""
    inside: float | None
    """How far the centre lies within the outline of what touches the floor, seen from above; None where less than
    three points do. Below zero it lies outside."""

    @property
    def tips_at(self) -> float | None:
        """Degrees of slope of the floor at which the piece would tip over, the worst way."""
        if self.inside is None or self.centre[2] <= 0:
            return None
        return math.degrees(math.atan2(self.inside, self.centre[2]))


def balance(model: Model) -> Balance | None:
    """None where no weight is known. The world's floor is at 0."""
    weights = [
        (m.mass, i.frame.point(m.solid.centroid))
        for m in model.members
        if m.mass is not None and m.mass > 0
        for i in m.instances
    ]
    if not weights:
        return None
    mass = math.fsum(w for w, _ in weights)
    centre = tuple(math.fsum(w * p[k] for w, p in weights) / mass for k in range(3))
    unknown = tuple(m.mark for m in model.members if m.mass is None and m.instances)
    middle = (centre[0], centre[1], centre[2])
    return Balance(mass, middle, unknown, _inside(_standing(model), (centre[0], centre[1])))


def _standing(model: Model) -> list[tuple[float, float]]:
    """Where the piece touches the floor, seen from above."""
    found = []
    for member in model.members:
        for instance in member.instances:
            for v in member.solid.vertices.tolist():
                x, y, z = instance.frame.point((v[0], v[1], v[2]))
                if abs(z) <= _FLOOR_MM:
                    found.append((round(x, 6), round(y, 6)))
    return found


def _inside(points: Sequence[tuple[float, float]], at: tuple[float, float]) -> float | None:
    """Least distance from ``at`` to a side of the points' outline, negative beyond it."""
    hull = outline_of(points)
    if len(hull) < 3:
        return None
    sides = zip(hull, [*hull[1:], hull[0]], strict=True)
    return min(
        ((bx - ax) * (at[1] - ay) - (by - ay) * (at[0] - ax)) / math.hypot(bx - ax, by - ay)
        for (ax, ay), (bx, by) in sides
    )


def outline_of(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """The corners of the smallest convex outline about the points, anticlockwise; those in line left out."""
    ordered = sorted(set(points))
    if len(ordered) < 3:
        return ordered

    def half(way: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
        chain: list[tuple[float, float]] = []
        for p in way:
            while len(chain) > 1 and _turn(chain[-2], chain[-1], p) <= 1e-9:
                chain.pop()
            chain.append(p)
        return chain[:-1]

    return [*half(ordered), *half(ordered[::-1])]


def _turn(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
