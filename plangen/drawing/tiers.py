"""Dimension lines in tiers: which line a figure stands on, and where along it.

Tiers are interval colouring: by side of the view, sizes before positions before overall sizes, shorter before
longer; each figure takes the first line where it meets no other and lies outside every shorter one it
overlaps (shorter inside longer: ASME Y14.5 text and furniture texts, read). Three or more positions from one
origin share one line and run from it, each figure at the end of its own extension line (ISO 129-1, read).
Then the other figures slide along their lines to where they stand clear.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

from plangen.drawing.dimension_marks import expand, figure_base, figure_fit
from plangen.drawing.lettering import Box2, has_stack, stack_height, text_width
from plangen.drawing.linework import PRACTICE
from plangen.drawing.marks import Lettering, LinearDimension, Mark, Stroke
from plangen.drawing.occupied import Occupied, Role
from plangen.geometry.curves import Line, Vec2

Side: TypeAlias = Literal["below", "above", "left", "right"]
_Way: TypeAlias = Literal["running", "running outside", "parallel"]
"""How positions from one origin are drawn on a side: on one line under the overall sizes; on one line outside the
overall sizes that are shorter, whose extension lines then end before its figures; each on a line of its own."""
SIDES: tuple[Side, ...] = ("below", "above", "left", "right")
_TIER_RANK = {"size": 0, "position": 1, "overall": 2}
_OUTSIDE = PRACTICE.arrow_length + PRACTICE.tail
_SHELF_GAP = 1.0
_FEWEST_RUNNING = 3
_TEXT: frozenset[Role] = frozenset({"text"})
_MOST_SHIFT = 3.6
"""Millimetres a running figure may stand off its extension line to make room for its neighbour."""
_BEYOND = PRACTICE.extension_overrun + 1.0
"""From a running line to the near end of its figures."""


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
class _Row:
    """What shares one line as a whole: one measure, or several that run from one origin."""

    measures: tuple[Measure, ...]
    origin: float | None
    """Where the running ones start, None for a single measure."""
    rank: int | None = None
    """That of its line among parallel ones, None: by its tier."""

    @property
    def span(self) -> tuple[float, float]:
        return (min(m.span[0] for m in self.measures), max(m.span[1] for m in self.measures))

    @property
    def order(self) -> tuple[int, float, float, str]:
        low, high = self.span
        first = self.measures[0]
        rank = _TIER_RANK[first.tier] if self.rank is None else self.rank
        return (rank, round(high - low, 6), round(low, 6), first.key)


@dataclass(frozen=True)
class _Laid:
    row: _Row
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
) -> tuple[tuple[Mark, ...], int]:
    """The measures as dimensions round ``outline``, their ink added to ``occupied``; and how many of the
    figures found no clear place."""
    by_side = {side: _once([m for m in measures if m.side == side]) for side in SIDES}
    drafts = {side: _side_drafts(here, side, outline, height, "running") for side, here in by_side.items()}
    for side in SIDES:
        # running figures have one place each: where a line runs through one, that side is drawn the next way
        further: list[_Way] = ["running outside", "parallel"]
        while further and not _running_free(side, drafts, occupied):
            drafts[side] = _side_drafts(by_side[side], side, outline, height, further.pop(0))
    everything = [d for side in SIDES for d in drafts[side]]
    for draft in everything:
        occupied.add([m for m in expand(draft) if not isinstance(m, Lettering)], "extension")
    marks: list[Mark] = []
    crowded = 0
    for draft in sorted(everything, key=lambda d: d.arrows != "running"):
        settled = draft if draft.arrows == "running" else _settle_text(draft, occupied)
        crowded += settled is None
        settled = settled or draft
        occupied.add(expand(settled), "extension")
        marks.append(settled)
    return tuple(marks), crowded


def _side_drafts(
    measures: Sequence[Measure], side: Side, outline: Box2, height: float, way: _Way
) -> list[LinearDimension]:
    if not measures:
        return []
    rows = [_Row((m,), None) for m in measures] if way == "parallel" else _rows(measures, height)
    if way == "running outside":
        rows = [replace(row, rank=min(row.order[0], _TIER_RANK["position"])) for row in rows]
    laid = _assign_lanes(rows, height)
    levels = _levels(laid, side, outline, tier_pitch([m.text for m in measures], height), height)
    return [d for item in laid for d in _dimensions(item.row, side, levels[item.lane], height)]


def _running_free(side: Side, drafts: Mapping[Side, Sequence[LinearDimension]], occupied: Occupied) -> bool:
    running = [d for d in drafts[side] if d.arrows == "running"]
    return not running or _all_free(running, [d for s in SIDES for d in drafts[s]], occupied)


def _all_free(
    running: Sequence[LinearDimension], others: Sequence[LinearDimension], occupied: Occupied
) -> bool:
    """Whether no line of the view or of the dimensions runs through a running figure."""
    lines = Occupied()
    for dim in others:
        lines.add([m for m in expand(dim) if not isinstance(m, Lettering)], "extension")
    figures = [m for d in running for m in expand(d) if isinstance(m, Lettering)]
    return all(lines.text_is_free(f, 0.4) and occupied.text_is_free(f, 0.4) for f in figures)


# --- which measures share a line ------------------------------------------------------------------------


def _once(measures: Sequence[Measure]) -> list[Measure]:
    """Alike measures over the same stretch, such as the setting-in of holes in a row, as one: the first of
    them, whose extension line runs through the others."""
    found: dict[tuple[str, float, float, str], Measure] = {}
    for m in measures:
        low, high = m.span
        found.setdefault((m.text, round(low, 4), round(high, 4), m.tier), m)
    return list(found.values())


def _rows(measures: Sequence[Measure], height: float) -> list[_Row]:
    """Runs of positions from a common origin, and every other measure by itself."""
    waiting = list(measures)
    rows: list[_Row] = []
    starts = sorted({round(m.span[k], 6) for m in measures for k in (0, 1)})
    for start in starts:
        for end in (0, 1):
            group = [m for m in waiting if m.tier == "position" and abs(m.span[end] - start) < 1e-6]
            if len({round(m.span[1 - end], 6) for m in group}) < _FEWEST_RUNNING:
                continue
            waiting = [m for m in waiting if m not in group]
            rows += [_Row(run, start) for run in _runs(group, 1 - end, height)]
    return rows + [_Row((m,), None) for m in waiting]


def _runs(group: Sequence[Measure], end: int, height: float) -> list[tuple[Measure, ...]]:
    """The group parted into lines on which every figure stands near its extension line."""
    lines: list[list[Measure]] = []
    for measure in sorted(group, key=lambda m: (round(m.span[end], 6), m.key)):
        for line in lines:
            trial = [*line, measure]
            wished = [m.span[end] for m in trial]
            places = _spread(wished, [_thickness(m.text, height) for m in trial])
            if max(abs(p - w) for p, w in zip(places, wished, strict=True)) <= _MOST_SHIFT:
                line.append(measure)
                break
        else:
            lines.append([measure])
    return [tuple(line) for line in lines]


def _thickness(text: str, height: float) -> float:
    """What a figure that reads along its extension line takes across it, with a clearance."""
    return (stack_height(height) if has_stack(text) else height) + 1.2


def _assign_lanes(rows: Sequence[_Row], height: float) -> list[_Laid]:
    laid: list[_Laid] = []
    for row in sorted(rows, key=lambda r: r.order):
        low, high = _reach(row, height)
        a, b = row.span
        least = 0
        for other in laid:
            oa, ob = other.row.span
            if min(b, ob) - max(a, oa) > 1e-6:
                least = max(least, other.lane + 1)
        lane = least
        while any(x.lane == lane and min(high, x.high) - max(low, x.low) > 1e-6 for x in laid):
            lane += 1
        laid.append(_Laid(row, lane, low, high))
    return laid


def _reach(row: _Row, height: float) -> tuple[float, float]:
    """Low and high along the line of all that a row needs, a figure centred or on a shelf to the right."""
    low, high = row.span
    if row.origin is not None:
        half = max(_thickness(m.text, height) for m in row.measures) / 2 + _MOST_SHIFT
        return low - half, high + half
    text = row.measures[0].text
    match figure_fit(high - low, text, height):
        case "inside":
            return low, high
        case "arrows outside":
            return low - _OUTSIDE - 1, high + _OUTSIDE + 1
        case _:
            return low - _OUTSIDE - 1, high + _OUTSIDE + _SHELF_GAP + text_width(text, height) + 1


def _levels(laid: Sequence[_Laid], side: Side, outline: Box2, pitch: float, height: float) -> list[float]:
    """Where each line stands: y of level lines, x of upright ones."""
    offs = [PRACTICE.first_line]
    inward = side in ("below", "right")  # the figures of the next line stand between it and this one
    for lane in range(max(x.lane for x in laid)):
        step = pitch
        for item in laid:
            if item.lane == lane and item.row.origin is not None:
                longest = max(text_width(m.text, height) for m in item.row.measures)
                step = max(step, _BEYOND + longest + (pitch if inward else 2.0))
        offs.append(offs[-1] + step)
    base = {"below": outline[1], "above": outline[3], "left": outline[0], "right": outline[2]}[side]
    sign = 1.0 if side in ("above", "right") else -1.0
    return [base + sign * off for off in offs]


# --- dimensions -----------------------------------------------------------------------------------------


def _dimensions(row: _Row, side: Side, level: float, height: float) -> list[LinearDimension]:
    if row.origin is None:
        return [_single(row.measures[0], level, height)]
    axis = row.measures[0].axis
    running = [_running(m, row.origin, level, height) for m in row.measures]
    places = _spread([d.feet[1][axis] for d in running], [_thickness(m.text, height) for m in row.measures])
    sign = 1.0 if side in ("above", "right") else -1.0
    out = []
    for dim, place in zip(running, places, strict=True):
        off = level + sign * (_BEYOND + text_width(dim.text, height) / 2)
        # the middle of the capitals stands on the extension line
        at = (place + height / 2, off) if axis == 0 else (off, place - height / 2)
        out.append(replace(dim, text_at=at, text_rotation=90.0 if axis == 0 else 0.0))
    return out


def _running(measure: Measure, origin: float, level: float, height: float) -> LinearDimension:
    axis = measure.axis
    first, second = sorted(measure.feet, key=lambda f: round(abs(f[axis] - origin), 6))
    line_at = (first[0], level) if axis == 0 else (level, first[1])
    direction = (1.0, 0.0) if axis == 0 else (0.0, 1.0)
    return LinearDimension(
        (first, second), line_at, direction, measure.text, measure.value, height, arrows="running"
    )


def _spread(places: Sequence[float], sizes: Sequence[float]) -> list[float]:
    """The places moved as little as may be so that neighbours of these sizes do not meet; order kept."""
    order = sorted(range(len(places)), key=lambda i: (round(places[i], 6), i))
    # blocks of figures that touch: members, their mean wished start
    blocks: list[tuple[list[int], list[float], float]] = []
    for i in order:
        members, wishes, width = [i], [places[i] - sizes[i] / 2], sizes[i]
        while blocks:
            before, earlier, taken = blocks[-1]
            if sum(earlier) / len(earlier) + taken <= sum(wishes) / len(wishes) + 1e-9:
                break
            blocks.pop()
            members = before + members
            wishes = earlier + [w - taken for w in wishes]
            width += taken
        blocks.append((members, wishes, width))
    out = [0.0] * len(places)
    for members, wishes, _ in blocks:
        at = sum(wishes) / len(wishes)
        for i in members:
            out[i] = at + sizes[i] / 2
            at += sizes[i]
    return out


def _single(measure: Measure, level: float, height: float) -> LinearDimension:
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


def _settle_text(dim: LinearDimension, occupied: Occupied) -> LinearDimension | None:
    """The dimension with its text at the first place along its line that is clear, its line clear of the texts
    that are there; None if there is none."""
    for candidate in _text_places(dim):
        parts = expand(candidate)
        (figure,) = (m for m in parts if isinstance(m, Lettering))
        if not occupied.text_is_free(figure, PRACTICE.text_clearance - 0.2):
            continue
        lines = [c for m in parts if isinstance(m, Stroke) for c in m.curves if isinstance(c, Line)]
        if not any(occupied.crossings(c.start, c.end, _TEXT) for c in lines):
            return candidate
    return None


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
