"""Where two solids touch: area of faces that lie on each other."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely

from plangen.geometry.clash import world_vertices
from plangen.geometry.frames import Frame
from plangen.geometry.patches import Array, frame_about
from plangen.geometry.solid import Face, Solid
from plangen.geometry.surfaces import Cone, Cylinder, Form, Plane
from plangen.geometry.vectors import LENGTH_TOLERANCE, Point, Vec, add, cross, dot, length, scale, sub, unit

OPPOSED = 1e-5
"""Radians by which faces in contact may be out of parallel."""


def contact_area(a: Solid, frame_a: Frame, b: Solid, frame_b: Frame, gap: float) -> float:
    """Square millimetres over which faces of the two placed solids lie on each other within ``gap`` mm.

    Plane faces that are parallel and opposed, by their facets; a post in a hole on one axis and of one radius
    (cones: one taper) within ``gap``, by their facets unrolled, which is good to the facets' chord. Free curves
    do not count.
    """
    xa, xb = world_vertices(a, frame_a), world_vertices(b, frame_b)
    areas = [0.0]
    for fa, fb in _facing(a, frame_a, b, frame_b, gap):
        pa, pb = a.forms[fa.surface].placed(frame_a), b.forms[fb.surface].placed(frame_b)
        ta, tb = xa[a.triangles[list(fa.triangles)]], xb[b.triangles[list(fb.triangles)]]
        areas.append(_overlap(pa, pb, ta, tb, gap))
    return math.fsum(areas)


@dataclass(frozen=True)
class Touch:
    """Where a face of one placed solid lies on a face of another."""

    ways_off: tuple[Vec, ...]
    """Unit: the first is free of the second in any direction that has no negative part along one of these. One for
    plane faces, several round a post."""
    area: float
    """Square millimetres."""
    corners: tuple[Point, ...]
    """Points about the part that touches."""


def touches(a: Solid, frame_a: Frame, b: Solid, frame_b: Frame, gap: float) -> tuple[Touch, ...]:
    """Every contact of faces within ``gap`` mm, over more than a square millimetre (as ``contact_area`` counts)."""
    xa, xb = world_vertices(a, frame_a), world_vertices(b, frame_b)
    found = []
    for fa, fb in _facing(a, frame_a, b, frame_b, gap):
        form, other = a.forms[fa.surface].placed(frame_a), b.forms[fb.surface].placed(frame_b)
        ta, tb = xa[a.triangles[list(fa.triangles)]], xb[b.triangles[list(fb.triangles)]]
        area = _overlap(form, other, ta, tb, gap)
        if area > _LEAST_TOUCH:
            smaller = (
                ta
                if np.ptp(ta.reshape(-1, 3), axis=0).sum() <= np.ptp(tb.reshape(-1, 3), axis=0).sum()
                else tb
            )
            found.append(Touch(_ways_off(form, other, smaller), area, _some_corners(smaller)))
    return tuple(found)


_LEAST_TOUCH = 1.0
_ROUND_WAYS = 60


def _ways_off(form: Form, other: Form, facets: Array) -> tuple[Vec, ...]:
    """Square to the skin where the facets are, out of the second solid into the first."""
    if isinstance(other, Plane):
        return (other.normal,)
    assert isinstance(form, Cylinder | Cone)
    middle = facets.mean(axis=1)
    step = max(1, len(middle) // _ROUND_WAYS)
    return tuple(dict.fromkeys(_inward(form, (p[0], p[1], p[2])) for p in middle[::step].tolist()))


def _inward(form: Cylinder | Cone, p: Point) -> Vec:
    """Square to a round surface at a point near it, into its own wood."""
    off = sub(p, form.point)
    along_axis = dot(off, form.axis)
    radial = unit(sub(off, scale(form.axis, along_axis)))
    slope = form.slope if isinstance(form, Cone) else 0.0
    outward = unit(sub(radial, scale(form.axis, slope)))
    away = scale(outward, -1.0 if form.side == "post" else 1.0)
    return (round(away[0], 9), round(away[1], 9), round(away[2], 9))


def _some_corners(facets: Array) -> tuple[Point, ...]:
    """Corners of facets, each once; of many round a post some."""
    each = sorted({(p[0], p[1], p[2]) for p in facets.reshape(-1, 3).tolist()})
    return tuple(each[:: max(1, len(each) // _ROUND_WAYS)])


def _overlap(form: Form, other: Form, ours: Array, theirs: Array, gap: float) -> float:
    """Square millimetres that two facing faces share; facets (n, 3, 3) in the world."""
    match form, other:
        case Plane(), Plane():
            return _flat_overlap(form, ours, theirs, gap)
        case Cylinder(), Cylinder():
            return _round_overlap(2 * math.pi * form.radius, _unrolled(form, ours), _unrolled(form, theirs))
        case Cone(), Cone():
            return _round_overlap(2 * math.pi, _spread(form, ours), _spread(form, theirs))
    return 0.0


def _facing(a: Solid, frame_a: Frame, b: Solid, frame_b: Frame, gap: float) -> Iterator[tuple[Face, Face]]:
    """Pairs of faces whose surfaces lie on each other."""
    forms_a = [f.placed(frame_a) for f in a.forms]
    forms_b = [f.placed(frame_b) for f in b.forms]
    pairs = {
        (i, j)
        for i, f in enumerate(forms_a)
        for j, g in enumerate(forms_b)
        if (isinstance(f, Plane) and isinstance(g, Plane) and _opposed(f, g))
        or (isinstance(f, Cylinder) and isinstance(g, Cylinder) and _nested(f, g, gap))
        or (isinstance(f, Cone) and isinstance(g, Cone) and _seated(f, g, gap))
    }
    for fa in a.faces:
        for fb in b.faces:
            if (fa.surface, fb.surface) in pairs:
                yield fa, fb


def _opposed(a: Plane, b: Plane) -> bool:
    return length(add(a.normal, b.normal)) < OPPOSED


def _nested(a: Cylinder, b: Cylinder, gap: float) -> bool:
    if a.side == b.side or length(cross(a.axis, b.axis)) > OPPOSED:
        return False
    apart = length(cross(sub(b.point, a.point), a.axis))
    return apart + abs(a.radius - b.radius) <= gap


def _seated(a: Cone, b: Cone, gap: float) -> bool:
    """Cones of one taper about one axis, one in the other, no farther apart than ``gap`` square to them."""
    if a.side == b.side or length(cross(a.axis, b.axis)) > OPPOSED:
        return False
    slope = b.slope if dot(a.axis, b.axis) > 0 else -b.slope
    apart = length(cross(sub(b.point, a.point), a.axis))
    between = abs(a.radius_at(b.point) - b.radius) / math.sqrt(1.0 + a.slope * a.slope)
    return abs(a.slope - slope) <= OPPOSED and apart + between <= gap


def _flat_overlap(plane: Plane, a: Array, b: Array, gap: float) -> float:
    n = plane.normal
    height = b[..., 0] * n[0] + b[..., 1] * n[1] + b[..., 2] * n[2] - plane.offset
    if np.abs(height).max() > gap:
        return 0.0
    e1, e2 = frame_about(n)
    ours, theirs = _flat(a, plane.point, e1, e2), _flat(b, plane.point, e1, e2)
    if not _boxes_meet(ours, theirs):
        return 0.0
    return float(_flat_region(ours).intersection(_flat_region(theirs)).area)


def _flat_region(triangles: Array) -> shapely.Geometry:
    """The facets of a plane face share their corners to the bit, so that shared sides just drop out: four times
    faster than the union of any triangles. Slivers may leave less than a region, or corners that do not meet once they
    lie flat; then they are united all the same."""
    try:
        whole = shapely.coverage_union_all(shapely.polygons(triangles))
    except shapely.GEOSException:
        return _region(triangles)
    return whole if shapely.is_valid(whole) else _region(triangles)


def _boxes_meet(a: Array, b: Array) -> bool:
    return bool((a.min((0, 1)) <= b.max((0, 1))).all() and (b.min((0, 1)) <= a.max((0, 1))).all())


def _flat(x: Array, origin: Point, e1: Vec, e2: Vec) -> Array:
    d = x - np.array(origin)
    return np.stack([d[..., 0] * e[0] + d[..., 1] * e[1] + d[..., 2] * e[2] for e in (e1, e2)], axis=-1)


def _region(triangles: Array) -> shapely.Geometry:
    return shapely.union_all(shapely.polygons(triangles))


def _round_overlap(full: float, ours: Array, theirs: Array) -> float:
    """Overlap of two faces of one round surface, unrolled; ``full`` is a whole turn there."""
    turns = np.concatenate([theirs + np.array((shift, 0.0)) for shift in (-full, 0.0, full)])
    return float(_region(ours).intersection(_region(turns)).area)


def _unrolled(form: Cylinder, x: Array) -> Array:
    """Facets in arc length and height."""
    angle, _, height = _about_axis(form, x)
    return np.stack([form.radius * angle, height], axis=-1)


def _spread(form: Cone, x: Array) -> Array:
    """Facets in turn (radians) and the area for each radian from where the cone's radius is ``radius``.

    That keeps areas. A facet that ends in the tip is as wide there as at its foot, so it stands as two.
    """
    turn, off_axis, height = _about_axis(form, x)
    tip = off_axis <= LENGTH_TOLERANCE
    height = np.where(tip, -form.radius / form.slope, height)
    slant = math.sqrt(1.0 + form.slope * form.slope)
    flat = np.stack([turn, slant * height * (form.radius + form.slope * height / 2)], axis=-1)
    split = tip.any(axis=1)
    if not split.any():
        return flat
    at_tip = np.argmax(tip[split], axis=1)
    rows = np.arange(len(at_tip))
    a, b, c = (flat[split][rows, (at_tip + i) % 3] for i in range(3))
    over_b, over_c = np.stack([b[:, 0], a[:, 1]], axis=1), np.stack([c[:, 0], a[:, 1]], axis=1)
    halves = [np.stack([over_b, b, c], axis=1), np.stack([over_b, c, over_c], axis=1)]
    return np.concatenate([flat[~split], *halves])


def _about_axis(form: Cylinder | Cone, x: Array) -> tuple[Array, Array, Array]:
    """Turn about the axis (without a jump in any facet), distance from the axis and height along it."""
    e1, e2 = frame_about(form.axis)
    flat = _flat(x, form.point, e1, e2)
    off_axis = np.hypot(flat[..., 0], flat[..., 1])
    angle = np.arctan2(flat[..., 1], flat[..., 0])
    first = np.argmax(off_axis > LENGTH_TOLERANCE, axis=1)[:, None]
    start = np.take_along_axis(angle, first, axis=1)
    angle = start + (angle - start + math.pi) % (2 * math.pi) - math.pi
    d = x - np.array(form.point)
    height = d[..., 0] * form.axis[0] + d[..., 1] * form.axis[1] + d[..., 2] * form.axis[2]
    return angle, off_axis, height
