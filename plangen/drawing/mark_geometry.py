"""Marks as shapes: what is drawn when dimensions are drawn out, how much room it takes, and moving it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import TypeAlias

from plangen.drawing.dimension_marks import expand
from plangen.drawing.lettering import Box2, around, corners
from plangen.drawing.linework import LINES
from plangen.drawing.marks import (
    AngularDimension,
    Fill,
    Group,
    Leader,
    Lettering,
    LinearDimension,
    Link,
    Mark,
    Stroke,
)
from plangen.geometry.cubics import to_cubics
from plangen.geometry.curves import Arc, Bezier, Curve, EllipseArc, Line, Vec2

Drawn: TypeAlias = Stroke | Fill | Lettering | Link


def drawn(marks: Iterable[Mark]) -> Iterator[Drawn]:
    """Strokes, fills, letterings and links of the marks in order, groups opened, dimensions drawn out."""
    for mark in marks:
        match mark:
            case Group():
                yield from drawn(mark.marks)
            case LinearDimension() | AngularDimension() | Leader():
                yield from drawn(expand(mark))
            case Stroke() | Fill() | Lettering() | Link():
                yield mark


def extent(mark: Mark) -> Box2:
    """Box of the ink of a mark, line widths and true glyphs counted, mm. Raises ValueError if it has none."""
    match mark:
        case Stroke():
            half = LINES[mark.use].width / 2
            x0, y0, x1, y1 = curves_box(mark.curves)
            return (x0 - half, y0 - half, x1 + half, y1 + half)
        case Fill():
            return curves_box(mark.curves)
        case Lettering():
            xs, ys = zip(*corners(mark), strict=True)
            return (min(xs), min(ys), max(xs), max(ys))
        case Link():
            return mark.area
        case _:
            return extents(drawn((mark,)))


def extents(marks: Iterable[Mark]) -> Box2:
    """Box around all marks. Raises ValueError if there is none."""
    boxes = [extent(m) for m in marks]
    if not boxes:
        raise ValueError("no marks, so no extent")
    return around(boxes)


def curves_box(curves: Iterable[Curve]) -> Box2:
    """Box of curves; of a Bezier its control points' box, which holds it."""
    points: list[Vec2] = []
    for c in curves:
        match c:
            case Line():
                points += [c.start, c.end]
            case Arc():
                points += _turning_points(
                    EllipseArc(c.centre, (c.radius, 0.0), (0.0, c.radius), c.first, c.last)
                )
            case EllipseArc():
                points += _turning_points(c)
            case Bezier():
                for cubic in to_cubics(c):
                    points += cubic
    xs, ys = zip(*points, strict=True)
    return (min(xs), min(ys), max(xs), max(ys))


def _turning_points(arc: EllipseArc) -> list[Vec2]:
    """Ends, and the points where the arc runs level or upright."""
    out = [arc.start, arc.end]
    low, high = sorted((arc.first, arc.last))
    for axis in (0, 1):
        p = math.atan2(arc.minor[axis], arc.major[axis])
        k = math.ceil((low - p) / math.pi)
        while p + k * math.pi <= high:
            out.append(EllipseArc(arc.centre, arc.major, arc.minor, p + k * math.pi, high).start)
            k += 1
    return out


def moved(mark: Mark, by: Vec2) -> Mark:
    """The mark shifted by ``by`` mm."""
    match mark:
        case Stroke() | Fill():
            return replace(mark, curves=tuple(moved_curve(c, by) for c in mark.curves))
        case Lettering():
            return replace(mark, at=_plus(mark.at, by))
        case LinearDimension():
            feet = (_plus(mark.feet[0], by), _plus(mark.feet[1], by))
            at = None if mark.text_at is None else _plus(mark.text_at, by)
            return replace(mark, feet=feet, line_at=_plus(mark.line_at, by), text_at=at)
        case AngularDimension():
            at = None if mark.text_at is None else _plus(mark.text_at, by)
            return replace(mark, apex=_plus(mark.apex, by), text_at=at)
        case Leader():
            return replace(mark, path=tuple(_plus(p, by) for p in mark.path))
        case Link():
            x0, y0, x1, y1 = mark.area
            return replace(mark, area=(x0 + by[0], y0 + by[1], x1 + by[0], y1 + by[1]))
        case Group():
            return replace(mark, marks=tuple(moved(m, by) for m in mark.marks))


def moved_curve(curve: Curve, by: Vec2) -> Curve:
    match curve:
        case Line():
            return Line(_plus(curve.start, by), _plus(curve.end, by))
        case Arc() | EllipseArc():
            return replace(curve, centre=_plus(curve.centre, by))
        case Bezier():
            return Bezier(tuple(_plus(p, by) for p in curve.points))


def _plus(p: Vec2, by: Vec2) -> Vec2:
    return (p[0] + by[0], p[1] + by[1])


def polyline(*points: Vec2) -> tuple[Line, ...]:
    """Straight curves through the points."""
    return tuple(Line(p, q) for p, q in itertools.pairwise(points))


def rectangle(box: Box2) -> tuple[Line, ...]:
    """The four sides of a box, counter-clockwise from its lower left corner."""
    x0, y0, x1, y1 = box
    return polyline((x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0))


def box_corners(box: Box2) -> tuple[Vec2, Vec2, Vec2, Vec2]:
    """Lower left, lower right, upper right, upper left."""
    x0, y0, x1, y1 = box
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
