"""How a sheet or board is broken down: one picture a stock piece, to scale, with its cuts numbered in order.

Parts carry their name and size, offcuts are hatched and carry their size, a spoilt place is grey; the number of each
cut stands where the cut starts. A table beside gives the stop setting of every cut.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from plangen.drawing.block import Block
from plangen.drawing.face_marks import grain_arrow
from plangen.drawing.lettering import Box2, text_box, text_width
from plangen.drawing.mark_geometry import extent, polyline, rectangle
from plangen.drawing.marks import Fill, Lettering, Mark, Stroke
from plangen.drawing.ruled_table import Column, Table
from plangen.geometry.curves import Line
from plangen.stock.laid_pieces import LaidArea, LaidCut, LaidStock, laid_board, laid_sheet
from plangen.stock.lengths_layout import LengthLayout
from plangen.stock.sheets.cuts import numbered_cuts, settings
from plangen.stock.sheets.layout import SheetLayout
from plangen.units import UnitStyle, length_text

FIGURE = 2.5
"""Height of capitals in the picture, mm."""
_NUMBER_ROOM = 5.0
"""Room below and left of a sheet for the numbers of cuts that start there, mm."""
_ABOVE = FIGURE / 2 + 0.45
"""Room above, for half a number at the upper edge, mm."""
_PAD = 0.8
_AIR = 0.5
_HATCH = 4.0
"""Distance of hatching lines, mm."""
_LEAST_BOARD = 9.0
"""Height at which a board is drawn at least: its width is not to scale where that is less."""
_GRAIN = 14.0


@dataclass(frozen=True)
class Area:
    """A rectangle of the stock piece, mm of the work: from (``x``, ``y``), with what is written in it."""

    x: float
    y: float
    length: float
    width: float
    use: Literal["part", "offcut", "spoilt"]
    words: tuple[str, ...]


@dataclass(frozen=True)
class Breakdown:
    """A stock piece to be drawn: sizes in mm of the work; ``grain`` in degrees from its length, None without."""

    length: float
    width: float
    kerf: float
    areas: tuple[Area, ...]
    cuts: tuple[LaidCut, ...]
    grain: float | None


def sheet_breakdown(layout: SheetLayout, index: int, style: UnitStyle) -> Breakdown:
    """One sheet of a layout; parts by the names they were asked for with, and their sizes along the sheet first."""
    grain = {"along": 0.0, "across": 90.0, "none": None}[layout.stock[layout.sheets[index].stock].grain]
    return _drawn(laid_sheet(layout, index), layout.kerf, grain, style)


def board_breakdown(layout: LengthLayout, index: int, width: float, style: UnitStyle) -> Breakdown:
    """One board of a layout, ``width`` wide; its grain runs along it and needs no arrow."""
    return _drawn(laid_board(layout, index, width), layout.kerf, None, style)


def _drawn(piece: LaidStock, kerf: float, grain: float | None, style: UnitStyle) -> Breakdown:
    areas = tuple(Area(a.x, a.y, a.length, a.width, a.use, _words(piece, a, style)) for a in piece.areas)
    return Breakdown(piece.length, piece.width, kerf, areas, piece.cuts, grain)


def _words(piece: LaidStock, area: LaidArea, style: UnitStyle) -> tuple[str, ...]:
    """Name and size: of a board its length says enough."""
    if area.use == "spoilt":
        return ()
    size = length_text(area.length, style)
    if piece.kind == "SHEET":
        size += f" × {length_text(area.width, style)}"
    return (area.name, size) if area.name else (size,)


def settings_table(layout: SheetLayout, index: int, style: UnitStyle) -> Table:
    """The stop settings of a sheet in the order of the first cut made with each."""
    rows = tuple(
        (", ".join(map(str, numbers)), cut, length_text(setting, style))
        for cut, setting, numbers in settings(numbered_cuts(layout, layout.sheets[index]))
    )
    return Table("Stop settings", (Column("Cuts", wraps=True), Column("Saw"), Column("Stop", "right")), rows)


def breakdown_block(name: str, piece: Breakdown, width: float, height: float) -> Block:
    """The picture as large as a room of ``width`` by ``height`` mm of paper lets it be."""
    scale = min((width - _NUMBER_ROOM) / piece.length, (height - _NUMBER_ROOM - _ABOVE) / piece.width)
    tall = max(piece.width * scale, min(_LEAST_BOARD, height - _NUMBER_ROOM))
    up = tall / piece.width
    top = -tall - _ABOVE

    def at(x: float, y: float) -> tuple[float, float]:
        return _NUMBER_ROOM + x * scale, top + y * up

    areas = [(a, (*at(a.x, a.y), *at(a.x + a.length, a.y + a.width))) for a in piece.areas]
    marks: list[Mark] = [Stroke(rectangle((*at(0, 0), *at(piece.length, piece.width))), "outline", True)]
    words = {k: _fitting(area.words, box) for k, (area, box) in enumerate(areas)}
    taken = [_grown(extent(w)) for found in words.values() for w in found]
    cuts = list(_cut_marks(piece, at, [box for area, box in areas if area.use != "spoilt"], taken))
    for k, (area, box) in enumerate(areas):
        marks += _area_marks(area, box, words[k], [c for c in taken if _meet(c, box)])
    marks += cuts
    used_height = tall + _NUMBER_ROOM + _ABOVE
    if piece.grain is not None:
        middle = at(piece.length, 0)[0] - _GRAIN / 2, top - _NUMBER_ROOM - 3.0
        marks.append(grain_arrow(middle, piece.grain, _GRAIN))
        used_height += _GRAIN / 2 + 6.0 if piece.grain else 8.0
    return Block(name, tuple(marks), _NUMBER_ROOM + piece.length * scale, used_height)


def _area_marks(area: Area, box: Box2, words: Sequence[Lettering], clear: Sequence[Box2]) -> Iterator[Mark]:
    """The outline of a piece, its hatching clear of ``clear``, or its grey, and its words."""
    if area.use == "spoilt":
        yield Fill(rectangle(box), 0.75)
        return
    if area.use == "offcut":
        yield from (Stroke((line,), "narrow") for line in _hatching(box, clear))
    yield Stroke(rectangle(box), "narrow" if area.use == "offcut" else "outline", True)
    yield from words


def _fitting(words: Sequence[str], box: Box2) -> tuple[Lettering, ...]:
    """The words in one line or one under the other, level or upright; else the first word; or none."""
    joined = " ".join(words)
    for lines in ((joined,), tuple(words), tuple(words[:1])):
        if not lines or not lines[0]:
            continue
        for turn in (0.0, 90.0):
            found = _set(lines, box, turn)
            if all(_within(extent(w), box) for w in found):
                return found
    return ()


def _set(lines: Sequence[str], box: Box2, turn: float) -> tuple[Lettering, ...]:
    """Lines in the middle of a box, one under the other, their own heights apart (fractions stand taller)."""
    x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    inks = [text_box(text, FIGURE) for text in lines]
    high = math.fsum(b[3] - b[1] for b in inks) + _PAD * (len(lines) - 1)
    down, found = high / 2, []
    for text, ink in zip(lines, inks, strict=True):
        off = down - ink[3]
        found.append(Lettering(text, (x, y + off) if turn == 0 else (x - off, y), FIGURE, "middle", turn))
        down -= ink[3] - ink[1] + _PAD
    return tuple(found)


def _within(inner: Box2, outer: Box2) -> bool:
    """With a little air."""
    return (
        inner[0] - _PAD >= outer[0]
        and inner[1] - _PAD >= outer[1]
        and inner[2] + _PAD <= outer[2]
        and inner[3] + _PAD <= outer[3]
    )


def _grown(box: Box2) -> Box2:
    return (box[0] - _AIR, box[1] - _AIR, box[2] + _AIR, box[3] + _AIR)


def _meet(a: Box2, b: Box2) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _hatching(box: Box2, clear: Sequence[Box2]) -> Iterator[Line]:
    """Lines at 45 degrees over a box, but not over what is to stay clear."""
    x0, y0, x1, y1 = box
    pitch = _HATCH * math.sqrt(2)
    c = math.ceil((x0 - y1) / pitch) * pitch
    while c < x1 - y0:
        # the points (x, x - c) from a to b
        spans = [(max(x0, y0 + c), min(x1, y1 + c))]
        for hole in clear:
            low, high = max(hole[0], hole[1] + c), min(hole[2], hole[3] + c)
            if low < high:
                spans = [s for a, b in spans for s in ((a, min(b, low)), (max(a, high), b)) if s[0] < s[1]]
        yield from (Line((p, p - c), (q, q - c)) for p, q in spans if q - p > 0.3)
        c += pitch


def _cut_marks(
    piece: Breakdown,
    at: Callable[[float, float], tuple[float, float]],
    areas: Sequence[Box2],
    taken: list[Box2],
) -> Iterator[Mark]:
    """Each cut, and its number where it starts: below or left of the stock piece, or beside the cut in a part or
    offcut that has room; ``taken`` gains the room of each number. A cut without room for one is told by the table."""
    edge = min((a.x for a in piece.areas), default=0.0), min((a.y for a in piece.areas), default=0.0)
    for cut in piece.cuts:
        p, q = at(*cut.start), at(*cut.end)
        yield Stroke(polyline(p, q), "narrow")
        for place in _number_places(cut, edge, at(0.0, 0.0), p, q):
            number = Lettering(str(cut.number), place, FIGURE, "middle", weight="bold")
            ink = extent(number)
            room = _grown(ink)
            outside = ink[3] < at(0.0, 0.0)[1] or ink[2] < at(0.0, 0.0)[0]
            if (outside or any(_within(ink, a) for a in areas)) and not any(_meet(room, b) for b in taken):
                taken.append(room)
                yield number
                break


def _number_places(
    cut: LaidCut,
    edge: tuple[float, float],
    corner: tuple[float, float],
    p: tuple[float, float],
    q: tuple[float, float],
) -> list[tuple[float, float]]:
    """Where a cut's number may stand: outside the stock piece if it starts at its edge (trimmed), else beside it."""
    wide = text_width(str(cut.number), FIGURE, "bold")
    found = []
    if cut.upright and cut.start[1] <= edge[1]:
        found.append((p[0], corner[1] - 1.2 - FIGURE))
    if not cut.upright and cut.start[0] <= edge[0]:
        found.append((corner[0] - 1.2 - wide / 2, p[1] - FIGURE / 2))
    off = (wide / 2 + 2 * _PAD, 0.0) if cut.upright else (0.0, FIGURE / 2 + 2 * _PAD)
    for k in range(24):
        share = 0.04 + 0.04 * k
        x, y = p[0] + share * (q[0] - p[0]), p[1] + share * (q[1] - p[1]) - FIGURE / 2
        found += [(x + off[0], y + off[1]), (x - off[0], y - off[1])]
    return found
