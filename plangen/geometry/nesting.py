"""Parts laid on sheets by their true outlines: each where it reaches least far along, in the best order found.

Every part goes to the first sheet that takes it, to the place and turn where its far side lies nearest to the sheet's
start, of those to the lowest. Orders are tried from the larger to the smaller, by several measures of size, then with
parts exchanged or moved, as drawn from a fixed sequence. Work is bounded by the number of places looked at, not by a
clock, so that the same job gives the same layout on every machine.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely
from shapely import Geometry, Polygon

from plangen.geometry.no_fit import SLACK, Box, NoFits, convex_pieces, grown, shifted, turned

NEAR = 1e-3
"""Millimetres to which a gap is kept."""


@dataclass(frozen=True)
class Flat:
    """Equal parts: their area, how many, and in which quarter turns they may lie."""

    area: Polygon
    count: int = 1
    turns: tuple[int, ...] = (0,)


@dataclass(frozen=True)
class Ground:
    """A sheet from 0, 0 to ``length`` and ``width``; parts keep off its edges by ``margin`` and off spoilt boxes."""

    length: float
    width: float
    margin: float = 0.0
    price: float = 0.0
    spoilt: tuple[Box, ...] = ()


@dataclass(frozen=True)
class Laid:
    """One part on a sheet: turned about its own 0, 0, then moved by ``x`` and ``y``."""

    part: int
    turn: int
    x: float
    y: float
    ground: int


@dataclass(frozen=True)
class Nest:
    """All parts on their sheets; ``reach`` is how far along the last sheet of those that are used they go."""

    laid: tuple[Laid, ...]
    cost: float
    reach: float
    looked: int = 0
    """Places looked at."""

    @property
    def worth(self) -> tuple[float, float]:
        """What is compared: the lower the better."""
        return (round(self.cost, 6), round(self.reach, 3))


def nest(parts: Sequence[Flat], grounds: Sequence[Ground], gap: float, effort: int = 4000) -> Nest | None:
    """The best layout found with ``effort`` places looked at; None where one part is left over in all orders.

    Between parts ``gap`` mm are kept, to 0.001 mm. ``grounds`` are used in their order.
    """
    pieces = [i for i, part in enumerate(parts) for _ in range(part.count)]
    if not pieces:
        return None
    table = _Table(parts, grounds, gap)
    best: Nest | None = None
    order: list[int] = []
    for measure in (_area, _longest, _widest):
        first = sorted(pieces, key=lambda i: (-round(measure(parts[i].area), 3), i))
        found = table.lay(first)
        if found is not None and (best is None or found.worth < best.worth):
            best, order = found, first
        order = order or first
    drawn = random.Random(len(pieces))
    while table.looked < effort and len(pieces) > 1 and not _is_shortest(best, parts, grounds):
        other = _altered(order, drawn)
        found = None if other == order else table.lay(other)
        if found is not None and (best is None or found.worth <= best.worth):
            best, order = found, other
        table.looked += 1
    return None if best is None else replace(best, looked=table.looked)


def _is_shortest(found: Nest | None, parts: Sequence[Flat], grounds: Sequence[Ground]) -> bool:
    """One sheet, of the cheapest, used no farther along than its longest part takes, or all parts by their area."""
    if found is None:
        return False
    used = {item.ground for item in found.laid}
    ground = grounds[min(used)]
    if len(used) > 1 or ground.price > min(g.price for g in grounds):
        return False
    longest = max(min(_along(part.area, k) for k in part.turns) for part in parts)
    by_area = sum(part.area.area * part.count for part in parts) / (ground.width - 2 * ground.margin)
    return found.reach <= ground.margin + max(longest, by_area) + NEAR


def _along(area: Polygon, turn: int) -> float:
    x0, _, x1, _ = turned(area, turn).bounds
    return float(x1 - x0)


def _altered(order: Sequence[int], drawn: random.Random) -> list[int]:
    """Two exchanged, or one moved to another place."""
    other = list(order)
    i, j = drawn.randrange(len(order)), drawn.randrange(len(order))
    if drawn.random() < 0.5:
        other[i], other[j] = other[j], other[i]
    else:
        other.insert(j, other.pop(i))
    return other


def _area(shape: Polygon) -> float:
    return float(shape.area)


def _longest(shape: Polygon) -> float:
    x0, y0, x1, y1 = shape.bounds
    return max(x1 - x0, y1 - y0)


def _widest(shape: Polygon) -> float:
    x0, y0, x1, y1 = shape.bounds
    return min(x1 - x0, y1 - y0)


@dataclass
class _Sheet:
    """A sheet as it fills. ``free`` holds where the 0, 0 of a part in a turn may be, after ``seen`` parts."""

    laid: tuple[Laid, ...] = ()
    free: dict[tuple[int, int], tuple[Geometry, int]] = field(default_factory=dict)


class _Table:
    def __init__(self, parts: Sequence[Flat], grounds: Sequence[Ground], gap: float) -> None:
        self._parts, self._grounds = parts, grounds
        self.looked = 0
        narrow = min(min(b[2] - b[0], b[3] - b[1]) for b in (p.area.bounds for p in parts))
        wide = [grown(p.area, gap / 2, narrow) for p in parts]
        # spoilt boxes are parts that are laid already
        self._boxes = [
            shapely.box(*b).buffer(gap / 2 - SLACK, join_style="mitre") for g in grounds for b in g.spoilt
        ]
        self._fits = NoFits([convex_pieces(p) for p in [*wide, *self._boxes]])
        self._sheets: list[tuple[tuple[int, ...], tuple[_Sheet, ...]]] = []
        """Of the order tried last: the sheets after each part, so that a like order starts from there."""

    def lay(self, order: Sequence[int]) -> Nest | None:
        """All parts in this order; None where one finds no place."""
        kept = 0
        while kept < len(self._sheets) and self._sheets[kept][0] == tuple(order[: kept + 1]):
            kept += 1
        del self._sheets[kept:]
        sheets = self._sheets[-1][1] if self._sheets else self._fresh()
        for n in range(kept, len(order)):
            after = self._with(sheets, order[n])
            if after is None:
                return None
            sheets = after
            self._sheets.append((tuple(order[: n + 1]), sheets))
        return self._nest(sheets)

    def _fresh(self) -> tuple[_Sheet, ...]:
        found, n = [], len(self._parts)
        for k, ground in enumerate(self._grounds):
            found.append(_Sheet(tuple(Laid(n + i, 0, 0.0, 0.0, k) for i in range(len(ground.spoilt)))))
            n += len(ground.spoilt)
        return tuple(found)

    def _nest(self, sheets: Sequence[_Sheet]) -> Nest:
        laid = [item for sheet in sheets for item in sheet.laid if item.part < len(self._parts)]
        used = sorted({item.ground for item in laid})
        last = [item for item in laid if item.ground == used[-1]]
        reach = max(item.x + turned(self._parts[item.part].area, item.turn).bounds[2] for item in last)
        return Nest(tuple(laid), sum(self._grounds[k].price for k in used), reach)

    def _with(self, sheets: tuple[_Sheet, ...], part: int) -> tuple[_Sheet, ...] | None:
        for k, sheet in enumerate(sheets):
            places = [p for turn in self._parts[part].turns for p in self._places(sheet, k, part, turn)]
            if places:
                *_, turn, x, y = min(places)
                laid = Laid(part, turn, x, y, k)
                return (*sheets[:k], _Sheet((*sheet.laid, laid), dict(sheet.free)), *sheets[k + 1 :])
        return None

    def _places(
        self, sheet: _Sheet, k: int, part: int, turn: int
    ) -> list[tuple[float, float, int, float, float]]:
        """Far side, height, turn and place of the best place of a part in one turn; none where it has none."""
        ground = self._grounds[k]
        x0, y0, x1, y1 = turned(self._parts[part].area, turn).bounds
        low = (ground.margin - x0, ground.margin - y0)
        high = (ground.length - ground.margin - x1, ground.width - ground.margin - y1)
        if high[0] < low[0] - SLACK or high[1] < low[1] - SLACK:
            return []
        free, seen = sheet.free.get((part, turn), (None, 0))
        if free is None:
            free = shapely.box(low[0] - SLACK, low[1] - SLACK, high[0] + SLACK, high[1] + SLACK)
        for item in sheet.laid[seen:]:
            if free.is_empty:
                break
            barred = self._fits.of((item.part, item.turn), (part, turn))
            free = free.difference(shifted(barred, item.x, item.y))
            self.looked += 1
        sheet.free[(part, turn)] = (free, len(sheet.laid))
        if free.is_empty:
            return []
        points = shapely.get_coordinates(free).tolist()
        x, y = min(points, key=lambda p: (round(p[0], 3), round(p[1], 3)))
        x, y = (round(min(max(v, a), max(a, b)), 6) + 0.0 for v, a, b in zip((x, y), low, high, strict=True))
        return [(round(x + x1, 3), round(y + y0, 3), turn, x, y)]


def placed_area(part: Flat, laid: Laid) -> Polygon:
    """The area of a part where it lies."""
    return shifted(turned(part.area, laid.turn), laid.x, laid.y)


def depths_in_openings(parts: Sequence[Flat], laid: Sequence[Laid]) -> list[int]:
    """In how many other parts' openings each part lies."""
    areas = [placed_area(parts[item.part], item) for item in laid]
    filled = [Polygon(a.exterior) for a in areas]
    return [sum(f.contains(a) for j, f in enumerate(filled) if j != i) for i, a in enumerate(areas)]


