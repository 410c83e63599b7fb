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
_OFF_TEXT = 0.3
"""Millimetres: a line that comes nearer than this to letters runs into them."""


ALL_ROLES: frozenset[Role] = frozenset({"outline", "hidden", "line", "extension", "text", "fill"})


class Segment(NamedTuple):
    """A straight piece of ink; ``half`` is half its width, mm."""

    start: Vec2
    end: Vec2
    half: float
    role: Role


Strips: TypeAlias = tuple[tuple[Vec2, float, float], ...]
"""The two strips whose common part is a rectangle: a direction across, and where it begins and ends."""


class TextBox(NamedTuple):
    """A lettering's ink: its four corners in order, and the strips between them."""

    corners: tuple[Vec2, Vec2, Vec2, Vec2]
    strips: Strips


Ink: TypeAlias = Segment | TextBox
Cell: TypeAlias = tuple[int, int]


@dataclass
class Occupied:
    """Grows as marks are added; nothing is taken away."""

    _cells: dict[Role, dict[Cell, list[Ink]]] = field(default_factory=dict)

    def add(self, marks: Iterable[Mark], role: Role | None = None) -> None:
        """Takes up the ink of the marks; ``role`` for their strokes, else by the use of the line."""
        for ink in inks(marks, role):
            cells = self._cells.setdefault("text" if isinstance(ink, TextBox) else ink.role, {})
            for cell in _cells_of(_box(ink)):
                if cell in cells:
                    cells[cell].append(ink)
                else:
                    cells[cell] = [ink]

    def copy(self) -> Occupied:
        """Another that grows by itself."""
        return Occupied(
            {role: {cell: [*here] for cell, here in cells.items()} for role, cells in self._cells.items()}
        )

    def near(self, box: Box2, roles: frozenset[Role] = ALL_ROLES) -> Iterator[Ink]:
        """What of the roles may meet the box, each once."""
        seen: set[int] = set()
        wanted = _cells_of(box)
        for role, cells in self._cells.items():
            if role not in roles:
                continue
            for cell in wanted:
                for ink in cells.get(cell, ()):
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
        near = self.near(_points_box(ring), roles)
        return not any(_meets_ring(ink, ring, strips, 0.0) for ink in near)

    def crossings(self, start: Vec2, end: Vec2, roles: frozenset[Role]) -> int:
        """How many inks of the roles a line from ``start`` to ``end`` crosses or touches."""
        wanted = _cells_along(start, end)
        crossed: set[int] = set()
        for role, cells in self._cells.items():
            if role not in roles:
                continue
            for cell in wanted:
                for ink in cells.get(cell, ()):
                    if id(ink) not in crossed and _is_crossed(ink, start, end):
                        crossed.add(id(ink))
        return len(crossed)


def _is_crossed(ink: Ink, start: Vec2, end: Vec2) -> bool:
    if isinstance(ink, TextBox):
        return _crosses_strips(start, end, ink.strips, _OFF_TEXT)
    return segments_cross(start, end, ink.start, ink.end)


def inks(marks: Iterable[Mark], role: Role | None = None) -> Iterator[Ink]:
    """Segments and text boxes of the marks, dimensions drawn out."""
    for mark in drawn(marks):
        match mark:
            case Lettering():
                if mark.text.strip():
                    ring = corners(mark)
                    yield TextBox(ring, _strips(ring))
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

    (ax, ay), (bx, by), (cx, cy), (dx, dy) = a, b, c, d
    # Their boxes first: most have nothing to do with each other.
    if (
        (ax if ax < bx else bx) > (cx if cx > dx else dx) + 1e-9
        or (cx if cx < dx else dx) > (ax if ax > bx else bx) + 1e-9
        or (ay if ay < by else by) > (cy if cy > dy else dy) + 1e-9
        or (cy if cy < dy else dy) > (ay if ay > by else by) + 1e-9
    ):
        return False
    abx, aby, cdx, cdy = bx - ax, by - ay, dx - cx, dy - cy
    s1, s2 = abx * (cy - ay) - aby * (cx - ax), abx * (dy - ay) - aby * (dx - ax)
    if s1 * s2 > 1e-12:
        return False
    s3, s4 = cdx * (ay - cy) - cdy * (ax - cx), cdx * (by - cy) - cdy * (bx - cx)
    return s3 * s4 <= 1e-12


def _meets_ring(ink: Ink, ring: tuple[Vec2, ...], strips: Strips, clearance: float) -> bool:
    if isinstance(ink, TextBox):
        return _rings_meet(ring, strips, ink, max(clearance, 1.0))
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


def _rings_meet(ring: tuple[Vec2, ...], strips: Strips, text: TextBox, clearance: float) -> bool:
    for points, others in ((text.corners, strips), (ring, text.strips)):
        for axis, low, high in others:
            first, last = _span(points, axis)
            if high + clearance <= first or last + clearance <= low:
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


def _cells_along(start: Vec2, end: Vec2) -> list[Cell]:
    """The cells that a line passes, and those it comes as near to as a line may not come to letters."""
    (x0, y0), (x1, y1) = (start, end) if start[0] <= end[0] else (end, start)
    slope = (y1 - y0) / (x1 - x0) if x1 - x0 > 1e-9 else 0.0
    found: list[Cell] = []
    for i in range(math.floor((x0 - _OFF_TEXT) / _CELL), math.floor((x1 + _OFF_TEXT) / _CELL) + 1):
        a, b = y0, y1
        if slope:
            a = y0 + slope * (max(x0, i * _CELL - _OFF_TEXT) - x0)
            b = y0 + slope * (min(x1, (i + 1) * _CELL + _OFF_TEXT) - x0)
        low, high = (a, b) if a <= b else (b, a)
        rows = range(math.floor((low - _OFF_TEXT) / _CELL), math.floor((high + _OFF_TEXT) / _CELL) + 1)
        found += [(i, j) for j in rows]
    return found


def _cells_of(box: Box2) -> list[Cell]:
    left, low, right, high = (math.floor(v / _CELL) for v in box)
    if left == right and low == high:
        return [(left, low)]
    return [(i, j) for i in range(left, right + 1) for j in range(low, high + 1)]
