"""Figures laid on a view: which become dimensions in tiers, and angles, radii and hole notes placed clear."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from plangen.drawing.dimension_marks import expand, figure_base, figure_fit
from plangen.drawing.lettering import Box2, text_width
from plangen.drawing.linework import PRACTICE
from plangen.drawing.mark_geometry import box_corners, extent
from plangen.drawing.marks import AngularDimension, Fill, Leader, Lettering, LinearDimension, Mark, Stroke
from plangen.drawing.occupied import Occupied, Role
from plangen.drawing.overlaps import ink_points
from plangen.drawing.tiers import Measure, Side, lay_tiers
from plangen.geometry.curves import Line, Vec2
from plangen.geometry.vectors import Vec, dot
from plangen.geometry.views import Projection

_TOLERANCE = 1e-6
_ARC_RADII = (15.0, 18.0, 22.0, 27.0, 33.0, 12.0, 40.0, 9.0, 48.0, 58.0)
_ARC_SAMPLES, _ARC_CLEAR = 7, 0.9
"""Places along an arc at which it must stand off other lines by so many mm, more than half of them."""
_LEADER_ANGLES = (60, 45, 30, 120, 135, 150, 75, 105, -60, -45, -30, -120, -135, -150, -75, -105)
_LEADER_LENGTHS = (7.0, 10.0, 13.0, 17.0, 22.0, 28.0, 35.0, 43.0, 52.0, 62.0, 74.0)
_WIDEST_NOTE = 62.0
"""Millimetres: a longer note is broken into lines."""
_SHELF, _NOTES_APART = 2.0, 2.0
"""Least length of a shelf; clear beside a note besides what all letters keep, mm."""
_OFFSETS = (10.0, 14.0, 18.0, 23.0, 28.0, 34.0, 40.0, 50.0, 60.0)
_EXTENSIONS: frozenset[Role] = frozenset({"extension"})
_CROSSABLE: frozenset[Role] = frozenset({"outline", "hidden", "line", "fill"})


@dataclass(frozen=True)
class PaperFigure:
    """A figure with its points on paper about the view's origin; ``direction`` on paper, unit."""

    key: str
    kind: Literal["linear", "angular", "radius", "diameter", "depth"]
    text: str
    value: float
    points: tuple[Vec2, ...]
    direction: Vec2 | None
    tier: str
    side: str


def flat_direction(direction: Vec | None, projection: Projection) -> Vec2 | None:
    """A direction of the work as a view shows it, unit; None for one that the view foreshortens, along which no
    distance is true in it."""
    if direction is None:
        return None
    x, y = dot(projection.right, direction), dot(projection.up, direction)
    size = math.hypot(x, y)
    return (x / size + 0.0, y / size + 0.0) if size > 1 - _TOLERANCE else None


def spread_of(points: Sequence[Vec2], projection: Projection, direction: Vec) -> float | None:
    """Distance of the first and the last point along a direction, as the view shows it."""
    u = flat_direction(direction, projection)
    if u is None:
        return None
    (ax, ay), (bx, by) = points[0], points[-1]
    return abs((bx - ax) * u[0] + (by - ay) * u[1])


def measures_of(figures: Iterable[PaperFigure], outline: Box2) -> tuple[Measure, ...]:
    """The figures measured level or upright, each with a side of the view to stand on."""
    found: list[Measure] = []
    for f in figures:
        side = _side(f, outline)
        if side is not None:
            found.append(Measure(f.key, (f.points[0], f.points[1]), f.text, f.value, f.tier, side))
    return tuple(found)


def _side(figure: PaperFigure, outline: Box2) -> Side | None:
    if figure.kind not in ("linear", "depth") or figure.direction is None:
        return None
    dx, dy = figure.direction
    middle = (
        (figure.points[0][0] + figure.points[1][0]) / 2,
        (figure.points[0][1] + figure.points[1][1]) / 2,
    )
    if abs(dy) < _TOLERANCE:
        if figure.side in ("below", "above"):
            return "below" if figure.side == "below" else "above"
        return "below" if middle[1] <= (outline[1] + outline[3]) / 2 else "above"
    if abs(dx) < _TOLERANCE:
        if figure.side in ("left", "right"):
            return "left" if figure.side == "left" else "right"
        return "left" if middle[0] <= (outline[0] + outline[2]) / 2 else "right"
    return None


