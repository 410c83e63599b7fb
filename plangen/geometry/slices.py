"""The flat faces of a solid at one level, as loops of exact plane curves.

Levels are across t: a loop is what is seen of a face at t = level, drawn in l and w.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from plangen.geometry.biarcs import part_of
from plangen.geometry.boundary import Chain, Conic, Edge, EdgeCurve, Straight, outward_normal
from plangen.geometry.curves import Arc, Bezier, Curve, EllipseArc, Line, Vec2
from plangen.geometry.patches import frame_about, free_curve, nearest_parameters, same_surface
from plangen.geometry.solid import Solid
from plangen.geometry.surfaces import Cone, Extruded, Form, Plane
from plangen.geometry.vectors import LENGTH_TOLERANCE, Point, along, dot, sub

LEVEL = 1e-9
"""Cosine by which a level plane's normal may differ from the level direction, and a plumb one's from none."""
_JOINED = 1e-4
"""Millimetres between ends of edges that are one corner."""
_SAME = 1e-6
_CONIC = 1e-4
"""Millimetres by which a Bezier may lie off the hyperbola it stands for."""
_TRIED = (0.25, 0.5, 0.75)
_LEAST_TURN = 1e-4


@dataclass(frozen=True)
class Loop:
    """Curves head to tail, the last ending where the first starts."""

    curves: tuple[Curve, ...]

    @property
    def area(self) -> float:
        """Square millimetres, exact; positive counter-clockwise."""
        return math.fsum(_swept(c) for c in self.curves)

    def reversed(self) -> Loop:
        return Loop(tuple(c.reversed() for c in reversed(self.curves)))

    @property
    def circle(self) -> Arc | None:
        """The circle that the loop is, if it is one."""
        only = self.curves[0]
        return only if len(self.curves) == 1 and isinstance(only, Arc) and only.is_full else None


def level_loops(solid: Solid, level: float, up: bool) -> tuple[Loop, ...]:
    """Loops round the faces at t = ``level`` that look up (+t) or down; outer ones counter-clockwise in l, w."""
    faces = level_faces(solid, level, up)
    walks: list[Curve] = []
    for edge in solid.edges:
        if (edge.left in faces) == (edge.right in faces):
            continue
        curves = _flat_curves(edge, solid)
        walks += [c.reversed() for c in reversed(curves)] if edge.right in faces else curves
    loops = [Loop(merged(curves)) for curves in _chained(walks)]
    if not up:
        # Seen from the face side the back is walked the other way round.
        loops = [loop.reversed() for loop in loops]
    return tuple(sorted(loops, key=_loop_order))


def level_faces(solid: Solid, level: float, up: bool) -> set[int]:
    """Numbers of the faces at t = ``level`` that look that way."""
    there = {i for i, form in enumerate(solid.forms) if _is_at(form, level, up)}
    return {i for i, face in enumerate(solid.faces) if face.surface in there}


def _is_at(form: Form, level: float, up: bool) -> bool:
    sign = 1.0 if up else -1.0
    return isinstance(form, Plane) and is_level(form, up) and abs(sign * form.offset - level) < _SAME


def is_level(form: Form, up: bool) -> bool:
    """A plane square to t that looks up (+t) or down."""
    if not isinstance(form, Plane):
        return False
    return math.hypot(form.normal[0], form.normal[1]) < LEVEL and (form.normal[2] > 0) == up


def is_plumb(form: Form) -> bool:
    """A surface that runs along t."""
    if isinstance(form, Plane):
        return abs(form.normal[2]) < LEVEL
    if isinstance(form, Cone):
        return False
    return math.hypot(form.axis[0], form.axis[1]) < LEVEL


def rim_lines(solid: Solid, level: float, forms: Sequence[Form]) -> tuple[Curve, ...]:
    """Edges between the faces at the top ``level`` and any of ``forms``: the mouth of what they cut."""
    faces = level_faces(solid, level, True)
    walls = {
        i
        for i, face in enumerate(solid.faces)
        if any(same_surface(solid.forms[face.surface], f) for f in forms)
    }
    found = []
    for edge in solid.edges:
        if (edge.left in faces and edge.right in walls) or (edge.right in faces and edge.left in walls):
            found += _flat_curves(edge, solid)
    return tuple(found)


def _swept(curve: Curve) -> float:
    """The integral of (x dy - y dx) / 2 along a curve."""
    if isinstance(curve, Line):
        return (curve.start[0] * curve.end[1] - curve.start[1] * curve.end[0]) / 2
    if isinstance(curve, Bezier):
        n = len(curve.points) - 1
        total = []
        for i, a in enumerate(curve.points):
            for j, b in enumerate(curve.points[:-1]):
                c = curve.points[j + 1]
                weight = math.comb(n, i) * math.comb(n - 1, j) / math.comb(2 * n - 1, i + j) / (2 * n)
                total.append(n * weight * (a[0] * (c[1] - b[1]) - a[1] * (c[0] - b[0])))
        return math.fsum(total) / 2
    major, minor = (
        ((curve.radius, 0.0), (0.0, curve.radius)) if isinstance(curve, Arc) else (curve.major, curve.minor)
    )
    turn = (major[0] * minor[1] - major[1] * minor[0]) * (curve.last - curve.first)
    (x0, y0), (x1, y1) = curve.start, curve.end
    return (turn + curve.centre[0] * (y1 - y0) - curve.centre[1] * (x1 - x0)) / 2


# --- edges as plane curves --------------------------------------------------------------------------------


def _flat(p: Point) -> Vec2:
    return (p[0], p[1])


def _flat_curves(edge: Edge, solid: Solid) -> list[Curve]:
    curve: EdgeCurve = edge.curve
    if isinstance(curve, Straight):
        return [Line(_flat(curve.start), _flat(curve.end))]
    if isinstance(curve, Conic):
        return [_flat_conic(curve)]
    for form in (solid.forms[solid.faces[f].surface] for f in (edge.left, edge.right)):
        if isinstance(form, Extruded):
            return [_free_chain(curve, form)]
        if isinstance(form, Cone):
            return list(level_conic(form, curve.points))
    # What all but misses a cylinder, out and back along one curve.
    return [Line(_flat(a), _flat(b)) for a, b in pairwise(curve.points)]


def _flat_conic(conic: Conic) -> Arc | EllipseArc:
    major, minor = _flat(conic.major), _flat(conic.minor)
    a, b = math.hypot(*major), math.hypot(*minor)
    if abs(a - b) > LEVEL * a:
        return EllipseArc(_flat(conic.centre), major, minor, conic.first, conic.last)
    base = math.atan2(major[1], major[0])
    way = math.copysign(1.0, major[0] * minor[1] - major[1] * minor[0])
    return Arc(_flat(conic.centre), a, base + way * conic.first, base + way * conic.last)


def level_conic(cone: Cone, points: Sequence[Point]) -> tuple[Bezier, ...]:
    """The parabola or hyperbola in which a cone meets a level plane, in l and w, along a chain of its points.

    Quadratic Beziers with the curve's own tangents, exact for a parabola, _CONIC mm near a hyperbola.
    """
    e1, e2 = frame_about(cone.axis)
    turns = [math.atan2(dot(sub(p, cone.point), e2), dot(sub(p, cone.point), e1)) for p in points]
    span = math.fsum(math.remainder(b - a, 2 * math.pi) for a, b in pairwise(turns))
    return _conic_pieces(cone, points[0], points[-1], turns[0], turns[0] + span)


def _conic_pieces(cone: Cone, start: Point, end: Point, first: float, last: float) -> tuple[Bezier, ...]:
    """The same from one turn about the cone's axis to another, halved until it is near enough."""
    piece = Bezier((_flat(start), _tangent_corner(cone, start, end), _flat(end)))
    if (
        abs(last - first) < _LEAST_TURN
        or max(_off_cone(cone, piece.at(s), start[2]) for s in _TRIED) <= _CONIC
    ):
        return (piece,)
    turn = (first + last) / 2
    e1, e2 = frame_about(cone.axis)
    ruling = along(along(cone.axis, e1, cone.slope * math.cos(turn)), e2, cone.slope * math.sin(turn))
    middle = along(cone.tip, ruling, (start[2] - cone.tip[2]) / ruling[2])
    return (
        *_conic_pieces(cone, start, middle, first, turn),
        *_conic_pieces(cone, middle, end, turn, last),
    )


