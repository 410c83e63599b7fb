"""Where a straight line runs through surfaces, cutters and what cutters leave: stretches of the line.

Distances along the line from its start, millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import TypeAlias

from plangen.geometry.outline_spans import spans_outside
from plangen.geometry.surfaces import Cone, Cylinder, Extruded, Form, Plane
from plangen.geometry.vectors import Point, Vec, dot, scale, sub

Span: TypeAlias = tuple[float, float]
"""A stretch of the line: from, to."""
LEAST_SPAN = 1e-6
ALL: Span = (-math.inf, math.inf)


def spans_left(
    walls: Iterable[Form], cutters: Iterable[Sequence[Form]], start: Point, way: Vec
) -> list[Span]:
    """Where the line from ``start`` along the unit ``way`` runs on the inner side of all ``walls`` and in none of
    the cutters, in order."""
    left = [ALL]
    for wall in walls:
        left = without(left, outer_spans(wall, start, way))
    for cutter in cutters:
        left = without(left, cutter_spans(cutter, start, way))
    return [s for s in left if s[1] - s[0] > LEAST_SPAN]


def cutter_spans(cutter: Sequence[Form], start: Point, way: Vec) -> list[Span]:
    """Where the line runs in a cutter: on the outer side of all its forms.

    A line that runs in the plane between two turned lengths is in the cutters of both: else it were in neither.
    """
    taken = [ALL]
    is_turned = any(isinstance(form, Cylinder | Cone) for form in cutter)
    for form in cutter:
        outer = outer_spans(form, start, way, is_closed=is_turned)
        taken = [
            (max(a, c), min(b, e)) for a, b in taken for c, e in outer if min(b, e) - max(a, c) > LEAST_SPAN
        ]
    return taken


def without(spans: list[Span], taken: Iterable[Span]) -> list[Span]:
    for low, high in taken:
        spans = [
            piece
            for a, b in spans
            for piece in ((a, min(b, low)), (max(a, high), b))
            if piece[1] - piece[0] > LEAST_SPAN
        ]
    return spans


def outer_spans(form: Form, start: Point, way: Vec, is_closed: bool = False) -> list[Span]:
    """Where the line runs on the form's outer side; ``is_closed``: also where it runs in a plane."""
    if isinstance(form, Plane):
        slope, distance = dot(form.normal, way), form.distance(start)
        if abs(slope) < 1e-9:
            return [ALL] if distance > 0 or (is_closed and distance > -1e-9) else []
        at = -distance / slope
        return [(at, math.inf)] if slope > 0 else [(-math.inf, at)]
    if isinstance(form, Extruded):
        return spans_outside(form, start, way)
    inside = _in_cylinder(form, start, way) if isinstance(form, Cylinder) else _in_cone(form, start, way)
    return inside if form.side == "hole" else without([ALL], inside)


def _in_cylinder(form: Cylinder, start: Point, way: Vec) -> list[Span]:
    """Where the line runs inside the cylinder's circle."""
    d = sub(start, form.point)
    p = sub(d, scale(form.axis, dot(d, form.axis)))
    v = sub(way, scale(form.axis, dot(way, form.axis)))
    a, half_b, c = dot(v, v), dot(p, v), dot(p, p) - form.radius * form.radius
    if a < 1e-18:
        return [ALL] if c < 0 else []
    discriminant = half_b * half_b - a * c
    if discriminant <= 0:
        return []
    root = math.sqrt(discriminant)
    return [((-half_b - root) / a, (-half_b + root) / a)]


def _in_cone(form: Cone, start: Point, way: Vec) -> list[Span]:
    """Where the line runs inside the cone, on its own side of the tip.

    Inside, the distance from the axis is less than the radius there: a quadratic in the distance along the line,
    read between its roots where the middle of each stretch satisfies it.
    """
    d = sub(start, form.point)
    height, rise = dot(d, form.axis), dot(way, form.axis)
    p = sub(d, scale(form.axis, height))
    v = sub(way, scale(form.axis, rise))
    r, k = form.radius + form.slope * height, form.slope * rise
    a, half_b, c = dot(v, v) - k * k, dot(p, v) - r * k, dot(p, p) - r * r
    stops = [-r / k] if abs(k) > 1e-12 else []
    if abs(a) < 1e-12:
        stops += [-c / (2 * half_b)] if abs(half_b) > 1e-12 else []
    elif (discriminant := half_b * half_b - a * c) > 0:
        root = math.sqrt(discriminant)
        stops += [(-half_b - root) / a, (-half_b + root) / a]
    stops = [-math.inf, *sorted(stops), math.inf]
    found: list[Span] = []
    for low, high in pairwise(stops):
        s = _between(low, high)
        if high - low > LEAST_SPAN and r + k * s > 0 and a * s * s + 2 * half_b * s + c < 0:
            found.append((low, high))
    return found


def _between(low: float, high: float) -> float:
    if low == -math.inf:
        return 0.0 if high == math.inf else high - 1.0
    return low + 1.0 if high == math.inf else (low + high) / 2
