"""Which parts of straight lines and conic arcs are hidden by convex pieces, as exact parameter intervals.

All coordinates are those of the view: x and y on paper, z toward the eye. A piece that faces the eye hides a
point where the point lies inside all of the piece's sides and behind its plane. Along a line every one of
these conditions is linear in the parameter; along a conic it is ``a + b cos p + c sin p > 0``, and for a disc
a trigonometric polynomial of degree two: ends of the hidden intervals are the roots, never samples.

Distances from a plane are taken square to it, so that faces in one plane do not hide each other's edges
however they lean. An interval counts only if it goes behind the plane by more than the tolerance somewhere,
but it begins exactly where the plane is crossed.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import shapely

from plangen.geometry.rows import cover, dot_rows, expand_ranges, join_runs, solve_double_trig, solve_trig
from plangen.geometry.scene import take_rows
from plangen.geometry.screens import LATERAL, Blinds, DiscScreen, Screen

Array = np.ndarray
CHUNK = 400_000
"""Pairs taken at once."""
FIRST_ROUND = 64
"""Faces tried in the first round; each round takes four times as many as the one before."""


@dataclass(frozen=True, eq=False)
class Segments:
    """Straight things to test: ``start`` + t (``end`` - ``start``), t from 0 to 1. Rows n."""

    start: Array
    end: Array
    holes: Array
    """(n, 2): numbers of coincident round surfaces whose holes' walls cannot hide the row."""
    posts: Array


@dataclass(frozen=True, eq=False)
class Arcs:
    """Conic things to test: centre + major cos p + minor sin p, p from ``first`` to ``last``."""

    centre: Array
    major: Array
    minor: Array
    first: Array
    last: Array
    holes: Array
    posts: Array


@dataclass(frozen=True, eq=False)
class Boxes:
    """Boxes of things: ``low`` (n, 3), ``high`` (n, 2); the depth that matters is the farthest."""

    low: Array
    high: Array


def hidden_intervals(things: Segments | Arcs, blinds: Blinds, gaps: Array) -> tuple[Array, Array, Array]:
    """(row, first, last) of all hidden stretches, sorted; apart by more than ``gaps[row]``.

    The largest and nearest faces come first, in growing numbers; what they hide whole is not tested again.
    """
    boxes = _segment_boxes(things) if isinstance(things, Segments) else _arc_boxes(things)
    low, high = _whole(things)
    face_low, face_high, present = _face_boxes(blinds)
    faces = _by_worth(face_low, face_high, np.flatnonzero(present))
    alive = np.arange(len(low))
    no_rows, no_ends = np.zeros(0, dtype=np.int64), np.zeros(0)
    open_ = closed = (no_rows, no_ends, no_ends)
    begin, count = 0, FIRST_ROUND
    while begin < len(faces) and len(alive):
        part = np.sort(faces[begin : begin + count])
        begin, count = begin + count, 4 * count
        rows, chosen = _overlapping(boxes, alive, face_low, face_high, part)
        if isinstance(things, Segments):
            met = _meets_box(things.start[rows], things.end[rows], face_low[chosen], face_high[chosen])
            rows, chosen = rows[met], chosen[met]
        open_ = _joined(open_, _hide(things, blinds, boxes, rows, chosen))
        open_ = join_runs(*cover(*open_, np.zeros(len(open_[0]), dtype=bool)), gaps)
        row, first, last = open_
        whole = (first <= low[row] + gaps[row]) & (last >= high[row] - gaps[row])
        closed = _joined(closed, (row[whole], first[whole], last[whole]))
        open_ = (row[~whole], first[~whole], last[~whole])
        alive = np.setdiff1d(alive, row[whole], assume_unique=True)
    row, first, last = _joined(open_, closed)
    order = np.lexsort((first, row))
    return row[order], first[order], last[order]


Intervals: TypeAlias = tuple[Array, Array, Array]


def _joined(one: Intervals, two: Intervals) -> Intervals:
    row, first, last = (np.concatenate(pair) for pair in zip(one, two, strict=True))
    return row, first, last


def _by_worth(low: Array, high: Array, faces: Array) -> Array:
    """Faces in the order of their size on paper, by powers of four, the nearer first among like."""
    area = np.prod(high[faces, :2] - low[faces], axis=1)
    size = np.floor(np.log2(np.maximum(area, 1e-6)).round(6) / 2)
    return faces[np.lexsort((-high[faces, 2].round(6), -size))]


