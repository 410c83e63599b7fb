"""Blocks: marks that take a known room, laid out before their place on the sheet is known."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from plangen.drawing.mark_geometry import moved
from plangen.drawing.marks import Group, Mark


@dataclass(frozen=True)
class Block:
    """Marks from 0 to ``width`` to the right and from 0 to ``height`` down from the upper left corner, the
    origin (y is still up, so marks have negative y)."""

    name: str
    marks: tuple[Mark, ...]
    width: float
    height: float

    def placed(self, left: float, top: float) -> Group:
        """On the sheet, its upper left corner at (``left``, ``top``)."""
        return Group(self.name, tuple(moved(m, (left, top)) for m in self.marks))


def spaced(block: Block, gap: float) -> Block:
    """The block with ``gap`` mm under it as part of it."""
    return Block(block.name, block.marks, block.width, block.height + gap)


def stacked(name: str, blocks: Iterable[Block], gap: float) -> Block:
    """Blocks one under the other, flush left, ``gap`` mm apart."""
    marks: list[Mark] = []
    width = down = 0.0
    for block in blocks:
        if marks:
            down += gap
        marks.append(block.placed(0.0, -down))
        width = max(width, block.width)
        down += block.height
    return Block(name, tuple(marks), width, down)


def flowed(name: str, blocks: Sequence[Block], room: Sequence[float], gap: float) -> tuple[Block, ...]:
    """Blocks in order in columns of the heights ``room``; the last height serves for all further columns.

    A block is never parted. Where the first columns are too low for the first block they come back empty; one
    that is higher than every column has a column to itself.
    """
    columns: list[Block] = []
    waiting: list[Block] = []
    used = 0.0
    for block in blocks:
        while not waiting and len(columns) < len(room) - 1 and block.height > room[len(columns)]:
            columns.append(stacked(name, (), gap))
        height = room[min(len(columns), len(room) - 1)]
        if waiting and used + gap + block.height > height:
            columns.append(stacked(name, waiting, gap))
            waiting, used = [], 0.0
        used += block.height + (gap if waiting else 0.0)
        waiting.append(block)
    if waiting:
        columns.append(stacked(name, waiting, gap))
    return tuple(columns)


def balanced(name: str, blocks: Sequence[Block], count: int, most: float) -> tuple[Block, ...] | None:
    """The blocks in ``count`` columns at most, as low as they go; None where that is higher than ``most``."""
    low = math.fsum(b.height for b in blocks) / count
    steps = math.ceil(max(most - low, 0.0))
    for height in (*(low + i for i in range(steps)), most):
        columns = flowed(name, blocks, (height,), 0.0)
        if len(columns) <= count and max((c.height for c in columns), default=0.0) <= most + 1e-6:
            return columns
    return None
