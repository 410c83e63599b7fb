"""Sheets cut into strips, and the strips across into parts: patterns that pay, by column generation.

Strong where many parts are alike (Gilmore and Gomory 1965, from memory): the duals of the covering program price the
parts, and the pattern of greatest worth is found by two knapsacks, first within the strips, then of the strips. Each
strip is as wide as its widest part; a narrower one is trimmed. No pattern holds more of a part than is asked for.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from plangen.stock.sheets.asked import Asked, Kind
from plangen.stock.sheets.pool import Pool, Row, prices
from plangen.stock.sheets.trees import FREE

_GRID = 4096
"""Cells that a side is divided into at most; lengths are rounded up to whole cells."""

_PAYS = 1e-6


@dataclass(frozen=True)
class _Item:
    """A part in one of its ways: along the strips' thickness, and along the strip."""

    part: int
    turned: int
    thick: int
    long: int
    most: int


@dataclass(frozen=True)
class _Strip:
    """Items along one strip, and their worth."""

    thick: int
    worth: float
    items: tuple[_Item, ...]


def generate(asked: Asked, kinds: Sequence[Kind], first: Sequence[int], pool: Pool, rounds: int) -> None:
    """Adds patterns of strips to the pool until none pays or the rounds are used up.

    ``first`` is, by kind, the index of its first fixed structure. Kinds with keep-outs are left alone.
    """
    for _ in range(rounds):
        worth, room = prices(asked, [asked.costs[k.stock] for k in kinds], [k.stock for k in kinds], pool)
        if not worth:
            return
        found = False
        for index, kind in enumerate(kinds):
            if len(kind.nodes) > 1:
                continue
            ways = (0, 1) if asked.stages >= FREE and not kind.strict else (kind.nodes[0].dir,)
            for way in ways:
                strips = _best(asked, kind, way, worth)
                if sum(s.worth for s in strips) <= (asked.costs[kind.stock] - room[kind.stock]) * (1 + _PAYS):
                    continue
                content = Counter(i.part for s in strips for i in s.items)
                key = (index, tuple(sorted(content.items())))
                if key not in pool.met:
                    pool.met[key] = _rows(kind, way, strips, first[index])
                    found = True
        if not found:
            return


def _best(asked: Asked, kind: Kind, way: int, worth: Sequence[float]) -> list[_Strip]:
    """The strips of greatest worth on one sheet, by thickness across the direction ``way``."""
    size = kind.size
    items = []
    for part, asked_for in enumerate(asked.parts):
        turns = asked.turns[part][kind.stock]
        for turned in (0, 1):
            x, y = asked.sizes[part] if not turned else asked.sizes[part][::-1]
            thick, long = (x, y) if way == 0 else (y, x)
            if turns & (turned + 1) and asked_for.quantity and worth[part] > 0:
                most = min(asked_for.quantity, size[1 - way] // long)
                if most and thick <= size[way]:
                    items.append(_Item(part, turned, thick, long, most))
    items.sort(key=lambda i: (i.thick, i.part, i.turned))
    strips = _strips(items, size[1 - way], worth)
    many = {k: part.quantity for k, part in enumerate(asked.parts)}
    bounds = [
        min(size[way] // s.thick, *(many[p] // n for p, n in Counter(i.part for i in s.items).items()))
        for s in strips
    ]
    counts = _knapsack([s.thick for s in strips], [s.worth for s in strips], bounds, size[way])
    chosen = [s for s, n in zip(strips, counts, strict=True) for _ in range(n)]
    return _within(chosen, many, worth)


def _within(chosen: Sequence[_Strip], many: dict[int, int], worth: Sequence[float]) -> list[_Strip]:
    """The strips without what is more than asked for."""
    left = dict(many)
    kept = []
    for strip in chosen:
        items = []
        for item in strip.items:
            if left[item.part]:
                left[item.part] -= 1
                items.append(item)
        if items:
            kept.append(_Strip(strip.thick, sum(worth[i.part] for i in items), tuple(items)))
    return kept


def _strips(items: Sequence[_Item], room: int, worth: Sequence[float]) -> list[_Strip]:
    """The best strip of each thickness that some part has."""
    found: list[_Strip] = []
    for end, item in enumerate(items, 1):
        if end < len(items) and items[end].thick == item.thick:
            continue
        some = items[:end]
        counts = _knapsack(
            [i.long for i in some], [worth[i.part] for i in some], [i.most for i in some], room
        )
        inside = tuple(i for i, n in zip(some, counts, strict=True) for _ in range(n))
        if inside:
            thick = max(i.thick for i in inside)
            if not found or thick > found[-1].thick:
                found.append(_Strip(thick, sum(worth[i.part] for i in inside), inside))
    return found


def _knapsack(sizes: Sequence[int], worth: Sequence[float], most: Sequence[int], room: int) -> list[int]:
    """How many of each, at most ``most``, are worth most in a room; sizes rounded up to its cells."""
    cells = min(room, _GRID)
    best = np.zeros(cells + 1)
    taken: list[tuple[int, int, np.ndarray]] = []
    for k, size in enumerate(sizes):
        wide = -(-size * cells // room)
        left, bundle = most[k], 1
        while left > 0:
            n = min(bundle, left)
            left -= n
            bundle *= 2
            if n * wide > cells:
                break
            other = best[: cells + 1 - n * wide] + n * worth[k]
            better = np.zeros(cells + 1, dtype=bool)
            better[n * wide :] = other > best[n * wide :] + 1e-12
            best[n * wide :] = np.where(better[n * wide :], other, best[n * wide :])
            taken.append((k, n, better))
    counts = [0] * len(sizes)
    at = cells
    for k, n, better in reversed(taken):
        if better[at]:
            counts[k] += n
            at -= n * -(-sizes[k] * cells // room)
    return counts


def _rows(kind: Kind, way: int, strips: Sequence[_Strip], origin: int) -> tuple[Row, ...]:
    """The pattern as the tree that the search would know it by."""
    size = kind.size
    root = kind.nodes[0].dir
    across = size[1 - way]
    used = sum(s.thick for s in strips)
    rows: list[Row] = []
    if root == way:
        rows.append((0, -1, root, -1, *size, size[way] - used, origin))
    else:
        rows.append((0, -1, root, -1, *size, 0, origin))
        rows.append((1, 0, way, -1, *size, size[way] - used, -1))
    top = len(rows) - 1
    parts: list[Row] = []
    for strip in strips:
        here = len(rows)
        rest = across - sum(i.long for i in strip.items)
        rows.append((here, top, 1 - way, -1, *_sides(way, strip.thick, across), rest, -1))
        for item in strip.items:
            up = here
            if item.thick < strip.thick:
                up = len(rows)
                rows.append(
                    (up, here, way, -1, *_sides(way, strip.thick, item.long), strip.thick - item.thick, -1)
                )
            parts.append((-1, up, item.turned, item.part, *_sides(way, item.thick, item.long), 0, -1))
    return (*rows, *parts)


def _sides(way: int, along: int, across: int) -> tuple[int, int]:
    return (along, across) if way == 0 else (across, along)
