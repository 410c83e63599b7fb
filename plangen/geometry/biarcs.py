"""Free curves as lines and circular arcs that follow each other smoothly, within a tolerance.

A biarc is two arcs that join two points with given directions and meet each other smoothly; of all there are,
the one with two legs of its control polygon alike is taken (the usual choice in numerical-control texts; the
equation for the leg is derived in ``_biarc``). A piece whose biarc strays is halved.
"""

from __future__ import annotations

import itertools
import math

from plangen.geometry.curves import Arc, Bezier, Curve, EllipseArc, Line, Vec2
from plangen.geometry.patches import end_direction

ARC_TOLERANCE = 0.01
"""Millimetres that the arcs may lie off the free curve they stand for."""
SHORTEST_PIECE = 0.05
"""Millimetres: no arc or line shorter than this is made."""
_MARGIN = 0.8
"""Share of the tolerance allowed at the samples: between them the curve may stray a little farther."""
_SAMPLES = 24
_FLAT = 1e-9
_DEEPEST = 16


def to_arcs(curve: Curve, tolerance: float = ARC_TOLERANCE) -> tuple[Line | Arc, ...]:
    """The curve as lines and arcs head to tail, no farther than ``tolerance`` mm from it.

    Lines and arcs stay as they are. Raises ValueError where a free curve turns too sharply for arcs of at
    least SHORTEST_PIECE.
    """
    if isinstance(curve, Line | Arc):
        return (curve,)
    return tuple(_fitted(curve, tolerance * _MARGIN, 0))


def part_of(curve: Curve, first: float, last: float) -> Curve:
    """The part of a curve between two parameters 0 ... 1, walked from ``first`` to ``last``."""
    if first > last:
        return part_of(curve, last, first).reversed()
    match curve:
        case Line():
            return Line(curve.at(first), curve.at(last))
        case Arc():
            span = curve.last - curve.first
            return Arc(curve.centre, curve.radius, curve.first + span * first, curve.first + span * last)
        case EllipseArc():
            span = curve.last - curve.first
            return EllipseArc(
                curve.centre, curve.major, curve.minor, curve.first + span * first, curve.first + span * last
            )
        case Bezier():
            return Bezier(_bezier_part(curve.points, first, last))


def _bezier_part(points: tuple[Vec2, ...], first: float, last: float) -> tuple[Vec2, ...]:
    """De Casteljau's construction at both ends; the whole curve comes back as it is."""
    if last < 1.0:
        points = _left_of(points, last)
    if first > 0.0:
        points = _left_of(points[::-1], 1.0 - first / last)[::-1]
    return points


def _left_of(points: tuple[Vec2, ...], s: float) -> tuple[Vec2, ...]:
    row, left = list(points), [points[0]]
    while len(row) > 1:
        row = [(a[0] + (b[0] - a[0]) * s, a[1] + (b[1] - a[1]) * s) for a, b in itertools.pairwise(row)]
        left.append(row[0])
    return tuple(left)


def _fitted(curve: EllipseArc | Bezier, tolerance: float, depth: int) -> list[Line | Arc]:
    chord = math.dist(curve.start, curve.end)
    if chord > _FLAT:
        pieces = _biarc(
            curve.start, end_direction(curve, 0.0), curve.end, end_direction(curve, 1.0), tolerance
        )
        if pieces and _keep_near(curve, pieces, tolerance):
            return pieces
        if chord < 2 * SHORTEST_PIECE:
            raise ValueError(
                f"a free curve turns too sharply at {curve.start[0]:.3f}, {curve.start[1]:.3f} to be cut in arcs"
            )
    if depth == _DEEPEST:
        raise ValueError("a free curve runs too long for arcs within the tolerance")
    halves = (part_of(curve, 0.0, 0.5), part_of(curve, 0.5, 1.0))
    found = []
    for half in halves:
        assert isinstance(half, EllipseArc | Bezier)
        found += _fitted(half, tolerance, depth + 1)
    return found


def _keep_near(curve: EllipseArc | Bezier, pieces: list[Line | Arc], tolerance: float) -> bool:
    """Samples of the curve lie no farther than ``tolerance`` from the pieces."""
    return all(
        any(_is_near(p, piece, tolerance) for piece in pieces)
        for p in (curve.at(i / _SAMPLES) for i in range(1, _SAMPLES))
    )


def _is_near(p: Vec2, piece: Line | Arc, tolerance: float) -> bool:
    if isinstance(piece, Line):
        (ax, ay), (bx, by) = piece.start, piece.end
        dx, dy = bx - ax, by - ay
        share = ((p[0] - ax) * dx + (p[1] - ay) * dy) / (dx * dx + dy * dy)
        return math.dist(p, piece.at(min(1.0, max(0.0, share)))) <= tolerance
    if abs(math.dist(p, piece.centre) - piece.radius) > tolerance:
        return False
    turn = 1.0 if piece.last > piece.first else -1.0
    angle = math.atan2(p[1] - piece.centre[1], p[0] - piece.centre[0])
    along = (turn * (angle - piece.first)) % (2 * math.pi)
    if along <= abs(piece.last - piece.first):
        return True
    return min(math.dist(p, piece.start), math.dist(p, piece.end)) <= tolerance


def _biarc(p: Vec2, u: Vec2, q: Vec2, v: Vec2, tolerance: float) -> list[Line | Arc]:
    """From ``p`` along the unit ``u`` to ``q`` along the unit ``v``; empty where no gentle biarc exists.

    The control polygon p, p + d u, q - d v, q has its inner leg 2 d long: |q - p - d (u + v)| = 2 d, with
    w = q - p a quadratic in d: 2 (1 - u.v) d^2 + 2 w.(u + v) d - w.w = 0. The arcs meet at its middle.
    """
    w = (q[0] - p[0], q[1] - p[1])
    ww = w[0] * w[0] + w[1] * w[1]
    a = 2 * (1 - (u[0] * v[0] + u[1] * v[1]))
    b = w[0] * (u[0] + v[0]) + w[1] * (u[1] + v[1])
    if b <= 0:
        return []
    # The positive root in the form that does not cancel where u and v are alike.
    d = ww / (b + math.sqrt(b * b + a * ww))
    a1 = (p[0] + d * u[0], p[1] + d * u[1])
    a2 = (q[0] - d * v[0], q[1] - d * v[1])
    joint = ((a1[0] + a2[0]) / 2, (a1[1] + a2[1]) / 2)
    if min(math.dist(p, joint), math.dist(joint, q)) < SHORTEST_PIECE:
        return []
    back = tangent_arc(q, (-v[0], -v[1]), joint, tolerance)
    return [tangent_arc(p, u, joint, tolerance), back.reversed()]


def tangent_arc(p: Vec2, u: Vec2, q: Vec2, flat: float) -> Line | Arc:
    """The arc that leaves ``p`` along the unit ``u`` and ends at ``q``; a line where it bows under 1e-4 of
    ``flat``."""
    w = (q[0] - p[0], q[1] - p[1])
    across = u[0] * w[1] - u[1] * w[0]
    along = u[0] * w[0] + u[1] * w[1]
    half = math.atan2(across, along)
    chord = math.hypot(*w)
    if abs(chord / 2 * math.tan(half / 2)) < flat * 1e-4:
        return Line(p, q)
    radius = chord / (2 * math.sin(half))
    centre = (p[0] - radius * u[1], p[1] + radius * u[0])
    first = math.atan2(p[1] - centre[1], p[0] - centre[0])
    return Arc(centre, abs(radius), first, first + 2 * half)
