"""Scarf: two members made into one length by a long sloping face, glued.

The face slopes through the first's thickness by ``slope`` (1 in 8 unless stated) and passes through the middle of
the length that the two bodies share; what either has beyond it is waste. With a ``nib`` each tip ends blunt, square
to the length, against a step in the other.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from plangen.design import design as d
from plangen.findings import DesignError, Finding, fail
from plangen.geometry.surfaces import Form, Plane
from plangen.geometry.vectors import Point, Vec, add, along, dot, neg, scale, sub, unit
from plangen.joinery.advice import outside
from plangen.joinery.kinds.lapping import outward, ratio
from plangen.joinery.kinds.reach import short_of
from plangen.joinery.made import Made
from plangen.joinery.meeting import Meeting, Placed
from plangen.joinery.sizing import Sizing
from plangen.tables.joint_rules import SCARF_NIB, SCARF_SLOPE

_IN_LINE = math.cos(math.radians(20.0))
"""Members that turn more than this from one another are not scarfed but mitred or lapped."""


def make(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    first, second = meeting.first, meeting.second
    way = _way(meeting)
    slope = sizing.angle(spec.slope, math.atan(SCARF_SLOPE.usual))
    nib = sizing.or_rule(spec.nib, 0.0)
    over = _over(meeting, spec, way)
    shared = meeting.shared()
    assert shared is not None
    # Toward the first's tip the face rises to the side that the first keeps.
    normal = unit(sub(scale(way, math.sin(slope)), scale(over, math.cos(slope))))
    face = Plane(normal, dot(normal, shared.centroid))
    if not 0.01 < slope < math.radians(45.0):
        raise _fails(meeting, "its slope must lie between 1 in 100 and 1 in 1")
    up = unit(add(scale(way, math.cos(slope)), scale(over, math.sin(slope))))
    tip, heel = (
        _nib(meeting, m, shared.centroid, up, side, nib) for m, side in ((first, over), (second, neg(over)))
    )
    tip_end, heel_end = Plane(way, dot(way, tip)), Plane(neg(way), -dot(way, heel))
    if dot(way, sub(tip, heel)) < 1.0:
        raise _fails(meeting, f"nibs of {sizing.said(nib)} leave no slope between them")
    cuts = []
    for member, toward, own, end, other_end in (
        (first, way, face, tip_end, heel_end),
        (second, neg(way), face.flipped(), heel_end, tip_end),
    ):
        missing = short_of(member, toward, [own, end] if nib else [own])
        if missing > 1e-3:
            raise _fails(
                meeting,
                f'"{member.name}" ends {sizing.said(missing)} short of its slope; let both run on, '
                "or make the slope steeper",
            )
        cutters: list[list[Plane]] = [[own, other_end.flipped()], [end]] if nib else [[own]]
        made = meeting.cut(member, "scarf", [_local(member, c) for c in cutters])
        cuts.append(replace(made, note=f"{ratio(slope)}, glued"))
    found: list[Finding] = list(
        outside(SCARF_SLOPE, math.tan(slope), "scarf: the slope", meeting.place, first.name)
    )
    if nib:
        share = nib / first.body.size[2]
        found += outside(SCARF_NIB, share, "scarf: the nib", meeting.place, first.name)
    return Made(tuple(cuts), findings=tuple(found))


def _local(member: Placed, cutter: Sequence[Plane]) -> list[Form]:
    return [p.local_to(member.frame).squared() for p in cutter]


def _way(meeting: Meeting) -> Vec:
    """World direction from the first into the second, the mean of their lengths."""
    shared = meeting.shared()
    assert shared is not None
    ways = []
    for member in (meeting.first, meeting.second):
        toward = dot(sub(shared.centroid, member.middle), member.frame.l)
        ways.append(member.frame.l if toward > 0 else neg(member.frame.l))
    first, second = ways
    if dot(first, second) > -_IN_LINE:
        raise _fails(meeting, "they do not run on in one line; a scarf lengthens a member")
    return unit(sub(first, second))


def _over(meeting: Meeting, spec: d.Joint, way: Vec) -> Vec:
    """Square to the length, through the first's thickness: to the side that the first keeps."""
    t = meeting.first.frame.t
    up = outward(unit(sub(t, scale(way, dot(t, way)))))
    return neg(up) if spec.over == "second" else up


def _nib(meeting: Meeting, member: Placed, at: Point, up: Vec, side: Vec, nib: float) -> Point:
    """The point on the line ``up`` the middle of the scarf's face with ``nib`` of the member's wood over it."""
    outer = [p.placed(member.frame) for p in member.body.planes()]
    found = []
    for plane in outer:
        slope = dot(plane.normal, up)
        if dot(plane.normal, side) > 0.5 and abs(slope) > 1e-9:
            found.append((-nib - plane.distance(at)) / slope)
    if not found:
        raise _fails(meeting, f'"{member.name}" has no face for the slope to run out at')
    return along(at, up, min(found, key=abs))


def _fails(meeting: Meeting, text: str) -> DesignError:
    names = (meeting.first.name, meeting.second.name)
    return fail(meeting.place, "joint", f'the scarf of "{names[0]}" and "{names[1]}": {text}', *names)
