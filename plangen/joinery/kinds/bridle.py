"""Bridle: the second's end straddles the first, an open mortise over a tenon, at a corner or a tee.

The tenon is the middle of the first (a third of its thickness unless stated), parallel to its faces; the first
gives up a cheek on each side to the second's two prongs, the second a slot that is open at its end.
"""

from __future__ import annotations

from dataclasses import replace

from plangen.design import design as d
from plangen.findings import Finding, fail
from plangen.geometry.frames import WORLD
from plangen.geometry.surfaces import Form, Plane
from plangen.geometry.vectors import Vec, dot, neg, scale
from plangen.joinery.advice import outside
from plangen.joinery.kinds.lapping import crossing_axis, lap_cutter, proud
from plangen.joinery.made import Made
from plangen.joinery.meeting import Meeting, Placed, mating, planes_inside
from plangen.joinery.pegs import PeggedTenon, pegs
from plangen.joinery.sizing import Sizing
from plangen.placing.body import Shaping
from plangen.tables.joint_rules import TENON_THICKNESS

_LEAST_CHEEK = 0.1
"""Millimetres: less wood beside the tenon than this is a sliver."""

_ENDWAYS = 0.5
"""A plane that looks this much along a member's length lies across it."""


def make(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    first, second = meeting.first, meeting.second
    axis = crossing_axis(meeting, first, "bridle")
    cheeks, thickness = _cheeks(meeting, spec, sizing, axis)
    slot, tight = _slot(meeting, cheeks), replace(meeting, clearance=0.0)
    cheek_cuts = tuple(
        meeting.cut(first, "bridle", [lap_cutter(tight, first, second, c.placed(first.frame))])
        for c in cheeks
    )
    found: list[Finding] = [f for cut in cheek_cuts for f in proud(meeting, sizing, cut, "bridle")]
    found += outside(
        TENON_THICKNESS,
        thickness / first.body.size[axis],
        "bridle: the tenon's thickness",
        meeting.place,
        first.name,
    )
    cuts = (
        meeting.cut(first, "bridle", [c for cut in cheek_cuts for c in cut.cutters]),
        meeting.cut(second, "bridle", [slot]),
    )
    pegged = pegs(meeting, spec, sizing, _pegged(meeting, cheeks))
    return Made((*cuts, *pegged.cuts), hardware=pegged.hardware, findings=(*found, *pegged.findings))


def _pegged(meeting: Meeting, cheeks: tuple[Plane, Plane]) -> PeggedTenon:
    """The tenon within the second, for its pegs.

    At a corner the pegs draw the first in, up to its shoulder on the second; at a tee they draw the second on, until
    the bottom of its slot meets the first: the hole in the tenon lies nearer the first's far edge.
    """
    first, second = meeting.first, meeting.second
    tenon = _thinned(first, cheeks)
    across = first.frame.direction(cheeks[1].normal)
    entered = planes_inside(first, second)
    lengthways = [p for p in entered if abs(p.normal[0]) > _ENDWAYS]
    if len(lengthways) == 1:
        shoulder = lengthways[0].placed(first.frame)
        return PeggedTenon(tuple(tenon.planes_in(WORLD)), shoulder.flipped(), across, neg(shoulder.normal))
    end = _end_inside(meeting)
    far = max(first.planes_in(WORLD), key=lambda p: round(dot(p.normal, end), 9))
    return PeggedTenon(tuple(tenon.planes_in(WORLD)), far.flipped(), across, neg(far.normal))


def _end_inside(meeting: Meeting) -> Vec:
    """World direction of the second's length toward the end that lies at the first."""
    shared = meeting.shared(meeting.second.frame)
    assert shared is not None
    return scale(
        meeting.second.frame.l, 1.0 if shared.centroid[0] > meeting.second.body.size[0] / 2 else -1.0
    )


def _cheeks(meeting: Meeting, spec: d.Joint, sizing: Sizing, axis: int) -> tuple[tuple[Plane, Plane], float]:
    """The tenon's two faces in the first's frame, outward, and how far they are apart."""
    size = meeting.first.body.size[axis]
    thickness = sizing.or_rule(spec.thickness, size * TENON_THICKNESS.usual)
    set_back = sizing.or_rule(spec.set_back, (size - thickness) / 2)
    low, high = size - set_back - thickness, size - set_back
    if low < _LEAST_CHEEK or high > size - _LEAST_CHEEK or thickness < 0.5:
        raise fail(
            meeting.place,
            "joint",
            f"the bridle: its tenon, from {sizing.said(low)} to {sizing.said(high)}, does not leave a cheek on each "
            f'side within the {sizing.said(size)} of "{meeting.first.name}"',
            meeting.first.name,
        )
    up: Vec = (0.0, 1.0, 0.0) if axis == 1 else (0.0, 0.0, 1.0)
    return (Plane(scale(up, -1.0), -low), Plane(up, high)), thickness


def _slot(meeting: Meeting, cheeks: tuple[Plane, Plane]) -> list[Form]:
    """The slot's cutter in the second's frame: the tenon's surfaces that lie inside the second."""
    first, second = meeting.first, meeting.second
    tenon = _thinned(first, cheeks)
    walls = planes_inside(second, tenon)
    normal = second.frame.local_direction(first.frame.direction(cheeks[1].normal))
    sides = [w for w in walls if abs(dot(w.normal, normal)) > 0.7]
    bottoms = [w for w in walls if w not in sides]
    if len(sides) < 2:
        text = f'the bridle: the tenon of "{first.name}" is not within the thickness of "{second.name}"'
        raise fail(meeting.place, "joint", text, first.name, second.name)
    lengthways = [w.normal[0] for w in bottoms if abs(w.normal[0]) > _ENDWAYS]
    if any(n > 0 for n in lengthways) and any(n < 0 for n in lengthways):
        text = (
            f'the bridle: "{second.name}" runs on past "{first.name}" on both sides; '
            "its end must lie at the first: trim it there, or use a mortise and tenon"
        )
        raise fail(meeting.place, "joint", text, first.name, second.name)
    if not lengthways:
        text = f'the bridle: the slot would take the whole length of "{second.name}" within "{first.name}"'
        raise fail(meeting.place, "joint", text, first.name, second.name)
    # The fit is that of the cheeks; shoulders and the bottom of the slot draw up tight.
    return [mating(w, meeting.clearance if w in sides else 0.0) for w in walls]


def _thinned(first: Placed, cheeks: tuple[Plane, Plane]) -> Placed:
    """The first as thin as its tenon."""
    shapings = tuple(Shaping("trim", "face", cheek, first.body.place) for cheek in cheeks)
    return Placed(replace(first.body, shapings=(*first.body.shapings, *shapings)), first.standing)
