"""Patches: the smooth pieces that surfaces are made of, as arrays, for many points at once.

A plane, a cylinder and a cone are one patch each; an extruded outline is one patch a curve, its straight and circular
curves being planes and cylinders. Straight continuations of an open outline are planes too.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import pairwise
from typing import TypeAlias

import numpy as np

from plangen.geometry.curves import Arc, Bezier, Curve, EllipseArc, Line, Vec2
from plangen.geometry.surfaces import Cone, Cylinder, Extruded, Form, Plane
from plangen.geometry.vectors import LENGTH_TOLERANCE, Vec, add, along, cross, dot, length, scale, sub, unit

FACET_SAG = 0.005
"""Millimetres a facet's chord may lie off the curve it stands for."""
ANGLE_MATCH = 1e-9
EXACT = 1e-9
"""Millimetres that radii and axes may be apart by rounding alone."""
AT_REST = 1e-12
"""A step of a curve's parameter, squared by the next step of Newton's rule, is then lost in rounding."""

Array: TypeAlias = np.ndarray


def patches_of(form: Form) -> tuple[Form, ...]:
    """The smooth pieces of a surface, in the order of its outline; free curves stay ``Extruded``."""
    if not isinstance(form, Extruded):
        return (form,)
    pieces = [patch_of_curve(form, curve) for curve in form.outline]
    if not is_closed(form):
        (x0, y0), (dx0, dy0) = form.outline[0].start, end_direction(form.outline[0], 0.0)
        (x1, y1), (dx1, dy1) = form.outline[-1].end, end_direction(form.outline[-1], 1.0)
        pieces.insert(0, _line_plane(form, (x0 - dx0, y0 - dy0), (x0, y0)))
        pieces.append(_line_plane(form, (x1, y1), (x1 + dx1, y1 + dy1)))
    return tuple(pieces)


def patch_of_curve(form: Extruded, curve: Curve) -> Form:
    """The smooth piece that one curve of the outline makes."""
    if isinstance(curve, Line):
        return _line_plane(form, curve.start, curve.end)
    if isinstance(curve, Arc):
        round_ = Cylinder(form.lift(*curve.centre), form.axis, curve.radius, "post")
        return round_ if curve.last > curve.first else round_.flipped()
    return Extruded(form.origin, form.u, form.v, (curve,))


def is_closed(form: Extruded) -> bool:
    """The outline ends where it starts."""
    return math.dist(form.outline[0].start, form.outline[-1].end) <= LENGTH_TOLERANCE


def _line_plane(form: Extruded, start: Vec2, end: Vec2) -> Plane:
    dx, dy = end[0] - start[0], end[1] - start[1]
    normal = unit(sub(scale(form.u, dy), scale(form.v, dx)))
    return Plane(normal, dot(normal, form.lift(*start)))


def end_direction(curve: Curve, s: float) -> Vec2:
    """Unit tangent at the start (0) or the end (1) of a curve, in the direction of walking."""
    if isinstance(curve, Line):
        d = (curve.end[0] - curve.start[0], curve.end[1] - curve.start[1])
    elif isinstance(curve, Bezier):
        rows = curve.points if s == 0.0 else curve.points[::-1]
        other = next(p for p in rows if math.dist(p, rows[0]) > 1e-12)
        sign = 1.0 if s == 0.0 else -1.0
        d = (sign * (other[0] - rows[0][0]), sign * (other[1] - rows[0][1]))
    else:
        p = curve.first + (curve.last - curve.first) * s
        turn = 1.0 if curve.last > curve.first else -1.0
        c, k = turn * math.cos(p), turn * math.sin(p)
        major, minor = (
            ((curve.radius, 0.0), (0.0, curve.radius))
            if isinstance(curve, Arc)
            else (curve.major, curve.minor)
        )
        d = (-major[0] * k + minor[0] * c, -major[1] * k + minor[1] * c)
    n = math.hypot(*d)
    return (d[0] / n, d[1] / n)


@lru_cache(maxsize=1024)
def curve_parameters(curve: Curve) -> tuple[float, ...]:
    """Parameters 0 ... 1 at which to facet a curve so that no chord lies off it by more than the sag."""
    if isinstance(curve, Line):
        return (0.0, 1.0)
    if isinstance(curve, Arc):
        step = 2 * math.acos(max(0.0, 1 - FACET_SAG / curve.radius))
        count = max(2, math.ceil(abs(curve.last - curve.first) / step))
        return tuple(i / count for i in range(count + 1))
    count = 16
    while count < 1024 and _worst_sag(curve, count) > FACET_SAG:
        count *= 2
    return tuple(i / count for i in range(count + 1))


