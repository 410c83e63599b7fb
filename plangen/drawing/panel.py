"""A panel: one view of a member with all that is written on it, about the view's own origin.

Everything on it stands clear of everything else, so panels whose envelopes do not meet can be laid anywhere.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from plangen.dimensioning.figures import Figure, MemberView
from plangen.dimensioning.mates import Mate
from plangen.drawing.centre_marks import arc_centres, hole_centres
from plangen.drawing.face_marks import MARK, datum, face_edge_mark, face_side_mark, grain_arrow
from plangen.drawing.figure_marks import PaperFigure, flat_direction, lay_figures
from plangen.drawing.lettering import LINE_PITCH, Box2, text_width
from plangen.drawing.mark_geometry import box_corners, extent, extents, moved
from plangen.drawing.marks import Lettering, Mark, Stroke, ViewOnSheet
from plangen.drawing.mate_labels import mate_labels
from plangen.drawing.occupied import ALL_ROLES, Occupied, Role
from plangen.drawing.overlaps import ink_points
from plangen.drawing.view_on_paper import PaperView
from plangen.geometry.curves import Arc, Line, Vec2
from plangen.geometry.vectors import Point
from plangen.joinery.model import Member

TITLE = 5.0
_TITLE_GAP = 4.0
_TITLE_CLEAR = 2.5
_WIDER = 1.25
"""How much wider than all the rest of its panel a title in one line may be."""
_LEAST_RING = 3.0
"""Least radius of the circle round a place that is drawn enlarged, mm."""
_FOOT_ON_OUTLINE, _FOOT_ON_BEVEL = (0.4, -0.4), (0.4, -1.3)
"""Clearance sideways and up or down of a sign whose foot stands on the outline, or on one that is doubled."""
_INSIDE = (1.0, 1.0)


@dataclass(frozen=True)
class Panel:
    """A finished view about its origin; ``box`` is the envelope of all its ink."""

    paper: PaperView
    marks: tuple[Mark, ...]
    box: Box2
    crowded: int
    """How many figures found no clear place."""
    of: str = ""
    """Of a detail: the view that it enlarges a part of."""

    @property
    def width(self) -> float:
        return self.box[2] - self.box[0]

    @property
    def height(self) -> float:
        return self.box[3] - self.box[1]

    def placed(self, origin: Vec2) -> tuple[tuple[Mark, ...], ViewOnSheet]:
        _, where = self.paper.placed(origin)
        return tuple(moved(m, origin) for m in self.marks), where


def paper_figure(figure: Figure, paper: PaperView) -> PaperFigure:
    """The figure's points and direction as the view shows them."""
    return PaperFigure(
        figure.id, figure.kind, figure.printed, figure.value, tuple(paper.at(q) for q in figure.points),
        flat_direction(figure.direction, paper.view.projection), figure.tier, figure.side,
    )  # fmt: skip


@dataclass(frozen=True)
class DetailCircle:
    """Where a detail is taken from: its letter, centre and radius in mm of the work."""

    letter: str
    centre: Vec2
    radius: float


def member_panel(
    member: Member,
    view: MemberView,
    paper: PaperView,
    figures: Sequence[Figure],
    height: float,
    title: str,
    corner: Point | None,
    circles: Sequence[DetailCircle] = (),
    mates: Sequence[Mate] = (),
    lines: Sequence[tuple[Point, Point]] = (),
) -> Panel:
    """The view of a member with its figures, its face marks, the centres of its holes and a title; ``mates``
    beside their joints where that takes no more room, narrow ``lines`` across it. ``corner`` is where its positions
    are measured from."""
    occupied = Occupied()
    occupied.add(paper.marks)
    marks: list[Mark] = list(paper.marks)
    rings = [_ring_mark(c, paper) for c in circles]
    occupied.add(rings)
    marks += rings
    here = [paper_figure(f, paper) for f in figures if not f.said_by]
    crosses = hole_centres(member, paper)
    crosses += [Stroke((Line(paper.at(p), paper.at(q)),), "narrow") for p, q in lines]
    occupied.add(crosses)
    marks += crosses
    centres = arc_centres(paper, here, occupied)
    occupied.add(centres)
    marks += centres
    outline = paper.box
    placed, crowded = lay_figures(here, outline, height, occupied)
    marks += placed
    for circle in circles:
        marks += _circle_letter(circle, paper, occupied)
    marks += _signs(member, view, paper, corner, occupied)
    places = [(m.text, paper.at(m.at)) for m in mates if m.view == view]
    marks += mate_labels(places, extents(marks), height, occupied)
    return titled_panel(paper, marks, title, occupied, crowded)


