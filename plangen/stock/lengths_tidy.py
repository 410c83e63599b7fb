"""Of layouts that cost the same: the one that leaves the longest offcut, and of those the fewest patterns.

What is left on the rack are the ends of the boards that were cut and the shop's own pieces that were not. Boards
are first refilled in pairs, so that what is left gathers in few long pieces; then a board is asked for that ends
sooner, until it is proven that no layout of the same cost has one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from plangen.stock.lengths_fill import Pattern, boards_of, cost_of, filled, fullest
from plangen.stock.lengths_job import Bin, Board, Job
from plangen.stock.lengths_patterns import fewer_patterns
from plangen.stock.lengths_search import Effort, Search

_PASSES = 6
_TRIAL = Effort(rounds=60, dives=2, steps=12, patterns=1_000, nodes=50)
"""What one question for a shorter board may spend."""
_STEP = 0.5
"""Millimetres: offcuts no more different are equally long."""


def tidied(job: Job, patterns: Sequence[Pattern], pieces: int, work: int) -> list[Pattern]:
    """The best of equal cost; by search in jobs of up to so many pieces, in larger ones as refilling finds it."""
    best = gathered(job, patterns)
    if sum(job.demands) <= pieces:
        best = _longer(job, best, work)
        best = fewer_patterns(job, best, longest_left(job, best), work)
    return best


def longest_left(job: Job, patterns: Sequence[Pattern]) -> int:
    """The longest offcut of the boards that are cut, with the kerf before it."""
    return max((job.bins[p[0]].size - filled(job, p) for p in patterns), default=0)


def gathered(job: Job, patterns: Sequence[Pattern]) -> list[Pattern]:
    """Pairs of boards refilled, the one as full as it can be: what is left on the rack grows longer, never dearer."""
    best = list(patterns)
    for _ in range(_PASSES):
        changed = False
        order = sorted(range(len(best)), key=lambda i: (filled(job, best[i]), best[i]))
        for a in order[: 1 + len(order) // 8]:
            for b in order[::-1]:
                if a == b or not any(best[a][1]) or not any(best[b][1]):
                    continue
                pair = _refilled(job, best[a], best[b])
                if pair is not None:
                    best[a], best[b] = pair
                    changed = True
        best = [p for p in best if any(p[1])]
        if not changed:
            break
    return best


def _refilled(job: Job, poor: Pattern, rich: Pattern) -> tuple[Pattern, Pattern] | None:
    """The pieces of two clear lengths with the second as full as it can be, if that gathers what is left."""
    both = [n + m for n, m in zip(poor[1], rich[1], strict=True)]
    room = job.bins[rich[0]].size
    counts = fullest(job, both, room)
    rest = tuple(n - m for n, m in zip(both, counts, strict=True))
    one, other = (poor[0], rest), (rich[0], tuple(counts))
    if filled(job, one) > job.bins[poor[0]].size:
        return None
    return (one, other) if _gain(job, (one, other), (poor, rich)) else None


def _gain(job: Job, new: tuple[Pattern, Pattern], old: tuple[Pattern, Pattern]) -> bool:
    return sum(_left(job, p) ** 2 for p in new) > sum(_left(job, p) ** 2 for p in old)


def _left(job: Job, pattern: Pattern) -> int:
    """What a clear length leaves: all of it where nothing is cut from it (the board goes back, or is not bought)."""
    return job.bins[pattern[0]].size - filled(job, pattern)


def _longer(job: Job, patterns: list[Pattern], work: int) -> list[Pattern]:
    """For each stock in turn the board that ends soonest, halving in on its length while the cost can be kept; until
    so many patterns were looked at."""
    best, cost = patterns, cost_of(job, patterns)
    step = max(1, round(_STEP / job.unit))
    for b, board in enumerate(job.boards):
        if len(board.bins) > 1 or board.shop:
            continue
        size = job.bins[board.bins[0]].size
        low, ask = job.sizes[-1] - 1, size - longest_left(job, best) - step
        while ask > low and work > 0:
            found, spent = _with_short_board(job, b, ask, cost)
            work -= spent
            if found is None or longest_left(job, found) < size - ask:
                low = ask
            else:
                best = found
            high = size - longest_left(job, best)
            ask = (low + high) // 2 if high - low > step else low
    return best


def _with_short_board(job: Job, b: int, size: int, cost: int) -> tuple[list[Pattern] | None, int]:
    """A layout of no more than the cost in which one board of the stock ends at a length, None if none is found; and
    the work spent."""
    board = job.boards[b]
    if board.count < 1 or cost < board.price or size < job.sizes[-1]:
        return None, 0
    k = board.bins[0]
    fewer = replace(board, count=board.count - 1, limited=True) if board.limited else board
    short = Board(board.stock, 0, 1, True, board.length, True, (len(job.bins),))
    bins = (*job.bins, Bin(len(job.boards), job.bins[k].start, size))
    trial = replace(job, bins=bins, boards=(*job.boards[:b], fewer, *job.boards[b + 1 :], short))
    search = Search(trial, _TRIAL, goal=cost - board.price)
    search.run()
    if search.best is None or search.cost is None or search.cost > cost - board.price:
        return None, search.work
    found = [(k if at == len(job.bins) else at, counts) for at, counts in search.best]
    fits = all(n <= other.count for n, other in zip(boards_of(job, found), job.boards, strict=True))
    return (found if fits and cost_of(job, found) <= cost else None), search.work
