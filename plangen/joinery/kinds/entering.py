"""Housing, notch, rebate, groove: the first goes into the second whole, and the second is cut to take it.

The four differ in where on the second the cut lies, which the maker's words say; the cut itself is the
first's placed body: its planes that carry area inside the second, run out through every open side. A groove
with a ``thickness`` takes a tongue instead of the whole edge: see ``tenon``.
"""

from __future__ import annotations

from dataclasses import replace

from plangen.design import design as d
from plangen.findings import fail
from plangen.geometry.surfaces import Plane
from plangen.joinery.kinds import tenon
from plangen.joinery.made import Made
from plangen.joinery.meeting import Cut, Meeting, parts_inside
from plangen.joinery.model import FeatureKind
from plangen.joinery.sinking import depth_advice, groove_advice, rebate_advice
from plangen.joinery.sizing import Sizing
from plangen.tables.joint_rules import HOUSING_DEPTH, NOTCH_DEPTH

_ACROSS = 0.7
"""A plane that looks this much along the second's length is an end of the cut."""


def housing(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    return Made(_entered(meeting, "housing"), findings=depth_advice(meeting, "housing", HOUSING_DEPTH))


def notch(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    return Made(_entered(meeting, "notch"), findings=depth_advice(meeting, "notch", NOTCH_DEPTH))


def rebate(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    return Made(_run_through(meeting, spec, "rebate"), findings=rebate_advice(meeting))


def groove(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    if spec.thickness is not None:
        return tenon.tongued(meeting, spec, sizing)
    return Made(_run_through(meeting, spec, "groove"), findings=groove_advice(meeting))


def _run_through(meeting: Meeting, spec: d.Joint, kind: FeatureKind) -> tuple[Cut, ...]:
    """A cut that runs the whole length of the second unless it is stopped where the first ends."""
    (cut,) = _entered(meeting, kind)
    if spec.stopped:
        return (cut,)
    run = tuple(
        tuple(f for f in c if not isinstance(f, Plane) or abs(f.normal[0]) < _ACROSS) for c in cut.cutters
    )
    return (replace(cut, cutters=run),)


def _entered(meeting: Meeting, kind: FeatureKind) -> tuple[Cut, ...]:
    """The first's body where it lies in the second: of a turned one, a cutter for each stretch that enters."""
    parts = parts_inside(meeting.second, meeting.first)
    if not all(part.walls or part.seams for part in parts) or not parts:
        raise fail(
            meeting.place,
            "joint",
            f'the {kind}: all of "{meeting.second.name}" lies inside "{meeting.first.name}"; '
            "nothing would be left of it",
            meeting.first.name,
            meeting.second.name,
        )
    cutters = [c for part in parts for c in meeting.receiving(meeting.room_inside(part))]
    return (meeting.cut(meeting.second, kind, cutters),)
