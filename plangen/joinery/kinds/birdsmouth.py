"""Birdsmouth: a rafter (the second) cut to sit on a plate (the first): a seat on its top, a heel on its outer face.

Two plane cuts that follow the plate as it is placed, skew or beveled; how deep they go is where the rafter lies.
At most a third of the rafter's depth is taken (common practice; local codes govern what carries load).
"""

from __future__ import annotations

from plangen.design import design as d
from plangen.findings import DesignError, fail
from plangen.geometry.region import ConvexRegion, convex_region
from plangen.geometry.surfaces import Form, Plane
from plangen.geometry.vectors import Vec, dot, neg
from plangen.joinery.advice import outside
from plangen.joinery.made import Made
from plangen.joinery.meeting import LEAST_AREA, Meeting, planes_inside
from plangen.joinery.sizing import Sizing
from plangen.placing.body import BOUND_MM
from plangen.tables.joint_rules import BIRDSMOUTH_DEPTH

_LEVEL = 0.05
"""Rise for each millimetre of length below which a rafter has no lower end."""
_LOOKS = 0.35
"""Cosine by which the plate's top looks up, and its outer face down the rafter's run."""


def make(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    rafter = meeting.second
    seat, heel = _seat_and_heel(meeting)
    own = [p.squared() for p in rafter.body.planes()]
    taken = convex_region([*own, seat, heel], BOUND_MM)
    if taken is None:
        raise _fails(meeting, "its seat and heel take nothing from it")
    if any(taken.area(i) > LEAST_AREA for i, p in enumerate(own) if abs(p.normal[0]) > 0.7):
        raise _fails(
            meeting, "its seat would run out to its end: it lies too flat, or ends too near; use a notch"
        )
    depth, whole = _depths(own, taken, meeting)
    cutter: list[Form] = [meeting.room_for(seat), meeting.room_for(heel)]
    found = outside(
        BIRDSMOUTH_DEPTH,
        depth / whole,
        "birdsmouth: its depth, square to the edge,",
        meeting.place,
        rafter.name,
    )
    return Made((meeting.cut(rafter, "birdsmouth", [cutter]),), findings=found)


def _seat_and_heel(meeting: Meeting) -> tuple[Plane, Plane]:
    """The plate's top and outer face in the rafter's frame, as they look."""
    plate, rafter = meeting.first, meeting.second
    if abs(rafter.frame.l[2]) < _LEVEL:
        raise _fails(meeting, "it lies level: a birdsmouth needs a rafter that slopes; use a notch")
    down = rafter.frame.l if rafter.frame.l[2] < 0 else neg(rafter.frame.l)
    up_here = rafter.frame.local_direction((0.0, 0.0, 1.0))
    down_here = rafter.frame.local_direction((down[0], down[1], 0.0))
    carrying = planes_inside(rafter, plate)
    seat = max(carrying, key=lambda p: round(dot(p.normal, up_here), 9), default=None)
    heel = max(carrying, key=lambda p: round(dot(p.normal, down_here), 9), default=None)
    if seat is None or heel is None or seat is heel:
        raise _fails(meeting, f'it does not sit over a corner of "{plate.name}"')
    if dot(seat.normal, up_here) < _LOOKS or dot(heel.normal, down_here) < _LOOKS * _length(down):
        raise _fails(meeting, f'the top and the outer face of "{plate.name}" must both lie within it')
    return seat, heel


def _length(down: Vec) -> float:
    """Of the rafter's run for each millimetre of its length."""
    return (down[0] * down[0] + down[1] * down[1]) ** 0.5


def _depths(own: list[Plane], taken: ConvexRegion, meeting: Meeting) -> tuple[float, float]:
    """Of the cut square to the rafter's under side, and of the rafter there."""
    up_here = meeting.second.frame.local_direction((0.0, 0.0, 1.0))
    long_sides = [p for p in own if abs(p.normal[0]) < 0.7]
    under = min(long_sides, key=lambda p: round(dot(p.normal, up_here), 9))
    depth = max(-under.distance(v) for v in taken.vertices)
    axis = max((1, 2), key=lambda i: round(abs(under.normal[i]), 6))
    return depth, meeting.second.body.size[axis]


def _fails(meeting: Meeting, text: str) -> DesignError:
    names = (meeting.first.name, meeting.second.name)
    return fail(meeting.place, "joint", f'the birdsmouth in "{names[1]}": {text}', *names)
