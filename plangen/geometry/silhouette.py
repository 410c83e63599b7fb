"""Which strokes of a view run along the outline of their own solid, and which within it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from plangen.geometry.curves import Curve, Vec2
from plangen.geometry.frames import Frame
from plangen.geometry.solid import Solid
from plangen.geometry.views import Projection, Stroke

_NEAR = 0.05
"""Millimetres of the work: facets of round surfaces lie this near to their contours."""
_BENT = _NEAR / 5
_SAMPLES = (0.25, 0.5, 0.75)
_FLAT = 1e-6
"""Square millimetres: a triangle seen edge on."""

_SLIT = 1e-3
"""Millimetres: half of what is closed between facets. Those that meet but for the last figure leave slits, which would
come and go with how the last figure is rounded."""


def on_silhouette(
    strokes: Sequence[Stroke], solids: Sequence[tuple[Solid, Frame]], projection: Projection
) -> tuple[bool, ...]:
    """For each stroke, whether most of it lies on the outline of the solid that owns it, others left out of
    account."""
    owners = sorted({s.owner for s in strokes})
    outlines = {i: _outline(*solids[i], projection) for i in owners}
    return tuple(_lies_on(s.curve, outlines[s.owner]) for s in strokes)


def covered(solid: Solid, frame: Frame, projection: Projection) -> list[list[list[Vec2]]]:
    """What the solid covers on paper: regions, each its outline and its holes as corners in order.

    Each ring runs against the clock from its lowest corner at the left, whatever the facets' order.
    """
    area = _shadow(solid, frame, projection)
    regions = shapely.get_parts(area)
    found = [[_corners(ring) for ring in (region.exterior, *region.interiors)] for region in regions.tolist()]
    return sorted(
        ([outline, *sorted(holes, key=_start)] for outline, *holes in found), key=lambda r: _start(r[0])
    )


def _corners(ring: shapely.LinearRing) -> list[Vec2]:
    """A ring's corners, those left out that stand less than ``_BENT`` from the straight between others."""
    points = [(float(x), float(y)) for x, y in ring.coords[:-1]]
    if not shapely.is_ccw(ring):
        points.reverse()
    first = min(range(len(points)), key=lambda i: _rounded(points[i]))
    turned = [*points[first:], *points[: first + 1]]
    kept = shapely.LineString(turned).simplify(_BENT)
    return [(float(x), float(y)) for x, y in kept.coords[:-1]]


def _start(ring: list[Vec2]) -> Vec2:
    return _rounded(ring[0])


def _rounded(p: Vec2) -> Vec2:
    return (round(p[0], 4), round(p[1], 4))


def _outline(solid: Solid, frame: Frame, projection: Projection) -> shapely.Geometry:
    """Boundary of what the solid covers on paper."""
    return _shadow(solid, frame, projection).boundary


def _shadow(solid: Solid, frame: Frame, projection: Projection) -> shapely.Geometry:
    corners = [projection.flat(frame.point(tuple(v))) for v in solid.vertices.tolist()]
    flat = np.asarray(corners, dtype=float)[solid.triangles]
    a, b = flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]
    area = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    # one side of the skin covers all that the solid covers
    whole = shapely.union_all(shapely.polygons(flat[area > _FLAT]))
    return whole.buffer(_SLIT, join_style="mitre").buffer(-_SLIT, join_style="mitre")


def _lies_on(curve: Curve, outline: shapely.Geometry) -> bool:
    points = [curve.at(s) for s in _SAMPLES]
    near = sum(bool(shapely.distance(outline, shapely.points(p)) < _NEAR) for p in points)
    return 2 * near > len(points)
