"""Elevations and plan: the whole piece from the front, a side and above, aligned by the projection method."""

from __future__ import annotations

from collections.abc import Sequence

from plangen.dimensioning.figures import ElevationFigure
from plangen.drawing.balloons import Anchor, Rows, place_balloons
from plangen.drawing.block import Block
from plangen.drawing.draft import Draft, SheetStyle, free_field
from plangen.drawing.figure_marks import PaperFigure, flat_direction, lay_figures
from plangen.drawing.lettering import Box2
from plangen.drawing.mark_geometry import polyline
from plangen.drawing.marks import Group, Mark, Stroke, ViewOnSheet
from plangen.drawing.occupied import Occupied
from plangen.drawing.panel import Panel, titled_panel
from plangen.drawing.parts_located import located_draft
from plangen.drawing.placed_panel import PlacedPanel, share
from plangen.drawing.placing_rule import Method, side_view_offset
from plangen.drawing.scale_bar import scale_bar
from plangen.drawing.view_on_paper import PaperView, lay_view
from plangen.drawing.whole_piece import Elevation, WholeViews
from plangen.facts import PlanFacts
from plangen.geometry.sightings import Sighting
from plangen.tables.scales import SCALES, Scale

TITLES: dict[Elevation, str] = {"front": "FRONT", "right": "RIGHT SIDE", "left": "LEFT SIDE", "plan": "PLAN"}
BALLOON_ROWS: tuple[Rows, ...] = ("all round", "above and below", "beside")
"""Tried in this order until the views fit the sheet."""
LETTERS = 3.5
_BAR_GAP = 5.0
_WIDEST = 400.0
"""Millimetres on paper: wider than any sheet."""
_MARGIN = 5.0
_GROUND_BEYOND = 6.0
_LEAST_CLEARANCE = 1.2
"""Millimetres on paper about the dot of an item reference."""


def elevation_drafts(facts: PlanFacts, style: SheetStyle, whole: WholeViews) -> tuple[Draft, ...]:
    """One sheet of three views, landscape or portrait, at the largest standard scale at which all fits. Where
    their item references would cost more than one step of scale they have a sheet of their own.

    Raises ValueError for a piece that is too large for every scale.
    """
    bare: Draft | None = None
    for scale in SCALES[style.units]:
        if scale.ratio > 1 or whole.views["front"].width * float(scale.ratio) > _WIDEST:
            continue
        without = _drawn(facts, style, whole, scale, None)
        if without is None:
            continue
        for rows in BALLOON_ROWS:
            draft = _drawn(facts, style, whole, scale, rows)
            if draft is not None:
                return (draft,)
        if bare is not None:
            return (bare, located_draft(whole, style))
        bare = without
    if bare is not None:
        return (bare, located_draft(whole, style))
    raise ValueError("the piece does not fit on the sheet at any standard scale")


def _drawn(
    facts: PlanFacts, style: SheetStyle, whole: WholeViews, scale: Scale, rows: Rows | None
) -> Draft | None:
    """The sheet at a scale; None where it does not fit."""
    panels = _panels(facts, whole, scale, rows)
    if panels is None:
        return None
    for orientation in ("landscape", "portrait"):
        paper = f"{style.large} {orientation}"
        placed = _place(panels, whole.side, style.method, _inner(paper), scale_bar(float(scale.ratio)))
        if placed is not None:
            return _draft(facts, paper, *placed, scale)
    return None


def _inner(paper: str) -> Box2:
    x0, y0, x1, y1 = free_field(paper)
    return (x0 + _MARGIN, y0 + _MARGIN, x1 - _MARGIN, y1 - _MARGIN)


def _draft(facts: PlanFacts, paper: str, placed: Sequence[PlacedPanel], bar: Group, scale: Scale) -> Draft:
    marks: list[Mark] = []
    stands: list[ViewOnSheet] = []
    for item in placed:
        drawn, where = item.panel.placed(item.origin)
        marks += drawn
        stands.append(where)
    return Draft(
        key="elevations",
        title="Elevations and plan",
        purpose="What stands where",
        document_type="Elevations and plan",
        kind="elevations",
        paper=paper,
        marks=(*marks, bar),
        views=tuple(stands),
        scale=scale.text,
        alt=_alt(facts.elevation_figures, facts.design.title),
    )


def _alt(figures: Sequence[ElevationFigure], title: str) -> str:
    sizes = ", ".join(f"{f.what} {f.printed}" for f in figures)
    return f"{title}: front, side and plan. {sizes}".strip()


