"""What to measure once the parts of a step stand: between like corners of copies, diagonals that are equal."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from plangen.assembling.steps import Step
from plangen.geometry.frames import Frame
from plangen.geometry.vectors import Point
from plangen.joinery.model import Instance, Member, Model

_LEVEL = 0.01
_EQUAL = 0.01
_BESIDE = 1.0
"""Millimetres, level: what stands nearer stands over the other."""
_MUCH_NEARER = 0.5
"""Feet are measured rather than tops unless they stand so much nearer together."""


@dataclass(frozen=True)
class Apart:
    """Distances between one and the same corner of all copies of a member that a step puts in."""

    member: str
    corner: str
    """``lowest`` or ``highest``: which corner it is, the outermost of those."""
    sides: tuple[float, ...]
    """Millimetres, the different ones, rising; without the diagonals."""
    diagonals: float | None
    """Of four: millimetres, both diagonals alike; None: there are none, or they differ by design."""
    over: bool = False
    """Of two that stand beside each other: the side is taken over both, from outermost to outermost corner."""


def distances(step: Step, model: Model) -> tuple[Apart, ...]:
    """For every member of which the step puts in two or four copies, each by itself: a unit is measured before."""
    copies: dict[str, list[tuple[Member, Instance]]] = {}
    for name in (n for m in step.moves if len(m.names) == 1 for n in m.names):
        member, instance = model.instance(name)
        copies.setdefault(member.mark, []).append((member, instance))
    return tuple(_apart(standing) for standing in copies.values() if len(standing) in (2, 4))


def _apart(standing: Sequence[tuple[Member, Instance]]) -> Apart:
    member = standing[0][0]
    where = [i.frame for _, i in standing]
    corners = [(p[0], p[1], p[2]) for p in member.solid.vertices.tolist()]
    ends: list[tuple[str, float]] = [("lowest", -1.0), ("highest", 1.0)]
    name, sign = (
        ends[0] if _spread(where, corners, -1.0) > _MUCH_NEARER * _spread(where, corners, 1.0) else ends[1]
    )
    over = _over_both(where, corners, sign) if len(where) == 2 else None
    if over is not None:
        return Apart(member.name, name, (over,), None, True)
    point = _outermost(where, corners, sign)
    placed = [frame.point(point) for frame in where]
    gaps = sorted(math.dist(a, b) for a, b in itertools.combinations(placed, 2))
    if len(gaps) == 1:
        return Apart(member.name, name, (gaps[0],), None)
    equal = gaps[5] - gaps[4] < _EQUAL
    sides: list[float] = []
    for gap in gaps[:4] if equal else gaps:
        if not sides or gap - sides[-1] > _EQUAL:
            sides.append(gap)
    return Apart(member.name, name, tuple(sides), gaps[5] if equal else None)


def _over_both(where: Sequence[Frame], corners: Sequence[Point], sign: float) -> float | None:
    """From outside to outside of the corners at one end of two copies, level, on the way from one to the other.

    Not between one corner and its like: that runs aslant where the other copy is turned, and nobody could tell which
    corners are meant. None where the copies stand one over the other.
    """
    ends = [_at_end([f.point(p) for p in corners], sign) for f in where]
    middle = [[math.fsum(p[a] for p in end) / len(end) for a in (0, 1)] for end in ends]
    way = [middle[1][0] - middle[0][0], middle[1][1] - middle[0][1]]
    long = math.hypot(*way)
    if long < _BESIDE:
        return None
    stations = [(p[0] * way[0] + p[1] * way[1]) / long for end in ends for p in end]
    return max(stations) - min(stations)


def _at_end(points: Sequence[Point], sign: float) -> list[Point]:
    reach = max(sign * p[2] for p in points)
    return [p for p in points if sign * p[2] > reach - _LEVEL]


def _spread(where: Sequence[Frame], corners: Sequence[Point], sign: float) -> float:
    """How far apart the outermost corners are at the lower or the upper end."""
    point = _outermost(where, corners, sign)
    placed = [frame.point(point) for frame in where]
    return max(math.dist(a, b) for a, b in itertools.combinations(placed, 2))


def _outermost(where: Sequence[Frame], corners: Sequence[Point], sign: float) -> Point:
    """Of the corners at the lower (-1) or upper (1) end of the first copy, the one farthest from the others'."""
    first = where[0]
    heights = [sign * first.point(p)[2] for p in corners]
    at_end = [p for p, h in zip(corners, heights, strict=True) if h > max(heights) - _LEVEL]

    def reach(p: Point) -> float:
        placed = [frame.point(p) for frame in where]
        return round(max(math.dist(placed[0], q) for q in placed[1:]), 6)

    return max(at_end, key=lambda p: (reach(p), p))
