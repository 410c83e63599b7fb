"""Dimension lines in tiers: which line a figure stands on, and where along it.

Tiers are interval colouring: by side of the view, sizes before positions before overall sizes, shorter before
longer; each figure takes the first line where it meets no other and lies outside every shorter one it
overlaps (shorter inside longer: ASME Y14.5 text and furniture texts, read). Then its text slides along the
line to where it stands clear.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

from plangen.drawing.dimension_marks import expand, figure_base, figure_fit
from plangen.drawing.lettering import Box2, has_stack, stack_height, text_width
from plangen.drawing.linework import PRACTICE
from plangen.drawing.marks import Lettering, LinearDimension, Mark
from plangen.drawing.occupied import Occupied
from plangen.geometry.curves import Vec2

Side: TypeAlias = Literal["below", "above", "left", "right"]
SIDES: tuple[Side, ...] = ("below", "above", "left", "right")
_TIER_RANK = {"size": 0, "position": 1, "overall": 2}
_OUTSIDE = PRACTICE.arrow_length + PRACTICE.tail
_SHELF_GAP = 1.0


@dataclass(frozen=True)
class Measure:
    """A distance to be figured: feet on paper about the view's origin, measured level or upright."""

    key: str
    feet: tuple[Vec2, Vec2]
    text: str
    value: float
    tier: str
    side: Side

    @property
    def axis(self) -> int:
        """0: measured along x, 1: along y."""
        return 0 if self.side in ("below", "above") else 1

    @property
    def span(self) -> tuple[float, float]:
        a, b = self.feet[0][self.axis], self.feet[1][self.axis]
        return (min(a, b), max(a, b))


@dataclass(frozen=True)
class _Laid:
    measure: Measure
    lane: int
    low: float
    high: float
    """What the line and its text take along the line."""


def tier_pitch(texts: Sequence[str], height: float) -> float:
    """Distance of parallel dimension lines, mm: room for the figure over each line and a clearance."""
    figure = stack_height(height) if any(has_stack(t) for t in texts) else height
    return max(PRACTICE.pitch, figure + 2.0, height + 3.0)


def lay_tiers(
    measures: Sequence[Measure], outline: Box2, height: float, occupied: Occupied
) -> tuple[Mark, ...]:
    """The measures as dimensions round ``outline``, their ink added to ``occupied``."""
    marks: list[Mark] = []
    for side in SIDES:
        here = [m for m in measures if m.side == side]
        if not here:
            continue
        laid = _assign_lanes(here, height)
        pitch = tier_pitch([m.text for m in here], height)
        drafts = [_dimension(x.measure, _level(side, outline, x.lane, pitch), height) for x in laid]
        for draft in drafts:
            occupied.add([m for m in expand(draft) if not isinstance(m, Lettering)], "extension")
        for draft in drafts:
            settled = _settle_text(draft, occupied)
            occupied.add([m for m in expand(settled) if isinstance(m, Lettering)])
            marks.append(settled)
    return tuple(marks)


def _level(side: Side, outline: Box2, lane: int, pitch: float) -> float:
    off = PRACTICE.first_line + lane * pitch
    return {
        "below": outline[1] - off,
        "above": outline[3] + off,
        "left": outline[0] - off,
        "right": outline[2] + off,
    }[side]


def _reach(measure: Measure, height: float) -> tuple[float, float]:
    """Low and high along the line of all that the figure needs, text centred or on a shelf to the right."""
    low, high = measure.span
    match figure_fit(high - low, measure.text, height):
        case "inside":
            return low, high
        case "arrows outside":
            return low - _OUTSIDE - 1, high + _OUTSIDE + 1
        case _:
            return low - _OUTSIDE - 1, high + _OUTSIDE + _SHELF_GAP + text_width(measure.text, height) + 1


def _assign_lanes(measures: Sequence[Measure], height: float) -> list[_Laid]:
    def order(m: Measure) -> tuple[int, float, float, str]:
        low, high = m.span
        return (_TIER_RANK[m.tier], round(high - low, 6), round(low, 6), m.key)

    laid: list[_Laid] = []
    for measure in sorted(measures, key=order):
        low, high = _reach(measure, height)
        a, b = measure.span
        least = 0
        for other in laid:
            oa, ob = other.measure.span
            if min(b, ob) - max(a, oa) > 1e-6:
                least = max(least, other.lane + 1)
        lane = least
        while any(x.lane == lane and min(high, x.high) - max(low, x.low) > 1e-6 for x in laid):
            lane += 1
        laid.append(_Laid(measure, lane, low, high))
    return laid


def _dimension(measure: Measure, level: float, height: float) -> LinearDimension:
    axis = measure.axis
    direction: Vec2 = (1.0, 0.0) if axis == 0 else (0.0, 1.0)
    low, high = measure.span
    line_at: Vec2 = (low, level) if axis == 0 else (level, low)
    fit = figure_fit(high - low, measure.text, height)
    first, second = sorted(measure.feet, key=lambda f: f[axis])
    bare = LinearDimension(
        (first, second), line_at, direction, measure.text, measure.value, height,
        arrows="inside" if fit == "inside" else "outside",
    )  # fmt: skip
    if fit == "figure outside":
        return replace(bare, text_at=_text_at(bare, high + _OUTSIDE + _SHELF_GAP + _half(bare)))
    return bare


def _half(dim: LinearDimension) -> float:
    return text_width(dim.text, dim.height) / 2


def _text_at(dim: LinearDimension, along: float) -> Vec2:
    """Middle of the figure's base line when it stands at ``along`` on its line."""
    up = figure_base(dim.text, dim.height)
    if dim.direction[0]:
        return (along, dim.line_at[1] + up)
    return (dim.line_at[0] - up, along)


def _settle_text(dim: LinearDimension, occupied: Occupied) -> LinearDimension:
    """The dimension with its text at the first place along its line that is clear; unchanged if none is."""
    for candidate in _text_places(dim):
        (figure,) = (m for m in expand(candidate) if isinstance(m, Lettering))
        if occupied.text_is_free(figure, PRACTICE.text_clearance - 0.2):
            return candidate
    return dim


def _text_places(dim: LinearDimension) -> Iterator[LinearDimension]:
    axis = 0 if dim.direction[0] else 1
    low, high = sorted(f[axis] for f in dim.feet)
    yield dim
    half = _half(dim)
    if high - low >= 2 * half + 2:
        room = (high - low) / 2 - half - 1.0
        steps = int(room / 1.5)
        for i in range(1, steps + 1):
            for sign in (-1, 1):
                yield replace(dim, text_at=_text_at(dim, (low + high) / 2 + sign * 1.5 * i))
    reach = _OUTSIDE + _SHELF_GAP + half
    for extra in (0.0, 2.0, 4.0, 7.0, 10.0, 14.0, 18.0):
        for at in (high + reach + extra, low - reach - extra):
            yield replace(dim, text_at=_text_at(dim, at), arrows="outside")


def crossings(dims: Sequence[LinearDimension]) -> int:
    """How many dimension lines of level and upright dimensions cross one another."""
    spans = [_line_box(d) for d in dims]
    return sum(
        a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
        for a, b in itertools.combinations(spans, 2)
    )


def _line_box(dim: LinearDimension) -> Box2:
    axis = 0 if dim.direction[0] else 1
    low, high = sorted(f[axis] for f in dim.feet)
    x, y = dim.line_at
    return (low, y - 0.1, high, y + 0.1) if axis == 0 else (x - 0.1, low, x + 0.1, high)
