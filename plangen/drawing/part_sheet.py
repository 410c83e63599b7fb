"""Part sheets: one member that is not plain, with everything its maker needs and nothing twice.

Face view with the length level, end A left, face edge down; the scale is the largest standard one at which
the views and all their figures fit.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from plangen.dimensioning.figures import MemberFigures, MemberView
from plangen.drawing.block import Block
from plangen.drawing.draft import Draft, SheetStyle, beside_block, free_field, larger_papers
from plangen.drawing.marks import Mark, ViewOnSheet
from plangen.drawing.member_views import TITLES, MemberViews, project_member
from plangen.drawing.paging import Page, Rooms, lay_pages
from plangen.drawing.panel import Panel, member_panel
from plangen.drawing.part_blocks import foot_blocks, other_hand
from plangen.drawing.view_on_paper import lay_view
from plangen.drawing.wording import capital
from plangen.joinery.model import Member
from plangen.stock.cutting_list import CuttingRow
from plangen.tables.scales import SCALES, Scale
from plangen.units import UnitStyle

LETTERS = 3.5
MARGIN = 4.0
"""Between views and the rules round the field."""


@dataclass(frozen=True)
class PartWork:
    """What a part sheet is drawn from."""

    member: Member
    row: CuttingRow
    figures: MemberFigures
    style: UnitStyle
    sheet: SheetStyle


def part_drafts(work: PartWork) -> tuple[Draft, ...]:
    """The sheets of one member: one, or more where its views need them; on larger paper where even that is
    too small.

    Raises ValueError for a member that fits on no paper.
    """
    views = project_member(work.member, work.figures.views)

    @cache
    def panel(view: MemberView, scale: Scale) -> Panel:
        return _panel(work, views, view, scale)

    scales = tuple(s for s in SCALES[work.style.length] if s.ratio <= 1)
    for name in larger_papers(work.sheet.small):
        paper = f"{name} landscape"
        field = free_field(paper)
        foot = foot_blocks(work.member, work.row, work.figures, work.style, field[2] - field[0])
        whole = (field[0] + MARGIN, field[1] + MARGIN, field[2] - MARGIN, field[3] - MARGIN)
        rooms = Rooms((whole[0], whole[1] + foot.height, whole[2], whole[3]), whole)
        length = views.views["face"].width
        pages = lay_pages(work.figures.views, panel, length, scales, rooms, work.sheet.method)
        if pages:
            return tuple(_draft(work, views, paper, foot, p, i, len(pages)) for i, p in enumerate(pages))
    raise ValueError(f"{work.member.name} fits on no paper at any standard scale")


def _panel(work: PartWork, views: MemberViews, view: MemberView, scale: Scale) -> Panel:
    figures = [f for f in work.figures.figures if f.view == view]
    paper = lay_view(views.views[view], scale, hidden=True)
    title = f"{TITLES[view]}  {scale.ratio_text}"
    return member_panel(work.member, view, paper, figures, LETTERS, title)


def _draft(
    work: PartWork, views: MemberViews, paper: str, foot: Block, page: Page, index: int, count: int
) -> Draft:
    member = work.member
    field = free_field(paper)
    marks: list[Mark] = []
    stands: list[ViewOnSheet] = []
    for item in page.placed:
        drawn, where = item.panel.placed(item.origin)
        marks += drawn
        stands.append(where)
    if index == 0:
        marks.append(foot.placed(field[0], field[1] + foot.height))
        beside = beside_block(paper)
        if beside is not None and (picture := other_hand(member, views.views["face"], beside)):
            marks.append(picture)
    name = f"{member.mark}  {capital(member.name)}"
    shown = ", ".join(TITLES[v].lower() for v in TITLES if any(w.name == v for w in stands))
    return Draft(
        key=f"part {member.mark}" if index == 0 else f"part {member.mark} {index + 1}",
        title=name if count == 1 else f"{name} ({index + 1} of {count})",
        purpose="To mark out and cut this part" if index == 0 else f"{capital(shown)}",
        document_type="Jig sheet" if member.role == "jig" else "Part sheet",
        kind="part",
        paper=paper,
        marks=tuple(marks),
        views=tuple(stands),
        members=(member.mark,),
        scale=page.scale.text,
        alt=f"{capital(member.name)}: {shown}",
    )
