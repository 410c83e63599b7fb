"""How a drawing at full size is parted over sheets: turn, sheet upright or lying, and where the seams run.

Tiles are counted that the lines run over, not those of the box round them. A tile shows its *cell* and half an
overlap beyond it; what runs out of a cell by less than that needs no neighbour. Tried are the directions of the
hull's edges with both ways to lay the sheet, and seams that leave the room left over before, after or on both sides,
or that pass a corner at a distance. Among the fewest tiles stand first those whose seams keep 10 mm off corners and
holes (drawing guide, section 4), then those that are not turned.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from plangen.geometry.curve_windows import length_at_most
from plangen.geometry.curves import Curve, Vec2

MARGIN = 3.0
"""Millimetres between the lines and the edge of the paper's field."""
_CLEAR = 10.0
"""Millimetres that a seam keeps off corners and holes where it can."""
_SPACING = 3.0
"""Millimetres between the points by which tiles are counted."""
_SHOWN = 1.0
"""Millimetres inside a tile's edge where a line still counts as shown."""
_TURNS = 6
"""Directions of hull edges that are tried, the longest first."""
_CORNERS = 6
"""Corners that seams are tried beside, on each axis."""
_PLAIN = 3
"""Ways to share the room left over, on each axis."""
_SAME = 1e-6


@dataclass(frozen=True)
class Tiling:
    """Seams over a drawing that is turned by ``turn`` (cosine, sine) about 0, 0."""

    turn: Vec2
    upright: bool
    size: Vec2
    """Of the field that a tile shows, mm."""
    overlap: float
    origin: Vec2
    """Lower left corner of the lowest, leftmost field, in the turned drawing."""
    columns: int
    rows: int
    kept: tuple[tuple[int, int], ...]
    """(row from the top, column from the left) of the tiles that are printed, in order."""

    @property
    def step(self) -> Vec2:
        return (self.size[0] - self.overlap, self.size[1] - self.overlap)

    def field(self, tile: tuple[int, int]) -> tuple[float, float, float, float]:
        """What a tile shows of the turned drawing."""
        row, column = tile
        x = self.origin[0] + column * self.step[0]
        y = self.origin[1] + (self.rows - 1 - row) * self.step[1]
        return (x, y, x + self.size[0], y + self.size[1])


def choose_tiling(
    lines: Sequence[Curve], spots: Sequence[Vec2], fields: Sequence[tuple[bool, Vec2]], overlap: float
) -> Tiling:
    """The tiling with the fewest tiles. ``spots`` are the middles of holes; ``fields`` are the fields that the sheet
    has upright (True) and lying, mm."""
    points = np.array([p for c in lines for p in _points(c)])
    corners = np.array([*(c.start for c in lines), *spots])
    best: tuple[tuple[float, ...], Tiling] | None = None
    order = 0
    for turn in _turns(lines):
        laid, laid_corners = _turned(points, turn), _turned(corners, turn)
        for upright, size in fields:
            for tiling in _tilings(laid, laid_corners, turn, upright, size, overlap, best):
                if best is not None and len(tiling.kept) > best[0][0]:
                    continue
                rank = (len(tiling.kept), _near_seams(tiling, laid_corners), *_turned_much(turn), order)
                order += 1
                if best is None or rank < best[0]:
                    best = (rank, tiling)
    assert best is not None
    return best[1]


def _turned_much(turn: Vec2) -> tuple[float, float]:
    """Not turned first, then a quarter turn, then the least turn."""
    angle = abs(math.degrees(math.atan2(turn[1], turn[0])))
    return (0.0 if angle < _SAME else 1.0 if abs(angle - 90) < _SAME else 2.0, round(angle, 6))


def _points(curve: Curve) -> Iterator[Vec2]:
    n = max(2, math.ceil(length_at_most(curve) / _SPACING))
    return (curve.at(i / n) for i in range(n + 1))


def _turned(points: np.ndarray, turn: Vec2) -> np.ndarray:
    c, s = turn
    return np.stack([points[:, 0] * c - points[:, 1] * s, points[:, 0] * s + points[:, 1] * c], axis=1)


def _turns(lines: Sequence[Curve]) -> list[Vec2]:
    """No turn, a quarter turn, and what lays long edges of the hull level or upright."""
    found: list[Vec2] = [(1.0, 0.0), (0.0, 1.0)]
    known = {0.0, 90.0}
    for along in hull_edges([p for c in lines for p in (c.start, c.at(0.25), c.at(0.5), c.at(0.75))])[
        :_TURNS
    ]:
        for quarter in (0, 90):
            angle = round((quarter - math.degrees(math.atan2(along[1], along[0]))) % 180, 4)
            if angle not in known and angle != 180.0:
                known.add(angle)
                found.append((math.cos(math.radians(angle)), math.sin(math.radians(angle))))
    return found


def hull_edges(points: Sequence[Vec2]) -> list[Vec2]:
    """Edges of the convex hull as vectors, the longest first."""
    order = sorted({(round(x, 6), round(y, 6)) for x, y in points})
    halves = []
    for way in (order, order[::-1]):
        chain: list[Vec2] = []
        for p in way:
            while len(chain) > 1 and _bend(chain[-2], chain[-1], p) <= _SAME:
                chain.pop()
            chain.append(p)
        halves.append(chain[:-1])
    ring = halves[0] + halves[1]
    edges = [(b[0] - a[0], b[1] - a[1]) for a, b in zip(ring, ring[1:] + ring[:1], strict=True)]
    return sorted(edges, key=lambda e: (-round(math.hypot(*e), 3), e))


