"""Strokes of many members laid together: each place of the paper holds one stroke.

Lines on one straight line, and arcs of one circle or ellipse, are cut at each other's ends; where several lie
on each other the seen ones win over the hidden, edges over contours and those over smooth edges; what is left
in a row and alike becomes one stroke. In joinery half of all outlines coincide.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from plangen.geometry.scene import take_rows
from plangen.geometry.strokes import RANKS, ArcRows, LineRows, arc_strokes, line_strokes, read_strokes
from plangen.geometry.views import Stroke

Array = np.ndarray
SAME_PLACE = 2e-5
"""Millimetres on paper at full size within which two strokes coincide."""
SAME_WAY = 1e-7
"""Radians between lines that may be one line."""


def merged(strokes: Iterable[Stroke]) -> tuple[Stroke, ...]:
    """Each place once: the strokes without repetitions, in an order that depends on the drawing only.

    A stroke keeps its owner where all strokes that made it had the same, else -1.
    """
    lines, arcs, rest = read_strokes(strokes)
    return (*line_strokes(merge_lines(lines)), *arc_strokes(merge_arcs(arcs)), *rest)


def _order(rank: Array, *columns: Array) -> Array:
    """The order of strokes: by rank, then by places rounded to 1e-6."""
    return np.lexsort((*(np.rint(column * 1e6) for column in reversed(columns)), rank))


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


def merge_lines(rows: LineRows) -> LineRows:
    """Lines on one straight line laid together; those too short to see are dropped."""
    d = rows.end - rows.start
    long = np.flatnonzero(np.hypot(d[:, 0], d[:, 1]) > SAME_PLACE)
    rows, d = take_rows(rows, long), d[long]
    if len(long) == 0:
        return rows
    angle = np.arctan2(d[:, 1], d[:, 0])
    # Directions from just below the horizontal, so that horizontal lines are all one way.
    back = (angle < -SAME_WAY) | (angle >= np.pi - SAME_WAY)
    start = np.where(back[:, None], rows.end, rows.start)
    end = np.where(back[:, None], rows.start, rows.end)
    angle = np.where(back, angle + np.where(angle < 0, np.pi, -np.pi), angle)
    carrier = _line_carriers(start, end, angle)
    # One direction a carrier, that of its longest line, so that places along it can be compared.
    order = np.lexsort((-np.hypot(d[:, 0], d[:, 1]), carrier))
    lead = order[np.flatnonzero(np.diff(carrier[order], prepend=-1))]
    c, s = np.cos(angle[lead])[carrier], np.sin(angle[lead])[carrier]
    spans = Spans(
        carrier, c * start[:, 0] + s * start[:, 1], c * end[:, 0] + s * end[:, 1], rows.rank, rows.owner
    )
    _, first, last, rank, owner = _lay_together(spans, np.full(len(long), SAME_PLACE))
    points = np.concatenate((start, end))
    found = LineRows(points[first], points[last], rank, owner)
    return take_rows(found, _order(rank, *found.start.T, *found.end.T))


def _line_carriers(start: Array, end: Array, angle: Array) -> Array:
    """Equal numbers for lines on one straight line."""
    low, high = np.minimum(start, end).min(axis=0), np.maximum(start, end).max(axis=0)
    from_middle = start - (low + high) / 2
    offset = np.cos(angle) * from_middle[:, 1] - np.sin(angle) * from_middle[:, 0]
    return group_near(((angle, SAME_WAY), (offset, SAME_PLACE)))


def merge_arcs(rows: ArcRows) -> ArcRows:
    """Arcs of one circle or ellipse laid together."""
    count = len(rows.first)
    if count == 0:
        return rows
    tolerances = (SAME_PLACE, SAME_PLACE, SAME_PLACE, SAME_PLACE, 1e-6)
    carrier = group_near([(rows.shape[:, i], near) for i, near in enumerate(tolerances)])
    first = np.where(2 * np.pi - rows.first < 1e-9, 0.0, rows.first)
    last = first + rows.sweep
    # What runs past the start of the circle is cut there.
    over = np.flatnonzero(last > 2 * np.pi + 1e-9)
    row = np.concatenate((np.arange(count), over))
    spans = Spans(
        carrier[row],
        np.concatenate((first, np.zeros(len(over)))),
        np.concatenate((np.minimum(last, 2 * np.pi), last[over] - 2 * np.pi)),
        rows.rank[row],
        rows.owner[row],
    )
    tolerance = SAME_PLACE / np.maximum(rows.shape[row, 2], SAME_PLACE)
    group, low, high, rank, owner = _lay_together(spans, tolerance)
    ends = np.concatenate((spans.first, spans.last))
    columns = (group, ends[low], ends[high], rank, owner)
    pieces = _joined_at_start(list(zip(*(x.tolist() for x in columns), strict=True)))
    group, rank, owner = (np.array([piece[i] for piece in pieces], dtype=np.int64) for i in (0, 3, 4))
    begin, stop = (np.array([piece[i] for piece in pieces], dtype=float) for i in (1, 2))
    lead = np.full(count, count)
    np.minimum.at(lead, carrier, np.arange(count))
    found = ArcRows(rows.shape[lead[group]], begin, stop - begin, rank, owner)
    return take_rows(found, _order(rank, *found.shape.T, begin))


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
