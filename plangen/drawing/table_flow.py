"""Tables one after another, and notes after them, down as many sheets as they take."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from plangen.drawing.block import Block, balanced, spaced
from plangen.drawing.draft import Draft, SheetKind, SheetStyle, free_field
from plangen.drawing.lettering import Box2
from plangen.drawing.marks import Mark
from plangen.drawing.ruled_table import Table, least_width, table_blocks
from plangen.drawing.text_block import note_width, paragraph
from plangen.drawing.wording import capital

MARGIN = 6.0
_GAP = 5.0
_BESIDE, _BETWEEN = 10.0, 2.5
"""Room between two columns of notes, and between notes, mm."""
_STEP = 4
"""Millimetres by which a sheet is filled less while the last rows of a table are sought for the notes after it."""


@dataclass(frozen=True)
class Passage:
    """Tables of one topic, and the notes after them."""

    key: str
    title: str
    purpose: str
    tables: Sequence[Table]
    notes: Sequence[Block] = ()
    """Not on a sheet alone, where they can stand with a table or its last rows."""


@dataclass
class _Page:
    """What stands on one sheet, and of which passages."""

    marks: list[Mark] = field(default_factory=list)
    passages: list[int] = field(default_factory=list)
    has_table: bool = False


def flow(
    passage: Passage, style: SheetStyle, members: tuple[str, ...] = (), kind: SheetKind = "lists"
) -> tuple[Draft, ...]:
    """One topic on as many sheets as it takes; on upright paper where that takes fewer and no word need be broken."""
    paper = f"{style.small} landscape"
    pages = _filled(paper, [passage])
    portrait = f"{style.small} portrait"
    room = _room(portrait)
    if len(pages) > 1 and all(least_width(t) <= room[2] - room[0] for t in passage.tables):
        others = _filled(portrait, [passage])
        if len(others) < len(pages):
            paper, pages = portrait, others
    return _drafts([passage], pages, paper, members, kind)


def flow_on(passages: Sequence[Passage], style: SheetStyle) -> tuple[Draft, ...]:
    """Topics one after another, each on sheets of its own, or going on where the one before it ends if that takes
    fewer."""
    paper = f"{style.small} landscape"
    together = _filled(paper, passages)
    apart = [(p, _filled(paper, [p])) for p in passages]
    if len(together) < sum(len(pages) for _, pages in apart):
        return _drafts(passages, together, paper, (), "lists")
    return tuple(d for p, pages in apart for d in _drafts([p], pages, paper, (), "lists"))


def side_by_side(texts: Iterable[str], style: SheetStyle) -> list[Block]:
    """Notes in two columns over the width of the sheet, low enough to follow a table."""
    field = free_field(f"{style.small} landscape")
    column = min(note_width(), (field[2] - field[0] - 2 * MARGIN - _BESIDE) / 2)
    blocks = [spaced(paragraph(text, column), _BETWEEN) for text in texts]
    if not blocks:
        return []
    whole = math.fsum(b.height for b in blocks)
    columns = balanced("notes", blocks, 2, whole) or ()
    marks = tuple(c.placed(i * (column + _BESIDE), 0.0) for i, c in enumerate(columns))
    return [Block("notes", marks, 2 * column + _BESIDE, max(c.height for c in columns) - _BETWEEN)]


def _drafts(
    passages: Sequence[Passage], pages: Sequence[_Page], paper: str, members: tuple[str, ...], kind: SheetKind
) -> tuple[Draft, ...]:
    where = [[n for n, page in enumerate(pages) if i in page.passages] for i in range(len(passages))]

    def key(i: int, page: int) -> str:
        own = where[i].index(page)
        return f"{passages[i].key} {own + 1}" if own else passages[i].key

    def title(i: int, page: int) -> str:
        count = len(where[i])
        return (
            f"{passages[i].title} ({where[i].index(page) + 1} of {count})" if count > 1 else passages[i].title
        )

    found = []
    for n, page in enumerate(pages):
        first, *others = page.passages
        titles = [title(first, n), *(_within(title(i, n)) for i in others)]
        found.append(
            Draft(
                key=key(first, n),
                title="; ".join(titles),
                purpose=passages[first].purpose,
                document_type=capital(passages[first].title.lower()),
                kind=kind,
                paper=paper,
                marks=tuple(page.marks),
                members=members if n == 0 else (),
                alt="; ".join(passages[i].title for i in page.passages),
                also=tuple((key(i, n), passages[i].title) for i in others),
            )
        )
    return tuple(found)


def _within(title: str) -> str:
    """A title that goes on after another."""
    return title[0].lower() + title[1:]


def _room(paper: str) -> Box2:
    whole = free_field(paper)
    return (whole[0] + MARGIN, whole[1] + MARGIN, whole[2] - MARGIN, whole[3] - MARGIN)


def _filled(paper: str, passages: Sequence[Passage]) -> list[_Page]:
    """The sheets; where one would hold notes alone, the table before them goes along if then none does, on no more."""
    pages = _laid(paper, passages, False)
    if all(page.has_table for page in pages):
        return pages
    together = _laid(paper, passages, True)
    better = len(together) <= len(pages) and all(page.has_table for page in together)
    return together if better else pages


def _laid(paper: str, passages: Sequence[Passage], together: bool) -> list[_Page]:
    room = _room(paper)
    full = room[3] - room[1]
    pages = [_Page()]
    top = room[3]

    def place(block: Block, passage: int) -> None:
        nonlocal top
        page = pages[-1]
        page.marks.append(block.placed(room[0], top))
        if passage not in page.passages:
            page.passages.append(passage)
        top -= block.height + _GAP

    def turn() -> None:
        nonlocal top
        pages.append(_Page())
        top = room[3]

    for i, passage in enumerate(passages):
        for n, table in enumerate(passage.tables):
            notes = passage.notes[:1] if together and n == len(passage.tables) - 1 else ()
            after = math.fsum(note.height + _GAP for note in notes)
            pieces = _pieces(table, room[2] - room[0], max(0.0, top - room[1]), full, after)
            for k, piece in enumerate(pieces):
                if k:
                    turn()
                if piece.marks:
                    place(piece, i)
                    pages[-1].has_table = True
        for note in passage.notes:
            if note.height > top - room[1]:
                turn()
            place(note, i)
    return pages


def _pieces(table: Table, width: float, left: float, full: float, after: float) -> tuple[Block, ...]:
    """The table in pieces, the first in what is ``left`` of a sheet; with its last rows there is room for what comes
    ``after``, if need be on a further sheet."""
    usual = table_blocks(table, width, (left, full))
    rooms = [left, *[full] * (len(usual) - 1)]
    if usual[-1].height + after <= rooms[-1] + 1e-6:
        return usual
    if len(usual) == 1 and left < full and usual[0].height + after <= full + 1e-6:
        return table_blocks(table, width, (0.0, full))
    for less in range(_STEP, int(full), _STEP):
        parted = table_blocks(table, width, (max(0.0, left - less), full - less))
        if len(parted) > len(usual) and parted[-1].height + after <= full + 1e-6:
            return parted
    return usual