def nest_faults(
    parts: Sequence[Flat], grounds: Sequence[Ground], laid: Sequence[Laid], gap: float
) -> tuple[str, ...]:
    """Why parts do not lie as they should, judged by their outlines alone; empty for a sound layout."""
    found: list[str] = []
    for k, ground in enumerate(grounds):
        areas = [placed_area(parts[item.part], item) for item in laid if item.ground == k]
        m = ground.margin - NEAR
        room = shapely.box(m, m, ground.length - m, ground.width - m)
        found += [f"a part leaves its sheet at {a.centroid}" for a in areas if not room.contains(a)]
        everything = np.array([*areas, *(shapely.box(*b) for b in ground.spoilt)], dtype=object)
        # each a little less, so that with no gap at all parts may touch
        everything = shapely.buffer(everything, -NEAR / 2, join_style="mitre")
        tree = shapely.STRtree(everything)
        for i, j in sorted(zip(*tree.query(everything, "dwithin", gap).tolist(), strict=True)):
            if i < j < len(areas) or i < len(areas) <= j:
                found.append(f"two parts lie too near at {everything[i].centroid}")
    for i, part in enumerate(parts):
        mine = [item for item in laid if item.part == i]
        if len(mine) != part.count or any(item.turn not in part.turns for item in mine):
            found.append(f"part {i} is not there as often, or not as, it should lie")
    return tuple(found)
