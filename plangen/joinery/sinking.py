"""How deep one member is let into another, and what the rules of thumb say to it."""

from __future__ import annotations

from plangen.findings import Finding
from plangen.geometry.frames import WORLD
from plangen.geometry.vectors import dot
from plangen.joinery import advice
from plangen.joinery.meeting import Meeting
from plangen.tables.joint_rules import Rule


def depth_advice(meeting: Meeting, kind: str, rule: Rule) -> tuple[Finding, ...]:
    """A warning where the first goes deeper or less deep into the second than ``rule`` says.

    The depth is square to the face it enters by, at its deepest; the rule's share is of the second's size that way.
    """
    share = depth_share(meeting)
    if share is None:
        return ()
    first, second = meeting.first.name, meeting.second.name
    return advice.outside(rule, share, f'{kind}: the depth in "{second}"', meeting.place, first, second)


def depth_share(meeting: Meeting) -> float | None:
    """The depth as a share of the second's size; None where the first enters by no one face."""
    shared = meeting.shared()
    into = meeting.entering()
    faces = [p for p in meeting.second.planes_in(WORLD) if dot(p.normal, into) < -0.99]
    if shared is None or not faces:
        return None
    deepest = max(-faces[0].distance(v) for v in shared.vertices)
    own = meeting.second.frame.local_direction(into)
    size = meeting.second.body.size[max(range(3), key=lambda i: round(abs(own[i]), 6))]
    return deepest / size
