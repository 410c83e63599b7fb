"""Where a straight line goes into a solid and comes out of it, and through which of its surfaces."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from plangen.geometry.outline_spans import outline_crossings
from plangen.geometry.patches import crosses, dots, patches_of, same_surface
from plangen.geometry.solid import Solid
from plangen.geometry.surfaces import Cone, Cylinder, Extruded, Form, Plane
from plangen.geometry.vectors import Point, Vec, dot, scale, sub

_SAME = 1e-6


@dataclass(frozen=True)
class Crossing:
    """A line passes the solid's skin."""

    at: float
    """Millimetres along the line: exact through a plane, else to the sag of its facets."""
    enters: bool
    form: Form


def crossings(solid: Solid, start: Point, way: Vec) -> tuple[Crossing, ...]:
    """Every crossing of the endless line through ``start`` along the unit ``way``, in order along it.

    A line that runs in a facet does not cross it.
    """
    a, b, c = (solid.vertices[solid.triangles[:, i]] - np.array(start) for i in range(3))
    line = np.tile(np.array(way), (len(a), 1))
    turns = [dots(line, crosses(p, q)) for p, q in ((a, b), (b, c), (c, a))]
    volume = turns[0] + turns[1] + turns[2]
    sign = np.sign(volume)
    hit = np.flatnonzero((volume != 0.0) & np.all([t * sign >= 0.0 for t in turns], axis=0))
    normal = crosses(b[hit] - a[hit], c[hit] - a[hit])
    fall = dots(normal, line[hit])
    reach = dots(normal, a[hit])
    found = [
        Crossing(float(r / f), bool(f < 0.0), solid.forms[int(solid.triangle_form[i])])
        for i, f, r in zip(hit, fall, reach, strict=True)
        if f != 0.0
    ]
    found.sort(key=lambda x: x.at)
    kept: list[Crossing] = []
    for one in found:
        # a line through an edge that two facets share crosses both
        if not kept or one.enters != kept[-1].enters or one.at - kept[-1].at > _SAME:
            kept.append(one)
    return tuple(kept)


def pieces_same(form: Form, piece: Form) -> bool:
    """``piece``, a form of a solid, is the surface ``form`` or one of the pieces of its outline."""
    return any(same_surface(p, piece) for p in patches_of(form))


def exact_crossing(form: Form, start: Point, way: Vec, near: float) -> float | None:
    """Where the line meets the surface itself, nearest to ``near`` along it; None where it does not.

    Of an outline the curve that is met there.
    """
    if isinstance(form, Plane):
        fall = dot(form.normal, way)
        found = [] if abs(fall) < 1e-12 else [-form.distance(start) / fall]
    elif isinstance(form, Extruded):
        found = [c.at for c in outline_crossings(form, start, way)]
    else:
        found = _round_crossings(form, start, way)
    return min(found, key=lambda at: (round(abs(at - near), 6), at), default=None)


def _round_crossings(form: Cylinder | Cone, start: Point, way: Vec) -> list[float]:
    """Roots of (distance from the axis)^2 = (radius there)^2, on this side of a cone's tip."""
    slope = form.slope if isinstance(form, Cone) else 0.0
    d = sub(start, form.point)
    up, rise = dot(d, form.axis), dot(way, form.axis)
    off, run = sub(d, scale(form.axis, up)), sub(way, scale(form.axis, rise))
    r = form.radius + slope * up
    a = dot(run, run) - (slope * rise) ** 2
    b = dot(off, run) - r * slope * rise
    c = dot(off, off) - r * r
    if abs(a) < 1e-12:
        roots = [] if abs(b) < 1e-12 else [-c / (2 * b)]
    else:
        square = b * b - a * c
        if square < 0.0:
            return []
        # the form that loses no digits
        q = -(b + math.copysign(math.sqrt(square), b))
        roots = [q / a, c / q] if q != 0.0 else [0.0]
    return [t for t in roots if r + slope * rise * t > 0.0]


def reach_of(solid: Solid, form: Form, way: Vec) -> tuple[float, float] | None:
    """Least and most along ``way`` (unit, from the origin) of what a solid has of a surface; None where it has none."""
    mine = [i for i, f in enumerate(solid.forms) if pieces_same(form, f)]
    corners = solid.vertices[np.unique(solid.triangles[np.isin(solid.triangle_form, mine)])]
    if not len(corners):
        return None
    d = corners[:, 0] * way[0] + corners[:, 1] * way[1] + corners[:, 2] * way[2]
    return float(d.min()), float(d.max())
