"""The linear and the integer program over patterns: how many boards are cut in which way.

Each kind of piece has a row, *at least as many as are wanted*; a board of which there are only so many has one; so
has each clear length of a board with keep-outs, *no more patterns than boards of it are opened*. HiGHS solves both
on one thread; what it answers is always counted again from the patterns.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import highspy
import numpy as np
import numpy.typing as npt

from plangen.stock.lengths_fill import Pattern
from plangen.stock.lengths_job import Job

Floats = npt.NDArray[np.float64]
MISSING = 100.0
"""What a missing piece costs, in dearest boards, so that a program always has an answer."""
_INF = highspy.kHighsInf


@dataclass(frozen=True)
class Relaxed:
    """An answer of the linear program: its objective in dearest boards, patterns' numbers, prices of the pieces, what
    a pattern of each clear length must be worth to be of use, and how much is missing."""

    objective: float
    numbers: Floats
    prices: Floats
    needed: Floats
    missing: float


def quiet() -> Any:
    """HiGHS on one thread, without a word and without a clock."""
    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("random_seed", 0)
    return solver


class Rows:
    """Which rows a job has: kinds first, then limited boards, then clear lengths of boards with several."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.dearest = max(b.price for b in job.boards) or 1
        self.lower: list[float] = [float(d) for d in job.demands]
        self.upper: list[float] = [_INF] * len(self.lower)
        self.of_bin: list[int | None] = [None] * len(job.bins)
        self.opened: list[
            tuple[int, tuple[int, ...]]
        ] = []  # boards with several clear lengths, and their rows
        for b, board in enumerate(job.boards):
            if len(board.bins) > 1:
                rows = tuple(range(len(self.lower), len(self.lower) + len(board.bins)))
                for k, row in zip(board.bins, rows, strict=True):
                    self.of_bin[k] = row
                self.opened.append((b, rows))
                self.lower += [-_INF] * len(rows)
                self.upper += [0.0] * len(rows)
            elif board.limited:
                self.of_bin[board.bins[0]] = len(self.lower)
                self.lower.append(-_INF)
                self.upper.append(float(board.count))

    def cost(self, pattern: Pattern) -> int:
        """Of a pattern itself: nothing where the board is paid for by opening it."""
        board = self.job.boards[self.job.bins[pattern[0]].board]
        return board.price if len(board.bins) == 1 else 0

    def column(self, pattern: Pattern) -> tuple[list[int], list[float]]:
        rows = [i for i, n in enumerate(pattern[1]) if n]
        values = [float(pattern[1][i]) for i in rows]
        own = self.of_bin[pattern[0]]
        return (rows, values) if own is None else ([*rows, own], [*values, 1.0])


def add_columns(
    solver: Any,
    columns: Sequence[tuple[list[int], list[float]]],
    costs: Sequence[float],
    upper: Sequence[float],
) -> None:
    starts: list[int] = []
    index: list[int] = []
    value: list[float] = []
    for rows, values in columns:
        starts.append(len(index))
        index += rows
        value += values
    many = len(columns)
    solver.addCols(
        many,
        np.array(costs, float),
        np.zeros(many),
        np.array(upper, float),
        len(index),
        np.array(starts, np.int32),
        np.array(index, np.int32),
        np.array(value, float),
    )


def add_rows(solver: Any, rows: Rows) -> None:
    none_i, none_f = np.array([], np.int32), np.array([], float)
    for low, high in zip(rows.lower, rows.upper, strict=True):
        solver.addRow(low, high, 0, none_i, none_f)


