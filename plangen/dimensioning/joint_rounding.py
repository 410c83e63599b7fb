"""Joint rounding: where nearest figures put a corner too far off, free ones are rounded the other way, together."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from typing import TypeAlias

import numpy as np

from plangen.dimensioning.choice import Stated
from plangen.dimensioning.drift import corner_moves, solution, times
from plangen.dimensioning.exchange import is_given
from plangen.dimensioning.freedom import Freedom
from plangen.dimensioning.rounding import Coordinates, printed
from plangen.geometry.vectors import length, sub
from plangen.units import UnitStyle

Key: TypeAlias = tuple[int, float]
"""A position: the axis, and millimetres along it."""
_FAR = 0.75
"""Of a denominator: the nearest figures stay where no corner is farther off."""
_MOST = 12
"""Positions turned, one or two at a time."""


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

    def far() -> tuple[float, float]:
        off = []
        for offer, _ in kept:
            error = float(printed(offer, coordinates, style)[1]) - offer.value
            if offer.kind == "angular":
                error = math.radians(error) * length(sub(offer.spots[1].point, offer.spots[0].point))
            off.append(0.0 if is_given(offer) else error / 2 if offer.kind == "diameter" else error)
        moved = np.abs(times(shifts, np.array(off)[:, None])[:, 0])
        return round(float(moved.max()), 6), round(math.fsum((moved * moved).tolist()), 6)

    now = far()
    for _ in range(_MOST):
        if now[0] <= _FAR * float(style.step) + 1e-6:
            return
        free = coordinates.free()
        for together in (1, 2):
            best = min(
                ((_tried(coordinates, keys, far), keys) for keys in itertools.combinations(free, together)),
                default=(now, ()),
            )
            if best[0] < now:
                break
        else:
            return
        _turn(coordinates, best[1])
        now = best[0]


def _turn(coordinates: Coordinates, keys: Sequence[Key]) -> None:
    for key in keys:
        coordinates.turn(key)


def _tried(
    coordinates: Coordinates, keys: Sequence[Key], far: Callable[[], tuple[float, float]]
) -> tuple[float, float]:
    """How far corners would be off with positions turned; they are turned back again."""
    _turn(coordinates, keys)
    there = far()
    _turn(coordinates, keys)
    return there