def _worst_sag(curve: Curve, count: int) -> float:
    worst = 0.0
    for i in range(count):
        a, m, b = curve.at(i / count), curve.at((i + 0.5) / count), curve.at((i + 1) / count)
        worst = max(worst, math.dist(m, ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)))
    return worst


def frame_about(axis: Vec) -> tuple[Vec, Vec]:
    """Two unit vectors square to ``axis`` and to each other, right-handed with it: (e1, e2, axis)."""
    least = min(range(3), key=lambda i: (round(abs(axis[i]), 9), i))
    pick = (float(least == 0), float(least == 1), float(least == 2))
    e1 = unit(sub(pick, scale(axis, dot(pick, axis))))
    return e1, cross(axis, e1)


def same_surface(a: Form, b: Form) -> bool:
    """The two patches are one surface with the wood on the same side."""
    if isinstance(a, Plane) and isinstance(b, Plane):
        if length(sub(a.normal, b.normal)) > ANGLE_MATCH * 10:
            return False
        return abs(a.offset - b.offset) <= LENGTH_TOLERANCE
    if isinstance(a, Cylinder) and isinstance(b, Cylinder):
        if a.side != b.side or abs(a.radius - b.radius) > LENGTH_TOLERANCE:
            return False
        apart = length(cross(sub(b.point, a.point), a.axis))
        return length(cross(a.axis, b.axis)) <= ANGLE_MATCH * 10 and apart <= LENGTH_TOLERANCE
    if isinstance(a, Cone) and isinstance(b, Cone):
        slope = b.slope if dot(a.axis, b.axis) > 0 else -b.slope
        if a.side != b.side or not coaxial(a, b) or abs(a.slope - slope) > ANGLE_MATCH * 10:
            return False
        return abs(a.radius_at(b.point) - b.radius) <= LENGTH_TOLERANCE
    return a == b


def alike_planes(planes: Sequence[Plane], sign: float) -> Array:
    """(k, k): which planes are one, facing the same way (1) or away from each other (-1)."""
    normal = np.array([p.normal for p in planes]).reshape(-1, 3)
    offset = np.array([p.offset for p in planes])
    turned = ((normal[:, None] - sign * normal[None]) ** 2).sum(2) <= (10 * ANGLE_MATCH) ** 2
    return np.asarray(turned & (np.abs(offset[:, None] - sign * offset[None]) <= LENGTH_TOLERANCE))


def back_to_back(forms: Sequence[Form]) -> Array:
    """(k, k): which surfaces are one, with the wood on the other side."""
    found = np.zeros((len(forms), len(forms)), dtype=bool)
    flat = [i for i, f in enumerate(forms) if isinstance(f, Plane)]
    found[np.ix_(flat, flat)] = alike_planes([f for f in forms if isinstance(f, Plane)], -1.0)
    curved = [(i, f) for i, f in enumerate(forms) if not isinstance(f, Plane)]
    for i, f in curved:
        flipped = f.flipped()
        for j, other in curved:
            found[i, j] = type(f) is type(other) and same_surface(flipped, other)
    return found


def coaxial(a: Cylinder | Cone, b: Cylinder | Cone) -> bool:
    """The two turn about one axis, whichever way each runs along it."""
    if length(cross(a.axis, b.axis)) > ANGLE_MATCH * 10:
        return False
    return length(cross(sub(b.point, a.point), a.axis)) <= LENGTH_TOLERANCE


@dataclass(frozen=True, eq=False)
class FreeCurve:
    """A free curve's patch, with a table of points to look up the nearest parameter."""

    form: Extruded
    parameters: Array
    points: Array
    """(n, 2) outline coordinates at ``parameters``."""

    @property
    def curve(self) -> Curve:
        return self.form.outline[0]


@lru_cache(maxsize=256)
def free_curve(form: Extruded) -> FreeCurve:
    curve = form.outline[0]
    parameters = curve_parameters(curve)
    return FreeCurve(form, np.array(parameters), np.array([curve.at(s) for s in parameters]))


def curve_values(curve: Curve, s: Array) -> tuple[Array, Array, Array]:
    """Position, first and second derivative (each (n, 2)) of a Bezier or ellipse arc at parameters ``s``."""
    if isinstance(curve, EllipseArc):
        span = curve.last - curve.first
        p = curve.first + span * s
        c, k = np.cos(p)[:, None], np.sin(p)[:, None]
        major, minor = np.array(curve.major), np.array(curve.minor)
        place = np.array(curve.centre) + major * c + minor * k
        return place, span * (minor * c - major * k), -(span**2) * (major * c + minor * k)
    if not isinstance(curve, Bezier):
        raise TypeError("only free curves have a table")
    return _bezier(curve.points, s)


