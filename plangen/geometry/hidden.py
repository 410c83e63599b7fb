"""Hidden-line removal: every edge and contour of a scene as exact strokes, seen or hidden.

What needs no test is settled first: an edge whose faces both turn away is hidden; so is a concave edge with
one face turned away, and the contour of a hole's wall. All else is split where it goes behind something
(``occlusion.py``). Coordinates of strokes are millimetres of the work in the view's right and up.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from plangen.geometry.contours import trace_contours
from plangen.geometry.curves import Vec2
from plangen.geometry.frames import Frame
from plangen.geometry.merge import merge_arcs, merge_lines
from plangen.geometry.occlusion import Arcs, Segments, hidden_intervals
from plangen.geometry.rows import dot_rows, solve_trig
from plangen.geometry.scene import Scene, join_rows, place_shapes, take_rows
from plangen.geometry.screens import FACING, LATERAL, Blinds, raise_blinds, view_rows
from plangen.geometry.shapes import read_shape
from plangen.geometry.solid import Solid
from plangen.geometry.strokes import RANKS, ArcRows, LineRows, arc_shapes, arc_strokes, line_strokes
from plangen.geometry.vectors import Point
from plangen.geometry.views import Projection, Stroke

Array = np.ndarray
EDGE, CONTOUR, SMOOTH = 0, 1, 2
"""Places in RANKS where they are seen."""
SHORTEST = 1e-6
"""Millimetres on paper at full size: what is shorter is not drawn."""


def prepare(solids: Sequence[tuple[Solid, Frame]]) -> Scene:
    """The scene of all solids in their places; each distinct ``Solid`` object is read once.

    Raises ValueError where there are none.
    """
    if not solids:
        raise ValueError("there is no solid to draw")
    shapes: dict[int, Scene] = {}
    for solid, _ in solids:
        if id(solid) not in shapes:
            shapes[id(solid)] = read_shape(solid)
    return place_shapes([shapes[id(solid)] for solid, _ in solids], [frame for _, frame in solids])


def draw_view(scene: Scene, projection: Projection) -> tuple[Stroke, ...]:
    """All edges and contours of the scene as projected, split where they go behind something.

    Strokes come in the order of their owners; those shorter than SHORTEST (edges seen end-on) are left out.
    """
    lines, arcs = _draw(scene, projection)
    return tuple(sorted(line_strokes(lines) + arc_strokes(arcs), key=lambda stroke: stroke.owner))


def draw_merged(scene: Scene, projection: Projection) -> tuple[Stroke, ...]:
    """``merged(draw_view(scene, projection))`` without the strokes in between: each place once."""
    lines, arcs = _draw(scene, projection)
    return (*line_strokes(merge_lines(lines)), *arc_strokes(merge_arcs(arcs)))


def _draw(scene: Scene, projection: Projection) -> tuple[LineRows, ArcRows]:
    blinds = raise_blinds(scene, projection)
    straight = _straight_candidates(scene, projection)
    round_ = _round_candidates(scene, projection)
    lines = _line_rows(straight, _stretches(straight, blinds))
    flat, arcs = _conic_rows(round_, _stretches(round_, blinds))
    return join_rows([lines, flat]), arcs


def seen_lines(
    scene: Scene, projection: Projection, lines: Sequence[tuple[Point, Point]]
) -> tuple[tuple[Vec2, Vec2], ...]:
    """The pieces of straight lines in the world (mm) that nothing in the scene hides, as projected."""
    if not lines:
        return ()
    start, end = (view_rows(projection, np.array([line[k] for line in lines])) for k in (0, 1))
    size = np.hypot(end[:, 0] - start[:, 0], end[:, 1] - start[:, 1])
    count, none = len(lines), np.full((len(lines), 2), -1)
    rows = Candidates(
        things=Segments(start, end, none, none),
        settled=np.zeros(count, dtype=bool),
        kind=np.zeros(count, dtype=np.int64),
        owner=np.zeros(count, dtype=np.int64),
        gaps=LATERAL / np.maximum(size, LATERAL),
    )
    parts = _stretches(_take(rows, np.flatnonzero(size > SHORTEST)), raise_blinds(scene, projection))
    drawn = _line_rows(_take(rows, np.flatnonzero(size > SHORTEST)), take_rows(parts, parts.visible))
    return tuple(
        ((a[0], a[1]), (b[0], b[1])) for a, b in zip(drawn.start.tolist(), drawn.end.tolist(), strict=True)
    )


def visible_only(strokes: Iterable[Stroke]) -> tuple[Stroke, ...]:
    """The strokes that are seen, in the same order."""
    return tuple(stroke for stroke in strokes if stroke.visible)


@dataclass(frozen=True, eq=False)
class Candidates:
    """What is to be drawn, with what is known before any test. Rows n."""

    things: Segments | Arcs
    settled: Array
    """Hidden without a test."""
    kind: Array
    owner: Array
    gaps: Array
    """The parameter that makes LATERAL on paper."""


def _facing(left: Array, right: Array, convex: Array, smooth: Array) -> tuple[Array, Array, Array]:
    """(settled, kind, both edge-on) from the cosines of both normals to the direction toward the eye."""
    toward = (left > FACING).astype(np.int64) + (right > FACING)
    away = (left < -FACING).astype(np.int64) + (right < -FACING)
    on_edge = (toward == 0) & (away == 0)
    settled = ((toward == 0) & ~on_edge) | (~convex & ~smooth & (away > 0))
    outline = on_edge | ((toward == 1) & smooth)
    kind = np.where(smooth, np.where(outline, CONTOUR, SMOOTH), EDGE)
    return settled, kind, on_edge


def _round_numbers(scene: Scene, sides: Sequence[tuple[Array, Array]]) -> tuple[Array, Array]:
    """For both faces of an edge, (round, cosine): rounds whose holes, and whose posts, cannot hide it.

    A ray from a point of a cylinder or cone leaves it for good, or runs through its inside: it can meet the wall of a
    hole from behind only, and the skin of a post from the front only where it went inside.
    """
    holes, posts = [], []
    for at, cosine in sides:
        some = at >= 0
        if not some.any():
            none = np.full(len(at), -1)
            holes.append(none)
            posts.append(none)
            continue
        number = np.where(some, scene.rounds.same[at], -1)
        holes.append(number)
        posts.append(np.where(cosine * scene.rounds.side[at] >= -FACING, number, -1))
    return np.stack(holes, axis=1), np.stack(posts, axis=1)


def _straight_candidates(scene: Scene, projection: Projection) -> Candidates:
    eye = np.array(projection.toward)
    lines = scene.lines
    left, right = dot_rows(lines.left, eye), dot_rows(lines.right, eye)
    settled, kind, _ = _facing(left, right, lines.convex, lines.smooth)
    one_toward = (left > FACING) != (right > FACING)
    kind = np.where(lines.facet, CONTOUR, kind)
    drawn = ~lines.facet | one_toward
    holes, posts = _round_numbers(scene, ((lines.left_round, left), (lines.right_round, right)))
    contours = trace_contours(scene, projection.toward)
    number = scene.rounds.same[contours.round]
    own = np.stack((number, number), axis=1)
    start = view_rows(projection, np.concatenate((lines.start, contours.start)))
    end = view_rows(projection, np.concatenate((lines.end, contours.end)))
    length = np.hypot(end[:, 0] - start[:, 0], end[:, 1] - start[:, 1])
    count = len(contours.start)
    drawn = np.concatenate((drawn, np.ones(count, dtype=bool))) & (length > SHORTEST)
    all_ = Candidates(
        things=Segments(start, end, np.concatenate((holes, own)), np.concatenate((posts, own))),
        settled=np.concatenate((settled, scene.rounds.side[contours.round] < 0)),
        kind=np.concatenate((kind, np.full(count, CONTOUR))),
        owner=np.concatenate((lines.owner, scene.rounds.owner[contours.round])),
        gaps=LATERAL / np.maximum(length, LATERAL),
    )
    return _take(all_, np.flatnonzero(drawn))


def _take(rows: Candidates, index: Array) -> Candidates:
    return Candidates(
        take_rows(rows.things, index),
        rows.settled[index],
        rows.kind[index],
        rows.owner[index],
        rows.gaps[index],
    )


def _round_candidates(scene: Scene, projection: Projection) -> Candidates:
    """Conic edges, split where a face turns away along them and, seen edge-on, where they turn back."""
    conics = scene.conics
    eye = np.array(projection.toward)
    centre, major, minor = (view_rows(projection, v) for v in (conics.centre, conics.major, conics.minor))
    left, right = dot_rows(conics.left, eye), dot_rows(conics.right, eye)
    cuts = np.concatenate((_turning(left), _turning(right), _ends_on_paper(major, minor)), axis=1)
    row, first, last = split_ranges(conics.first, conics.last, cuts)
    c, s = np.cos((first + last) / 2), np.sin((first + last) / 2)

    def cosine(terms: Array) -> Array:
        return terms[row, 0] + terms[row, 1] * c + terms[row, 2] * s

    at_left, at_right = cosine(left), cosine(right)
    settled, kind, _ = _facing(at_left, at_right, conics.convex[row], conics.smooth[row])
    holes, posts = _round_numbers(
        scene, ((conics.left_round[row], at_left), (conics.right_round[row], at_right))
    )
    size = np.maximum(np.hypot(major[:, 0], major[:, 1]), np.hypot(minor[:, 0], minor[:, 1]))
    return Candidates(
        things=Arcs(centre[row], major[row], minor[row], first, last, holes, posts),
        settled=settled,
        kind=kind,
        owner=conics.owner[row],
        gaps=LATERAL / np.maximum(size[row], LATERAL),
    )


def _turning(terms: Array) -> Array:
    """Parameters where a face turns away along its edge; none where it does not change along it."""
    varies = np.hypot(terms[:, 1], terms[:, 2]) > FACING
    roots = solve_trig(terms[:, 0], terms[:, 1], terms[:, 2])
    return np.where(varies[:, None], roots, np.nan)


def _is_edge_on(major: Array, minor: Array) -> Array:
    area = major[:, 0] * minor[:, 1] - major[:, 1] * minor[:, 0]
    return np.abs(area) <= FACING * np.sqrt(dot_rows(major, major) * dot_rows(minor, minor))


def _ends_on_paper(major: Array, minor: Array) -> Array:
    """Where a conic seen edge-on turns back on itself; NaN for all others."""
    wide = np.hypot(major[:, 0], major[:, 1]) >= np.hypot(minor[:, 0], minor[:, 1])
    way = np.where(wide[:, None], major, minor)[:, :2]
    p = np.arctan2((minor[:, :2] * way).sum(axis=1), (major[:, :2] * way).sum(axis=1))
    p = np.where(_is_edge_on(major, minor), p, np.nan)
    return np.stack((p, p + np.pi), axis=1)


def split_ranges(first: Array, last: Array, cuts: Array) -> tuple[Array, Array, Array]:
    """Ranges of an angle cut at the angles ``cuts`` (n, j; NaN for none): (row, first, last)."""
    first, last = first[:, None], last[:, None]
    cuts = first + np.mod(cuts - first, 2 * np.pi)
    cuts = np.where((cuts < last - 1e-9) & (cuts > first + 1e-9), cuts, last)
    cuts = np.sort(np.concatenate((first, cuts, last), axis=1), axis=1)
    cuts[:, 1:][np.diff(cuts, axis=1) < 1e-9] = np.nan
    cuts = np.sort(cuts, axis=1)
    cuts = np.where(np.isnan(cuts), last, cuts)
    row, at = np.nonzero(cuts[:, 1:] > cuts[:, :-1])
    return row, cuts[row, at], cuts[row, at + 1]


@dataclass(frozen=True, eq=False)
class Stretches:
    """Stretches of candidates: row, parameters, seen or not; sorted by row and parameter."""

    row: Array
    first: Array
    last: Array
    visible: Array


def _stretches(rows: Candidates, blinds: Blinds) -> Stretches:
    """The candidates cut into seen and hidden stretches, each covered once."""
    things = rows.things
    count = len(rows.settled)
    if isinstance(things, Segments):
        low, high = np.zeros(count), np.ones(count)
    else:
        low, high = things.first, things.last
    tested = np.flatnonzero(~rows.settled)
    row, first, last = hidden_intervals(take_rows(things, tested), blinds, rows.gaps[tested])
    row = tested[row]
    first = np.where(first - low[row] <= rows.gaps[row], low[row], first)
    last = np.where(high[row] - last <= rows.gaps[row], high[row], last)
    long = last - first > rows.gaps[row]
    row, first, last = row[long], first[long], last[long]
    seen_row = np.concatenate((tested, row))
    starts, ends = np.concatenate((low[tested], last)), np.concatenate((high[tested], first))
    seen_first = starts[np.lexsort((starts, seen_row))]
    seen_last = ends[np.lexsort((ends, seen_row))]
    seen_row = np.sort(seen_row)
    some = seen_last > seen_first
    settled = np.flatnonzero(rows.settled)
    every = Stretches(
        row=np.concatenate((settled, row, seen_row[some])),
        first=np.concatenate((low[settled], first, seen_first[some])),
        last=np.concatenate((high[settled], last, seen_last[some])),
        visible=np.concatenate(
            (np.zeros(len(settled) + len(row), dtype=bool), np.ones(some.sum(), dtype=bool))
        ),
    )
    return take_rows(every, np.lexsort((every.first, every.row)))


def _line_rows(rows: Candidates, parts: Stretches) -> LineRows:
    things = rows.things
    if not isinstance(things, Segments):
        raise TypeError("only segments are lines whatever the view")
    start, end = things.start[parts.row, :2], things.end[parts.row, :2]
    first, last = parts.first[:, None], parts.last[:, None]
    return LineRows(
        start * (1 - first) + end * first, start * (1 - last) + end * last, *_ranks_and_owners(rows, parts)
    )


def _conic_rows(rows: Candidates, parts: Stretches) -> tuple[LineRows, ArcRows]:
    """Arcs of circles and ellipses; lines where the conic is seen edge-on."""
    things = rows.things
    if not isinstance(things, Arcs):
        raise TypeError("only conics become arcs")
    edge_on = _is_edge_on(things.major, things.minor)[parts.row]
    flat, bent = take_rows(parts, edge_on), take_rows(parts, ~edge_on)

    def at(p: Array) -> Array:
        c, s = np.cos(p)[:, None], np.sin(p)[:, None]
        return (things.centre[flat.row] + things.major[flat.row] * c + things.minor[flat.row] * s)[:, :2]

    centre, major, minor = (v[bent.row, :2] for v in (things.centre, things.major, things.minor))
    return (
        LineRows(at(flat.first), at(flat.last), *_ranks_and_owners(rows, flat)),
        ArcRows(*arc_shapes(centre, major, minor, bent.first, bent.last), *_ranks_and_owners(rows, bent)),
    )


def _ranks_and_owners(rows: Candidates, parts: Stretches) -> tuple[Array, Array]:
    return rows.kind[parts.row] + np.where(parts.visible, 0, len(RANKS) // 2), rows.owner[parts.row]