def _panels(
    facts: PlanFacts, whole: WholeViews, scale: Scale, rows: Rows | None
) -> dict[Elevation, Panel] | None:
    """The three views at a scale; None where one has no room for its item references."""
    hidden = facts.design.drawing.hidden_lines
    papers = {n: lay_view(v, scale, hidden) for n, v in whole.views.items()}
    anchors = _anchors(whole, papers)
    panels: dict[Elevation, Panel] = {}
    for name, paper in papers.items():
        figures = [f for f in facts.elevation_figures if f.view == name]
        panel = _panel(name, paper, figures, anchors[name], rows)
        if panel is None:
            return None
        panels[name] = panel
    return panels


def _anchors(whole: WholeViews, papers: dict[Elevation, PaperView]) -> dict[Elevation, list[Anchor]]:
    """Each member once: in the first view, front before side before plan, that shows it well enough; else in
    the one that shows it best."""
    anchors: dict[Elevation, list[Anchor]] = {n: [] for n in papers}
    for mark in dict.fromkeys(m.mark for m in whole.members):
        best: tuple[float, Elevation, Sighting] | None = None
        for name, paper in papers.items():
            for member, sighting in zip(whole.members, whole.sightings[name], strict=True):
                clear = min(round(sighting.clearance * paper.factor, 6), _LEAST_CLEARANCE)
                if member.mark == mark and (best is None or clear > best[0]):
                    best = (clear, name, sighting)
        if best is not None:
            k = papers[best[1]].factor
            x, y = best[2].at
            anchors[best[1]].append(Anchor(mark, (x * k, y * k)))
    return anchors


def _panel(
    name: Elevation,
    paper: PaperView,
    figures: Sequence[ElevationFigure],
    anchors: Sequence[Anchor],
    rows: Rows | None,
) -> Panel | None:
    """The view with its figures and, in ``rows``, its item references; None where these have no room."""
    occupied = Occupied()
    occupied.add(paper.marks)
    marks: list[Mark] = list(paper.marks)
    if name != "plan":
        x0, _, x1, _ = paper.box
        ground = Stroke(polyline((x0 - _GROUND_BEYOND, 0.0), (x1 + _GROUND_BEYOND, 0.0)), "cut outline")
        occupied.add([ground], "outline")
        marks.append(ground)
    here = [_paper_figure(f, paper) for f in figures]
    outline = paper.box
    placed, crowded = lay_figures(here, outline, LETTERS, occupied)
    marks += placed
    if rows is not None:
        balloons = place_balloons(anchors, outline, occupied, rows)
        if balloons is None:
            return None
        marks += balloons
    return titled_panel(paper, marks, f"{TITLES[name]}  {paper.scale.ratio_text}", occupied, crowded)


def _paper_figure(figure: ElevationFigure, paper: PaperView) -> PaperFigure:
    return PaperFigure(
        figure.id, figure.kind, figure.printed, figure.value, tuple(paper.at(p) for p in figure.points),
        flat_direction(figure.direction, paper.view.projection), figure.tier, figure.side,
    )  # fmt: skip


def _place(
    panels: dict[Elevation, Panel], side: Elevation, method: Method, room: Box2, bar: Block
) -> tuple[list[PlacedPanel], Group] | None:
    """Front and side share their height, front and plan their width. The scale bar stands in the corner that no
    view takes, else at the foot; None where all that does not fit."""
    placed = _place_views(panels, side, method, room)
    if placed is None:
        return None
    plan, flank = placed[2].box, placed[1].box
    left_free, below_free = flank[0] < plan[0], plan[1] > flank[1]
    top = room[3] if below_free else room[1] + bar.height
    left = room[0] if left_free else room[2] - bar.width
    corner = (left, top - bar.height, left + bar.width, top)
    if not any(_near(corner, p.box) for p in placed):
        return placed, bar.placed(left, top)
    x0, y0, x1, y1 = room
    placed = _place_views(panels, side, method, (x0, y0 + bar.height + _BAR_GAP, x1, y1))
    return None if placed is None else (placed, bar.placed(x0, y0 + bar.height))


def _near(a: Box2, b: Box2) -> bool:
    return not (
        a[2] + _BAR_GAP < b[0] or b[2] + _BAR_GAP < a[0] or a[3] + _BAR_GAP < b[1] or b[3] + _BAR_GAP < a[1]
    )


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
