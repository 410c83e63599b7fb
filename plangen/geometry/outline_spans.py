"""Where a straight line runs outside an extruded outline: its exact crossings with every curve of the outline."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

from plangen.geometry.curves import Arc, Bezier, Curve, EllipseArc, Line, Vec2
from plangen.geometry.patches import end_direction, is_closed, patch_of_curve
from plangen.geometry.surfaces import Extruded, Form
from plangen.geometry.vectors import LENGTH_TOLERANCE, Point, Vec, dot

Span: TypeAlias = tuple[float, float]
_PARALLEL = 1e-12
_ALONG = 1e-9
"""Sine of a line's angle to the axis of the extrusion below which it runs along it."""
_ASIDE = 1e-9
"""Millimetres; corners are known to some 1e-12."""
_HALVINGS = 60
_AT_REST = 2.0**-53
"""Of a curve's parameter: its last bit."""


@dataclass(frozen=True)
class Crossing:
    """Where a line crosses an outline: millimetres along the line, and whether it goes into the wood there."""

    at: float
    inward: bool
    curve: Curve | None
    """None: the straight run on from an end of an open outline."""


def spans_outside(form: Extruded, start: Point, way: Vec) -> list[Span]:
    """Stretches of the line from ``start`` along the unit ``way`` on the outline's outer side, in order."""
    crossings = outline_crossings(form, start, way)
    if not crossings:
        return [(-math.inf, math.inf)] if _starts_outside(form, start, way) else []
    outside = crossings[0].inward
    stops = [-math.inf, *(c.at for c in crossings), math.inf]
    found: list[Span] = []
    for (low, high), passed in zip(pairwise(stops), [None, *crossings], strict=True):
        outside = outside if passed is None else not passed.inward
        if outside and high > low:
            found.append((low, high))
    return found


def outline_crossings(form: Extruded, start: Point, way: Vec) -> list[Crossing]:
    """Every crossing of the line with the outline, in order; none where it runs along the extrusion's axis.

    The line is moved aside by less than counts: so it goes through no corner and along no edge, and comes in as
    often as it goes out.
    """
    (x, y), d = form.flat(start), (dot(way, form.u), dot(way, form.v))
    if math.hypot(*d) < _ALONG:
        return []
    p = (x - _ASIDE * d[1] / math.hypot(*d), y + _ASIDE * d[0] / math.hypot(*d))
    found = [c for curve in form.outline for c in _crossed(curve, p, d)]
    if not is_closed(form):
        found += _run_on(form, p, d)
    return sorted(found, key=lambda c: c.at)


def patch_crossed(form: Extruded, start: Point, way: Vec, at: float) -> Form | None:
    """The plane, round surface or free curve of the outline that the line crosses ``at`` millimetres along it."""
    for crossing in outline_crossings(form, start, way):
        if abs(crossing.at - at) < LENGTH_TOLERANCE and crossing.curve is not None:
            return patch_of_curve(form, crossing.curve)
    return None


def _crossed(curve: Curve, p: Vec2, d: Vec2) -> Iterator[Crossing]:
    for s in _parameters(curve, p, d):
        q = curve.at(s)
        heading = _heading(curve, s)
        across = _cross(heading, d)
        if abs(across) > _PARALLEL:
            ahead = (q[0] - p[0]) * d[0] + (q[1] - p[1]) * d[1]
            yield Crossing(ahead / (d[0] * d[0] + d[1] * d[1]), across > 0, curve)


def _parameters(curve: Curve, p: Vec2, d: Vec2) -> list[float]:
    """Where on the curve, from 0 to 1, it crosses the line through ``p`` along ``d``."""
    if isinstance(curve, Bezier | Line):
        points = curve.points if isinstance(curve, Bezier) else (curve.start, curve.end)
        return _roots([_cross(d, (q[0] - p[0], q[1] - p[1])) for q in points])
    major, minor = (
        ((curve.radius, 0.0), (0.0, curve.radius)) if isinstance(curve, Arc) else (curve.major, curve.minor)
    )
    # a cos t + b sin t = c
    a, b = _cross(d, major), _cross(d, minor)
    c = _cross(d, (p[0] - curve.centre[0], p[1] - curve.centre[1]))
    size = math.hypot(a, b)
    if abs(c) >= size:
        return []
    middle, half = math.atan2(b, a), math.acos(c / size)
    return sorted(s for t in (middle - half, middle + half) for s in _on_arc(curve, t))


def _on_arc(curve: Arc | EllipseArc, t: float) -> list[float]:
    """The parameter of the angle ``t`` on the arc, any whole turns away."""
    sweep = curve.last - curve.first
    low, high = min(curve.first, curve.last), max(curve.first, curve.last)
    turns = range(math.floor((low - t) / (2 * math.pi)) - 1, math.ceil((high - t) / (2 * math.pi)) + 2)
    shares = [(t + 2 * math.pi * k - curve.first) / sweep for k in turns]
    return [s for s in shares if 0.0 <= s <= 1.0][:1]


