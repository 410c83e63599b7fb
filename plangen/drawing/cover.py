"""The cover: a picture of the piece, what it is, how large, and where everything else in the set is."""

from __future__ import annotations

import math
from collections.abc import Sequence

from plangen.drawing.block import Block, flowed, stacked
from plangen.drawing.draft import Draft, Numbers, SheetStyle, free_field
from plangen.drawing.elevations import placed_solids
from plangen.drawing.general_notes import critical_block, general_blocks, overall_block
from plangen.drawing.lettering import Box2, text_width
from plangen.drawing.mark_geometry import moved_curve, polyline
from plangen.drawing.marks import Group, Lettering, Link, Mark, Stroke
from plangen.drawing.text_block import VIEW_TITLE, heading, paragraph
from plangen.drawing.view_on_paper import curve_span, project_scene, scaled_curve
from plangen.drawing.wording import capital
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from plangen.facts import PlanFacts
from plangen.geometry.hidden import prepare
from plangen.geometry.vectors import cross
from plangen.geometry.views import Projection

_PICTURE_SHARE = 0.36
"""Of the sheet, for the picture."""
_MARGIN = 6.0
_COLUMN_GAP = 8.0
_BLOCK_GAP = 5.0
_LETTERS = 3.5
_ROW = 6.0
_AZIMUTH, _RISE = math.radians(32), math.radians(22)
"""The eye stands right of the front viewer and above the piece."""


def picture_projection() -> Projection:
    """An axonometric projection in which the front of the piece is the widest of its sides."""
    ca, sa, ce, se = math.cos(_AZIMUTH), math.sin(_AZIMUTH), math.cos(_RISE), math.sin(_RISE)
    toward = (sa * ce, -ca * ce, se)
    right = (ca, sa, 0.0)
    return Projection(right, cross(toward, right), toward)


def picture(facts: PlanFacts, box: Box2) -> Group:
    """The piece with hidden lines removed, as large as ``box`` allows; not to scale."""
    solids, _ = placed_solids(facts.model)
    view = project_scene(prepare(solids), picture_projection(), "picture")
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


def cover_drafts(facts: PlanFacts, style: SheetStyle, index: Sequence[tuple[str, str]], numbers: Numbers
) -> tuple[Draft, ...]:
    """The cover, and after it as many sheets of general notes as it has no room for. ``index``: number and
    title of every sheet."""
    paper = f"{style.small} portrait"
    field = free_field(paper)
    x0, y0, x1, y1 = (field[0] + _MARGIN, field[1] + _MARGIN, field[2] - _MARGIN, field[3] - _MARGIN)
    sheet_area = (field[2] + 10) * (field[3] + 10 + 13.5)
    high = sheet_area * _PICTURE_SHARE / (field[2] - field[0])
    foot = y1 - high
    width = (x1 - x0 - _COLUMN_GAP) / 2
    first = [_about(facts, width), overall_block(facts, width)]
    first += [b] if (b := critical_block(facts, width)) else []
    second = [_index_block(index, width), _members_block(facts, width, numbers)]
    left = stacked("about", first, _BLOCK_GAP)
    room = foot - _BLOCK_GAP - y0
    columns = flowed("cover", [*first, *second], (room, room, y1 - y0), _BLOCK_GAP)
    if left.height <= room:
        columns = (left, *flowed("cover", second, (room, y1 - y0), _BLOCK_GAP))
    marks: list[Mark] = [picture(facts, (x0 + 4, foot, x1 - 4, y1 - 2))]
    marks += [c.placed(x0 + i * (width + _COLUMN_GAP), foot - _BLOCK_GAP) for i, c in enumerate(columns[:2])]
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
    rest = [*columns[2:], *general_blocks(facts, width)]
    return (cover, *_note_sheets(rest, style, width))


def _note_sheets(blocks: Sequence[Block], style: SheetStyle, width: float) -> tuple[Draft, ...]:
    paper = f"{style.small} portrait"
    field = free_field(paper)
    x0, y0, y1 = field[0] + _MARGIN, field[1] + _MARGIN, field[3] - _MARGIN
    columns = flowed("general notes", blocks, (y1 - y0,), _BLOCK_GAP)
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


def _about(facts: PlanFacts, width: float) -> Block:
    return paragraph(facts.design.about or facts.design.title, width, _LETTERS)


def _index_block(index: Sequence[tuple[str, str]], width: float) -> Block:
    """Number and title of every sheet, each line a link."""
    marks: list[Mark] = []
    down = 0.0
    for number, title in index:
        base = -down - _LETTERS
        marks.append(Lettering(number, (0.0, base), _LETTERS))
        text = _cut(title, width - 14.0)
        marks.append(Lettering(text, (14.0, base), _LETTERS, fractions=False))
        marks.append(Link((0.0, base - 1.2, width, base + _LETTERS + 0.6), number))
        down += _ROW
    rows = Block("index", tuple(marks), width, down)
    return stacked("sheets", [heading("Sheets"), rows], 2.0)


def _cut(text: str, width: float) -> str:
    if text_width(text, _LETTERS, fractions=False) <= width:
        return text
    while text and text_width(f"{text}…", _LETTERS, fractions=False) > width:
        text = text[:-1].rstrip()
    return f"{text}…"


def _members_block(facts: PlanFacts, width: float, numbers: Numbers) -> Block:
    """Mark, name and quantity of every part, each line a link to its sheet."""
    marks: list[Mark] = []
    down = 0.0
    for member in facts.model.members:
        base = -down - _LETTERS
        marks.append(Lettering(member.mark, (0.0, base), _LETTERS, weight="bold"))
        marks.append(Lettering(_cut(capital(member.name), width - 26), (10.0, base), _LETTERS))
        marks.append(Lettering(str(member.quantity), (width, base), _LETTERS, "right"))
        if sheet := numbers(f"part {member.mark}"):
            marks.append(Link((0.0, base - 1.2, width, base + _LETTERS + 0.6), sheet))
        down += _ROW
        if member is not facts.model.members[-1]:
            level = base - 1.45
            marks.append(Stroke(polyline((0.0, level), (width, level)), "rule"))
    rows = Block("members", tuple(marks), width, down)
    return stacked("members at a glance", [heading("Parts"), rows], 2.0)
