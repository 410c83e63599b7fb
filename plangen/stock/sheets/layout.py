"""What is asked of a cutting layout for sheets, and the layout as a tree of cuts. All sizes in millimetres.

On a sheet, x runs along its length and y along its width, from its lower left corner. A *rip* runs along the
length and divides the width; a *crosscut* runs across and divides the length.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from plangen.stock.lengths_layout import NoLayout as NoLayout

Cut = Literal["rip", "crosscut"]
SheetGrain = Literal["along", "across", "none"]
PartGrain = Literal["along", "across", "any"]


@dataclass(frozen=True)
class KeepOut:
    """A rectangle of a sheet from which nothing is cut: a knot, a dent, a stamp."""

    x: float
    y: float
    length: float
    width: float


@dataclass(frozen=True)
class SheetStock:
    """Sheets, or wide boards, of one size.

    ``price`` is for one, in any currency; without prices a sheet costs its area, and what lies in the ``shop``
    nothing. ``count`` is how many there are (None: as many as wanted). ``grain`` runs along the length, across it, or
    there is none. ``keep_outs`` are the same on each of them: list a sheet with a defect by itself, count 1.
    """

    name: str
    length: float
    width: float
    price: float | None = None
    count: int | None = None
    grain: SheetGrain = "none"
    shop: bool = False
    keep_outs: tuple[KeepOut, ...] = ()


@dataclass(frozen=True)
class SheetPart:
    """Equal rectangles to be cut; ``grain`` says how the grain runs in the part, along its length or across.

    A part with ``grain`` other than ``any`` may turn on a sheet only as its grain lets it; one with ``any``, or
    on a sheet without grain, as it likes, if turning is allowed at all.
    """

    name: str
    length: float
    width: float
    quantity: int = 1
    grain: PartGrain = "any"


@dataclass(frozen=True)
class Piece:
    """A rectangle of a sheet: divided by cuts of one direction into ``pieces``, or a part, or what is left.

    Neighbouring ``pieces`` have a kerf between them, and are listed by growing x (crosscuts) or y (rips). Where
    the last cut takes what was left whole, nothing follows it. ``part`` is an index into the parts asked for.
    """

    x: float
    y: float
    length: float
    width: float
    cut: Cut | None = None
    pieces: tuple[Piece, ...] = ()
    part: int | None = None
    turned: bool = False
    keep_out: bool = False

    def leaves(self) -> Iterator[Piece]:
        """The parts and what is left of this piece, in the order of the tree."""
        if not self.pieces:
            yield self
        for piece in self.pieces:
            yield from piece.leaves()


@dataclass(frozen=True)
class CutSheet:
    """One sheet, its stock (an index into the stock given) and its tree, whose root is the sheet when trimmed."""

    stock: int
    root: Piece

    @property
    def placed(self) -> tuple[Piece, ...]:
        """The parts where they lie; a turned part has its length across the sheet."""
        return tuple(p for p in self.root.leaves() if p.part is not None)

    @property
    def offcuts(self) -> tuple[Piece, ...]:
        """What is left, the largest first; a piece spoilt by a keep-out is not listed."""
        left = [p for p in self.root.leaves() if p.part is None and not p.keep_out]
        return tuple(sorted(left, key=lambda p: (-round(p.length * p.width, 3), p.x, p.y)))


@dataclass(frozen=True)
class SheetLayout:
    """Which sheets to cut and how.

    ``cost`` is the sum of prices, or of areas in square millimetres where no price is given, and ``bound`` what
    no layout can cost less than; ``proven`` says that they are equal: no layout of any kind is cheaper.
    ``score`` is the number of sheets, the last counted only up to the straight cut that frees the largest
    offcut; ``moves`` is the work spent.
    """

    stock: tuple[SheetStock, ...]
    parts: tuple[SheetPart, ...]
    kerf: float
    trim: float
    sheets: tuple[CutSheet, ...]
    cost: float
    bound: float
    proven: bool
    score: float
    moves: int

    @property
    def used(self) -> tuple[int, ...]:
        """How many sheets of each stock."""
        return tuple(sum(s.stock == k for s in self.sheets) for k in range(len(self.stock)))
