"""What no layout can cost less than: areas seen through dual feasible functions (Fekete and Schepers 2001).

Such a function turns lengths into others so that parts that fit side by side still do. Applied along both sides of
parts and sheets, the areas of the new parts must still be covered by the new sheets. The step function is that of
Carlier, Clautiaux and Moukrim 2007 (from memory; tests/stock hold both against brute force). Whole numbers only.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterable, Iterator, Sequence
from operator import mul

from plangen.stock.sheets.asked import Asked

Lengths = tuple[int, ...]
"""Transformed lengths: of the parts' lengths, then of their widths, then of the sheets' sides."""

_MOST_SUMS = 2000
"""Sums of costs looked at, when a bound is rounded up to one."""


def least_cost(asked: Asked, thorough: bool) -> float:
    """The bound, in the unit of the costs; ``thorough`` tries every function, otherwise a few of each family."""
    usable = [k for k, size in enumerate(asked.sheets) if min(size) > 0 and asked.stock[k].count != 0]
    wanted = [p for p, part in enumerate(asked.parts) if part.quantity]
    if not wanted:
        return 0.0
    along = _functions(asked, wanted, usable, 0, thorough)
    across = _functions(asked, wanted, usable, 1, thorough)
    many = [asked.parts[p].quantity for p in wanted]
    turns = [[asked.turns[p][k] for k in usable] for p in wanted]
    upright = [any(t & 1 for t in row) for row in turns]
    turned = [any(t & 2 for t in row) for row in turns]
    costs = [asked.costs[k] for k in usable]
    counts = [asked.stock[k].count for k in usable]
    n = len(wanted)
    best = 0.0
    for u in along:
        for v in across:
            flat = map(mul, u[:n], v[n : 2 * n])
            areas = (
                list(flat)
                if not any(turned)
                else list(_least(flat, map(mul, u[n : 2 * n], v[:n]), upright, turned))
            )
            need = sum(map(mul, areas, many))
            rooms = list(map(mul, u[2 * n :], v[2 * n :]))
            best = max(best, _cover(need, rooms, costs, counts))
    return rounded_up(asked, best)


def _least(
    flat: Iterable[int], high: Iterable[int], upright: Iterable[bool], turned: Iterable[bool]
) -> Iterator[int]:
    """The lesser area of a part as it is and turned, of what it may be."""
    for a, b, up, over in zip(flat, high, upright, turned, strict=True):
        yield min(a, b) if up and over else a if up else b


def _cover(need: int, rooms: Sequence[int], costs: Sequence[float], counts: Sequence[int | None]) -> float:
    """The least cost of sheets, also of parts of a sheet, whose rooms add up to the need."""
    if len(rooms) == 1:
        return -(-need // rooms[0]) * costs[0] if rooms[0] else 0.0
    cost = 0.0
    for k in sorted((k for k in range(len(rooms)) if rooms[k] > 0), key=lambda k: costs[k] / rooms[k]):
        most = counts[k]
        if most is None or rooms[k] * most >= need:
            cost += costs[k] * need / rooms[k]
            break
        cost += costs[k] * most
        need -= rooms[k] * most
    return cost


def rounded_up(asked: Asked, cost: float) -> float:
    """The least that whole sheets, each at its cost, come to without being cheaper than ``cost``.

    With many sums of different costs below it ``cost`` itself.
    """
    usable = [k for k, size in enumerate(asked.sheets) if min(size) > 0 and asked.stock[k].count != 0]
    costs = sorted({asked.costs[k] for k in usable if asked.costs[k] > 0})
    if not costs:
        return cost
    enough = cost - costs[0] * 1e-6
    if len(costs) == 1:
        return math.ceil(enough / costs[0]) * costs[0]
    sums, seen = [0.0], {0.0}
    for _ in range(_MOST_SUMS):
        total = heapq.heappop(sums)
        if total >= enough:
            return total
        for c in costs:
            if (more := round(total + c, 6)) not in seen:
                seen.add(more)
                heapq.heappush(sums, more)
    return cost


def _functions(
    asked: Asked, wanted: Sequence[int], usable: Sequence[int], axis: int, thorough: bool
) -> list[Lengths]:
    """The lengths seen through each function that differs from the others, along one axis of the sheets."""
    sides = [asked.sheets[k][axis] for k in usable]
    lengths = [asked.sizes[p][0] for p in wanted] + [asked.sizes[p][1] for p in wanted] + sides
    whole = max(sides)
    seen = dict.fromkeys([tuple(min(x, whole) for x in lengths)])
    own = sorted({x for x in lengths[: -len(sides)] if 2 * x <= whole} | {whole // 2 + 1})
    other = sorted({whole - x + 1 for x in lengths if whole < 2 * x <= 2 * whole and whole - x + 1 > 0})
    if not thorough:
        own, other = own[:: max(1, len(own) // 8)], other[:: max(1, len(other) // 4)]
    for e in (*own, *other):
        if 2 * e <= whole + 1:
            seen[tuple(_cut_off(min(x, whole), e, whole) for x in lengths)] = None
            seen[tuple(_steps(min(x, whole), e, whole) for x in lengths)] = None
    for k in (1, 2, 3, 4, 5, 6):
        seen[tuple(_rounded(min(x, whole), k, whole) for x in lengths)] = None
    return list(seen)


def _cut_off(x: int, e: int, whole: int) -> int:
    """Lengths under ``e`` vanish, what leaves less than ``e`` counts as the whole."""
    return whole if x > whole - e else x if x >= e else 0


def _steps(x: int, e: int, whole: int) -> int:
    """How many times ``e`` goes into a length; for a long one, what it keeps the rest of the whole from holding."""
    if 2 * x > whole:
        return 2 * (whole // e - (whole - x) // e)
    return whole // e if 2 * x == whole else 2 * (x // e)


def _rounded(x: int, k: int, whole: int) -> int:
    """A length in ``k`` parts of the whole, rounded down unless it is a whole number of ``k`` + 1 parts."""
    return (k + 1) * x * k if (k + 1) * x % whole == 0 else (k + 1) * (((k + 1) * x) // whole) * whole
