"""Any plane curve as cubic Beziers, the one curve that page description languages know."""

from __future__ import annotations

import itertools
import math
from typing import TypeAlias

from plangen.geometry.curves import Arc, Bezier, Curve, EllipseArc, Line, Vec2

Cubic: TypeAlias = tuple[Vec2, Vec2, Vec2, Vec2]

QUARTER_ERROR = 2.73e-4
"""Largest radial error of the usual cubic for a quarter circle, over the radius; it falls with the sixth
power of the angle (derived: the cubic touches the arc at both ends and its middle)."""


def to_cubics(curve: Curve, tolerance: float = 1e-4) -> tuple[Cubic, ...]:
    """Cubics that follow each other along the curve, no farther than ``tolerance`` mm from it."""
    match curve:
        case Line():
            return (_straight(curve),)
        case Arc():
            r = curve.radius
            return _ellipse(EllipseArc(curve.centre, (r, 0.0), (0.0, r), curve.first, curve.last), tolerance)
        case EllipseArc():
            return _ellipse(curve, tolerance)
        case Bezier():
            return _bezier(curve.points, tolerance, 0)


def _straight(line: Line) -> Cubic:
    return (line.start, line.at(1 / 3), line.at(2 / 3), line.end)


def _ellipse(arc: EllipseArc, tolerance: float) -> tuple[Cubic, ...]:
    """An ellipse is the image of a circle of radius 1, whose error grows at most by the longer half axis."""
    sweep = arc.last - arc.first
    longest = max(math.hypot(*arc.major), math.hypot(*arc.minor))
    if sweep == 0 or longest == 0:
        return ()
    widest = math.pi / 2 * min(1.0, (tolerance / (QUARTER_ERROR * longest)) ** (1 / 6))
    n = max(1, math.ceil(abs(sweep) / widest - 1e-9))
    step = sweep / n
    k = 4 / 3 * math.tan(step / 4)
    out: list[Cubic] = []
    for i in range(n):
        a, b = arc.first + step * i, arc.first + step * (i + 1)
        p, q = _on(arc, a), _on(arc, b)
        u, v = _slope(arc, a), _slope(arc, b)
        out.append(
            (p, (p[0] + k * u[0], p[1] + k * u[1]), (q[0] - k * v[0], q[1] - k * v[1]), q),
        )
    return tuple(out)


def _on(arc: EllipseArc, p: float) -> Vec2:
    c, s = math.cos(p), math.sin(p)
    return (
        arc.centre[0] + arc.major[0] * c + arc.minor[0] * s,
        arc.centre[1] + arc.major[1] * c + arc.minor[1] * s,
    )


def _slope(arc: EllipseArc, p: float) -> Vec2:
    c, s = math.cos(p), math.sin(p)
    return (arc.minor[0] * c - arc.major[0] * s, arc.minor[1] * c - arc.major[1] * s)


def _bezier(points: tuple[Vec2, ...], tolerance: float, depth: int) -> tuple[Cubic, ...]:
    n = len(points) - 1
    if n == 1:
        return (_straight(Line(points[0], points[1])),)
    if n == 2:
        a, b, c = points
        return ((a, _between(a, b, 2 / 3), _between(c, b, 2 / 3), c),)
    if n == 3:
        return ((points[0], points[1], points[2], points[3]),)
    # a cubic with the same ends and end slopes; halved until it lies close at seven inner points
    cubic = (
        points[0],
        _between(points[0], points[1], n / 3),
        _between(points[-1], points[-2], n / 3),
        points[-1],
    )
    near, true = Bezier(cubic), Bezier(points)
    if depth >= 12 or all(math.dist(near.at(i / 8), true.at(i / 8)) <= tolerance for i in range(1, 8)):
        return (cubic,)
    left, right = _halves(points)
    return _bezier(left, tolerance, depth + 1) + _bezier(right, tolerance, depth + 1)


def _between(a: Vec2, b: Vec2, s: float) -> Vec2:
    return (a[0] + (b[0] - a[0]) * s, a[1] + (b[1] - a[1]) * s)


def _halves(points: tuple[Vec2, ...]) -> tuple[tuple[Vec2, ...], tuple[Vec2, ...]]:
    """De Casteljau's construction at the middle."""
    row, left, right = list(points), [points[0]], [points[-1]]
    while len(row) > 1:
        row = [_between(a, b, 0.5) for a, b in itertools.pairwise(row)]
        left.append(row[0])
        right.append(row[-1])
    return tuple(left), tuple(reversed(right))
