"""Item references round a view: circles on straight rows and columns, no two leaders crossing.

Boundary labelling (Bekos, Kaufmann, Symvonis and Wolff 2007, read): slots on the sides of a rectangle round
the view, anchors assigned to them at the least total length. The least total of straight leaders cannot have a
crossing, since two that cross are shorter when they change slots.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal, TypeAlias

from plangen.drawing.face_marks import ITEM_DIAMETER, item_reference
from plangen.drawing.lettering import Box2
from plangen.drawing.linework import PRACTICE
from plangen.drawing.mark_geometry import box_corners
from plangen.drawing.marks import Leader, Mark
from plangen.drawing.occupied import Occupied, Role, segments_cross
from plangen.geometry.curves import Vec2

Rows: TypeAlias = Literal["all round", "above and below", "beside"]
PITCH = 14.0
_MOST_RINGS = 12
_MOST_CHANGES = 60
_CIRCLE_ROOM = ITEM_DIAMETER / 2 + 0.7
"""Least distance of a leader from the middle of another's circle, mm."""
_OFF = 9.0
"""From the outline to the circles' centres, mm, where nothing stands between."""
_LEAST_ANGLE = math.radians(15)
_DOT_ROOMS = (PRACTICE.dot / 2 + 0.1, PRACTICE.dot / 4)
"""Clear of edges all round; on a part too thin for that, its middle between them."""
_STEPS = (0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.0)
"""How far a dot is moved off an edge, mm on paper."""
_EDGES: frozenset[Role] = frozenset({"outline"})
_EVERYTHING: frozenset[Role] = frozenset({"text", "extension"})


@dataclass(frozen=True)
class Anchor:
    """Where a member is seen best: a point of its face on paper, and how far it is to the edge of what is seen."""

    mark: str
    at: Vec2
    room: float


def place_balloons(
    anchors: Sequence[Anchor], outline: Box2, occupied: Occupied, rows: Rows = "all round"
) -> tuple[Mark, ...] | None:
    """A circle for each anchor with a leader that ends in a dot on the member; None where there is no room for
    them all, clear of figures and dimension lines."""
    if not anchors:
        return ()
    anchors = [_between_edges(a, occupied) for a in anchors]
    slots = _free_slots(outline, occupied, len(anchors), rows)
    if len(slots) < len(anchors):
        return None
    costs = [[_cost(a.at, s, occupied) for s in slots] for a in anchors]
    chosen = _settled([a.at for a in anchors], slots, costs, assign(costs))
    if any(occupied.crossings(a.at, slots[j], _EVERYTHING) for a, j in zip(anchors, chosen, strict=True)):
        return None
    marks: list[Mark] = []
    for anchor, j in zip(anchors, chosen, strict=True):
        centre = slots[j]
        d = math.dist(anchor.at, centre)
        k = ITEM_DIAMETER / 2 / d
        rim = (centre[0] + (anchor.at[0] - centre[0]) * k, centre[1] + (anchor.at[1] - centre[1]) * k)
        marks.append(Leader((anchor.at, rim), "dot", ""))
        marks.append(item_reference(anchor.mark, centre))
    occupied.add(marks)
    return tuple(marks)


def _between_edges(anchor: Anchor, occupied: Occupied) -> Anchor:
    """The anchor, moved within what is seen of its member to where its dot touches no edge, if there is a place."""
    for half in _DOT_ROOMS:
        for x, y in _places_about(anchor.at, anchor.room - half):
            if occupied.ring_is_free(box_corners((x - half, y - half, x + half, y + half)), _EDGES):
                return replace(anchor, at=(x, y))
    return anchor


def _places_about(at: Vec2, reach: float) -> Iterator[Vec2]:
    """The place itself, then others round it, farther and farther off."""
    yield at
    for off in (r for r in _STEPS if r <= reach):
        for turn in range(8):
            c, s = math.cos(turn * math.pi / 4), math.sin(turn * math.pi / 4)
            yield (at[0] + off * c, at[1] + off * s)


@dataclass
class _Clashes:
    """Which leaders cross, or run through each other's circles, each pair of places looked at once."""

    anchors: Sequence[Vec2]
    slots: Sequence[Vec2]
    _known: dict[tuple[int, int, int, int], bool] = field(default_factory=dict)

    def between(self, i: int, at: int, j: int, to: int) -> bool:
        """Whether leader ``i`` to slot ``at`` clashes with leader ``j`` to slot ``to``."""
        if i > j:
            i, at, j, to = j, to, i, at
        if (i, at, j, to) not in self._known:
            one, two = self.slots[at], self.slots[to]
            self._known[i, at, j, to] = (
                segments_cross(self.anchors[i], one, self.anchors[j], two)
                or _distance(two, self.anchors[i], one) < _CIRCLE_ROOM
                or _distance(one, self.anchors[j], two) < _CIRCLE_ROOM
            )
        return self._known[i, at, j, to]

    def of(self, i: int, at: int, chosen: Sequence[int], but: int = -1) -> int:
        """How many others leader ``i`` clashes with at a slot."""
        return sum(self.between(i, at, j, to) for j, to in enumerate(chosen) if j not in (i, but))


def _settled(
    anchors: Sequence[Vec2], slots: Sequence[Vec2], costs: Sequence[Sequence[float]], chosen: list[int]
) -> list[int]:
    """The assignment bettered where leaders clash: one exchange or one move to a free slot at a time, the
    best of a leader that clashes."""
    clashes = _Clashes(anchors, slots)
    chosen = list(chosen)
    for _ in range(_MOST_CHANGES):
        change: dict[int, int] = {}
        for i in (i for i, at in enumerate(chosen) if clashes.of(i, at, chosen)):
            trial, value = min(_changes(i, chosen, clashes, costs), key=lambda c: c[1])
            if value < (0, 0.0):
                change = trial
                break
        if not change:
            break
        for i, at in change.items():
            chosen[i] = at
    return _uncrossed(anchors, slots, chosen)