def lay_figures(
    figures: Sequence[PaperFigure], outline: Box2, height: float, occupied: Occupied
) -> tuple[tuple[Mark, ...], int]:
    """All figures of a view: in tiers what is measured level or upright, then the others where they belong; and
    how many found no clear place."""
    measures = measures_of(figures, outline)
    tiers, crowded = lay_tiers(measures, outline, height, occupied)
    keys = {m.key for m in measures}
    others, more = place_in_place([f for f in figures if f.key not in keys], outline, height, occupied)
    return (*tiers, *others), crowded + more


def place_in_place(
    figures: Sequence[PaperFigure], outline: Box2, height: float, occupied: Occupied
) -> tuple[tuple[Mark, ...], int]:
    """Sloping distances, angles, then notes on leaders; and how many found no clear place."""
    marks: list[Mark] = []
    crowded = 0
    for figure in sorted(figures, key=_rank):
        if figure.kind in ("linear", "depth") and figure.direction is not None:
            found = _place_sloping(figure, outline, height, occupied)
        elif figure.kind == "angular":
            found = _place_angle(figure, height, occupied)
        else:
            found = place_note(_note_of(figure, height), outline, height, occupied)
        crowded += found.crowded
        occupied.add(found.marks, "extension")
        marks.extend(found.marks)
    return tuple(marks), crowded


def _rank(figure: PaperFigure) -> tuple[int, str]:
    if figure.kind in ("linear", "depth") and figure.direction is not None:
        return 0, figure.key
    return {"angular": 1, "radius": 2}.get(figure.kind, 3), figure.key


@dataclass(frozen=True)
class Found:
    """The marks chosen, and whether they are not clear of everything."""

    marks: tuple[Mark, ...]
    crowded: bool


# --- sloping distances ------------------------------------------------------------------------------


def _place_sloping(figure: PaperFigure, outline: Box2, height: float, occupied: Occupied) -> Found:
    candidates = list(_sloping_candidates(figure, outline, height))
    for dim in candidates:
        if _is_clear(dim, occupied):
            return Found((dim,), False)
    return Found((candidates[0],), True)


def _sloping_candidates(figure: PaperFigure, outline: Box2, height: float) -> Iterator[LinearDimension]:
    if figure.direction is None:
        return
    u = figure.direction
    n = (-u[1], u[0])
    p, q = figure.points[:2]
    centre = ((outline[0] + outline[2]) / 2, (outline[1] + outline[3]) / 2)
    levels = [f[0] * n[0] + f[1] * n[1] for f in (p, q)]
    outward = 1.0 if sum(levels) / 2 >= centre[0] * n[0] + centre[1] * n[1] else -1.0
    along = sorted(f[0] * u[0] + f[1] * u[1] for f in (p, q))
    for sign, off in itertools.product((outward, -outward), _OFFSETS):
        level = (max(levels) if sign > 0 else min(levels)) + sign * off
        line_at = (n[0] * level + u[0] * along[0], n[1] * level + u[1] * along[0])
        for shift, arrows in _sloping_spots(along, figure.text, height):
            dim = LinearDimension((p, q), line_at, u, figure.text, figure.value, height, arrows=arrows)
            if shift is not None:
                up = figure_base(figure.text, height)
                flip = 1.0 if u[0] > 1e-9 or (abs(u[0]) <= 1e-9 and u[1] > 0) else -1.0
                across = level + flip * up
                at = (u[0] * shift + n[0] * across, u[1] * shift + n[1] * across)
                dim = replace(dim, text_at=at)
            yield dim


def _sloping_spots(
    along: Sequence[float], text: str, height: float
) -> Iterator[tuple[float | None, Literal["inside", "outside"]]]:
    """Where the figure may stand along its line (None: at the middle), and where the arrows then are."""
    low, high = along
    fit = figure_fit(high - low, text, height)
    half = text_width(text, height) / 2
    if fit != "figure outside":
        yield None, "inside" if fit == "inside" else "outside"
    if fit == "inside":
        slack = (high - low) / 2 - half - 1.0
        for part in (-0.5, 0.5, -0.95, 0.95):
            yield (low + high) / 2 + part * slack, "inside"
    reach = PRACTICE.arrow_length + PRACTICE.tail + 1 + half
    for extra in (0.0, 4.0, 9.0):
        yield high + reach + extra, "outside"
        yield low - reach - extra, "outside"


