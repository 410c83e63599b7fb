"""Where a round cutter does not go: openings it is too wide for, slots it cannot enter, walls thinner than it.

Shapely works on facets within 1e-3 mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import shapely
from shapely import Polygon

from plangen.geometry.contour_faults import Contour, contour_polygon
from plangen.geometry.curves import Vec2

_SLACK = 2e-3
_TRIES = 8
"""Places tried on a sheet along the way from one screw to the next."""
_QUADRANT = 32
_CORNERS = 0.5
"""Of the square of the cutter's radius: two square corners beside each other leave 0.43 of it round."""


def too_narrow(inside: Contour, diameter: float) -> Vec2 | None:
    """A place of an opening or pocket that the cutter does not reach in one go; None where it runs all round."""
    area = contour_polygon(inside)
    way = area.buffer(_SLACK - diameter / 2, quad_segs=_QUADRANT)
    if way.is_empty:
        return _at(area)
    if isinstance(way, Polygon):
        return None
    return _at(min(way.geoms, key=lambda g: (round(g.area, 3), g.centroid.x)))


def unreached(outline: Contour, diameter: float) -> Iterator[Vec2]:
    """Slots in an outline that the cutter cannot enter, each told at its middle; mere corners are none."""
    area, r = contour_polygon(outline), diameter / 2
    closed = area.buffer(r, quad_segs=_QUADRANT).buffer(-r, quad_segs=_QUADRANT)
    left = closed.difference(area.buffer(_SLACK))
    for part in sorted(_polygons(left), key=lambda g: (round(g.centroid.x, 3), round(g.centroid.y, 3))):
        if part.area > _CORNERS * r * r:
            yield _at(part)


def thin_walls(outline: Contour, insides: Sequence[Contour], least: float) -> Iterator[tuple[float, Vec2]]:
    """Wood narrower than ``least`` between two openings or an opening and the outside: how thick, and where."""
    rings = [contour_polygon(c).exterior for c in (outline, *insides)]
    for i, ring in enumerate(rings):
        for other in rings[i + 1 :]:
            thick = ring.distance(other)
            if thick < least:
                line = shapely.shortest_line(ring, other)
                yield thick, line.coords[0]


def within_wood(points: Sequence[Vec2], others: Sequence[Contour], margin: float) -> bool:
    """No point comes nearer than ``margin`` to any of the contours."""
    rings = shapely.union_all([contour_polygon(c).exterior for c in others])
    return bool(shapely.distance(shapely.points(list(points)), rings).min() >= margin)


def waste_places(outline: Contour, clear: float, spacing: float) -> tuple[Vec2, ...]:
    """Places beside an outline, ``clear`` from it and about ``spacing`` apart, none nearer than that to any part
    of it."""
    ring = contour_polygon(outline).buffer(clear, quad_segs=_QUADRANT).exterior
    count = max(4, round(ring.length / spacing))
    corners = [ring.interpolate(i / count, normalized=True) for i in range(count)]
    return tuple((p.x, p.y) for p in corners)


def places_in_waste(
    outlines: Sequence[Contour], sheet: Vec2, edge: float, clear: float, spacing: float
) -> tuple[Vec2, ...]:
    """Places on a sheet of this length and width, ``edge`` from its border, ``clear`` from all that the outlines hold
    and ``spacing`` from each other; from its start, row by row."""
    taken = shapely.union_all([contour_polygon(c).buffer(clear, quad_segs=_QUADRANT) for c in outlines])
    free = shapely.box(edge, edge, sheet[0] - edge, sheet[1] - edge).difference(taken)
    shapely.prepare(free)
    found: list[Vec2] = []
    columns, rows = (max(1, round((size - 2 * edge) / spacing * _TRIES)) for size in sheet)
    for i in range(columns + 1):
        for j in range(rows + 1):
            at = (edge + (sheet[0] - 2 * edge) * i / columns, edge + (sheet[1] - 2 * edge) * j / rows)
            if all(math.dist(at, p) >= spacing for p in found) and free.covers(shapely.Point(at)):
                found.append(at)
    return tuple(found)


def _polygons(shape: shapely.Geometry) -> list[Polygon]:
    if isinstance(shape, Polygon):
        return [] if shape.is_empty else [shape]
    return [g for g in getattr(shape, "geoms", ()) if isinstance(g, Polygon)]


def _at(shape: shapely.Geometry) -> Vec2:
    p = shape.representative_point()
    return (p.x, p.y)
