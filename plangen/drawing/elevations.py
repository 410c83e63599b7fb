"""Elevations and plan: the whole piece from the front, a side and above, aligned by the projection method."""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from plangen.dimensioning.figures import ElevationFigure
from plangen.dimensioning.joint_details import JointDetail
from plangen.drawing.balloons import Anchor, Rows, place_balloons
from plangen.drawing.block import Block
from plangen.drawing.draft import Draft, SheetStyle, free_field
from plangen.drawing.figure_marks import PaperFigure, flat_direction, lay_figures
from plangen.drawing.lettering import Box2
from plangen.drawing.mark_geometry import box_corners, polyline
from plangen.drawing.marks import Group, Mark, Stroke
from plangen.drawing.occupied import Occupied
from plangen.drawing.panel import Panel, panel_titled_beside, titled_panel
from plangen.drawing.parts_located import inside, located_draft
from plangen.drawing.placed_panel import PlacedPanel, drawn_in_place, share
from plangen.drawing.placing_rule import Method, side_view_offset
from plangen.drawing.scale_bar import scale_bar
from plangen.drawing.section_marks import RINGED, WAYS, Way, section_marks
from plangen.drawing.view_on_paper import PaperView, lay_view
from plangen.drawing.whole_piece import Elevation, WholeViews
from plangen.facts import PlanFacts
from plangen.geometry.curves import Vec2
from plangen.geometry.sightings import Sighting
from plangen.tables.scales import SCALES, Scale

TITLES: dict[Elevation, str] = {"front": "FRONT", "right": "RIGHT SIDE", "left": "LEFT SIDE", "plan": "PLAN"}
BALLOON_ROWS: tuple[Rows, ...] = ("all round", "above and below", "beside")
"""Tried in this order until the views fit the sheet."""
LETTERS = 3.5
_BAR_GAP, _STEP = 5.0, 4.0
"""Clear about the scale bar, and by what its place is shifted, mm."""
_WIDEST = 400.0
"""Millimetres on paper: wider than any sheet."""
_MARGIN = 2.0
_GROUND_BEYOND = 6.0
_LEAST_CLEARANCE = 1.2
"""Millimetres on paper about the dot of an item reference."""


def elevation_drafts(
    facts: PlanFacts, style: SheetStyle, whole: WholeViews, details: Sequence[JointDetail] = ()
) -> tuple[Draft, ...]:
    """One sheet of three views, landscape or portrait, at the largest standard scale at which all fits. Where
    their item references would cost more than one step of scale they have a sheet of their own. ``details``: the
    sections whose places are marked, by lines where these have room, else by rings.

    Raises ValueError for a piece that is too large for every scale.
    """
    bare: Draft | None = None
    for scale in SCALES[style.units]:
        if scale.ratio > 1 or whole.views["front"].width * float(scale.ratio) > _WIDEST:
            continue
        full, without = _at_scale(facts, style, whole, details, scale)
        if full is not None:
            return (full,)
        if without is None:
            continue
        if bare is not None:
            return (bare, located_draft(whole, style))
        bare = without
    if bare is not None:
        return (bare, located_draft(whole, style))
    raise ValueError("the piece does not fit on the sheet at any standard scale")


def _at_scale(
    facts: PlanFacts, style: SheetStyle, whole: WholeViews, details: Sequence[JointDetail], scale: Scale
) -> tuple[Draft | None, Draft | None]:
    """The sheet with item references and without; None where it does not fit."""
    papers = {n: lay_view(v, scale, facts.design.drawing.hidden_lines) for n, v in whole.views.items()}
    if not any(_outlines_fit(papers, whole.side, _inner(paper)) for paper in _papers(style)):
        return None, None
    anchors = _anchors(whole, papers)
    figured = {n: _figured(n, p, facts.elevation_figures) for n, p in papers.items()}

    @functools.cache
    def marked(ways: tuple[Way, ...]) -> dict[Elevation, _Open]:
        views = {name: view.copy() for name, view in figured.items()}
        _mark_sections(details, ways, views, style.method)
        return views

    def drawn(rows: Rows | None, ways: tuple[Way, ...]) -> Draft | None:
        drawings = _referenced(marked(ways), anchors, rows)
        return None if drawings is None else _drawn(facts, style, whole, drawings, scale)

    without = next((d for ways in (WAYS, RINGED) if (d := drawn(None, ways))), None)
    if without is None:
        return None, None
    tried = (drawn(rows, ways) for rows, ways in itertools.product(BALLOON_ROWS, (WAYS, RINGED)))
    return next((d for d in tried if d is not None), None), without


def _drawn(
    facts: PlanFacts, style: SheetStyle, whole: WholeViews, drawings: dict[Elevation, _Drawing], scale: Scale
) -> Draft | None:
    """The sheet at a scale, titles under the views rather than beside them; None where it does not fit."""
    bar = scale_bar(float(scale.ratio))
    for beside in (frozenset(), frozenset({"plan"}), frozenset({"plan", "front", whole.side})):
        panels = {n: d.titled(n in beside) for n, d in drawings.items()}
        for paper in _papers(style):
            placed = _place(panels, whole.side, style.method, _inner(paper), bar)
            if placed is not None:
                return _draft(facts, whole, paper, *placed, scale)
    return None