def _roots(heights: Sequence[float]) -> list[float]:
    """Roots from 0 to 1 of the polynomial with these Bernstein coefficients, none of them at an end."""
    return _roots_between(tuple(heights), 0.0, 1.0)


def _roots_between(heights: tuple[float, ...], low: float, high: float) -> list[float]:
    changes = sum(a * b < 0 for a, b in pairwise(h for h in heights if h))
    if changes == 0:
        return []
    if changes == 1:
        return [low + (high - low) * _only_root(heights)]
    middle = (low + high) / 2
    if high - low < 2.0**-_HALVINGS or middle in (low, high):
        return [middle] if changes % 2 else []
    left, right = _halved(heights)
    between = [middle] if left[-1] == 0.0 else []
    return [*_roots_between(left, low, middle), *between, *_roots_between(right, middle, high)]


def _only_root(heights: tuple[float, ...]) -> float:
    """The one root between 0 and 1 of a polynomial whose Bernstein coefficients change their sign once: by Newton's
    rule, halving where that would leave what is known to hold it."""
    falls = next(h for h in heights if h) > 0
    low, high, at = 0.0, 1.0, 0.5
    if heights[0] and heights[-1]:
        at = heights[0] / (heights[0] - heights[-1])
    for _ in range(_HALVINGS):
        row = heights
        while len(row) > 2:
            row = tuple(a + (b - a) * at for a, b in pairwise(row))
        value, slope = row[0] + (row[1] - row[0]) * at, (len(heights) - 1) * (row[1] - row[0])
        if value == 0.0:
            return at
        low, high = (at, high) if (value > 0) == falls else (low, at)
        step = at - value / slope if slope else low
        if abs(step - at) <= _AT_REST:
            return at
        at = step if low < step < high else (low + high) / 2
    return at


def _halved(row: tuple[float, ...]) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """De Casteljau's construction at the middle."""
    left, right = [row[0]], [row[-1]]
    while len(row) > 1:
        row = tuple((a + b) / 2 for a, b in pairwise(row))
        left.append(row[0])
        right.append(row[-1])
    return tuple(left), tuple(reversed(right))


def _heading(curve: Curve, s: float) -> Vec2:
    """Along the curve as it is walked, not of unit length."""
    match curve:
        case Line():
            return (curve.end[0] - curve.start[0], curve.end[1] - curve.start[1])
        case Bezier():
            row = list(curve.points)
            while len(row) > 2:
                row = [(a[0] + (b[0] - a[0]) * s, a[1] + (b[1] - a[1]) * s) for a, b in pairwise(row)]
            return (row[1][0] - row[0][0], row[1][1] - row[0][1])
        case Arc():
            major, minor = (curve.radius, 0.0), (0.0, curve.radius)
        case EllipseArc():
            major, minor = curve.major, curve.minor
    t = curve.first + (curve.last - curve.first) * s
    sign = math.copysign(1.0, curve.last - curve.first)
    c, k = sign * math.cos(t), sign * math.sin(t)
    return (minor[0] * c - major[0] * k, minor[1] * c - major[1] * k)


def _run_on(form: Extruded, p: Vec2, d: Vec2) -> Iterator[Crossing]:
    """Crossings with the straight continuations of an open outline's two ends."""
    ends = [(form.outline[0].start, end_direction(form.outline[0], 0.0), -1.0)]
    ends.append((form.outline[-1].end, end_direction(form.outline[-1], 1.0), 1.0))
    for q, heading, onward in ends:
        across = _cross(heading, d)
        if abs(across) > _PARALLEL:
            off = (p[0] - q[0], p[1] - q[1])
            if onward * _cross(off, d) / across >= 0:
                yield Crossing(_cross(heading, off) / -across, across > 0, None)


def _starts_outside(form: Extruded, start: Point, way: Vec) -> bool:
    """Whether the point is on the outer side; the line along ``way`` crosses nothing."""
    d = (dot(way, form.u), dot(way, form.v))
    if math.hypot(*d) < _ALONG:
        aslant = tuple(0.8 * a + 0.6 * b for a, b in zip(form.u, form.v, strict=True))
        return any(a <= 0 < b for a, b in spans_outside(form, start, (aslant[0], aslant[1], aslant[2])))
    if is_closed(form):
        # Far along the line: outside a profile, in the wood round an opening.
        return _walked_area(form) > 0
    p = form.flat(start)
    ends = [(form.outline[0].start, end_direction(form.outline[0], 0.0))]
    ends.append((form.outline[-1].end, end_direction(form.outline[-1], 1.0)))
    off = [_cross(heading, (p[0] - q[0], p[1] - q[1])) for q, heading in ends]
    return min(off, key=abs) < 0


def _walked_area(form: Extruded) -> float:
    """Signed, positive counter-clockwise; curves at sixteen chords, which is enough for the sign."""
    points = [curve.at(i / 16) for curve in form.outline for i in range(16)]
    return sum(_cross(a, b) for a, b in pairwise([*points, points[0]])) / 2


def _cross(a: Vec2, b: Vec2) -> float:
    return a[0] * b[1] - a[1] * b[0]