def _bend(a: Vec2, b: Vec2, c: Vec2) -> float:
    return (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])


def _tilings(
    points: np.ndarray,
    corners: np.ndarray,
    turn: Vec2,
    upright: bool,
    size: Vec2,
    overlap: float,
    best: tuple[tuple[float, ...], Tiling] | None,
) -> Iterator[Tiling]:
    low, high = points.min(axis=0), points.max(axis=0)
    counts, origins = [], []
    for axis in (0, 1):
        step = size[axis] - overlap
        needed = float(high[axis] - low[axis]) + 2 * MARGIN - overlap
        count = max(1, math.ceil(round(needed / step, 6)))
        spare = count * step - needed
        start = float(low[axis]) - MARGIN
        counts.append(count)
        origins.append(_origins(start, spare, step, overlap, count, corners[:, axis]))
    # the lines hang together, so that they run over at least as many tiles as one row has
    if best is not None and max(counts) > best[0][0]:
        return
    least = math.inf if best is None else best[0][0]
    plain = [(x, y) for x in origins[0][:_PLAIN] for y in origins[1][:_PLAIN]]
    more = [(x, y) for x in origins[0] for y in origins[1] if (x, y) not in plain]
    fewest = math.inf
    for i, origin in enumerate((*plain, *more)):
        # seams beside corners are tried where room shared plainly does as well as the best so far
        if i == len(plain) and (fewest > least or fewest == 1):
            return
        bare = Tiling(turn, upright, size, overlap, origin, counts[0], counts[1], ())
        kept = tuple(_kept(bare, points))
        fewest = min(fewest, len(kept))
        yield replace(bare, kept=kept)


def _origins(
    start: float, spare: float, step: float, overlap: float, count: int, corners: np.ndarray
) -> list[float]:
    """Where the first field may begin: spare room shared, and seams that pass a corner by."""
    found = [start - spare / 2] if count == 1 else [start, start - spare, start - spare / 2]
    if count > 1:
        for corner in np.unique(np.round(corners, 3))[:: max(1, len(corners) // _CORNERS)]:
            for beside in (-_CLEAR - 1, _CLEAR + 1):
                back = (float(corner) + beside - overlap / 2 - start) % step
                if back - step >= -spare:
                    found.append(start + back - step)
    return list(dict.fromkeys(round(v, 3) for v in found))


def _kept(tiling: Tiling, points: np.ndarray) -> list[tuple[int, int]]:
    """The tiles that the lines need, joined to one another."""
    across = [_between(points[:, 0], tiling.field((0, c)), 0) for c in range(tiling.columns)]
    down = [_between(points[:, 1], tiling.field((r, 0)), 1) for r in range(tiling.rows)]
    shown = {(r, c): y & x for r, y in enumerate(down) for c, x in enumerate(across)}
    counts = {t: int(np.count_nonzero(s)) for t, s in shown.items()}
    needed = {t for t, n in counts.items() if n}
    if len(needed) < 2:
        return sorted(needed)
    total = np.zeros(len(points), dtype=np.int16)
    for t in sorted(needed):
        total += shown[t]
    for t in sorted(needed, key=lambda t: (counts[t], t)):
        if not np.any(shown[t] & (total < 2)):
            total -= shown[t]
            needed.remove(t)
    return sorted(_joined(needed))


def _between(places: np.ndarray, field: tuple[float, float, float, float], axis: int) -> np.ndarray:
    shown: np.ndarray = (places >= field[axis] + _SHOWN) & (places <= field[axis + 2] - _SHOWN)
    return shown


def _joined(kept: set[tuple[int, int]]) -> set[tuple[int, int]]:
    """With the blank tiles that hold groups apart together, by the shortest ways along row, then column."""
    groups = _groups(kept)
    while len(groups) > 1:
        first = groups[0]
        pairs = [(abs(a[0] - b[0]) + abs(a[1] - b[1]), a, b) for a in first for g in groups[1:] for b in g]
        _, a, b = min(pairs)
        way = 1 if b[1] > a[1] else -1
        kept |= {(a[0], c) for c in range(a[1], b[1] + way, way)}
        low, high = sorted((a[0], b[0]))
        kept |= {(r, b[1]) for r in range(low, high + 1)}
        groups = _groups(kept)
    return kept


def _groups(kept: set[tuple[int, int]]) -> list[list[tuple[int, int]]]:
    left, groups = sorted(kept), []
    while left:
        group = [left.pop(0)]
        for tile in group:
            beside = [t for t in left if abs(t[0] - tile[0]) + abs(t[1] - tile[1]) == 1]
            group += beside
            left = [t for t in left if t not in beside]
        groups.append(sorted(group))
    return groups


def _near_seams(tiling: Tiling, corners: np.ndarray) -> int:
    """Corners and holes nearer to a seam than they should be."""
    near = np.zeros(len(corners), dtype=bool)
    for axis, count in ((0, tiling.columns), (1, tiling.rows)):
        for i in range(1, count):
            seam = tiling.origin[axis] + i * tiling.step[axis] + tiling.overlap / 2
            near |= np.abs(corners[:, axis] - seam) < _CLEAR
    return int(near.sum())
