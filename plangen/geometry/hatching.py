"""Hatching: parallel lines over a region bounded by loops, kept off rectangles."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence

from plangen.geometry.curves import Curve, Line, Vec2
from plangen.geometry.slices import Loop

_STEPS = 24
"""Pieces that a round curve is taken in: a hatch line ends within some hundredths of a millimetre of it."""
_SHORTEST = 0.6

Box2 = tuple[float, float, float, float]


def loop_points(loop: Loop) -> list[Vec2]:
    """Points round a loop, round curves in short pieces."""
    return [p for curve in loop.curves for p in _points(curve)]


def _points(curve: Curve) -> list[Vec2]:
    if isinstance(curve, Line):
        return [curve.start]
    return [curve.at(i / _STEPS) for i in range(_STEPS)]


def hatch(
    rings: Sequence[Sequence[Vec2]], degrees: float, gaps: Sequence[float], off: Iterable[Box2] = ()
) -> list[Line]:
    """Lines at an angle over what the rings bound (even-odd), at the ``gaps`` from line to line, over and over;
    none within a box of ``off``, none shorter than 0.6. The first line's place depends on the rings alone."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    turned = [[(x * c + y * s, y * c - x * s) for x, y in ring] for ring in rings]
    levels = [v for ring in turned for _, v in ring]
    keep_off = [[(x * c + y * s, y * c - x * s) for x, y in _corners(box)] for box in off]
    found: list[Line] = []
    level, low = min(levels), max(levels)
    for gap in itertools.cycle(gaps):
        level += gap
        if level >= low:
            return found
        inside = _spans(turned, level)
        for corners in keep_off:
            inside = _without(inside, _spans([corners], level))
        for a, b in inside:
            if b - a >= _SHORTEST:
                found.append(
                    Line((a * c - level * s, a * s + level * c), (b * c - level * s, b * s + level * c))
                )
    return found


def in_bands(line: Line, degrees: float, start: float, gap: float) -> list[Line]:
    """The parts of a line within every second of the bands, ``gap`` wide, that run at an angle from the level
    ``start`` up."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    first, last = (p[1] * c - p[0] * s - start for p in (line.start, line.end))
    if abs(last - first) < 1e-9:
        return []
    low, high = sorted((first, last))
    edges = [low, *(k * gap for k in range(math.floor(low / gap) + 1, math.ceil(high / gap))), high]
    return [
        Line(*(line.at((v - first) / (last - first)) for v in (a, b)))
        for a, b in itertools.pairwise(edges)
        if math.floor((a + b) / 2 / gap) % 2 == 1
    ]


def lowest(rings: Sequence[Sequence[Vec2]], degrees: float) -> float:
    """The level, across lines at an angle, at which the first of them stands before its gap."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return min(y * c - x * s for ring in rings for x, y in ring)


def _corners(box: Box2) -> list[Vec2]:
    x0, y0, x1, y1 = box
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def _spans(rings: Sequence[Sequence[Vec2]], level: float) -> list[tuple[float, float]]:
    """From where to where a level line is inside the rings."""
    crossed: list[float] = []
    for ring in rings:
        for (ax, ay), (bx, by) in zip(ring, [*ring[1:], ring[0]], strict=True):
            if (ay <= level) != (by <= level):
                crossed.append(ax + (bx - ax) * (level - ay) / (by - ay))
    crossed.sort()
    return list(zip(crossed[::2], crossed[1::2], strict=False))


def _without(
    spans: Sequence[tuple[float, float]], taken: Sequence[tuple[float, float]]
) -> list[tuple[float, float]]:
    left = list(spans)
    for a, b in taken:
        left = [
            piece
            for low, high in left
            for piece in ((low, min(high, a)), (max(low, b), high))
            if piece[1] > piece[0]
        ]
    return left


def is_inside(rings: Sequence[Sequence[Vec2]], p: Vec2) -> bool:
    """Whether a point lies within what the rings bound."""
    return any(a < p[0] < b for a, b in _spans(rings, p[1]))


def off_rings(rings: Sequence[Sequence[Vec2]], p: Vec2) -> float:
    """Distance of a point from the nearest side of the rings."""
    return min(_off(p, a, b) for ring in rings for a, b in zip(ring, [*ring[1:], ring[0]], strict=True))


def _off(p: Vec2, a: Vec2, b: Vec2) -> float:
    dx, dy = b[0] - a[0], b[1] - a[1]
    size = dx * dx + dy * dy
    s = 0.0 if size == 0 else max(0.0, min(1.0, ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / size))
    return math.hypot(p[0] - a[0] - s * dx, p[1] - a[1] - s * dy)
