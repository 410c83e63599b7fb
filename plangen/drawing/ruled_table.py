"""Ruled tables on paper, flowing over as many fields and sheets as they need.

Practice (ISO 7573 read, the rest common practice): header once and again on each continuation; row pitch 2 h;
rules 0.25, frame and header rule 0.5, no upright rules inside; words flush left, numbers flush right with
fractions after one line; an empty cell shows an em dash; no three rows or fewer left alone on a sheet.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from plangen.drawing.block import Block
from plangen.drawing.dimension_marks import line_pitch
from plangen.drawing.lettering import has_stack, stack_height, text_width, wrap
from plangen.drawing.mark_geometry import polyline, rectangle
from plangen.drawing.marks import Lettering, Link, Mark, Stroke

FEWEST_ROWS = 4
"""A table is parted only so that at least so many rows stand together on either side."""
PAD = 2.0
"""Clear at both sides of a cell, mm."""
TITLE = 5.0
"""Height of the title over a table, mm."""
_TITLE_GAP = 3.0
_EMPTY = "—"
_MIXED = re.compile(r"(\(?-?\d*) ?(\d+/\d+\)?)")


@dataclass(frozen=True)
class Column:
    """``wraps``: words that may go on to further lines; such columns give way when the table is too wide."""

    heading: str
    align: Literal["left", "right", "middle"] = "left"
    wraps: bool = False


@dataclass(frozen=True)
class Table:
    """What a table says; every row has a cell for each column. ``links``: the sheet a row leads to."""

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    links: tuple[str | None, ...] = ()
    height: float = 3.5
    """Height of capitals."""


@dataclass(frozen=True)
class _Layout:
    """Measures common to all pieces of one table."""

    table: Table
    widths: tuple[float, ...]
    fractions: tuple[float, ...]
    """By column, room to the right of whole numbers for fractions."""
    header: tuple[tuple[str, ...], ...]
    lines: tuple[tuple[tuple[str, ...], ...], ...]
    """By row and cell."""

    @property
    def width(self) -> float:
        return math.fsum(self.widths)

    @property
    def head_height(self) -> float:
        return _band(self.header, self.table.height)

    @property
    def title_height(self) -> float:
        return TITLE + _TITLE_GAP if self.table.title else 0.0

    def row_height(self, row: int) -> float:
        return _band(self.lines[row], self.table.height)


def table_blocks(table: Table, width: float, room: Sequence[float]) -> tuple[Block, ...]:
    """The table in pieces no wider than ``width`` and no higher than ``room`` (the last height serves for all
    further pieces). A first room too low to begin in gives an empty block.

    Raises ValueError when a row has another number of cells than there are columns.
    """
    for row in table.rows:
        if len(row) != len(table.columns):
            raise ValueError(f"table {table.title}: a row of {len(row)} cells, {len(table.columns)} columns")
    layout = _lay_out(table, width)
    blocks: list[Block] = []
    begun = False
    for first, last in _parts(layout, room):
        if first == last and table.rows:
            blocks.append(Block(table.title, (), 0.0, 0.0))
            continue
        blocks.append(_piece(layout, first, last, begun))
        begun = True
    return tuple(blocks)


def _parts(layout: _Layout, room: Sequence[float]) -> list[tuple[int, int]]:
    """First and last-plus-one row of every piece; equal where nothing stands in that room."""
    count = len(layout.table.rows)
    if count == 0:
        return [(0, 0)]
    overhead = layout.title_height + layout.head_height
    parts: list[tuple[int, int]] = []
    row = 0
    while row < count:
        left = room[min(len(parts), len(room) - 1)] - overhead
        end = row
        while end < count and math.fsum(map(layout.row_height, range(row, end + 1))) <= left + 1e-6:
            end += 1
        last_room = len(parts) >= len(room) - 1
        if end - row < min(FEWEST_ROWS, count - row) and not last_room:
            end = row
        elif end == row:
            end = row + 1
        if 0 < count - end < FEWEST_ROWS and end > row:
            # too few would stand alone: share the rest out, evenly where there are not rows enough
            end = min(end, max(count - FEWEST_ROWS, row + (count - row + 1) // 2))
        parts.append((row, end))
        row = end
    return parts


def _lay_out(table: Table, width: float) -> _Layout:
    h = table.height
    cells = tuple(tuple(c or _EMPTY for c in row) for row in table.rows)
    table = replace(table, rows=cells)
    fractions = tuple(_fraction_room(table, i) for i in range(len(table.columns)))
    widths = _widths(table, fractions, width)
    header = tuple(
        wrap(c.heading, w - 2 * PAD + 1e-6, h, "bold") for c, w in zip(table.columns, widths, strict=True)
    )
    lines = tuple(
        tuple(
            wrap(cell, w - 2 * PAD + 1e-6, h) if c.wraps else (cell,)
            for c, w, cell in zip(table.columns, widths, row, strict=True)
        )
        for row in cells
    )
    return _Layout(table, widths, fractions, header, lines)


def least_width(table: Table) -> float:
    """The narrowest the table can be with no word broken, mm."""
    fractions = tuple(_fraction_room(table, i) for i in range(len(table.columns)))
    return math.fsum(_asked_widths(table, fractions)[1])


def _asked_widths(table: Table, fractions: tuple[float, ...]) -> tuple[list[float], list[float], list[float]]:
    """By column: what the cells ask, the least that breaks no word, what the heading asks."""
    h = table.height
    wanted: list[float] = []
    least: list[float] = []
    heads: list[float] = []
    for i, column in enumerate(table.columns):
        texts = [row[i] or _EMPTY for row in table.rows]
        cell = max((_cell_width(t, h, column, fractions[i]) for t in texts), default=0.0)
        word = max((text_width(w, h, "bold") for w in column.heading.split()), default=0.0)
        wanted.append(max(cell, word) + 2 * PAD)
        heads.append(text_width(column.heading, h, "bold") + 2 * PAD)
        words = (text_width(w, h) for t in texts for w in t.split())
        least.append(max(word, *words, 0.0) + 2 * PAD if column.wraps else wanted[i])
    return wanted, least, heads


def _widths(table: Table, fractions: tuple[float, ...], width: float) -> tuple[float, ...]:
    """As wide as the cells ask; slack goes to headings first, want is taken from the columns that wrap."""
    wanted, least, heads = _asked_widths(table, fractions)
    slack = width - math.fsum(wanted)
    if slack < 0:
        return _narrowed(table, wanted, least, width)
    for i, head in enumerate(heads):
        more = min(max(0.0, head - wanted[i]), slack)
        wanted[i] += more
        slack -= more
    # loose enough to read along a row, never so wide that the eye loses it
    loose = min(slack / len(wanted), 6.0)
    return tuple(w + loose for w in wanted)


def _narrowed(table: Table, wanted: list[float], least: list[float], width: float) -> tuple[float, ...]:
    """The widest wrapping columns cut down to one common width; only then below their longest word."""
    wraps = [c.wraps for c in table.columns]
    if not any(wraps):
        wraps = [True] * len(wanted)
    floor = list(least)
    spare = width - math.fsum(floor)
    if spare < 0:
        total = math.fsum(f for f, w in zip(floor, wraps, strict=True) if w)
        slim = 2 * PAD + table.height
        return tuple(
            max(slim, f * (1 + spare / total)) if w else f for f, w in zip(floor, wraps, strict=True)
        )
    low, high = 0.0, max(wanted)
    for _ in range(50):
        level = (low + high) / 2
        trial = [min(w, max(f, level)) for w, f in zip(wanted, floor, strict=True)]
        low, high = (level, high) if math.fsum(trial) <= width else (low, level)
    return tuple(min(w, max(f, low)) for w, f in zip(wanted, floor, strict=True))


def _split_mixed(text: str) -> tuple[str, str] | None:
    """Whole part and fraction of a cell that is one mixed number or fraction."""
    m = _MIXED.fullmatch(text)
    return (m[1], m[2]) if m and has_stack(text) else None


def _fraction_room(table: Table, column: int) -> float:
    if table.columns[column].align != "right":
        return 0.0
    pairs = (_split_mixed(row[column]) for row in table.rows)
    widths = [text_width(f" {p[1]}", table.height) for p in pairs if p]
    return max(widths, default=0.0)


def _cell_width(text: str, height: float, column: Column, fraction: float) -> float:
    if column.align != "right":
        return text_width(text, height)
    pair = _split_mixed(text)
    return text_width(pair[0] if pair else text, height) + fraction


def _band(cells: tuple[tuple[str, ...], ...], height: float) -> float:
    """Height of a row: 2 h, and a line pitch for each further line; 1 mm over and under a stack."""
    return _first_band(cells, height) + max(
        (line_pitch(c, height) * (len(c) - 1) for c in cells), default=0.0
    )


def _first_band(cells: tuple[tuple[str, ...], ...], height: float) -> float:
    """Height of the part of a row in whose middle the first lines stand."""
    stack = stack_height(height) + 2 if any(has_stack(t) for c in cells for t in c) else 0.0
    return max(2 * height, stack)


def _piece(layout: _Layout, first: int, last: int, continued: bool) -> Block:
    table = layout.table
    marks: list[Mark] = []
    down = 0.0
    if table.title:
        title = f"{table.title} (continued)" if continued else table.title
        marks.append(Lettering(title, (0.0, -TITLE), TITLE))
        down = layout.title_height
    top = -down
    marks += _row_marks(layout, layout.header, -down, "bold")
    down += layout.head_height
    marks.append(Stroke(polyline((0.0, -down), (layout.width, -down)), "outline"))
    for i in range(first, last):
        marks += _row_marks(layout, layout.lines[i], -down, "regular")
        height = layout.row_height(i)
        link = table.links[i] if i < len(table.links) else None
        if link:
            marks.append(Link((0.0, -down - height, layout.width, -down), link))
        down += height
        if i + 1 < last:
            marks.append(Stroke(polyline((0.0, -down), (layout.width, -down)), "rule"))
    marks.append(Stroke(rectangle((0.0, -down, layout.width, top)), "outline", True))
    return Block(table.title or "table", tuple(marks), layout.width, down)


def _row_marks(
    layout: _Layout, cells: tuple[tuple[str, ...], ...], top: float, weight: Literal["regular", "bold"]
) -> list[Mark]:
    h = layout.table.height
    band = _first_band(cells, h)
    marks: list[Mark] = []
    x = 0.0
    columns = zip(layout.table.columns, layout.widths, layout.fractions, cells, strict=True)
    for column, width, fraction, lines in columns:
        pitch = line_pitch(lines, h)
        for i, text in enumerate(lines):
            base = top - (band + h) / 2 - pitch * i
            room = fraction if weight == "regular" else 0.0
            marks.append(_cell_mark(text, column, (x + PAD, x + width - PAD), base, h, room, weight))
        x += width
    return marks


def _cell_mark(
    text: str,
    column: Column,
    span: tuple[float, float],
    base: float,
    height: float,
    fraction: float,
    weight: Literal["regular", "bold"],
) -> Lettering:
    """``fraction``: room kept at the right, so that whole numbers end on one upright."""
    left, right = span
    if column.align == "left":
        return Lettering(text, (left, base), height, "left", weight=weight)
    if column.align == "middle":
        return Lettering(text, ((left + right) / 2, base), height, "middle", weight=weight)
    pair = _split_mixed(text) if fraction else None
    if pair is None:
        return Lettering(text, (right - fraction, base), height, "right", weight=weight)
    # a fraction alone stands where fractions stand: its whole number is nothing, its space stays
    before = -text_width(pair[0], height) if pair[0] else text_width(" ", height)
    start = right - fraction + before
    return Lettering(text, (start, base), height, "left", weight=weight)