def _tangent_corner(cone: Cone, start: Point, end: Point) -> Vec2:
    """Where the level tangents at two points of a cone meet; their middle where the two are one line."""
    n, m = outward_normal(cone, start), outward_normal(cone, end)
    a, b = n[0] * start[0] + n[1] * start[1], m[0] * end[0] + m[1] * end[1]
    across = n[0] * m[1] - n[1] * m[0]
    if abs(across) < LEVEL:
        return ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    return ((a * m[1] - b * n[1]) / across, (n[0] * b - m[0] * a) / across)


def _off_cone(cone: Cone, p: Vec2, level: float) -> float:
    """Millimetres from a point to a cone within a level plane, near the cone."""
    normal = outward_normal(cone, (*p, level))
    return abs(cone.distance((*p, level))) / math.hypot(normal[0], normal[1])


def _free_chain(chain: Chain, form: Extruded) -> Curve:
    """The free curve that the chain's points stand for: where an extruded outline meets the level plane."""
    level = chain.points[0][2]
    section = _section(form, level)
    ends = np.array([form.flat(p) for p in (chain.points[0], chain.points[-1])])
    first, last = nearest_parameters(free_curve(form), ends).tolist()
    if math.dist(chain.points[0], chain.points[-1]) < LENGTH_TOLERANCE:
        ahead = nearest_parameters(free_curve(form), np.array([form.flat(chain.points[1])])).tolist()[0]
        first, last = (0.0, 1.0) if ahead < 0.5 else (1.0, 0.0)
    snapped = [0.0 if s < _SAME else 1.0 if s > 1 - _SAME else s for s in (first, last)]
    return part_of(section, snapped[0], snapped[1])


