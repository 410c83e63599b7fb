"""The empty sheet: paper, frame, centring marks, grid references on large sheets, title block, free field.

Margins 20 mm at the filing edge and 10 mm elsewhere (ISO 5457:1999, from memory) on ISO and inch paper alike,
so that all ink stays where home printers reach. Grid fields 25 to 75 mm, even in number, without I and O
(read; that I and O are left out, from memory). Lines of frame and centring marks 0.7 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

from plangen.drawing.lettering import Box2
from plangen.drawing.mark_geometry import polyline, rectangle
from plangen.drawing.marks import Group, Lettering, Mark, Stroke
from plangen.drawing.title_block import LARGE_HEIGHT, SMALL_HEIGHT, WIDTH, TitleFields, title_block
from plangen.tables.paper import BORDER, FILING_BORDER, SHEETS

ABOVE_BLOCK = 2.0
"""Between the title block and the free field, mm."""
_BAND = 5.0
"""Band outside the frame that holds grid references and centring marks."""
_LARGE = 400.0
"""A sheet longer than this (A3, Tabloid) has grid references and the larger title block."""
_GRID_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"


@dataclass(frozen=True)
class FramedSheet:
    """A sheet ready to draw on. ``field`` is the free field above the title block, ``beside`` what is left
    beside the block (None where the block takes the whole width); both touch the frame."""

    width: float
    height: float
    paper: str
    marks: tuple[Mark, ...]
    field: Box2
    beside: Box2 | None


def paper_size(paper: str) -> tuple[float, float]:
    """Width and height in mm of ``A4 portrait``, ``Letter landscape`` and so on.

    Raises KeyError for a paper that is not in the table, ValueError for another orientation.
    """
    name, _, orientation = paper.rpartition(" ")
    short, long = SHEETS[name]
    if orientation == "portrait":
        return short, long
    if orientation == "landscape":
        return long, short
    raise ValueError(f'orientation "{orientation}" is neither portrait nor landscape')


def framed_sheet(paper: str, fields: TitleFields) -> FramedSheet:
    """Frame, title block in the lower right corner and free field of a sheet, by its paper."""
    width, height = paper_size(paper)
    frame = (FILING_BORDER, BORDER, width - BORDER, height - BORDER)
    x0, y0, x1, y1 = frame
    large = max(width, height) > _LARGE
    block_height = LARGE_HEIGHT if large else SMALL_HEIGHT
    # a rest too narrow to use is given to the block
    block_width = WIDTH if x1 - x0 - WIDTH > 20 else x1 - x0
    block = (x1 - block_width, y0, x1, y0 + block_height)
    marks: list[Mark] = [Stroke(rectangle(frame), "frame", True), *_centring_marks(width, height, frame)]
    if large:
        marks += _grid_references(frame)
    beside = None if block[0] <= x0 else (x0, y0, block[0] - ABOVE_BLOCK, block[3])
    field = (x0, block[3] + ABOVE_BLOCK, x1, y1)
    return FramedSheet(
        width, height, paper, (Group("frame", tuple(marks)), title_block(fields, block)), field, beside
    )


def inset(box: Box2, by: float) -> Box2:
    """The box made smaller by ``by`` mm on every side."""
    return (box[0] + by, box[1] + by, box[2] - by, box[3] - by)


def _centring_marks(width: float, height: float, frame: Box2) -> list[Mark]:
    """At the middle of each side of the sheet, in the band outside the frame, clear of the drawing."""
    x0, y0, x1, y1 = frame
    cx, cy = width / 2, height / 2
    ends = (
        ((x0 - _BAND, cy), (x0, cy)),
        ((x1 + _BAND, cy), (x1, cy)),
        ((cx, y0 - _BAND), (cx, y0)),
        ((cx, y1 + _BAND), (cx, y1)),
    )
    return [Stroke(polyline(a, b), "frame") for a, b in ends]


def _grid_references(frame: Box2) -> list[Mark]:
    """Numbers left to right along head and foot, letters downward along both sides, ticks between them."""
    x0, y0, x1, y1 = frame
    across, down = _even_fields(x1 - x0), _even_fields(y1 - y0)
    marks: list[Mark] = []
    h = 3.5
    for i in range(across):
        x = x0 + (x1 - x0) * (i + 0.5) / across
        for level in (y0 - _BAND / 2, y1 + _BAND / 2):
            marks.append(Lettering(str(i + 1), (x, level - h / 2), h, "middle"))
    for i in range(down):
        y = y1 - (y1 - y0) * (i + 0.5) / down
        for level in (x0 - _BAND / 2, x1 + _BAND / 2):
            marks.append(Lettering(_GRID_LETTERS[i], (level, y - h / 2), h, "middle"))
    # the tick at the middle of a side is the centring mark
    for i in range(1, across):
        if 2 * i != across:
            x = x0 + (x1 - x0) * i / across
            marks += [Stroke(polyline((x, y), (x, y + d)), "rule") for y, d in ((y0, -_BAND), (y1, _BAND))]
    for i in range(1, down):
        if 2 * i != down:
            y = y0 + (y1 - y0) * i / down
            marks += [Stroke(polyline((x, y), (x + d, y)), "rule") for x, d in ((x0, -_BAND), (x1, _BAND))]
    return marks


def _even_fields(length: float) -> int:
    """The even number of fields whose length is nearest to 50 mm."""
    return 2 * max(1, round(length / 100))