def _is_clear(dim: LinearDimension, occupied: Occupied) -> bool:
    parts = expand(dim)
    texts = [m for m in parts if isinstance(m, Lettering)]
    if not all(occupied.text_is_free(t, 0.5) for t in texts):
        return False
    lines = [c for m in parts if isinstance(m, Stroke) for c in m.curves]
    return not any(
        occupied.crossings(c.start, c.end, frozenset({"text"})) for c in lines if isinstance(c, Line)
    )


# --- angles -----------------------------------------------------------------------------------------


def _place_angle(figure: PaperFigure, height: float, occupied: Occupied) -> Found:
    apex, one, two = figure.points[:3]
    a, b = (math.degrees(math.atan2(p[1] - apex[1], p[0] - apex[0])) % 360 for p in (one, two))
    first, last, near, far = (a, b, one, two) if (b - a) % 360 <= 180 else (b, a, two, one)
    if last < first:
        last += 360
    best: tuple[Mark, ...] | None = None
    for radius in _ARC_RADII:
        if _follows_a_line(apex, first, last, radius, occupied):
            continue
        for text_at in _angle_text_places(apex, first, last, radius, figure.text, height):
            dim = AngularDimension(apex, first, last, radius, figure.text, figure.value, height, text_at)
            arms = tuple(m for end, at in ((first, near), (last, far)) if (m := _arm(apex, end, at, radius)))
            best = best or (*arms, dim)
            parts = (*arms, *expand(dim))
            text = next(m for m in parts if isinstance(m, Lettering))
            own = Occupied()
            own.add(m for m in parts if m is not text)
            if (
                occupied.text_is_free(text, 0.5)
                and own.text_is_free(text, 0.3)
                and not _runs_through_text(parts, occupied)
            ):
                return Found((*arms, dim), False)
    return Found(best or (), True)


def _follows_a_line(apex: Vec2, first: float, last: float, radius: float, occupied: Occupied) -> bool:
    """An arc that lies on a round outline would not be seen."""
    met = 0
    for i in range(_ARC_SAMPLES):
        turn = math.radians(first + (last - first) * (i + 0.5) / _ARC_SAMPLES)
        c, s = math.cos(turn), math.sin(turn)
        near, far = radius - _ARC_CLEAR, radius + _ARC_CLEAR
        a, b = ((apex[0] + c * r, apex[1] + s * r) for r in (near, far))
        met += bool(occupied.crossings(a, b, frozenset({"outline", "hidden", "line"})))
    return met > _ARC_SAMPLES / 2


def _runs_through_text(marks: Iterable[Mark], occupied: Occupied) -> bool:
    lines = (ink_points(m) for m in marks if isinstance(m, Stroke | Fill))
    return any(
        occupied.crossings(p, q, frozenset({"text"})) for line in lines for p, q in itertools.pairwise(line)
    )


def _angle_text_places(
    apex: Vec2, first: float, last: float, radius: float, text: str, height: float
) -> Iterator[Vec2 | None]:
    yield None
    half = text_width(text, height) / 2
    for turn in (0.25, 0.75):
        yield _beyond_arc(apex, first + (last - first) * turn, radius, half, height)
    for more in (12, 25, 35, 45):
        for degrees in (last + more, first - more):
            yield _beyond_arc(apex, degrees, radius, half, height)


def _beyond_arc(apex: Vec2, degrees: float, radius: float, half: float, height: float) -> Vec2:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    out = radius + 1.5 + abs(c) * half + abs(s) * height / 2
    return (apex[0] + out * c, apex[1] + out * s - height / 2)


def _arm(apex: Vec2, degrees: float, end: Vec2, radius: float) -> Stroke | None:
    """The side of the angle drawn on to the arc where the work ends before it."""
    length = math.dist(apex, end)
    if length >= radius + PRACTICE.extension_overrun:
        return None
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    start, stop = length + PRACTICE.extension_gap, radius + PRACTICE.extension_overrun
    if stop - start < 0.5:
        return None
    return Stroke(
        (Line((apex[0] + c * start, apex[1] + s * start), (apex[0] + c * stop, apex[1] + s * stop)),),
        "dimension",
    )


# --- notes on leaders -------------------------------------------------------------------------------


