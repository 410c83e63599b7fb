"""Lines and points by what they pass through, where they meet and how they lean."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from plangen.design import design as d
from plangen.findings import fail
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Point, Vec, add, along, cross, dot, length, neg, scale, sub, unit
from plangen.placing.directions import SIGHT, WORDS, Ray, meeting_line
from plangen.placing.planes import level_way

if TYPE_CHECKING:
    from plangen.placing.scope import Scope


def line_of(scope: Scope, spec: d.LineForm) -> Ray:
    """The line that a form says, in the world."""
    if isinstance(spec, d.MeetingLine):
        found = meeting_line(*(scope.plane(p) for p in spec.meet))
        if found is None:
            raise fail(spec.place, "line", "the two planes are parallel: they meet in no line")
        if spec.going is not None and dot(found.way, scope.direction(spec.going)) < 0:
            found = Ray(found.start, neg(found.way))
        return found
    start = scope.point(spec.from_)
    if spec.to is not None:
        way = sub(scope.point(spec.to), start)
        if length(way) < 1e-6:
            raise fail(spec.place, "line", "its two points are the same")
        return Ray(start, unit(way))
    if spec.going is not None:
        return Ray(start, scope.direction(spec.going))
    if spec.leans is not None:
        return Ray(start, _way_by_two_leans(scope, spec.leans))
    if spec.in_ is None or spec.lean is None:
        raise fail(spec.place, "line", "a line from a point needs to, going, leans, or in with lean")
    return Ray(start, _way_in_plane(scope, scope.plane(spec.in_), spec.lean))


def _way_by_two_leans(scope: Scope, leans: tuple[d.Lean, d.Lean]) -> Vec:
    way: Vec = (0.0, 0.0, 1.0)
    for lean in leans:
        if lean.seen_from is None:
            raise fail(lean.place, "lean", "each of two leans is seen from an elevation: say seen from")
        toward, tan = level_way(scope, lean.toward), math.tan(scope.angle(lean.by))
        if abs(dot(toward, SIGHT[lean.seen_from])) > 1e-6:
            raise fail(
                lean.place,
                "lean",
                f'a lean toward "{lean.toward.text}" does not show seen from {lean.seen_from}',
            )
        way = add(way, scale(toward, tan if lean.going == "up" else -tan))
    if leans[0].going != leans[1].going:
        raise fail(leans[1].place, "lean", "the two leans go different ways: both up or both down")
    return unit(way if leans[0].going == "up" else neg(way))


def _way_in_plane(scope: Scope, plane: Plane, lean: d.Lean) -> Vec:
    toward, angle = level_way(scope, lean.toward), scope.angle(lean.by)
    steepest = sub((0.0, 0.0, 1.0), scale(plane.normal, plane.normal[2]))
    if length(steepest) < 1e-9:
        raise fail(lean.place, "lean", "no line of a level plane leans from plumb")
    sign = 1.0 if lean.going == "up" else -1.0
    if lean.seen_from is not None:
        sight = SIGHT[lean.seen_from]
        if abs(dot(plane.normal, sight)) < 1e-6:
            raise fail(lean.place, "lean", f"the plane is seen edge-on from {lean.seen_from}: no lean shows")
        if abs(dot(toward, sight)) > 1e-6:
            raise fail(
                lean.place,
                "lean",
                f'a lean toward "{lean.toward.text}" does not show seen from {lean.seen_from}',
            )
        seen = add(scale(toward, math.tan(angle)), (0.0, 0.0, sign))
        deeper = -dot(plane.normal, seen) / dot(plane.normal, sight)
        return unit(along(seen, sight, deeper))
    if lean.measured == "on the plane":
        up = unit(steepest)
        level = unit(cross(up, plane.normal))
        if dot(level, toward) < 0:
            level = neg(level)
        if dot(level, toward) < 1e-6:
            raise fail(lean.place, "lean", f'no line of the plane leans toward "{lean.toward.text}"')
        return unit(add(scale(up, sign * math.cos(angle)), scale(level, math.sin(angle))))
    raise fail(lean.place, "lean", "a lean in a plane is seen from an elevation or measured on the plane")


def point_of(scope: Scope, spec: d.PointForm) -> Point:
    """The point that a form says, in the world."""
    if isinstance(spec, d.MeetingPoint):
        planes = [scope.plane(p) for p in spec.meet]
        line = meeting_line(planes[0], planes[1])
        found = line.meets(planes[2]) if line else None
        if found is None:
            raise fail(spec.place, "point", "the three planes do not meet in one point")
        return found
    if isinstance(spec, d.PointOnLine):
        return _point_on_line(scope, spec)
    if isinstance(spec, d.HalfwayPoint):
        a, b = (scope.point(p) for p in spec.halfway_between)
        return scale(add(a, b), 0.5)
    if isinstance(spec, d.ShiftedPoint):
        found = scope.point(spec.shift)
        for word, way in WORDS.items():
            by = getattr(spec, word)
            if by is not None:
                found = along(found, way, scope.length(by))
        return found
    _, standing = scope.body_of(spec.of, spec.place)
    own = (scope.length(spec.from_end_a), scope.length(spec.from_edge), scope.length(spec.from_back))
    return standing.frame.point(own)


def _point_on_line(scope: Scope, spec: d.PointOnLine) -> Point:
    line = scope.line(spec.on)
    if spec.meets is not None or spec.height is not None:
        plane = scope.plane(spec.meets) if spec.meets is not None else None
        if plane is None and spec.height is not None:
            plane = Plane((0.0, 0.0, 1.0), scope.length(spec.height))
        found = line.meets(plane) if plane is not None else None
        if found is None:
            raise fail(spec.place, "point", "the line runs along that plane and never meets it")
        return found
    start = line.start
    if spec.from_ is not None:
        met = line.meets(scope.plane(spec.from_))
        if met is None:
            raise fail(spec.place, "point", "the line runs along that plane and never meets it")
        start = met
    if spec.at is None:
        raise fail(spec.place, "point", "a point on a line needs meets, height or at")
    return along(start, line.way, scope.length(spec.at))
