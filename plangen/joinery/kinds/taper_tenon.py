"""Taper tenon: a cone turned on the first's end in a socket reamed through the second, of the same cone.

The small end is the first's end. Toward the first's middle the cone widens until it comes out of the wood, so that
nothing stops it: how deep the socket is reamed is a place, where the tenon stands out as far as it should, and no
size. The socket is first bored at the small end's diameter. Wedges are set across the second's grain.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from plangen.design import design as d
from plangen.findings import Finding
from plangen.geometry.surfaces import Cone, Form, Plane
from plangen.geometry.vectors import add, dot, neg, scale, squared
from plangen.joinery import advice
from plangen.joinery.made import Made
from plangen.joinery.meeting import Cut, Meeting
from plangen.joinery.model import Hole
from plangen.joinery.sizing import Sizing
from plangen.joinery.sockets import (
    REACH,
    Passage,
    WedgedTenon,
    bored_from_far,
    check_filled,
    check_socket,
    passage_of,
    proud_end,
    spans_along,
    wedged,
)
from plangen.tables.joint_rules import TAPER_INCLUDED

RESERVE = 12.0
"""Millimetres of cone below the second by the rule, so that the socket can be reamed deeper (common practice)."""
LEAST_DIAMETER = 6.0
"""Millimetres: a tenon thinner than this at its end by the rule says that the first is too thin."""
_STEP = 2.0
"""Millimetres between places looked at along the first."""


@dataclass(frozen=True)
class _Taper:
    """World coordinates; distances along the passage's axis."""

    passage: Passage
    cone: Cone
    """The tenon: its point in the small end."""
    small: float
    """Where the small end lies on the axis."""
    end: Plane | None
    """What the first is trimmed to; None where it keeps its own end."""
    runs_out: float
    """Where the cone is out of the first's wood all round, toward its middle."""

    def radius(self, at: float) -> float:
        return self.cone.radius + self.cone.slope * (self.small - at)


