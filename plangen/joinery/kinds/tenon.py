"""Mortise and tenon, and tongue and groove: the first enters the second by a part of its section.

The shoulder is the second's face that the first enters by, so it comes out angled where the two meet out of
square, or it is scribed to the second's round; the cheeks are parallel to the first's own faces. Proportions are
the rules of ``tables/joint_rules``.
"""

from __future__ import annotations

from dataclasses import replace

from plangen.design import design as d
from plangen.geometry.surfaces import Form
from plangen.joinery.kinds import tenon_fixing, tenon_limits
from plangen.joinery.kinds.tenon_shape import (
    haunch_socket,
    mortise_cutters,
    plan_tenon,
    tenon_cutters,
)
from plangen.joinery.made import Made
from plangen.joinery.meeting import Cut, Meeting
from plangen.joinery.model import FeatureKind
from plangen.joinery.sizing import Sizing
from plangen.tables.joint_rules import MORTISE_DEEPER


def make(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    """Mortise and tenon, with all that may go with it: haunch, wedges, pegs, several tenons side by side."""
    tenon = plan_tenon(meeting, spec, sizing, "tenon")
    passage = tenon_limits.passage(meeting, spec, sizing, tenon, MORTISE_DEEPER.usual)
    fixed = tenon_fixing.fixings(meeting, spec, sizing, tenon, passage)
    cuts = [
        meeting.cut(meeting.first, "tenon", tenon_cutters(tenon)),
        _received(meeting, "mortise", mortise_cutters(meeting, tenon, MORTISE_DEEPER.usual)),
    ]
    if tenon.haunch is not None:
        cuts.append(_received(meeting, "haunch", [haunch_socket(meeting, tenon)]))
    findings = (*tenon.shoulder.findings, *passage.findings, *fixed.findings)
    return replace(fixed, cuts=(*cuts, *fixed.cuts), findings=findings)


def tongued(meeting: Meeting, spec: d.Joint, sizing: Sizing, gap: float = 0.0) -> Made:
    """Tongue and groove; the stated ``gap``, or this one (mm), is left at the shoulder and below the tongue."""
    tenon = plan_tenon(meeting, spec, sizing, "tongue", gap)
    below = sizing.or_rule(spec.gap, gap)
    tongue = meeting.cut(meeting.first, "tongue", tenon_cutters(tenon))
    return Made((tongue, _received(meeting, "groove", mortise_cutters(meeting, tenon, below))))


def _received(meeting: Meeting, kind: FeatureKind, cutters: list[tuple[Form, ...]]) -> Cut:
    """What the second loses, less what an earlier joint has taken of the first."""
    return meeting.cut(meeting.second, kind, [c for cutter in cutters for c in meeting.receiving(cutter)])
