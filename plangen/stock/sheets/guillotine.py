"""What no layout can cost less than, by the linear program over every pattern that edge-to-edge cuts can make.

Parts are priced by the duals of a covering program; the most that a sheet can hold at these prices is found by
dividing it, and every piece of it, at sums of parts' sizes (Gilmore and Gomory 1966, the recursion from memory). A
pattern may hold a part more often than it is asked for, and is free of stages, first cuts and keep-outs: all of that
only lowers the bound. Prices scaled down until no sheet holds more than it costs bound every layout (Farley 1990,
from memory).
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from plangen.stock.sheets.asked import Asked
from plangen.stock.sheets.bound import rounded_up
from plangen.stock.sheets.compiled import compiled_filling

_MOST_POINTS = 3000
"""Places of cuts along a side; with more the bound is left as it was."""

_DEAR = 10.0
"""What a part costs that lies on no sheet, in the dearest sheets: so that the program begins with an answer."""

_PAYS = 1e-9

_WORTH_COMPILING = 20_000_000
"""Steps from which on the compiled loop is worth loading; says nothing about the result, which is the same."""

Filling = Callable[[np.ndarray, Any, Any, Any, Any], Any]
"""``fill``, or what does the same."""

Content = tuple[tuple[int, int], ...]
"""How many a sheet holds of each part that it holds."""


@dataclass(frozen=True)
class _Side:
    """Where cuts may run along one side: ``at`` rises from nothing to the whole side.

    By place: ``half`` is how many places lie within half of it, and ``left`` what is left of it behind each of those.
    """

    at: tuple[int, ...]
    half: np.ndarray
    left: np.ndarray

    def places(self, size: int) -> int:
        """The first place at which a size has room."""
        return bisect_right(self.at, size - 1)


def _side(sizes: Iterable[tuple[int, int]], whole: int, most: int) -> _Side | None:
    """The places of cuts along a side: sums of ``sizes`` (size, how many); None if more than ``most``."""
    sums = {0}
    for size, many in sizes:
        for start in list(sums):
            sums.update(range(start + size, min(whole, start + many * size) + 1, size))
        if len(sums) > most:
            return None
    at = tuple(sorted(sums | {whole}))
    places = np.array(at, dtype=np.int64)
    half = np.searchsorted(places, places // 2, "right")
    left = np.zeros((len(at), int(half.max())), dtype=np.int64)
    for k, x in enumerate(at):
        left[k, : half[k]] = np.searchsorted(places, x - places[: half[k]], "right") - 1
    return _Side(at, half, left)


def fill(worth: np.ndarray, half_x: Any, left_x: Any, half_y: Any, left_y: Any) -> None:
    """Raises what each rectangle is worth uncut to what it is worth if cut as best it can be; runs compiled."""
    for i in range(worth.shape[0]):
        for j in range(worth.shape[1]):
            best = worth[i, j]
            for a in range(1, half_x[i]):
                best = max(best, worth[a, j] + worth[left_x[i, a], j])
            for a in range(1, half_y[j]):
                best = max(best, worth[i, a] + worth[i, left_y[j, a]])
            worth[i, j] = best


def fill_by_rows(worth: np.ndarray, half_x: Any, left_x: Any, half_y: Any, left_y: Any) -> None:
    """The same, many cuts at once."""
    for i in range(worth.shape[0]):
        row = worth[i]
        if half_x[i] > 1:
            cut = np.arange(1, half_x[i])
            np.maximum(row, (worth[cut] + worth[left_x[i, cut]]).max(axis=0), out=row)
        for j in range(worth.shape[1]):
            if half_y[j] > 1:
                row[j] = max(row[j], (row[1 : half_y[j]] + row[left_y[j, 1 : half_y[j]]]).max())


@dataclass(frozen=True)
class Sheet:
    """One stock as the recursion sees it: its sides, and parts as (part, length, width) for each way it may lie."""

    along: _Side
    across: _Side
    ways: tuple[tuple[int, int, int], ...]

    @property
    def steps(self) -> int:
        """Sums that one filling adds up, about."""
        x, y = len(self.along.at), len(self.across.at)
        return x * y * (x + y) // 4

    def filled(self, worth: Sequence[float], fill: Filling) -> Filled:
        """Every piece of the sheet filled as best it can be with parts of such ``worth``."""
        table = np.zeros((len(self.along.at), len(self.across.at)))
        for part, x, y in self.ways:
            room = table[self.along.places(x) :, self.across.places(y) :]
            np.maximum(room, worth[part], out=room)
        uncut = table.copy()
        fill(table, self.along.half, self.along.left, self.across.half, self.across.left)
        return Filled(self, tuple(worth), uncut, table)


@dataclass(frozen=True)
class Filled:
    """What the pieces of a sheet are worth at most, by the places of their far corner: ``uncut``, and at ``best``."""

    sheet: Sheet
    worth: tuple[float, ...]
    uncut: np.ndarray
    best: np.ndarray

    def held(self, i: int = -1, j: int = -1) -> Content:
        """What a piece holds, read back from what its pieces are worth; without places the whole sheet."""
        parts: Counter[int] = Counter()
        left = [(i % len(self.sheet.along.at), j % len(self.sheet.across.at))]
        while left:
            i, j = left.pop()
            value = self.best[i, j]
            if value <= 0.0:
                continue
            if value == self.uncut[i, j]:
                parts[self._part(i, j)] += 1
            else:
                left += self._cut(i, j)
        return tuple(sorted(parts.items()))

    def _part(self, i: int, j: int) -> int:
        """The part that a piece is best left for."""
        x, y = self.sheet.along.at[i], self.sheet.across.at[j]
        return next(
            p for p, a, b in self.sheet.ways if a <= x and b <= y and self.worth[p] == self.uncut[i, j]
        )

    def _cut(self, i: int, j: int) -> tuple[tuple[int, int], tuple[int, int]]:
        """The two pieces that a piece is best cut into."""
        for a in range(1, self.sheet.along.half[i]):
            b = int(self.sheet.along.left[i, a])
            if self.best[a, j] + self.best[b, j] == self.best[i, j]:
                return (a, j), (b, j)
        for a in range(1, self.sheet.across.half[j]):
            b = int(self.sheet.across.left[j, a])
            if self.best[i, a] + self.best[i, b] == self.best[i, j]:
                return (i, a), (i, b)
        raise AssertionError("what a piece is worth comes from its cut")


def sheet_of(asked: Asked, stock: int, most: int = _MOST_POINTS) -> Sheet | None:
    """A stock as the recursion sees it; None if cuts may run at more than ``most`` places along a side."""
    x, y = asked.sheets[stock]
    ways = [
        (part, *(size if turn == 1 else size[::-1]))
        for part, size in enumerate(asked.sizes)
        for turn in (1, 2)
        if asked.parts[part].quantity and asked.turns[part][stock] & turn
    ]
    ways = [(p, a, b) for p, a, b in dict.fromkeys(ways) if a <= x and b <= y]
    many = [asked.parts[p].quantity for p, _, _ in ways]
    along = _side(_many(((a, n) for (_, a, _), n in zip(ways, many, strict=True))), x, most)
    across = _side(_many(((b, n) for (_, _, b), n in zip(ways, many, strict=True))), y, most)
    return Sheet(along, across, tuple(ways)) if along and across else None


def _many(sizes: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    """Equal sizes together."""
    found: Counter[int] = Counter()
    for size, many in sizes:
        found[size] += many
    return sorted(found.items())


def least_by_patterns(
    asked: Asked, known: Sequence[tuple[int, Content]], bound: float, cost: float, steps: int
) -> float:
    """The bound, raised as far as patterns prove, in the unit of the costs.

    ``known`` are sheets of some layout, (stock, content), of which ``cost`` is the cost; it is the most that the
    bound can be. ``steps`` limits the work (see ``Sheet.steps``).
    """
    usable = [k for k, size in enumerate(asked.sheets) if min(size) > 0 and asked.stock[k].count != 0]
    sheets = {k: sheet_of(asked, k) for k in usable}
    if None in sheets.values():
        return bound
    fill = (compiled_filling() if steps > _WORTH_COMPILING else None) or fill_by_rows
    program = _Program(asked, known)
    each = sum(s.steps for s in sheets.values() if s)
    while steps >= each and bound < cost:
        steps -= each
        value, worth, scarce = program.prices()
        if rounded_up(asked, value) <= bound:
            break
        filled = {k: s.filled(worth, fill) for k, s in sheets.items() if s}
        most = {k: float(f.best[-1, -1]) for k, f in filled.items()}
        bound = max(bound, rounded_up(asked, _scaled(asked, worth, most)))
        pays = [
            program.add(k, f.held())
            for k, f in filled.items()
            if most[k] > (asked.costs[k] + scarce[k]) * (1 + _PAYS)
        ]
        if not any(pays):
            break
    return min(bound, cost)


def _scaled(asked: Asked, worth: Sequence[float], most: dict[int, float]) -> float:
    """What every layout costs at least: the worth of all parts, once no sheet without limit holds more than it costs.

    Sheets of which there are only so many may hold more; the surplus is taken off for each of them.
    """
    scale = min(
        (asked.costs[k] / f for k, f in most.items() if asked.stock[k].count is None and f > 0),
        default=1.0,
    )
    total = scale * sum(w * p.quantity for w, p in zip(worth, asked.parts, strict=True))
    for k, f in most.items():
        if (count := asked.stock[k].count) is not None:
            total -= count * max(0.0, scale * f - asked.costs[k])
    return total


class _Program:
    """The covering program over patterns met so far, in HiGHS: parts and scarce stocks as rows."""

    def __init__(self, asked: Asked, known: Sequence[tuple[int, Content]]) -> None:
        import highspy

        self.asked, self.met = asked, set[tuple[int, Content]]()
        self.solver, self.infinity = highspy.Highs(), highspy.kHighsInf
        for option, value in (("output_flag", False), ("threads", 1), ("random_seed", 0)):
            self.solver.setOptionValue(option, value)
        for part in asked.parts:
            self.solver.addRow(float(part.quantity), self.infinity, 0, [], [])
        for sheet in asked.stock:
            most = self.infinity if sheet.count is None else float(sheet.count)
            self.solver.addRow(-self.infinity, most, 0, [], [])
        dear = _DEAR * max(asked.costs)
        for k in range(len(asked.parts)):
            self.solver.addCol(dear, 0.0, self.infinity, 1, [k], [1.0])
        for stock, content in known:
            self.add(stock, content)

    def add(self, stock: int, content: Content) -> bool:
        """Adds a pattern; False if it was there."""
        if (stock, content) in self.met:
            return False
        self.met.add((stock, content))
        rows = [k for k, _ in content] + [len(self.asked.parts) + stock]
        counts = [float(n) for _, n in content] + [1.0]
        self.solver.addCol(self.asked.costs[stock], 0.0, self.infinity, len(rows), rows, counts)
        return True

    def prices(self) -> tuple[float, list[float], list[float]]:
        """The program's value, what each part is worth, and what a sheet of each stock is worth for being scarce."""
        self.solver.run()
        duals = list(self.solver.getSolution().row_dual)
        n = len(self.asked.parts)
        value = float(self.solver.getInfo().objective_function_value)
        return value, [max(0.0, d) for d in duals[:n]], [max(0.0, -d) for d in duals[n:]]
