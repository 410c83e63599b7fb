"""Strokes of many members laid together: each place of the paper holds one stroke.

Lines on one straight line, and arcs of one circle or ellipse, are cut at each other's ends; where several lie
on each other the seen ones win over the hidden, edges over contours and those over smooth edges; what is left
in a row and alike becomes one stroke. In joinery half of all outlines coincide.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from plangen.geometry.curves import Arc, Curve, EllipseArc, Line
from plangen.geometry.views import Kind, Stroke

Array = np.ndarray
SAME_PLACE = 2e-5
"""Millimetres on paper at full size within which two strokes coincide."""
SAME_WAY = 1e-7
"""Radians between lines that may be one line."""
RANKS: tuple[tuple[bool, Kind], ...] = (
    (True, "edge"),
    (True, "contour"),
    (True, "smooth"),
    (False, "edge"),
    (False, "contour"),
    (False, "smooth"),
)
"""What wins over what, the first over all others."""


def merged(strokes: Iterable[Stroke]) -> tuple[Stroke, ...]:
    """Each place once: the strokes without repetitions, in an order that depends on the drawing only.

    A stroke keeps its owner where all strokes that made it had the same, else -1.
    """
    rank_of = {rank: i for i, rank in enumerate(RANKS)}
    lines: list[tuple[Line, int, int]] = []
    arcs: list[tuple[Arc | EllipseArc, int, int]] = []
    rest: list[Stroke] = []
    for stroke in strokes:
        rank = rank_of[stroke.visible, stroke.kind]
        if isinstance(stroke.curve, Line):
            lines.append((stroke.curve, rank, stroke.owner))
        elif isinstance(stroke.curve, Arc | EllipseArc):
            arcs.append((stroke.curve, rank, stroke.owner))
        else:
            rest.append(stroke)
    found = _merge_lines(lines) + _merge_arcs(arcs) + rest
    return tuple(sorted(found, key=_order))


def _order(stroke: Stroke) -> tuple[object, ...]:
    curve = stroke.curve
    middle, start, end = curve.at(0.5), curve.start, curve.end
    places = tuple(round(v, 6) + 0.0 for p in (start, end, middle) for v in p)
    return (RANKS.index((stroke.visible, stroke.kind)), type(curve).__name__, places)


@dataclass(frozen=True, eq=False)
class Spans:
    """Intervals on carriers (lines, circles, ellipses). Rows n."""

    carrier: Array
    first: Array
    last: Array
    rank: Array
    owner: Array


def _lay_together(spans: Spans, tolerance: Array) -> tuple[Array, Array, Array, Array, Array]:
    """(carrier, index of first end, index of last end, rank, owner) of the intervals that are left.

    An index below n means ``first`` of that row, from n on ``last``. ``tolerance`` is per row, in parameters.
    """
    count = len(spans.carrier)
    at = np.concatenate((spans.first, spans.last))
    carrier = np.concatenate((spans.carrier, spans.carrier))
    order = np.lexsort((at, carrier))
    at, carrier = at[order], carrier[order]
    start = order < count
    row = np.where(start, order, order - count)
    step = np.where(start, 1, -1)
    covering = np.zeros((len(order), len(RANKS)), dtype=np.int64)
    covering[np.arange(len(order)), spans.rank[row]] = step
    # All owners of the strokes on top are one where count x sum of squares = square of sum.
    number = (spans.owner + 2)[row]
    sums, squares = covering * number[:, None], covering * (number * number)[:, None]
    covering, sums, squares = (np.cumsum(table, axis=0)[:-1] for table in (covering, sums, squares))
    top = np.argmax(covering > 0, axis=1)
    pick = np.arange(len(top))
    n, total, square = covering[pick, top], sums[pick, top], squares[pick, top]
    owner = np.where(n * square == total * total, total // np.maximum(n, 1) - 2, -1)
    wide = at[1:] - at[:-1] > tolerance[row[1:]]
    index = np.flatnonzero((carrier[1:] == carrier[:-1]) & wide & (n > 0))
    if len(index) == 0:
        none = np.zeros(0, dtype=np.int64)
        return none, none, none, none, none
    top, owner, carrier = top[index], owner[index], carrier[index]
    low, high = at[index], at[index + 1]
    apart = (carrier[1:] != carrier[:-1]) | (top[1:] != top[:-1])
    apart |= low[1:] - high[:-1] > tolerance[row[index[1:]]]
    heads = np.flatnonzero(np.concatenate(([True], apart)))
    tails = np.concatenate((heads[1:] - 1, [len(index) - 1]))
    least, most = np.minimum.reduceat(owner, heads), np.maximum.reduceat(owner, heads)
    return (
        carrier[heads],
        order[index[heads]],
        order[index[tails] + 1],
        top[heads],
        np.where(least == most, least, -1),
    )


def group_near(columns: Sequence[tuple[Array, float]]) -> Array:
    """Group numbers: rows that are near each other in every column, taken one after another.

    Within a group of the earlier columns rows are sorted by the next and parted where two neighbours are
    farther apart than its tolerance.
    """
    group = np.zeros(len(columns[0][0]), dtype=np.int64)
    for values, tolerance in columns:
        order = np.lexsort((values, group))
        parted = (np.diff(values[order]) > tolerance) | (np.diff(group[order]) != 0)
        group = np.empty_like(group)
        group[order] = np.concatenate(([0], np.cumsum(parted)))
    return group


def _merge_lines(lines: Sequence[tuple[Line, int, int]]) -> list[Stroke]:
    if not lines:
        return []
    start = np.array([line.start for line, _, _ in lines])
    end = np.array([line.end for line, _, _ in lines])
    d = end - start
    size = np.hypot(d[:, 0], d[:, 1])
    angle = np.arctan2(d[:, 1], d[:, 0])
    # Directions from just below the horizontal, so that horizontal lines are all one way.
    back = (angle < -SAME_WAY) | (angle >= np.pi - SAME_WAY)
    start, end = np.where(back[:, None], end, start), np.where(back[:, None], start, end)
    angle = np.where(back, angle + np.where(angle < 0, np.pi, -np.pi), angle)
    long = np.flatnonzero(size > SAME_PLACE)
    if len(long) == 0:
        return []
    start, end, angle, size = start[long], end[long], angle[long], size[long]
    centre = (start.min(axis=0) + end.max(axis=0)) / 2
    offset = -np.sin(angle) * (start[:, 0] - centre[0]) + np.cos(angle) * (start[:, 1] - centre[1])
    carrier = group_near(((angle, SAME_WAY), (offset, SAME_PLACE)))
    # One direction a carrier, that of its longest line, so that places along it can be compared.
    order = np.lexsort((-size, carrier))
    lead = order[np.flatnonzero(np.diff(carrier[order], prepend=-1))]
    way = angle[lead][carrier]
    c, s = np.cos(way), np.sin(way)
    spans = Spans(
        carrier,
        c * start[:, 0] + s * start[:, 1],
        c * end[:, 0] + s * end[:, 1],
        np.array([rank for _, rank, _ in lines])[long],
        np.array([owner for _, _, owner in lines])[long],
    )
    _, first, last, rank, owner = _lay_together(spans, np.full(len(long), SAME_PLACE))
    points = np.concatenate((start, end))
    return [
        _stroke(Line((p[0], p[1]), (q[0], q[1])), r, o)
        for p, q, r, o in zip(
            points[first].tolist(), points[last].tolist(), rank.tolist(), owner.tolist(), strict=True
        )
    ]


def _stroke(curve: Curve, rank: int, owner: int) -> Stroke:
    visible, kind = RANKS[rank]
    return Stroke(curve, visible, kind, owner)


def _merge_arcs(arcs: Sequence[tuple[Arc | EllipseArc, int, int]]) -> list[Stroke]:
    """Arcs as parameters of their ellipse's half axes, the longer first, its angle from 0 to pi."""
    if not arcs:
        return []
    table = np.array([_canonical(curve) for curve, _, _ in arcs])
    rank = np.array([rank for _, rank, _ in arcs])
    owner = np.array([owner for _, _, owner in arcs])
    carrier = group_near(
        (
            (table[:, 0], SAME_PLACE),
            (table[:, 1], SAME_PLACE),
            (table[:, 2], SAME_PLACE),
            (table[:, 3], SAME_PLACE),
            (table[:, 4], 1e-6),
        )
    )
    first = np.mod(table[:, 5], 2 * np.pi)
    first = np.where(2 * np.pi - first < 1e-9, 0.0, first)
    last = first + table[:, 6]
    # What runs past the start of the circle is cut there.
    over = np.flatnonzero(last > 2 * np.pi + 1e-9)
    row = np.concatenate((np.arange(len(arcs)), over))
    spans = Spans(
        carrier[row],
        np.concatenate((first, np.zeros(len(over)))),
        np.concatenate((np.minimum(last, 2 * np.pi), last[over] - 2 * np.pi)),
        rank[row],
        owner[row],
    )
    tolerance = SAME_PLACE / np.maximum(table[row, 2], SAME_PLACE)
    group, low, high, rank, owner = _lay_together(spans, tolerance)
    ends = np.concatenate((spans.first, spans.last))
    lead = np.full(len(arcs), len(arcs))
    np.minimum.at(lead, carrier, np.arange(len(arcs)))
    pieces = zip(
        group.tolist(), ends[low].tolist(), ends[high].tolist(), rank.tolist(), owner.tolist(), strict=True
    )
    return [
        _stroke(_arc(table[lead[group_]], first_, last_), rank_, owner_)
        for group_, first_, last_, rank_, owner_ in _joined_at_start(list(pieces))
    ]


