"""How deep one member is let into another, and what the rules of thumb say to it."""

from __future__ import annotations

from plangen.findings import Finding
from plangen.geometry.region import convex_region
from plangen.joinery import advice
from plangen.joinery.meeting import Meeting
from plangen.placing.body import BOUND_MM
from plangen.tables.joint_rules import GROOVE_WIDTH, HOUSING_DEPTH, REBATE_DEPTH, Rule

_THROUGH = 1 - 1e-6
"""Of the size: as good as all of it."""


def depth_advice(meeting: Meeting, kind: str, rule: Rule) -> tuple[Finding, ...]:
    """A warning where the first goes deeper or less deep into the second than ``rule`` says.

    The depth is the deepest; the rule's share is of the second's size that way.
    Of one that goes right through, or sits in a pocket with wood all round as a tenon does, nothing is said.
    """
    return _told(meeting, f"{kind}: the depth", rule, depth_share(meeting))


def rebate_advice(meeting: Meeting) -> tuple[Finding, ...]:
    """A warning where a rebate takes more or less of the second's thickness than the rule says."""
    return _told(meeting, "rebate: the depth", REBATE_DEPTH, thickness_share(meeting))


def groove_advice(meeting: Meeting) -> tuple[Finding, ...]:
    """The same of a groove: in an edge its width, in a face its depth."""
    own = meeting.second.frame.local_direction(meeting.entering())
    if abs(own[2]) > 0.7:
        return _told(meeting, "groove: the depth", HOUSING_DEPTH, depth_share(meeting))
    return _told(meeting, "groove: the width", GROOVE_WIDTH, thickness_share(meeting))


def _told(meeting: Meeting, what: str, rule: Rule, share: float | None) -> tuple[Finding, ...]:
    if share is None or share > _THROUGH:
        return ()
    first, second = meeting.first.name, meeting.second.name
    return advice.outside(rule, share, f'{what} in "{second}"', meeting.place, first, second)


def thickness_share(meeting: Meeting) -> float | None:
    """How much of the second's thickness the first takes up in it."""
    shared = meeting.shared(meeting.second.frame)
    if shared is None:
        return None
    reach = [v[2] for v in shared.vertices]
    return (max(reach) - min(reach)) / meeting.second.body.size[2]


def depth_share(meeting: Meeting) -> float | None:
    """The depth as a share of the second's size that way: from the face under which the trench is least deep.

    None for a pocket, which opens through one face alone.
    """
    own = [p.squared() for p in meeting.second.body.planes()]
    region = convex_region([*own, *meeting.first.planes_in(meeting.second.frame)], BOUND_MM)
    opened = [own[i] for i in region.indices if i < len(own)] if region is not None else []
    if region is None or len(opened) < 2:
        return None
    shares = []
    for plane in opened:
        deepest = max(-plane.distance(v) for v in region.vertices)
        axis = max(range(3), key=lambda i: round(abs(plane.normal[i]), 6))
        shares.append(deepest / meeting.second.body.size[axis])
    return min(shares)
