"""Tongue-and-groove boarding: boards side by side, a tongue on one edge of each in a groove of the next.

The boards' bodies overlap by the tongue's length; the tongue is a third of the thickness, in its middle, and every
joint is left a little open, so that the boards can swell. One entry serves a whole run of copies.
"""

from __future__ import annotations

from plangen.design import design as d
from plangen.findings import Finding, fail
from plangen.geometry.vectors import dot
from plangen.joinery.advice import outside
from plangen.joinery.kinds import tenon
from plangen.joinery.made import Made
from plangen.joinery.meeting import Meeting
from plangen.joinery.sizing import Sizing
from plangen.tables.joint_rules import BOARD_GAP, TONGUE_LENGTH

_SIDE_BY_SIDE = 0.95
"""Cosine between the lengths of two boards."""


def make(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    first, second = meeting.first, meeting.second
    if abs(dot(first.frame.l, second.frame.l)) < _SIDE_BY_SIDE:
        raise fail(
            meeting.place,
            "joint",
            f'tongue and groove: "{first.name}" and "{second.name}" do not run side by side',
            first.name,
            second.name,
        )
    made = tenon.tongued(meeting, spec, sizing, BOARD_GAP.usual * first.body.size[1])
    return Made(made.cuts, made.pieces, made.hardware, (*made.findings, *_advice(meeting)))


def _advice(meeting: Meeting) -> tuple[Finding, ...]:
    """How far the tongue goes in, against the thickness."""
    shared = meeting.shared(meeting.first.frame)
    assert shared is not None
    across = [v[1] for v in shared.vertices]
    share = (max(across) - min(across)) / meeting.first.body.size[2]
    return outside(TONGUE_LENGTH, share, "tongue and groove: the tongue", meeting.place, meeting.first.name)