Piece = tuple[int, float, float, int, int]


def _joined_at_start(pieces: list[Piece]) -> list[Piece]:
    """The first and last piece of a circle joined again where they meet alike at its start."""
    first_of = {p[0]: i for i, p in reversed(list(enumerate(pieces))) if p[1] < 1e-9}
    out: dict[int, Piece] = dict(enumerate(pieces))
    for i, (group, low, high, rank, owner) in enumerate(pieces):
        j = first_of.get(group)
        if j is None or j == i or high < 2 * np.pi - 1e-9 or pieces[j][3] != rank:
            continue
        other = out.pop(j)
        out[i] = (group, low, high + other[2], rank, owner if owner == other[4] else -1)
    return list(out.values())


def _canonical(curve: Arc | EllipseArc) -> tuple[float, float, float, float, float, float, float]:
    """Centre x and y, longer and shorter half axis, angle of the longer, first parameter, sweep."""
    if isinstance(curve, Arc):
        low, high = min(curve.first, curve.last), max(curve.first, curve.last)
        return (*curve.centre, curve.radius, curve.radius, 0.0, low, high - low)
    (ax, ay), (bx, by) = curve.major, curve.minor
    low, high = curve.first, curve.last
    if np.hypot(ax, ay) < np.hypot(bx, by):
        # p' = p - pi/2 turns (a, b) into (b, -a).
        (ax, ay), (bx, by) = (bx, by), (-ax, -ay)
        low, high = low - np.pi / 2, high - np.pi / 2
    angle = float(np.arctan2(ay, ax))
    if angle < -1e-6 or angle >= np.pi - 1e-6:
        ax, ay, bx, by = -ax, -ay, -bx, -by
        angle += np.pi if angle < 0 else -np.pi
        low, high = low + np.pi, high + np.pi
    if ax * by - ay * bx < 0:
        low, high = -low, -high
    low, high = min(low, high), max(low, high)
    return (*curve.centre, float(np.hypot(ax, ay)), float(np.hypot(bx, by)), angle, low, high - low)


def _arc(row: Array, first: float, last: float) -> Arc | EllipseArc:
    x, y, long, short, angle = row[:5].tolist()
    if abs(long - short) <= SAME_PLACE / 10:
        return Arc((x, y), long, first + angle, last + angle)
    c, s = np.cos(angle), np.sin(angle)
    major, minor = (float(long * c), float(long * s)), (float(-short * s), float(short * c))
    return EllipseArc((x, y), major, minor, first, last)
