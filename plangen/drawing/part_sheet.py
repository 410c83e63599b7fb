"""Part sheets: one member that is not plain, with everything its maker needs and nothing twice.

Face view with the length level, end A left, face edge down; the scale is the largest standard one at which
the views and all their figures fit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from plangen.dimensioning.bent import BentBar
from plangen.dimensioning.figures import MemberFigures
from plangen.dimensioning.mates import Mate
from plangen.drawing.draft import Draft, SheetStyle, beside_block, free_field, larger_papers
from plangen.drawing.lettering import Box2
from plangen.drawing.marks import Group
from plangen.drawing.member_views import TITLES, MemberViews, member_projection, project_member, view_words
from plangen.drawing.paging import Layout, Page, Rooms, lay_pages
from plangen.drawing.part_blocks import foot_blocks, low_blocks, other_hand, side_blocks
from plangen.drawing.part_views import Formed, PartViews
from plangen.drawing.placed_panel import drawn_in_place
from plangen.drawing.placing_rule import Method
from plangen.drawing.view_on_paper import ProjectedView, project_scene
from plangen.drawing.wording import capital, has_other_hand
from plangen.geometry.frames import WORLD
from plangen.geometry.hidden import prepare
from plangen.joinery.model import Member
from plangen.stock.cutting_list import CuttingRow
from plangen.tables.scales import SCALES, Scale
from plangen.units import UnitStyle

LETTERS, LARGE_LETTERS = 3.5, 5.0
"""Height of figures; the large ones where there is room for them."""
_MOST_WORDS = 0.6
"""Of the height of a sheet, that the words at its foot may take."""
_LEAST_VIEW, _LEAST_RATIO = 60.0, Fraction(1, 5)
"""Millimetres on paper of a face view, and the scale, under which larger paper is taken."""
MARGIN = 2.0
"""Between views and the rules round the field."""
SIDE_WIDTH = 72.0
"""Of the column of words at the right side, mm."""


@dataclass(frozen=True)
class PartWork:
    """What a part sheet is drawn from."""

    member: Member
    row: CuttingRow
    figures: MemberFigures
    style: UnitStyle
    sheet: SheetStyle
    mates: tuple[Mate, ...] = ()
    bent: BentBar | None = None
    """Of a bent bar, whose flat is then the member."""


def part_drafts(work: PartWork) -> tuple[Draft, ...]:
    """The sheets of one member: one, or more where its views need them; on larger paper where even that is
    too small.

    Raises ValueError for a member that fits on no paper.
    """
    projected = project_member(work.member, work.figures.views)
    scales = SCALES[work.style.length]
    formed = (
        None if work.bent is None else Formed(_project_formed(work.bent), work.bent.formed_figures.figures)
    )
    lines = () if work.bent is None else work.bent.lines
    views = PartViews(projected, work.figures, scales, LETTERS, work.mates, formed, lines)
    reductions = [s for s in scales if s.ratio <= 1]
    found: list[tuple[str, list[PlacedBlock], tuple[Layout, PlacedBlock]]] = []
    for name in larger_papers(work.sheet.small):
        paper = f"{name} landscape"
        feet = _feet(work, free_field(paper), beside_block(paper))
        best = _best_layout(views, reductions, feet, work.sheet.method, -math.inf)
        if best is not None:
            found.append((paper, feet, best))
            if _is_legible(best[0], views):
                break
    if not found:
        raise ValueError(f"{work.member.name} fits on no paper at any standard scale")
    # the smallest paper on which it can be read, else the one on which it is largest
    legible = [f for f in found if _is_legible(f[2][0], views)]
    paper, feet, best = legible[0] if legible else max(found, key=lambda f: f[2][0].scale.ratio)
    # figures to be read from a yard off, where they cost neither scale nor a sheet
    large = PartViews(projected, work.figures, scales, LARGE_LETTERS, work.mates, formed, lines)
    same = best[0].worth - 1e-6
    layout, words = _best_layout(large, [best[0].scale], feet, work.sheet.method, same) or best
    count = len(layout.pages)
    return tuple(_draft(work, projected, paper, words, p, i, count) for i, p in enumerate(layout.pages))


def _is_legible(layout: Layout, views: PartViews) -> bool:
    """The longer side of the face view is drawn long enough, or the member nearly as large as it is."""
    size = max(views.length, views.views.views["face"].height) * float(layout.scale.ratio)
    return size >= _LEAST_VIEW or layout.scale.ratio >= _LEAST_RATIO


def _project_formed(bar: BentBar) -> ProjectedView:
    scene = prepare([(bar.formed.solid, WORLD)])
    return project_scene(scene, member_projection("face"), "bent")


def _best_layout(
    views: PartViews, scales: Sequence[Scale], feet: Sequence[PlacedBlock], method: Method, least: float
) -> tuple[Layout, PlacedBlock] | None:
    """The layout worth most, and more than ``least``, with the words it goes with."""
    best: tuple[Layout, PlacedBlock] | None = None
    for foot in feet:
        layout = lay_pages(views, scales, foot.rooms, method, least)
        if layout is not None:
            best, least = (layout, foot), layout.worth
    return best


@dataclass(frozen=True)
class PlacedBlock:
    """The blocks of words in their place, and the room they leave."""

    marks: Group
    rooms: Rooms


def _feet(work: PartWork, field: Box2, beside: Box2 | None) -> list[PlacedBlock]:
    """The words across the foot of the sheet, or down its right side for a member that is short for its
    width; none that leaves too little room for the views."""
    x0, y0, x1, y1 = field
    whole = (x0 + MARGIN, y0 + MARGIN, x1 - MARGIN, y1 - MARGIN)
    if beside is None or has_other_hand(work.member):
        foot = foot_blocks(work.member, work.row, work.figures, work.style, x1 - x0)
    else:
        deep = (beside[2] - beside[0], y0 - beside[1])
        foot = low_blocks(work.member, work.row, work.figures, work.style, x1 - x0, deep)
    side = side_blocks(work.member, work.row, work.figures, work.style, SIDE_WIDTH, y1 - y0)
    found = []
    if foot.height <= _MOST_WORDS * (y1 - y0):
        rooms = Rooms((whole[0], whole[1] + foot.height, whole[2], whole[3]), whole)
        found.append(PlacedBlock(foot.placed(x0, y0 + foot.height), rooms))
    if side.height <= y1 - y0 + 1e-6:
        rooms = Rooms((whole[0], whole[1], whole[2] - SIDE_WIDTH, whole[3]), whole)
        found.append(PlacedBlock(side.placed(x1 - SIDE_WIDTH, y1), rooms))
    return found


def _draft(
    work: PartWork, views: MemberViews, paper: str, words: PlacedBlock, page: Page, index: int, count: int
) -> Draft:
    member = work.member
    marks, stands = drawn_in_place(page.placed)
    if index == 0:
        marks.append(words.marks)
        beside = beside_block(paper)
        if beside is not None and (picture := other_hand(member, views.views["face"], beside)):
            marks.append(picture)
    name = f"{member.mark}  {capital(member.name)}"
    shown = ", ".join(_shown(w.name, member) for w in stands)
    return Draft(
        key=f"part {member.mark}" if index == 0 else f"part {member.mark} {index + 1}",
        title=name if count == 1 else f"{name}, sheet {index + 1} of {count}",
        purpose="To mark out and cut this part" if index == 0 else f"{capital(shown)}",
        document_type="Jig sheet" if member.role == "jig" else "Part sheet",
        kind="part",
        paper=paper,
        marks=tuple(marks),
        views=stands,
        members=(member.mark,),
        scale=page.scale.text,
        alt=f"{capital(member.name)}: {shown}",
    )


def _shown(name: str, member: Member) -> str:
    """A view in words: ``face side``, ``detail A``."""
    return next((view_words(v, member) for v in TITLES if v == name), name)
