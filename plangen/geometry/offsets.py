"""Closed contours of lines and arcs moved sideways by a distance: the way of a round cutter's middle.

Every piece is moved square to itself, and an arc set about each corner that turns away; of all these, cut where they
meet, what keeps the distance from the whole contour is what is left (a point nearer than the distance is one the
cutter would spoil). No piece is approximated. What a contour is too narrow for is left out, so that one contour may
come back as none or several.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import numpy as np
import shapely

from plangen.geometry.biarcs import SHORTEST_PIECE
from plangen.geometry.curve_meetings import (
    Piece,
    carrier_meetings,
    distance_to,
    part_between,
    share_along,
    to_ends,
)
from plangen.geometry.curves import Arc, Line, Vec2
from plangen.geometry.patches import end_direction

_NEAR = 1e-6
"""Millimetres by which a piece may come nearer than the distance, and within which ends are one."""
_SMOOTH = 1e-9
_SHARE = 1e-9


def offset_contour(contour: Sequence[Piece], distance: float) -> tuple[tuple[Piece, ...], ...]:
    """The contour moved by ``distance`` mm to the right of its walk, or to the left where that is negative.

    Raises ValueError where what is left does not close.
    """
    if distance == 0.0:
        return (tuple(contour),)
    only = contour[0]
    if len(contour) == 1 and isinstance(only, Arc) and only.is_full:
        radius = only.radius + math.copysign(distance, (only.last - only.first) * distance)
        return ((Arc(only.centre, radius, only.first, only.last),),) if radius > _NEAR else ()
    raw = _moved_pieces(contour, distance)
    kept = _kept(contour, _split(raw), abs(distance))
    return tuple(_without_slivers(loop) for loop in _chained(kept))


def _moved_pieces(contour: Sequence[Piece], distance: float) -> list[Piece]:
    moved: list[Piece] = []
    for i, piece in enumerate(contour):
        side = _moved(piece, distance)
        if side is not None:
            moved.append(side)
        following = contour[(i + 1) % len(contour)]
        u, v = end_direction(piece, 1.0), end_direction(following, 0.0)
        turn = math.atan2(u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1])
        if turn * distance > _SMOOTH * abs(distance):
            moved.append(_about(piece.end, u, turn, distance))
    return moved


def _moved(piece: Piece, distance: float) -> Piece | None:
    """Moved to its right; None for an arc that shrinks to nothing."""
    if isinstance(piece, Line):
        u = end_direction(piece, 0.0)
        dx, dy = u[1] * distance, -u[0] * distance
        return Line((piece.start[0] + dx, piece.start[1] + dy), (piece.end[0] + dx, piece.end[1] + dy))
    radius = piece.radius + (distance if piece.last > piece.first else -distance)
    return Arc(piece.centre, radius, piece.first, piece.last) if radius > _NEAR else None


def _about(corner: Vec2, u: Vec2, turn: float, distance: float) -> Arc:
    """Round a corner, from beside a piece that ends along ``u``."""
    sign = math.copysign(1.0, distance)
    first = math.atan2(-u[0] * sign, u[1] * sign)
    return Arc(corner, abs(distance), first, first + turn)


def _split(raw: Sequence[Piece]) -> list[Piece]:
    """The pieces cut wherever two of them meet."""
    boxes = np.array([_box(p) for p in raw])
    tree = shapely.STRtree(shapely.box(*(boxes + np.array([-_NEAR, -_NEAR, _NEAR, _NEAR])).T))
    shares: list[list[float]] = [[] for _ in raw]
    first, second = tree.query(tree.geometries, predicate="intersects")
    for i, j in sorted(zip(first.tolist(), second.tolist(), strict=True)):
        if i >= j:
            continue
        points = [*carrier_meetings(raw[i], raw[j]), raw[i].start, raw[i].end, raw[j].start, raw[j].end]
        for p in points:
            if distance_to(raw[i], p) < _NEAR and distance_to(raw[j], p) < _NEAR:
                shares[i].append(share_along(raw[i], p))
                shares[j].append(share_along(raw[j], p))
    found = []
    for piece, cuts in zip(raw, shares, strict=True):
        size = _length(piece)
        places = [0.0]
        for s in sorted(cuts):
            if places[-1] + _NEAR / size < s < 1.0 - _NEAR / size:
                places.append(s)
        places.append(1.0)
        found += [part_between(piece, a, b) for a, b in itertools.pairwise(places)]
    return found


def _kept(contour: Sequence[Piece], parts: Sequence[Piece], distance: float) -> list[Piece]:
    """Parts that keep the distance from the whole contour, each once."""
    boxes = np.array([_box(p) for p in contour])
    tree = shapely.STRtree(shapely.box(*boxes.T))
    found: dict[tuple[float, ...], Piece] = {}
    for part in parts:
        x, y = part.at(0.5)
        near = tree.query(shapely.box(x - distance, y - distance, x + distance, y + distance))
        if all(distance_to(contour[i], (x, y)) >= distance - _NEAR for i in near.tolist()):
            key = tuple(round(v, 5) + 0.0 for v in (*part.start, x, y, *part.end))
            found.setdefault(key, part)
    return list(found.values())


def _chained(parts: Sequence[Piece]) -> list[list[Piece]]:
    """Parts head to tail, loop by loop."""
    rest = list(parts)
    loops = []
    while rest:
        loop = [rest.pop(0)]
        while math.dist(loop[-1].end, loop[0].start) > 10 * _NEAR or len(loop) == 1:
            near = [(math.dist(p.start, loop[-1].end), i) for i, p in enumerate(rest)]
            off, i = min(near, default=(math.inf, 0))
            if off > 10 * _NEAR:
                if len(loop) == 1 and _length(loop[0]) < 10 * _NEAR:
                    break
                x, y = loop[-1].end
                raise ValueError(f"the way of the cutter is open at {x:.3f}, {y:.3f}")
            loop.append(rest.pop(i))
        if len(loop) > 1:
            loops.append(loop)
    return loops


def _without_slivers(loop: Sequence[Piece]) -> tuple[Piece, ...]:
    """Pieces shorter than any cutter follows are left out, those beside them drawn together; parts of one line or
    circle that follow each other are one."""
    pieces = _joined(loop)
    long = [p for p in pieces if _length(p) >= SHORTEST_PIECE]
    if len(long) < 2 or len(long) == len(pieces):
        return tuple(pieces)
    starts = []
    for before, after in zip([long[-1], *long[:-1]], long, strict=True):
        points = carrier_meetings(before, after)
        corner = ((before.end[0] + after.start[0]) / 2, (before.end[1] + after.start[1]) / 2)
        close = [p for p in points if math.dist(p, corner) < SHORTEST_PIECE]
        starts.append(min(close, key=lambda p: math.dist(p, corner)) if close else corner)
    gaps = [math.dist(b.end, a.start) > _NEAR for b, a in zip([long[-1], *long[:-1]], long, strict=True)]
    starts = [s if gap else a.start for s, a, gap in zip(starts, long, gaps, strict=True)]
    return tuple(
        to_ends(p, s, e) if moved else p
        for p, s, e, moved in zip(long, starts, [*starts[1:], starts[0]], _either(gaps), strict=True)
    )


def _either(gaps: Sequence[bool]) -> list[bool]:
    """For each piece whether there is a gap before it or after it."""
    return [a or b for a, b in zip(gaps, [*gaps[1:], gaps[0]], strict=True)]


def _joined(loop: Sequence[Piece]) -> list[Piece]:
    found: list[Piece] = []
    for piece in loop:
        before = found[-1] if found else None
        if isinstance(piece, Arc) and isinstance(before, Arc) and _one_circle(before, piece):
            found[-1] = Arc(
                before.centre, before.radius, before.first, before.last + piece.last - piece.first
            )
        elif isinstance(piece, Line) and isinstance(before, Line) and _one_line(before, piece):
            found[-1] = Line(before.start, piece.end)
        else:
            found.append(piece)
    return found


def _one_circle(a: Arc, b: Arc) -> bool:
    same = math.dist(a.centre, b.centre) < _NEAR and abs(a.radius - b.radius) < _NEAR
    whole = abs(a.last - a.first + b.last - b.first) < 2 * math.pi - 1e-3
    return same and whole and (a.last > a.first) == (b.last > b.first)


def _one_line(a: Line, b: Line) -> bool:
    u, v = end_direction(a, 0.0), end_direction(b, 0.0)
    return abs(u[0] * v[1] - u[1] * v[0]) < _SHARE and u[0] * v[0] + u[1] * v[1] > 0


def _length(piece: Piece) -> float:
    if isinstance(piece, Line):
        return math.dist(piece.start, piece.end)
    return piece.radius * abs(piece.last - piece.first)


def _box(piece: Piece) -> tuple[float, float, float, float]:
    """Holds the piece; of an arc the box of its whole circle where it spans more than a quarter turn."""
    if isinstance(piece, Arc):
        (x, y), r = piece.centre, piece.radius
        if abs(piece.last - piece.first) > math.pi / 2:
            return (x - r, y - r, x + r, y + r)
        sag = r * (1 - math.cos((piece.last - piece.first) / 2))
    else:
        sag = 0.0
    (ax, ay), (bx, by) = piece.start, piece.end
    return (min(ax, bx) - sag, min(ay, by) - sag, max(ax, bx) + sag, max(ay, by) + sag)
