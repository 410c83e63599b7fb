"""Edge lap: two members cross on edge, each slotted from the opposite edge for the other.

It is a half lap across the widths: the floor is parallel to the second's edge, at half of the wood they share or
by ``depth``; the slots' walls are the other's placed faces, so each is cut askew where the two meet out of square.
"""

from __future__ import annotations

from plangen.design import design as d
from plangen.findings import Finding, fail
from plangen.geometry.vectors import dot
from plangen.joinery.advice import outside
from plangen.joinery.kinds.lapping import Division, crossing_axis, divide, lapped, outward, wood_along
from plangen.joinery.made import Made
from plangen.joinery.meeting import Meeting
from plangen.joinery.sizing import Sizing
from plangen.tables.joint_rules import EDGE_LAP_DEPTH

_WIDTH = 1


def make(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    for member in (meeting.first, meeting.second):
        if crossing_axis(meeting, member, "edge lap") != _WIDTH:
            raise fail(
                meeting.place,
                "joint",
                f'the edge lap: "{member.name}" lies on its face there, not on edge; a half lap joins it',
                meeting.first.name,
                meeting.second.name,
            )
    division = divide(meeting, spec, sizing, outward(meeting.second.frame.w), "edge lap")
    cuts = (
        lapped(meeting, meeting.first, meeting.second, division.first_loses, "edge lap"),
        lapped(meeting, meeting.second, meeting.first, division.second_loses, "edge lap"),
    )
    return Made(cuts, findings=_weak(meeting, division))


def _weak(meeting: Meeting, division: Division) -> tuple[Finding, ...]:
    """A slot that leaves a member too little of its width."""
    shared = meeting.shared()
    assert shared is not None
    normal, floor = division.floor.normal, -division.floor.distance(shared.centroid)
    found: tuple[Finding, ...] = ()
    for member, loses in (
        (meeting.first, division.first_loses),
        (meeting.second, division.second_loses),
    ):
        low, high = wood_along(member, normal, shared.centroid)
        taken = high - floor if dot(loses.normal, normal) > 0 else floor - low
        what = f'edge lap: the slot in "{member.name}"'
        found += outside(EDGE_LAP_DEPTH, taken / (high - low), what, meeting.place, member.name)
    return found