def _whole(things: Segments | Arcs) -> tuple[Array, Array]:
    if isinstance(things, Segments):
        return np.zeros(len(things.start)), np.ones(len(things.start))
    return things.first, things.last


def _segment_boxes(things: Segments) -> Boxes:
    return Boxes(np.minimum(things.start, things.end), np.maximum(things.start, things.end)[:, :2])


def _arc_boxes(things: Arcs) -> Boxes:
    """Boxes of arcs by their ends and the points where a coordinate turns back."""
    turns = np.arctan2(things.minor, things.major)
    turns = np.concatenate((turns, turns + np.pi), axis=1)
    first, last = things.first[:, None], things.last[:, None]
    turns = first + np.mod(turns - first, 2 * np.pi)
    p = np.concatenate((first, last, np.where(turns < last, turns, first)), axis=1)[..., None]
    x = things.centre[:, None] + things.major[:, None] * np.cos(p) + things.minor[:, None] * np.sin(p)
    return Boxes(x.min(axis=1), x.max(axis=1)[:, :2])


def _face_boxes(blinds: Blinds) -> tuple[Array, Array, Array]:
    low = np.full((blinds.faces, 2), np.inf)
    high = np.full((blinds.faces, 3), -np.inf)
    tables: tuple[Screen | DiscScreen, ...] = (*blinds.screens, blinds.discs)
    for rows in tables:
        if len(rows.face) == 0:
            continue
        heads = np.flatnonzero(np.diff(rows.face, prepend=-1))
        face = rows.face[heads]
        low[face] = np.minimum(low[face], np.minimum.reduceat(rows.low, heads))
        high[face] = np.maximum(high[face], np.maximum.reduceat(rows.high, heads))
    return low, high, np.isfinite(low[:, 0])


def _overlapping(boxes: Boxes, alive: Array, low: Array, high: Array, faces: Array) -> tuple[Array, Array]:
    """Pairs (row of a thing, face) whose boxes meet on paper and where the face reaches nearer to the eye."""
    tree = shapely.STRtree(shapely.box(low[faces, 0], low[faces, 1], high[faces, 0], high[faces, 1]))
    at = shapely.box(boxes.low[alive, 0], boxes.low[alive, 1], boxes.high[alive, 0], boxes.high[alive, 1])
    row, face = tree.query(at)
    row, face = alive[row], faces[face]
    keep = high[face, 2] > boxes.low[row, 2]
    return row[keep], face[keep]


def _meets_box(start: Array, end: Array, low: Array, high: Array) -> Array:
    """Whether a segment passes through a box on paper, and there lies deeper than its top."""
    d = end - start
    step = np.where(np.abs(d[:, :2]) < 1e-12, 1e-12, d[:, :2])
    one, two = (low - LATERAL - start[:, :2]) / step, (high[:, :2] + LATERAL - start[:, :2]) / step
    near, far = np.minimum(one, two), np.maximum(one, two)
    first = np.maximum(np.maximum(near[:, 0], near[:, 1]), 0.0)
    last = np.minimum(np.minimum(far[:, 0], far[:, 1]), 1.0)
    deepest = start[:, 2] + np.minimum(d[:, 2] * first, d[:, 2] * last)
    return (last >= first) & (deepest < high[:, 2])


