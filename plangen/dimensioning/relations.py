"""The equations of conventions: what it says of two surfaces, in a workpiece's unknowns, that they are drawn square,
parallel, in line, about one axis, tangent, alike or as mirror images."""

from __future__ import annotations

from collections.abc import Sequence

from plangen.dimensioning.freedom import Freedom, Row, moved, offset_along
from plangen.dimensioning.workpiece import AXES
from plangen.geometry.patches import frame_about
from plangen.geometry.surfaces import Cone, Cylinder, Plane
from plangen.geometry.vectors import Point, Vec, cross, dot, length, scale, sub, unit


def convention_rows(freedom: Freedom, kind: str, forms: Sequence[int]) -> list[Row]:
    """The equations that a convention says of two forms, or of a form and its mirror image."""
    if kind == "symmetric":
        return _symmetric(freedom, forms)
    if kind == "same as":
        return _same_as(freedom, forms)
    if kind == "in line" and len(forms) == 3:
        return _about_axis(freedom, *forms)
    found: list[Row] = []
    for other in forms[1:]:
        found += _pair(freedom, kind, forms[0], other)
    return found


def _pair(freedom: Freedom, kind: str, a: int, b: int) -> list[Row]:
    fa, fb = freedom.work.forms[a], freedom.work.forms[b]
    if isinstance(fa, Cylinder | Cone) and isinstance(fb, Plane):
        a, b, fa, fb = b, a, fb, fa
    da = fa.normal if isinstance(fa, Plane) else fa.axis
    db = fb.normal if isinstance(fb, Plane) else fb.axis
    scale_by = min(freedom.lever[a], freedom.lever[b])
    like = isinstance(fa, Plane) == isinstance(fb, Plane)
    lies_along = kind in ("parallel", "in line", "concentric") if like else kind == "square"
    rows: list[Row] = []
    if kind == "tangent":
        return _tangent(freedom, a, b)
    if kind == "in line" and not like:
        return _axis_in_plane(freedom, a, b)
    if kind == "in line" and not isinstance(fa, Plane):
        return _axes_meet(freedom, a, b)
    if kind == "in line" and length(cross(da, db)) > 1e-6:
        return _lean_one_way(freedom, a, b)
    if lies_along:
        sign = 1.0 if dot(da, db) > 0 else -1.0
        for e in frame_about(da):
            rows.append((freedom.direction_turns(a, e) - sign * freedom.direction_turns(b, e)) * scale_by)
    else:
        rows.append((freedom.direction_turns(a, db) + freedom.direction_turns(b, da)) * scale_by)
    if kind == "in line":
        rows.append(
            freedom.plane_moves(a, freedom.centre[a]) - sign * freedom.plane_moves(b, freedom.centre[a])
        )
    if kind == "concentric":
        for e in frame_about(da):
            rows.append(
                freedom.axis_moves(a, freedom.centre[a], e) - freedom.axis_moves(b, freedom.centre[a], e)
            )
    return rows


def _axis_in_plane(freedom: Freedom, plane: int, round_: int) -> list[Row]:
    """An axis lies in a plane; one that leans to it meets the plane where it is drawn to."""
    p, c = freedom.work.forms[plane], freedom.work.forms[round_]
    assert isinstance(p, Plane)
    assert isinstance(c, Cylinder)
    slope = dot(p.normal, c.axis)
    if abs(slope) > 1e-9:
        at = moved(c.point, c.axis, -p.distance(c.point) / slope)
        return [freedom.axis_moves(round_, at, p.normal) - freedom.plane_moves(plane, at)]
    ends = [moved(freedom.centre[round_], c.axis, s * freedom.lever[round_]) for s in (-0.5, 0.5)]
    return [freedom.axis_moves(round_, e, p.normal) - freedom.plane_moves(plane, e) for e in ends]


