"""Figures of the elevations: what a maker needs to put the members together. Sizes of members are on their
own sheets; which of these repeat one, ``ownership`` tells.

World coordinates: X right, Y away from the viewer of the front, Z up from the floor.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal, NamedTuple

import numpy as np

from plangen.dimensioning.figures import ElevationFigure, Tier
from plangen.geometry.boundary import Straight
from plangen.geometry.frames import Frame
from plangen.geometry.vectors import Point, Vec, dot, length, sub, unit
from plangen.joinery.model import Instance, Member, Model
from plangen.units import FEET_ABOVE, UnitStyle, angle_text, feet_text, length_text, rounded

ElevationView = Literal["front", "right", "left", "plan"]
Side = Literal["below", "above", "left", "right", "in place"]

X: Vec = (1.0, 0.0, 0.0)
Y: Vec = (0.0, 1.0, 0.0)
Z: Vec = (0.0, 0.0, 1.0)


class _Across(NamedTuple):
    """A level axis of the world, the elevation in which it shows, its words, and where its lengths begin."""

    axis: int
    view: ElevationView
    words: str
    start: str


_ACROSS = (_Across(0, "front", "left to right", "left end"), _Across(1, "right", "front to rear", "front"))
_WAYS = (X, Y, Z)
_NEAR = 1e-3
"""Millimetres: two heights closer than this are one."""
_LEAST_LEAN = 0.25
"""Degrees: less than this out of plumb or level is not drawn as a lean."""
_MOST_IN_A_CHAIN = 7


@dataclass(frozen=True)
class Standing:
    """An instance with its corners in the world."""

    member: Member
    instance: Instance
    points: tuple[Point, ...]

    def reach(self, axis: int) -> tuple[float, float]:
        values = [p[axis] for p in self.points]
        return min(values), max(values)

    def direction(self, v: Vec) -> Vec:
        return self.instance.frame.direction(v)


class Rounding:
    """One rounded coordinate for each height above the floor, distance from the left end and from the front."""

    def __init__(self, low: Point, style: UnitStyle) -> None:
        self._low = low
        self.style = style

    def at(self, axis: int, value: float) -> Fraction:
        return rounded(value - self._low[axis], self.style)

    def gap(self, axis: int, a: float, b: float) -> Fraction:
        return abs(self.at(axis, b) - self.at(axis, a))

    def text(self, axis: int, a: float, b: float) -> str:
        return length_text(self.gap(axis, a, b), self.style)


def dimension_elevations(model: Model, style: UnitStyle) -> tuple[ElevationFigure, ...]:
    """The figures of the front, the right side and the plan, in the order in which they are read."""
    standing = _standing(model)
    if not standing:
        return ()
    points = [p for s in standing for p in s.points]
    low: Point = (min(p[0] for p in points), min(p[1] for p in points), 0.0)
    rounding = Rounding(low, style)
    figures = [
        *_overall(points, rounding),
        *_feet(standing, points, rounding),
        *_heights(standing, points, rounding),
        *_positions(standing, points, rounding),
        *_leans(standing, style),
    ]
    return tuple(_told_apart(figures))


def _told_apart(figures: Sequence[ElevationFigure]) -> Iterator[ElevationFigure]:
    """Figures of one kind numbered in their ids."""
    counts: dict[str, int] = {}
    for figure in figures:
        counts[figure.id] = count = counts.get(figure.id, 0) + 1
        yield figure if count == 1 else replace(figure, id=f"{figure.id} {count}")


def _standing(model: Model) -> list[Standing]:
    found = []
    for member in model.members:
        if member.role == "jig":
            continue
        vertices = np.asarray(member.solid.vertices, dtype=float).tolist()
        for instance in member.instances:
            points = tuple(_world(instance.frame, v) for v in vertices)
            found.append(Standing(member, instance, points))
    return found


def _world(frame: Frame, v: Sequence[float]) -> Point:
    p = frame.point((v[0], v[1], v[2]))
    return (p[0] + 0.0, p[1] + 0.0, p[2] + 0.0)


# --- overall ----------------------------------------------------------------------------------------------


def _extreme(points: Sequence[Point], axis: int, sign: float, others: Sequence[float]) -> Point:
    """The outermost point along an axis; of equal ones the least by the other axes, signed."""
    reaches = [round(sign * p[axis], 4) for p in points]
    farthest = max(reaches)
    i, j = (a for a in range(3) if a != axis)
    return min(
        (p for p, reach in zip(points, reaches, strict=True) if reach == farthest),
        key=lambda p: (round(others[0] * p[i], 4), round(others[1] * p[j], 4)),
    )


def _overall(points: Sequence[Point], rounding: Rounding) -> Iterator[ElevationFigure]:
    specs: tuple[tuple[str, ElevationView, int, Side, tuple[float, float]], ...] = (
        ("overall width", "front", 0, "below", (1.0, 1.0)),
        ("overall height", "front", 2, "right", (-1.0, 1.0)),
        ("overall depth", "right", 1, "below", (-1.0, 1.0)),
    )
    for what, view, axis, side, others in specs:
        high = _extreme(points, axis, 1.0, others)
        low = _extreme(points, axis, -1.0, others)
        if axis == 2 and low[2] > -_NEAR:
            low = (high[0], high[1], 0.0)
        value = high[axis] - low[axis]
        if value < _NEAR:
            continue
        text = rounding.text(axis, low[axis], high[axis])
        if rounding.style.length == "in" and value > FEET_ABOVE:
            text = feet_text(rounding.gap(axis, low[axis], high[axis]), rounding.style)
        yield _linear(what, view, (low, high), axis, text, "overall", side)


def _linear(
    what: str, view: ElevationView, points: tuple[Point, Point], axis: int, text: str, tier: Tier, side: Side
) -> ElevationFigure:
    value = points[1][axis] - points[0][axis]
    return ElevationFigure(what, view, "linear", value, text, False, points, _WAYS[axis], what, tier, side)


# --- feet -------------------------------------------------------------------------------------------------


def _feet(
    standing: Sequence[Standing], points: Sequence[Point], rounding: Rounding
) -> Iterator[ElevationFigure]:
    """Where the members that stand on the floor touch it: their spread where it is not the overall size, and
    the clear opening between them."""
    for across in _ACROSS:
        axis = across.axis
        touching = {span for s in standing if (span := _foot_span(s, axis)) is not None}
        feet = sorted(touching, key=lambda span: (span[0][axis], span[1][axis], span))
        if len(feet) < 2:
            continue
        low = min((s[0] for s in feet), key=lambda p: p[axis])
        high = max((s[1] for s in feet), key=lambda p: p[axis])
        spread = high[axis] - low[axis]
        if all(b[axis] - a[axis] > spread - _NEAR for a, b in feet):
            continue  # side by side, each as deep as all: a size of the members, no spread
        all_of_it = max(p[axis] for p in points) - min(p[axis] for p in points)
        if spread < all_of_it - _NEAR:
            yield _gap(f"spread at the feet, {across.words}", across, low, high, rounding, "position")
        yield from _openings(feet, across, rounding)


def _foot_span(standing: Standing, axis: int) -> tuple[Point, Point] | None:
    """Least and greatest point of a member's contact with the floor."""
    on_floor = [p for p in standing.points if abs(p[2]) < _NEAR]
    if not on_floor:
        return None
    rest = 1 - axis
    low = min(on_floor, key=lambda p: (round(p[axis], 4), round(p[rest], 4)))
    high = max(on_floor, key=lambda p: (round(p[axis], 4), -round(p[rest], 4)))
    return low, high


