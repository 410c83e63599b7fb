"""Where the views of a member stand: on which sheet, beside or under what, at which scale.

Long views keep one line of length: the face view in the middle, the others above and below it by the
projection method, the ends beside it. What a sheet has no room for goes to the next one. Of all standard scales
the one is taken that prints largest for the sheets it costs.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from plangen.dimensioning.figures import MemberView
from plangen.drawing.lettering import Box2
from plangen.drawing.member_views import column_order, end_side
from plangen.drawing.panel import Panel
from plangen.drawing.placed_panel import (
    VIEW_GAP,
    Band,
    PlacedPanel,
    bands_fit,
    centred_bands,
    panel_middle,
    row_band,
    share,
    stand_bands,
)
from plangen.drawing.placing_rule import Method
from plangen.tables.scales import Scale

LONG: tuple[MemberView, ...] = ("face", "edge", "back", "back edge")
"""In order of importance."""
_END_SHARE = 0.88
"""Of the height of a sheet, that an enlarged end may take."""
SHEET_COST, DETAIL_COST, CROWDED_COST, LONE_COST = 1.05, 0.15, 1.5, 0.2
"""Doublings of the scale that a further sheet, a further detail, a figure that stands on other ink must be worth; and
what a further sheet costs beyond that where one view stands on it alone."""


@dataclass(frozen=True)
class Page:
    """The views on one sheet and the scale of most of them."""

    placed: tuple[PlacedPanel, ...]
    scale: Scale


class Views(Protocol):
    """What there is to lay out of one member."""

    @property
    def names(self) -> tuple[MemberView, ...]: ...

    @property
    def length(self) -> float:
        """Of the face view, mm of the work."""

    def panel(self, view: MemberView, scale: Scale) -> Panel:
        """A view in the column of long views, or beside it, at the scale of the column."""

    def details(self, scale: Scale) -> tuple[Panel, ...]:
        """The details that the long views need at ``scale``."""

    def count_details(self, scale: Scale) -> int:
        """How many they are."""

    def stands_beside(self, end: MemberView, scale: Scale) -> bool:
        """Whether the view of an end can be figured at the scale of the column."""

    def enlarged(self, end: MemberView, scale: Scale, room: tuple[float, float]) -> Panel:
        """The view of an end by itself, as large as is useful and width and height of ``room`` allow."""


@dataclass(frozen=True)
class Rooms:
    """The room on the first sheet of a member and on each further one."""

    first: Box2
    further: Box2

    def of(self, page: int) -> Box2:
        return self.first if page == 0 else self.further


@dataclass(frozen=True)
class Layout:
    """The pages of one member and how good they are: greater is better."""

    pages: tuple[Page, ...]
    scale: Scale
    """Of the column of long views."""
    worth: float


def lay_pages(
    views: Views, scales: Sequence[Scale], rooms: Rooms, method: Method, least: float = -math.inf
) -> Layout | None:
    """The best pages of one member, None where none at any of the scales (largest first) is worth more than
    ``least``."""
    best: Layout | None = None
    for scale in scales:
        most = math.log2(float(scale.ratio))
        if most <= least:
            break
        if views.length * float(scale.ratio) > rooms.further[2] - rooms.further[0]:
            continue
        most -= DETAIL_COST * views.count_details(scale)
        if most <= least:
            continue
        pages = _pages(views, scale, rooms, method)
        if pages is not None:
            crowded = sum(item.panel.crowded for page in pages for item in page.placed)
            worth = most - SHEET_COST * (len(pages) - 1) - CROWDED_COST * crowded
            worth -= LONE_COST * sum(len(page.placed) == 1 for page in pages[1:])
            if worth > least + 1e-9:
                best, least = Layout(pages, scale, worth), worth
    return best


def _pages(views: Views, scale: Scale, rooms: Rooms, method: Method) -> tuple[Page, ...] | None:
    waiting = [v for v in LONG if v in views.names]
    x0, y0, x1, y1 = rooms.further
    room = ((x1 - x0 - VIEW_GAP) / 2, (y1 - y0) * _END_SHARE)
    order = sorted((v for v in views.names if v not in LONG), key=lambda v: end_side(v, method))
    ends = {
        v: views.panel(v, scale) if views.stands_beside(v, scale) else views.enlarged(v, scale, room)
        for v in order
    }
    panels = {v: views.panel(v, scale) for v in waiting}
    pages: list[list[Band]] = []
    while waiting:
        found = _fullest(waiting, panels, ends, rooms.of(len(pages)), method)
        if found is None:
            return None
        bands, count, taken = found
        ends = {v: p for v, p in ends.items() if v not in taken}
        waiting = waiting[count:]
        pages.append(bands)
    loose = [*(views.enlarged(v, scale, room) for v in ends), *views.details(scale)]
    if not _add_loose(loose, pages, rooms):
        return None
    placed = [stand_bands(centred_bands(bands, rooms.of(i)), rooms.of(i)) for i, bands in enumerate(pages)]
    return tuple(Page(tuple(p), _main_scale(p, scale)) for p in placed)


def _fullest(
    waiting: Sequence[MemberView],
    panels: dict[MemberView, Panel],
    ends: dict[MemberView, Panel],
    room: Box2,
    method: Method,
) -> tuple[list[Band], int, frozenset[MemberView]] | None:
    """As many of the waiting views as one sheet takes, as many ends beside them as cost none of them."""
    for count in range(len(waiting), 0, -1):
        chosen = {v: panels[v] for v in waiting[:count]}
        most = len(ends) if "face" in chosen else 0
        for number in range(most, -1, -1):
            for some in itertools.combinations(ends, number):
                bands = _column(chosen, {v: ends[v] for v in some}, room, method)
                if bands is not None:
                    return bands, count, frozenset(some)
    return None


def _column(
    panels: dict[MemberView, Panel], beside: dict[MemberView, Panel], room: Box2, method: Method
) -> list[Band] | None:
    """Long views over one another, ends beside the face view; None where there is no room."""
    left = [p for v, p in beside.items() if end_side(v, method) < 0]
    right = [p for v, p in beside.items() if end_side(v, method) > 0]
    low = min(p.box[0] for p in panels.values())
    high = max(p.box[2] for p in panels.values())
    across = share([*(p.width for p in left), high - low, *(p.width for p in right)], room[2] - room[0])
    if across is None:
        return None
    x, gap = room[0] + across[0], across[1]
    lefts = [x - left[0].box[0]] if left else []
    x += math.fsum(p.width + gap for p in left) - low
    rights = [x + high + gap - right[0].box[0]] if right else []
    bands = []
    for view in column_order(tuple(panels), method):
        if view == "face":
            row = (*left, panels[view], *right)
            bands.append(Band(row, (*lefts, x, *rights), tuple(_level(p, panels[view]) for p in row)))
        else:
            bands.append(Band((panels[view],), (x,), (0.0,)))
    return bands if bands_fit(bands, room) else None


def _level(panel: Panel, face: Panel) -> float:
    """An end at the scale of the face view is level with it, one at another scale has its middle level."""
    same = panel.paper.scale == face.paper.scale
    return 0.0 if same else panel_middle(face) - panel_middle(panel)


def _add_loose(loose: Sequence[Panel], pages: list[list[Band]], rooms: Rooms) -> bool:
    """Puts the panels in rows under what stands on the pages, then on further ones; False where one is too
    large for a sheet."""
    waiting = list(loose)
    index = 0
    while waiting:
        if index == len(pages):
            pages.append([])
        room = rooms.of(index)
        here = {p.paper.view.name for band in pages[index] for p in band.panels}
        waiting.sort(key=lambda p: bool(p.of) and p.of not in here)
        while row := _next_row(waiting, pages[index], room):
            band = row_band(row, room)
            if band is None:
                raise ValueError("a row was filled beyond the room")
            pages[index].append(band)
            waiting = _without(waiting, row)
        for panel in list(waiting):
            widened = _beside_band(panel, pages[index], room)
            if widened is not None:
                pages[index] = widened
                waiting = _without(waiting, [panel])
        if not pages[index]:
            return False
        index += 1
    return True


def _without(panels: Sequence[Panel], taken: Sequence[Panel]) -> list[Panel]:
    gone = {id(p) for p in taken}
    return [p for p in panels if id(p) not in gone]


def _beside_band(panel: Panel, bands: Sequence[Band], room: Box2) -> list[Band] | None:
    """The bands with the panel right of one of them, where the sheet is wide and high enough for that, all of
    them moved to the left where that makes the room."""
    spare = min((b.left for b in bands), default=room[0]) - room[0]
    for i, band in enumerate(bands):
        over = band.right + VIEW_GAP + panel.width - room[2]
        if over > spare:
            continue
        moved = [b.shifted(-max(over, 0.0)) for b in bands]
        left = moved[i].right + VIEW_GAP
        x = left + min(max(room[2] - left - panel.width, 0.0) / 2, VIEW_GAP) - panel.box[0]
        wider = [*moved[:i], moved[i].with_panel(panel, x), *moved[i + 1 :]]
        if bands_fit(wider, room):
            return wider
    return None


def _next_row(waiting: Sequence[Panel], bands: Sequence[Band], room: Box2) -> list[Panel]:
    """Of the waiting panels, in order, those that make one more row."""
    row: list[Panel] = []
    for panel in waiting:
        band = row_band([*row, panel], room)
        if band is not None and bands_fit([*bands, band], room):
            row.append(panel)
    return row


def _main_scale(placed: Sequence[PlacedPanel], scale: Scale) -> Scale:
    """The scale of the column where the sheet shows it, else that of its first view."""
    scales = [p.panel.paper.scale for p in placed]
    return scale if scale in scales else scales[0]
