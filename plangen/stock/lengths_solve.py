"""The layout of parts on boards of least cost."""

from __future__ import annotations

from collections.abc import Sequence

from plangen.stock.lengths_bars import bars_of, cuts_of
from plangen.stock.lengths_fill import Pattern, best_fit, cost_of
from plangen.stock.lengths_job import Job, read_job
from plangen.stock.lengths_layout import LengthLayout, LengthPart, LengthStock, NoLayout

EFFORT = 4


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
    patterns = best_fit(job)
    if patterns is None:
        raise NoLayout("the boards that there are do not hold all parts")
    return _layout(stock, parts, kerf, trim, job, patterns)


def _layout(
    stock: Sequence[LengthStock],
    parts: Sequence[LengthPart],
    kerf: float,
    trim: float,
    job: Job,
    patterns: list[Pattern],
) -> LengthLayout:
    bars = bars_of(job, patterns)
    cost = cost_of(job, patterns)
    return LengthLayout(
        tuple(stock),
        tuple(parts),
        kerf,
        trim,
        bars,
        cuts_of(stock, parts, bars, kerf),
        round(cost * job.coin, 6),
        0.0,
        cost == 0,
        "first",
        0,
    )
