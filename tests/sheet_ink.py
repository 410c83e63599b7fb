"""The ink of a sheet as plain geometry, for checks that share no code with what laid it out."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely import LineString, Point, box
from shapely.geometry.base import BaseGeometry

from plangen.drawing.dimension_marks import expand
from plangen.drawing.draft import free_field
from plangen.drawing.mark_geometry import drawn, extent
from plangen.drawing.marks import Group, Leader, LinearDimension, Link, Mark, Sheet, Stroke
from plangen.drawing.overlaps import ink_points
from plangen.geometry.curves import Line, Vec2

SEEN = ("outline", "fine outline", "cut outline")
_APART = 4.0
"""Ink nearer than twice this belongs to one view, table or note."""


def opened(marks: Iterable[Mark], skip: tuple[str, ...] = ("frame", "title block")) -> Iterator[Mark]:
    """Marks with groups opened, dimensions kept whole, without frame and title block."""
    for mark in marks:
        if isinstance(mark, Group):
            if mark.name not in skip:
                yield from opened(mark.marks, skip)
        else:
            yield mark


@dataclass(frozen=True)
class DimensionLine:
    """The line of a dimension from foot to foot, and its extension lines."""

    text: str
    level: float
    """Place of the line across its direction."""
    way: Vec2
    low: float
    high: float
    """Where the feet stand along it."""
    extensions: tuple[tuple[Vec2, Vec2], ...]

    @classmethod
    def of(cls, dim: LinearDimension) -> DimensionLine:
        ux, uy = dim.direction
        low, high = sorted(x * ux + y * uy for x, y in dim.feet)
        straight = [
            m.curves[0] for m in expand(dim) if isinstance(m, Stroke) and isinstance(m.curves[0], Line)
        ]
        across = [
            (c.start, c.end)
            for c in straight
            if abs((c.end[0] - c.start[0]) * ux + (c.end[1] - c.start[1]) * uy) < 1e-6
            and math.dist(c.start, c.end) > 1e-6
        ]
        level = dim.line_at[1] * ux - dim.line_at[0] * uy
        return cls(dim.text, level, (ux, uy), low, high, tuple(across))

    @property
    def line(self) -> LineString:
        (ux, uy), v = self.way, self.level
        return LineString([(ux * s - uy * v, uy * s + ux * v) for s in (self.low, self.high)])

    def in_line_with(self, other: DimensionLine) -> bool:
        return abs(self.level - other.level) < 1e-6 and math.dist(self.way, other.way) < 1e-9

    def is_crossed_by(self, start: Vec2, end: Vec2) -> bool:
        """Well between its feet: a line that passes a foot is shared with it."""
        met = self.line.intersection(LineString([start, end]))
        if met.is_empty or met.geom_type != "Point":
            return False
        along = met.x * self.way[0] + met.y * self.way[1]
        return bool(self.low + 0.5 < along < self.high - 0.5)


class SheetInk:
    """What a check asks of one sheet; lengths in mm on paper."""

    def __init__(self, sheet: Sheet) -> None:
        self.sheet = sheet
        self.marks = list(opened(sheet.marks))

    @cached_property
    def dimensions(self) -> list[LinearDimension]:
        return [m for m in self.marks if isinstance(m, LinearDimension)]

    @cached_property
    def dimension_lines(self) -> list[DimensionLine]:
        return [DimensionLine.of(d) for d in self.dimensions]

    @cached_property
    def leaders(self) -> list[Leader]:
        return [m for m in self.marks if isinstance(m, Leader)]

    def strokes(self, *uses: str) -> list[LineString]:
        return [
            LineString(ink_points(m))
            for m in self.marks
            if isinstance(m, Stroke) and (not uses or m.use in uses)
        ]

    def straight(self, *uses: str) -> list[tuple[Vec2, Vec2]]:
        """The ends of the straight pieces of the strokes of these uses."""
        return [
            (c.start, c.end)
            for m in self.marks
            if isinstance(m, Stroke) and m.use in uses
            for c in m.curves
            if isinstance(c, Line)
        ]

    @cached_property
    def seen(self) -> BaseGeometry:
        """The edges that are seen."""
        return shapely.union_all(self.strokes(*SEEN))

    @cached_property
    def hidden(self) -> BaseGeometry:
        return shapely.union_all(self.strokes("hidden"))

    @cached_property
    def lines(self) -> BaseGeometry:
        """All strokes of the views, of any use."""
        return shapely.union_all(self.strokes())

    @cached_property
    def views(self) -> list[BaseGeometry]:
        """The box round each picture on the sheet."""
        return _boxes_round([m for m in self.marks if isinstance(m, Stroke) and m.use in SEEN], 1.0)

    def view_of(self, dim: LinearDimension) -> BaseGeometry:
        """The box of the picture that the feet of a dimension stand on."""
        return min(self.views, key=lambda v: sum(v.distance(Point(f)) for f in dim.feet))

    @cached_property
    def envelopes(self) -> BaseGeometry:
        """The boxes round everything that stands together, within the field."""
        written = [m for m in drawn(self.marks) if not isinstance(m, Link)]
        grown = [
            b.buffer(_APART, cap_style="square", join_style="mitre") for b in _boxes_round(written, _APART)
        ]
        return shapely.union_all(grown).intersection(self.field)

    @cached_property
    def field(self) -> BaseGeometry:
        return box(*free_field(self.sheet.paper))

    @property
    def fill(self) -> float:
        """Share of the field that is taken."""
        return float(self.envelopes.area / self.field.area)

    @property
    def largest_empty(self) -> float:
        """Share of the field of the largest upright rectangle that is empty, to 2 mm."""
        x0, y0, x1, y1 = self.field.bounds
        xs, ys = np.meshgrid(np.arange(x0 + 1, x1, 2.0), np.arange(y0 + 1, y1, 2.0))
        taken = shapely.contains_xy(self.envelopes.buffer(1e-9), xs, ys)
        return 4.0 * _largest_rectangle(~taken) / float(self.field.area)


def _boxes_round(marks: Iterable[Mark], apart: float) -> list[BaseGeometry]:
    """The boxes round marks that stand together: nearer to one another than twice ``apart``."""
    boxes = [extent(m) for m in marks]
    grown = [box(x0 - apart, y0 - apart, x1 + apart, y1 + apart) for x0, y0, x1, y1 in boxes]
    parts = shapely.get_parts(shapely.union_all(grown))
    return [p.envelope.buffer(-apart, cap_style="square", join_style="mitre") for p in parts]


def _largest_rectangle(free: np.ndarray) -> int:
    """Cells of the largest rectangle of free cells: the histogram method, row by row."""
    heights = np.zeros(free.shape[1], int)
    best = 0
    for row in free:
        heights = np.where(row, heights + 1, 0)
        stack: list[tuple[int, int]] = []
        for i, height in enumerate([*heights.tolist(), 0]):
            start = i
            while stack and stack[-1][1] >= height:
                start, tall = stack.pop()
                best = max(best, tall * (i - start))
            stack.append((start, height))
    return best


def beside_each_other(edges: list[tuple[Vec2, Vec2]]) -> Iterator[tuple[float, float]]:
    """Of each two edges that run the same way beside each other for more than 2 mm: how far apart, and how much of the
    shorter one does not."""
    for (a, b), (c, d) in itertools.combinations([e for e in edges if math.dist(*e) > 2], 2):
        long, short = math.dist(a, b), math.dist(c, d)
        ux, uy = (b[0] - a[0]) / long, (b[1] - a[1]) / long
        if abs(ux * (d[1] - c[1]) - uy * (d[0] - c[0])) / short > math.sin(math.radians(1)):
            continue
        low, high = sorted((p[0] - a[0]) * ux + (p[1] - a[1]) * uy for p in (c, d))
        shared = min(high, long) - max(low, 0.0)
        if shared > 2:
            apart = abs(ux * ((c[1] + d[1]) / 2 - a[1]) - uy * ((c[0] + d[0]) / 2 - a[0]))
            yield apart, min(long, short) - shared
