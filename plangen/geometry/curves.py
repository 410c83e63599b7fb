"""Plane curves, kept exact until an exporter needs otherwise: line, arc, arc of an ellipse, Bezier.

The same four serve outlines of members (millimetres of the work), strokes of views and marks on paper
(paper millimetres). Angles and parameters are radians; y is up.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

Vec2: TypeAlias = tuple[float, float]


@dataclass(frozen=True)
class Line:
    start: Vec2
    end: Vec2

    def reversed(self) -> Line:
        return Line(self.end, self.start)

    def at(self, s: float) -> Vec2:
        """The point at ``s`` from 0 (start) to 1 (end)."""
        return (
            self.start[0] + (self.end[0] - self.start[0]) * s,
            self.start[1] + (self.end[1] - self.start[1]) * s,
        )


@dataclass(frozen=True)
class Arc:
    """A circular arc from angle ``first`` to ``last``; counter-clockwise where ``last`` is the greater.

    A full circle runs from ``first`` to ``first`` + 2 pi.
    """

    centre: Vec2
    radius: float
    first: float
    last: float

    @property
    def start(self) -> Vec2:
        return self.at(0.0)

    @property
    def end(self) -> Vec2:
        return self.at(1.0)

    @property
    def is_full(self) -> bool:
        return abs(abs(self.last - self.first) - 2 * math.pi) < 1e-12

    def reversed(self) -> Arc:
        return Arc(self.centre, self.radius, self.last, self.first)

    def at(self, s: float) -> Vec2:
        a = self.first + (self.last - self.first) * s
        return (
            self.centre[0] + self.radius * math.cos(a),
            self.centre[1] + self.radius * math.sin(a),
        )


@dataclass(frozen=True)
class EllipseArc:
    """Points ``centre + major cos p + minor sin p`` for the parameter p from ``first`` to ``last``.

    ``major`` and ``minor`` are the half axes as vectors, square to each other; neither need be the longer.
    """

    centre: Vec2
    major: Vec2
    minor: Vec2
    first: float
    last: float

    @property
    def start(self) -> Vec2:
        return self.at(0.0)

    @property
    def end(self) -> Vec2:
        return self.at(1.0)

    def reversed(self) -> EllipseArc:
        return EllipseArc(self.centre, self.major, self.minor, self.last, self.first)

    def at(self, s: float) -> Vec2:
        p = self.first + (self.last - self.first) * s
        c, k = math.cos(p), math.sin(p)
        return (
            self.centre[0] + self.major[0] * c + self.minor[0] * k,
            self.centre[1] + self.major[1] * c + self.minor[1] * k,
        )


@dataclass(frozen=True)
class Bezier:
    """A Bezier curve by its control points; its degree is one less than their number."""

    points: tuple[Vec2, ...]

    @property
    def start(self) -> Vec2:
        return self.points[0]

    @property
    def end(self) -> Vec2:
        return self.points[-1]

    def reversed(self) -> Bezier:
        return Bezier(self.points[::-1])

    def at(self, s: float) -> Vec2:
        row = list(self.points)
        while len(row) > 1:
            row = [(a[0] + (b[0] - a[0]) * s, a[1] + (b[1] - a[1]) * s) for a, b in pairwise(row)]
        return row[0]


Curve: TypeAlias = Line | Arc | EllipseArc | Bezier


def moved(curve: Curve, by: Vec2) -> Curve:
    """The curve, every point moved."""
    dx, dy = by
    match curve:
        case Line():
            return Line(_add(curve.start, dx, dy), _add(curve.end, dx, dy))
        case Arc():
            return Arc(_add(curve.centre, dx, dy), curve.radius, curve.first, curve.last)
        case EllipseArc():
            return EllipseArc(_add(curve.centre, dx, dy), curve.major, curve.minor, curve.first, curve.last)
        case Bezier():
            return Bezier(tuple(_add(p, dx, dy) for p in curve.points))


def mirrored(curve: Curve, width: float) -> Curve:
    """The curve with each x at ``width`` less x, walked the same way."""
    match curve:
        case Line():
            return Line(_turned(curve.start, width), _turned(curve.end, width))
        case Arc():
            return Arc(
                _turned(curve.centre, width), curve.radius, math.pi - curve.first, math.pi - curve.last
            )
        case EllipseArc():
            (a, b), (c, d) = curve.major, curve.minor
            return EllipseArc(_turned(curve.centre, width), (-a, b), (-c, d), curve.first, curve.last)
        case Bezier():
            return Bezier(tuple(_turned(p, width) for p in curve.points))


def quarter_turned(curve: Curve, quarters: int) -> Curve:
    """The curve turned about 0, 0 by quarters of a turn, counter-clockwise."""
    c, s = ((1, 0), (0, 1), (-1, 0), (0, -1))[quarters % 4]

    def at(p: Vec2) -> Vec2:
        return (p[0] * c - p[1] * s, p[0] * s + p[1] * c)

    match curve:
        case Line():
            return Line(at(curve.start), at(curve.end))
        case Arc():
            by = quarters % 4 * math.pi / 2
            return Arc(at(curve.centre), curve.radius, curve.first + by, curve.last + by)
        case EllipseArc():
            return EllipseArc(at(curve.centre), at(curve.major), at(curve.minor), curve.first, curve.last)
        case Bezier():
            return Bezier(tuple(at(p) for p in curve.points))


def _add(p: Vec2, dx: float, dy: float) -> Vec2:
    return (p[0] + dx, p[1] + dy)


def _turned(p: Vec2, width: float) -> Vec2:
    return (width - p[0], p[1])
