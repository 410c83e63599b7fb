"""Occupied paper: what stands where on a view so far, for placing the next mark clear of it.

Strokes and fills are kept as segments, letterings as their boxes of ink, in cells of a square grid.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Literal, NamedTuple, TypeAlias

from plangen.drawing.lettering import Box2, corners
from plangen.drawing.linework import LINES
from plangen.drawing.mark_geometry import drawn
from plangen.drawing.marks import Fill, Lettering, Mark, Stroke
from plangen.drawing.overlaps import ink_points
from plangen.geometry.curves import Vec2

Role: TypeAlias = Literal["outline", "hidden", "line", "extension", "text", "fill"]
_CELL = 6.0


ALL_ROLES: frozenset[Role] = frozenset({"outline", "hidden", "line", "extension", "text", "fill"})


class Segment(NamedTuple):
    """A straight piece of ink; ``half`` is half its width, mm."""

    start: Vec2
    end: Vec2
    half: float
    role: Role


class TextBox(NamedTuple):
    """Four corners of a lettering's ink in order."""

    corners: tuple[Vec2, Vec2, Vec2, Vec2]


Ink: TypeAlias = Segment | TextBox
Strips: TypeAlias = tuple[tuple[Vec2, float, float], ...]
"""The two strips whose common part is a rectangle: a direction across, and where it begins and ends."""


@dataclass
class Occupied:
    """Grows as marks are added; nothing is taken away."""

    _cells: dict[tuple[int, int], list[Ink]] = field(default_factory=dict)

    def add(self, marks: Iterable[Mark], role: Role | None = None) -> None:
        """Takes up the ink of the marks; ``role`` for their strokes, else by the use of the line."""
        cells = self._cells
        for ink in inks(marks, role):
            for cell in _cells_of(_box(ink)):
                if cell in cells:
                    cells[cell].append(ink)
                else:
                    cells[cell] = [ink]

    def near(self, box: Box2) -> Iterator[Ink]:
        """What may meet the box, each once."""
        seen: set[int] = set()
        for cell in _cells_of(box):
            for ink in self._cells.get(cell, ()):
                if id(ink) not in seen:
                    seen.add(id(ink))
                    yield ink

    def text_is_free(self, text: Lettering, clearance: float) -> bool:
        """Whether the lettering's ink stays ``clearance`` mm off all that is there."""
        ring = corners(text)
        box = _grown(_points_box(ring), clearance)
        strips = _strips(ring)
        return not any(_meets_ring(ink, ring, strips, clearance) for ink in self.near(box))

    def ring_is_free(self, ring: tuple[Vec2, Vec2, Vec2, Vec2], roles: frozenset[Role] = ALL_ROLES) -> bool:
        """Whether nothing of the roles stands in a rectangle given by its corners in order."""
        strips = _strips(ring)
        return not any(
            _meets_ring(ink, ring, strips, 0.0)
            for ink in self.near(_points_box(ring))
            if (ink.role if isinstance(ink, Segment) else "text") in roles
        )

    def crossings(self, start: Vec2, end: Vec2, roles: frozenset[Role]) -> int:
        """How many inks of the roles a line from ``start`` to ``end`` crosses or touches."""
        box = _points_box((start, end))
        count = 0
        for ink in self.near(box):
            if isinstance(ink, TextBox):
                count += "text" in roles and _crosses_strips(start, end, _strips(ink.corners), 0.3)
            elif ink.role in roles and segments_cross(start, end, ink.start, ink.end):
                count += 1
        return count


def inks(marks: Iterable[Mark], role: Role | None = None) -> Iterator[Ink]:
    """Segments and text boxes of the marks, dimensions drawn out."""
    for mark in drawn(marks):
        match mark:
            case Lettering():
                if mark.text.strip():
                    yield TextBox(corners(mark))
            case Stroke():
                kind = role or _role(mark)
                half = LINES[mark.use].width / 2
                for p, q in itertools.pairwise(ink_points(mark)):
                    if p != q:
                        yield Segment(p, q, half, kind)
            case Fill():
                for p, q in itertools.pairwise(ink_points(mark)):
                    if p != q:
                        yield Segment(p, q, 0.0, "fill")
            case _:
                pass


