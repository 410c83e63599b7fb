"""Where lettering stands on other ink: what a sheet must not have, by true extents of glyphs and lines."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from dataclasses import dataclass

from plangen.drawing.lettering import Box2, corners, set_text, turn_of
from plangen.drawing.linework import LINES
from plangen.drawing.mark_geometry import drawn, extent
from plangen.drawing.marks import Fill, Lettering, Mark, Stroke
from plangen.geometry.cubics import to_cubics
from plangen.geometry.curves import Line, Vec2


@dataclass(frozen=True)
class Overlap:
    """A lettering and the other mark that its box of ink meets."""

    text: Lettering
    other: Lettering | Stroke | Fill


def overlaps(marks: Iterable[Mark], clearance: float = 0.0) -> tuple[Overlap, ...]:
    """Every lettering that meets another one, a stroke or a fill, or comes nearer than ``clearance`` mm."""
    ink = [m for m in drawn(marks) if not isinstance(m, Lettering) or m.text.strip()]
    texts = [m for m in ink if isinstance(m, Lettering)]
    boxes = {id(m): extent(m) for m in ink}
    found: list[Overlap] = []
    for i, text in enumerate(texts):
        near = _grown(boxes[id(text)], clearance)
        for other in texts[i + 1 :]:
            if _meet(near, boxes[id(other)]) and _letterings_meet(text, other, clearance):
                found.append(Overlap(text, other))
        for mark in ink:
            if (
                isinstance(mark, Stroke | Fill)
                and _meet(near, boxes[id(mark)])
                and _ink_meets(text, mark, clearance)
            ):
                found.append(Overlap(text, mark))
    return tuple(found)


def _grown(box: Box2, by: float) -> Box2:
    return (box[0] - by, box[1] - by, box[2] + by, box[3] + by)


def _meet(a: Box2, b: Box2) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _letterings_meet(a: Lettering, b: Lettering, clearance: float) -> bool:
    """Turned rectangles meet unless a side of one has the other wholly beyond it (separating axes)."""
    for first, second in ((a, b), (b, a)):
        c, s = turn_of(first.rotation)
        box = _grown(set_text(first).box, clearance)
        points = [_straightened(p, first.at, c, s) for p in corners(second)]
        xs, ys = zip(*points, strict=True)
        if max(xs) <= box[0] or min(xs) >= box[2] or max(ys) <= box[1] or min(ys) >= box[3]:
            return False
    return True


def _straightened(p: Vec2, about: Vec2, c: float, s: float) -> Vec2:
    """The point turned back about a lettering's ``at`` by its rotation."""
    dx, dy = p[0] - about[0], p[1] - about[1]
    return (about[0] + dx * c + dy * s, about[1] - dx * s + dy * c)


def _ink_meets(text: Lettering, mark: Stroke | Fill, clearance: float) -> bool:
    half = LINES[mark.use].width / 2 if isinstance(mark, Stroke) else 0.0
    box = _grown(set_text(text).box, half + clearance)
    c, s = turn_of(text.rotation)
    points = [_straightened(p, text.at, c, s) for p in ink_points(mark)]
    if isinstance(mark, Fill) and _inside(((box[0] + box[2]) / 2, (box[1] + box[3]) / 2), points):
        return True
    return any(_crosses(p, q, box) for p, q in itertools.pairwise(points))


_EIGHTHS = tuple(
    ((1 - s) ** 3, 3 * s * (1 - s) ** 2, 3 * s * s * (1 - s), s**3) for s in (i / 8 for i in range(1, 8))
)


def ink_points(mark: Stroke | Fill) -> list[Vec2]:
    """Points along the curves, a chord every eighth of a cubic: close enough for ink."""
    points: list[Vec2] = []
    for curve in mark.curves:
        if isinstance(curve, Line):
            points += [curve.start, curve.end]
        else:
            for cubic in to_cubics(curve, 0.01):
                points += [cubic[0], *_chord_ends(cubic), cubic[3]]
    if isinstance(mark, Fill) or mark.closed:
        points.append(points[0])
    return points


def _chord_ends(cubic: tuple[Vec2, Vec2, Vec2, Vec2]) -> list[Vec2]:
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = cubic
    return [(ax * i + bx * j + cx * k + dx * m, ay * i + by * j + cy * k + dy * m) for i, j, k, m in _EIGHTHS]


def _crosses(p: Vec2, q: Vec2, box: Box2) -> bool:
    """Whether a segment has a point strictly inside the box (Liang and Barsky's clipping)."""
    low, high = 0.0, 1.0
    for k in (0, 1):
        d = q[k] - p[k]
        if abs(d) < 1e-12:
            if not box[k] < p[k] < box[k + 2]:
                return False
            continue
        a, b = sorted(((box[k] - p[k]) / d, (box[k + 2] - p[k]) / d))
        low, high = max(low, a), min(high, b)
    return high - low > 1e-12


def _inside(p: Vec2, ring: list[Vec2]) -> bool:
    """Even-odd rule."""
    odd = False
    for a, b in itertools.pairwise(ring):
        if (a[1] > p[1]) != (b[1] > p[1]):
            x = a[0] + (p[1] - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
            odd ^= x > p[0]
    return odd
