"""Edge glue: two boards glued edge to edge. Nothing is cut; the edges must lie against each other."""

from __future__ import annotations

from plangen.design import design as d
from plangen.findings import fail, warning
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import dot
from plangen.joinery.made import Made
from plangen.joinery.meeting import TOUCH_MM, Meeting, Placed
from plangen.joinery.sizing import Sizing

_AGAINST = -0.99
"""Cosine between two faces that are glued together."""


def make(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    sides = [
        (a, b) for a in _sides(meeting.first) for b in _sides(meeting.second) if _lie_together(a[1], b[1])
    ]
    if not sides:
        raise fail(
            meeting.place,
            "joint",
            f'edge glue: no edge of "{meeting.first.name}" lies flat on "{meeting.second.name}"; joint them to fit',
            meeting.first.name,
            meeting.second.name,
        )
    (a, _), (b, _) = sides[0]
    if 0 in (a, b):
        name = (meeting.first if a == 0 else meeting.second).name
        text = f'edge glue: the end of "{name}" is glued: end grain holds little (common practice); join it otherwise'
        return Made(findings=(warning(meeting.place, "end grain", text, name),))
    return Made()


def _sides(member: Placed) -> list[tuple[int, Plane]]:
    """Every plane of a body, in the world, with the local axis it looks along most."""
    found = []
    for _, plane, _ in member.body.carrying():
        axis = max((1, 0, 2), key=lambda i: round(abs(plane.normal[i]), 6))
        found.append((axis, plane.placed(member.frame)))
    return found


def _lie_together(a: Plane, b: Plane) -> bool:
    return dot(a.normal, b.normal) < _AGAINST and abs(a.distance(b.point)) < 2 * TOUCH_MM
