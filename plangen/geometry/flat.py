"""Plane areas: shadows of bodies, what two of them share, and rows of points within."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from shapely import LineString, MultiPoint, Polygon

from plangen.geometry.curves import Curve, Line, Vec2

LEAST_AREA = 1e-3
"""Square millimetres."""
_CHORDS = 32
_SQUARE = 1.05
"""An area whose sides differ by less than this has no longer way."""


@dataclass(frozen=True)
class Area:
    """A convex area, corners counter-clockwise."""

    corners: tuple[Vec2, ...]
    size: float
    """Square millimetres."""

    @classmethod
    def around(cls, points: Sequence[Vec2]) -> Area | None:
        """The convex area that just holds the points, None where they hold none."""
        return _area_of(MultiPoint(points).convex_hull)

    def shared_with(self, other: Area) -> Area | None:
        return _area_of(Polygon(self.corners).intersection(Polygon(other.corners)).convex_hull)

    def chord(self, start: Vec2, end: Vec2) -> tuple[Vec2, Vec2] | None:
        """The part of a straight line that lies within the area."""
        inside = Polygon(self.corners).intersection(LineString([start, end]))
        if inside.is_empty or inside.geom_type != "LineString":
            return None
        first, *_, last = inside.coords
        return (first[0], first[1]), (last[0], last[1])

    def long_way(self) -> Vec2:
        """Unit direction of the longer side of the least rectangle round the area; x where it is about square.

        Of rectangles that are alike, as round a rhombus, the one that lies nearer to x: so that the mirror image of
        an area has the mirror image of its way.
        """
        found = []
        for a, b in pairwise([*self.corners, self.corners[0]]):
            side = math.dist(a, b)
            u = ((b[0] - a[0]) / side, (b[1] - a[1]) / side)
            v = (-u[1], u[0])
            along, across = (_extent(self.corners, way) for way in (u, v))
            way = u if along > across else v
            found.append(
                (
                    round(along * across, 6),
                    -round(abs(way[0]), 9),
                    max(along, across),
                    min(along, across),
                    way,
                )
            )
        _, _, longer, shorter, way = min(found)
        return (1.0, 0.0) if longer < _SQUARE * shorter else _forward(way)

    def middle(self) -> Vec2:
        c = Polygon(self.corners).centroid
        return (c.x, c.y)


def _extent(points: Sequence[Vec2], way: Vec2) -> float:
    stations = [p[0] * way[0] + p[1] * way[1] for p in points]
    return max(stations) - min(stations)


def _forward(way: Vec2) -> Vec2:
    """The same line walked toward +x, or toward +y where it stands upright."""
    x, y = round(way[0], 9), round(way[1], 9)
    return way if x > 0 or (x == 0 and y > 0) else (-way[0], -way[1])


def _area_of(shape: object) -> Area | None:
    if not isinstance(shape, Polygon) or shape.area < LEAST_AREA:
        return None
    ring = Polygon(shape).exterior
    corners = list(ring.coords)[:-1]
    if not ring.is_ccw:
        corners.reverse()
    start = min(range(len(corners)), key=lambda i: (round(corners[i][0], 6), round(corners[i][1], 6)))
    turned = corners[start:] + corners[:start]
    return Area(tuple((float(x), float(y)) for x, y in turned), float(shape.area))


def outside_loop(points: Sequence[Vec2], loop: Sequence[Curve]) -> float:
    """Square millimetres of the convex area round ``points`` that lie outside a closed loop of curves.

    Curves are taken at their chords, 32 to each.
    """
    corners = [c.at(i / _CHORDS) for c in loop for i in range(1 if isinstance(c, Line) else _CHORDS)]
    return float(MultiPoint(points).convex_hull.difference(Polygon(corners).buffer(1e-6)).area)


def row_in(area: Area, count: int, inset: float, direction: Vec2) -> tuple[Vec2, ...] | None:
    """``count`` points evenly along a line through the area's middle, first and last ``inset`` from its ends.

    One point stands in the middle. None where there is no room.
    """
    x, y = area.middle()
    far = 1e5
    chord = area.chord(
        (x - far * direction[0], y - far * direction[1]), (x + far * direction[0], y + far * direction[1])
    )
    if chord is None:
        return None
    (ax, ay), (bx, by) = chord
    if count == 1:
        return (((ax + bx) / 2, (ay + by) / 2),)
    long = ((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5
    free = long - 2 * inset
    if free <= 0:
        return None
    places = []
    for i in range(count):
        s = (inset + free * i / (count - 1)) / long
        places.append((ax + (bx - ax) * s, ay + (by - ay) * s))
    return tuple(places)
