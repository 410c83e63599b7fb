"""DXF contours read back to curves, and measured, by formulas of their own."""

from __future__ import annotations

import math
import tempfile
from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

import ezdxf
import shapely
from ezdxf.document import Drawing
from ezdxf.entities import DXFEntity

from plangen.geometry.curves import Arc, Curve, Line, Vec2


# as many as a design has templates: its tests, which change nothing, look at each again
@lru_cache(maxsize=64)
def opened(data: bytes) -> Drawing:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "part.dxf"
        path.write_bytes(data)
        return ezdxf.readfile(path)


def contour_of(entity: DXFEntity) -> tuple[Curve, ...]:
    """A polyline's or circle's curves, its bulges read back: bulge = tan(angle / 4) (DXF reference)."""
    if entity.dxftype() == "CIRCLE":
        x, y, _ = entity.dxf.center
        return (Arc((x, y), entity.dxf.radius, 0.0, 2 * math.pi),)
    rows = [tuple(row) for row in entity.get_points("xyb")]
    following = [*rows[1:], rows[0]] if entity.closed else rows[1:]
    return tuple(bulged((x, y), (u, v), b) for (x, y, b), (u, v, _) in zip(rows, following, strict=False))


def bulged(a: Vec2, b: Vec2, bulge: float) -> Curve:
    if bulge == 0:
        return Line(a, b)
    angle = 4 * math.atan(bulge)
    chord = math.dist(a, b)
    radius = chord / (2 * math.sin(abs(angle) / 2))
    height = radius * math.cos(angle / 2)
    side = math.copysign(1.0, bulge)
    n = (-(b[1] - a[1]) / chord * side, (b[0] - a[0]) / chord * side)
    centre = ((a[0] + b[0]) / 2 + n[0] * height, (a[1] + b[1]) / 2 + n[1] * height)
    first = math.atan2(a[1] - centre[1], a[0] - centre[0])
    return Arc(centre, radius, first, first + angle)


def area(curves: Sequence[Curve]) -> float:
    """Square millimetres by the trapezium rule on lines, the segment formula on arcs, and on any other curve by
    chords, of which twice as many are four times as near."""
    total = 0.0
    for c in curves:
        (x0, y0), (x1, y1) = c.start, c.end
        total += (x0 * y1 - x1 * y0) / 2
        if isinstance(c, Arc):
            sweep = c.last - c.first
            total += c.radius**2 * (sweep - math.sin(sweep)) / 2
        elif not isinstance(c, Line):
            few, many = (_beside_chords(c, n) for n in (256, 512))
            total += (4 * many - few) / 3
    return total


def _beside_chords(curve: Curve, count: int) -> float:
    """What lies between the curve's own chord and ``count`` chords along it."""
    points = [curve.at(i / count) for i in range(count + 1)]
    return math.fsum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairwise([*points, points[0]])) / 2


def distance(p: Vec2, curve: Curve) -> float:
    if isinstance(curve, Line):
        d = (curve.end[0] - curve.start[0], curve.end[1] - curve.start[1])
        s = ((p[0] - curve.start[0]) * d[0] + (p[1] - curve.start[1]) * d[1]) / (d[0] ** 2 + d[1] ** 2)
        return math.dist(p, curve.at(min(1.0, max(0.0, s))))
    if isinstance(curve, Arc):
        return abs(math.dist(p, curve.centre) - curve.radius)
    return float(chords_of(curve).distance(shapely.Point(p)))


@lru_cache(maxsize=256)
def chords_of(curve: Curve) -> shapely.LineString:
    """A free curve as 2,000 chords; made once, since a whole outline is measured against it point by point."""
    return shapely.LineString([curve.at(i / 2000) for i in range(2001)])
