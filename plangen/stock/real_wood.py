"""Honest about real wood: short parts left in one length until the machines are done with them, and scrap of the work's
own section to try their settings on. Millimetres."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from plangen.stock.cutting_list import CuttingRow
from plangen.stock.lengths_layout import LengthLayout, LengthPart
from plangen.tables.stock import is_metal

SCRAP = "scrap"
"""What a layout calls the length that is kept to try settings on."""
_MOST_SHORTEST = 3
"""A gang is at most so many times as long as the shortest piece that a machine takes: longer is no safer."""
_SAME = 1e-6


@dataclass(frozen=True)
class Gang:
    """Parts that stay one length, a kerf between them, until they are machined."""

    marks: tuple[str, ...]
    length: float


def is_machined(row: CuttingRow) -> bool:
    """Whether something is cut into a part of square wood, beside sawing it to its size."""
    return (
        row.worked
        and not row.is_round
        and row.stock.kind not in ("sheet", "round")
        and not is_metal(row.stock)
    )


def gangs_of(
    parts: Sequence[LengthPart], alike: Sequence[int | None], shortest: float, kerf: float
) -> tuple[tuple[int, ...], ...]:
    """Indices of parts, once for each piece, that are put together in lengths of at least ``shortest``.

    Only parts of the same number in ``alike`` go together (None: with no other), the longest first, each with as few
    others as make it long enough. What cannot be made so long stays by itself: it is machined before it is cut off.
    """
    found = []
    for kind in dict.fromkeys(k for k in alike if k is not None):
        waiting = [
            i for i, p in enumerate(parts) if alike[i] == kind and p.length < shortest - _SAME and not p.matched
            for _ in range(p.quantity)
        ]  # fmt: skip
        waiting.sort(key=lambda i: (-parts[i].length, i))
        while waiting:
            run, length = [waiting.pop(0)], 0.0
            length = parts[run[0]].length
            while length < shortest - _SAME and waiting:
                run.append(waiting.pop(0))
                length += kerf + parts[run[-1]].length
            if len(run) > 1 and shortest - _SAME <= length <= _MOST_SHORTEST * shortest:
                found.append(tuple(run))
    return tuple(found)


def ganged(parts: Sequence[LengthPart], gangs: Sequence[tuple[int, ...]]) -> tuple[LengthPart, ...]:
    """The parts with those of each gang asked for side by side, under the same names."""
    taken = Counter(i for gang in gangs for i in gang)
    alone = (replace(p, quantity=p.quantity - taken[i]) for i, p in enumerate(parts))
    together = (
        replace(parts[i], quantity=n, matched=f"{k}. gang")
        for k, gang in enumerate(gangs, 1)
        for i, n in Counter(gang).items()
    )
    return (*(p for p in alone if p.quantity), *together)


def gang_lengths(
    parts: Sequence[LengthPart], gangs: Iterable[tuple[int, ...]], kerf: float
) -> tuple[Gang, ...]:
    """Each gang by its marks, with the length to leave whole."""
    return tuple(
        Gang(tuple(parts[i].name for i in gang), sum(parts[i].length for i in gang) + kerf * (len(gang) - 1))
        for gang in gangs
    )


def has_scrap(layout: LengthLayout, length: float) -> bool:
    """Whether an offcut is long enough to try settings on; without a length none is asked for."""
    return length <= 0 or any(offcut.length >= length - _SAME for _, offcut in layout.offcuts)
