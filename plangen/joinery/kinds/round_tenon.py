"""Round tenon: a turned tenon on the first's end in a socket bored in the second along the first's axis.

A flat shoulder is square to the axis and set so that it touches the second; a scribed one follows its surface; a
first no thicker than its tenon has none. A blind socket is bored a little deeper than the tenon is long; a through
tenon may stand proud, and its wedges are set across the second's grain.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from plangen.design import design as d
from plangen.findings import Finding
from plangen.geometry.surfaces import Cylinder, Form, Plane
from plangen.geometry.vectors import cross, dot, length, neg, scale, sub, unit
from plangen.joinery import advice
from plangen.joinery.boring import bored, hole_in
from plangen.joinery.made import Made
from plangen.joinery.meeting import Cut, Meeting
from plangen.joinery.pegs import PeggedTenon, pegs
from plangen.joinery.shoulders import shoulder_of
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
from plangen.joinery.touching import touching
from plangen.tables.joint_rules import ROUND_TENON, SOCKET_DEEPER


@dataclass(frozen=True)
class _Tenon:
    """World coordinates; distances along the passage's axis."""

    passage: Passage
    diameter: float
    shoulder: float | None
    end: Plane | None
    """What the tenon is cut to; None where the first keeps its own end."""

    @property
    def root(self) -> float:
        return self.passage.entered if self.shoulder is None else self.shoulder

    @property
    def reach(self) -> float:
        """Where the tenon ends on its axis."""
        if self.end is None:
            return self.passage.end
        return -self.end.distance(self.passage.start) / dot(self.end.normal, self.passage.way)

    @property
    def deepest(self) -> float:
        """How far any of the tenon reaches along the axis."""
        p = self.passage
        first = p.meeting.first
        ends = [s.placed(first.frame) for s in first.body.planes()] if self.end is None else [self.end]
        slopes = [dot(e.normal, p.way) for e in ends if abs(e.distance(p.at(self.reach))) < 1e-6]
        slope = max(slopes, default=1.0)
        return self.reach + self.diameter / 2 * math.sqrt(max(0.0, 1 / (slope * slope) - 1))


def make(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    passage = passage_of(meeting, "round tenon")
    tenon = _tenon(passage, spec, sizing)
    far = bored_from_far(passage, spec)
    size = sizing.figure(tenon.diameter)
    check_filled(passage, "round tenon", lambda s: tenon.diameter / 2, size)
    fixed = wedged(passage, spec, sizing, WedgedTenon(tenon.diameter, tenon.root, tenon.reach))
    pegged = pegs(meeting, spec, sizing, _pegged(tenon))
    cuts = (*_tenon_cuts(tenon, spec, sizing), *fixed.cuts, _socket(tenon, far), *pegged.cuts)
    found = (*_advice(tenon), *pegged.findings)
    return Made(cuts, hardware=(*fixed.hardware, *pegged.hardware), findings=found)


def _tenon(passage: Passage, spec: d.Joint, sizing: Sizing) -> _Tenon:
    diameter = sizing.length(spec.diameter) or _usual_diameter(passage, sizing)
    shoulder = touching(passage, diameter / 2)
    end = proud_end(passage, spec, sizing)
    long = sizing.length(spec.length)
    if long is not None:
        root = passage.entered if shoulder is None else shoulder
        if root + long > passage.end + REACH:
            first = passage.meeting.first.name
            short = sizing.said(root + long - passage.end)
            raise passage.fails(
                f'the round tenon: "{first}" ends {short} short of a tenon {sizing.said(long)} long'
            )
        if end is None and root + long < passage.end - REACH:
            end = passage.square(root + long)
            passage = replace(passage, end=root + long)
    return _Tenon(passage, diameter, shoulder, end)


def _usual_diameter(passage: Passage, sizing: Sizing) -> float:
    """By the rule for the second, in whole bits; no thicker than the first."""
    by_rule = ROUND_TENON.usual * _breadth(passage)
    own = min(passage.meeting.first.body.size[1:])
    return own if own <= by_rule else sizing.whole_bits(by_rule)


def _breadth(passage: Passage) -> float:
    """The second's wood beside the socket: across its length and the axis, halfway through."""
    second = passage.meeting.second
    aside = cross(passage.way, second.frame.l)
    if length(aside) < 0.5:
        aside = second.frame.t
    aside = unit(sub(aside, scale(passage.way, dot(aside, passage.way))))
    middle = passage.at((passage.entered + passage.left) / 2)
    wood = [s for s in spans_along(second, middle, aside) if s[0] < 0 < s[1]]
    return wood[0][1] - wood[0][0] if wood else min(second.body.size[1:])


def _tenon_cuts(tenon: _Tenon, spec: d.Joint, sizing: Sizing) -> list[Cut]:
    p, first = tenon.passage, tenon.passage.meeting.first
    post = Cylinder(p.start, p.way, tenon.diameter / 2, "post").local_to(first.frame)
    cutters: list[list[Form]] = []
    if spec.shoulder == "scribed" and tenon.shoulder is not None:
        steps = shoulder_of(p.meeting, "scribed", sizing).steps
        cutters += [[*step, post] for step in steps]
    elif tenon.shoulder is not None:
        cutters.append([p.square(tenon.shoulder).local_to(first.frame).squared(), post])
    beyond = (tenon.end.distance(first.frame.point(c)) for c in first.body.corners()) if tenon.end else ()
    if tenon.end is not None and max(beyond) > REACH:
        cutters.append([tenon.end.local_to(first.frame).squared()])
    return [p.meeting.cut(first, "round tenon", cutters)] if cutters else []


def _socket(tenon: _Tenon, far: bool) -> Cut:
    p = tenon.passage
    room = p.meeting.clearance
    deep = None
    if not p.runs_through:
        deep = tenon.deepest - p.entered + max(SOCKET_DEEPER.usual, room)
    floor = None if deep is None else p.entered + deep
    check_socket(p, "round tenon", lambda s: tenon.diameter / 2 + room, floor)
    entry, way = (p.at(p.left), neg(p.way)) if far else (p.at(p.entered), p.way)
    hole = hole_in(p.meeting.second, entry, way, tenon.diameter + 2 * room, deep, "socket")
    return replace(bored(p.meeting, p.meeting.second, hole), origin="matched")


def _pegged(tenon: _Tenon) -> PeggedTenon:
    p, r = tenon.passage, tenon.diameter / 2
    across = cross(p.way, p.meeting.second.frame.l)
    across = unit(across) if length(across) > 0.1 else p.ring()[0]
    aside = cross(p.way, across)
    sides = [Plane(n, dot(n, p.start) + r) for v in (across, aside) for n in (v, neg(v))]
    return PeggedTenon((*sides, p.square(p.end)), p.square(tenon.root), across, p.way)


def _advice(tenon: _Tenon) -> tuple[Finding, ...]:
    p = tenon.passage
    share = tenon.diameter / _breadth(p)
    what = "round tenon: its diameter"
    return advice.outside(
        ROUND_TENON, share, what, p.meeting.place, p.meeting.first.name, p.meeting.second.name
    )
