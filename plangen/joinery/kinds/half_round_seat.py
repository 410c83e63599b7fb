"""Half-round seat: a rod or axle (the first) lies in the surface of the second, in a seat bored half into the wood.

The seat is as long as the first passes the second, at whatever angle the two meet. Half a hole cannot be bored in
the open: a block is clamped on where the other half is, and both are bored at once.
"""

from __future__ import annotations

from dataclasses import replace

from plangen.design import design as d
from plangen.findings import DesignError, Finding, fail, note
from plangen.geometry.bore_reach import Reach
from plangen.geometry.spans import spans_left
from plangen.geometry.surfaces import Cylinder, Form, Plane
from plangen.geometry.vectors import Point, Vec, along, dot, neg, squared, sub
from plangen.joinery.made import Made
from plangen.joinery.meeting import Meeting
from plangen.joinery.model import Hole
from plangen.joinery.sizing import Sizing
from plangen.placing.body import EDGE_WORK
from plangen.placing.boring import block_note, surface_word

_HALF = 0.5
"""Millimetres from the surface within which an axis lies in it, for the trade."""
_RUNS_IN = 0.9
"""Cosine to a surface above which a rod stands on it and does not lie in it."""
_REACH = 0.01


def make(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    rod, second = meeting.first, meeting.second
    round_ = _round_of(meeting)
    middle = _middle(meeting, round_)
    name, face = _open_face(meeting, round_, middle)
    way, low, high = _passage(meeting, round_, middle, face)
    ends = [p for p in rod.planes_in(second.frame) if abs(dot(p.normal, way)) > _RUNS_IN]
    stops = [p for p in ends if low + _REACH < _station(p, middle, way) < high - _REACH]
    if len(stops) == 2:
        raise _fails(meeting, f'"{rod.name}" ends within the seat both ways: it cannot be bored')
    if stops and dot(stops[0].normal, way) < 0:
        way, low, high = neg(way), -high, -low
    far = _station(stops[0], middle, way) if stops else high
    wall = meeting.room_for(round_)
    assert isinstance(wall, Cylinder)
    cutter: list[Form] = [wall, *(meeting.room_for(p) for p in stops)]
    low = _entered_at(
        meeting, along(middle, face.normal, -face.distance(middle) - round_.radius / 2), way, low, middle
    )
    entry = along(middle, way, low)
    depth = far - low + meeting.clearance if stops else None
    reach = Reach(entry, along(middle, way, far), way, wall.radius, way, way)
    told = block_note(
        sizing.scope.design.units,
        2 * wall.radius,
        reach.size,
        reach.beyond(face),
        surface_word(name),
        rod.name,
    )
    cut = meeting.cut(second, "seat", [cutter])
    hole = Hole(entry, way, 2 * wall.radius, depth, "seat", _entered(meeting, way))
    return Made((replace(cut, hole=hole, note=told),), findings=_advice(meeting, face, middle, sizing))


def _round_of(meeting: Meeting) -> Cylinder:
    """The rod's surface in the second's frame."""
    rod, second = meeting.first, meeting.second
    forms = [s.form for s in rod.body.shapings if not s.within]
    rounds = [f for f in forms if isinstance(f, Cylinder) and f.side == "post" and abs(f.axis[0]) > 1 - 1e-9]
    if len(rounds) != 1 or not rod.body.is_round:
        raise _fails(meeting, f'"{rod.name}" is not a plain round rod; use a notch or a housing')
    found = rounds[0].placed(rod.frame).local_to(second.frame)
    return replace(found, axis=squared(found.axis))


def _middle(meeting: Meeting, round_: Cylinder) -> Point:
    """The point of the rod's axis abreast of the wood that the two share."""
    shared = meeting.shared(meeting.second.frame)
    assert shared is not None
    return along(round_.point, round_.axis, dot(sub(shared.centroid, round_.point), round_.axis))


def _open_face(meeting: Meeting, round_: Cylinder, middle: Point) -> tuple[str, Plane]:
    """The surface of the second that the rod lies in: the one its middle is least under."""
    lying = [
        (name, plane)
        for name, plane, _ in meeting.second.body.carrying()
        if abs(dot(plane.normal, round_.axis)) < _RUNS_IN
    ]
    name, face = max(lying, key=lambda named: (round(named[1].distance(middle), 6), named[0]))
    if face.distance(middle) < _REACH - round_.radius:
        raise _fails(meeting, "it lies wholly in the wood; a housing bores it a hole")
    if face.distance(middle) > round_.radius - _REACH:
        raise _fails(meeting, "it only touches the surface")
    return name, face


def _passage(meeting: Meeting, round_: Cylinder, middle: Point, face: Plane) -> tuple[Vec, float, float]:
    """The way along the rod, and where wood begins and ends half its radius under its axis."""
    second, way = meeting.second, round_.axis
    under = along(middle, face.normal, -face.distance(middle) - round_.radius / 2)
    # Of the wood before its arrises are eased.
    shaped = [s.cutter for s in second.body.shapings if s.kind not in EDGE_WORK]
    spans = spans_left(second.body.box.planes().values(), shaped, under, way)
    abreast = [s for s in spans if s[0] < 0 < s[1]]
    if not abreast:
        raise _fails(meeting, "there is no wood under the rod")
    return way, *abreast[0]


def _entered_at(meeting: Meeting, under: Point, way: Vec, low: float, middle: Point) -> float:
    """Where the axis itself meets the surface by which the wood under it is entered: nearer or farther where that
    surface slopes."""
    at = along(under, way, low)
    for _, plane, _ in meeting.second.body.carrying():
        if abs(plane.distance(at)) < 1e-6 and dot(plane.normal, way) < -1e-3:
            return _station(plane, middle, way)
    return low


def _station(plane: Plane, start: Point, way: Vec) -> float:
    return -plane.distance(start) / dot(plane.normal, way)


def _entered(meeting: Meeting, way: Vec) -> str:
    """The blank's face that looks most against the way it is bored."""
    faces = meeting.second.body.box.planes().items()
    return min(faces, key=lambda named: round(dot(named[1].normal, way), 9))[0]


def _advice(meeting: Meeting, face: Plane, middle: Point, sizing: Sizing) -> tuple[Finding, ...]:
    under = -face.distance(middle)
    if abs(under) <= _HALF:
        return ()
    names = (meeting.first.name, meeting.second.name)
    how = "under" if under > 0 else "over"
    then = "it must be slid in from the end" if under > 0 else "the seat is shallower than half the rod"
    text = (
        f'half-round seat: the middle of "{names[0]}" lies {sizing.said(abs(under))} {how} the surface of '
        f'"{names[1]}": {then}'
    )
    return (note(meeting.place, "joint", text, *names),)


def _fails(meeting: Meeting, text: str) -> DesignError:
    names = (meeting.first.name, meeting.second.name)
    return fail(meeting.place, "joint", f'the half-round seat in "{names[1]}": {text}', *names)
