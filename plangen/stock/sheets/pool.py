"""Sheets met on the way of the search, put together anew: the fewest of them that hold every part.

A set covering problem over whole sheets (Monaci and Toth 2006, from memory), solved by HiGHS. Only sheets that the
linear relaxation does not rule out of a better layout go into it; its nodes are bounded, and every answer is
counted again from its sheets.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

from plangen.stock.sheets.asked import Asked
from plangen.stock.sheets.trees import Ints, Job, Trees, close_sheet, drop_node, new_node, open_sheet, reckon

_NODES = 200
"""Nodes of the integer program."""

_MOST = 4000
"""Sheets in the integer program."""

_SAME = 1e-7

Row = tuple[int, ...]
"""A node of a sheet's tree: own index, parent, direction (or turned), type or -1, sizes, rest, origin."""

Key = tuple[int, tuple[tuple[int, int], ...]]
"""A sheet's kind, and how many parts of each type it holds."""


@dataclass
class Pool:
    """Every sheet met, once for each kind and content, as rows of its tree."""

    met: dict[Key, tuple[Row, ...]] = field(default_factory=dict)

    def gather(self, job: Job, t: Trees) -> None:
        """Adds the sheets of a state."""
        n = job.n
        par, way, sheet = _list(t.par), _list(t.dir), _list(t.sheet)
        length, width, rest, origin = _list(t.len), _list(t.wid), _list(t.rest), _list(t.origin)
        parts = [p for p in range(n) if par[p] >= 0]
        held: dict[int, list[int]] = {}
        for p in parts:
            held.setdefault(sheet[p], []).append(p)
        nodes: dict[int, list[int]] = {}
        for i in _list(t.alive)[: int(t.count[0])]:
            nodes.setdefault(sheet[i], []).append(i)
        for s, some in held.items():
            key = (int(t.kind[s]), tuple(sorted(Counter(int(job.part_type[p]) for p in some).items())))
            if key not in self.met:
                self.met[key] = tuple(
                    (
                        i,
                        par[i],
                        way[i],
                        int(job.part_type[i]) if i < n else -1,
                        length[i],
                        width[i],
                        rest[i],
                        origin[i],
                    )
                    for i in (*nodes[s], *some)
                )


def _list(values: Ints) -> list[int]:
    plain: list[int] = values if isinstance(values, list) else values.tolist()
    return plain


def covering(
    asked: Asked, costs: Sequence[float], stocks: Sequence[int], pool: Pool, below: float
) -> list[Key] | None:
    """Sheets of the pool that hold every part for less than ``below`` in all; None if none were found.

    ``costs`` and ``stocks`` are by kind.
    """
    keys = list(pool.met)
    unit = max(costs) or 1.0
    costs, below = [c / unit for c in costs], below / unit
    cost = [costs[k] for k, _ in keys]
    linear = _Program(asked, stocks, keys, cost, below, whole=False)
    if not linear.solve() or linear.value > below + _SAME:
        return None
    spare = below - linear.value
    left = sorted((reduced, j) for j, reduced in enumerate(linear.reduced) if reduced <= spare + _SAME)[
        :_MOST
    ]
    some = [keys[j] for _, j in sorted(left, key=lambda pair: pair[1])]
    integer = _Program(asked, stocks, some, [costs[k] for k, _ in some], below, whole=True)
    if not integer.solve():
        return None
    chosen = [key for key, many in zip(some, integer.chosen, strict=True) for _ in range(round(many))]
    return chosen if _holds_all(asked, chosen) and sum(costs[k] for k, _ in chosen) <= below + _SAME else None


def prices(
    asked: Asked, costs: Sequence[float], stocks: Sequence[int], pool: Pool
) -> tuple[list[float], list[float]]:
    """What each part is worth to the covering program of the pool, and each stock: less than nothing if scarce."""
    keys = list(pool.met)
    linear = _Program(asked, stocks, keys, [costs[k] for k, _ in keys], 0.0, whole=False)
    if not linear.solve():
        return [], []
    n = len(asked.parts)
    return linear.prices[:n], linear.prices[n : n + len(asked.stock)]


def _holds_all(asked: Asked, chosen: Sequence[Key]) -> bool:
    held: Counter[int] = Counter()
    for _, content in chosen:
        held.update(dict(content))
    return all(held[k] >= part.quantity for k, part in enumerate(asked.parts))


