"""How many standard lengths hold the parts: first fit, longest part first."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

_SAME = 1e-6
"""Millimetres: a part this little too long still fits."""


@dataclass(frozen=True)
class Purchase:
    """``count`` pieces of one length, millimetres."""

    length: float
    count: int
    width: float | None = None
    """Of a sheet."""


def first_fit(parts: Sequence[float], length: float, kerf: float) -> tuple[tuple[float, ...], ...]:
    """The parts, longest first, each in the first piece of stock with room; a kerf between neighbours.

    Every part must be no longer than ``length``. Never uses more than 11/9 of the fewest pieces possible,
    plus one (Johnson 1973, from memory: the bound for bin packing without kerf; a kerf between parts is a
    longer part in a longer bin).
    """
    pieces: list[list[float]] = []
    used: list[float] = []
    for part in sorted(parts, reverse=True):
        for index, taken in enumerate(used):
            if taken + kerf + part <= length + _SAME:
                pieces[index].append(part)
                used[index] = taken + kerf + part
                break
        else:
            pieces.append([part])
            used.append(part)
    return tuple(tuple(piece) for piece in pieces)


def lengths_to_buy(
    parts: Sequence[float], standard: Sequence[float], kerf: float, special: float
) -> tuple[Purchase, ...]:
    """The purchase of one standard length that buys the least in all; the shortest where equal.

    A part longer than every standard length is bought by itself, its length rounded up to a multiple of
    ``special``.
    """
    longest = max(standard)
    over = [math.ceil((part - _SAME) / special) * special for part in parts if part > longest + _SAME]
    within = [part for part in parts if part <= longest + _SAME]
    bought = [Purchase(length, over.count(length)) for length in sorted(set(over), reverse=True)]
    if within:
        choices = [
            Purchase(length, len(first_fit(within, length, kerf)))
            for length in standard
            if length + _SAME >= max(within)
        ]
        bought.append(min(choices, key=lambda p: (round(p.length * p.count, 6), p.length)))
    return tuple(bought)
