"""The most valuable lot of pieces for a clear length: a bounded knapsack in whole numbers.

By dynamic programming over the lengths (Bellman): table ``F[j][c]`` is the most that the first j lots are worth in a
length c. A kind with demand d comes in lots of 1, 2, 4, ... pieces, so that few lots make every number up to d.

Where the lengths are many, the tables stand on a coarser grid: with pieces rounded up to it every pattern fits, with
pieces rounded down no pattern is missed, so that its worth bounds the best.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

Ints: TypeAlias = npt.NDArray[np.int64]


class Knapsack:
    """Tables for sizes and bounds that stay, filled anew for each set of values.

    ``cells`` is the grid's length for ``capacity``, ``up`` whether pieces are rounded up to it.
    """

    def __init__(
        self, sizes: Sequence[int], bounds: Sequence[int], capacity: int, cells: int, up: bool
    ) -> None:
        self.cells = min(capacity, cells)
        self.capacity = capacity
        self.exact = capacity <= cells
        self.kinds = len(sizes)
        self.lots: list[tuple[int, int, int]] = []  # kind, pieces, size in cells
        self.ends: list[int] = []  # lots up to and with each kind
        for kind, (size, bound) in enumerate(zip(sizes, bounds, strict=True)):
            grid = -(-size * self.cells // capacity) if up else size * self.cells // capacity
            most, step = min(bound, capacity // size), 1
            while most > 0:
                many = min(step, most)
                self.lots.append((kind, many, many * grid))
                most -= many
                step *= 2
            self.ends.append(len(self.lots))
        rows = len(self.lots) + 1
        self.front = np.zeros((rows, self.cells + 1), np.int64)
        self._back: Ints | None = None
        self.values = np.zeros(self.kinds, np.int64)

    def room(self, size: int) -> int:
        """A clear length in cells."""
        return size * self.cells // self.capacity

    def fill(self, values: Ints) -> None:
        """The tables for these values, whole and not negative."""
        self.values = values
        _fill(self.front, [(w, int(values[kind]) * many) for kind, many, w in self.lots])

    def fill_back(self) -> Ints:
        """The table of the last lots: ``G[j][c]`` for the last j of them."""
        if self._back is None:
            self._back = np.zeros_like(self.front)
        _fill(self._back, [(w, int(self.values[kind]) * many) for kind, many, w in reversed(self.lots)])
        return self._back

    def best(self, size: int) -> int:
        """The most that a clear length can be worth."""
        return int(self.front[-1, self.room(size)])

    def through(self, size: int, above: int, back: Ints) -> Ints:
        """For each lot the best pattern that holds it, if it is worth more than ``above``: a row of counts each."""
        room = self.room(size)
        total = len(self.lots)
        lots, front_rooms, back_rooms = [], [], []
        for j, (kind, many, own) in enumerate(self.lots):
            if own > room:
                continue
            free = room - own
            both = self.front[j, : free + 1] + back[total - 1 - j, free::-1]
            at = int(both.argmax())
            if int(self.values[kind]) * many + int(both[at]) > above:
                lots.append(j)
                front_rooms.append(at)
                back_rooms.append(free - at)
        counts = np.zeros((len(lots), self.kinds), np.int64)
        for row, j in enumerate(lots):
            counts[row, self.lots[j][0]] = self.lots[j][1]
        self._take(self.front, self.lots, np.array(lots, np.int64), np.array(front_rooms, np.int64), counts)
        behind = total - 1 - np.array(lots[::-1], np.int64)
        rest = np.array(back_rooms[::-1], np.int64)
        self._take(back, self.lots[::-1], behind, rest, counts[::-1])
        return counts

    @staticmethod
    def _take(
        table: Ints, lots: Sequence[tuple[int, int, int]], rows: Ints, rooms: Ints, counts: Ints
    ) -> None:
        """Adds to the counts what the best of a table's first ``rows`` lots is made of; the rows grow."""
        first = np.searchsorted(rows, np.arange(len(lots)), side="right")
        for j in range(int(rows.max(initial=0)) - 1, -1, -1):
            kind, many, size = lots[j]
            start = int(first[j])
            here = rooms[start:]
            taken = np.nonzero(table[j + 1, here] != table[j, here])[0]
            if len(taken):
                counts[start + taken, kind] += many
                rooms[start + taken] -= size


def _fill(table: Ints, items: Sequence[tuple[int, int]]) -> None:
    for j, (size, worth) in enumerate(items):
        above, row = table[j], table[j + 1]
        if size == 0:
            np.add(above, worth, out=row)
        elif size >= len(row):
            row[:] = above
        else:
            row[:size] = above[:size]
            np.add(above[:-size], worth, out=row[size:])
            np.maximum(row[size:], above[size:], out=row[size:])
