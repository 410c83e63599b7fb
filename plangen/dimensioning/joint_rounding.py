"""Joint rounding: where nearest figures put a corner too far off, free ones are rounded the other way, together."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import TypeAlias

import numpy as np

from plangen.dimensioning.choice import Stated
from plangen.dimensioning.drift import corner_moves, solution, times
from plangen.dimensioning.exchange import is_given
from plangen.dimensioning.freedom import Freedom
from plangen.dimensioning.offers import Offer
from plangen.dimensioning.rounding import Coordinates, as_moved, axis_of, printed
from plangen.geometry.vectors import length, sub
from plangen.units import UnitStyle

Key: TypeAlias = tuple[int, float]
"""A position: the axis, and millimetres along it."""
_FAR = 0.75
"""Of a denominator: the nearest figures stay where no corner is farther off."""
_FEW = 12
"""Positions of which every choice of up and down is looked at; of more, one to three turned at a time."""
_MANY = 30
"""Of more positions than this only one or two are turned at a time."""
_MOST = 12
"""Times that some are turned."""


def round_jointly(
    freedom: Freedom, stated: Sequence[Stated], coordinates: Coordinates, style: UnitStyle
) -> None:
    """Lay positions the other way, up for down, while that brings the corner that is farthest off nearer.

    ``freedom`` is the system before the figures. Sizes that are held, bought or given by the work stay; every chain
    closes as before, since a position is laid once for all figures that end there.
    """
    governing = [s.offer for s in stated if not s.reference]
    rows = [freedom.figure_row(o.kind, o.spots, o.direction, o.view) for o in governing]
    kept = [(o, r) for o, r in zip(governing, rows, strict=True) if r.any()]
    if not freedom.work.corners or len(freedom.said) + len(kept) != freedom.unknowns:
        return
    shifts = times(corner_moves(freedom), solution(freedom.said, [r for _, r in kept]))
    search = _Search([o for o, _ in kept], [s.offer for s in stated], shifts, coordinates, style)
    for _ in range(_MOST):
        if not search.is_far() or not search.turn_some():
            return


class _Search:
    def __init__(
        self,
        offers: Sequence[Offer],
        told: Sequence[Offer],
        shifts: np.ndarray,
        coordinates: Coordinates,
        style: UnitStyle,
    ) -> None:
        self._offers = offers
        self._told = told
        self._shifts = shifts
        self._coordinates = coordinates
        self._style = style

    def is_far(self) -> bool:
        return self._far(self._errors())[0] > _FAR * float(self._style.step) + 1e-6

    def turn_some(self) -> bool:
        """Turn the positions that help most; False where none do."""
        free, base = self._coordinates.free(), self._errors()
        now = self._far(base)
        every = []
        for key in free:
            self._coordinates.turn(key)
            every.append(self._errors() - base)
            self._coordinates.turn(key)
        # A position that only figures in parentheses hang on moves no corner.
        free = [key for key, change in zip(free, every, strict=True) if change.any()]
        changes = [change for change in every if change.any()]
        if not changes:
            return False
        moves, effects = times(self._shifts, base[:, None])[:, 0], times(self._shifts, np.array(changes).T)
        for sizes in [tuple(range(1, len(free) + 1))] if len(free) <= _FEW else [(1,), (2,), (3,)]:
            if len(free) > _MANY and sizes == (3,):
                continue
            for chosen in _likeliest(moves, effects, sizes):
                for k in chosen:
                    self._coordinates.turn(free[k])
                # A size of less than a step prints finer, so it is tried.
                if self._far(self._errors()) < now and self._is_true():
                    return True
                for k in chosen:
                    self._coordinates.turn(free[k])
        return False

    def _is_true(self) -> bool:
        """No figure of the sheet, in parentheses or not, is more than a step off."""
        offs = (
            abs(float(printed(o, self._coordinates, self._style)[1]) - o.value)
            for o in self._told
            if axis_of(o) is not None
        )
        return max(offs, default=0.0) <= float(self._style.step) + 1e-6

    def _errors(self) -> np.ndarray:
        """Printed less true of each figure, as its equation counts it."""
        found = []
        for offer in self._offers:
            off = float(printed(offer, self._coordinates, self._style)[1]) - offer.value
            arm = length(sub(offer.spots[1].point, offer.spots[0].point))
            found.append(0.0 if is_given(offer) else as_moved(offer.kind, arm, off))
        return np.array(found)

    def _far(self, errors: np.ndarray) -> tuple[float, float]:
        """How far the corner is off that is farthest off along an axis; and all together, squared."""
        moved = np.abs(times(self._shifts, errors[:, None])[:, 0])
        return round(float(moved.max()), 6), round(math.fsum((moved * moved).tolist()), 6)


def _likeliest(moves: np.ndarray, effects: np.ndarray, sizes: Sequence[int]) -> list[tuple[int, ...]]:
    """Choices of columns, so many at a time, by how far the farthest corner would be off; the eight best."""
    found: list[tuple[float, float, tuple[int, ...]]] = []
    for size in sizes:
        sets = list(itertools.combinations(range(effects.shape[1]), size))
        moved = moves[:, None] + sum(effects[:, [s[i] for s in sets]] for i in range(size))
        most, total = np.abs(moved).max(0), (moved * moved).sum(0)
        ranked = sorted(
            (round(float(m), 6), round(float(t), 6), s) for m, t, s in zip(most, total, sets, strict=True)
        )
        found += ranked[:8]
    return [s for *_, s in sorted(found)[:8]]
