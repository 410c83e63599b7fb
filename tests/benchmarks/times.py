"""Processor times of the three steps that both sides take.

Processor seconds are of the whole process with all its threads, so that other work on the machine weighs less.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

from tests.benchmarks.workpieces import Arrangement

ENOUGH = 1.5
"""Seconds after which no further round is begun."""
ROUNDS = 7


@dataclass(frozen=True)
class Times:
    """Processor seconds of the three steps."""

    solids: float
    prepared: float
    views: float

    @property
    def total(self) -> float:
        return self.solids + self.prepared + self.views

    def least(self, other: Times) -> Times:
        return Times(
            min(self.solids, other.solids), min(self.prepared, other.prepared), min(self.views, other.views)
        )


def fastest(rounds: Callable[[Arrangement], Times], arrangement: Arrangement, most: int = ROUNDS) -> Times:
    """The least of each step over some rounds."""
    found = rounds(arrangement)
    begun = time.perf_counter()
    for _ in range(most - 1):
        if time.perf_counter() - begun > ENOUGH or found.total > ENOUGH:
            break
        found = found.least(rounds(arrangement))
    return found
