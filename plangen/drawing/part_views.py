"""The views of one member as panels at any scale, each made once."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from plangen.dimensioning.figures import Figure, MemberFigures, MemberView
from plangen.dimensioning.mates import Mate
from plangen.drawing.details import (
    LEAST_REFERENCE,
    Detail,
    detail_view,
    find_details,
    is_small,
    size_in_view,
)
from plangen.drawing.member_views import MemberViews, view_title
from plangen.drawing.paging import LONG
from plangen.drawing.panel import DetailCircle, Panel, detail_panel, member_panel, plain_panel
from plangen.drawing.view_on_paper import ProjectedView, lay_view
from plangen.geometry.vectors import Point
from plangen.joinery.model import Member
from plangen.tables.scales import Scale

_LARGEST_END, _LEAST_IN_END = 100.0, 2.5
"""Millimetres on paper: of an end shown whole, and of the sizes in one that is shown smaller than it is."""
_LEAST_ARM = 5.0
"""Of the sides of an angle, mm on paper."""


@dataclass(frozen=True)
class _Split:
    """What of a view's figures stays in it and what goes to details, at one scale."""

    details: tuple[Detail, ...]
    stay: tuple[Figure, ...]


@dataclass(frozen=True)
class Formed:
    """The shape of a bent bar, beside its flat."""

    view: ProjectedView
    figures: tuple[Figure, ...]