def _uncrossed(anchors: Sequence[Vec2], slots: Sequence[Vec2], chosen: list[int]) -> list[int]:
    """Leaders that still cross change slots: each change shortens the total, so the changes come to an end."""
    pairs = list(itertools.combinations(range(len(anchors)), 2))
    while True:
        for i, j in pairs:
            if segments_cross(anchors[i], slots[chosen[i]], anchors[j], slots[chosen[j]]):
                chosen[i], chosen[j] = chosen[j], chosen[i]
                break
        else:
            return chosen


def _changes(
    i: int, chosen: Sequence[int], clashes: _Clashes, costs: Sequence[Sequence[float]]
) -> Iterator[tuple[dict[int, int], tuple[int, float]]]:
    """What leader ``i`` may do, and how clashes and cost change by it (negative: better)."""
    here = chosen[i]
    taken = set(chosen)
    before = clashes.of(i, here, chosen)
    for at in (s for s in range(len(clashes.slots)) if s not in taken):
        fewer = clashes.of(i, at, chosen) - before
        yield {i: at}, (fewer, round(costs[i][at] - costs[i][here], 6))
    for j, there in enumerate(chosen):
        if j == i:
            continue
        now = before + clashes.of(j, there, chosen, i)
        then = clashes.of(i, there, chosen, j) + clashes.of(j, here, chosen, i)
        then += clashes.between(i, there, j, here)
        more = costs[i][there] + costs[j][here] - costs[i][here] - costs[j][there]
        yield {i: there, j: here}, (then - now, round(more, 6))


def _distance(p: Vec2, a: Vec2, b: Vec2) -> float:
    """Of a point from a segment."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    size = dx * dx + dy * dy
    s = 0.0 if size == 0 else max(0.0, min(1.0, ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / size))
    return math.dist(p, (a[0] + s * dx, a[1] + s * dy))


def _free_slots(outline: Box2, occupied: Occupied, wanted: int, rows: Rows) -> list[Vec2]:
    """Centres of circles clear of what stands there, on a rectangle that grows until there is room."""
    x0, y0, x1, y1 = outline
    slots: list[Vec2] = []
    for ring in range(_MOST_RINGS):
        off = _OFF + PITCH * ring
        a, b, c, d = x0 - off, y0 - off, x1 + off, y1 + off
        found: list[Vec2] = []
        if rows != "beside":
            found += [(x, d) for x in _steps(x0, x1)] + [(x, b) for x in _steps(x0, x1)]
        if rows != "above and below":
            found += [(c, y) for y in _steps(y0, y1)] + [(a, y) for y in _steps(y0, y1)]
        slots += [s for s in found if occupied.ring_is_free(_square(s, ITEM_DIAMETER / 2 + 1.5))]
        if len(slots) >= 2 * wanted + 4:
            break
    return slots


def _steps(low: float, high: float) -> list[float]:
    """Places ``PITCH`` apart, centred between the two."""
    count = max(1, int((high - low) / PITCH) + 1)
    start = (low + high) / 2 - (count - 1) / 2 * PITCH
    return [start + i * PITCH for i in range(count)]


def _square(at: Vec2, half: float) -> tuple[Vec2, Vec2, Vec2, Vec2]:
    x, y = at
    return ((x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half))


def _cost(anchor: Vec2, slot: Vec2, occupied: Occupied) -> float:
    d = math.dist(anchor, slot)
    dx, dy = abs(slot[0] - anchor[0]), abs(slot[1] - anchor[1])
    steep = min(math.atan2(dy, dx), math.atan2(dx, dy))
    cost = d + (20.0 if steep < _LEAST_ANGLE else 0.0)
    return cost + 200.0 * occupied.crossings(anchor, slot, _EVERYTHING)


def assign(costs: Sequence[Sequence[float]]) -> list[int]:
    """For each row the column of the assignment of least total (at least as many columns as rows).

    The Hungarian method with potentials, rows added one at a time (Kuhn 1955; Jonker and Volgenant's shortest
    augmenting paths, from memory). Costs are compared rounded to 1e-6.
    """
    n, m = len(costs), len(costs[0])
    u, v = [0.0] * (n + 1), [0.0] * (m + 1)
    match = [0] * (m + 1)
    for i in range(1, n + 1):
        match[0] = i
        column = 0
        least = [math.inf] * (m + 1)
        before = [0] * (m + 1)
        used = [False] * (m + 1)
        while True:
            used[column] = True
            row, delta, following = match[column], math.inf, 0
            for j in range(1, m + 1):
                if used[j]:
                    continue
                reduced = round(costs[row - 1][j - 1] - u[row] - v[j], 6)
                if reduced < least[j]:
                    least[j], before[j] = reduced, column
                if least[j] < delta:
                    delta, following = least[j], j
            for j in range(m + 1):
                if used[j]:
                    u[match[j]] += delta
                    v[j] -= delta
                else:
                    least[j] -= delta
            column = following
            if match[column] == 0:
                break
        while column:
            match[column] = match[before[column]]
            column = before[column]
    out = [0] * n
    for j in range(1, m + 1):
        if match[j]:
            out[match[j] - 1] = j - 1
    return out


def leaders_cross(leaders: Sequence[Leader]) -> int:
    """How many pairs of leaders cross."""
    return sum(
        segments_cross(a.path[0], a.path[-1], b.path[0], b.path[-1])
        for a, b in itertools.combinations(leaders, 2)
    )
