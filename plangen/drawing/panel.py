"""A panel: one view of a member with all that is written on it, about the view's own origin.

Everything on it stands clear of everything else, so panels whose envelopes do not meet can be laid anywhere.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from plangen.dimensioning.figures import Figure, MemberView
from plangen.drawing.face_marks import MARK, datum, face_edge_mark, face_side_mark, grain_arrow
from plangen.drawing.figure_marks import PaperFigure, measures_of, place_in_place
from plangen.drawing.lettering import Box2, text_width
from plangen.drawing.mark_geometry import extent, extents, moved
from plangen.drawing.marks import Lettering, Mark, Stroke, ViewOnSheet
from plangen.drawing.occupied import Occupied
from plangen.drawing.tiers import lay_tiers
from plangen.drawing.view_on_paper import PaperView
from plangen.geometry.curves import Line, Vec2
from plangen.geometry.vectors import Vec, dot
from plangen.joinery.model import Member

TITLE = 5.0
_TITLE_GAP = 4.0
_TITLE_CLEAR = 2.5
_FOOT_ON_OUTLINE = (0.4, -0.4)
"""Clearance sideways and up or down of a sign whose foot stands on the outline."""
_INSIDE = (1.0, 1.0)


@dataclass(frozen=True)
class Panel:
    """A finished view about its origin; ``box`` is the envelope of all its ink."""

    paper: PaperView
    marks: tuple[Mark, ...]
    box: Box2
    crowded: tuple[str, ...]
    """Figures that found no clear place."""

    @property
    def width(self) -> float:
        return self.box[2] - self.box[0]

    @property
    def height(self) -> float:
        return self.box[3] - self.box[1]

    def placed(self, origin: Vec2) -> tuple[tuple[Mark, ...], ViewOnSheet]:
        _, where = self.paper.placed(origin)
        return tuple(moved(m, origin) for m in self.marks), where


def paper_direction(direction: Vec | None, paper: PaperView) -> Vec2 | None:
    """A direction of the work as the view shows it, unit; None for one along the line of sight."""
    if direction is None:
        return None
    p = paper.view.projection
    x, y = dot(p.right, direction), dot(p.up, direction)
    size = math.hypot(x, y)
    return (x / size + 0.0, y / size + 0.0) if size > 1e-6 else None


def paper_figure(figure: Figure, paper: PaperView) -> PaperFigure:
    """The figure's points and direction as the view shows them."""
    return PaperFigure(
        figure.id, figure.kind, figure.printed, figure.value, tuple(paper.at(q) for q in figure.points),
        paper_direction(figure.direction, paper), figure.tier, figure.side,
    )  # fmt: skip


def member_panel(
    member: Member, view: MemberView, paper: PaperView, figures: Sequence[Figure], height: float, title: str
) -> Panel:
    """The view of a member with its figures, its face marks, the centres of its holes and a title."""
    occupied = Occupied()
    occupied.add(paper.marks)
    marks: list[Mark] = list(paper.marks)
    crosses = _hole_centres(member, paper)
    occupied.add(crosses)
    marks += crosses
    here = [paper_figure(f, paper) for f in figures]
    outline = paper.box
    marks += lay_tiers(measures_of(here, outline), outline, height, occupied)
    rest = [f for f in here if not measures_of([f], outline)]
    placed, crowded = place_in_place(rest, outline, height, occupied)
    marks += placed
    marks += _signs(member, view, paper, occupied)
    return titled_panel(paper, marks, title, crowded)


def titled_panel(paper: PaperView, marks: Sequence[Mark], title: str, crowded: tuple[str, ...] = ()) -> Panel:
    """The panel of these marks, its title under them."""
    everything = (*marks, *_title(marks, paper.box, title))
    return Panel(paper, everything, extents(everything), crowded)