def _section(form: Extruded, level: float) -> Curve:
    """The one free curve of ``form`` carried along its axis to t = ``level``: an affine image, exactly."""
    curve, axis = form.outline[0], form.axis

    def carried(x: float, y: float) -> Vec2:
        p = form.lift(x, y)
        k = (level - p[2]) / axis[2]
        return (p[0] + k * axis[0], p[1] + k * axis[1])

    if isinstance(curve, Bezier):
        return Bezier(tuple(carried(*p) for p in curve.points))
    if not isinstance(curve, EllipseArc):
        raise TypeError("only free curves are carried")
    (cx, cy), (ax, ay), (bx, by) = curve.centre, curve.major, curve.minor
    centre, a, b = carried(cx, cy), carried(cx + ax, cy + ay), carried(cx + bx, cy + by)
    return ellipse_arc(
        centre,
        (a[0] - centre[0], a[1] - centre[1]),
        (b[0] - centre[0], b[1] - centre[1]),
        curve.first,
        curve.last,
    )


def ellipse_arc(centre: Vec2, p: Vec2, q: Vec2, first: float, last: float) -> EllipseArc:
    """The arc ``centre + p cos s + q sin s`` of two conjugate half diameters, by half axes square to each
    other (Rytz's problem, solved by turning the parameter)."""
    across = p[0] * q[0] + p[1] * q[1]
    unlike = p[0] * p[0] + p[1] * p[1] - q[0] * q[0] - q[1] * q[1]
    shift = math.atan2(2 * across, unlike) / 2 if abs(across) > 1e-12 * math.hypot(*p) else 0.0
    c, s = math.cos(shift), math.sin(shift)
    major = (p[0] * c + q[0] * s, p[1] * c + q[1] * s)
    minor = (q[0] * c - p[0] * s, q[1] * c - p[1] * s)
    return EllipseArc(centre, major, minor, first - shift, last - shift)


# --- loops ------------------------------------------------------------------------------------------------


def _chained(curves: list[Curve]) -> list[list[Curve]]:
    """Curves in head-to-tail order, loop by loop; at a corner where two loops touch, the leftmost way."""
    rest = list(curves)
    loops = []
    while rest:
        loop = [rest.pop(0)]
        while math.dist(loop[-1].end, loop[0].start) > _JOINED:
            near = [c for c in rest if math.dist(c.start, loop[-1].end) <= _JOINED]
            if not near:
                raise ValueError(f"a face's outline is open at {loop[-1].end}")
            following = max(near, key=lambda c: _left_turn(loop[-1], c))
            rest.remove(following)
            loop.append(following)
        loops.append(loop)
    return loops


def _left_turn(a: Curve, b: Curve) -> float:
    (ax, ay), (bx, by) = _heading(a, 0.999, 1.0), _heading(b, 0.0, 0.001)
    return math.atan2(ax * by - ay * bx, ax * bx + ay * by)


def _heading(curve: Curve, first: float, last: float) -> Vec2:
    a, b = curve.at(first), curve.at(last)
    return (b[0] - a[0], b[1] - a[1])


def merged(curves: list[Curve]) -> tuple[Curve, ...]:
    """Neighbours on one line or one circle as one curve."""
    merged: list[Curve] = []
    for curve in curves:
        joined = _joined(merged[-1], curve) if merged else None
        if joined is None:
            merged.append(curve)
        else:
            merged[-1] = joined
    if len(merged) > 1 and (joined := _joined(merged[-1], merged[0])) is not None:
        merged = [*merged[1:-1], joined]
    return tuple(merged)


def _joined(a: Curve, b: Curve) -> Curve | None:
    if isinstance(a, Line) and isinstance(b, Line):
        size = math.dist(a.start, b.end)
        d = (b.end[0] - a.start[0], b.end[1] - a.start[1])
        off = abs(d[0] * (a.end[1] - a.start[1]) - d[1] * (a.end[0] - a.start[0]))
        forward = d[0] * (a.end[0] - a.start[0]) + d[1] * (a.end[1] - a.start[1]) > 0
        return Line(a.start, b.end) if size > _SAME and forward and off <= _SAME / 10 * size else None
    if isinstance(a, Arc) and isinstance(b, Arc):
        alike = math.dist(a.centre, b.centre) < _SAME and abs(a.radius - b.radius) < _SAME
        if alike and (a.last > a.first) == (b.last > b.first):
            sweep = a.last - a.first + b.last - b.first
            if abs(abs(sweep) - 2 * math.pi) < _SAME:
                sweep = math.copysign(2 * math.pi, sweep)
            return Arc(a.centre, a.radius, a.first, a.first + sweep)
    return None


def _loop_order(loop: Loop) -> tuple[float, ...]:
    """Larger loops first; a loop's place settles what is left."""
    starts = sorted((round(c.start[0], 6), round(c.start[1], 6)) for c in loop.curves)
    return (-round(abs(loop.area), 3), *starts[0])