def titled_panel(
    paper: PaperView, marks: Sequence[Mark], title: str, occupied: Occupied, crowded: int = 0
) -> Panel:
    """The panel of these marks, all of them in ``occupied``, its title under them or within their envelope."""
    everything = (*marks, *_title(marks, paper.box, title, occupied))
    return Panel(paper, everything, extents(everything), crowded)


def panel_titled_beside(paper: PaperView, marks: Sequence[Mark], title: str, crowded: int = 0) -> Panel:
    """The panel with its title in two lines left of all marks: lower by a title, and wider."""
    lines = _two_lines(title)
    x0 = extents(marks)[0] - _TITLE_GAP - max(text_width(t, TITLE, fractions=False) for t in lines)
    level = max(paper.box[1], (paper.box[1] + paper.box[3] - TITLE * (1 + LINE_PITCH)) / 2)
    texts = _title_lines(lines, x0, level + LINE_PITCH * TITLE, "left")
    everything = (*marks, *texts)
    return Panel(paper, everything, extents(everything), crowded)


def detail_panel(
    member: Member, paper: PaperView, figures: Sequence[Figure], height: float, title: str
) -> Panel:
    """What a detail's circle shows, with its figures outside the circle."""
    x0, y0, x1, y1 = paper.box
    centre, radius = ((x0 + x1) / 2, (y0 + y1) / 2), (x1 - x0) / 2
    circle = Stroke((Arc(centre, radius, 0.0, 2 * math.pi),), "narrow", True)
    crosses = [
        m for m in hole_centres(member, paper) if all(math.dist(p, centre) < radius for p in ink_points(m))
    ]
    occupied = Occupied()
    marks: list[Mark] = [*paper.marks, circle, *crosses]
    occupied.add(marks)
    here = [paper_figure(f, paper) for f in figures if not f.said_by]
    placed, crowded = lay_figures(here, paper.box, height, occupied)
    return titled_panel(paper, [*marks, *placed], title, occupied, crowded)


def plain_panel(paper: PaperView, figures: Sequence[Figure], height: float, title: str) -> Panel:
    """A view with its figures and a title, and nothing else."""
    occupied = Occupied()
    occupied.add(paper.marks)
    placed, crowded = lay_figures([paper_figure(f, paper) for f in figures], paper.box, height, occupied)
    return titled_panel(paper, [*paper.marks, *placed], title, occupied, crowded)


def _ring_mark(circle: DetailCircle, paper: PaperView) -> Stroke:
    k = paper.factor
    centre = (circle.centre[0] * k, circle.centre[1] * k)
    return Stroke((Arc(centre, max(circle.radius * k, _LEAST_RING), 0.0, 2 * math.pi),), "narrow", True)


def _circle_letter(circle: DetailCircle, paper: PaperView, occupied: Occupied) -> list[Mark]:
    """The letter of a detail beside its circle, at the first clear place round it."""
    k = paper.factor
    x, y = circle.centre[0] * k, circle.centre[1] * k
    radius = max(circle.radius * k, _LEAST_RING)
    candidates: list[Lettering] = []
    for off in (1.0, 2.5, 4.5, 7.0, 10.0, 14.0, 18.0, 23.0):
        for degrees in (45, 135, -45, -135, 90, -90, 0, 180, 20, 160, -20, -160, 70, 110, -70, -110):
            c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
            out = radius + off + 2.5
            candidates.append(
                Lettering(circle.letter, (x + c * out, y + s * out - TITLE / 2), TITLE, "middle")
            )
    letter = next((t for t in candidates if occupied.text_is_free(t, 0.7)), candidates[0])
    occupied.add([letter])
    return [letter]


def _title(marks: Sequence[Mark], outline: Box2, title: str, occupied: Occupied) -> tuple[Mark, ...]:
    """Where the marks leave room beside the outline, in one line or two, below rather than above; else under all
    of them, in two lines where one would be much wider than they are."""
    x0, y0, x1, _ = extents(marks)
    lines = _two_lines(title)
    if found := _title_within(marks, outline, (title,), occupied):
        return found
    if found := _title_within(marks, outline, lines, occupied):
        return found
    width = text_width(title, TITLE, fractions=False)
    chosen = (title,) if width <= _WIDER * (x1 - x0) else lines
    half = max(text_width(t, TITLE, fractions=False) for t in chosen) / 2
    middle = (outline[0] + outline[2]) / 2
    middle = min(max(middle, x0 + half), x1 - half) if x1 - x0 > 2 * half else middle
    return _title_lines(chosen, middle, y0 - _TITLE_GAP - TITLE, "middle")


