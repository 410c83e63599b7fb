"""The fewest different patterns among layouts that cost no more and leave no less."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import highspy
import numpy as np

from plangen.stock.lengths_fill import Pattern, boards_of, cost_of, filled
from plangen.stock.lengths_job import Job
from plangen.stock.lengths_master import Rows, add_columns, add_rows, quiet

_MOST = 400
"""Patterns for which the program is written; a job that has more keeps those of its layout."""
_INF = highspy.kHighsInf


def fewer_patterns(job: Job, patterns: list[Pattern], longest: int, nodes: int) -> list[Pattern]:
    """A layout of no more cost with fewer patterns, that leaves a piece of at least ``longest``; or the same."""
    many = len(set(patterns))
    if many < 2 or len(patterns) == many == 2 or any(len(b.bins) > 1 for b in job.boards):
        return patterns
    pool = all_patterns(job)
    if pool is None:
        return patterns
    found = _program(job, pool, cost_of(job, patterns), longest, many - 1, nodes)
    if found is None or not _holds(job, found, patterns, longest):
        return patterns
    return found


def all_patterns(job: Job) -> list[Pattern] | None:
    """Every pattern, full or not; None if they are many."""
    found: list[Pattern] = []
    for k, bin_ in enumerate(job.bins):
        for counts in _fillings(job, bin_.size):
            if len(found) == _MOST:
                return None
            if any(counts):
                found.append((k, counts))
    return found


def _fillings(job: Job, room: int, kind: int = 0) -> Iterator[tuple[int, ...]]:
    if kind == len(job.sizes):
        yield ()
        return
    for many in range(min(job.demands[kind], room // job.sizes[kind]), -1, -1):
        for rest in _fillings(job, room - many * job.sizes[kind], kind + 1):
            yield (many, *rest)


def _program(
    job: Job, pool: Sequence[Pattern], cost: int, longest: int, most: int, nodes: int
) -> list[Pattern] | None:
    """Each pattern as often as whole numbers say, and whether it is used at all; as few as can be are used."""
    rows = Rows(job)
    rows.upper[: len(job.demands)] = [float(d) for d in job.demands]
    first = len(rows.lower)
    rows.lower += [-_INF, 1.0, -_INF, *[-_INF] * len(pool)]
    rows.upper += [float(cost), _INF, float(most), *[0.0] * len(pool)]
    columns, limits = [], []
    for j, pattern in enumerate(pool):
        index, value = rows.column(pattern)
        limit = min(d // n for d, n in zip(job.demands, pattern[1], strict=True) if n)
        limits.append(float(min(limit, job.boards[job.bins[pattern[0]].board].count)))
        index, value = [*index, first], [*value, float(rows.cost(pattern))]
        if job.bins[pattern[0]].size - filled(job, pattern) >= longest:
            index, value = [*index, first + 1], [*value, 1.0]
        columns.append(([*index, first + 3 + j], [*value, 1.0]))
    used = [([first + 2, first + 3 + j], [1.0, -limits[j]]) for j in range(len(pool))]
    solver = quiet()
    solver.setOptionValue("mip_max_nodes", nodes)
    solver.setOptionValue("mip_abs_gap", 0.5)
    add_rows(solver, rows)
    add_columns(
        solver, [*columns, *used], [*[0.0] * len(pool), *[1.0] * len(pool)], [*limits, *[1.0] * len(pool)]
    )
    many = 2 * len(pool)
    whole = np.full(many, highspy.HighsVarType.kInteger)
    solver.changeColsIntegrality(many, np.arange(many, dtype=np.int32), whole)
    solver.run()
    values = solver.getSolution().col_value
    if len(values) != many or not solver.getInfo().primal_solution_status:
        return None
    return [p for p, x in zip(pool, values, strict=False) for _ in range(round(x))]


def _holds(job: Job, found: Sequence[Pattern], before: Sequence[Pattern], longest: int) -> bool:
    """The program's answer counted again."""
    made = [sum(counts) for counts in zip(*(p[1] for p in found), strict=True)]
    left = max((job.bins[p[0]].size - filled(job, p) for p in found), default=0)
    return (
        tuple(made) == job.demands
        and cost_of(job, found) <= cost_of(job, before)
        and all(n <= b.count for n, b in zip(boards_of(job, found), job.boards, strict=True))
        and left >= longest
        and len(set(found)) < len(set(before))
    )
