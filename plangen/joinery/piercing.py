"""What wood a straight axis passes in one member: its body less what joints have cut from it."""

from __future__ import annotations

from collections.abc import Sequence

from plangen.geometry.spans import Span, spans_left
from plangen.geometry.vectors import Point, Vec
from plangen.joinery.meeting import Cut, Placed


def wood_spans(placed: Placed, cuts: Sequence[Cut], at: Point, into: Vec) -> list[Span]:
    """Where the axis from ``at`` along the unit vector ``into`` (world) runs in wood, in order, millimetres."""
    body = placed.body
    cutters = [s.cutter for s in body.shapings]
    cutters += [c for cut in cuts if cut.target == placed.name for c in cut.cutters]
    start, way = placed.frame.local_point(at), placed.frame.local_direction(into)
    return spans_left(body.box.planes().values(), cutters, start, way)
