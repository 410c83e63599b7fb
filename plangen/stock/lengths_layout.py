"""What is asked of a layout of parts on boards, bars and lengths, and the layout itself. Millimetres.

Only lengths count here: every board of a stock has the section of its parts. Positions run from the board's end A.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from typing import Literal, TypeAlias

CutKind: TypeAlias = Literal["trim", "part", "clear"]
Ended: TypeAlias = Literal["proven", "effort", "first"]


class NoLayout(ValueError):
    """The parts cannot be cut from the stock: which part, or what is missing, in plain words."""


@dataclass(frozen=True)
class LengthStock:
    """Boards of one length.

    ``price`` is for one, in any currency; without prices a board costs its length in millimetres, and what lies in
    the ``shop`` nothing. ``count`` is how many there are (None: as many as wanted). ``keep_outs`` are the stretches
    (from, to) from which nothing is cut, a knot or a split: a board that was seen is listed by itself, count 1.
    ``trim`` is for these boards instead of the trim of the whole layout; an offcut with sawn ends needs none.
    """

    name: str
    length: float
    price: float | None = None
    count: int | None = None
    shop: bool = False
    keep_outs: tuple[tuple[float, float], ...] = ()
    trim: float | None = None


@dataclass(frozen=True)
class LengthPart:
    """Equal parts to be cut.

    Pieces of all parts with the same word in ``matched`` come out of one clear length side by side, in the order
    in which they are asked for, so that grain and colour run on from one to the next.
    """

    name: str
    length: float
    quantity: int = 1
    matched: str = ""


@dataclass(frozen=True)
class LaidPart:
    """One piece where it lies; ``part`` is an index into the parts asked for."""

    part: int
    at: float
    length: float

    @property
    def end(self) -> float:
        return self.at + self.length


@dataclass(frozen=True)
class Offcut:
    """A clear length that is left, without the trim of the board's end and without the kerf before it."""

    at: float
    length: float


@dataclass(frozen=True)
class Bar:
    """One board: its stock (an index into the stock given), its parts and what is left, each from end A on."""

    stock: int
    parts: tuple[LaidPart, ...]
    offcuts: tuple[Offcut, ...]

    @property
    def pattern(self) -> tuple[int, tuple[tuple[float, float], ...]]:
        """What tells two ways of cutting apart: the stock, and where its parts lie; not what they are called."""
        return self.stock, tuple((p.at, p.length) for p in self.parts)


@dataclass(frozen=True)
class LengthCut:
    """One cut across a board, in the order in which it is made.

    The saw's kerf lies at ``at`` and beyond it, away from end A; but before ``at`` where the cut makes the first
    clean end (``trim``, or ``clear`` behind a knot). ``stop`` is the distance from the fresh end to the stop
    block, None where no part is cut to length; ``part`` is the part that comes off.
    """

    bar: int
    at: float
    kind: CutKind
    stop: float | None = None
    part: int | None = None


@dataclass(frozen=True)
class LengthLayout:
    """Which boards to cut and how.

    ``cost`` is the sum of prices, or of lengths where no price is given; ``bound`` what no layout can cost less
    than. ``proven``: no layout of any kind is cheaper. ``ended`` says why the search stopped: at the proof, when
    its ``effort`` was spent, or at the first valid layout because no more was asked for; ``work`` counts what was
    spent (patterns found and nodes searched). Bars of one pattern follow one another.
    """

    stock: tuple[LengthStock, ...]
    parts: tuple[LengthPart, ...]
    kerf: float
    trim: float
    bars: tuple[Bar, ...]
    cuts: tuple[LengthCut, ...]
    cost: float
    bound: float
    proven: bool
    ended: Ended
    work: int

    @property
    def used(self) -> tuple[int, ...]:
        """How many boards of each stock."""
        return tuple(sum(b.stock == k for b in self.bars) for k in range(len(self.stock)))

    @property
    def patterns(self) -> int:
        """How many different ways of cutting a board."""
        return len({b.pattern for b in self.bars})

    @property
    def offcuts(self) -> tuple[tuple[int, Offcut], ...]:
        """All that is left with the bar it is left of, the longest first."""
        left = [(k, o) for k, bar in enumerate(self.bars) for o in bar.offcuts]
        return tuple(sorted(left, key=lambda o: (-round(o[1].length, 6), o[0], o[1].at)))

    @property
    def stops(self) -> tuple[tuple[float, int], ...]:
        """The settings of the stop block and how many pieces are cut with each, the longest first."""
        many = Counter(c.stop for c in self.cuts if c.stop is not None)
        return tuple(sorted(many.items(), reverse=True))

    @property
    def waste(self) -> float:
        """The share of the boards' length that no part takes: 1 - parts / boards; 0 without boards."""
        boards = math.fsum(self.stock[b.stock].length for b in self.bars)
        parts = math.fsum(p.length for b in self.bars for p in b.parts)
        return 1 - parts / boards if boards else 0.0

    @property
    def worth(self) -> str:
        """What the answer is worth, in words."""
        if self.proven:
            return "no layout costs less"
        if self.bound <= 0:
            return "not proven to cost least"
        over = math.ceil(1000 * (self.cost / self.bound - 1) - 1e-9) / 10
        return f"at most {over:g} % above the least that any layout can cost"