class Master:
    """The linear program, warm from one answer to the next while patterns are added."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.rows = Rows(job)
        self.patterns: list[Pattern] = []
        self.counts = np.zeros((0, len(job.sizes)), np.int64)
        self.seen: set[Pattern] = set()
        self.solver = quiet()
        self.solver.setOptionValue("presolve", "off")
        self.solver.setOptionValue("solver", "simplex")
        self.solver.setOptionValue(
            "simplex_strategy", 4
        )  # primal: columns are added, the answer stays feasible
        add_rows(self.solver, self.rows)
        kinds = len(job.sizes)
        add_columns(self.solver, [([i], [1.0]) for i in range(kinds)], [MISSING] * kinds, [_INF] * kinds)
        opened = self.rows.opened
        add_columns(
            self.solver,
            [(list(rows), [-1.0] * len(rows)) for _, rows in opened],
            [job.boards[b].price / self.rows.dearest for b, _ in opened],
            [float(job.boards[b].count) for b, _ in opened],
        )
        self.before = kinds + len(opened)

    def add(self, patterns: Sequence[Pattern]) -> int:
        """How many of them are new."""
        new = [p for p in dict.fromkeys(patterns) if p not in self.seen]
        if new:
            self.seen.update(new)
            self.patterns += new
            self.counts = np.concatenate([self.counts, np.array([p[1] for p in new], np.int64)])
            costs = [self.rows.cost(p) / self.rows.dearest for p in new]
            add_columns(self.solver, [self.rows.column(p) for p in new], costs, [_INF] * len(new))
        return len(new)

    def wanted(self, demands: Sequence[int], left: Sequence[int], usable: npt.NDArray[np.bool_]) -> None:
        """Sets what is still wanted, how many boards are left, and which patterns may be used."""
        for i, d in enumerate(demands):
            self.solver.changeRowBounds(i, float(d), _INF)
        for b, board in enumerate(self.job.boards):
            row = self.rows.of_bin[board.bins[0]]
            if len(board.bins) == 1 and row is not None:
                self.solver.changeRowBounds(row, -_INF, float(left[b]))
        for j, (b, _) in enumerate(self.rows.opened):
            self.solver.changeColBounds(len(self.job.sizes) + j, 0.0, float(left[b]))
        many = len(self.patterns)
        index = np.arange(self.before, self.before + many, dtype=np.int32)
        self.solver.changeColsBounds(many, index, np.zeros(many), np.where(usable, _INF, 0.0))

    def solve(self) -> Relaxed:
        self.solver.run()
        answer = self.solver.getSolution()
        values, duals = np.array(answer.col_value), np.array(answer.row_dual)
        kinds = len(self.job.sizes)
        needed = np.array([self._needed(k, duals) for k in range(len(self.job.bins))])
        objective = self.solver.getInfo().objective_function_value
        return Relaxed(
            objective,
            np.maximum(values[self.before :], 0.0),
            np.maximum(duals[:kinds], 0.0),
            needed,
            float(values[:kinds].max(initial=0.0)),
        )

    def _needed(self, k: int, duals: Floats) -> float:
        board = self.job.boards[self.job.bins[k].board]
        own = board.price / self.rows.dearest if len(board.bins) == 1 else 0.0
        row = self.rows.of_bin[k]
        return own - (0.0 if row is None else float(duals[row]))


def integer(
    job: Job,
    patterns: Sequence[Pattern],
    least: int,
    most: int,
    nodes: int,
    over: Sequence[int | None],
    costs: Sequence[int] | None = None,
) -> tuple[list[Pattern] | None, bool]:
    """Patterns that make all pieces for at least ``least`` and at most ``most`` coins, and whether the search was
    complete: complete without an answer, there is none in these patterns.

    ``over`` is how many pieces of each kind may be too many, None any number. ``costs`` of the patterns are made
    least among them; without, the boards' cost.
    """
    rows = Rows(job)
    rows.upper[: len(over)] = [_INF if n is None else d + n for d, n in zip(job.demands, over, strict=True)]
    solver = quiet()
    solver.setOptionValue("mip_max_nodes", nodes)
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.setOptionValue("mip_abs_gap", 0.5)  # costs are whole coins
    add_rows(solver, rows)
    none_i, none_f = np.array([], np.int32), np.array([], float)
    solver.addRow(float(least), float(most), 0, none_i, none_f)
    last = len(rows.lower)
    columns, prices, upper = [], [], []
    for b, own in rows.opened:
        price = job.boards[b].price
        columns.append(([*own, last], [*[-1.0] * len(own), float(price)]))
        prices.append(float(price) if costs is None else 0.0)
        upper.append(float(job.boards[b].count))
    for j, pattern in enumerate(patterns):
        index, value = rows.column(pattern)
        price = rows.cost(pattern)
        columns.append(([*index, last], [*value, float(price)]) if price else (index, value))
        prices.append(float(price if costs is None else costs[j]))
        need = max(-(-d // n) for d, n in zip(job.demands, pattern[1], strict=True) if n)
        upper.append(float(min(need, job.boards[job.bins[pattern[0]].board].count)))
    add_columns(solver, columns, prices, upper)
    many = len(columns)
    whole = np.full(many, highspy.HighsVarType.kInteger)
    solver.changeColsIntegrality(many, np.arange(many, dtype=np.int32), whole)
    solver.run()
    status = solver.getModelStatus()
    complete = status in (highspy.HighsModelStatus.kOptimal, highspy.HighsModelStatus.kInfeasible)
    values = solver.getSolution().col_value
    if (
        status == highspy.HighsModelStatus.kInfeasible
        or len(values) != many
        or not solver.getInfo().primal_solution_status
    ):
        return None, complete
    chosen = values[len(rows.opened) :]
    found = [p for p, x in zip(patterns, chosen, strict=True) for _ in range(round(x))]
    return found, complete
