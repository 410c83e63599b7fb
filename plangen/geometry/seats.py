"""What of a plane of a solid can lie on a table or stand at a fence."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from plangen.geometry.solid import Solid
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Point, Vec, cross, dot, unit

_SAME = 1e-6


@dataclass(frozen=True)
class Seat:
    """Where a solid can be set down on one of its planes."""

    area: float
    """Square millimetres."""
    span: float
    """Longest distance between two of its corners, mm."""
    steady: bool
    """The solid's middle stands over the seat, so that it does not tip."""
    clear: bool
    """No wood stands out past the plane."""


def corners_on(solid: Solid, plane: Plane) -> tuple[Point, ...]:
    """Corners of the facets that lie in ``plane`` with their outer side on the plane's; none where no wood is left."""
    chosen = np.isin(solid.triangle_form, _forms_on(solid, plane))
    found = solid.vertices[np.unique(solid.triangles[chosen])]
    return tuple((float(x), float(y), float(z)) for x, y, z in found)


def seat_of(solid: Solid, plane: Plane) -> Seat:
    """What of ``plane`` is there to set the solid down on; of no area where no wood is left on it."""
    corners = corners_on(solid, plane)
    if len(corners) < 3:
        return Seat(0.0, 0.0, False, False)
    u, v = level_axes(plane.normal)
    hull = shapely.convex_hull(shapely.MultiPoint([(dot(p, u), dot(p, v)) for p in corners]))
    middle = shapely.Point(dot(solid.centroid, u), dot(solid.centroid, v))
    on = _forms_on(solid, plane)
    area = sum(f.area for f in solid.faces if f.surface in on)
    ring = shapely.get_coordinates(hull)
    span = max(float(np.hypot(*(ring - p).T).max()) for p in ring)
    clear = extent(solid, plane.normal)[1] < plane.offset + _SAME
    return Seat(area, span, bool(hull.contains(middle)), clear)


def extent(solid: Solid, direction: Vec) -> tuple[float, float]:
    """How far the solid reaches along a direction: least and most."""
    v = solid.vertices
    d = v[:, 0] * direction[0] + v[:, 1] * direction[1] + v[:, 2] * direction[2]
    return float(d.min()), float(d.max())


def section_lines(solid: Solid, plane: Plane) -> tuple[tuple[Point, Point], ...]:
    """The outline of the solid's section by ``plane``, in pieces, as it falls on the facets of the skin.

    Where a facet lies in the plane its sides are told instead.
    """
    n, v, t = plane.normal, solid.vertices, solid.triangles
    d = v[:, 0] * n[0] + v[:, 1] * n[1] + v[:, 2] * n[2] - plane.offset
    d[np.abs(d) < _SAME] = 0.0
    found: list[tuple[Point, Point]] = []
    near = (d[t].min(axis=1) <= 0.0) & (d[t].max(axis=1) >= 0.0)
    for corners in t[near].tolist():
        on = [i for i in corners if d[i] == 0.0]
        sides = ((corners[0], corners[1]), (corners[1], corners[2]), (corners[2], corners[0]))
        through = [(i, j) for i, j in sides if d[i] * d[j] < 0.0]
        ends = [_point(v[i]) for i in on]
        ends += [_point(v[i] + d[i] / (d[i] - d[j]) * (v[j] - v[i])) for i, j in through]
        if len(ends) == 2:
            found.append((ends[0], ends[1]))
        elif len(ends) == 3:
            found += [(ends[0], ends[1]), (ends[1], ends[2]), (ends[2], ends[0])]
    return tuple(found)


def _point(row: np.ndarray) -> Point:
    return (float(row[0]), float(row[1]), float(row[2]))


def level_axes(normal: Vec) -> tuple[Vec, Vec]:
    """Two directions square to ``normal`` and to each other, right-handed with it."""
    least = min(range(3), key=lambda i: (round(abs(normal[i]), 6), i))
    seed: Vec = (float(least == 0), float(least == 1), float(least == 2))
    u = unit(cross(seed, normal))
    return u, cross(normal, u)


def _forms_on(solid: Solid, plane: Plane) -> list[int]:
    return [
        i
        for i, f in enumerate(solid.forms)
        if isinstance(f, Plane)
        and dot(f.normal, plane.normal) > 1.0 - 1e-12
        and abs(f.offset - plane.offset) < _SAME
    ]