def _bezier(points: Sequence[Vec2], s: Array) -> tuple[Array, Array, Array]:
    """By the construction of de Casteljau: its last two rows but one give the derivatives."""
    degree, t = len(points) - 1, s[:, None]
    row = list(np.array(points, dtype=float))
    first = second = np.zeros(2)
    while len(row) > 1:
        if len(row) == 3:
            second = degree * (degree - 1) * (row[2] - 2 * row[1] + row[0])
        if len(row) == 2:
            first = degree * (row[1] - row[0])
        row = [a + (b - a) * t for a, b in pairwise(row)]
    if degree < 3:
        first, second = (np.broadcast_to(v, (len(s), 2)) for v in (first, second))
    return row[0], first, second


def nearest_parameters(free: FreeCurve, flat: Array) -> Array:
    """Parameters of the points of the curve nearest to ``flat`` (n, 2)."""
    x, y = flat[:, :1], flat[:, 1:]
    nearest = np.argmin((free.points[:, 0] - x) ** 2 + (free.points[:, 1] - y) ** 2, axis=1)
    s = free.parameters[nearest]
    for _ in range(5):
        place, first, second = curve_values(free.curve, s)
        off = place - flat
        slope = (first * first).sum(1) + (off * second).sum(1)
        before = s
        s = np.clip(s - (off * first).sum(1) / np.where(np.abs(slope) < 1e-12, 1.0, slope), 0.0, 1.0)
        if np.abs(s - before).max(initial=0.0) < AT_REST:
            break
    return s


class PatchSet:
    """Patches as arrays. ``normal`` is a plane's normal or a round surface's axis (k, 3)."""

    def __init__(self, forms: Sequence[Form]) -> None:
        self.forms = tuple(forms)
        self.free = {i: free_curve(f) for i, f in enumerate(forms) if isinstance(f, Extruded)}
        self.is_plane = np.array([isinstance(f, Plane) for f in forms])
        self.is_cylinder = np.array([isinstance(f, Cylinder) for f in forms])
        self.normal = np.array([_direction(f) for f in forms])
        self.point = np.array([f.origin if isinstance(f, Extruded) else f.point for f in forms])
        self.offset = np.array([f.offset if isinstance(f, Plane) else 0.0 for f in forms])
        self.is_cone = np.array([isinstance(f, Cone) for f in forms])
        self.is_turned = self.is_cylinder | self.is_cone
        self.tapers = bool(self.is_cone.any())
        self.radius = np.array([f.radius if isinstance(f, Cylinder | Cone) else 0.0 for f in forms])
        self.slope = np.array([f.slope if isinstance(f, Cone) else 0.0 for f in forms])
        self.slant = np.sqrt(1.0 + self.slope * self.slope)
        """Length along a ruling for each millimetre along the axis."""
        self.tip = np.array([f.tip if isinstance(f, Cone) else (0.0, 0.0, 0.0) for f in forms])
        self.sign = np.array([-1.0 if getattr(f, "side", "") == "hole" else 1.0 for f in forms])

    @cached_property
    def backs(self) -> Array:
        """(k, k): which surfaces lie back to back."""
        return back_to_back(self.forms)

    def distances(self, x: Array) -> Array:
        """Signed distance of each point (n, 3) from each patch, positive on the outer side: (n, k)."""
        out = dots(x[:, None, :], self.normal[None]) - self.offset
        at = np.flatnonzero(self.is_turned)
        if len(at):
            from_point = x[:, None, :] - self.point[at]
            height = dots(from_point, self.normal[at])
            r2 = dots(from_point, from_point) - height * height
            off = np.sqrt(np.maximum(r2, 0.0)) - self.radius[at]
            if self.tapers:
                off = (off - self.slope[at] * height) / self.slant[at]
            out[:, at] = self.sign[at] * off
        for k, free in self.free.items():
            out[:, k] = _evaluate_free(free, x)[0]
        return out

    def evaluate(self, k: Array, x: Array) -> tuple[Array, Array]:
        """Signed distance (n,) of each point from its patch ``k[i]``, and the outward unit normal (n, 3)."""
        normal = self.normal[k]
        value = dots(x, normal) - self.offset[k]
        gradient = normal.copy()
        round_ = self.is_turned[k]
        if round_.any():
            at = k[round_]
            from_point = x[round_] - self.point[at]
            axis = normal[round_]
            height = dots(from_point, axis)
            radial = from_point - axis * height[:, None]
            r = np.sqrt(dots(radial, radial))
            sign, off = self.sign[at], r - self.radius[at]
            outward = radial * (sign / np.maximum(r, 1e-300))[:, None]
            if self.tapers:
                slope, slant = self.slope[at], self.slant[at]
                off = (off - slope * height) / slant
                outward = (outward - axis * (sign * slope)[:, None]) / slant[:, None]
            value[round_] = sign * off
            gradient[round_] = outward
        for i, free in self.free.items():
            mine = k == i
            if mine.any():
                value[mine], gradient[mine] = _evaluate_free(free, x[mine])
        return value, gradient