@dataclass(frozen=True)
class NoteAt:
    """A note about a place of the view: its centre, and how far from it the leader's point stands off."""

    key: str
    text: str
    centre: Vec2
    radius: float
    end: Literal["arrow", "dot"]
    kind: Literal["note", "radius", "diameter"] = "note"
    value: float | None = None
    toward: Vec2 | None = None
    """Where the point must be (a radius touches its curve), None: wherever the leader comes from."""


def folded(text: str, height: float) -> str:
    """A note in lines of no more than ``_WIDEST_NOTE``, broken after commas."""
    lines: list[str] = []
    for part in text.split(", "):
        trial = f"{lines[-1]}, {part}" if lines else part
        if lines and text_width(trial, height) > _WIDEST_NOTE:
            lines[-1] += ","
            lines.append(part)
        else:
            lines[-1:] = [trial]
    return "\n".join(lines)


def _note_of(figure: PaperFigure, height: float) -> NoteAt:
    figure = replace(figure, text=folded(figure.text, height))
    p = figure.points[0]
    q = figure.points[1] if len(figure.points) > 1 else p
    if figure.kind == "diameter" and figure.side == "above":
        top = max(p, q, key=lambda at: (round(at[1], 6), at[0]))
        return NoteAt(figure.key, figure.text, top, 0.0, "arrow", "diameter", figure.value)
    if figure.kind == "diameter":
        centre = ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)
        return NoteAt(figure.key, figure.text, centre, math.dist(p, q) / 2, "arrow", "diameter", figure.value)
    if figure.kind == "radius":
        return NoteAt(figure.key, figure.text, q, 0.0, "arrow", "radius", figure.value)
    return NoteAt(figure.key, figure.text, p, 0.0, "arrow", "note", figure.value)


def place_note(note: NoteAt, outline: Box2, height: float, occupied: Occupied) -> Found:
    """The note on the leader of least cost: short, clear of all text, crossing as little as can be."""
    best: tuple[float, Leader] | None = None
    fallback: Leader | None = None
    for length in _LEADER_LENGTHS:
        if best is not None and best[0] <= length:
            break
        for degrees in _LEADER_ANGLES:
            leader = _leader(note, degrees, length, height)
            fallback = fallback or leader
            below = math.inf if best is None else best[0] - 1e-6
            cost = _leader_cost(leader, length, outline, occupied, below)
            if cost is not None:
                best = (cost, leader)
    if best is not None:
        return Found((best[1],), False)
    return Found((fallback,) if fallback else (), True)


def _leader(note: NoteAt, degrees: float, length: float, height: float) -> Leader:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    tip = (note.centre[0] + c * note.radius, note.centre[1] + s * note.radius)
    elbow = (tip[0] + c * length, tip[1] + s * length)
    way = 1.0 if c > 0 else -1.0
    width = max(text_width(t, height) for t in note.text.split("\n"))
    end = (elbow[0] + way * max(_SHELF, width), elbow[1])
    return Leader((tip, elbow, end), note.end, note.text, height, note.kind, note.value)


def _leader_cost(
    leader: Leader, length: float, outline: Box2, occupied: Occupied, below: float
) -> float | None:
    """None where the note would stand on something or within the outline, or cost no less than ``below``."""
    if length >= below:
        return None
    texts = [m for m in expand(leader) if isinstance(m, Lettering)]
    for text in texts:
        x0, y0, x1, y1 = extent(text)
        if (
            x0 < outline[2] + 1.5
            and x1 > outline[0] - 1.5
            and y0 < outline[3] + 1.5
            and y1 > outline[1] - 1.5
        ):
            return None
        apart = box_corners((x0 - _NOTES_APART, y0, x1 + _NOTES_APART, y1))
        if not occupied.text_is_free(text, 0.7) or not occupied.ring_is_free(apart, frozenset({"text"})):
            return None
    tip, elbow, end = leader.path
    if occupied.crossings(tip, elbow, frozenset({"text"})) or occupied.crossings(
        elbow, end, frozenset({"text"})
    ):
        return None
    cost = length
    for roles, first, last in ((_EXTENSIONS, 30.0, 30.0), (_CROSSABLE, 2.5, 5.0)):
        cost += first * occupied.crossings(tip, elbow, roles)
        if cost >= below:
            return None
        cost += last * occupied.crossings(elbow, end, roles)
    return cost if cost < below else None
