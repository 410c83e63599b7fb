"""The search for the layout of least cost: patterns as they pay, whole numbers by diving, proof by enumeration."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from plangen.stock.lengths_bound import Certificate, Sums, certify
from plangen.stock.lengths_cover import least_by_length
from plangen.stock.lengths_enumerate import patterns_within
from plangen.stock.lengths_fill import Pattern, best_fit, boards_of, cheaper_boards, cost_of, fill_up
from plangen.stock.lengths_job import Job
from plangen.stock.lengths_master import Master, Relaxed, integer
from plangen.stock.lengths_pricing import Knapsack

_FINE = 1_000_000_000
"""Prices of pieces are counted in so many parts of the dearest board."""
_CELLS = 12_000
_MOST = 60
"""Patterns taken at a time, or as many as there are kinds of piece."""
_FIRST = 40
"""Rounds of pricing before the first dive."""
_MENDS = 8
"""Rounds of pricing at one point of a dive."""
_FEW = 1_500
"""Patterns that one program takes without further thought."""
_SAME = 1e-7
_ENOUGH = (0.8, 0.95, 0.65, 0.5)
"""How near to a whole number a pattern is settled with others at once, one dive after another."""


@dataclass(frozen=True)
class Effort:
    """What the search may spend: rounds of pricing, dives and steps of each, patterns in one enumeration, nodes of
    one program."""

    rounds: int
    dives: int
    steps: int
    patterns: int
    nodes: int


@dataclass
class _Rest:
    """A point of a dive: what is still wanted, boards left, what is settled, and what the linear program says."""

    demands: list[int]
    left: list[int]
    settled: tuple[Pattern, ...]
    answer: Relaxed
    forbidden: frozenset[int]


class Search:
    """One job; ``best`` is the cheapest layout so far, ``least`` what none can cost less than.

    With a ``goal`` the question is only whether a layout costs no more than that.
    """

    def __init__(self, job: Job, effort: Effort, goal: int | None = None) -> None:
        self.job = job
        self.effort = effort
        self.goal = goal
        self.demands = job.demands
        self.counts = [b.count for b in job.boards]
        self.master = Master(job)
        self.dearest = self.master.rows.dearest
        self.scale = max(1, _FINE // self.dearest)
        starts = [first(job, self.demands, self.counts) for first in (best_fit, fill_up)]
        self.best = min((s for s in starts if s is not None), key=lambda s: cost_of(job, s), default=None)
        self.cost = cost_of(job, self.best) if self.best is not None else None
        self.largest = max(b.size for b in job.bins)
        self.everything = sum(self.counts[b] * board.price for b, board in enumerate(job.boards))
        self.sums = Sums([b.price for b in job.boards], self.everything if self.cost is None else self.cost)
        self.least = self.sums.at_least(least_by_length(job))
        self.proof: Certificate | None = None
        self.center = np.array([s / self.largest for s in job.sizes])
        self.work = 0
        self.up = Knapsack(job.sizes, self.demands, self.largest, _CELLS, up=True)
        self.down = self.up
        if not self.up.exact:
            self.down = Knapsack(job.sizes, self.demands, self.largest, _CELLS, up=False)

    @property
    def proven(self) -> bool:
        return self.cost is not None and self.cost <= self.least

    @property
    def settled(self) -> bool:
        """Proven, or known to cost no more than the goal, or more in any case."""
        if self.goal is not None and (
            self.least > self.goal or (self.cost is not None and self.cost <= self.goal)
        ):
            return True
        return self.proven

    def offer(self, patterns: Sequence[Pattern]) -> bool:
        """Takes a layout that makes all pieces if it is cheaper than the best, cost and pieces counted again."""
        made = np.zeros(len(self.demands), np.int64)
        for _, counts in patterns:
            made += np.array(counts, np.int64)
        used = boards_of(self.job, list(patterns))
        if any(made < np.array(self.demands)) or any(n > m for n, m in zip(used, self.counts, strict=True)):
            return False
        exact = cheaper_boards(self.job, spare_left_out(self.job, patterns), self.counts)
        cost = cost_of(self.job, exact)
        if self.cost is None or cost < self.cost:
            self.best, self.cost = exact, cost
            return True
        return False

    def run(self) -> None:
        if self.settled:
            return
        start = self.best or []
        self.master.add([*start, *self._simple()])
        relaxed = self.relax(thorough=False)
        for attempt in range(self.effort.dives):
            if self.settled:
                return
            if attempt == 1:
                relaxed = self.relax(thorough=True)
            self.dive(relaxed, attempt)
        while not self.settled and self.least <= self.everything and self.close():
            pass

    def _simple(self) -> list[Pattern]:
        """For each kind a board full of it, filled up with what fits."""
        found = []
        for k, bin_ in enumerate(self.job.bins):
            for kind, size in enumerate(self.job.sizes):
                if size > bin_.size:
                    continue
                counts = [0] * len(self.job.sizes)
                counts[kind] = min(self.demands[kind], bin_.size // size)
                room = bin_.size - counts[kind] * size
                for other, own in enumerate(self.job.sizes):
                    if other != kind and own <= room:
                        counts[other] = min(self.demands[other], room // own)
                        room -= counts[other] * own
                found.append((k, tuple(counts)))
        return found

    # --- the relaxation ------------------------------------------------------------------------------------

    def relax(self, thorough: bool) -> Relaxed:
        """The linear program over all patterns, to its end if ``thorough``, else as far as it says something about
        whole boards."""
        up, down = self.up, self.down
        blend = 0.5
        answer = self.master.solve()
        for _ in range(self.effort.rounds if thorough else min(_FIRST, self.effort.rounds)):
            blended = blend * self.center + (1 - blend) * answer.prices
            gained = self._certify(down, blended)
            found = self._columns(up, blended, answer)
            self.work += len(found)
            if found:
                self.master.add(found)
                answer = self.master.solve()
                blend = min(0.5, blend * 1.5)
            elif blend and not gained:
                blend = blend / 2 if blend > 0.05 else 0.0
            elif not gained:
                break
            if self.settled or (not thorough and self.sums.at_least(self._coins(answer)) <= self.least):
                break
        return answer

    def _coins(self, answer: Relaxed) -> int:
        """The linear program's answer rounded up to whole coins."""
        return math.ceil(answer.objective * self.dearest - _SAME * self.dearest)

    def _certify(self, down: Knapsack, prices: np.ndarray) -> bool:
        values = np.floor(prices * (self.dearest * self.scale)).astype(np.int64)
        proof = certify(self.job, down, values, self.scale)
        if self.proof is None or proof.exact > self.proof.exact:
            much = (
                self.proof is None or proof.exact > self.proof.exact + self.scale * self.dearest // 1_000_000
            )
            self.proof = proof
            self.center = proof.values / (self.dearest * self.scale)
            self.least = max(self.least, self.sums.at_least(proof.least))
            return much
        return False

    def _columns(self, up: Knapsack, blended: np.ndarray, answer: Relaxed) -> list[Pattern]:
        """Patterns that pay at the prices of the answer, found at blended prices."""
        scale = self.dearest * self.scale
        up.fill(np.floor(blended * scale).astype(np.int64))
        back = up.fill_back()
        prices = np.floor(answer.prices * scale).astype(np.int64)
        found: list[tuple[int, Pattern]] = []
        for k, bin_ in enumerate(self.job.bins):
            needed = int(answer.needed[k] * scale)
            counts = up.through(bin_.size, needed * 9 // 10, back)
            gain = counts @ prices - needed
            for row in np.nonzero(gain > scale // 10_000_000)[0]:
                found.append((-int(gain[row]), (k, tuple(map(int, counts[row])))))
        found.sort()
        return list(dict.fromkeys(p for _, p in found))[: max(_MOST, len(self.job.sizes))]

    # --- whole boards --------------------------------------------------------------------------------------

    def dive(self, relaxed: Relaxed, attempt: int) -> None:
        """Settles patterns one after another by what the linear program says of the rest; where that can no longer
        lead to a cheaper layout, the last doubtful choice is forbidden and taken again."""
        master = self.master
        here = _Rest(list(self.demands), list(self.counts), (), relaxed, frozenset())
        path: list[tuple[_Rest, int]] = []
        for _ in range(self.effort.steps):
            step = self._settle(here, attempt)
            if step is not None:
                path.append((here, step[1]))
                here = step[0]
                rest = best_fit(self.job, here.demands, here.left)
                if rest is not None:
                    self.offer([*here.settled, *rest])
            if self.settled or not any(here.demands):
                break
            if step is None or not self._hopeful(here):
                back = self._turn_back(path)
                if back is None:
                    break
                here = back
        master.wanted(self.demands, self.counts, np.ones(len(master.patterns), bool))

    def _turn_back(self, path: list[tuple[_Rest, int]]) -> _Rest | None:
        while path:
            before, doubtful = path.pop()
            if len(before.forbidden) < 2:
                here = replace(before, forbidden=before.forbidden | {doubtful})
                if self._hopeful(here):
                    return here
        return None

    def _hopeful(self, here: _Rest) -> bool:
        """Solves the linear program for what is left: can a cheaper layout than the best still come of it?"""
        master = self.master
        fits = np.asarray((master.counts <= np.array(here.demands)).all(axis=1))
        fits[list(here.forbidden)] = False
        master.wanted(here.demands, here.left, fits)
        spent = sum(master.rows.cost(p) for p in here.settled) / self.dearest
        goal = self._cheaper() / self.dearest - spent
        here.answer = self._mend(master.solve(), here, min(goal, self.least / self.dearest - spent))
        return here.answer.missing <= _SAME and here.answer.objective <= goal + _SAME

    def _settle(self, here: _Rest, attempt: int) -> tuple[_Rest, int] | None:
        """What is left when patterns with a whole number are settled, and of the others those nearest to the next;
        and the most doubtful of them. None if nothing can be settled."""
        job, master, numbers = self.job, self.master, here.answer.numbers
        demands, left, chosen = list(here.demands), list(here.left), list(here.settled)

        def settle(j: int) -> bool:
            k, counts = master.patterns[j]
            board = job.bins[k].board
            if not left[board] or any(n > d for n, d in zip(counts, demands, strict=True)):
                return False
            for i, n in enumerate(counts):
                demands[i] -= n
            if len(job.boards[board].bins) == 1:
                left[board] -= 1
            chosen.append(master.patterns[j])
            return True

        doubtful = -1
        for j in map(int, np.nonzero(numbers >= 1 - _SAME)[0]):
            for _ in range(int(numbers[j] + _SAME)):
                doubtful = j if settle(j) else doubtful
        enough = _ENOUGH[attempt % len(_ENOUGH)]
        parts = np.round(numbers % 1, 6)
        order = sorted(
            map(int, np.nonzero((parts > 1e-6) & (parts < 1 - 1e-6))[0]), key=lambda j: (-parts[j], j)
        )
        for j in order:
            if parts[j] < enough and doubtful >= 0:
                break
            doubtful = j if settle(j) else doubtful
        return (
            (_Rest(demands, left, tuple(chosen), here.answer, frozenset()), doubtful)
            if doubtful >= 0
            else None
        )

    def _mend(self, answer: Relaxed, here: _Rest, hope: float) -> Relaxed:
        """Prices new patterns for what is left while the linear program costs more than hoped for."""
        job, master = self.job, self.master
        knapsack: Knapsack | None = None
        for _ in range(_MENDS):
            if answer.objective <= hope + _SAME:
                break
            if knapsack is None:
                knapsack = Knapsack(job.sizes, here.demands, self.largest, _CELLS, up=True)
            found = self._columns(knapsack, answer.prices, answer)
            if not found or not master.add(found):
                break
            self.work += len(found)
            answer = master.solve()
        return answer

    def _cheaper(self) -> int:
        """The most that a layout of use may cost."""
        most = self.everything if self.cost is None else self.sums.below(self.cost)
        return most if self.goal is None else min(most, self.goal)

    # --- proof ---------------------------------------------------------------------------------------------

    def close(self) -> bool:
        """Looks for a cheaper layout in all patterns that one could have: in one program if they are few, else for
        the least cost that is not yet ruled out. Says whether that came to something."""
        cheaper = self._cheaper()
        return self._search_all(cheaper, _FEW) or (
            self.least < cheaper and self._search_all(self.least, self.effort.patterns)
        )

    def _search_all(self, target: int, limit: int) -> bool:
        proof = self.proof
        if proof is None:
            return False
        self.down.fill(proof.values)
        slack = target * self.scale - proof.exact
        patterns = patterns_within(self.job, self.down, proof, slack, min(limit, self.effort.patterns))
        if patterns is None:
            return False
        self.work += len(patterns)
        over = [slack // int(v) if v else None for v in proof.values]
        found, complete = integer(self.job, patterns, self.least, target, self.effort.nodes, over)
        gained = found is not None and self.offer(found)
        if complete:
            ruled_out = (
                target if found is None or self.cost is None else self.sums.below(min(self.cost, target + 1))
            )
            self.least = max(self.least, self.sums.at_least(ruled_out + 1))
        return complete or gained


def spare_left_out(job: Job, patterns: Sequence[Pattern]) -> list[Pattern]:
    """The same patterns without the pieces that are too many, left out of the emptiest board first."""
    over = [-d for d in job.demands]
    for _, counts in patterns:
        for i, n in enumerate(counts):
            over[i] += n
    exact = []
    for k, counts in sorted(patterns, key=lambda p: sum(s * n for s, n in zip(job.sizes, p[1], strict=True))):
        keep = []
        for i, n in enumerate(counts):
            drop = min(n, max(0, over[i]))
            over[i] -= drop
            keep.append(n - drop)
        if any(keep):
            exact.append((k, tuple(keep)))
    return exact