def _openings(
    feet: Sequence[tuple[Point, Point]], across: _Across, rounding: Rounding
) -> Iterator[ElevationFigure]:
    """Clear floor between neighbouring feet, one figure for each different size."""
    axis = across.axis
    seen: set[float] = set()
    right_most = feet[0][1]
    for low, high in feet[1:]:
        clear = low[axis] - right_most[axis]
        if clear > 10.0 and round(clear, 3) not in seen:
            seen.add(round(clear, 3))
            what = f"clear between the feet, {across.words}"
            yield _gap(what, across, right_most, low, rounding, "size")
        if high[axis] > right_most[axis]:
            right_most = high


def _gap(
    what: str, across: _Across, low: Point, high: Point, rounding: Rounding, tier: Tier
) -> ElevationFigure:
    text = rounding.text(across.axis, low[across.axis], high[across.axis])
    return _linear(what, across.view, (low, high), across.axis, text, tier, "below")


# --- heights ----------------------------------------------------------------------------------------------


def _heights(
    standing: Sequence[Standing], points: Sequence[Point], rounding: Rounding
) -> Iterator[ElevationFigure]:
    """Undersides of level members above the floor, a running chain from the floor in each elevation."""
    top = max(p[2] for p in points)
    for axis, view, _, _ in _ACROSS:
        done: set[float] = {0.0, round(top, 3)}
        made: list[tuple[float, Point, Standing]] = []
        for s in standing:
            l_way = s.direction((1.0, 0.0, 0.0))
            if abs(l_way[2]) > 0.02 or abs(l_way[axis]) < 0.7:
                continue
            low, _ = s.reach(2)
            if low < _NEAR or round(low, 3) in done:
                continue
            done.add(round(low, 3))
            made.append((low, _right_most(s, axis, low), s))
        for low, point, s in _few(sorted(made, key=lambda m: (round(m[0], 3), m[2].instance.name))):
            base = (point[0], point[1], 0.0)
            what = f"underside of the {s.instance.name} above the floor"
            figure = _linear(what, view, (base, point), 2, rounding.text(2, 0.0, low), "position", "right")
            yield replace(figure, id=f"{what}, {view}")