def _axes_meet(freedom: Freedom, a: int, b: int) -> list[Row]:
    """Two axes that are not parallel cross where they are drawn to."""
    fa, fb = freedom.work.forms[a], freedom.work.forms[b]
    assert isinstance(fa, Cylinder | Cone)
    assert isinstance(fb, Cylinder | Cone)
    across = unit(cross(fa.axis, fb.axis))
    square = cross(fb.axis, across)
    at = moved(fa.point, fa.axis, dot(sub(fb.point, fa.point), square) / dot(fa.axis, square))
    return [freedom.axis_moves(a, at, across) - freedom.axis_moves(b, at, across)]


def _lean_one_way(freedom: Freedom, a: int, b: int) -> list[Row]:
    """Two ends of a round piece that lean in one plane through its axis."""
    leans = [(0.0, n[1], n[2]) for n in (freedom.normal(a), freedom.normal(b))]
    aside = unit(cross(AXES[0], leans[0]))
    sign = 1.0 if dot(leans[0], leans[1]) > 0 else -1.0
    first, second = (
        freedom.direction_turns(f, aside) / length(v) for f, v in zip((a, b), leans, strict=True)
    )
    return [(first - sign * second) * min(freedom.lever[a], freedom.lever[b])]


def _about_axis(freedom: Freedom, axis: int, b: int, c: int) -> list[Row]:
    """About the axis of a round: two walls as far from it, a hole in the plane that an end leans in, or another round
    that meets it where the axis comes to an end."""
    own, second = freedom.work.forms[axis], freedom.work.forms[b]
    assert isinstance(own, Cylinder | Cone)
    if isinstance(second, Plane):
        return [freedom.plane_moves(b, own.point) - freedom.plane_moves(c, own.point)]
    if isinstance(second, Cylinder | Cone) and second.side == "hole":
        lean, across = cross(own.axis, freedom.normal(c)), cross(own.axis, second.axis)
        hole, end = (freedom.direction_turns(f, unit(lean)) for f in (b, c))
        sign = 1.0 if dot(lean, across) > 0 else -1.0
        return [(sign * hole / length(across) - end / length(lean)) * freedom.lever[b]]
    return _rim_at_end(freedom, axis, b, c)


def _rim_at_end(freedom: Freedom, a: int, b: int, end: int) -> list[Row]:
    """Two rounds about one axis meet where that axis comes to an end."""
    fa, fb, plane = (freedom.work.forms[f] for f in (a, b, end))
    assert isinstance(fa, Cylinder | Cone)
    assert isinstance(fb, Cylinder | Cone)
    assert isinstance(plane, Plane)
    facing = dot(plane.normal, fa.axis)
    at = moved(fa.point, fa.axis, -plane.distance(fa.point) / facing)
    slopes = [
        0.0 if isinstance(f, Cylinder) else f.slope * (1.0 if dot(f.axis, fa.axis) > 0 else -1.0)
        for f in (fa, fb)
    ]
    apart = freedom.radius_grows(b, at) - freedom.radius_grows(a, at)
    return [apart - (slopes[0] - slopes[1]) / facing * freedom.plane_moves(end, at)]


def _tangent(freedom: Freedom, a: int, b: int) -> list[Row]:
    fa, fb = freedom.work.forms[a], freedom.work.forms[b]
    if isinstance(fa, Plane) and isinstance(fb, Cylinder):
        side = 1.0 if dot(fa.normal, fb.point) - fa.offset < 0 else -1.0
        n = fa.normal
        middle = freedom.centre[b]
        row = (
            freedom.axis_moves(b, middle, n) - freedom.plane_moves(a, middle) + side * freedom.radius_grows(b)
        )
        return [row]
    if isinstance(fa, Cylinder) and isinstance(fb, Cylinder):
        between = sub(fb.point, fa.point)
        between = sub(between, scale(fa.axis, dot(between, fa.axis)))
        apart = length(between)
        out = unit(between)
        p = freedom.centre[a]
        row = freedom.axis_moves(b, p, out) - freedom.axis_moves(a, p, out)
        if abs(apart - fa.radius - fb.radius) < 1e-6:
            return [row - freedom.radius_grows(a) - freedom.radius_grows(b)]
        sign = 1.0 if fa.radius > fb.radius else -1.0
        return [row - sign * (freedom.radius_grows(a) - freedom.radius_grows(b))]
    return []