@dataclass
class PartViews:
    """Panels are kept by view and scale: the search for the best sheet asks for many of them again."""

    views: MemberViews
    figures: MemberFigures
    scales: Sequence[Scale]
    """Standard scales, largest first."""
    height: float
    """Of the figures."""
    mates: Sequence[Mate] = ()
    formed: Formed | None = None
    lines: Sequence[tuple[Point, Point]] = ()
    """Bend lines, across the face side."""
    _panels: dict[tuple[MemberView, Scale], Panel] = field(default_factory=dict)
    _details: dict[Scale, tuple[Panel, ...]] = field(default_factory=dict)
    _splits: dict[Scale, dict[MemberView, _Split]] = field(default_factory=dict)

    @property
    def member(self) -> Member:
        return self.views.member

    @property
    def names(self) -> tuple[MemberView, ...]:
        return tuple(self.views.views)

    @property
    def length(self) -> float:
        return self.views.views["face"].width

    def panel(self, view: MemberView, scale: Scale) -> Panel:
        if (view, scale) not in self._panels:
            split = self._split(scale).get(view) or _Split((), self._of(view))
            self._panels[view, scale] = self._drawn(view, scale, split)
        return self._panels[view, scale]

    def details(self, scale: Scale) -> tuple[Panel, ...]:
        if scale not in self._details:
            shape = () if self.formed is None else (self._drawn_shape(self.formed, scale),)
            self._details[scale] = (*self._drawn_details(scale), *shape)
        return self._details[scale]

    def _drawn_shape(self, formed: Formed, scale: Scale) -> Panel:
        paper = lay_view(formed.view, scale, hidden=False)
        return plain_panel(paper, formed.figures, self.height, f"BENT  {scale.ratio_text}")

    def count_details(self, scale: Scale) -> int:
        return sum(len(split.details) for split in self._split(scale).values())

    def _drawn_details(self, scale: Scale) -> tuple[Panel, ...]:
        found = []
        for name, split in self._split(scale).items():
            for detail in split.details:
                view = detail_view(detail, self.views.views[name])
                paper = lay_view(view, detail.scale, hidden=True, outline="outline")
                panel = detail_panel(self.member, paper, detail.figures, self.height, detail.title)
                found.append(replace(panel, of=name))
        return tuple(found)

    def stands_beside(self, end: MemberView, scale: Scale) -> bool:
        """At the scale of the column, its small sizes in details where no scale shows the whole end."""
        return self._has_details(end) or self._is_legible(end, scale)

    def enlarged(self, end: MemberView, scale: Scale, room: tuple[float, float]) -> Panel:
        """At the scale that suits the end, smaller where the room asks for it (crowded where it then prints too
        small), or as wide as two of them where its notes are long; at ``scale`` where details show what is small."""
        wanted = self._end_scale(end)
        if wanted is None:
            return self.panel(end, scale)
        for wide in (room[0], 2 * room[0]):
            for smaller in self.scales:
                if smaller.ratio > wanted.ratio or self.views.views[end].width * float(smaller.ratio) > wide:
                    continue
                panel = self.panel(end, smaller)
                if panel.width <= wide and panel.height <= room[1]:
                    fair = self._least(end) * float(smaller.ratio) >= _LEAST_IN_END - 1e-6
                    return panel if fair else replace(panel, crowded=panel.crowded + 1)
        return self.panel(end, wanted)

    def _is_legible(self, view: MemberView, scale: Scale) -> bool:
        projected = self.views.views[view]
        factor = float(scale.ratio)
        arms = (
            math.dist(projected.projection.flat(f.points[0]), projected.projection.flat(p)) * factor
            for f in self._of(view)
            if f.kind == "angular"
            for p in f.points[1:3]
        )
        return min(arms, default=_LEAST_ARM) >= _LEAST_ARM and not any(
            is_small(f, projected, factor) for f in self._of(view)
        )

    def _legible_scale(self, end: MemberView) -> Scale:
        """The smallest scale from full size up at which the sizes of an end can be told apart."""
        larger = [s for s in reversed(self.scales) if s.ratio >= 1]
        least = self._least(end)
        return next((s for s in larger if least * float(s.ratio) >= LEAST_REFERENCE - 1e-6), larger[-1])

    def _least(self, end: MemberView) -> float:
        """The smallest distance figured in the view, mm of the work."""
        view = self.views.views[end]
        sizes = (s for f in self._of(end) if (s := size_in_view(f, view)) is not None)
        return min(sizes, default=LEAST_REFERENCE)

    def _end_scale(self, end: MemberView) -> Scale | None:
        """Full size, larger only where a size would print too small, smaller only for an end that is too large for
        that; None where an end is too large to be shown whole at any scale at which all its sizes can be read."""
        view = self.views.views[end]
        size = max(view.width, view.height)
        full = self._legible_scale(end)
        if size * float(full.ratio) <= _LARGEST_END:
            return full
        smaller = (s for s in self.scales if s.ratio < 1 and size * float(s.ratio) <= _LARGEST_END)
        return next((s for s in smaller if self._least(end) * float(s.ratio) >= _LEAST_IN_END - 1e-6), None)

    def _has_details(self, end: MemberView) -> bool:
        return self._end_scale(end) is None

    def _of(self, view: MemberView) -> tuple[Figure, ...]:
        return tuple(f for f in self.figures.figures if f.view == view and not f.said_by)

    def _detailed(self) -> list[MemberView]:
        return [v for v in self.names if v in LONG or self._has_details(v)]

    def _split(self, scale: Scale) -> dict[MemberView, _Split]:
        """Details of the long views and of large ends, lettered on from view to view; A and B are the ends."""
        if scale not in self._splits:
            letter, found = "C", {}
            for name in self._detailed():
                details, stay = find_details(
                    name, self.views.views[name], self._of(name), scale, self.scales, letter
                )
                found[name] = _Split(details, stay)
                letter = chr(ord(letter) + len(details))
            self._splits[scale] = found
        return self._splits[scale]

    def _drawn(self, view: MemberView, scale: Scale, split: _Split) -> Panel:
        paper = lay_view(self.views.views[view], scale, hidden=True)
        circles = [DetailCircle(d.letter, d.centre, d.radius) for d in split.details]
        title = f"{view_title(view, self.member)}  {scale.ratio_text}"
        corner = self.figures.datum
        return member_panel(
            self.member, view, paper, split.stay, self.height, title, corner, circles, self.mates,
            self.lines if view == "face" else (),
        )  # fmt: skip
