"""Holes that joints bore: for pegs and dowels. Each is a cut with the hole its note on the drawing tells of."""

from __future__ import annotations

from dataclasses import replace

from plangen.geometry.surfaces import Cylinder, Form, Plane
from plangen.geometry.vectors import Point, Vec, along, dot, neg, squared
from plangen.joinery.meeting import Cut, Meeting, Placed
from plangen.joinery.model import FeatureKind, Hole, HolePurpose, Stage


def bored(
    meeting: Meeting,
    target: Placed,
    entry: Point,
    way: Vec,
    diameter: float,
    depth: float | None,
    kind: FeatureKind,
    purpose: HolePurpose,
    stage: Stage | None = None,
    note: str = "",
) -> Cut:
    """A round hole in one member of a meeting: from ``entry`` along the unit vector ``way`` (both world).

    ``depth`` is to the full diameter, None right through; millimetres. The hole's cylinder runs on outward without
    end, so ``entry`` must lie on the body's surface, or in wood that another cut of the joint takes away.
    """
    start, into = target.frame.local_point(entry), squared(target.frame.local_direction(way))
    cutter: list[Form] = [Cylinder(start, into, diameter / 2, "hole")]
    if depth is not None:
        cutter.append(Plane(neg(into), -dot(into, along(start, into, depth))).squared())
    faces = target.body.box.planes().items()
    entered = min(faces, key=lambda named: round(dot(named[1].normal, into), 9))[0]
    cut = meeting.cut(target, kind, [cutter])
    hole = Hole(start, into, diameter, depth, purpose, entered)
    return replace(cut, origin="worked", stage=stage or meeting.stage, hole=hole, note=note)
