"""From patterns to boards: which piece lies where, in which order to cut, what is left."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

from plangen.stock.lengths_fill import Pattern, filled
from plangen.stock.lengths_job import Board, Job
from plangen.stock.lengths_layout import Bar, LaidPart, LengthCut, LengthPart, LengthStock, Offcut

_Runs = dict[int, tuple[int, ...]]
_SAME = 1e-6


def bars_of(job: Job, patterns: Sequence[Pattern]) -> tuple[Bar, ...]:
    """The boards in the order in which they are cut: the longest stock first, equal patterns together, full ones first.

    In a clear length the longest piece lies nearest to end A, so that what is left is one piece, at its far end.
    """
    waiting = [list(reversed(p)) for p in job.pieces]
    in_order = sorted(_boards(job, patterns), key=lambda found: _rank(job, found))
    return tuple(_bar(job, job.boards[b], runs, waiting) for b, runs in in_order)


def _boards(job: Job, patterns: Sequence[Pattern]) -> Iterator[tuple[int, _Runs]]:
    """Each board with the counts of its clear lengths; patterns of its clear lengths are paired in order."""
    by_bin: dict[int, list[tuple[int, ...]]] = defaultdict(list)
    for at, counts in sorted(patterns, key=lambda p: (-filled(job, p), p[1])):
        by_bin[at].append(counts)
    for b, board in enumerate(job.boards):
        for j in range(max(len(by_bin[k]) for k in board.bins)):
            yield b, {k: by_bin[k][j] for k in board.bins if j < len(by_bin[k])}


def _rank(job: Job, found: tuple[int, _Runs]) -> tuple[int, int, int, list[tuple[int, tuple[int, ...]]]]:
    b, runs = found
    taken = sum(filled(job, run) for run in runs.items())
    return -job.boards[b].length, job.boards[b].stock, -taken, sorted(runs.items())


def _bar(job: Job, board: Board, runs: _Runs, waiting: list[list[tuple[int, ...]]]) -> Bar:
    laid: list[LaidPart] = []
    left: list[Offcut] = []
    for k in board.bins:
        here = job.bins[k].start
        end = here + job.bins[k].size - job.kerf
        for kind, many in enumerate(runs.get(k, ())):
            for _ in range(many):
                for part in waiting[kind].pop():
                    laid.append(LaidPart(part, _mm(job, here), _mm(job, job.lengths[part])))
                    here += job.lengths[part] + job.kerf
        if end > here:
            left.append(Offcut(_mm(job, here), _mm(job, end - here)))
    return Bar(board.stock, tuple(laid), tuple(left))


def _mm(job: Job, units: int) -> float:
    return round(units * job.unit, 6)


def cuts_of(
    stock: Sequence[LengthStock], parts: Sequence[LengthPart], bars: Sequence[Bar], kerf: float
) -> tuple[LengthCut, ...]:
    """Every cut, board by board, from end A on: the end trimmed or a knot cut out, then part after part.

    A part that ends where the board ends needs no cut.
    """
    cuts: list[LengthCut] = []
    for index, bar in enumerate(bars):
        board = stock[bar.stock]
        fresh = 0.0
        for part in bar.parts:
            if part.at > fresh + _SAME:
                behind = fresh or any(a < part.at for a, _ in board.keep_outs)
                cuts.append(LengthCut(index, part.at, "clear" if behind else "trim"))
            if part.end < board.length - _SAME:
                cuts.append(LengthCut(index, part.end, "part", part.length, part.part))
            fresh = part.end + kerf
    return tuple(cuts)
