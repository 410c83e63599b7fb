"""Holes that joints bore: for pegs and dowels. Each is a cut with the hole its note on the drawing tells of; those of
fasteners are told alike."""

from __future__ import annotations

from dataclasses import replace

from plangen.geometry.surfaces import Cylinder, Form, Plane
from plangen.geometry.vectors import Point, Vec, along, dot, neg, squared
from plangen.joinery.meeting import Cut, Meeting, Placed
from plangen.joinery.model import FeatureKind, Hole, HolePurpose

_KINDS: dict[HolePurpose, FeatureKind] = {"peg": "peg hole", "dowel": "dowel hole", "socket": "socket"}


def bored(meeting: Meeting, target: Placed, hole: Hole, note: str = "") -> Cut:
    """A round hole in one member of a meeting.

    Its cylinder runs on outward without end, so its entry must lie on the body's surface, or in wood that another cut
    of the joint takes away.
    """
    start, into = hole.entry, hole.axis
    cutter: list[Form] = [Cylinder(start, into, hole.diameter / 2, "hole")]
    if hole.depth is not None:
        cutter.append(Plane(neg(into), -dot(into, along(start, into, hole.depth))).squared())
    cut = meeting.cut(target, _KINDS[hole.purpose], [cutter])
    return replace(cut, origin="worked", stage=meeting.stage, hole=hole, note=note)


def hole_in(
    placed: Placed, entry: Point, way: Vec, diameter: float, depth: float | None, purpose: HolePurpose
) -> Hole:
    """A hole from ``entry`` along the unit vector ``way`` (both world), ``depth`` to the full diameter, None right
    through; millimetres."""
    start, into = placed.frame.local_point(entry), squared(placed.frame.local_direction(way))
    faces = placed.body.box.planes().items()
    entered = min(faces, key=lambda named: round(dot(named[1].normal, into), 9))[0]
    return Hole(start, into, diameter, depth, purpose, entered)