def _direction(form: Form) -> Vec:
    return form.normal if isinstance(form, Plane) else form.axis


def dots(a: Array, b: Array) -> Array:
    """Scalar products along the last axis, summed in one order on every machine."""
    return a[..., 0] * b[..., 0] + a[..., 1] * b[..., 1] + a[..., 2] * b[..., 2]


def crosses(a: Array, b: Array) -> Array:
    """Vector products along the last axis."""
    ax, ay, az = a[..., 0], a[..., 1], a[..., 2]
    bx, by, bz = b[..., 0], b[..., 1], b[..., 2]
    x = ay * bz - az * by
    out = np.empty((*x.shape, 3), dtype=x.dtype)
    out[..., 0] = x
    out[..., 1] = az * bx - ax * bz
    out[..., 2] = ax * by - ay * bx
    return out


def _evaluate_free(free: FreeCurve, x: Array) -> tuple[Array, Array]:
    flat = flat_points(free.form, x)
    place, first, _ = curve_values(free.curve, nearest_parameters(free, flat))
    speed = np.sqrt((first * first).sum(1))
    right = np.stack([first[:, 1], -first[:, 0]], axis=1) / speed[:, None]
    value = ((flat - place) * right).sum(1)
    u, v = np.array(free.form.u), np.array(free.form.v)
    return value, right[:, :1] * u + right[:, 1:] * v


def flat_points(form: Extruded, x: Array) -> Array:
    """Outline coordinates (n, 2) of points in space."""
    d = x - np.array(form.origin)
    return np.stack([dots(d, np.array(form.u)), dots(d, np.array(form.v))], axis=1)


def tangent_plane_through_axis(a: Form, b: Form) -> Plane | None:
    """Where two patches are tangent along a ruling, a plane that meets them there at a good angle.

    None where they are not tangent. Plane with cylinder or cone, and cylinders with parallel axes.
    """
    if isinstance(b, Plane):
        a, b = b, a
    if isinstance(a, Plane) and isinstance(b, Cone):
        return _plane_through_touched_ruling(a, b)
    if isinstance(a, Plane) and isinstance(b, Cylinder):
        if abs(dot(a.normal, b.axis)) > ANGLE_MATCH:
            return None
        if abs(abs(a.distance(b.point)) - b.radius) > LENGTH_TOLERANCE:
            return None
        normal = unit(cross(b.axis, a.normal))
        return Plane(normal, dot(normal, b.point))
    if isinstance(a, Cylinder) and isinstance(b, Cylinder):
        if length(cross(a.axis, b.axis)) > ANGLE_MATCH:
            return None
        between = sub(b.point, a.point)
        between = sub(between, scale(a.axis, dot(between, a.axis)))
        apart = length(between)
        touching = min(abs(apart - a.radius - b.radius), abs(apart - abs(a.radius - b.radius)))
        if touching > LENGTH_TOLERANCE or apart < LENGTH_TOLERANCE:
            return None
        normal = unit(cross(a.axis, between))
        return Plane(normal, dot(normal, a.point))
    return None


def _plane_through_touched_ruling(plane: Plane, cone: Cone) -> Plane | None:
    """A plane touches a cone that it meets at the cone's half angle, through its tip."""
    sine = abs(cone.slope) / math.sqrt(1.0 + cone.slope * cone.slope)
    if abs(abs(dot(plane.normal, cone.axis)) - sine) > ANGLE_MATCH:
        return None
    if abs(plane.distance(cone.tip)) > LENGTH_TOLERANCE:
        return None
    normal = unit(cross(cone.axis, plane.normal))
    return Plane(normal, dot(normal, cone.point))


def crossing_planes(a: Form, b: Form) -> tuple[Plane, Plane] | None:
    """The two planes in which cylinders of one radius cross whose axes meet; None for other patches.

    There, and only there, the two touch in two points, through which both ellipses of their edge run.
    """
    if not (isinstance(a, Cylinder) and isinstance(b, Cylinder)) or abs(a.radius - b.radius) > EXACT:
        return None
    across = cross(a.axis, b.axis)
    sine = length(across)
    between = sub(b.point, a.point)
    if sine < 1e-3 or abs(dot(between, across)) > EXACT * sine:
        return None
    middle = along(a.point, a.axis, dot(cross(between, b.axis), across) / (sine * sine))
    normals = (unit(sub(a.axis, b.axis)), unit(add(a.axis, b.axis)))
    first, second = (Plane(n, dot(n, middle)) for n in normals)
    return first, second
