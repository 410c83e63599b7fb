"""Tables one after another, and notes after them, down as many sheets as they take."""

from __future__ import annotations

from collections.abc import Sequence

from plangen.drawing.block import Block
from plangen.drawing.draft import Draft, SheetKind, SheetStyle, free_field
from plangen.drawing.lettering import Box2
from plangen.drawing.marks import Mark
from plangen.drawing.ruled_table import Table, least_width, table_blocks
from plangen.drawing.wording import capital

MARGIN = 6.0
_GAP = 8.0


def flow(
    key: str,
    title: str,
    purpose: str,
    tables: Sequence[Table],
    style: SheetStyle,
    notes: Sequence[Block],
    members: tuple[str, ...] = (),
    kind: SheetKind = "lists",
    upright: bool = True,
) -> tuple[Draft, ...]:
    """Tables one after another, then the notes, down as many sheets as they take; on upright paper where that takes
    fewer and no word need be broken, unless that is not wanted (``upright``)."""
    paper = f"{style.small} landscape"
    pages = _filled(paper, tables, notes)
    portrait = f"{style.small} portrait"
    room = _room(portrait)
    if upright and len(pages) > 1 and all(least_width(t) <= room[2] - room[0] for t in tables):
        others = _filled(portrait, tables, notes)
        if len(others) < len(pages):
            paper, pages = portrait, others
    many = len(pages) > 1
    return tuple(
        Draft(
            key=key if i == 0 else f"{key} {i + 1}",
            title=f"{title} ({i + 1} of {len(pages)})" if many else title,
            purpose=purpose,
            document_type=capital(title.lower()),
            kind=kind,
            paper=paper,
            marks=tuple(page),
            members=members if i == 0 else (),
            alt=title,
        )
        for i, page in enumerate(pages)
    )


def _room(paper: str) -> Box2:
    field = free_field(paper)
    return (field[0] + MARGIN, field[1] + MARGIN, field[2] - MARGIN, field[3] - MARGIN)


def _filled(paper: str, tables: Sequence[Table], notes: Sequence[Block]) -> list[list[Mark]]:
    """The marks of each sheet."""
    room = _room(paper)
    pages: list[list[Mark]] = [[]]
    top = room[3]

    def place(block: Block) -> None:
        nonlocal top
        pages[-1].append(block.placed(room[0], top))
        top -= block.height + _GAP

    full = room[3] - room[1]
    for table in tables:
        pieces = table_blocks(table, room[2] - room[0], (max(0.0, top - room[1]), full))
        for i, piece in enumerate(pieces):
            if i:
                pages.append([])
                top = room[3]
            if piece.marks:
                place(piece)
    for note in notes:
        if note.height > top - room[1]:
            pages.append([])
            top = room[3]
        place(note)
    return pages
