"""Where lines and circular arcs of the plane meet, and how far a point is from them: exact, in closed form."""

from __future__ import annotations

import math

from plangen.geometry.curves import Arc, Line, Vec2

Piece = Line | Arc
_PARALLEL = 1e-12
_TOUCH = 1e-9
"""Millimetres by which curves may pass each other and still touch."""


def carrier_meetings(a: Piece, b: Piece) -> tuple[Vec2, ...]:
    """Where the whole lines or circles of two pieces meet; none where they are one or run side by side."""
    if isinstance(a, Line) and isinstance(b, Line):
        return _of_lines(a, b)
    if isinstance(a, Line) and isinstance(b, Arc):
        return _of_line_and_circle(a, b)
    if isinstance(a, Arc) and isinstance(b, Line):
        return _of_line_and_circle(b, a)
    assert isinstance(a, Arc)
    assert isinstance(b, Arc)
    return _of_circles(a, b)


def _of_lines(a: Line, b: Line) -> tuple[Vec2, ...]:
    ux, uy = a.end[0] - a.start[0], a.end[1] - a.start[1]
    vx, vy = b.end[0] - b.start[0], b.end[1] - b.start[1]
    across = ux * vy - uy * vx
    if abs(across) <= _PARALLEL * math.hypot(ux, uy) * math.hypot(vx, vy):
        return ()
    wx, wy = b.start[0] - a.start[0], b.start[1] - a.start[1]
    s = (wx * vy - wy * vx) / across
    return ((a.start[0] + s * ux, a.start[1] + s * uy),)


def _of_line_and_circle(line: Line, arc: Arc) -> tuple[Vec2, ...]:
    ux, uy = line.end[0] - line.start[0], line.end[1] - line.start[1]
    size = math.hypot(ux, uy)
    ux, uy = ux / size, uy / size
    wx, wy = arc.centre[0] - line.start[0], arc.centre[1] - line.start[1]
    along, off = wx * ux + wy * uy, ux * wy - uy * wx
    if abs(off) > arc.radius + _TOUCH:
        return ()
    half = math.sqrt(max(0.0, (arc.radius - off) * (arc.radius + off)))
    reaches = (along,) if half == 0.0 else (along - half, along + half)
    return tuple((line.start[0] + s * ux, line.start[1] + s * uy) for s in reaches)


def _of_circles(a: Arc, b: Arc) -> tuple[Vec2, ...]:
    dx, dy = b.centre[0] - a.centre[0], b.centre[1] - a.centre[1]
    apart = math.hypot(dx, dy)
    if apart < _TOUCH or apart > a.radius + b.radius + _TOUCH or apart < abs(a.radius - b.radius) - _TOUCH:
        return ()
    along = (apart * apart + a.radius * a.radius - b.radius * b.radius) / (2 * apart)
    half = math.sqrt(max(0.0, (a.radius - along) * (a.radius + along)))
    x, y = a.centre[0] + along * dx / apart, a.centre[1] + along * dy / apart
    return tuple(
        (x - s * half * dy / apart, y + s * half * dx / apart) for s in ((0,) if half == 0.0 else (-1, 1))
    )


def share_along(piece: Piece, p: Vec2) -> float:
    """0 at the start, 1 at the end, for a point on the piece's line or circle; past the ends below 0 or over 1.

    On an arc what lies beyond it is counted from the nearer end.
    """
    if isinstance(piece, Line):
        ux, uy = piece.end[0] - piece.start[0], piece.end[1] - piece.start[1]
        return ((p[0] - piece.start[0]) * ux + (p[1] - piece.start[1]) * uy) / (ux * ux + uy * uy)
    sweep = piece.last - piece.first
    turn = math.copysign(1.0, sweep) * (
        math.atan2(p[1] - piece.centre[1], p[0] - piece.centre[0]) - piece.first
    )
    middle = abs(sweep) / 2
    return (math.remainder(turn - middle, 2 * math.pi) + middle) / abs(sweep)


def part_between(piece: Piece, first: float, last: float) -> Piece:
    """The part of a piece from one share of it to another."""
    if isinstance(piece, Line):
        return Line(piece.at(first), piece.at(last))
    span = piece.last - piece.first
    return Arc(piece.centre, piece.radius, piece.first + span * first, piece.first + span * last)


def distance_to(piece: Piece, p: Vec2) -> float:
    """From a point to a line or arc."""
    s = share_along(piece, p)
    if 0.0 <= s <= 1.0:
        if isinstance(piece, Arc):
            return abs(math.dist(p, piece.centre) - piece.radius)
        return math.dist(p, piece.at(s))
    return min(math.dist(p, piece.start), math.dist(p, piece.end))


def arc_through_points(p: Vec2, q: Vec2, r: Vec2) -> Piece:
    """From ``p`` through ``q`` to ``r``; a line where the three are in line."""
    ux, uy, vx, vy = q[0] - p[0], q[1] - p[1], r[0] - q[0], r[1] - q[1]
    turn = ux * vy - uy * vx
    if abs(turn) < 1e-9 * math.dist(p, r):
        return Line(p, r)
    uu, wx, wy = ux * ux + uy * uy, r[0] - p[0], r[1] - p[1]
    ww, k = wx * wx + wy * wy, 2 * (ux * wy - uy * wx)
    centre = (p[0] + (wy * uu - uy * ww) / k, p[1] + (ux * ww - wx * uu) / k)
    first = math.atan2(p[1] - centre[1], p[0] - centre[0])
    return Arc(centre, math.dist(p, centre), first, first + 2 * math.atan2(turn, ux * vx + uy * vy))


def to_ends(piece: Piece, start: Vec2, end: Vec2) -> Piece:
    """The piece with its ends moved a little, along it: an arc keeps its middle."""
    if isinstance(piece, Line):
        return Line(start, end)
    return arc_through_points(start, piece.at(0.5), end)
