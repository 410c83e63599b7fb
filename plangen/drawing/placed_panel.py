"""Panels in their places on a sheet: bands that share the height of it, panels that share the width of a band."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from plangen.drawing.lettering import Box2
from plangen.drawing.marks import Mark, ViewOnSheet
from plangen.drawing.panel import Panel
from plangen.geometry.curves import Vec2

VIEW_GAP = 8.0
"""Least between envelopes of views, mm; sheets with room to spare have more."""
_MOST_GAP = 24.0


@dataclass(frozen=True)
class PlacedPanel:
    """``origin``: where the origin of the panel's view stands on the sheet."""

    panel: Panel
    origin: Vec2

    @property
    def box(self) -> Box2:
        x0, y0, x1, y1 = self.panel.box
        x, y = self.origin
        return (x0 + x, y0 + y, x1 + x, y1 + y)


def drawn_in_place(placed: Sequence[PlacedPanel]) -> tuple[list[Mark], tuple[ViewOnSheet, ...]]:
    """The marks of panels where they stand on the sheet, and the views that they are."""
    drawn = [item.panel.placed(item.origin) for item in placed]
    return [mark for marks, _ in drawn for mark in marks], tuple(view for _, view in drawn)


@dataclass(frozen=True)
class Band:
    """Panels beside one another; ``xs``: where the origins of their views stand across the sheet, ``ys``: above
    the level of the band (all 0 where the views are aligned)."""

    panels: tuple[Panel, ...]
    xs: tuple[float, ...]
    ys: tuple[float, ...]

    @property
    def top(self) -> float:
        """Above the level of the band."""
        return max(p.box[3] + y for p, y in zip(self.panels, self.ys, strict=True))

    @property
    def height(self) -> float:
        return self.top - min(p.box[1] + y for p, y in zip(self.panels, self.ys, strict=True))

    @property
    def right(self) -> float:
        """Where its ink ends across the sheet."""
        return max(p.box[2] + x for p, x in zip(self.panels, self.xs, strict=True))

    @property
    def left(self) -> float:
        """Where its ink begins across the sheet."""
        return min(p.box[0] + x for p, x in zip(self.panels, self.xs, strict=True))

    def shifted(self, by: float) -> Band:
        return Band(self.panels, tuple(x + by for x in self.xs), self.ys)

    def with_panel(self, panel: Panel, x: float) -> Band:
        """Another panel at ``x``, the middle of its outline level with that of the first."""
        y = self.ys[0] + panel_middle(self.panels[0]) - panel_middle(panel)
        return Band((*self.panels, panel), (*self.xs, x), (*self.ys, y))

    def at(self, level: float) -> list[PlacedPanel]:
        places = zip(self.panels, self.xs, self.ys, strict=True)
        return [PlacedPanel(p, (x, level + y)) for p, x, y in places]


def panel_middle(panel: Panel) -> float:
    """Of the outline, above the origin of its view."""
    return (panel.paper.box[1] + panel.paper.box[3]) / 2


def row_band(panels: Sequence[Panel], room: Box2) -> Band | None:
    """The panels across the room, the middles of their outlines on one level, slack shared evenly; None where
    they are too wide."""
    across = share([p.width for p in panels], room[2] - room[0])
    if across is None:
        return None
    x, gap = room[0] + across[0], across[1]
    xs = []
    for panel in panels:
        xs.append(x - panel.box[0])
        x += panel.width + gap
    ys = tuple(-panel_middle(p) for p in panels)
    return Band(tuple(panels), tuple(xs), ys)


def centred_bands(bands: Sequence[Band], room: Box2) -> list[Band]:
    """The bands, all moved alike, with as much room left of them as right."""
    left, right = min(b.left for b in bands), max(b.right for b in bands)
    by = (room[0] + room[2] - left - right) / 2
    return [b.shifted(by) for b in bands]


def bands_fit(bands: Sequence[Band], room: Box2) -> bool:
    return share([b.height for b in bands], room[3] - room[1]) is not None


def stand_bands(bands: Sequence[Band], room: Box2) -> list[PlacedPanel]:
    """The bands from the top of the room down, slack shared evenly. Raises ValueError where they do not fit."""
    down = share([b.height for b in bands], room[3] - room[1])
    if down is None:
        raise ValueError("the views are higher than the room for them")
    y, placed = room[3] - down[0], []
    for band in bands:
        placed += band.at(y - band.top)
        y -= band.height + down[1]
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
