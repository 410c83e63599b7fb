"""Where the views of a member stand: on which sheet, beside or under what, at which scale.

Long views keep one line of length: the face view in the middle, the others above and below it by the
projection method, the ends beside it. What a sheet has no room for goes to the next one. Of all standard scales
the one is taken that prints largest for the sheets it costs.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from plangen.dimensioning.figures import MemberView
from plangen.drawing.lettering import Box2
from plangen.drawing.member_views import column_order, end_side
from plangen.drawing.panel import Panel
from plangen.drawing.placing_rule import Method
from plangen.geometry.curves import Vec2
from plangen.tables.scales import Scale

VIEW_GAP = 12.0
"""Between envelopes of views, mm."""
_MOST_GAP = 24.0
LONG: tuple[MemberView, ...] = ("face", "edge", "back", "back edge")
"""In order of importance."""
SHEET_COST = 0.8
"""Doublings of the scale that a further sheet must be worth."""


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
class Page:
    """The views on one sheet and the scale of most of them."""

    placed: tuple[PlacedPanel, ...]
    scale: Scale


MakePanel = Callable[[MemberView, Scale], Panel]


@dataclass(frozen=True)
class Rooms:
    """The room on the first sheet of a member and on each further one."""

    first: Box2
    further: Box2

    def of(self, page: int) -> Box2:
        return self.first if page == 0 else self.further


def lay_pages(
    views: Sequence[MemberView],
    make: MakePanel,
    length: float,
    scales: Sequence[Scale],
    rooms: Rooms,
    method: Method,
) -> tuple[Page, ...]:
    """The pages of one member, none where it fits at none of the scales (largest first); ``length`` is that of
    the face view in mm of the work."""
    best: tuple[float, tuple[Page, ...]] | None = None
    for scale in scales:
        worth = math.log2(float(scale.ratio))
        if best is not None and worth <= best[0]:
            break
        if length * float(scale.ratio) > rooms.further[2] - rooms.further[0]:
            continue
        pages = _pages(views, make, scale, scales, rooms, method)
        if pages is not None:
            worth -= SHEET_COST * (len(pages) - 1)
            if best is None or worth > best[0] + 1e-9:
                best = (worth, pages)
    return best[1] if best is not None else ()


def _pages(
    views: Sequence[MemberView],
    make: MakePanel,
    scale: Scale,
    scales: Sequence[Scale],
    rooms: Rooms,
    method: Method,
) -> tuple[Page, ...] | None:
    long_views = [v for v in LONG if v in views]
    ends = [v for v in views if v not in LONG]
    panels = {v: make(v, scale) for v in long_views}
    pages: list[Page] = []
    while long_views:
        room = rooms.of(len(pages))
        for count in range(len(long_views), 0, -1):
            chosen = {v: panels[v] for v in long_views[:count]}
            beside = {v: make(v, scale) for v in ends} if "face" in chosen else {}
            placed = _column(chosen, beside, room, method) if beside else None
            if placed is not None:
                ends = []
                break
            placed = _column(chosen, {}, room, method)
            if placed is not None:
                break
        else:
            return None
        long_views = long_views[count:]
        pages.append(Page(tuple(placed), scale))
    if ends:
        pages = _with_ends(pages, ends, make, scales, rooms, method)
    return tuple(pages)


def _with_ends(
    pages: list[Page],
    ends: Sequence[MemberView],
    make: MakePanel,
    scales: Sequence[Scale],
    rooms: Rooms,
    method: Method,
) -> list[Page]:
    """The ends, enlarged, in the free foot of the last page, else on a page of their own."""
    order = sorted(ends, key=lambda v: end_side(v, method))
    last = pages[-1]
    room = rooms.of(len(pages) - 1)
    foot = min(p.box[1] for p in last.placed) - VIEW_GAP
    left = (room[0], room[1], room[2], foot)
    for scale in scales:
        if scale.ratio < last.scale.ratio or left[3] <= left[1]:
            break
        placed = _row([make(v, scale) for v in order], left)
        if placed is not None:
            return [*pages[:-1], Page((*last.placed, *placed), last.scale)]
    for scale in scales:
        placed = _row([make(v, scale) for v in order], rooms.further)
        if placed is not None:
            return [*pages, Page(tuple(placed), scale)]
    raise ValueError("the views of the ends fit on the sheet at no standard scale")


def _column(
    panels: dict[MemberView, Panel], beside: dict[MemberView, Panel], room: Box2, method: Method
) -> list[PlacedPanel] | None:
    """Long views over one another, ends beside the face view, slack shared evenly; None if there is none."""
    column = column_order(tuple(panels), method)
    left = [p for v, p in beside.items() if end_side(v, method) < 0]
    right = [p for v, p in beside.items() if end_side(v, method) > 0]
    low = min(p.box[0] for p in panels.values())
    high = max(p.box[2] for p in panels.values())
    widths = [*(p.width for p in left), high - low, *(p.width for p in right)]
    tops, feet = {}, {}
    for view in column:
        row = [panels[view], *(beside.values() if view == "face" else ())]
        tops[view], feet[view] = max(p.box[3] for p in row), min(p.box[1] for p in row)
    heights = [tops[v] - feet[v] for v in column]
    across, down = share(widths, room[2] - room[0]), share(heights, room[3] - room[1])
    if across is None or down is None:
        return None
    (x, gap_x), (margin, gap_y) = across, down
    x, y = room[0] + x, room[3] - margin
    origin_x = x + math.fsum(p.width + gap_x for p in left) - low
    origins: dict[MemberView, Vec2] = {}
    for view in column:
        origins[view] = (origin_x, y - tops[view])
        y -= tops[view] - feet[view] + gap_y
    placed = [PlacedPanel(panels[v], origins[v]) for v in column]
    if beside:
        level = origins["face"][1]
        placed += [PlacedPanel(p, (x - p.box[0], level)) for p in left]
        placed += [PlacedPanel(p, (origin_x + high + gap_x - p.box[0], level)) for p in right]
    return placed


def _row(panels: Sequence[Panel], room: Box2) -> list[PlacedPanel] | None:
    """Panels side by side, their origins on one level."""
    top, foot = max(p.box[3] for p in panels), min(p.box[1] for p in panels)
    across = share([p.width for p in panels], room[2] - room[0])
    down = share([top - foot], room[3] - room[1])
    if across is None or down is None:
        return None
    x, gap = room[0] + across[0], across[1]
    placed = []
    for panel in panels:
        placed.append(PlacedPanel(panel, (x - panel.box[0], room[3] - down[0] - top)))
        x += panel.width + gap
    return placed


def share(sizes: Sequence[float], room: float) -> tuple[float, float] | None:
    """Margin before the first and gap between sizes that stand in a row, slack shared evenly; None where they
    do not fit with the least gap."""
    count = len(sizes)
    slack = room - math.fsum(sizes) - VIEW_GAP * (count - 1)
    if slack < -1e-9:
        return None
    gap = min(VIEW_GAP + slack / (count + 1), _MOST_GAP)
    return (room - math.fsum(sizes) - gap * (count - 1)) / 2, gap
