"""What boards cost at least by their lengths alone."""

from __future__ import annotations

import math
from fractions import Fraction

from plangen.stock.lengths_job import Job


def least_by_length(job: Job) -> int:
    """Whole coins: the parts' lengths with their kerfs, taken from the boards that are cheapest for their length."""
    need = sum(size * n for size, n in zip(job.sizes, job.demands, strict=True))
    clear = [sum(job.bins[k].size for k in board.bins) for board in job.boards]
    cost = Fraction(0)
    for b in sorted(range(len(clear)), key=lambda b: Fraction(job.boards[b].price, clear[b])):
        board = job.boards[b]
        taken = min(need, clear[b] * board.count) if board.limited else need
        cost += Fraction(board.price * taken, clear[b])
        need -= taken
        if not need:
            break
    return math.ceil(cost)
