"""The cover: a picture of the piece, what it is, how large, and where everything else in the set is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from plangen.drawing.block import Block, flowed, stacked
from plangen.drawing.draft import Draft, Numbers, SheetStyle, free_field
from plangen.drawing.general_notes import critical_rows, general_blocks, overall_block
from plangen.drawing.lettering import Box2, text_width
from plangen.drawing.mark_geometry import moved_curve
from plangen.drawing.marks import Group, Lettering, Link, Mark, Stroke
from plangen.drawing.text_block import heading, paragraph
from plangen.drawing.view_on_paper import ProjectedView, curve_span, scaled_curve
from plangen.drawing.wording import capital
from plangen.facts import PlanFacts

_PICTURE_SHARE = 0.345
"""Of the sheet, for the picture."""
_MARGIN = 6.0
_COLUMN_GAP = 8.0
_BLOCK_GAP = 5.0
_LETTERS = 3.5
_ROW = 5.8
_NUMBERS = 31.0
"""Width of the column of sheet numbers, mm."""


@dataclass(frozen=True)
class IndexLine:
    """One line of the index: ``S-07`` or ``S-07 to S-12``, what is there, the sheet it leads to."""

    numbers: str
    title: str
    link: str


def picture(view: ProjectedView, box: Box2) -> Group:
    """The piece with hidden lines removed, as large as ``box`` allows; not to scale."""
    k = min((box[2] - box[0]) / view.width, (box[3] - box[1]) / view.height)
    dx = (box[0] + box[2]) / 2 - (view.box[0] + view.box[2]) / 2 * k
    dy = (box[1] + box[3]) / 2 - (view.box[1] + view.box[3]) / 2 * k
    marks: list[Mark] = []
    for stroke in view.strokes:
        if not stroke.visible:
            continue
        curve = moved_curve(scaled_curve(stroke.curve, k), (dx, dy))
        if curve_span(curve) >= 0.05:
            marks.append(Stroke((curve,), "narrow" if stroke.kind == "smooth" else "fine outline"))
    return Group("picture", tuple(marks))


def cover_drafts(
    facts: PlanFacts, style: SheetStyle, view: ProjectedView, index: Sequence[IndexLine], numbers: Numbers
) -> tuple[Draft, ...]:
    """The cover with a picture (``view``), and after it as many sheets of general notes as it has no room for."""
    paper = f"{style.small} portrait"
    field = free_field(paper)
    x0, y0, x1, y1 = (field[0] + _MARGIN, field[1] + _MARGIN, field[2] - _MARGIN, field[3] - _MARGIN)
    sheet_area = (field[2] + 10) * (field[3] + 10 + 13.5)
    foot = y1 - sheet_area * _PICTURE_SHARE / (field[2] - field[0])
    width = (x1 - x0 - _COLUMN_GAP) / 2
    words = [paragraph(facts.design.about, x1 - x0, _LETTERS)] if facts.design.about else []
    about = stacked("about", [*words, overall_block(facts, x1 - x0)], 2.0)
    top = foot - _BLOCK_GAP - about.height - _BLOCK_GAP
    left, *over = flowed("sheets", _index_rows(index, width), (top - y0, y1 - y0), 0.0)
    columns = [left]
    if critical := _headed("What matters most", critical_rows(facts, width)):
        right, *more = flowed("what matters most", critical, (top - y0, y1 - y0), 0.0)
        columns.append(right)
        over += more
    marks: list[Mark] = [
        picture(view, (x0 + 4, foot, x1 - 4, y1 - 2)),
        about.placed(x0, foot - _BLOCK_GAP),
        *(c.placed(x0 + i * (width + _COLUMN_GAP), top) for i, c in enumerate(columns)),
    ]
    glance = _parts_at_a_glance(facts, x1 - x0)
    under = top - max(c.height for c in columns)
    if glance.height <= under - y0:
        marks.append(glance.placed(x0, under))
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
    general = [_padded(b) for b in general_blocks(facts, width)]
    parts = _member_rows(facts, width, numbers)
    return (cover, *_note_sheets([*over, *parts, *general], style, width))


def _padded(block: Block) -> Block:
    """With the gap to the next block as part of it."""
    return Block(block.name, block.marks, block.width, block.height + _BLOCK_GAP)


def _note_sheets(blocks: Sequence[Block], style: SheetStyle, width: float) -> tuple[Draft, ...]:
    paper = f"{style.small} portrait"
    field = free_field(paper)
    x0, y0, y1 = field[0] + _MARGIN, field[1] + _MARGIN, field[3] - _MARGIN
    columns = flowed("general notes", blocks, (y1 - y0,), 0.0)
    pages = [columns[i : i + 2] for i in range(0, len(columns), 2)]
    return tuple(
        Draft(
            key="general notes" if n == 0 else f"general notes {n + 1}",
            title="General notes" if len(pages) == 1 else f"General notes ({n + 1} of {len(pages)})",
            purpose="Read first: signs, sizes, cautions",
            document_type="General notes",
            kind="notes",
            paper=paper,
            marks=tuple(c.placed(x0 + i * (width + _COLUMN_GAP), y1) for i, c in enumerate(page)),
            alt="General notes and cautions",
        )
        for n, page in enumerate(pages)
    )


def _parts_at_a_glance(facts: PlanFacts, width: float) -> Block:
    """Marks, names and how many of each, in a sentence."""
    members = [m for m in facts.model.members if m.role != "jig"]
    text = ", ".join(f"{m.mark} {m.name} ({m.quantity})" for m in members)
    return stacked("parts at a glance", [heading("Parts at a glance"), paragraph(text, width)], 2.0)


def _index_rows(index: Sequence[IndexLine], width: float) -> list[Block]:
    """Numbers and titles of the sheets, each line a link."""
    rows = []
    for line in index:
        marks: tuple[Mark, ...] = (
            Lettering(line.numbers, (0.0, -_LETTERS), _LETTERS, fractions=False),
            Lettering(_cut(line.title, width - _NUMBERS), (_NUMBERS, -_LETTERS), _LETTERS, fractions=False),
            Link((0.0, -_ROW, width, 0.0), line.link),
        )
        rows.append(Block("sheet", marks, width, _ROW))
    return _headed("Sheets", rows)


def _cut(text: str, width: float) -> str:
    if text_width(text, _LETTERS, fractions=False) <= width:
        return text
    while text and text_width(f"{text}…", _LETTERS, fractions=False) > width:
        text = text[:-1].rstrip()
    return f"{text}…"


def _member_rows(facts: PlanFacts, width: float, numbers: Numbers) -> list[Block]:
    """Mark, name and quantity of every part, each line a link to its sheet."""
    rows = []
    for member in facts.model.members:
        sheet = numbers(f"part {member.mark}")
        marks: list[Mark] = [
            Lettering(member.mark, (0.0, -_LETTERS), _LETTERS, weight="bold"),
            Lettering(_cut(capital(member.name), width - 36), (9.0, -_LETTERS), _LETTERS),
            Lettering(f"{member.quantity} off", (width - 16, -_LETTERS), _LETTERS, "right"),
        ]
        if sheet:
            marks.append(Lettering(sheet, (width, -_LETTERS), _LETTERS, "right"))
            marks.append(Link((0.0, -_ROW, width, 0.0), sheet))
        rows.append(Block("part", tuple(marks), width, _ROW))
    return _headed("Parts", rows)


def _headed(title: str, rows: Sequence[Block]) -> list[Block]:
    """Rows under a heading that stays with the first of them; after the last the gap between blocks."""
    if not rows:
        return []
    return [stacked(title, [heading(title), rows[0]], 2.0), *rows[1:-1], *map(_padded, rows[1:][-1:])]
