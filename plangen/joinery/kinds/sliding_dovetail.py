"""Sliding dovetail: a dovetailed end (or edge) of the first slides along a dovetailed housing in the second.

The sides of the tail run along the line in which the first's faces meet the second's, so that it slides; they
stand at the slope to the first's own faces, alike about the middle of its thickness, however it leans. The
shoulder is the second's face. Where ``short of`` names a side, the housing stops there and the first is notched.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from plangen.design import design as d
from plangen.findings import DesignError, Finding, fail
from plangen.geometry.region import convex_region
from plangen.geometry.surfaces import Form, Plane
from plangen.geometry.vectors import Point, Vec, dot, unit
from plangen.joinery import advice
from plangen.joinery.made import Made
from plangen.joinery.meeting import Meeting, mating, planes_inside
from plangen.joinery.sizing import Sizing
from plangen.placing.body import BOUND_MM
from plangen.tables.joint_rules import (
    DOVETAIL_SLOPE,
    SLIDING_DOVETAIL_DEPTH,
    SLIDING_DOVETAIL_NECK,
    STOPPED_SHORT,
)

LEAST_WOOD = 1.0
"""Millimetres of neck, or of wood left under the housing, below which the joint breaks in the hand."""
_REACH = 0.01
"""Millimetres: ends this near to each other are one."""
_MET = 0.5
_OPPOSITE = {
    **{"front": "rear", "left": "right", "top": "bottom", "inner": "outer", "edge": "back edge"},
    **{"upper end": "lower end", "left end": "right end", "front end": "rear end", "end A": "end B"},
}


@dataclass(frozen=True)
class _Tail:
    """The tail in the first's frame; planes look out of the tail, the shoulder toward its end."""

    shoulder: Plane
    sides: tuple[Plane, Plane]
    floor: Plane
    stop: Plane | None
    depth: float
    neck: float
    rise: float