def _role(stroke: Stroke) -> Role:
    if stroke.use in ("outline", "fine outline", "cut outline"):
        return "outline"
    return "hidden" if stroke.use == "hidden" else "line"


def segments_cross(a: Vec2, b: Vec2, c: Vec2, d: Vec2) -> bool:
    """Whether two segments share a point (touching counts)."""

    def side(p: Vec2, q: Vec2, r: Vec2) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    s1, s2, s3, s4 = side(a, b, c), side(a, b, d), side(c, d, a), side(c, d, b)
    if s1 * s2 > 1e-12 or s3 * s4 > 1e-12:
        return False
    return (
        max(min(a[0], b[0]), min(c[0], d[0])) <= min(max(a[0], b[0]), max(c[0], d[0])) + 1e-9
        and max(min(a[1], b[1]), min(c[1], d[1])) <= min(max(a[1], b[1]), max(c[1], d[1])) + 1e-9
    )


def _meets_ring(ink: Ink, ring: tuple[Vec2, ...], strips: Strips, clearance: float) -> bool:
    if isinstance(ink, TextBox):
        return _rings_meet(ring, ink.corners, max(clearance, 1.0))
    return _crosses_strips(ink.start, ink.end, strips, clearance + ink.half)


def _strips(ring: tuple[Vec2, ...]) -> Strips:
    u, v = _axes(ring)
    return ((u, *_span(ring, u)), (v, *_span(ring, v)))


def _axes(ring: tuple[Vec2, ...]) -> tuple[Vec2, Vec2]:
    d = math.dist(ring[0], ring[1]) or 1.0
    u = ((ring[1][0] - ring[0][0]) / d, (ring[1][1] - ring[0][1]) / d)
    return u, (-u[1], u[0])


def _span(points: Iterable[Vec2], axis: Vec2) -> tuple[float, float]:
    values = [p[0] * axis[0] + p[1] * axis[1] for p in points]
    return min(values), max(values)


def _rings_meet(a: tuple[Vec2, ...], b: tuple[Vec2, ...], clearance: float) -> bool:
    for axis in (*_axes(a), *_axes(b)):
        a0, a1 = _span(a, axis)
        b0, b1 = _span(b, axis)
        if a1 + clearance <= b0 or b1 + clearance <= a0:
            return False
    return True


def _crosses_strips(p: Vec2, q: Vec2, strips: Strips, clearance: float) -> bool:
    low, high = 0.0, 1.0
    for axis, r0, r1 in strips:
        s = p[0] * axis[0] + p[1] * axis[1]
        d = (q[0] - p[0]) * axis[0] + (q[1] - p[1]) * axis[1]
        if abs(d) < 1e-12:
            if not r0 - clearance < s < r1 + clearance:
                return False
            continue
        a, b = (r0 - clearance - s) / d, (r1 + clearance - s) / d
        if a > b:
            a, b = b, a
        low, high = max(low, a), min(high, b)
        if high <= low:
            return False
    return high - low > 1e-9


def _box(ink: Ink) -> Box2:
    if isinstance(ink, TextBox):
        return _points_box(ink.corners)
    (x0, y0), (x1, y1) = ink.start, ink.end
    return (x0 if x0 < x1 else x1, y0 if y0 < y1 else y1, x1 if x0 < x1 else x0, y1 if y0 < y1 else y0)


def _points_box(points: Iterable[Vec2]) -> Box2:
    xs, ys = zip(*points, strict=True)
    return (min(xs), min(ys), max(xs), max(ys))


def _grown(box: Box2, by: float) -> Box2:
    return (box[0] - by, box[1] - by, box[2] + by, box[3] + by)


def _cells_of(box: Box2) -> list[tuple[int, int]]:
    left, low, right, high = (math.floor(v / _CELL) for v in box)
    if left == right and low == high:
        return [(left, low)]
    return [(i, j) for i in range(left, right + 1) for j in range(low, high + 1)]
