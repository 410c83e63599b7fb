"""Pages of cards to cut out: side by side in rows, both squares at the foot of every page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from plangen.drawing.block import Block, stacked
from plangen.drawing.full_size.drawing import FullSize
from plangen.drawing.full_size.page import Page, furniture, page_sheet
from plangen.drawing.full_size.rulers import SQUARES, square
from plangen.drawing.full_size.tile_sheets import sheet_number
from plangen.drawing.mark_geometry import extents, moved
from plangen.drawing.marks import Mark, Sheet
from plangen.drawing.text_block import paragraph

_GAP = 4.0
_SQUARES_ROOM = 56.0
_TITLE = 3.5


def room_for_cards(page: Page) -> tuple[float, float]:
    """Width and height that cards have on a page."""
    x0, y0, x1, y1 = page.field
    return (x1 - x0 - 2 * _GAP, y1 - y0 - 2 * _GAP - _SQUARES_ROOM)


def card_block(drawing: FullSize, room: tuple[float, float]) -> Block | None:
    """The drawing under its title, how it is used under it; None where it is larger than the room."""
    x0, y0, x1, y1 = extents(drawing.marks)
    if x1 - x0 > room[0]:
        return None
    width = max(x1 - x0, 80.0)
    picture = Block("card", tuple(moved(m, (-x0, -y1)) for m in drawing.marks), x1 - x0, y1 - y0)
    title = paragraph(f"{drawing.mark}  {drawing.title}".strip(), width, _TITLE, "bold")
    block = stacked(
        "card",
        [title, picture, *(paragraph(t, min(max(width, 80.0), room[0]), 2.5) for t in drawing.says)],
        2.0,
    )
    return block if block.height <= room[1] else None


def in_rows(blocks: Sequence[Block], room: tuple[float, float]) -> tuple[Block, ...]:
    """Blocks in order in rows, each page as full as its height allows."""
    pages: list[Block] = []
    marks: list[Mark] = []
    x = y = row = 0.0
    for block in blocks:
        if x and x + block.width > room[0]:
            x, y, row = 0.0, y + row + _GAP, 0.0
        if marks and y + block.height > room[1]:
            pages.append(Block("cards", tuple(marks), *room))
            marks, x, y, row = [], 0.0, 0.0, 0.0
        marks.append(block.placed(x, -y))
        x += block.width + _GAP
        row = max(row, block.height)
    if marks:
        pages.append(Block("cards", tuple(marks), *room))
    return tuple(pages)


def card_sheets(
    title: str, pages: Sequence[Block], page: Page, first: int, under: Sequence[str], members: tuple[str, ...]
) -> Iterator[Sheet]:
    """The pages as sheets numbered from ``first``."""
    x0, y0, _, y1 = page.field
    for i, block in enumerate(pages):
        number = sheet_number(first + i)
        count = f" ({i + 1} of {len(pages)})" if len(pages) > 1 else ""
        x, marks = x0 + _GAP, list(furniture(page, number, f"{title}{count}", under, "Cut out."))
        for side, name in SQUARES:
            marks += square((x, y0 + 2.0), side, name)
            x += side + _GAP
        marks.append(block.placed(x0 + _GAP, y1 - _GAP))
        yield page_sheet(page, number, title, marks, members, title)