def _title_within(
    marks: Sequence[Mark], outline: Box2, lines: Sequence[str], occupied: Occupied
) -> tuple[Mark, ...]:
    x0, y0, x1, y1 = extents(marks)
    half = max(text_width(t, TITLE, fractions=False) for t in lines) / 2
    more = LINE_PITCH * TITLE * (len(lines) - 1)
    middle = (outline[0] + outline[2]) / 2
    columns = [middle, x0 + half, x1 - half, (x0 + middle) / 2, (x1 + middle) / 2]
    below = [outline[1] - _TITLE_GAP - TITLE - 2.0 * i for i in range(30)]
    above = [outline[3] + _TITLE_GAP + more + 2.0 * i for i in range(30)]
    for base in below + above:
        for x in columns:
            box = (x - half, base - more, x + half, base + TITLE)
            inside = x0 <= box[0] and box[2] <= x1 and y0 <= box[1] and box[3] <= y1
            if inside and occupied.ring_is_free(_ring(box, _TITLE_CLEAR)):
                return _title_lines(lines, x, base, "middle")
    return ()


def _two_lines(title: str) -> tuple[str, ...]:
    """The name over the scale."""
    return tuple(title.rsplit("  ", 1))


def _title_lines(
    lines: Sequence[str], x: float, base: float, align: Literal["left", "middle"]
) -> tuple[Mark, ...]:
    pitch = LINE_PITCH * TITLE
    places = [(x, base - pitch * i) for i in range(len(lines))]
    return tuple(Lettering(t, at, TITLE, align, fractions=False) for t, at in zip(lines, places, strict=True))


def _ring(box: Box2, by: float) -> tuple[Vec2, Vec2, Vec2, Vec2]:
    return box_corners((box[0] - by, box[1] - by, box[2] + by, box[3] + by))


def _signs(
    member: Member, view: MemberView, paper: PaperView, corner: Point | None, occupied: Occupied
) -> list[Mark]:
    """Face marks, the datum of positions, and the grain, each where it stands clear."""
    marks: list[Mark] = []
    _, y0, x1, y1 = paper.box
    size = min(MARK, 0.75 * (y1 - y0))
    if view == "face":
        if not member.is_round:
            marks += _best_sign(
                [face_side_mark((x, y0), (0.0, 1.0), size) for x in _middles(paper)], occupied
            )
        start = [] if corner is None else [datum(paper.at(corner))]
        marks += start
        angle = 0.0 if member.grain == "length" else 90.0
        room = (x1 if angle == 0 else y1 - y0) - 8.0
        length = min(20.0, room)
        if length > 12 and member.bent is None:
            centres = [(x, y0 + (y1 - y0) * k) for k in (0.5, 0.65, 0.35) for x in _middles(paper, 0.3)]
            marks += _first_clear([grain_arrow(c, angle, length) for c in centres], occupied, _INSIDE)
        # The grain may cross the datum's corner, what follows may not.
        occupied.add(start)
    elif view == "edge" and not member.is_round:
        marks += _best_sign([face_edge_mark((x, y1), (0.0, -1.0), size) for x in _middles(paper)], occupied)
    return marks


def _middles(paper: PaperView, start: float = 0.5) -> list[float]:
    """Places along the view, from ``start`` of its length outward."""
    x0, _, x1, _ = paper.box
    steps = sorted((round(0.08 + 0.02 * i, 2) for i in range(43)), key=lambda s: (abs(s - start), s))
    return [x0 + (x1 - x0) * s for s in steps]


def _best_sign(candidates: Sequence[Mark], occupied: Occupied) -> list[Mark]:
    """A face mark always stands: clear of everything, else over hidden edges, else over narrow lines."""
    central = candidates[: len(candidates) * 2 // 3]
    for roles in (ALL_ROLES, ALL_ROLES - {"hidden"}, ALL_ROLES - {"hidden", "line", "extension", "fill"}):
        for signs, clearance in ((central, _FOOT_ON_OUTLINE), (candidates, _FOOT_ON_BEVEL)):
            if found := _first_clear(signs, occupied, clearance, roles):
                return found
    return [candidates[0]]


def _first_clear(
    candidates: Sequence[Mark], occupied: Occupied, clearance: Vec2, roles: frozenset[Role] = ALL_ROLES
) -> list[Mark]:
    """The first candidate whose ink keeps clear of what is there."""
    dx, dy = clearance
    for mark in candidates:
        x0, y0, x1, y1 = extent(mark)
        if occupied.ring_is_free(_ring((x0 - dx, y0 - dy, x1 + dx, y1 + dy), 0.0), roles):
            occupied.add([mark], "line")
            return [mark]
    return []
