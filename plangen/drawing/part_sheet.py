"""Part sheets: one member that is not plain, with everything its maker needs and nothing twice.

Face view in the middle, length level, end A left, face edge down; the other long views above and below it and
the end views beside it by the projection method. The scale is the largest standard one at which the views and
all their figures fit; what does not fit beside the long views goes, enlarged, to a second sheet.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from plangen.dimensioning.figures import MemberFigures, MemberView
from plangen.drawing.block import Block
from plangen.drawing.draft import Draft, SheetStyle, beside_block, free_field
from plangen.drawing.lettering import Box2
from plangen.drawing.marks import Mark, ViewOnSheet
from plangen.drawing.member_views import (
    TITLES,
    MemberViews,
    column_order,
    end_side,
    project_member,
)
from plangen.drawing.panel import Panel, member_panel
from plangen.drawing.part_blocks import foot_blocks, other_hand
from plangen.drawing.view_on_paper import lay_view
from plangen.drawing.wording import capital
from plangen.geometry.curves import Vec2
from plangen.joinery.model import Member
from plangen.stock.cutting_list import CuttingRow
from plangen.tables.scales import SCALES, Scale
from plangen.units import UnitStyle

LETTERS = 3.5
VIEW_GAP = 12.0
"""Between envelopes of views, mm."""
MARGIN = 4.0
"""Between views and the rules round the field."""
_LONG: tuple[MemberView, ...] = ("face", "edge", "back", "back edge")


@dataclass(frozen=True)
class PlacedPanel:
    panel: Panel
    origin: Vec2

    @property
    def box(self) -> Box2:
        x0, y0, x1, y1 = self.panel.box
        x, y = self.origin
        return (x0 + x, y0 + y, x1 + x, y1 + y)


@dataclass(frozen=True)
class PartWork:
    """What a part sheet is drawn from."""

    member: Member
    row: CuttingRow
    figures: MemberFigures
    style: UnitStyle
    sheet: SheetStyle


def part_drafts(work: PartWork) -> tuple[Draft, ...]:
    """The sheets of one member: one, or a second one for the views of its ends."""
    views = project_member(work.member, work.figures.views)
    paper = f"{work.sheet.small} landscape"
    field = free_field(paper)
    foot = foot_blocks(work.member, work.row, work.figures, work.style, field[2] - field[0])
    room = (field[0] + MARGIN, field[1] + foot.height + MARGIN, field[2] - MARGIN, field[3] - MARGIN)
    ends = tuple(v for v in work.figures.views if v not in _LONG)
    placed, scale, left_over = _arrange(work, views, ends, room)
    drafts = [_draft(work, views, paper, field, foot, placed, scale, "")]
    if left_over:
        again, second = _arrange_ends(work, views, left_over, room)
        drafts.append(_draft(work, views, paper, field, foot, again, second, "ends"))
    return tuple(drafts)


def _panel(work: PartWork, views: MemberViews, view: MemberView, scale: Scale) -> Panel:
    figures = [f for f in work.figures.figures if f.view == view]
    hidden = view in ("face", "edge") or not any(v == "face" for v in views.views)
    paper = lay_view(views.views[view], scale, hidden)
    return member_panel(work.member, view, paper, figures, LETTERS, TITLES[view])


def _scales(work: PartWork) -> tuple[Scale, ...]:
    return tuple(s for s in SCALES[work.style.length] if s.ratio <= 1)


def _arrange(
    work: PartWork, views: MemberViews, ends: Sequence[MemberView], room: Box2
) -> tuple[list[PlacedPanel], Scale, tuple[MemberView, ...]]:
    """The long views, with the ends beside them where that costs no scale; else the ends are left over."""
    column = column_order([v for v in work.figures.views if v in _LONG], work.sheet.method)
    width = room[2] - room[0]
    fallback: tuple[list[PlacedPanel], Scale, tuple[MemberView, ...]] | None = None
    for scale in _scales(work):
        if views.views["face"].width * float(scale.ratio) > width:
            continue
        panels = {v: _panel(work, views, v, scale) for v in column}
        beside = {v: _panel(work, views, v, scale) for v in ends}
        for extra in (beside, {}):
            placed = _place(panels, extra, column, work, room)
            if placed is not None:
                return placed, scale, () if extra or not ends else tuple(ends)
        fallback = (_force(panels, column, room), scale, tuple(ends))
    if fallback is None:
        raise ValueError(f"{work.member.name} does not fit on {work.sheet.small} at any standard scale")
    return fallback


def _place(
    panels: dict[MemberView, Panel],
    beside: dict[MemberView, Panel],
    column: Sequence[MemberView],
    work: PartWork,
    room: Box2,
) -> list[PlacedPanel] | None:
    """Panels in their places in ``room``, slack shared evenly; None where they do not fit."""
    left = [p for v, p in beside.items() if end_side(v, work.sheet.method) < 0]
    right = [p for v, p in beside.items() if end_side(v, work.sheet.method) > 0]
    low = min(p.box[0] for p in panels.values())
    high = max(p.box[2] for p in panels.values())
    widths = [p.width for p in left] + [high - low] + [p.width for p in right]
    slack_x = room[2] - room[0] - math.fsum(widths) - VIEW_GAP * (len(widths) - 1)
    top = {v: _top(v, panels, beside) for v in column}
    foot = {v: _foot(v, panels, beside) for v in column}
    heights = [top[v] - foot[v] for v in column]
    slack_y = room[3] - room[1] - math.fsum(heights) - VIEW_GAP * (len(heights) - 1)
    if slack_x < 0 or slack_y < 0:
        return None
    gap_x = VIEW_GAP + min(slack_x / (len(widths) + 1), 12.0)
    gap_y = VIEW_GAP + min(slack_y / (len(heights) + 1), 12.0)
    taken_x = math.fsum(widths) + gap_x * (len(widths) - 1)
    taken_y = math.fsum(heights) + gap_y * (len(heights) - 1)
    x = room[0] + (room[2] - room[0] - taken_x) / 2
    y = room[3] - (room[3] - room[1] - taken_y) / 2
    origins: dict[MemberView, Vec2] = {}
    shift = math.fsum(p.width for p in left) + gap_x * len(left)
    origin_x = x + shift - low
    for view in column:
        origins[view] = (origin_x, y - top[view])
        y -= top[view] - foot[view] + gap_y
    placed = [PlacedPanel(panels[v], origins[v]) for v in column]
    face_y = origins["face"][1]
    placed += [PlacedPanel(p, (x - p.box[0], face_y)) for p in left]
    placed += [PlacedPanel(p, (origin_x + high + gap_x - p.box[0], face_y)) for p in right]
    return placed


def _top(view: MemberView, panels: dict[MemberView, Panel], beside: dict[MemberView, Panel]) -> float:
    own = panels[view].box[3]
    return max([own, *(p.box[3] for p in beside.values())]) if view == "face" else own


def _foot(view: MemberView, panels: dict[MemberView, Panel], beside: dict[MemberView, Panel]) -> float:
    own = panels[view].box[1]
    return min([own, *(p.box[1] for p in beside.values())]) if view == "face" else own


def _force(panels: dict[MemberView, Panel], column: Sequence[MemberView], room: Box2) -> list[PlacedPanel]:
    """Stacked without regard to the room: the last resort of the smallest scale."""
    y = room[3]
    placed = []
    for view in column:
        placed.append(PlacedPanel(panels[view], (room[0] - panels[view].box[0], y - panels[view].box[3])))
        y -= panels[view].height + VIEW_GAP
    return placed


def _arrange_ends(
    work: PartWork, views: MemberViews, ends: Sequence[MemberView], room: Box2
) -> tuple[list[PlacedPanel], Scale]:
    """The views of the ends side by side at the largest scale that fits."""
    order = sorted(ends, key=lambda v: end_side(v, work.sheet.method))
    for scale in _scales(work):
        panels = [_panel(work, views, v, scale) for v in order]
        width = math.fsum(p.width for p in panels) + VIEW_GAP * (len(panels) - 1)
        height = max(p.box[3] for p in panels) - min(p.box[1] for p in panels)
        if width <= room[2] - room[0] and height <= room[3] - room[1]:
            break
    gap = VIEW_GAP + min(max(0.0, room[2] - room[0] - width) / (len(panels) + 1), 30.0)
    x = (room[0] + room[2] - width - (gap - VIEW_GAP) * (len(panels) - 1)) / 2
    top = max(p.box[3] for p in panels)
    y = room[3] - max(0.0, (room[3] - room[1] - height) / 2) - top
    placed = []
    for panel in panels:
        placed.append(PlacedPanel(panel, (x - panel.box[0], y)))
        x += panel.width + gap
    return placed, scale


def _draft(
    work: PartWork,
    views: MemberViews,
    paper: str,
    field: Box2,
    foot: Block,
    placed: Sequence[PlacedPanel],
    scale: Scale,
    part: str,
) -> Draft:
    member = work.member
    marks: list[Mark] = []
    stands: list[ViewOnSheet] = []
    for item in placed:
        drawn, where = item.panel.placed(item.origin)
        marks += drawn
        stands.append(where)
    marks.append(foot.placed(field[0], field[1] + foot.height))
    beside = beside_block(paper)
    if beside is not None and (picture := other_hand(member, views.views["face"], beside)):
        marks.append(picture)
    name = f"{member.mark}  {capital(member.name)}"
    return Draft(
        key=f"part {member.mark}{' ' + part if part else ''}",
        title=f"{name}: {part}" if part else name,
        purpose="To mark out and cut this part" if not part else "The ends, enlarged, to mark out and check",
        document_type="Jig sheet" if member.role == "jig" else "Part sheet",
        kind="part",
        paper=paper,
        marks=tuple(marks),
        views=tuple(stands),
        members=(member.mark,),
        scale=scale.text,
        alt=f"{capital(member.name)}, {', '.join(TITLES[v].lower() for v in work.figures.views)}",
    )