def _symmetric(freedom: Freedom, forms: Sequence[int]) -> list[Row]:
    """a and b are mirror images about the plane midway between planes c and d, which may slope alike; with three
    forms, a about that middle."""
    a, b = forms[0], forms[1] if len(forms) == 4 else forms[0]
    c, d = forms[-2:]
    pc, pd = freedom.work.forms[c], freedom.work.forms[d]
    assert isinstance(pc, Plane)
    assert isinstance(pd, Plane)
    m = unit(sub(pd.normal, pc.normal))
    facing = dot(pd.normal, m)
    h = (pd.offset - pc.offset) / (2 * facing)
    fa = freedom.work.forms[a]

    def mirrored(p: Point) -> Point:
        return sub(p, scale(m, 2 * (dot(m, p) - h)))

    def middle_moves(p: Point) -> Row:
        return (freedom.plane_moves(d, p) - freedom.plane_moves(c, p)) / (2 * facing)

    def image_moves(p: Point, way: Vec) -> Row:
        """How far along a direction the image of a point goes as the plane between moves and tilts."""
        off = dot(m, p) - h
        foot, aside = moved(p, m, -off), sub(way, scale(m, dot(m, way)))
        here = middle_moves(foot)
        return 2 * dot(way, m) * here + 2 * off * (middle_moves(moved(foot, aside, 1.0)) - here)

    centre = freedom.centre[a]
    if isinstance(fa, Plane):
        u, v = freedom.turns(a)
        lever, normal = freedom.lever[a], freedom.normal(b)
        stations = [centre, moved(centre, u, lever), moved(centre, v, lever)]
        return [
            freedom.plane_moves(b, mirrored(p)) - freedom.plane_moves(a, p) - image_moves(p, normal)
            for p in stations
        ]
    assert isinstance(fa, Cylinder | Cone)
    rows = []
    stations = [moved(centre, fa.axis, -freedom.lever[a] / 2), moved(centre, fa.axis, freedom.lever[a] / 2)]
    for p in stations:
        q = mirrored(p)
        for e in frame_about(fa.axis):
            f = sub(e, scale(m, 2 * dot(m, e)))
            rows.append(freedom.axis_moves(b, q, f) - freedom.axis_moves(a, p, e) - image_moves(p, f))
    if a != b:
        rows += [freedom.radius_grows(b, mirrored(p)) - freedom.radius_grows(a, p) for p in stations]
    return rows


def _same_as(freedom: Freedom, forms: Sequence[int]) -> list[Row]:
    first = freedom.work.forms[forms[0]]
    if isinstance(first, Cylinder | Cone):
        return [freedom.radius_grows(f) - freedom.radius_grows(forms[0]) for f in forms[1:]]
    a, b, c, d = forms
    gap = _gap(freedom, c, d) - _gap(freedom, a, b)
    return [gap]


def _gap(freedom: Freedom, a: int, b: int) -> Row:
    """How the distance grows from a plane, square to it, to a parallel plane (at the middle of the first)
    or to a cylinder's axis (at the middle of that)."""
    n = freedom.normal(a)
    round_ = freedom.work.forms[b]
    if isinstance(round_, Cylinder):
        p = freedom.centre[b]
        away = 1.0 if offset_along(n, freedom.work.forms[a], n, p) < 0 else -1.0
        return away * (freedom.axis_moves(b, p, n) - freedom.plane_moves(a, p))
    sign = 1.0 if dot(n, freedom.normal(b)) > 0 else -1.0
    p = freedom.centre[a]
    away = 1.0 if offset_along(freedom.normal(b), freedom.work.forms[b], n, p) > 0 else -1.0
    return away * (sign * freedom.plane_moves(b, p) - freedom.plane_moves(a, p))