def make(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    passage = passage_of(meeting, "taper tenon")
    if not passage.runs_through:
        first, second = meeting.first.name, meeting.second.name
        text = f'the taper tenon: a reamed socket runs through; "{first}" ends inside "{second}"'
        raise passage.fails(text)
    taper = _taper(passage, spec, sizing)
    far = bored_from_far(passage, spec)
    size = f"{sizing.figure(2 * taper.cone.radius)} at its end"
    check_filled(passage, "taper tenon", taper.radius, size)
    check_socket(passage, "taper tenon", lambda s: taper.radius(s) + meeting.clearance, None)
    fixed = wedged(passage, spec, sizing, WedgedTenon(2 * taper.cone.radius, passage.entered, taper.small))
    cuts = (_tenon(taper), *fixed.cuts, _socket(taper, sizing, far))
    return Made(cuts, hardware=fixed.hardware, findings=_advice(taper))


def _taper(passage: Passage, spec: d.Joint, sizing: Sizing) -> _Taper:
    slope = math.tan(sizing.angle(spec.included, math.radians(TAPER_INCLUDED.usual)) / 2)
    end = proud_end(passage, spec, sizing)
    small = passage.end
    if end is not None:
        small = -end.distance(passage.start) / dot(end.normal, passage.way)
    diameter = sizing.length(spec.diameter)
    if diameter is None:
        diameter = _usual_diameter(passage, slope, small, sizing)
    cone = Cone(passage.at(small), neg(passage.way), diameter / 2, slope, "post")
    taper = _Taper(passage, cone, small, end, 0.0)
    return replace(taper, runs_out=_runs_out(taper))


def _usual_diameter(passage: Passage, slope: float, small: float, sizing: Sizing) -> float:
    """In whole bits: as thick as the first allows with some cone to spare below the second."""
    below = max(passage.entered - RESERVE, 0.0)
    radius = min(min(_reach(passage, s)) - slope * (small - s) for s in (below, passage.entered))
    diameter = sizing.whole_bits(2 * radius)
    if diameter < LEAST_DIAMETER:
        first, second = passage.meeting.first.name, passage.meeting.second.name
        text = f'the taper tenon: "{first}" is too thin where it enters "{second}" for a tenon of this taper'
        raise passage.fails(text)
    return diameter


def _reach(passage: Passage, at: float) -> list[float]:
    """How far the first's wood reaches from the axis there: of a square section at its sides and corners."""
    first = passage.meeting.first
    u, v = passage.ring()
    size = first.body.size
    corner = math.atan2(size[2], size[1])
    turns = (
        [0.0]
        if first.body.is_round
        else [k * math.pi + a for k in (0, 1) for a in (0.0, corner, math.pi / 2, -corner)]
    )
    found = []
    for turn in turns:
        aside = add(scale(u, math.cos(turn)), scale(v, math.sin(turn)))
        wood = [b for a, b in spans_along(first, passage.at(at), aside) if a < 0 < b]
        found.append(wood[0] if wood else 0.0)
    return found


def _runs_out(taper: _Taper) -> float:
    """Where the cone has come out of the first's wood. Raises DesignError where that is past the first's middle."""
    p = taper.passage
    at = p.entered
    while at > p.end / 2:
        if taper.radius(at) >= max(_reach(p, at)) - 1e-9:
            return at
        at -= _STEP
    first, second = p.meeting.first.name, p.meeting.second.name
    text = (
        f'the taper tenon: its cone would not come out of "{first}" before the middle of its length; make it thinner '
        f'where it enters "{second}", or the tenon thicker'
    )
    raise p.fails(text)


def _tenon(taper: _Taper) -> Cut:
    p, first = taper.passage, taper.passage.meeting.first
    cutter: list[Form] = [taper.cone.local_to(first.frame)]
    if _swells(taper):
        cutter.append(p.square(taper.runs_out).local_to(first.frame).squared())
    cutters = [cutter]
    if taper.end is not None and p.end > taper.small + REACH:
        cutters.append([taper.end.local_to(first.frame).squared()])
    degrees = math.degrees(2 * math.atan(taper.cone.slope))
    note = f"tapered {degrees:.3g} degrees, side to side"
    return replace(p.meeting.cut(first, "taper tenon", cutters), note=note)


def _swells(taper: _Taper) -> bool:
    """Whether the first grows thicker again than the cone, farther from its end."""
    p = taper.passage
    at = taper.runs_out - _STEP
    while at > 0:
        if max(_reach(p, at)) > taper.radius(at) - 1e-9:
            return True
        at -= _STEP
    return False


def _socket(taper: _Taper, sizing: Sizing, far: bool) -> Cut:
    p, second = taper.passage, taper.passage.meeting.second
    cone = p.meeting.room_for(taper.cone.local_to(second.frame))
    entry, way = (p.at(p.left), neg(p.way)) if far else (p.at(p.entered), p.way)
    into = squared(second.frame.local_direction(way))
    faces = second.body.box.planes().items()
    entered = min(faces, key=lambda named: round(dot(named[1].normal, into), 9))[0]
    pilot = 2 * taper.cone.radius
    hole = Hole(second.frame.local_point(entry), into, pilot, None, "socket", entered)
    return replace(p.meeting.cut(second, "socket", [[cone]]), hole=hole, note=_reaming(taper, sizing))


def _reaming(taper: _Taper, sizing: Sizing) -> str:
    p = taper.passage
    face = p.face(p.left)
    proud = taper.small - p.left if face is None else face.distance(p.at(taper.small))
    until = "comes flush" if proud < REACH else f"stands {sizing.figure(proud)} proud"
    degrees = math.degrees(2 * math.atan(taper.cone.slope))
    return f"bore {sizing.figure(2 * taper.cone.radius)}, ream {degrees:.3g} degrees until the tenon {until}"


def _advice(taper: _Taper) -> tuple[Finding, ...]:
    degrees = math.degrees(2 * math.atan(taper.cone.slope))
    m = taper.passage.meeting
    return advice.outside(TAPER_INCLUDED, degrees, "taper tenon: the included angle", m.place, m.first.name)