def make(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    """The tail on the first, its housing in the second, and the way it slides in."""
    tail = _tail(meeting, spec, sizing)
    first, second = meeting.first, meeting.second
    cutters: list[list[Form]] = [[tail.shoulder, side] for side in tail.sides]
    if max(tail.floor.distance(p) for p in first.body.corners()) > _REACH:
        cutters.append([tail.floor])
    if tail.stop is not None and _stands_past(meeting, tail.stop, tail.shoulder):
        cutters.append([tail.shoulder, tail.stop])
    said = f"slope 1 in {1 / tail.rise:.3g}; {_slides(spec)}"
    cuts = (
        replace(meeting.cut(first, "dovetail", cutters), note=said),
        replace(meeting.cut(second, "housing", [_housing(meeting, tail)]), note=f"dovetailed, {said}"),
    )
    return Made(cuts, findings=_advice(meeting, tail))


def _fail(meeting: Meeting, text: str) -> DesignError:
    names = (meeting.first.name, meeting.second.name)
    return fail(meeting.place, "joint", f"the sliding dovetail: {text}", *names)


def _slides(spec: d.Joint) -> str:
    if spec.short_of is None:
        return "slides in from either side"
    pairs = {**_OPPOSITE, **{b: a for a, b in _OPPOSITE.items()}}
    return f"slides in from the {pairs.get(str(spec.short_of), 'open side')}"


def _advice(meeting: Meeting, tail: _Tail) -> tuple[Finding, ...]:
    first, second = meeting.first, meeting.second
    what = "sliding dovetail: the "
    return (
        *advice.outside(DOVETAIL_SLOPE, tail.rise, what + "slope", meeting.place, first.name),
        *advice.outside(
            SLIDING_DOVETAIL_DEPTH,
            tail.depth / second.body.size[2],
            what + "depth",
            meeting.place,
            second.name,
        ),
        *advice.outside(
            SLIDING_DOVETAIL_NECK, tail.neck / first.body.size[2], what + "neck", meeting.place, first.name
        ),
    )


# --- the tail -----------------------------------------------------------------------------------------------


def _tail(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> _Tail:
    shoulder = _entered(meeting)
    n = shoulder.normal
    if math.hypot(n[0], n[1]) < _MET:
        text = (
            f'"{meeting.first.name}" meets "{meeting.second.name}" by its face; an end or an edge is needed'
        )
        raise _fail(meeting, text)
    into = unit((n[0], n[1], 0.0))
    floor = _floor(meeting, spec, sizing, shoulder, into)
    rise = math.tan(sizing.angle(spec.slope, math.atan(DOVETAIL_SLOPE.usual)))
    thick = meeting.first.body.size[2]
    start = _along(shoulder, into, thick / 2)
    longest = max(_along(floor, into, t) for t in (0.0, thick)) - start
    depth = -max(shoulder.flipped().distance(p) for p in _level(floor, into, thick))
    room = thick - 2 * rise * longest
    neck = sizing.or_rule(spec.thickness, min(SLIDING_DOVETAIL_NECK.usual * thick, room))
    if not LEAST_WOOD < neck <= room + 1e-6:
        text = (
            f"a neck of {sizing.said(neck)} with this slope and depth does not fit in the {sizing.said(thick)} of "
            f'"{meeting.first.name}": it may be up to {sizing.said(max(room, 0.0))}'
        )
        raise _fail(meeting, text)
    sides = []
    for sign in (-1.0, 1.0):
        normal = unit((-rise * into[0], -rise * into[1], sign))
        at = (into[0] * start, into[1] * start, thick / 2 + sign * neck / 2)
        sides.append(Plane(normal, dot(normal, at)))
    return _Tail(shoulder, (sides[0], sides[1]), floor, _stop(meeting, spec, sizing), depth, neck, rise)


def _entered(meeting: Meeting) -> Plane:
    """The second's face that the first enters by, in the first's frame, outward toward the tail's end."""
    into = meeting.first.frame.local_direction(meeting.entering())
    faces = [p for p in planes_inside(meeting.first, meeting.second) if dot(p.normal, into) < -1 + 1e-9]
    if not faces:
        raise _fail(meeting, f'"{meeting.first.name}" enters no face of "{meeting.second.name}"')
    return faces[0].flipped()


def _along(plane: Plane, into: Vec, t: float) -> float:
    """Place along ``into``, in the first's length and width, of a plane at a place in its thickness."""
    n = plane.normal
    return (plane.offset - n[2] * t) / dot(n, into)


def _level(plane: Plane, into: Vec, thick: float) -> list[Point]:
    """A point of the plane at the first's back and one at its face."""
    return [(into[0] * x, into[1] * x, t) for t in (0.0, thick) for x in (_along(plane, into, t),)]


def _floor(meeting: Meeting, spec: d.Joint, sizing: Sizing, shoulder: Plane, into: Vec) -> Plane:
    """Where the tail ends: at the depth that is said, else where the first ends in the second, else by the rule."""
    first, second = meeting.first, meeting.second
    ends = (p.placed(second.frame).local_to(first.frame).squared() for p in planes_inside(second, first))
    inside = sorted(
        (p for p in ends if dot(p.normal, into) > _MET), key=lambda p: -round(dot(p.normal, into), 9)
    )[:1]
    if spec.depth is None and inside:
        return inside[0]
    thick = second.body.size[2]
    depth = sizing.or_rule(spec.depth, SLIDING_DOVETAIL_DEPTH.usual * thick)
    if depth > thick - LEAST_WOOD:
        text = f'a depth of {sizing.said(depth)} cuts through the {sizing.said(thick)} of "{second.name}"'
        raise _fail(meeting, text)
    floor = shoulder.shifted(depth)
    short = max(
        (floor.flipped().distance(p) for end in inside for p in _level(end, into, first.body.size[2])),
        default=0.0,
    )
    if short > _REACH:
        text = f'"{first.name}" ends {sizing.said(short)} short of a depth of {sizing.said(depth)}'
        raise _fail(meeting, text)
    return floor


# --- the housing --------------------------------------------------------------------------------------------


def _stop(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Plane | None:
    """Where the housing stops, in the first's frame, outward to the side it is short of."""
    if spec.short_of is None:
        return None
    second = meeting.second
    _, side = sizing.scope.surface_of(second.name, str(spec.short_of), meeting.place)
    short = sizing.or_rule(spec.short, STOPPED_SHORT.usual)
    stop = side.shifted(-short).local_to(meeting.first.frame).squared()
    n = _entered(meeting).normal
    if abs(dot(stop.normal, n)) > _MET or abs(stop.normal[2]) > _MET:
        text = f'the housing does not run toward the {spec.short_of} of "{second.name}"; name another side'
        raise _fail(meeting, text)
    return stop


def _stands_past(meeting: Meeting, stop: Plane, shoulder: Plane) -> bool:
    """Whether some of the tail would stand beyond the end of the housing."""
    first = meeting.first
    planes = [p.squared() for p in first.body.planes()] + [stop.flipped(), shoulder.flipped()]
    return convex_region(planes, BOUND_MM) is not None


def _housing(meeting: Meeting, tail: _Tail) -> list[Form]:
    """The cutter in the second: the tail's sides and end with the joint's clearance, and where it stops."""
    first, second = meeting.first, meeting.second

    def there(p: Plane) -> Plane:
        return p.placed(first.frame).local_to(second.frame).squared()

    cutter: list[Form] = [meeting.room_for(there(p)) for p in (*tail.sides, tail.floor)]
    if tail.stop is None:
        return cutter
    stop = there(tail.stop)
    ends = [
        p
        for p in planes_inside(second, first, [stop, *(there(s) for s in tail.sides)])
        if dot(p.normal, stop.normal) > 0.7
    ]
    return [*cutter, *(mating(p) for p in (ends or [stop]))]
