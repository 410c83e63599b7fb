"""The layout of parts on sheets: the search driven from one goal to the next, and its trees read back."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

from plangen.stock.sheets.asked import Asked, Kind, ask, kinds_of, short_kind, start
from plangen.stock.sheets.bound import least_cost
from plangen.stock.sheets.compiled import as_arrays, as_list_arrays, compiled_search, worth_compiling
from plangen.stock.sheets.guillotine import Content, least_by_patterns
from plangen.stock.sheets.layout import Cut, CutSheet, NoLayout, SheetLayout, SheetPart, SheetStock
from plangen.stock.sheets.pool import Pool, covering, put_together
from plangen.stock.sheets.reading import read_back
from plangen.stock.sheets.ruin import clear, search, squeeze
from plangen.stock.sheets.trees import settle

EFFORT = 4

_MOVES = 125
"""Moves of the search, doubled with each step of effort."""

_THOROUGH = 9
"""Effort from which on the bound tries every dual feasible function."""

_TRIES = 12
"""Quick layouts before the search begins."""

_ALIKE = 40
"""Parts from which on patterns of strips are tried, if there are three of each or more."""

_PATTERNS = 200
"""Rounds of column generation at most."""

_ROUND = 3000
_ROUND_BY_PART = 100
"""Moves of the first round, at least and for each part; every other round is twice as long."""

_LONGEST = 4
"""The longest round, in first ones."""

_MEMORY = 50
"""Late acceptance looks back a round's moves divided by this."""

_GATHER = 100
"""Moves between two looks at the sheets of the search."""

_MANY = 4
"""Sheets from which on putting those met together anew is tried."""

_POOLED = 8000
"""Moves from which on it is."""

_LESS = 1e-6
"""A cost this much less, as a share, is less also to the integer program."""

_STEPS = 2000
"""Steps of the recursion over patterns for each move of the search."""

_SAME = 1e-9
_UNLIMITED = 1e300


