"""Free curves as circular arcs through points on them: the fewest entities of a drawing that is looked at.

An arc through both ends and the middle of a stretch strays a third as far as a biarc of arcs as long
(``biarcs``), at the cost of corners of a fraction of a degree between them; what is cut takes biarcs.
"""

from __future__ import annotations

import math
from functools import lru_cache

from plangen.geometry.biarcs import ARC_TOLERANCE
from plangen.geometry.curves import Arc, Bezier, Curve, EllipseArc, Line, Vec2

_MARGIN = 0.8
"""Share of the tolerance allowed at the samples: between them the curve may stray a little farther."""
_SAMPLES = 8
"""In each half of a stretch."""
_MOST_ARCS = 256
_STRAIGHT = 0.05
"""Share of the tolerance: an arc that bows less is a line."""


def arcs_through(curve: Curve, tolerance: float = ARC_TOLERANCE) -> tuple[Line | Arc, ...]:
    """The curve as lines and arcs head to tail, no farther than ``tolerance`` mm from it, as few as stretches of
    equal parameter allow; lines and arcs stay as they are.

    Raises ValueError where _MOST_ARCS arcs do not keep within the tolerance.
    """
    if isinstance(curve, Line | Arc):
        return (curve,)
    if isinstance(curve, Bezier):
        return _arcs_of_free_curve(curve, tolerance)
    # 0.0 and -0.0 are one key of what is remembered: no -0.0 goes in
    (a, b), (c, d) = curve.major, curve.minor
    shape = EllipseArc(
        (0.0, 0.0), (a + 0.0, b + 0.0), (c + 0.0, d + 0.0), curve.first + 0.0, curve.last + 0.0
    )
    return tuple(_moved(piece, curve.centre) for piece in _arcs_of_ellipse(shape, tolerance))


@lru_cache(maxsize=1024)
def _arcs_of_ellipse(shape: EllipseArc, tolerance: float) -> tuple[Line | Arc, ...]:
    """Of an ellipse about 0, 0, since the rims of equal holes are alike but for their places."""
    return _arcs_of_free_curve(shape, tolerance)


def _arcs_of_free_curve(curve: EllipseArc | Bezier, tolerance: float) -> tuple[Line | Arc, ...]:
    for count in range(1, _MOST_ARCS + 1):
        pieces = []
        for i in range(count):
            piece = _stretch(curve, i / count, (i + 1) / count, tolerance)
            if piece is None:
                break
            pieces.append(piece)
        else:
            return tuple(pieces)
    raise ValueError(
        f"a free curve is too long or too sharp for arcs near {curve.start[0]:.3f}, {curve.start[1]:.3f}"
    )


def _stretch(curve: EllipseArc | Bezier, first: float, last: float, tolerance: float) -> Line | Arc | None:
    """The arc through both ends and the middle; None where the curve strays from it."""
    points = [curve.at(first + (last - first) * k / (2 * _SAMPLES)) for k in range(2 * _SAMPLES + 1)]
    p, q, r = points[0], points[_SAMPLES], points[-1]
    if p == r:
        return None
    piece = arc_through(p, q, r, tolerance * _STRAIGHT)
    allowed = tolerance * _MARGIN
    return piece if all(_off(x, piece) <= allowed for x in points) else None


def arc_through(p: Vec2, q: Vec2, r: Vec2, flat: float) -> Line | Arc:
    """The arc from ``p`` through ``q`` to ``r``; a line where ``q`` lies within ``flat`` mm of their chord.

    Its centre is where the perpendicular bisectors meet; it spans twice the turn from pq to qr, as the angle at
    the centre is twice that at the rim.
    """
    ux, uy, vx, vy = q[0] - p[0], q[1] - p[1], r[0] - q[0], r[1] - q[1]
    turn = ux * vy - uy * vx
    if abs(turn) <= flat * math.dist(p, r):
        return Line(p, r)
    uu, wx, wy = ux * ux + uy * uy, r[0] - p[0], r[1] - p[1]
    ww = wx * wx + wy * wy
    k = 2 * (ux * wy - uy * wx)
    centre = (p[0] + (wy * uu - uy * ww) / k, p[1] + (ux * ww - wx * uu) / k)
    span = 2 * math.atan2(turn, ux * vx + uy * vy)
    start = math.atan2(p[1] - centre[1], p[0] - centre[0])
    return Arc(centre, math.dist(p, centre), start, start + span)


def _off(p: Vec2, piece: Line | Arc) -> float:
    """Distance of a point from the whole line or circle of a piece beside which it lies."""
    if isinstance(piece, Arc):
        return abs(math.dist(p, piece.centre) - piece.radius)
    (ax, ay), (bx, by) = piece.start, piece.end
    return abs((bx - ax) * (p[1] - ay) - (by - ay) * (p[0] - ax)) / math.dist(piece.start, piece.end)


def _moved(piece: Line | Arc, by: Vec2) -> Line | Arc:
    def move(p: Vec2) -> Vec2:
        return (p[0] + by[0], p[1] + by[1])

    if isinstance(piece, Arc):
        return Arc(move(piece.centre), piece.radius, piece.first, piece.last)
    return Line(move(piece.start), move(piece.end))
