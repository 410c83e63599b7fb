"""Processor times of the three steps that both sides take.

Processor seconds are of the whole process with all its threads, so that other work on the machine weighs less.
"""

from __future__ import annotations

import gc
import os
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.benchmarks.workpieces import Arrangement

ENOUGH = 12.0
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


def fastest_of(
    sides: Sequence[Callable[[Arrangement], Times]], arrangement: Arrangement, most: int = ROUNDS
) -> list[Times]:
    """The least of each step over some rounds, the sides in turn; cyclic garbage is left lying meanwhile, as
    ``timeit`` does."""
    found: list[Times] = []
    begun = time.perf_counter()
    collects = gc.isenabled()
    gc.disable()
    try:
        for _ in range(most):
            round_ = [side(arrangement) for side in sides]
            found = [old.least(new) for old, new in zip(found, round_, strict=True)] if found else round_
            if time.perf_counter() - begun > ENOUGH:
                break
    finally:
        if collects:
            gc.enable()
        gc.collect()
    return found


def with_bytecode_in(folder: Path) -> dict[str, str]:
    """The environment of a child process that keeps compiled modules in ``folder``, whatever ours says of it."""
    environment = {**os.environ, "PYTHONPYCACHEPREFIX": str(folder)}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    return environment