def _few(made: Sequence[tuple[float, Point, Standing]]) -> Sequence[tuple[float, Point, Standing]]:
    """Of more heights than a chain can hold, each member's lowest and highest: a row of rungs from end to end."""
    if len(made) <= _MOST_IN_A_CHAIN:
        return made
    ends: dict[str, list[int]] = {}
    for number, (_, _, s) in enumerate(made):
        ends.setdefault(s.member.name, [number, number])[1] = number
    kept = sorted({number for pair in ends.values() for number in pair})
    return [made[number] for number in kept][:_MOST_IN_A_CHAIN]


def _positions(
    standing: Sequence[Standing], points: Sequence[Point], rounding: Rounding
) -> Iterator[ElevationFigure]:
    """Where plumb members, and level ones seen end on, begin: a running chain from the left end, or the front."""
    for across in _ACROSS:
        axis = across.axis
        start = min(points, key=lambda p: (round(p[axis], 4), round(p[2], 4), round(p[1 - axis], 4)))
        far = max(p[axis] for p in points)
        made: dict[float, tuple[Point, Standing]] = {}
        for s in standing:
            way = s.direction((1.0, 0.0, 0.0))
            plumb, end_on = abs(way[2]) > 1 - 1e-9, abs(way[1 - axis]) > 1 - 1e-9
            low, high = s.reach(axis)
            upright = all(max(abs(c) for c in a) > 1 - 1e-9 for a in s.instance.frame.axes)
            if not upright or not (plumb or end_on) or high - low > 0.5 * (far - start[axis]):
                continue
            if low - start[axis] > _NEAR and round(low, 3) not in made:
                point = min(
                    s.points, key=lambda p: (round(p[axis], 4), round(p[2], 4), round(p[1 - axis], 4))
                )
                made[round(low, 3)] = (point, s)
        if len(made) > _MOST_IN_A_CHAIN:
            continue
        for _, (point, s) in sorted(made.items()):
            what = f"{s.instance.name} from the {across.start}"
            yield _gap(what, across, start, point, rounding, "position")


def _right_most(standing: Standing, axis: int, height: float) -> Point:
    level = [p for p in standing.points if abs(p[2] - height) < _NEAR]
    return max(level, key=lambda p: (round(p[axis], 4), -round(p[1 - axis], 4)))


# --- leans ------------------------------------------------------------------------------------------------


def _leans(standing: Sequence[Standing], style: UnitStyle) -> Iterator[ElevationFigure]:
    """One angle for each different lean that an elevation shows, from plumb or from level, whichever is less."""
    for axis, view, _, _ in _ACROSS:
        seen: set[float] = set()
        for s in standing:
            edge = _leaning_edge(s, axis)
            if edge is None:
                continue
            low, high = sorted(edge, key=lambda p: p[2])
            across, up = high[axis] - low[axis], high[2] - low[2]
            from_plumb = math.degrees(math.atan2(abs(across), up))
            from_level = 90 - from_plumb
            value = min(from_plumb, from_level)
            if value < _LEAST_LEAN or round(value, 4) in seen:
                continue
            seen.add(round(value, 4))
            plumb = from_plumb <= from_level
            third = list(low)
            third[2 if plumb else axis] += up if plumb else across
            what = f"lean of the {s.member.name} from {'plumb' if plumb else 'level'}, seen from the {view}"
            yield ElevationFigure(
                what, view, "angular", value, angle_text(value, style), False,
                (low, high, (third[0], third[1], third[2])), None, what, "size", "in place",
            )  # fmt: skip


def _leaning_edge(standing: Standing, axis: int) -> tuple[Point, Point] | None:
    """The longest straight edge of a member along its length, or across it where the length is level: the
    line whose lean is read. None where it is plumb or level in this elevation."""
    way = standing.direction((1.0, 0.0, 0.0))
    own: Vec = (1.0, 0.0, 0.0)
    if abs(way[2]) < 1e-6:
        if abs(way[axis]) > 0.7:
            return None
        own = (0.0, 1.0, 0.0)
        if abs(standing.direction(own)[2]) < 1e-6:
            return None
    best: tuple[float, tuple[Point, Point]] | None = None
    for edge in standing.member.solid.edges:
        if not isinstance(edge.curve, Straight):
            continue
        d = sub(edge.curve.end, edge.curve.start)
        size = length(d)
        if size < 1.0 or abs(dot(unit(d), own)) < 0.98:
            continue
        if best is None or size > best[0] + 1e-6:
            a, b = (standing.instance.frame.point(p) for p in (edge.curve.start, edge.curve.end))
            best = (size, (a, b))
    if best is None and any(f.kind == "round" for f in standing.member.features):
        length_, width, thickness = standing.member.finished
        ends = ((0.0, width / 2, thickness / 2), (length_, width / 2, thickness / 2))
        best = (length_, (standing.instance.frame.point(ends[0]), standing.instance.frame.point(ends[1])))
    if best is None or abs(best[1][1][2] - best[1][0][2]) < 1e-6:
        return None
    return best[1]
