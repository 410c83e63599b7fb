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
from plangen.drawing.lettering import Box2, text_width
from plangen.drawing.mark_geometry import polyline, rectangle
from plangen.drawing.marks import Fill, Lettering, Mark, Stroke
from plangen.drawing.ruled_table import Column, Table
from plangen.geometry.curves import Line
from plangen.stock.lengths_layout import LengthLayout
from plangen.stock.sheets.cuts import NumberedCut, numbered_cuts, settings
from plangen.stock.sheets.layout import SheetLayout
from plangen.units import UnitStyle, length_text

FIGURE = 2.5
"""Height of capitals in the picture, mm."""
_NUMBER_ROOM = 5.0
"""Room below and left of a sheet for the numbers of cuts that start there, mm."""
_ABOVE = FIGURE / 2 + 0.45
"""Room above, for half a number at the upper edge, mm."""
_PAD = 0.8
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
class CutLine:
    """A cut from edge to edge of the piece it divides; the kerf lies right of a crosscut and above a rip."""

    number: int
    upright: bool
    start: tuple[float, float]
    end: tuple[float, float]


@dataclass(frozen=True)
class Breakdown:
    """A stock piece to be drawn: sizes in mm of the work; ``grain`` in degrees from its length, None without."""

    length: float
    width: float
    kerf: float
    areas: tuple[Area, ...]
    cuts: tuple[CutLine, ...]
    grain: float | None


def sheet_breakdown(layout: SheetLayout, index: int, style: UnitStyle) -> Breakdown:
    """One sheet of a layout; parts by the names they were asked for with, and their sizes along the sheet first."""
    sheet = layout.sheets[index]
    stock = layout.stock[sheet.stock]
    areas = []
    for piece in sheet.root.leaves():
        size = f"{length_text(piece.length, style)} × {length_text(piece.width, style)}"
        name = () if piece.part is None else (layout.parts[piece.part].name,)
        use: Literal["part", "offcut", "spoilt"] = (
            "part" if piece.part is not None else "spoilt" if piece.keep_out else "offcut"
        )
        words = () if use == "spoilt" else (*name, size)
        areas.append(Area(piece.x, piece.y, piece.length, piece.width, use, words))
    cuts = tuple(_cut_line(c) for c in numbered_cuts(layout, sheet))
    grain = {"along": 0.0, "across": 90.0, "none": None}[stock.grain]
    return Breakdown(stock.length, stock.width, layout.kerf, tuple(areas), cuts, grain)


def _cut_line(cut: NumberedCut) -> CutLine:
    return CutLine(cut.number, cut.cut == "crosscut", cut.start, cut.end)


def board_breakdown(layout: LengthLayout, index: int, width: float, style: UnitStyle) -> Breakdown:
    """One board of a layout, ``width`` wide."""
    bar = layout.bars[index]
    stock = layout.stock[bar.stock]
    areas = [
        Area(p.at, 0.0, p.length, width, "part", (layout.parts[p.part].name, length_text(p.length, style)))
        for p in bar.parts
    ]
    areas += [
        Area(o.at, 0.0, o.length, width, "offcut", (length_text(o.length, style),)) for o in bar.offcuts
    ]
    areas += [Area(a, 0.0, b - a, width, "spoilt", ()) for a, b in stock.keep_outs]
    mine = [c for c in layout.cuts if c.bar == index]
    cuts = tuple(CutLine(n, True, (c.at, 0.0), (c.at, width)) for n, c in enumerate(mine, 1))
    return Breakdown(stock.length, width, layout.kerf, tuple(areas), cuts, 0.0)


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

    marks: list[Mark] = [Stroke(rectangle((*at(0, 0), *at(piece.length, piece.width))), "outline", True)]
    for area in piece.areas:
        marks += _area_marks(area, (*at(area.x, area.y), *at(area.x + area.length, area.y + area.width)))
    marks += _cut_marks(piece, at)
    used_height = tall + _NUMBER_ROOM + _ABOVE
    if piece.grain is not None:
        middle = at(piece.length, 0)[0] - _GRAIN / 2, top - _NUMBER_ROOM - 3.0
        marks.append(grain_arrow(middle, piece.grain, _GRAIN))
        used_height += _GRAIN / 2 + 6.0 if piece.grain else 8.0
    return Block(name, tuple(marks), _NUMBER_ROOM + piece.length * scale, used_height)


