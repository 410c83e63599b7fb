"""Of a few equations in three unknowns: which unknowns they can best be solved for."""

from __future__ import annotations

import itertools

from plangen.geometry.vectors import cross, dot


def steady_columns(matrix: list[list[float]]) -> tuple[int, ...] | None:
    """The first columns in which the rows are well independent, else those in which they are most so; None where
    they are so in none."""
    best: tuple[float, tuple[int, ...]] | None = None
    for chosen in itertools.combinations(range(3), len(matrix)):
        size = abs(_determinant([[row[c] for c in chosen] for row in matrix]))
        if size > 0.05:
            return chosen
        if best is None or size > best[0] * (1 + 1e-9):
            best = (size, chosen)
    return best[1] if best is not None and best[0] > 1e-6 else None


def _determinant(m: list[list[float]]) -> float:
    if len(m) == 1:
        return m[0][0]
    if len(m) == 2:
        return m[0][0] * m[1][1] - m[0][1] * m[1][0]
    return dot((m[0][0], m[0][1], m[0][2]), cross((m[1][0], m[1][1], m[1][2]), (m[2][0], m[2][1], m[2][2])))
