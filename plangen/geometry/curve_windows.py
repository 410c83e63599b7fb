"""Plane curves turned, stretched, and cut to a window: exact for lines and conics, by halving for free curves."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

from plangen.geometry.biarcs import part_of
from plangen.geometry.curves import Arc, Bezier, Curve, EllipseArc, Line, Vec2

Window = tuple[float, float, float, float]
"""Least x and y, greatest x and y."""
_SHORT = 1e-9
_LOOKS = 64
_HALVINGS = 50


def turned_point(p: Vec2, turn: Vec2) -> Vec2:
    """About 0, 0 by the angle whose cosine and sine are ``turn``."""
    return (p[0] * turn[0] - p[1] * turn[1], p[0] * turn[1] + p[1] * turn[0])


def turned_curve(curve: Curve, turn: Vec2) -> Curve:
    """About 0, 0 by the angle whose cosine and sine are ``turn``."""
    match curve:
        case Line():
            return Line(turned_point(curve.start, turn), turned_point(curve.end, turn))
        case Arc():
            angle = math.atan2(turn[1], turn[0])
            return Arc(
                turned_point(curve.centre, turn), curve.radius, curve.first + angle, curve.last + angle
            )
        case EllipseArc():
            centre, major, minor = (turned_point(p, turn) for p in (curve.centre, curve.major, curve.minor))
            return replace(curve, centre=centre, major=major, minor=minor)
        case Bezier():
            return Bezier(tuple(turned_point(p, turn) for p in curve.points))


def stretched_curve(curve: Curve, by: Vec2) -> Curve:
    """From 0, 0 by factors across and up; an arc is an ellipse's then."""

    def at(p: Vec2) -> Vec2:
        return (p[0] * by[0], p[1] * by[1])

    match curve:
        case Line():
            return Line(at(curve.start), at(curve.end))
        case Arc():
            major, minor = (curve.radius * by[0], 0.0), (0.0, curve.radius * by[1])
            return EllipseArc(at(curve.centre), major, minor, curve.first, curve.last)
        case EllipseArc():
            # half axes that are stretched unalike are conjugate, no longer square: drawn right all the same
            return replace(curve, centre=at(curve.centre), major=at(curve.major), minor=at(curve.minor))
        case Bezier():
            return Bezier(tuple(at(p) for p in curve.points))


def parts_inside(curve: Curve, window: Window) -> tuple[Curve, ...]:
    """The parts of a curve that lie in the window, in their order; the curve itself where all of it does."""
    x0, y0, x1, y1 = window
    a0, b0, a1, b1 = _bounds(curve)
    if x0 <= a0 and y0 <= b0 and a1 <= x1 and b1 <= y1:
        return (curve,)
    if a1 < x0 or b1 < y0 or a0 > x1 or b0 > y1:
        return ()
    cuts = {0.0, 1.0}
    for axis, level in ((0, x0), (0, x1), (1, y0), (1, y1)):
        cuts.update(s for s in _crossings(curve, axis, level) if _SHORT < s < 1 - _SHORT)
    order = sorted(cuts)
    kept: list[tuple[float, float]] = []
    for first, last in pairwise(order):
        x, y = curve.at((first + last) / 2)
        if not (x0 <= x <= x1 and y0 <= y <= y1):
            continue
        if kept and kept[-1][1] == first:
            kept[-1] = (kept[-1][0], last)
        else:
            kept.append((first, last))
    if kept == [(0.0, 1.0)]:
        return (curve,)
    return tuple(part_of(curve, a, b) for a, b in kept if b - a > _SHORT)


def length_at_most(curve: Curve) -> float:
    """A length that the curve does not exceed, and of lines and arcs their length, mm."""
    match curve:
        case Line():
            return math.dist(curve.start, curve.end)
        case Arc():
            return curve.radius * abs(curve.last - curve.first)
        case EllipseArc():
            return (math.hypot(*curve.major) + math.hypot(*curve.minor)) * abs(curve.last - curve.first)
        case Bezier():
            return math.fsum(math.dist(p, q) for p, q in pairwise(curve.points))


def _bounds(curve: Curve) -> Window:
    """A box that holds the curve, seldom the least."""
    if isinstance(curve, Arc | EllipseArc):
        if isinstance(curve, Arc):
            across = up = curve.radius
        else:
            across, up = (math.hypot(curve.major[k], curve.minor[k]) for k in (0, 1))
        (x, y) = curve.centre
        return (x - across, y - up, x + across, y + up)
    points = curve.points if isinstance(curve, Bezier) else (curve.start, curve.end)
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return (min(xs), min(ys), max(xs), max(ys))


def _crossings(curve: Curve, axis: int, level: float) -> list[float]:
    """Where a coordinate of the curve comes to a level, as shares of the curve."""
    if isinstance(curve, Line):
        run = curve.end[axis] - curve.start[axis]
        return [] if abs(run) < _SHORT else [(level - curve.start[axis]) / run]
    if isinstance(curve, Bezier):
        return _by_halving(curve, axis, level)
    if isinstance(curve, Arc):
        a, b = (curve.radius, 0.0) if axis == 0 else (0.0, curve.radius)
    else:
        a, b = curve.major[axis], curve.minor[axis]
    reach, off = math.hypot(a, b), level - curve.centre[axis]
    if reach < _SHORT or abs(off) > reach:
        return []
    towards, half = math.atan2(b, a), math.acos(off / reach)
    sweep = curve.last - curve.first
    low, high = sorted((curve.first, curve.last))
    found = []
    for angle in (towards - half, towards + half):
        k = math.ceil((low - angle) / (2 * math.pi))
        while angle + 2 * math.pi * k <= high:
            found.append((angle + 2 * math.pi * k - curve.first) / sweep)
            k += 1
    return found


def _by_halving(curve: Curve, axis: int, level: float) -> list[float]:
    looks = [curve.at(i / _LOOKS)[axis] - level for i in range(_LOOKS + 1)]
    found = []
    for i in range(_LOOKS):
        if (looks[i] < 0) == (looks[i + 1] < 0):
            continue
        low, high = i / _LOOKS, (i + 1) / _LOOKS
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            if (curve.at(middle)[axis] - level < 0) == (looks[i] < 0):
                low = middle
            else:
                high = middle
        found.append((low + high) / 2)
    return found