def _area_marks(area: Area, box: Box2) -> Iterator[Mark]:
    """The outline of a piece, its hatching or grey, and its words where they have room."""
    if area.use == "spoilt":
        yield Fill(rectangle(box), 0.75)
        return
    words = _fitting(area.words, box)
    if area.use == "offcut":
        clear = _words_box(words, box) if words else None
        yield from (Stroke((line,), "narrow") for line in _hatching(box, clear))
    yield Stroke(rectangle(box), "narrow" if area.use == "offcut" else "outline", True)
    yield from words


def _fitting(words: Sequence[str], box: Box2) -> tuple[Lettering, ...]:
    """The words in one line or one under the other, level or upright; else the first word; or none."""
    across, up = box[2] - box[0] - 2 * _PAD, box[3] - box[1] - 2 * _PAD
    joined = " ".join(words)
    for lines in ((joined,), tuple(words), tuple(words[:1])):
        if not lines or not lines[0]:
            continue
        wide = max(text_width(w, FIGURE) for w in lines)
        high = FIGURE * (1.6 * len(lines) - 0.6)
        if wide <= across and high <= up:
            return _set(lines, box, 0.0)
        if wide <= up and high <= across:
            return _set(lines, box, 90.0)
    return ()


def _set(lines: Sequence[str], box: Box2, turn: float) -> tuple[Lettering, ...]:
    x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    half = FIGURE * (1.6 * len(lines) - 0.6) / 2
    found = []
    for k, text in enumerate(lines):
        off = half - FIGURE - 1.6 * FIGURE * k
        at = (x, y + off) if turn == 0 else (x - off, y)
        found.append(Lettering(text, at, FIGURE, "middle", turn))
    return tuple(found)


def _words_box(words: Sequence[Lettering], box: Box2) -> Box2:
    """The room of words in the middle of a box, with a little air."""
    wide = max(text_width(w.text, FIGURE) for w in words) / 2 + _PAD
    high = FIGURE * (1.6 * len(words) - 0.6) / 2 + _PAD
    across, up = (wide, high) if words[0].rotation == 0 else (high, wide)
    x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    return x - across, y - up, x + across, y + up


def _hatching(box: Box2, clear: Box2 | None) -> Iterator[Line]:
    """Lines at 45 degrees over a box, but not over what is to stay clear."""
    x0, y0, x1, y1 = box
    pitch = _HATCH * math.sqrt(2)
    c = math.ceil((x0 - y1) / pitch) * pitch
    while c < x1 - y0:
        # the points (x, x - c) from a to b
        a, b = max(x0, y0 + c), min(x1, y1 + c)
        spans = [(a, b)]
        if clear:
            low, high = max(clear[0], clear[1] + c), min(clear[2], clear[3] + c)
            if low < high:
                spans = [(a, low), (high, b)]
        yield from (Line((p, p - c), (q, q - c)) for p, q in spans if q - p > 0.3)
        c += pitch


def _cut_marks(piece: Breakdown, at: Callable[[float, float], tuple[float, float]]) -> Iterator[Mark]:
    """Each cut, and its number where it starts: below or left of the stock piece, or on the cut."""
    taken: list[Box2] = []
    edge = min((a.x for a in piece.areas), default=0.0), min((a.y for a in piece.areas), default=0.0)
    for cut in piece.cuts:
        p, q = at(*cut.start), at(*cut.end)
        yield Stroke(polyline(p, q), "narrow")
        text = str(cut.number)
        wide = text_width(text, FIGURE)
        for x, y in _number_places(cut, edge, at(0.0, 0.0), p, q, wide):
            box = (x - wide / 2 - 0.4, y - 0.4, x + wide / 2 + 0.4, y + FIGURE + 0.4)
            if all(box[2] <= b[0] or b[2] <= box[0] or box[3] <= b[1] or b[3] <= box[1] for b in taken):
                break
        taken.append(box)
        yield Fill(rectangle(box), 1.0)
        yield Lettering(text, (x, y), FIGURE, "middle", weight="bold")


def _number_places(
    cut: CutLine,
    edge: tuple[float, float],
    corner: tuple[float, float],
    p: tuple[float, float],
    q: tuple[float, float],
    wide: float,
) -> list[tuple[float, float]]:
    """Where a cut's number may stand: outside the stock piece if it starts at its edge (trimmed), else along it."""
    found = []
    if cut.upright and cut.start[1] <= edge[1]:
        found.append((p[0], corner[1] - 1.2 - FIGURE))
    if not cut.upright and cut.start[0] <= edge[0]:
        found.append((corner[0] - 1.2 - wide / 2, p[1] - FIGURE / 2))
    for share in (0.04, 0.12, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9):
        x, y = p[0] + share * (q[0] - p[0]), p[1] + share * (q[1] - p[1])
        found.append((x, y - FIGURE / 2))
    return found