def _title(marks: Sequence[Mark], outline: Box2, title: str) -> tuple[Mark, ...]:
    """Where the marks leave room beside the outline, below rather than above; else under all of them."""
    x0, y0, x1, y1 = extents(marks)
    half = text_width(title, TITLE, fractions=False) / 2
    middle = (outline[0] + outline[2]) / 2
    occupied = Occupied()
    occupied.add(marks)
    columns = [middle, x0 + half, x1 - half, (x0 + middle) / 2, (x1 + middle) / 2]
    below = [outline[1] - _TITLE_GAP - TITLE - 2.0 * i for i in range(30)]
    above = [outline[3] + _TITLE_GAP + 2.0 * i for i in range(30)]
    for base in below + above:
        for x in columns:
            inside = x0 <= x - half and x + half <= x1 and y0 <= base and base + TITLE <= y1
            ring = _ring((x - half, base, x + half, base + TITLE), _TITLE_CLEAR)
            if inside and occupied.ring_is_free(ring):
                return (Lettering(title, (x, base), TITLE, "middle", fractions=False),)
    middle = min(max(middle, x0 + half), x1 - half) if x1 - x0 > 2 * half else middle
    return (Lettering(title, (middle, y0 - _TITLE_GAP - TITLE), TITLE, "middle", fractions=False),)


def _ring(box: Box2, by: float) -> tuple[Vec2, Vec2, Vec2, Vec2]:
    x0, y0, x1, y1 = box[0] - by, box[1] - by, box[2] + by, box[3] + by
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def _hole_centres(member: Member, paper: PaperView) -> list[Mark]:
    """Crossed centre lines on every hole that is seen along its axis."""
    marks: list[Mark] = []
    toward = paper.view.projection.toward
    for feature in member.features:
        hole = feature.hole
        if hole is None or abs(abs(dot(hole.axis, toward)) - 1) > 1e-6:
            continue
        x, y = paper.at(hole.entry)
        arm = hole.diameter / 2 * paper.factor + 1.5
        for dx, dy in ((arm, 0.0), (0.0, arm)):
            marks.append(Stroke((Line((x - dx, y - dy), (x + dx, y + dy)),), "narrow"))
    return marks


def _signs(member: Member, view: MemberView, paper: PaperView, occupied: Occupied) -> list[Mark]:
    """Face marks, the datum of positions, and the grain, each where it stands clear."""
    marks: list[Mark] = []
    _, y0, x1, y1 = paper.box
    size = min(MARK, 0.75 * (y1 - y0))
    if view == "face":
        marks += _first_clear(
            [face_side_mark((x, y0), (0.0, 1.0), size) for x in _middles(paper)], occupied, _FOOT_ON_OUTLINE
        )
        marks += [datum(paper.at((0.0, 0.0, member.finished[2])))]
        angle = 0.0 if member.grain == "length" else 90.0
        room = (x1 if angle == 0 else y1 - y0) - 8.0
        length = min(20.0, room)
        if length > 12:
            centres = [(x, y0 + (y1 - y0) * k) for k in (0.5, 0.65, 0.35) for x in _middles(paper, 0.3)]
            marks += _first_clear([grain_arrow(c, angle, length) for c in centres], occupied, _INSIDE)
    elif view == "edge":
        marks += _first_clear(
            [face_edge_mark((x, y1), (0.0, -1.0), size) for x in _middles(paper)], occupied, _FOOT_ON_OUTLINE
        )
    return marks


def _middles(paper: PaperView, start: float = 0.5) -> list[float]:
    """Places along the view, from ``start`` of its length outward."""
    x0, _, x1, _ = paper.box
    steps = sorted((round(0.08 + 0.02 * i, 2) for i in range(43)), key=lambda s: (abs(s - start), s))
    return [x0 + (x1 - x0) * s for s in steps]


def _first_clear(candidates: Sequence[Mark], occupied: Occupied, clearance: Vec2) -> list[Mark]:
    """The first candidate whose ink keeps clear of what is there."""
    for mark in candidates:
        if _is_clear(mark, occupied, clearance):
            occupied.add([mark], "line")
            return [mark]
    return []


def _is_clear(mark: Mark, occupied: Occupied, clearance: Vec2) -> bool:
    dx, dy = clearance
    x0, y0, x1, y1 = extent(mark)
    return occupied.ring_is_free(_ring((x0 - dx, y0 - dy, x1 + dx, y1 + dy), 0.0))

