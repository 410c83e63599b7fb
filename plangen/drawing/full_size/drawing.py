"""A drawing at full size, before it is parted over sheets: lines, crosses and words in millimetres of the work."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from plangen.drawing.lettering import Box2
from plangen.drawing.mark_geometry import extent
from plangen.drawing.marks import Fill, Group, Lettering, Mark, Stroke
from plangen.geometry.curve_windows import parts_inside, turned_curve, turned_point
from plangen.geometry.curves import Curve, Line, Vec2

CROSS = 4.0
"""Half the length of a cross's arms, mm."""


@dataclass(frozen=True)
class FullSize:
    """One outline, strip or card. ``marks`` are strokes, fills, letterings and groups of these."""

    mark: str
    """Of its member: what the sheets are ordered by."""
    title: str
    marks: tuple[Mark, ...]
    lines: tuple[Curve, ...]
    """What must be seen whole on the sheets."""
    spots: tuple[Vec2, ...] = ()
    """Middles of holes."""
    face: str = ""
    """Which face is up."""
    says: tuple[str, ...] = ()
    """How it is used."""


def cross(at: Vec2, arm: float = CROSS) -> Stroke:
    """Two hairlines that meet in a point to be pricked through."""
    x, y = at
    return Stroke((Line((x - arm, y), (x + arm, y)), Line((x, y - arm), (x, y + arm))), "narrow")


def turned_mark(mark: Mark, turn: Vec2) -> Mark:
    """Turned about 0, 0; words stay level at their place, unless they run with a line."""
    match mark:
        case Stroke() | Fill():
            return replace(mark, curves=tuple(turned_curve(c, turn) for c in mark.curves))
        case Lettering():
            return replace(mark, at=turned_point(mark.at, turn))
        case Group():
            return replace(mark, marks=tuple(turned_mark(m, turn) for m in mark.marks))
        case _:
            raise ValueError("dimensions do not stand on pages at full size")


def within(marks: Sequence[Mark], window: Box2) -> Iterator[Mark]:
    """What of the marks a window shows: lines cut off at it, words and fills only where they stand whole in it."""
    x0, y0, x1, y1 = window
    for mark in marks:
        if isinstance(mark, Group):
            yield from within(mark.marks, window)
        elif isinstance(mark, Stroke):
            parts = [parts_inside(c, window) for c in mark.curves]
            if all(p == (c,) for p, c in zip(parts, mark.curves, strict=True)):
                yield mark
            elif kept := tuple(p for part in parts for p in part):
                yield replace(mark, curves=kept, closed=False)
        else:
            a0, b0, a1, b1 = extent(mark)
            if x0 <= a0 and y0 <= b0 and a1 <= x1 and b1 <= y1:
                yield mark
