"""What wood a straight axis passes in one member: its body less what joints have cut from it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TypeAlias

from plangen.geometry.surfaces import Cylinder, Form, Plane
from plangen.geometry.vectors import Point, Vec, dot, scale, sub
from plangen.joinery.meeting import Cut, Placed

Span: TypeAlias = tuple[float, float]
"""A stretch of the axis: distances from its start."""
LEAST_SPAN = 1e-6
_ALL: Span = (-math.inf, math.inf)


def wood_spans(placed: Placed, cuts: Sequence[Cut], at: Point, into: Vec) -> list[Span]:
    """Where the axis from ``at`` along the unit vector ``into`` (world) runs in wood, in order, millimetres.

    Free curves are left out: they bound neither the body nor a cut.
    """
    start, way = placed.frame.local_point(at), placed.frame.local_direction(into)
    wood = [_ALL]
    for _, form in placed.body.surfaces():
        wood = _without(wood, _outer_spans(form, start, way))
    for cut in cuts:
        if cut.target == placed.name:
            for cutter in cut.cutters:
                wood = _without(wood, _cutter_spans(cutter, start, way))
    return [s for s in wood if s[1] - s[0] > LEAST_SPAN]


def _cutter_spans(cutter: Sequence[Form], start: Point, way: Vec) -> list[Span]:
    taken = [_ALL]
    for form in cutter:
        outer = _outer_spans(form, start, way)
        taken = [
            (max(a, c), min(b, e)) for a, b in taken for c, e in outer if min(b, e) - max(a, c) > LEAST_SPAN
        ]
    return taken


def _without(spans: list[Span], taken: list[Span]) -> list[Span]:
    for low, high in taken:
        spans = [
            piece
            for a, b in spans
            for piece in ((a, min(b, low)), (max(a, high), b))
            if piece[1] - piece[0] > LEAST_SPAN
        ]
    return spans


def _outer_spans(form: Form, start: Point, way: Vec) -> list[Span]:
    """Where the axis runs on the form's outer side."""
    if isinstance(form, Plane):
        slope, distance = dot(form.normal, way), form.distance(start)
        if abs(slope) < 1e-9:
            return [_ALL] if distance > 0 else []
        at = -distance / slope
        return [(at, math.inf)] if slope > 0 else [(-math.inf, at)]
    if not isinstance(form, Cylinder):
        return []
    within = _within(form, start, way)
    if form.side == "hole":
        return [within] if within is not None else []
    return [_ALL] if within is None else [(-math.inf, within[0]), (within[1], math.inf)]


def _within(form: Cylinder, start: Point, way: Vec) -> Span | None:
    """Where the axis runs inside the cylinder's circle."""
    d = sub(start, form.point)
    p = sub(d, scale(form.axis, dot(d, form.axis)))
    v = sub(way, scale(form.axis, dot(way, form.axis)))
    a, half_b, c = dot(v, v), dot(p, v), dot(p, p) - form.radius * form.radius
    if a < 1e-18:
        return _ALL if c < 0 else None
    discriminant = half_b * half_b - a * c
    if discriminant <= 0:
        return None
    root = math.sqrt(discriminant)
    return ((-half_b - root) / a, (-half_b + root) / a)
