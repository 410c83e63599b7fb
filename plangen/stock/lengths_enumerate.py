"""Every pattern that can still be part of a layout cheaper than a given cost."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from plangen.stock.lengths_bound import Certificate
from plangen.stock.lengths_fill import Pattern
from plangen.stock.lengths_job import Job
from plangen.stock.lengths_pricing import Ints, Knapsack


@dataclass(frozen=True)
class _States:
    """Beginnings of patterns: room left, worth, the shortest kind left out though there was one, and where they come
    from in the log."""

    room: Ints
    worth: Ints
    skipped: Ints
    come: Ints


def patterns_within(
    job: Job, knapsack: Knapsack, proof: Certificate, slack: int, limit: int
) -> list[Pattern] | None:
    """All full patterns short of what is needed by no more than ``slack``; None if there are more than ``limit``.

    A layout that costs no more than the bound and ``slack`` is made of these, since a pattern with room for another
    piece can take it (a piece too many is left out at the end). ``knapsack`` is filled with the proof's values.
    """
    back = knapsack.fill_back()
    found: list[Pattern] = []
    for k, bin_ in enumerate(job.bins):
        more = _within(
            job, knapsack, back, bin_.size, proof.needed[k] - slack, proof.values, limit - len(found)
        )
        if more is None:
            return None
        found += [(k, tuple(row)) for row in more if any(row)]
    return found


def _within(
    job: Job, knapsack: Knapsack, back: Ints, size: int, least: int, values: Ints, limit: int
) -> list[list[int]] | None:
    log: list[tuple[Ints, int, int]] = []  # where from, kind, pieces
    base = 1
    start = np.zeros(1, np.int64)
    states = _States(np.array([size], np.int64), start, np.array([size + 1], np.int64), start)
    lots = len(knapsack.lots)
    for kind, (own, demand) in enumerate(zip(job.sizes, job.demands, strict=True)):
        rest = back[lots - knapsack.ends[kind]]
        parts = []
        for many in range(min(demand, size // own) + 1):
            room = states.room - many * own
            fits = room >= 0
            if not fits.any():
                break
            worth = states.worth + many * int(values[kind])
            cells = np.maximum(room, 0) * knapsack.cells // knapsack.capacity
            fits &= worth + rest[cells] >= least
            if not fits.any():
                continue
            skipped = np.full(int(fits.sum()), own) if many < demand else states.skipped[fits]
            come = states.come[fits]
            if many:
                log.append((come, kind, many))
                come = np.arange(base, base + len(come), dtype=np.int64)
                base += len(come)
            parts.append(_States(room[fits], worth[fits], skipped, come))
        if not parts:
            return []
        states = _States(
            np.concatenate([p.room for p in parts]),
            np.concatenate([p.worth for p in parts]),
            np.concatenate([p.skipped for p in parts]),
            np.concatenate([p.come for p in parts]),
        )
        if len(states.room) > 4 * limit or base > 40 * limit:
            return None
    full = states.room < states.skipped
    if int(full.sum()) > limit:
        return None
    return _read(log, states.come[full], len(job.sizes))


def _read(log: list[tuple[Ints, int, int]], come: Ints, kinds: int) -> list[list[int]]:
    """The counts of each state, following the log back to the start (0)."""
    counts: npt.NDArray[np.int64] = np.zeros((len(come), kinds), np.int64)
    starts = np.cumsum([1, *(len(entry[0]) for entry in log)])
    here = come.copy()
    for j in range(len(log) - 1, -1, -1):
        before, kind, many = log[j]
        mine = here >= starts[j]
        counts[mine, kind] = many
        here[mine] = before[here[mine] - starts[j]]
    return [list(map(int, row)) for row in counts]