def _papers(style: SheetStyle) -> tuple[str, str]:
    return f"{style.large} landscape", f"{style.large} portrait"


def _outlines_fit(papers: dict[Elevation, PaperView], side: Elevation, room: Box2) -> bool:
    """Whether the views have room with nothing written on them: where they have not, nothing is tried."""
    front, flank, plan = (papers[name].box for name in ("front", side, "plan"))
    across = [max(front[2], plan[2]) - min(front[0], plan[0]), flank[2] - flank[0]]
    down = [max(front[3], flank[3]) - min(front[1], flank[1]), plan[3] - plan[1]]
    return share(across, room[2] - room[0]) is not None and share(down, room[3] - room[1]) is not None


def _inner(paper: str) -> Box2:
    x0, y0, x1, y1 = free_field(paper)
    return (x0 + _MARGIN, y0 + _MARGIN, x1 - _MARGIN, y1 - _MARGIN)


def _draft(
    facts: PlanFacts,
    whole: WholeViews,
    paper: str,
    placed: Sequence[PlacedPanel],
    bar: Group,
    scale: Scale,
) -> Draft:
    marks, views = drawn_in_place(placed)
    return Draft(
        key="elevations",
        title="Elevations and plan",
        purpose="What stands where" + inside(whole.members, *whole.sightings.values()),
        document_type="Elevations and plan",
        kind="elevations",
        paper=paper,
        marks=(*marks, bar),
        views=views,
        scale=scale.text,
        alt=_alt(facts.elevation_figures, facts.design.title),
    )


def _alt(figures: Sequence[ElevationFigure], title: str) -> str:
    sizes = ", ".join(f"{f.what} {f.printed}" for f in figures)
    return f"{title}: front, side and plan. {sizes}".strip()


@dataclass(frozen=True)
class _Drawing:
    """A view with all that is written on it but its title."""

    name: Elevation
    paper: PaperView
    marks: tuple[Mark, ...]
    occupied: Occupied
    crowded: int

    def titled(self, beside: bool) -> Panel:
        title = f"{TITLES[self.name]}  {self.paper.scale.ratio_text}"
        if beside:
            return panel_titled_beside(self.paper, self.marks, title, self.crowded)
        return titled_panel(self.paper, self.marks, title, self.occupied, self.crowded)


def _referenced(
    views: dict[Elevation, _Open], anchors: dict[Elevation, list[Anchor]], rows: Rows | None
) -> dict[Elevation, _Drawing] | None:
    """The views with their item references in ``rows``; None where one has no room for its own."""
    drawn: dict[Elevation, _Drawing] = {}
    for name, view in views.items():
        drawing = _drawing(view, anchors[name], rows)
        if drawing is None:
            return None
        drawn[name] = drawing
    return drawn


def _anchors(whole: WholeViews, papers: dict[Elevation, PaperView]) -> dict[Elevation, list[Anchor]]:
    """Each member once: in the first view, front before side before plan, that shows it well enough; else in
    the one that shows it best."""
    anchors: dict[Elevation, list[Anchor]] = {n: [] for n in papers}
    for mark in dict.fromkeys(m.mark for m in whole.members):
        best: tuple[float, Elevation, Sighting] | None = None
        for name, paper in papers.items():
            for member, sighting in zip(whole.members, whole.sightings[name], strict=True):
                clear = min(round(sighting.clearance * paper.factor, 6), _LEAST_CLEARANCE)
                if clear > 0 and member.mark == mark and (best is None or clear > best[0]):
                    best = (clear, name, sighting)
        if best is not None:
            k = papers[best[1]].factor
            x, y = best[2].at
            anchors[best[1]].append(Anchor(mark, (x * k, y * k), best[2].clearance * k))
    return anchors


@dataclass
class _Open:
    """A view with its figures, on which more is to be placed."""

    name: Elevation
    paper: PaperView
    marks: list[Mark]
    occupied: Occupied
    crowded: int

    def add(self, marks: Sequence[Mark]) -> None:
        self.occupied.add(marks)
        self.marks += marks

    def copy(self) -> _Open:
        return replace(self, marks=[*self.marks], occupied=self.occupied.copy())


def _figured(name: Elevation, paper: PaperView, figures: Sequence[ElevationFigure]) -> _Open:
    occupied = Occupied()
    occupied.add(paper.marks)
    marks: list[Mark] = list(paper.marks)
    if name != "plan":
        x0, _, x1, _ = paper.box
        ground = Stroke(polyline((x0 - _GROUND_BEYOND, 0.0), (x1 + _GROUND_BEYOND, 0.0)), "cut outline")
        occupied.add([ground], "outline")
        marks.append(ground)
    here = [_paper_figure(f, paper) for f in figures if f.view == name]
    placed, crowded = lay_figures(here, paper.box, LETTERS, occupied)
    return _Open(name, paper, [*marks, *placed], occupied, crowded)