class _Program:
    """A covering program in HiGHS: parts as rows, sheets as columns; one thread, a fixed seed, bounded nodes."""

    def __init__(
        self,
        asked: Asked,
        stocks: Sequence[int],
        keys: Sequence[Key],
        cost: Sequence[float],
        below: float,
        whole: bool,
    ) -> None:
        import highspy

        self.solver = highspy.Highs()
        for option, value in (
            ("output_flag", False), ("threads", 1), ("random_seed", 0), ("mip_max_nodes", _NODES),
            ("mip_max_stall_nodes", _NODES),
        ):  # fmt: skip
            self.solver.setOptionValue(option, value)
        infinity = highspy.kHighsInf
        for part in asked.parts:
            self.solver.addRow(float(part.quantity), infinity, 0, [], [])
        for sheet in asked.stock:
            self.solver.addRow(0.0, infinity if sheet.count is None else float(sheet.count), 0, [], [])
        last = len(asked.parts) + len(asked.stock)
        self.solver.addRow(-infinity, infinity if not whole else below + _SAME, 0, [], [])
        for (kind, content), price in zip(keys, cost, strict=True):
            rows = [k for k, _ in content] + [len(asked.parts) + stocks[kind], last]
            self.solver.addCol(
                price, 0.0, infinity, len(rows), rows, [float(m) for _, m in content] + [1.0, price]
            )
        if whole:
            for j in range(len(keys)):
                self.solver.changeColIntegrality(j, highspy.HighsVarType.kInteger)
        self.value = 0.0
        self.reduced: list[float] = []
        self.chosen: list[float] = []
        self.prices: list[float] = []
        self.whole, self.below = whole, below

    def solve(self) -> bool:
        """Whether there is an answer; of the integer program, the first of at most ``below``."""
        if self.whole:
            self.solver.setOptionValue("objective_target", self.below + _SAME)
        self.solver.run()
        info = self.solver.getInfo()
        if not info.primal_solution_status:
            return False
        answer = self.solver.getSolution()
        self.value = float(info.objective_function_value)
        self.reduced = list(answer.col_dual)
        self.chosen = list(answer.col_value)
        self.prices = list(answer.row_dual)
        return True


def put_together(chosen: Sequence[Key], pool: Pool, job: Job, t: Trees) -> None:
    """Fills a fresh state with the chosen sheets; a part that is there too often is left out."""
    unused: dict[int, list[int]] = {}
    for p in range(job.n - 1, -1, -1):
        unused.setdefault(int(job.part_type[p]), []).append(p)
    for key in chosen:
        s = _restore(pool.met[key], key[0], unused, job, t)
        if t.held[s] == 0:
            close_sheet(job, t, s)
    reckon(job, t)


def _restore(rows: Sequence[Row], kind: int, unused: dict[int, list[int]], job: Job, t: Trees) -> int:
    """One sheet as it was met; its index."""
    s = open_sheet(job, t, kind)
    fixed = {int(t.origin[i]): int(i) for i in _list(t.alive)[: int(t.count[0])] if t.sheet[i] == s}
    now: dict[int, int] = {}
    for index, _, way, of_type, length, width, rest, origin in rows:
        if of_type < 0:
            now[index] = (
                fixed[origin] if origin >= 0 else new_node(job, t, -1, way, 0, length, width, rest, s)
            )
            t.rest[now[index]] = rest
    surplus = []
    for index, up, way, of_type, length, width, _rest, origin in rows:
        if origin >= 0 and of_type < 0:
            continue
        if of_type < 0:
            i = now[index]
            t.par[i] = now[up]
        elif not unused.get(of_type):
            surplus.append((now[up], length, width))
        else:
            i = unused[of_type].pop()
            t.par[i], t.dir[i], t.len[i], t.wid[i], t.sheet[i] = now[up], way, length, width, s
            t.held[s] += 1
        t.kids[now[up]] += 1
    _levels(t, s)
    for up, length, width in surplus:
        _leave_out(t, up, length, width)
    return s


def _levels(t: Trees, s: int) -> None:
    """Sets the level of every structure of a sheet from those above it."""
    mine = [int(i) for i in _list(t.alive)[: int(t.count[0])] if t.sheet[i] == s]
    for i in mine:
        up, level = int(t.par[i]), 0
        while up >= 0:
            up, level = int(t.par[up]), level + 1
        t.lev[i] = level


def _leave_out(t: Trees, up: int, x: int, y: int) -> None:
    """Gives the room of a part that is not needed back to what it was cut from."""
    while True:
        t.rest[up] += x if t.dir[up] == 0 else y
        t.kids[up] -= 1
        if t.kids[up] > 0:
            return
        x, y = t.len[up], t.wid[up]
        drop_node(t, up)
        up = t.par[up]
