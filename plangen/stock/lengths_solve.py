"""The layout of parts on boards of least cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from plangen.stock.lengths_bars import bars_of, cuts_of
from plangen.stock.lengths_cover import least_by_length
from plangen.stock.lengths_fill import Pattern, best_fit, cost_of
from plangen.stock.lengths_job import Job, read_job
from plangen.stock.lengths_layout import Ended, LengthLayout, LengthPart, LengthStock, NoLayout

EFFORT = 3


def cut_lengths(
    stock: Sequence[LengthStock],
    parts: Sequence[LengthPart],
    kerf: float = 0.0,
    trim: float = 0.0,
    effort: int = EFFORT,
) -> LengthLayout:
    """The cheapest layout of parts on boards, bars or lengths.

    ``kerf`` is the width of a saw cut, ``trim`` what is taken off each end of a board first (its cut included), in
    millimetres. ``effort`` bounds the patterns and nodes of the search, never its seconds, so that the same input
    has the same layout everywhere: 0 stops at the first valid layout, each step more allows twice the work.

    ``NoLayout`` says which part is longer than every board, or that there are not enough boards; ``ValueError`` what
    is no length, count or price.
    """
    job = read_job(stock, parts, kerf, trim)
    asked = _Asked(tuple(stock), tuple(parts), kerf, trim)
    if not job.sizes:
        return _layout(asked, job, _Found([], 0, True, "proven"))
    if effort <= 0:
        first = best_fit(job, job.demands, [b.count for b in job.boards])
        if first is None:
            raise NoLayout("no room was found for all parts; more effort may find it")
        bound = least_by_length(job)
        done = cost_of(job, first) <= bound
        return _layout(asked, job, _Found(first, bound, done, "proven" if done else "first"))
    return _layout(asked, job, _searched(job, effort))


@dataclass(frozen=True)
class _Asked:
    stock: tuple[LengthStock, ...]
    parts: tuple[LengthPart, ...]
    kerf: float
    trim: float


@dataclass(frozen=True)
class _Found:
    """Boards by their patterns, what every layout costs at least, in coins, and how the search ended."""

    patterns: list[Pattern]
    bound: int
    proven: bool
    ended: Ended
    work: int = 0


def _searched(job: Job, effort: int) -> _Found:
    from plangen.stock.lengths_search import Effort, Search
    from plangen.stock.lengths_tidy import tidied

    many = 2 ** min(effort, 12)
    search = Search(
        job,
        Effort(
            rounds=300,
            dives=max(1, min(4, effort - 1)),
            steps=12 * many,
            patterns=200 * many,
            nodes=25 * many,
        ),
    )
    search.run()
    if search.best is None:
        if search.least > search.everything:
            raise NoLayout("the boards that there are do not hold all parts")
        raise NoLayout("no room was found for all parts; more effort may find it")
    ended: Ended = "proven" if search.proven else "effort"
    best = tidied(job, search.best, pieces=8 * many, work=25 * many)
    return _Found(best, search.least, search.proven, ended, search.work)


def _layout(asked: _Asked, job: Job, found: _Found) -> LengthLayout:
    bars = bars_of(job, found.patterns)
    cost = cost_of(job, found.patterns)
    return LengthLayout(
        asked.stock,
        asked.parts,
        asked.kerf,
        asked.trim,
        bars,
        cuts_of(asked.stock, asked.parts, bars, asked.kerf),
        round(cost * job.coin, 6),
        round(min(found.bound, cost) * job.coin, 6),
        found.proven,
        found.ended,
        found.work,
    )