def _mark_sections(
    details: Sequence[JointDetail], ways: Sequence[Way], views: dict[Elevation, _Open], method: Method
) -> None:
    """Each section in the first view that shows its plane as a line and has room, else ringed in the first that has."""
    for detail in details:
        for way, view in itertools.product(ways, views.values()):
            marks = section_marks(detail, view.paper, method, view.occupied, way)
            if marks is not None:
                view.add(marks)
                break


def _drawing(view: _Open, anchors: Sequence[Anchor], rows: Rows | None) -> _Drawing | None:
    """The view with its item references in ``rows``; None where these have no room."""
    if rows is None:
        return _Drawing(view.name, view.paper, tuple(view.marks), view.occupied, view.crowded)
    occupied = view.occupied.copy()
    balloons = place_balloons(anchors, view.paper.box, occupied, rows)
    if balloons is None:
        return None
    return _Drawing(view.name, view.paper, (*view.marks, *balloons), occupied, view.crowded)


def _paper_figure(figure: ElevationFigure, paper: PaperView) -> PaperFigure:
    return PaperFigure(
        figure.id, figure.kind, figure.printed, figure.value, tuple(paper.at(p) for p in figure.points),
        flat_direction(figure.direction, paper.view.projection), figure.tier, figure.side,
    )  # fmt: skip


def _place(
    panels: dict[Elevation, Panel], side: Elevation, method: Method, room: Box2, bar: Block
) -> tuple[list[PlacedPanel], Group] | None:
    """Front and side share their height, front and plan their width. The scale bar stands where the views leave
    room, in the corner that no view takes rather than elsewhere, else at the foot; None where all that does
    not fit."""
    placed = _place_views(panels, side, method, room)
    if placed is None:
        return None
    if spot := _bar_spot(placed, room, bar):
        return placed, bar.placed(*spot)
    x0, y0, x1, y1 = room
    placed = _place_views(panels, side, method, (x0, y0 + bar.height + _BAR_GAP, x1, y1))
    return None if placed is None else (placed, bar.placed(x0, y0 + bar.height))


def _bar_spot(placed: Sequence[PlacedPanel], room: Box2, bar: Block) -> Vec2 | None:
    """Upper left corner of the bar: clear of all ink, as near as can be to the empty corner."""
    occupied = Occupied()
    for item in placed:
        occupied.add(item.panel.placed(item.origin)[0])
    plan, flank = placed[2].box, placed[1].box
    corner = (room[0] if flank[0] < plan[0] else room[2], room[1] if plan[1] < flank[1] else room[3])
    columns, rows = (
        int((room[2] - room[0] - bar.width) // _STEP),
        int((room[3] - room[1] - bar.height) // _STEP),
    )
    spots = [
        (left, top)
        for i in range(columns + 1)
        for j in range(rows + 1)
        for left in (room[0] + _STEP * i, room[2] - bar.width - _STEP * i)
        for top in (room[1] + bar.height + _STEP * j, room[3] - _STEP * j)
    ]

    def off(spot: Vec2) -> tuple[float, Vec2]:
        middle = (spot[0] + bar.width / 2, spot[1] - bar.height / 2)
        return round(math.dist(middle, corner), 6), spot

    for left, top in sorted(spots, key=off):
        box = (left - _BAR_GAP, top - bar.height - _BAR_GAP, left + bar.width + _BAR_GAP, top + _BAR_GAP)
        if occupied.ring_is_free(box_corners(box)):
            return left, top
    return None


def _place_views(
    panels: dict[Elevation, Panel], side: Elevation, method: Method, room: Box2
) -> list[PlacedPanel] | None:
    front, flank, plan = panels["front"], panels[side], panels["plan"]
    step_x, _ = side_view_offset(method, "right" if side == "right" else "left")
    _, step_y = side_view_offset(method, "above")
    low_x, high_x = min(front.box[0], plan.box[0]), max(front.box[2], plan.box[2])
    low_y, high_y = min(front.box[1], flank.box[1]), max(front.box[3], flank.box[3])
    across = share([high_x - low_x, flank.width], room[2] - room[0])
    down = share([high_y - low_y, plan.height], room[3] - room[1])
    if across is None or down is None:
        return None
    (left, gap_x), (foot, gap_y) = across, down
    front_x = room[0] + left - low_x + (0.0 if step_x > 0 else flank.width + gap_x)
    front_y = room[1] + foot - low_y + (plan.height + gap_y if step_y < 0 else 0.0)
    flank_x = front_x + (high_x + gap_x - flank.box[0] if step_x > 0 else low_x - gap_x - flank.box[2])
    plan_y = front_y + (high_y + gap_y - plan.box[1] if step_y > 0 else low_y - gap_y - plan.box[3])
    return [
        PlacedPanel(front, (front_x, front_y)),
        PlacedPanel(flank, (flank_x, front_y)),
        PlacedPanel(plan, (front_x, plan_y)),
    ]
