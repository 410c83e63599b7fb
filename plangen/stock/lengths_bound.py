"""What no layout can cost less than, in whole numbers from any prices of the pieces (Lagrange, Farley 1990)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from plangen.stock.lengths_job import Job
from plangen.stock.lengths_pricing import Ints, Knapsack


@dataclass(frozen=True)
class Certificate:
    """``least`` whole coins; ``exact`` is the bound before rounding, in ``1 / scale`` coins.

    Every layout costs ``exact`` and, for each pattern that it uses, what the pattern is short of ``needed``.
    """

    least: int
    exact: int
    values: Ints
    needed: tuple[int, ...]


def certify(job: Job, knapsack: Knapsack, values: Ints, scale: int) -> Certificate:
    """The bound that the pieces' values (in 1 / scale coins) prove. A knapsack that is not exact must round down.

    If no clear length of a board can hold more than the board's price, all pieces cost at least what they are worth
    together; boards that can hold more, and of which there are only so many, are counted with what they hold over.
    """
    knapsack.fill(values)
    held = _held(job, knapsack)
    shrink = [
        (board.price * scale, held[b])
        for b, board in enumerate(job.boards)
        if not board.limited and held[b] > board.price * scale
    ]
    if shrink:
        over, under = min(shrink, key=lambda r: r[0] / r[1])
        values = np.array([int(v) * over // under for v in values], np.int64)
        knapsack.fill(values)
        held = _held(job, knapsack)
    exact = sum(int(v) * d for v, d in zip(values, job.demands, strict=True))
    needed = [0] * len(job.bins)
    for b, board in enumerate(job.boards):
        exact -= board.count * max(0, held[b] - board.price * scale)
        for k in board.bins:
            most = knapsack.best(job.bins[k].size)
            needed[k] = max(most, board.price * scale) if len(board.bins) == 1 else most
    return Certificate(-(-exact // scale), exact, values, tuple(needed))


def _held(job: Job, knapsack: Knapsack) -> list[int]:
    return [sum(knapsack.best(job.bins[k].size) for k in board.bins) for board in job.boards]


_MOST_SUMS = 2_000_000


class Sums:
    """Which costs boards can have at all: the sums of their prices, up to a limit."""

    def __init__(self, prices: Sequence[int], most: int) -> None:
        self._sums: np.ndarray | None = None
        prices = sorted({p for p in prices if p})
        if prices and prices[0] > 1 and most <= _MOST_SUMS:
            sums = np.zeros(most + 1, bool)
            sums[0] = True
            for price in prices:
                for start in range(price, most + 1, price):
                    stop = min(start + price, most + 1)
                    sums[start:stop] |= sums[start - price : stop - price]
            self._sums = sums

    def at_least(self, cost: int) -> int:
        """The least sum that is no less."""
        cost = max(0, cost)
        if self._sums is None or cost >= len(self._sums):
            return cost
        ahead = self._sums[cost:]
        return cost + int(ahead.argmax()) if ahead.any() else cost

    def below(self, cost: int) -> int:
        """The greatest sum that is less, -1 if there is none."""
        if self._sums is None or cost > len(self._sums):
            return cost - 1
        behind = self._sums[:cost][::-1]
        return cost - 1 - int(behind.argmax()) if behind.any() else -1
