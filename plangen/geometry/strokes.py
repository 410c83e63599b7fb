"""Strokes of a view as arrays, and to and from ``Stroke`` objects.

A stroke's *rank* is its place in RANKS: seen before hidden, edges before contours before smooth edges.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from plangen.geometry.curves import Arc, Curve, EllipseArc, Line
from plangen.geometry.views import Kind, Stroke

Array = np.ndarray
RANKS: tuple[tuple[bool, Kind], ...] = (
    (True, "edge"),
    (True, "contour"),
    (True, "smooth"),
    (False, "edge"),
    (False, "contour"),
    (False, "smooth"),
)
"""What wins over what, the first over all others."""


@dataclass(frozen=True, eq=False)
class LineRows:
    """Straight strokes: ``start`` and ``end`` (n, 2)."""

    start: Array
    end: Array
    rank: Array
    owner: Array


@dataclass(frozen=True, eq=False)
class ArcRows:
    """Arcs of circles and ellipses, counter-clockwise.

    ``shape`` (n, 5) is centre x and y, longer and shorter half axis, angle of the longer (from -1e-6 to pi; of a
    circle 0). A stroke runs from parameter ``first`` over ``sweep`` (> 0).
    """

    shape: Array
    first: Array
    sweep: Array
    rank: Array
    owner: Array


def arc_shapes(
    centre: Array, major: Array, minor: Array, first: Array, last: Array
) -> tuple[Array, Array, Array]:
    """(shape, first, sweep) as in ArcRows of ``centre + major cos p + minor sin p``, p from first to last.

    ``major`` and ``minor`` (n, 2) are any two conjugate half diameters.
    """
    shift, long, short = _half_axes(major, minor)
    # With p' = p - pi/2 the half axes a, b become b, -a.
    one, two = np.hypot(long[:, 0], long[:, 1]), np.hypot(short[:, 0], short[:, 1])
    swap = (one < two)[:, None]
    long, short = np.where(swap, short, long), np.where(swap, -long, short)
    shift = shift + np.where(swap[:, 0], np.pi / 2, 0.0)
    angle = np.arctan2(long[:, 1], long[:, 0])
    back = (angle < -1e-6) | (angle >= np.pi - 1e-6)
    angle = np.where(back, angle + np.where(angle < 0, np.pi, -np.pi), angle)
    shift = shift + np.where(back, np.pi, 0.0)
    turn = np.where(long[:, 0] * short[:, 1] - long[:, 1] * short[:, 0] < 0, -1.0, 1.0)
    first, last = turn * (first - shift), turn * (last - shift)
    low = np.minimum(first, last)
    most, least = np.maximum(one, two), np.minimum(one, two)
    circle = most - least <= 1e-9 * most
    low = np.where(circle, low + angle, low)
    angle = np.where(circle, 0.0, angle)
    return np.column_stack((centre, most, least, angle)), np.mod(low, 2 * np.pi), np.abs(last - first)


def _half_axes(major: Array, minor: Array) -> tuple[Array, Array, Array]:
    """(shift, half axis, half axis square to it) of an ellipse given by two conjugate half diameters.

    The parameter for the half axes is the given one less ``shift``.
    """
    across = major[:, 0] * minor[:, 0] + major[:, 1] * minor[:, 1]
    one = major[:, 0] ** 2 + major[:, 1] ** 2
    two = minor[:, 0] ** 2 + minor[:, 1] ** 2
    plain = np.abs(across) <= 1e-12 * (one + two)
    shift = np.where(plain, 0.0, np.arctan2(2 * across, one - two) / 2)
    c, s = np.cos(shift)[:, None], np.sin(shift)[:, None]
    return shift, major * c + minor * s, minor * c - major * s


def line_strokes(rows: LineRows) -> list[Stroke]:
    columns = zip(*(x.tolist() for x in (rows.start, rows.end, rows.rank, rows.owner)), strict=True)
    return [_stroke(Line((a[0], a[1]), (b[0], b[1])), rank, owner) for a, b, rank, owner in columns]


def arc_strokes(rows: ArcRows) -> list[Stroke]:
    table = (rows.shape, rows.first, rows.sweep, rows.rank, rows.owner)
    columns = zip(*(x.tolist() for x in table), strict=True)
    return [
        _stroke(_arc(shape, first, first + sweep), rank, owner)
        for shape, first, sweep, rank, owner in columns
    ]


def _stroke(curve: Curve, rank: int, owner: int) -> Stroke:
    visible, kind = RANKS[rank]
    return Stroke(curve, visible, kind, owner)


def _arc(shape: Sequence[float], first: float, last: float) -> Arc | EllipseArc:
    x, y, long, short, angle = shape
    if long - short <= 1e-9 * long:
        return Arc((x, y), long, first, last)
    c, s = math.cos(angle), math.sin(angle)
    return EllipseArc((x, y), (long * c, long * s), (-short * s, short * c), first, last)


def read_strokes(strokes: Iterable[Stroke]) -> tuple[LineRows, ArcRows, list[Stroke]]:
    """Strokes as arrays; those of other curves come back as they are."""
    lines: list[tuple[Line, Stroke]] = []
    arcs: list[tuple[float, ...]] = []
    bent: list[Stroke] = []
    rest: list[Stroke] = []
    for stroke in strokes:
        curve = stroke.curve
        if isinstance(curve, Line):
            lines.append((curve, stroke))
        elif isinstance(curve, Arc):
            arcs.append((*curve.centre, curve.radius, 0.0, 0.0, curve.radius, curve.first, curve.last))
            bent.append(stroke)
        elif isinstance(curve, EllipseArc):
            arcs.append((*curve.centre, *curve.major, *curve.minor, curve.first, curve.last))
            bent.append(stroke)
        else:
            rest.append(stroke)
    start = np.array([curve.start for curve, _ in lines], dtype=float).reshape(-1, 2)
    end = np.array([curve.end for curve, _ in lines], dtype=float).reshape(-1, 2)
    table = np.array(arcs, dtype=float).reshape(-1, 8)
    shapes = arc_shapes(table[:, :2], table[:, 2:4], table[:, 4:6], table[:, 6], table[:, 7])
    return (
        LineRows(start, end, *_ranks_and_owners([stroke for _, stroke in lines])),
        ArcRows(*shapes, *_ranks_and_owners(bent)),
        rest,
    )


def _ranks_and_owners(strokes: Sequence[Stroke]) -> tuple[Array, Array]:
    rank_of = {rank: i for i, rank in enumerate(RANKS)}
    ranks = [rank_of[stroke.visible, stroke.kind] for stroke in strokes]
    return np.array(ranks, dtype=np.int64), np.array([stroke.owner for stroke in strokes], dtype=np.int64)
