"""Closed contours with some of their straight edges moved sideways, and with corners relieved for a round cutter."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Literal, TypeAlias

from plangen.geometry.curve_meetings import Piece, carrier_meetings
from plangen.geometry.curves import Arc, Curve, Line, Vec2
from plangen.geometry.patches import end_direction

Bite: TypeAlias = Literal["both", "before", "after"]
"""What a relief cuts into: both edges of the corner, the one before it, the one after it."""
_SAME = 1e-9
_FAR = 4.0
"""How far a corner may go, over the greatest move: farther, the edges are all but in line."""


def moved_edges(
    contour: Sequence[Curve], moves: Mapping[int, float]
) -> tuple[tuple[Curve, ...], tuple[int, ...]]:
    """The contour with edges moved to the right of its walk, mm; and of each edge which it was, -1 for a new one.

    Neighbours run on, or are cut short, to meet the moved edges. Raises ValueError where an edge would vanish or its
    neighbour is a free curve.
    """
    if not moves:
        return tuple(contour), tuple(range(len(contour)))
    carriers = [_beside(c, moves.get(i, 0.0)) for i, c in enumerate(contour)]
    n = len(contour)
    ends = [_corner(contour, carriers, moves, i) for i in range(n)]
    made: list[Curve] = []
    was: list[int] = []
    for i, carrier in enumerate(carriers):
        start, end = ends[i - 1][1], ends[i][0]
        made.append(_between(carrier, start, end))
        was.append(i)
        if math.dist(*ends[i]) > _SAME:
            made.append(Line(*ends[i]))
            was.append(-1)
    return tuple(made), tuple(was)


def _beside(curve: Curve, move: float) -> Curve:
    if move == 0.0:
        return curve
    if not isinstance(curve, Line):
        raise ValueError("only a straight edge is moved")
    u = end_direction(curve, 0.0)
    dx, dy = u[1] * move, -u[0] * move
    return Line((curve.start[0] + dx, curve.start[1] + dy), (curve.end[0] + dx, curve.end[1] + dy))


def _corner(
    contour: Sequence[Curve], carriers: Sequence[Curve], moves: Mapping[int, float], i: int
) -> tuple[Vec2, Vec2]:
    """Where the i-th edge ends and the next one starts: one point, or two where they run side by side."""
    j = (i + 1) % len(contour)
    a, b, old = carriers[i], carriers[j], contour[i].end
    if i not in moves and j not in moves:
        return old, contour[j].start
    if not isinstance(a, Line | Arc) or not isinstance(b, Line | Arc):
        raise ValueError("an edge beside a free curve is not moved")
    most = _FAR * max(abs(moves.get(i, 0.0)), abs(moves.get(j, 0.0)))
    points = [p for p in carrier_meetings(a, b) if math.dist(p, old) <= most]
    if not points:
        return a.end, b.start
    nearest = min(points, key=lambda p: math.dist(p, old))
    return nearest, nearest


def _between(carrier: Curve, start: Vec2, end: Vec2) -> Curve:
    if math.dist(start, carrier.start) < _SAME and math.dist(end, carrier.end) < _SAME:
        return carrier
    if isinstance(carrier, Line):
        (ax, ay), (bx, by) = carrier.start, carrier.end
        if (end[0] - start[0]) * (bx - ax) + (end[1] - start[1]) * (by - ay) <= 0:
            raise ValueError(f"the edge at {ax:.3f}, {ay:.3f} is shorter than it is moved")
        return Line(start, end)
    if not isinstance(carrier, Arc):
        raise ValueError("an edge beside a free curve is not moved")
    first, last = (math.atan2(p[1] - carrier.centre[1], p[0] - carrier.centre[0]) for p in (start, end))
    way = math.copysign(1.0, carrier.last - carrier.first)
    first = carrier.first + math.remainder(first - carrier.first, 2 * math.pi)
    last = carrier.last + math.remainder(last - carrier.last, 2 * math.pi)
    if (last - first) * way <= 0:
        raise ValueError("a curved edge is shorter than its neighbour is moved")
    return Arc(carrier.centre, carrier.radius, first, last)


def relief_arc(before: Line, after: Line, radius: float, bite: Bite) -> Arc:
    """The arc that lets a cutter of that radius reach a corner, from on ``before`` to on ``after``.

    ``both``: about a centre on the bisector, through the corner. Else about a centre on the edge that it bites into,
    a radius from the corner. Raises ValueError where an edge is too short for it.
    """
    corner, back, ahead = before.end, end_direction(before.reversed(), 0.0), end_direction(after, 0.0)
    if bite == "both":
        half = math.hypot(back[0] + ahead[0], back[1] + ahead[1]) / 2
        if half < _SAME:
            raise ValueError("no corner")
        reach = 2 * radius * half
        across = ((back[0] + ahead[0]) / (2 * half), (back[1] + ahead[1]) / (2 * half))
        centre = _along(corner, across, radius)
        start, end = _along(corner, back, reach), _along(corner, ahead, reach)
        needs = (reach, reach)
    else:
        way = back if bite == "before" else ahead
        centre = _along(corner, way, radius)
        start = _along(corner, back, 2 * radius) if bite == "before" else corner
        end = corner if bite == "before" else _along(corner, ahead, 2 * radius)
        needs = (2 * radius, 0.0) if bite == "before" else (0.0, 2 * radius)
    for edge, need in zip((before, after), needs, strict=True):
        if math.dist(edge.start, edge.end) <= need + _SAME:
            raise ValueError(f"an edge is shorter than the relief at {corner[0]:.3f}, {corner[1]:.3f}")
    first, last = (math.atan2(p[1] - centre[1], p[0] - centre[0]) for p in (start, end))
    # the arc lies on the far side of its chord from the corner's inside: it goes the way the corner turns back
    turn = back[0] * ahead[1] - back[1] * ahead[0]
    sweep = (last - first) % (2 * math.pi)
    return Arc(centre, radius, first, first + (sweep if turn < 0 else sweep - 2 * math.pi))


def relieved(
    contour: Sequence[Curve], reliefs: Mapping[int, Arc]
) -> tuple[tuple[Curve, ...], tuple[int, ...]]:
    """The contour with an arc at the end of each edge that is a key; and of each piece which edge it was, -1 for an
    arc."""
    n = len(contour)
    made: list[Curve] = []
    was: list[int] = []
    for i, curve in enumerate(contour):
        before, after = reliefs.get((i - 1) % n), reliefs.get(i)
        start = curve.start if before is None else before.end
        end = curve.end if after is None else after.start
        if before is None and after is None:
            made.append(curve)
        else:
            if (end[0] - start[0]) * (curve.end[0] - curve.start[0]) + (end[1] - start[1]) * (
                curve.end[1] - curve.start[1]
            ) <= _SAME:
                raise ValueError(f"two reliefs meet at {start[0]:.3f}, {start[1]:.3f}")
            made.append(Line(start, end))
        was.append(i)
        if after is not None:
            made.append(after)
            was.append(-1)
    return tuple(made), tuple(was)


def corner_turn(before: Piece, after: Piece) -> float:
    """Radians by which the walk turns where one edge ends and the next starts, left positive."""
    u, v = end_direction(before, 1.0), end_direction(after, 0.0)
    return math.atan2(u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1])


def _along(p: Vec2, way: Vec2, by: float) -> Vec2:
    return (p[0] + way[0] * by, p[1] + way[1] * by)