def cut_sheets(
    stock: Sequence[SheetStock],
    parts: Sequence[SheetPart],
    kerf: float = 0.0,
    trim: float = 0.0,
    turn: bool = True,
    first_cut: Cut | None = None,
    stages: int | None = None,
    effort: int = EFFORT,
) -> SheetLayout:
    """The cheapest layout found for parts on sheets by cuts that each run from edge to edge of the piece they divide.

    ``kerf`` is the width of a saw cut, ``trim`` what is taken off each edge of a sheet first, in millimetres.
    ``turn`` lets parts turn where no grain forbids it. ``first_cut`` is the direction of the first cuts of a sheet,
    ``stages`` (2 or 3) how often the direction may change, counted from the first; a piece of the last stage may
    be trimmed once more to a part's size. ``effort`` bounds the moves of the search, never its
    seconds, so that the same input has the same layout everywhere: 0 stops at the first valid layout, each step
    more allows twice the work; 4 takes a small job less than a second, 12 a large one ten if compiled.

    Among layouts of equal cost the one is chosen that leaves the largest offcut behind one straight cut; what the
    proof of a cost spares of the work goes into it, half of the work at least.
    ``NoLayout`` says which part fits on no sheet, or that there are not enough sheets.
    """
    asked = ask(stock, parts, kerf, trim, turn, first_cut, stages)
    bound = least_cost(asked, effort >= _THOROUGH)
    moves = _MOVES << effort if effort > 0 else 0
    if not any(p.quantity for p in asked.parts):
        return _layout(asked, (), bound, 0)
    first = _quick(asked, bound, moves)
    if first.cost > bound * (1 + _SAME):
        bound = least_by_patterns(asked, first.contents(), bound, first.cost, moves * _STEPS)
    sheets, done = _cheaper(asked, bound, first, moves // 2)
    sheets, more = _largest_offcut(asked, sheets, moves - done)
    return _layout(asked, sheets, bound, done + more)


def _layout(asked: Asked, sheets: Sequence[CutSheet], bound: float, moves: int) -> SheetLayout:
    cost = sum(asked.costs[s.stock] for s in sheets)
    return SheetLayout(
        asked.stock, asked.parts, asked.kerf, asked.trim, tuple(sheets), cost, bound,
        cost <= bound * (1 + _SAME), _score(asked, sheets), moves,
    )  # fmt: skip


def _score(asked: Asked, sheets: Sequence[CutSheet]) -> float:
    """Sheets, less the largest share of one that a straight cut frees."""
    return len(sheets) - max((_freed(asked, s)[0] for s in sheets), default=0.0)


def _freed(asked: Asked, sheet: CutSheet) -> tuple[float, int]:
    """The largest share of the trimmed sheet beyond one straight cut, and the cut's direction (0 a crosscut)."""
    stock = asked.stock[sheet.stock]
    shares = []
    for way, side in enumerate((stock.length, stock.width)):
        usable = side - 2 * asked.trim
        end = max(((p.x, p.y)[way] + (p.length, p.width)[way] for p in sheet.placed), default=asked.trim)
        shares.append((round(1 - (end - asked.trim) / usable, 9), way))
    return max(shares)


class _Search:
    """One search among kinds of sheet: its arrays, plain or compiled, and the last layout that met its goal."""

    def __init__(
        self,
        asked: Asked,
        kinds: Sequence[Kind],
        counts: Sequence[int],
        seed: int,
        effort: int,
        length: int = _ROUND,
    ) -> None:
        self.asked, self.kinds = asked, kinds
        self.job, self.now, old = start(asked, kinds, counts, seed)
        n = self.job.n
        self.past = [0.0] * max(10, length // _MEMORY)
        self.rest = (old, [0] * n, [0.0] * n, self.past)
        self.go = search
        if worth_compiling(effort, n):
            self.job, self.now = as_arrays(self.job), as_arrays(self.now)
            self.rest = (as_arrays(old), *as_list_arrays([0] * n, [0.0] * n, self.past))
            self.go = compiled_search()

    @property
    def done(self) -> int:
        return int(self.now.count[4])

    @property
    def cost(self) -> float:
        return float(self.now.spent[0])

    def reach(self, budget: float, moves: int, pool: Pool | None = None) -> bool:
        """Whether all parts found room for the budget within so many moves; what is met on the way is pooled."""
        squeeze(self.job, self.now, budget)
        fresh, end = True, self.done + moves
        while True:
            step = end - self.done if pool is None else min(_GATHER, end - self.done)
            if self.go(self.job, self.now, *self.rest, budget, step, fresh):
                return True
            if pool is not None:
                pool.gather(self.job, self.now)
            if self.done >= end:
                return False
            fresh = False

    def empty(self, kind: int) -> None:
        """Clears the sheets of a kind, whose size is about to change."""
        for s in range(len(self.now.root)):
            if self.now.root[s] >= 0 and self.now.kind[s] == kind:
                clear(self.job, self.now, s)

    def contents(self) -> list[tuple[int, Content]]:
        """The stock of each sheet, and how many it holds of each part."""
        held = Counter(
            (int(self.now.sheet[p]), int(self.job.part_type[p]))
            for p in range(self.job.n)
            if self.now.par[p] >= 0
        )
        return [
            (
                self.kinds[self.now.kind[s]].stock,
                tuple(sorted((k, n) for (at, k), n in held.items() if at == s)),
            )
            for s in sorted({at for at, _ in held})
        ]

    def sheets(self) -> tuple[CutSheet, ...]:
        settle(self.job, self.now)
        return read_back(self.asked, self.kinds, self.job, self.now)


def _counts(asked: Asked) -> list[int]:
    """How many sheets of each stock there are; no more than parts are ever used."""
    n = sum(p.quantity for p in asked.parts)
    return [n if s.count is None else min(n, s.count) for s in asked.stock]


def _quick(asked: Asked, bound: float, effort: int) -> _Search:
    """The best of a few layouts that are each made in one go."""
    kinds, counts = kinds_of(asked), _counts(asked)
    best: _Search | None = None
    for seed in range(1, 2 + min(_TRIES, effort // 100)):
        fresh = _Search(asked, kinds, counts, seed * 7919, effort)
        if fresh.reach(_UNLIMITED, 0) and (best is None or fresh.cost < best.cost - _SAME):
            best = fresh
        if best and best.cost <= bound * (1 + _SAME):
            break
    if best is None:
        best = _Search(asked, kinds, counts, 1, effort)
        if not best.reach(_UNLIMITED, max(effort, _MOVES)):
            raise NoLayout("there are not enough sheets: no layout was found for all parts")
    return best


def _cheaper(asked: Asked, bound: float, best: _Search, effort: int) -> tuple[tuple[CutSheet, ...], int]:
    """From one layout to ever cheaper ones, by a search that begins anew after every round without success.

    One round in four turns no part that may lie as it is: fewer ways, but often the better ones. In the end the
    sheets met on the way are put together anew.
    """
    if cheaper := _from_strips(asked, bound, best, effort):
        best = cheaper
    sheets, cost = best.sheets(), best.cost
    pool = Pool() if len(sheets) >= _MANY and effort >= _POOLED else None
    spent, run = 0, best
    for turn, length in enumerate(_rounds(best.job.n, effort)):
        if turn:
            run = _anew(asked, best, 7919 + turn, effort, length, turn % 4 == 1)
        while cost > bound * (1 + _SAME) and spent < effort:
            before = run.done
            found = run.reach(cost * (1 - _SAME) - _SAME, min(length, effort - spent), pool)
            spent += run.done - before
            if not found:
                break
            sheets, cost = run.sheets(), run.cost
        if cost <= bound * (1 + _SAME) or spent >= effort:
            break
    if pool and pool.met and cost > bound * (1 + _SAME):
        anew = _put_together(asked, best.kinds, pool, cost, 0)
        sheets = anew.sheets() if anew else sheets
    return sheets, spent


def _rounds(parts: int, effort: int) -> Iterator[int]:
    """The moves of one round after another: short ones first, since a fresh start helps as often as patience."""
    base = max(_ROUND, _ROUND_BY_PART * parts)
    length, left = base, effort
    while left > 0:
        for _ in range(2):
            yield min(length, left)
            left -= length
        length = min(2 * length, _LONGEST * base)


def _anew(asked: Asked, best: _Search, seed: int, effort: int, length: int, upright: bool) -> _Search:
    """A search that begins anew, perhaps with no part turned if all have room so."""
    counts = _counts(asked)
    for view in (_upright(asked), asked) if upright else (asked,):
        run = _Search(view, best.kinds, counts, seed, effort, length)
        if run.reach(_UNLIMITED, 0):
            break
    return run


def _from_strips(asked: Asked, bound: float, best: _Search, effort: int) -> _Search | None:
    """A cheaper layout of patterns of strips where many parts are alike, put together anew until none is cheaper."""
    if best.job.n < max(_ALIKE, 3 * len(asked.parts)) or effort < _MOVES or best.cost <= bound * (1 + _SAME):
        return None
    from plangen.stock.sheets.strips import generate

    pool = Pool()
    pool.gather(best.job, best.now)
    generate(asked, best.kinds, best.job.first, pool, _PATTERNS)
    found, cost = None, best.cost
    while cost > bound * (1 + _SAME):
        anew = _put_together(asked, best.kinds, pool, cost, effort)
        if anew is None:
            break
        found, cost = anew, anew.cost
    return found


def _put_together(
    asked: Asked, kinds: Sequence[Kind], pool: Pool, cost: float, effort: int
) -> _Search | None:
    """A cheaper layout of sheets of the pool, if there is one, from which a search can go on."""
    stocks = [k.stock for k in kinds]
    chosen = covering(asked, [asked.costs[k] for k in stocks], stocks, pool, cost * (1 - _LESS))
    if chosen is None:
        return None
    fresh = _Search(asked, kinds, _counts(asked), 1, effort)
    put_together(chosen, pool, fresh.job, fresh.now)
    return fresh


def _upright(asked: Asked) -> Asked:
    """The same job with no part turned that may lie as it is."""
    return replace(asked, turns=tuple(tuple(1 if t == 3 else t for t in row) for row in asked.turns))


def _largest_offcut(
    asked: Asked, sheets: tuple[CutSheet, ...], effort: int
) -> tuple[tuple[CutSheet, ...], int]:
    """The same sheets with more freed by one straight cut from one of them, and the moves spent."""
    spent = 0
    ways = {"crosscut": (0,), "rip": (1,), None: (0, 1)}[asked.first_cut]
    parts = sum(p.quantity for p in asked.parts)
    for turn, length in enumerate(_rounds(parts, effort)):
        (share, _), last = max(((_freed(asked, s), -k) for k, s in enumerate(sheets)))
        stock = sheets[-last].stock
        if asked.stock[stock].keep_outs or spent >= effort:
            break
        view = _upright(asked) if turn // 2 % 4 == 1 else asked
        run = _CutShort(view, sheets, stock, ways[turn % len(ways)], effort, length, turn)
        sheets = run.improved(share, effort - spent) or sheets
        spent += run.search.done
    return sheets, spent


class _CutShort:
    """A search on the same sheets of which one, of a stock, is used only so far along one direction."""

    def __init__(
        self,
        asked: Asked,
        sheets: tuple[CutSheet, ...],
        stock: int,
        way: int,
        effort: int,
        length: int,
        turn: int,
    ) -> None:
        self.asked, self.stock, self.way, self.length, self.many = asked, stock, way, length, len(sheets)
        self.counts = [sum(s.stock == k for s in sheets) for k in range(len(asked.stock))]
        self.counts[stock] -= 1
        self.kinds = [k for k in kinds_of(asked) if self.counts[k.stock]]
        self.kinds.append(short_kind(asked, stock, way, asked.sheets[stock][way]))
        self.search = _Search(asked, self.kinds, [*self.counts, 1], 104729 + turn, effort, length)

    def improved(self, share: float, most: int) -> tuple[CutSheet, ...] | None:
        """The last of ever better layouts, from one that frees a share on; None if there was none."""
        better = None
        side = self.asked.sheets[self.stock][self.way] - self.asked.kerf_units
        short = self.search.job.first[len(self.kinds) - 1]
        extent = _shorter(self.asked, side, share)
        while extent >= _least_extent(self.asked, self.counts, self.stock, self.way):
            self.search.job.node_rest[short] = extent
            if not self.search.reach(_UNLIMITED, min(self.length, most - self.search.done)):
                break
            better = self.search.sheets()
            if len(better) < self.many:
                break
            extent = _shorter(self.asked, side, max(_freed(self.asked, s)[0] for s in better))
            self.search.empty(len(self.kinds) - 1)
        return better


def _shorter(asked: Asked, side: int, share: float) -> int:
    """An extent, with kerf, that frees more than a share of a side: a unit, or a thousandth of the side."""
    return int(side * (1 - share) + 0.5) - max(1, side // 1000) + asked.kerf_units


def _least_extent(asked: Asked, counts: Sequence[int], stock: int, way: int) -> float:
    """The extent below which the areas of the parts cannot be covered."""
    need = sum(float(x) * float(y) * p.quantity for (x, y), p in zip(asked.sizes, asked.parts, strict=True))
    have = sum(float(x) * float(y) * n for (x, y), n in zip(asked.sheets, counts, strict=True))
    return (need - have) / float(asked.sheets[stock][1 - way])
