"""What is asked for, checked and turned into whole numbers.

Lengths are counted in millionths of a millimetre, so that a 64th of an inch (396,875 of them) and a thousandth
(25,400) are whole and no sum is ever rounded; then divided by what they all have in common. The kerf is added to
each part and to each clear length: n parts in a row then need n kerfs of a length that has one more than it has,
which is the n - 1 kerfs between them, exactly.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from plangen.stock.lengths_layout import LengthPart, LengthStock, NoLayout

_UNITS = 1_000_000
_LARGEST = 1 << 60


@dataclass(frozen=True)
class Bin:
    """A clear length of a board: its size with one kerf, and where it starts, in whole units."""

    board: int
    start: int
    size: int


@dataclass(frozen=True)
class Board:
    """A stock that can be cut: its index, price in whole units, how many there are, its clear lengths."""

    stock: int
    price: int
    count: int
    limited: bool
    length: int
    shop: bool
    bins: tuple[int, ...]


@dataclass(frozen=True)
class Job:
    """Kinds of piece by size (with one kerf), the longest first; ``pieces`` of a kind are what may be laid there.

    A piece is a run of part indices, one part or those that are matched. ``unit`` is in millimetres, ``coin`` in
    the currency.
    """

    sizes: tuple[int, ...]
    pieces: tuple[tuple[tuple[int, ...], ...], ...]
    lengths: tuple[int, ...]
    bins: tuple[Bin, ...]
    boards: tuple[Board, ...]
    kerf: int
    unit: float
    coin: float

    @property
    def demands(self) -> tuple[int, ...]:
        return tuple(len(p) for p in self.pieces)


def read_job(stock: Sequence[LengthStock], parts: Sequence[LengthPart], kerf: float, trim: float) -> Job:
    """The job in whole numbers; ``ValueError`` in plain words for what is not a length, a count or a price,
    ``NoLayout`` for a part that no board can hold."""
    _check(stock, parts, kerf, trim)
    kerf_units, lengths = whole(kerf), [whole(p.length) for p in parts]
    clear = [_clear(s, trim, kerf_units) for s in stock]
    pieces = _pieces(parts, lengths, kerf_units)
    values = [kerf_units, *(v for runs in clear for run in runs for v in run), *pieces, *lengths]
    common = math.gcd(*values, *(whole(s.length) for s in stock)) or 1
    prices, coin = _prices(stock)
    total = sum(len(p) for p in pieces.values())
    bins: list[Bin] = []
    boards: list[Board] = []
    for index, (s, runs) in enumerate(zip(stock, clear, strict=True)):
        count = total if s.count is None else min(s.count, total)
        if not runs or not count:
            continue
        first = len(bins)
        bins += [Bin(len(boards), a // common, (b - a + kerf_units) // common) for a, b in runs]
        span = tuple(range(first, len(bins)))
        limited = s.count is not None and s.count < total
        board = Board(index, prices[index], count, limited, whole(s.length) // common, s.shop, span)
        boards.append(board)
    sizes = tuple(sorted(pieces, reverse=True))
    job = Job(
        tuple(size // common for size in sizes),
        tuple(tuple(pieces[size]) for size in sizes),
        tuple(length // common for length in lengths),
        tuple(bins),
        tuple(boards),
        kerf_units // common,
        common / _UNITS,
        coin,
    )
    _check_room(job, parts)
    return job


def whole(length: float) -> int:
    """A length in millionths of a millimetre."""
    return round(length * _UNITS)


def _check(stock: Sequence[LengthStock], parts: Sequence[LengthPart], kerf: float, trim: float) -> None:
    if not (0 <= kerf < math.inf and 0 <= trim < math.inf):
        raise ValueError("the kerf and the trim must not be less than nothing")
    for part in parts:
        if not 0 < part.length < math.inf or part.quantity < 0:
            raise ValueError(f"{part.name}: its length must be more than nothing and its quantity not less")
    for s in stock:
        if not 0 < s.length < math.inf or (s.count is not None and s.count < 0):
            raise ValueError(f"{s.name}: its length must be more than nothing and its count not less")
        if s.price is not None and not 0 <= s.price < math.inf:
            raise ValueError(f"{s.name}: its price must not be less than nothing")
        if s.trim is not None and not 0 <= s.trim < math.inf:
            raise ValueError(f"{s.name}: its trim must not be less than nothing")
        if any(not 0 <= a < b for a, b in s.keep_outs):
            raise ValueError(f"{s.name}: a keep-out runs from a place on the board to one further on")
    longest = max([kerf, trim, *(p.length for p in parts), *(s.length for s in stock)])
    if whole(longest) * (1 + sum(p.quantity for p in parts)) > _LARGEST:
        raise ValueError("the lengths are too large to be counted")


def _clear(stock: LengthStock, trim: float, kerf: int) -> list[tuple[int, int]]:
    """From where to where the board is clear; a keep-out narrower than the kerf is as wide as the kerf."""
    end_trim = whole(trim if stock.trim is None else stock.trim)
    here, end = end_trim, whole(stock.length) - end_trim
    runs = []
    for a, b in sorted(stock.keep_outs):
        start = whole(a)
        runs.append((here, min(start, end)))
        here = max(here, whole(b), start + kerf)
    runs.append((here, end))
    return [(a, b) for a, b in runs if b > a]


def _pieces(
    parts: Sequence[LengthPart], lengths: Sequence[int], kerf: int
) -> dict[int, list[tuple[int, ...]]]:
    """Pieces by their size with the kerf, in the order in which the parts are asked for."""
    found: dict[int, list[tuple[int, ...]]] = {}
    matched: dict[str, list[int]] = {}
    for index, part in enumerate(parts):
        if part.matched:
            matched.setdefault(part.matched, []).extend([index] * part.quantity)
        else:
            found.setdefault(lengths[index] + kerf, []).extend([(index,)] * part.quantity)
    for run in matched.values():
        if run:
            found.setdefault(sum(lengths[i] + kerf for i in run), []).append(tuple(run))
    return {size: runs for size, runs in found.items() if runs}


def _prices(stock: Sequence[LengthStock]) -> tuple[list[int], float]:
    """Prices in whole coins, and the coin; lengths where no price is given, nothing for what lies in the shop."""
    bought = [s for s in stock if not s.shop]
    priced = [s for s in bought if s.price is not None]
    if priced and len(priced) < len(bought):
        names = ", ".join(s.name for s in bought if s.price is None)
        raise ValueError(f"either all boards to buy have a price or none has; without one: {names}")
    values = [
        0 if s.shop and s.price is None else whole(s.length if s.price is None else s.price) for s in stock
    ]
    common = math.gcd(*values) or 1
    return [v // common for v in values], common / _UNITS


def _check_room(job: Job, parts: Sequence[LengthPart]) -> None:
    longest = max((b.size for b in job.bins), default=0)
    for size, pieces in zip(job.sizes, job.pieces, strict=True):
        if size > longest:
            run = pieces[0]
            part = parts[run[0]]
            what = (
                part.name
                if len(run) == 1
                else f"the matched parts {part.matched}, {len(run)} in one clear length"
            )
            need = (size - job.kerf) * job.unit
            have = max(0.0, (longest - job.kerf) * job.unit)
            raise NoLayout(f"{what}: {need:g} mm is longer than any clear length ({have:g} mm)")
