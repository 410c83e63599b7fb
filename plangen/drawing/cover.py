"""The cover: a picture of the piece, what it is, how large, and where everything else in the set is."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from plangen.drawing.block import Block, balanced, flowed, stacked
from plangen.drawing.draft import Draft, SheetStyle, free_field
from plangen.drawing.general_notes import (
    BLOCK_GAP,
    caution_boxes,
    critical_rows,
    general_blocks,
    overall_block,
)
from plangen.drawing.lettering import Box2, text_width
from plangen.drawing.mark_geometry import moved_curve
from plangen.drawing.marks import Group, Lettering, Link, Mark, Stroke
from plangen.drawing.text_block import heading, paragraph
from plangen.drawing.view_on_paper import ProjectedView, curve_span, scaled_curve
from plangen.drawing.whole_piece import WholeViews
from plangen.drawing.wording import plain_words
from plangen.facts import PlanFacts
from plangen.geometry.frames import Frame
from plangen.geometry.silhouette import on_silhouette
from plangen.geometry.solid import Solid

_PICTURE_SHARES = (1 / 3, 0.31, 0.29, 0.27, 0.25)
"""Of the sheet, for the picture: the first, or one that keeps the index whole."""
_MARGIN = 5.0
_COLUMN_GAP = 8.0
_LETTERS = 3.5
_ROW = 5.35
_GAP, _MARKS, _COUNT = 4.0, 8.0, 13.0
"""Between sheet numbers and titles; widths of the columns of marks and of how many, mm."""


@dataclass(frozen=True)
class IndexLine:
    """One line of the index: the (first) sheet, what is there; for a part its mark and how many there are."""

    number: str
    title: str
    mark: str = ""
    count: int = 0


def picture(whole: WholeViews, box: Box2) -> Group:
    """The piece as the cover shows it."""
    return picture_of(whole.picture, whole.solids, box)


def picture_of(view: ProjectedView, solids: Sequence[tuple[Solid, Frame]], box: Box2) -> Group:
    """The solids with hidden lines removed, as large as ``box`` allows, not to scale; the outline of each wide, its
    inner edges narrow."""
    k = min((box[2] - box[0]) / view.width, (box[3] - box[1]) / view.height)
    dx = (box[0] + box[2]) / 2 - (view.box[0] + view.box[2]) / 2 * k
    dy = (box[1] + box[3]) / 2 - (view.box[1] + view.box[3]) / 2 * k
    seen = [s for s in view.strokes if s.visible]
    outer = on_silhouette(seen, solids, view.projection)
    marks: list[Mark] = []
    for stroke, is_outer in zip(seen, outer, strict=True):
        curve = moved_curve(scaled_curve(stroke.curve, k), (dx, dy))
        if curve_span(curve) >= 0.05:
            marks.append(Stroke((curve,), "outline" if is_outer and stroke.kind != "smooth" else "narrow"))
    return Group("picture", tuple(marks))


def cover_drafts(
    facts: PlanFacts, style: SheetStyle, whole: WholeViews, index: Sequence[IndexLine]
) -> tuple[Draft, ...]:
    """The cover with a picture of the ``whole``, and after it the general notes with what it has no room for."""
    paper = f"{style.small} portrait"
    field = free_field(paper)
    x0, y0, x1, y1 = (field[0] + _MARGIN, field[1] + _MARGIN, field[2] - _MARGIN, field[3] - _MARGIN)
    words = [paragraph(plain_words(facts.design.about), x1 - x0, _LETTERS)] if facts.design.about else []
    about = stacked("about", [*words, overall_block(facts, x1 - x0)], 2.0)
    sheet_area = (field[2] + 10) * (field[3] + 10 + 13.5)
    feet = [y1 - sheet_area * share / (field[2] - field[0]) for share in _PICTURE_SHARES]
    under = BLOCK_GAP + about.height + BLOCK_GAP
    width = (x1 - x0 - _COLUMN_GAP) / 2
    tried = [(foot, *_columns(facts, index, width, foot - under - y0)) for foot in feet]
    foot, columns, over = min(tried, key=lambda t: len(t[2]))
    marks: list[Mark] = [
        picture(whole, (x0 + 4, foot, x1 - 4, y1 - 2)),
        about.placed(x0, foot - BLOCK_GAP),
    ]
    marks += [c.placed(x0 + i * (width + _COLUMN_GAP), foot - under) for i, c in enumerate(columns)]
    cover = Draft(
        key="cover",
        title=facts.design.title,
        purpose=facts.design.number or "",
        document_type="Cover",
        kind="cover",
        paper=paper,
        marks=tuple(marks),
        alt=f"{facts.design.title}. {facts.design.about or ''}".strip(),
    )
    return (cover, *_note_sheets(facts, over, style))


def _columns(
    facts: PlanFacts, index: Sequence[IndexLine], width: float, room: float
) -> tuple[tuple[Block, Block], list[Block]]:
    """Under the picture the index and what matters most, one going on under the other where there is room; and
    the rows that are left over."""
    sheets, matters = _index_rows(index, width), _headed("What matters most", critical_rows(facts, width))
    left, right = sheets[: _count(sheets, room)], matters[: _count(matters, room)]
    over = matters[len(right) :]
    more = sheets[len(left) :]
    if more and not over and (held := _count([_apart(), *more], room - _height(right)) - 1) > 0:
        right, more = [*right, _apart(), *more[:held]], more[held:]
    columns = stacked("sheets", left, 0.0), stacked("what matters most", right, 0.0)
    return columns, [b for rows in (more, over) if rows for b in (*rows, _apart())]


def _apart() -> Block:
    return Block("gap", (), 0.0, BLOCK_GAP)


def _height(rows: Sequence[Block]) -> float:
    return math.fsum(r.height for r in rows)


def _count(rows: Sequence[Block], room: float) -> int:
    """How many of the rows the room takes."""
    return sum(1 for i in range(len(rows)) if _height(rows[: i + 1]) <= room)


def _note_sheets(facts: PlanFacts, rows: Sequence[Block], style: SheetStyle) -> tuple[Draft, ...]:
    """The rows and the general notes in two columns, under them the cautions across the sheet: all on one sheet
    where it holds them."""
    field = free_field(f"{style.small} portrait")
    x0, y0, x1, y1 = (field[0] + _MARGIN, field[1] + _MARGIN, field[2] - _MARGIN, field[3] - _MARGIN)
    width, step = (x1 - x0 - _COLUMN_GAP) / 2, (x1 - x0 + _COLUMN_GAP) / 2
    blocks = [*rows, *general_blocks(facts, width)]
    boxes = caution_boxes(facts, x1 - x0, y1 - y0)
    pages: list[list[Mark]] = []
    beside = balanced("general notes", blocks, 2, y1 - y0 - boxes[0].height) if len(boxes) == 1 else None
    if beside is None:
        beside = balanced("general notes", blocks, 2, y1 - y0)
    columns = beside or flowed("general notes", blocks, (y1 - y0,), 0.0)
    top = y0
    for i, column in enumerate(columns):
        if i % 2 == 0:
            pages.append([])
            top = y1
        pages[-1].append(column.placed(x0 + i % 2 * step, y1))
        top = min(top, y1 - column.height)
    for box in boxes:
        if box.height > top - y0 + 1e-6:
            pages.append([])
            top = y1
        pages[-1].append(box.placed(x0, top))
        top -= box.height + BLOCK_GAP
    return tuple(_note_sheet(page, n, len(pages), style) for n, page in enumerate(pages))


def _note_sheet(marks: Sequence[Mark], index: int, count: int, style: SheetStyle) -> Draft:
    return Draft(
        key="general notes" if index == 0 else f"general notes {index + 1}",
        title="General notes" if count == 1 else f"General notes ({index + 1} of {count})",
        purpose="Read first: signs, sizes, cautions",
        document_type="General notes",
        kind="notes",
        paper=f"{style.small} portrait",
        marks=tuple(marks),
        alt="General notes and cautions",
    )


def _index_rows(index: Sequence[IndexLine], width: float) -> list[Block]:
    """Numbers and titles of the sheets, and mark, name and number of every part; each line a link."""
    rows = []
    first = max(text_width(line.number, _LETTERS) for line in index) + _GAP
    for line in index:
        left = first + (_MARKS if line.mark else 0.0)
        room = width - left - (_COUNT if line.mark else 0.0)
        title = paragraph(line.title, room, _LETTERS)
        marks: list[Mark] = [Lettering(line.number, (0.0, -_LETTERS), _LETTERS, fractions=False)]
        if line.mark:
            marks.append(Lettering(line.mark, (first, -_LETTERS), _LETTERS, weight="bold"))
        marks.append(title.placed(left, 0.0))
        if line.mark:
            marks.append(Lettering(f"{line.count} off", (width, -_LETTERS), _LETTERS, "right"))
        height = _ROW + title.height - paragraph("S", room, _LETTERS).height
        marks.append(Link((0.0, -height, width, 0.0), line.number))
        rows.append(Block("sheet", tuple(marks), width, height))
    return _headed("Sheets and parts", rows)


def _headed(title: str, rows: Sequence[Block]) -> list[Block]:
    """Rows under a heading that stays with the first of them."""
    return [stacked(title, [heading(title), rows[0]], 2.0), *rows[1:]] if rows else []
