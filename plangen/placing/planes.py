"""Planes by what they pass through and how they lean."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from plangen.design import design as d
from plangen.design.records import Direction
from plangen.findings import fail
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Point, Vec, add, cross, dot, length, neg, scale, sub, unit
from plangen.placing.directions import SIGHT, Ray, meeting_line

_UNCLEAR = 0.05
"""Cosines nearer than this: a small change of the design would turn the choice of bisector over."""

_RUNS_ALONG = 0.3
"""Cosine below which a plane runs along a piece rather than across it: the mitre of three sides has 0.5."""

if TYPE_CHECKING:
    from plangen.placing.scope import Scope


def plane_of(scope: Scope, spec: d.PlaneForm) -> Plane:
    """A world plane; its normal is the way it faces."""
    if isinstance(spec, d.ShiftedPlane):
        return scope.plane(spec.shift).shifted(scope.length(spec.by))
    if isinstance(spec, d.LevelPlane):
        up = Plane((0.0, 0.0, 1.0), scope.length(spec.level_at))
        return _facing(scope, up, spec.facing)
    if isinstance(spec, d.PlaneThroughPoints):
        a, b, c = (scope.point(p) for p in spec.through_points)
        normal = cross(sub(b, a), sub(c, a))
        if length(normal) < 1e-6:
            raise fail(spec.place, "plane", "the three points lie in one line: no plane")
        return _facing(scope, _through(a, unit(normal)), spec.facing)
    if isinstance(spec, d.PlaneThroughLine):
        return _plane_through_line(scope, spec)
    if isinstance(spec, d.PlaneThroughPoint):
        return _plane_through_point(scope, spec)
    return _halfway_plane(scope, spec)


def _facing(scope: Scope, plane: Plane, facing: Direction | None) -> Plane:
    if facing is None:
        return plane
    way = dot(plane.normal, scope.direction(facing))
    if abs(way) < 1e-6:
        raise fail(facing.place, "facing", f'the plane does not face "{facing.text}": it runs along it')
    return plane if way > 0 else plane.flipped()


def _plane_through_line(scope: Scope, spec: d.PlaneThroughLine) -> Plane:
    line = scope.line(spec.through_line)
    if spec.lean is not None:
        return _leaning_plane(scope, spec, line, spec.lean)
    if spec.along is not None:
        other = scope.direction(spec.along)
    elif spec.and_line is not None:
        second = scope.line(spec.and_line)
        other = second.way
        if length(cross(other, line.way)) < 1e-9:
            other = sub(second.start, line.start)
        plane_normal = cross(line.way, other)
        if length(plane_normal) > 1e-9:
            gap = dot(unit(plane_normal), sub(second.start, line.start))
            if abs(gap) > 1e-6:
                raise fail(
                    spec.place,
                    "plane",
                    f"the two lines pass {scope.said(abs(gap))} apart: no plane holds both",
                )
    else:
        raise fail(spec.place, "plane", "a plane through a line needs lean, along or and line")
    normal = cross(line.way, other)
    if length(normal) < 1e-9:
        raise fail(spec.place, "plane", "the line and the direction are parallel: no one plane")
    return _facing(scope, _through(line.start, unit(normal)), spec.facing)


def _leaning_plane(scope: Scope, spec: d.PlaneThroughLine, line: Ray, lean: d.Lean) -> Plane:
    if abs(line.way[2]) > 1e-6:
        raise fail(spec.place, "lean", "a plane leans from a level line; this line slopes: use along")
    toward = level_way(scope, lean.toward)
    tan = math.tan(scope.angle(lean.by))
    across = unit(cross(line.way, (0.0, 0.0, 1.0)))
    if abs(dot(across, toward)) < 1e-6:
        raise fail(
            lean.place,
            "lean",
            f'the plane cannot lean toward "{lean.toward.text}": its level line runs that way',
        )
    if dot(across, toward) < 0:
        across = neg(across)
    if lean.seen_from is not None:
        sight = SIGHT[lean.seen_from]
        if abs(sight[2]) > 0.5:
            raise fail(
                lean.place,
                "lean",
                "a lean from plumb does not show in the plan; seen from front, rear, left or right",
            )
        in_view = (
            toward if abs(dot(toward, sight)) < 1e-9 else unit(sub(toward, scale(sight, dot(toward, sight))))
        )
        # In the elevation the plane's trace leans by the angle: (in_view * tan + up) lies in the plane.
        slope_line = add(scale(in_view, tan), (0.0, 0.0, 1.0))
    else:
        slope_line = add(scale(across, tan), (0.0, 0.0, 1.0))
    if lean.going == "down":
        slope_line = (-slope_line[0], -slope_line[1], slope_line[2])
    normal = unit(cross(line.way, slope_line))
    plane = _through(line.start, normal)
    if spec.facing is not None:
        return _facing(scope, plane, spec.facing)
    return plane if dot(plane.normal, toward) > 0 else plane.flipped()


def level_way(scope: Scope, direction: Direction) -> Vec:
    v = scope.direction(direction)
    flat = (v[0], v[1], 0.0)
    if length(flat) < 1e-9:
        raise fail(direction.place, "lean", "a lean goes toward a level direction, such as left or front")
    return unit(flat)


def _plane_through_point(scope: Scope, spec: d.PlaneThroughPoint) -> Plane:
    point = scope.point(spec.through_point)
    if spec.parallel_to is not None:
        return _through(point, scope.plane(spec.parallel_to).normal)
    if spec.square_to is None:
        raise fail(spec.place, "plane", "a plane through a point needs square to or parallel to")
    normal = scope.direction(spec.square_to)
    if spec.turned is not None:
        toward = scope.direction(spec.turned.toward)
        aside = sub(toward, scale(normal, dot(toward, normal)))
        if length(aside) < 1e-9:
            raise fail(spec.turned.place, "turn", "it cannot turn toward the way it already faces")
        angle = scope.angle(spec.turned.by)
        normal = add(scale(normal, math.cos(angle)), scale(unit(aside), math.sin(angle)))
    return _through(point, unit(normal))


def _halfway_plane(scope: Scope, spec: d.HalfwayPlane) -> Plane:
    """The mean of two parallel planes; of two that meet, the bisector that faces as is said.

    Two planes have two bisectors, square to each other. Where none is asked for it is the one nearer to both.
    """
    a, b = (scope.plane(p) for p in spec.halfway_between)
    line = meeting_line(a, b)
    if line is None or length(cross(a.normal, b.normal)) < 1e-9:
        if dot(a.normal, b.normal) < 0:
            b = b.flipped()
        return _facing(scope, Plane(a.normal, (a.offset + b.offset) / 2), spec.facing)
    mean, other = unit(add(a.normal, b.normal)), unit(sub(a.normal, b.normal))
    if spec.facing is not None:
        way = scope.direction(spec.facing)
        shares = abs(dot(mean, way)) - abs(dot(other, way))
    else:
        shares = dot(a.normal, b.normal)
    if abs(shares) < _UNCLEAR:
        text = (
            "two planes lie halfway between these, square to each other, and it is not clear which is meant: "
            "say facing, such as [1, -1, 0]"
        )
        raise fail(spec.place, "plane", text)
    return _facing(scope, _through(line.start, mean if shares > 0 else other), spec.facing)


def mitre_plane(scope: Scope, spec: d.HalfwayPlane, outward: Vec) -> Plane:
    """The plane halfway between two faces that is to cut a piece's side looking ``outward``.

    Of two bisectors a trim means the one that runs into the corner behind both faces, as a mitre does; where
    that one runs along the piece, so that it cannot cut it, the mean of the two.
    """
    a, b = (scope.plane(p) for p in spec.halfway_between)
    line = meeting_line(a, b)
    if line is None or length(cross(a.normal, b.normal)) < 1e-9:
        return _halfway_plane(scope, spec)
    behind = unit(sub(a.normal, b.normal))
    cuts = abs(dot(behind, outward)) > _RUNS_ALONG
    return _through(line.start, behind if cuts else unit(add(a.normal, b.normal)))


def _through(point: Point, normal: Vec) -> Plane:
    return Plane(normal, dot(normal, point))
