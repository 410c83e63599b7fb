"""The shadow of a solid on a level plane, where all its edges are straight: exact loops of lines."""

from __future__ import annotations

from itertools import pairwise

import shapely
from shapely import LineString, Polygon

from plangen.geometry.boundary import Straight
from plangen.geometry.curves import Curve, Line
from plangen.geometry.slices import Loop, merged
from plangen.geometry.solid import Solid

_GRID = 1e-7
"""Millimetres: corners that come from one arris are one."""
_LEAST = 1e-4


def shadow_loops(solid: Solid) -> tuple[Loop, ...] | None:
    """Outer loops counter-clockwise, inner ones clockwise, larger first; None where an edge is curved."""
    lines: dict[int, list[LineString]] = {}
    for edge in solid.edges:
        if not isinstance(edge.curve, Straight):
            return None
        a, b = edge.curve.start, edge.curve.end
        for face in {edge.left, edge.right}:
            lines.setdefault(face, []).append(LineString([a[:2], b[:2]]))
    areas: list[Polygon] = []
    for face in sorted(lines):
        areas += [p for p in shapely.polygonize(lines[face]).geoms if p.area > _LEAST]
    shadow = shapely.union_all(areas, grid_size=_GRID)
    parts = [shadow] if isinstance(shadow, Polygon) else list(getattr(shadow, "geoms", ()))
    rings = [(p.exterior, True) for p in parts] + [(r, False) for p in parts for r in p.interiors]
    loops = []
    for ring, outer in rings:
        if Polygon(ring).area <= _LEAST:
            continue
        points = list(ring.coords)
        if ring.is_ccw != outer:
            points.reverse()
        curves: list[Curve] = [Line((a[0], a[1]), (b[0], b[1])) for a, b in pairwise(points)]
        loops.append(Loop(merged(curves)))
    return tuple(sorted(loops, key=lambda loop: -round(abs(loop.area), 3)))
