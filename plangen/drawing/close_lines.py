"""Parallel edges that would run together in print: of two nearer than 0.7 mm one is drawn.

The least distance of parallel lines is that of ISO 128-20 (from memory). What is left out is the shorter of two edges,
of two as long the one nearer the middle of the view: the outline stays.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from plangen.drawing.lettering import Box2
from plangen.drawing.marks import Stroke
from plangen.geometry.curves import Line, Vec2

LEAST_APART = 0.7
"""Between the middles of two lines, mm on paper."""
_SAME_WAY = math.radians(1.0)
_ALONGSIDE = 0.8
"""Of a short edge, that runs beside the longer one."""
_TOUCHING = 0.02
"""Millimetres; edges nearer than this are one line already."""


@dataclass(frozen=True)
class _Edge:
    index: int
    start: Vec2
    way: Vec2
    length: float
    hidden: bool
    inward: float
    """From the nearest side of the view's box, mm: how far inside the picture its middle lies."""


def without_close_lines(strokes: Sequence[Stroke], box: Box2) -> tuple[Stroke, ...]:
    """The strokes less straight edges that run along another one nearer than ``LEAST_APART``; ``box`` of the view.
    Kept first: seen before hidden, long before short, outer before inner."""
    edges = sorted(
        _edges(strokes, box), key=lambda e: (e.hidden, -round(e.length, 3), round(e.inward, 3), e.index)
    )
    kept: defaultdict[int, list[_Edge]] = defaultdict(list)
    left_out: set[int] = set()
    for edge in edges:
        turn = round(math.atan2(edge.way[1], edge.way[0]) / _SAME_WAY)
        near = (other for t in (turn - 1, turn, turn + 1) for other in kept[t % 180])
        if any(_runs_beside(edge, other) for other in near):
            left_out.add(edge.index)
        else:
            kept[turn % 180].append(edge)
    return tuple(s for i, s in enumerate(strokes) if i not in left_out)


def _edges(strokes: Sequence[Stroke], box: Box2) -> Iterator[_Edge]:
    for i, stroke in enumerate(strokes):
        if len(stroke.curves) == 1 and isinstance(line := stroke.curves[0], Line):
            a, b = line.start, line.end
            length = math.dist(a, b)
            if length > LEAST_APART:
                x, y = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
                inward = min(x - box[0], box[2] - x, y - box[1], box[3] - y)
                way = ((b[0] - a[0]) / length, (b[1] - a[1]) / length)
                yield _Edge(i, a, way, length, stroke.use == "hidden", inward)


def _runs_beside(edge: _Edge, kept: _Edge) -> bool:
    """Whether the edge lies along the kept one from end to end, too near it to be told from it: a corner of its own
    would be left open without it."""
    (ux, uy), (sx, sy) = kept.way, kept.start
    if abs(ux * edge.way[1] - uy * edge.way[0]) > math.sin(_SAME_WAY):
        return False
    along, off = [], []
    for k in (0.0, edge.length):
        dx, dy = edge.start[0] + edge.way[0] * k - sx, edge.start[1] + edge.way[1] * k - sy
        along.append(dx * ux + dy * uy)
        off.append(abs(dy * ux - dx * uy))
    low, high = sorted(along)
    shared = min(high, kept.length) - max(low, 0.0)
    apart = sum(off) / 2
    beside = max(_ALONGSIDE * edge.length, edge.length - 2 * LEAST_APART)
    return shared >= beside and _TOUCHING < apart < LEAST_APART