def _hide(
    things: Segments | Arcs, blinds: Blinds, boxes: Boxes, rows: Array, faces: Array
) -> tuple[Array, Array, Array]:
    """Hidden stretches of things by whole faces, openings taken out, for the given pairs."""
    parts: list[tuple[Array, Array, Array, Array, Array]] = []
    screens: tuple[Screen | DiscScreen, ...] = (*blinds.screens, blinds.discs)
    for screen in screens:
        parts += _hide_by(things, screen, boxes, rows, faces)
    if not parts:
        return np.zeros(0, dtype=np.int64), np.zeros(0), np.zeros(0)
    row, face, first, last, opening = (np.concatenate(columns) for columns in zip(*parts, strict=True))
    if not opening.any():
        return row, first, last
    key = row * blinds.faces + face
    holed = np.isin(key, key[opening])
    keys, inner_first, inner_last = cover(key[holed], first[holed], last[holed], opening[holed])
    plain = ~holed
    return (
        np.concatenate((row[plain], keys // blinds.faces)),
        np.concatenate((first[plain], inner_first)),
        np.concatenate((last[plain], inner_last)),
    )


def _hide_by(
    things: Segments | Arcs, screen: Screen | DiscScreen, boxes: Boxes, rows: Array, faces: Array
) -> Iterator[tuple[Array, Array, Array, Array, Array]]:
    """(row, face, first, last, opening) for all pairs of a thing and a piece of a face, in chunks."""
    if len(screen.face) == 0:
        return
    starts = np.searchsorted(screen.face, faces)
    counts = np.searchsorted(screen.face, faces, side="right") - starts
    for span in _chunks(counts):
        pair, piece = expand_ranges(starts[span], counts[span])
        row = rows[span][pair]
        keep = (
            (screen.low[piece, 0] <= boxes.high[row, 0])
            & (screen.high[piece, 0] >= boxes.low[row, 0])
            & (screen.low[piece, 1] <= boxes.high[row, 1])
            & (screen.high[piece, 1] >= boxes.low[row, 1])
            & (screen.high[piece, 2] > boxes.low[row, 2])
        )
        row, piece = row[keep], piece[keep]
        own = _is_own(things, screen, row, piece)
        row, piece = row[~own], piece[~own]
        if len(row) == 0:
            continue
        index, first, last = _stretches(things, screen, row, piece)
        row, piece = row[index], piece[index]
        opening = screen.opening[piece] if isinstance(screen, DiscScreen) else np.zeros(len(row), dtype=bool)
        yield row, screen.face[piece], first, last, opening


def _chunks(counts: Array) -> Iterator[slice]:
    """Slices of ``counts`` that each sum to about CHUNK at most."""
    total = np.cumsum(counts)
    begin, done = 0, 0
    while begin < len(counts):
        stop = max(begin + 1, int(np.searchsorted(total, done + CHUNK, side="right")))
        yield slice(begin, stop)
        begin, done = stop, int(total[stop - 1])


def _is_own(things: Segments | Arcs, screen: Screen | DiscScreen, row: Array, piece: Array) -> Array:
    """The thing lies on the piece's round surface in such a way that this surface cannot hide it."""
    same, hole = screen.same[piece][:, None], screen.hole[piece][:, None]
    ids = np.where(hole, things.holes[row], things.posts[row])
    return ((ids == same) & (same >= 0)).any(axis=1)


def _stretches(
    things: Segments | Arcs, screen: Screen | DiscScreen, row: Array, piece: Array
) -> tuple[Array, Array, Array]:
    if isinstance(things, Segments):
        start, end = things.start[row], things.end[row]
        if isinstance(screen, Screen):
            return _line_behind_polygon(start, end, screen, piece)
        return _line_behind_disc(start, end, screen, piece)
    return _arc_behind(take_rows(things, row), screen, piece)


def _clip(at_start: Array, at_end: Array) -> tuple[Array, Array]:
    """First and last t of 0 ... 1 where all linear conditions (n, j), given at both ends, are positive."""
    change = at_end - at_start
    with np.errstate(divide="ignore", invalid="ignore"):
        t = -at_start / change
    first = np.where(change > 0, t, -np.inf).max(axis=1)
    last = np.where(change < 0, t, np.inf).min(axis=1)
    never = ((change == 0) & (at_start < 0)).any(axis=1)
    return np.where(never, 2.0, np.maximum(first, 0.0)), np.minimum(last, 1.0)


def _depths(plane: Array, x: Array) -> Array:
    return plane[:, 3] - dot_rows(plane[:, :3], x)


def _line_behind_polygon(
    start: Array, end: Array, screen: Screen, piece: Array
) -> tuple[Array, Array, Array]:
    sides, plane = screen.sides[piece], screen.plane[piece]
    at_start = sides[..., 0] * start[:, None, 0] + sides[..., 1] * start[:, None, 1] + sides[..., 2]
    at_end = sides[..., 0] * end[:, None, 0] + sides[..., 1] * end[:, None, 1] + sides[..., 2]
    deep_start, deep_end = _depths(plane, start), _depths(plane, end)
    first, last = _clip(
        np.concatenate((at_start, deep_start[:, None]), axis=1),
        np.concatenate((at_end, deep_end[:, None]), axis=1),
    )
    index = np.flatnonzero(last > first)
    first, last = first[index], last[index]
    deep_start, deep_end = deep_start[index], deep_end[index]
    deepest = np.maximum(
        deep_start + (deep_end - deep_start) * first, deep_start + (deep_end - deep_start) * last
    )
    middle = ((first + last) / 2)[:, None]
    inside = at_start[index] + (at_end[index] - at_start[index]) * middle
    good = (deepest > screen.depth[piece[index]]) & (inside >= screen.limits[piece[index]]).all(axis=1)
    return index[good], first[good], last[good]


def _line_behind_disc(
    start: Array, end: Array, screen: DiscScreen, piece: Array
) -> tuple[Array, Array, Array]:
    inverse, plane, opening = screen.inverse[piece], screen.plane[piece], screen.opening[piece]
    slack = np.where(opening, screen.slack[piece], -screen.slack[piece])
    a = dot_rows(inverse, start[:, None]) + inverse[..., 3]
    b = dot_rows(inverse, end[:, None]) + inverse[..., 3]
    d = b - a
    # |a + t d|^2 = 1
    square = d[:, 0] ** 2 + d[:, 1] ** 2
    half = a[:, 0] * d[:, 0] + a[:, 1] * d[:, 1]
    rest = a[:, 0] ** 2 + a[:, 1] ** 2 - 1.0
    # A line along a well's axis stays as far from it as it is.
    steady = square <= 1e-20
    divisor = np.where(steady, 1.0, square)
    nearest = np.where(steady, rest, rest - half**2 / divisor)
    root = np.sqrt(np.maximum(half**2 - square * rest, 0.0))
    enter = np.where(steady, -np.inf, (-half - root) / divisor)
    leave = np.where(steady, np.inf, (-half + root) / divisor)
    cone = np.flatnonzero(screen.conical[piece])
    if len(cone):
        width = screen.width[piece[cone]]
        at_start, at_end = (dot_rows(width, p[cone]) + width[:, 3] for p in (start, end))
        inside = _line_inside_cone(square[cone], half[cone], rest[cone] + 1.0, at_start, at_end)
        enter[cone], leave[cone], nearest[cone] = *inside, -1.0
    deep_start, deep_end = _depths(plane, start), _depths(plane, end)
    first, last = _clip(deep_start[:, None], deep_end[:, None])
    first, last = np.maximum(first, enter), np.minimum(last, leave)
    deepest = np.maximum(
        deep_start + (deep_end - deep_start) * first, deep_start + (deep_end - deep_start) * last
    )
    good = (last > first) & (nearest < slack)
    good &= opening | (deepest > screen.depth[piece])
    index = np.flatnonzero(good)
    return index, first[index], last[index]


def _line_inside_cone(
    square: Array, half: Array, rest: Array, at_start: Array, at_end: Array
) -> tuple[Array, Array]:
    """First and last t with ``square t^2 + 2 half t + rest`` < radius^2, the radius linear and positive.

    On the far side of the tip the same is true of a negative radius: that half is left out.
    """
    change = at_end - at_start
    square, half, rest = square - change**2, half - at_start * change, rest - at_start**2
    # A line along a ruling meets the cone once more, very far away.
    square = np.where(np.abs(square) < 1e-20, 1e-20, square)
    under = half**2 - square * rest
    q = -(half + np.copysign(np.sqrt(np.maximum(under, 0.0)), half))
    one, two = q / square, rest / np.where(q == 0.0, 1.0, q)
    near, far = np.minimum(one, two), np.maximum(one, two)
    both = square < 0
    first = np.where(both, np.where(change > 0, far, -np.inf), near)
    last = np.where(both, np.where(change > 0, np.inf, near), far)
    middle = (np.maximum(first, 0.0) + np.minimum(last, 1.0)) / 2
    some = (under > 0) & (at_start + change * middle > 0)
    return np.where(some, first, 2.0), np.where(some, last, -1.0)


def _arc_behind(arcs: Arcs, screen: Screen | DiscScreen, piece: Array) -> tuple[Array, Array, Array]:
    plane = screen.plane[piece]
    behind = np.stack(
        (
            _depths(plane, arcs.centre),
            -dot_rows(plane[:, :3], arcs.major),
            -dot_rows(plane[:, :3], arcs.minor),
        ),
        axis=-1,
    )[:, None, :]
    least = screen.depth[piece][:, None]
    if isinstance(screen, Screen):
        conditions = np.concatenate((_trig_terms(screen.sides[piece], arcs), behind), axis=1)
        limits = np.concatenate((screen.limits[piece], least), axis=1)
        possible = (conditions[..., 0] + np.hypot(conditions[..., 1], conditions[..., 2]) > limits).all(
            axis=1
        )
        index = np.flatnonzero(possible)
        conditions, limits, arcs = conditions[index], limits[index], take_rows(arcs, index)
        cuts = solve_trig(conditions[..., 0], conditions[..., 1], conditions[..., 2]).reshape(
            len(index), 2 * conditions.shape[1]
        )
        row, first, last = _where_inside(arcs, cuts, conditions, limits, None)
        return index[row], first, last
    opening, slack = screen.opening[piece], screen.slack[piece]
    circle = _circle_terms(_space_terms(screen.inverse[piece], arcs))
    cone = np.flatnonzero(screen.conical[piece])
    if len(cone):
        width = _space_terms(screen.width[piece[cone], None], take_rows(arcs, cone))
        circle[cone] -= _circle_terms(width)
        radius = np.tile((1.0, 0.0, 0.0), (len(piece), 1, 1))
        radius[cone] = width
        behind, least = np.concatenate((behind, radius), axis=1), np.concatenate((least, 0.0 * least), axis=1)
    index = np.flatnonzero(circle[:, 0] <= _swing(circle) + slack)
    arcs, behind, circle = take_rows(arcs, index), behind[index], circle[index]
    opening, slack, least = opening[index], slack[index], least[index]
    crossed = np.flatnonzero(circle[:, 0] >= -_swing(circle))
    crossings = np.full((len(index), 4), np.nan)
    crossings[crossed] = solve_double_trig(*circle[crossed].T)
    depths = solve_trig(behind[:, 0, 0], behind[:, 0, 1], behind[:, 0, 2])
    limits = np.where(opening[:, None], 0.0, least)
    circle[:, 0] -= np.where(opening, slack, -slack)
    row, first, last = _where_inside(
        arcs, np.concatenate((depths, crossings), axis=1), behind, limits, circle
    )
    return index[row], first, last


def _swing(circle: Array) -> Array:
    """By how much at most the terms of ``_circle_terms`` depart from their constant."""
    return np.hypot(circle[:, 1], circle[:, 2]) + np.hypot(circle[:, 3], circle[:, 4])


def _trig_terms(rows: Array, arcs: Arcs) -> Array:
    """``rows`` (n, j, 3) applied to x, y, 1 of the arc: constant, cosine and sine terms (n, j, 3)."""

    def linear(v: Array) -> Array:
        return rows[..., 0] * v[:, None, 0] + rows[..., 1] * v[:, None, 1]

    return np.stack((linear(arcs.centre) + rows[..., 2], linear(arcs.major), linear(arcs.minor)), axis=-1)


def _space_terms(rows: Array, arcs: Arcs) -> Array:
    """``rows`` (n, j, 4) applied to x, y, z, 1 of the arc: constant, cosine and sine terms (n, j, 3)."""
    constant, cosine, sine = (dot_rows(rows, v[:, None]) for v in (arcs.centre, arcs.major, arcs.minor))
    return np.stack((constant + rows[..., 3], cosine, sine), axis=-1)


def _circle_terms(terms: Array) -> Array:
    """X^2 + Y^2 - 1 for two linear forms (n, 2, 3): 1, cos p, sin p, cos 2p, sin 2p terms (n, 5)."""
    c, a, b = terms[..., 0], terms[..., 1], terms[..., 2]
    return np.stack(
        (
            (c * c + (a * a + b * b) / 2).sum(axis=1) - 1.0,
            (2 * a * c).sum(axis=1),
            (2 * b * c).sum(axis=1),
            ((a * a - b * b) / 2).sum(axis=1),
            (a * b).sum(axis=1),
        ),
        axis=1,
    )


def _where_inside(
    arcs: Arcs, cuts: Array, conditions: Array, limits: Array, circle: Array | None
) -> tuple[Array, Array, Array]:
    """The stretches between neighbouring ``cuts`` in whose middle all conditions hold: (row, first, last)."""
    first, last = arcs.first[:, None], arcs.last[:, None]
    cuts = first + np.mod(cuts - first, 2 * np.pi)
    cuts = np.where(cuts < last, cuts, last)
    cuts = np.sort(np.concatenate((first, cuts, last), axis=1), axis=1)
    row, at = np.nonzero(cuts[:, 1:] > cuts[:, :-1])
    low, high = cuts[row, at], cuts[row, at + 1]
    c, s = np.cos((low + high) / 2), np.sin((low + high) / 2)
    terms = conditions[row]
    value = terms[..., 0] + terms[..., 1] * c[:, None] + terms[..., 2] * s[:, None]
    good = (value >= limits[row]).all(axis=1)
    if circle is not None:
        k = circle[row]
        good &= k[:, 0] + k[:, 1] * c + k[:, 2] * s + k[:, 3] * (c * c - s * s) + k[:, 4] * 2 * c * s < 0
    return row[good], low[good], high[good]
