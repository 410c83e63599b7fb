"""Sheets of assemblies: what is cut once members are together, on the work as it then stands.

Square to the face it shows most of, and along it from above (on paper) and from the right, aligned by the
projection method; what is cut in words at the foot, and a reference to each member.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from plangen.dimensioning.assemblies import assembled_members
from plangen.dimensioning.figures import AssemblyFigure, AssemblyFigures, AssemblyView
from plangen.drawing.balloons import place_balloons
from plangen.drawing.block import Block, balanced, spaced, stacked
from plangen.drawing.draft import Draft, SheetStyle, free_field, larger_papers
from plangen.drawing.figure_marks import PaperFigure, flat_direction, lay_figures
from plangen.drawing.lettering import Box2
from plangen.drawing.mark_geometry import polyline
from plangen.drawing.marks import Mark, Stroke
from plangen.drawing.occupied import Occupied
from plangen.drawing.panel import Panel, titled_panel
from plangen.drawing.placed_panel import PlacedPanel, drawn_in_place, share
from plangen.drawing.placing_rule import Method, side_view_offset
from plangen.drawing.referenced_picture import best_by_mark
from plangen.drawing.text_block import heading, paragraph
from plangen.drawing.view_on_paper import PaperView, ProjectedView, lay_view, project_scene
from plangen.drawing.wording import capital, plain_words
from plangen.facts import PlanFacts
from plangen.geometry.frames import Frame
from plangen.geometry.hidden import prepare
from plangen.geometry.sightings import Sighting, best_sightings
from plangen.geometry.solid import Solid
from plangen.geometry.vectors import Vec, dot, neg
from plangen.geometry.views import Projection
from plangen.joinery.model import Assembly, Member
from plangen.tables.scales import SCALES, Scale

LETTERS = 3.5
_MARGIN, _PAD, _COLUMN_GAP = 2.0, 4.0, 8.0
_SIDE = 72.0
"""Of the column of words at the right side, mm."""
_MOST_WORDS = 0.45
"""Of the height of a sheet, that the words may take."""
_VIEWS: tuple[AssemblyView, ...] = ("face on", "upper edge", "right edge")
_WORDS: tuple[tuple[Vec, str], ...] = (
    ((0.0, 0.0, 1.0), "FROM ABOVE"), ((0.0, 0.0, -1.0), "FROM BELOW"), ((0.0, -1.0, 0.0), "FROM THE FRONT"),
    ((0.0, 1.0, 0.0), "FROM THE REAR"), ((1.0, 0.0, 0.0), "FROM THE RIGHT"), ((-1.0, 0.0, 0.0), "FROM THE LEFT"),
)  # fmt: skip
_OTHERWISE: dict[AssemblyView, str] = {
    "face on": "SQUARE TO THE FACE",
    "upper edge": "ALONG THE FACE, FROM ABOVE",
    "right edge": "ALONG THE FACE, FROM THE RIGHT",
}


@dataclass(frozen=True)
class _Assembled:
    """An assembly projected once."""

    figures: AssemblyFigures
    assembly: Assembly
    views: dict[AssemblyView, ProjectedView]
    members: tuple[Member, ...]
    sightings: tuple[Sighting, ...]


def assembly_drafts(facts: PlanFacts, style: SheetStyle) -> tuple[Draft, ...]:
    """A sheet for each assembly on which something is cut once it is together.

    Raises ValueError for one that fits on no paper.
    """
    named = {a.name: a for a in facts.model.assemblies}
    return tuple(_draft(_projected(facts, named[f.name], f), facts, style) for f in facts.assembly_figures)


def _projected(facts: PlanFacts, assembly: Assembly, figures: AssemblyFigures) -> _Assembled:
    standing = assembled_members(facts.model, assembly)
    solids: list[tuple[Solid, Frame]] = [(m.solid, i.frame) for m, i in standing]
    scene = prepare(solids)
    wanted = {"face on", *(f.view for f in figures.figures)}
    looks = {v: _projection(figures, v) for v in _VIEWS if v in wanted}
    views = {v: project_scene(scene, p, f"{assembly.name}, {v}") for v, p in looks.items()}
    sightings = best_sightings(solids, looks["face on"])
    return _Assembled(figures, assembly, views, tuple(m for m, _ in standing), sightings)


def _projection(figures: AssemblyFigures, view: AssemblyView) -> Projection:
    right, up, toward = figures.right, figures.up, figures.toward
    if view == "face on":
        return Projection(right, up, toward)
    return Projection(right, neg(toward), up) if view == "upper edge" else Projection(neg(toward), up, right)


def _draft(work: _Assembled, facts: PlanFacts, style: SheetStyle) -> Draft:
    for size in larger_papers(style.small):
        for scale in SCALES[style.units]:
            if scale.ratio > 1:
                continue
            for way in ("landscape", "portrait"):
                if draft := _fitted(work, facts, style, f"{size} {way}", scale):
                    return draft
    raise ValueError(f"the assembly {work.assembly.name} fits on no paper at any standard scale")


def _fitted(work: _Assembled, facts: PlanFacts, style: SheetStyle, paper: str, scale: Scale) -> Draft | None:
    x0, y0, x1, y1 = free_field(paper)
    k = float(scale.ratio)
    face = work.views["face on"]
    if face.width * k > x1 - x0 or face.height * k > y1 - y0:
        return None
    panels = _panels(work, scale)
    if panels is None:
        return None
    for words, room, rule in _feet(work, facts, (x0, y0, x1, y1)):
        placed = _placed(panels, style.method, room)
        if placed is not None:
            return _sheet(work, paper, scale, placed, (rule, words))
    return None


def _panels(work: _Assembled, scale: Scale) -> dict[AssemblyView, Panel] | None:
    panels: dict[AssemblyView, Panel] = {}
    for view in work.views:
        panel = _panel(work, view, scale)
        if panel is None:
            return None
        panels[view] = panel
    return panels


def _placed(panels: dict[AssemblyView, Panel], method: Method, room: Box2) -> list[PlacedPanel] | None:
    """The view face on and those beside it that have figures, aligned by the projection method; None where they
    do not fit the room."""
    face, flank, upper = (panels.get(view) for view in ("face on", "right edge", "upper edge"))
    assert face is not None
    row = [face.box] + ([flank.box] if flank else [])
    column = [face.box] + ([upper.box] if upper else [])
    low_x, high_x = min(b[0] for b in column), max(b[2] for b in column)
    low_y, high_y = min(b[1] for b in row), max(b[3] for b in row)
    across = share([high_x - low_x, *([flank.width] if flank else [])], room[2] - room[0])
    down = share([high_y - low_y, *([upper.height] if upper else [])], room[3] - room[1])
    if across is None or down is None:
        return None
    (left, gap_x), (foot, gap_y) = across, down
    beside = side_view_offset(method, "right")[0] > 0
    above = side_view_offset(method, "above")[1] > 0
    x = room[0] + left - low_x + (flank.width + gap_x if flank and not beside else 0.0)
    y = room[1] + foot - low_y + (upper.height + gap_y if upper and not above else 0.0)
    placed = [PlacedPanel(face, (x, y))]
    if flank:
        at = high_x + gap_x - flank.box[0] if beside else low_x - gap_x - flank.box[2]
        placed.append(PlacedPanel(flank, (x + at, y)))
    if upper:
        at = high_y + gap_y - upper.box[1] if above else low_y - gap_y - upper.box[3]
        placed.append(PlacedPanel(upper, (x, y + at)))
    return placed


def _feet(work: _Assembled, facts: PlanFacts, field: Box2) -> Iterator[tuple[Mark, Box2, Mark]]:
    """The words across the foot of the field, then down its right side: with the room that they leave, and the
    rule between."""
    x0, y0, x1, y1 = field
    foot = _words(work, facts, x1 - x0 - 2 * _PAD, 2, _MOST_WORDS * (y1 - y0))
    if foot is not None:
        top = y0 + foot.height + 2 * _PAD
        room = (x0 + _MARGIN, top + _PAD, x1 - _MARGIN, y1 - _MARGIN)
        yield foot.placed(x0 + _PAD, top - _PAD), room, Stroke(polyline((x0, top), (x1, top)), "rule")
    side = _words(work, facts, _SIDE - 2 * _PAD, 1, y1 - y0 - 2 * _PAD)
    if side is not None:
        left = x1 - _SIDE
        room = (x0 + _MARGIN, y0 + _PAD, left - _MARGIN, y1 - _MARGIN)
        yield side.placed(left + _PAD, y1 - _PAD), room, Stroke(polyline((left, y0), (left, y1)), "rule")


def _sheet(
    work: _Assembled, paper: str, scale: Scale, placed: Sequence[PlacedPanel], words: Sequence[Mark]
) -> Draft:
    marks, views = drawn_in_place(placed)
    name = work.assembly.name
    return Draft(
        key=f"assembly {name}",
        title=assembly_title(name),
        purpose="What to cut once it is together",
        document_type="Assembly sheet",
        kind="assembly",
        paper=paper,
        marks=(*words, *marks),
        views=views,
        scale=scale.text,
        alt=f"{capital(name)} as it stands once it is together. {' '.join(work.figures.notes)}",
    )


def assembly_title(name: str) -> str:
    """What the sheet of an assembly is called, on it and where a part sheet refers to it."""
    return f"Assembly: {name}"


def _panel(work: _Assembled, view: AssemblyView, scale: Scale) -> Panel | None:
    """The view with its figures, and face on with a reference to each member; None where these have no room."""
    paper = lay_view(work.views[view], scale, hidden=False)
    occupied = Occupied()
    occupied.add(paper.marks)
    marks: list[Mark] = list(paper.marks)
    if view == "face on":
        seen = best_by_mark(work.members, work.sightings)
        anchors = [r.anchor(paper.factor) for r in seen]
        balloons = place_balloons(anchors, paper.box, occupied)
        if balloons is None:
            return None
        marks += balloons
    figures = [_paper_figure(f, paper) for f in work.figures.figures if f.view == view]
    laid, crowded = lay_figures(figures, paper.box, LETTERS, occupied)
    marks += laid
    title = f"{_title(work.views[view].projection.toward, view)}  {scale.ratio_text}"
    return titled_panel(paper, marks, title, occupied, crowded)


def _title(toward: Vec, view: AssemblyView) -> str:
    return next((word for way, word in _WORDS if dot(way, toward) > 1 - 1e-9), _OTHERWISE[view])


def _paper_figure(figure: AssemblyFigure, paper: PaperView) -> PaperFigure:
    return PaperFigure(
        figure.id, figure.kind, figure.printed, figure.value, tuple(paper.at(p) for p in figure.points),
        flat_direction(figure.direction, paper.view.projection), figure.tier, figure.side,
    )  # fmt: skip


def _words(work: _Assembled, facts: PlanFacts, width: float, count: int, most: float) -> Block | None:
    """What is cut, what holds the members, who they are, in so many columns; None where they are too high."""
    column = (width - _COLUMN_GAP * (count - 1)) / count
    spec = next((a for n, a in facts.design.assemblies.items() if n == work.assembly.name), None)
    held = [f"Held with {work.assembly.note}."] if work.assembly.note else []
    notes = [*held, *work.figures.notes, *(plain_words(n) for n in (spec.notes if spec else ()))]
    rows = [paragraph(n, column, LETTERS, hanging="•") for n in notes]
    marks = list(dict.fromkeys((m.mark, m.name) for m in work.members))
    numbers = {mark: sum(1 for m in work.members if m.mark == mark) for mark, _ in marks}
    parts = [paragraph(f"{capital(n)}: {numbers[m]}", column, LETTERS, hanging=m) for m, n in marks]
    blocks = [
        stacked("cut", [heading("Cut on the assembly"), rows[0]], 1.5), *rows[1:-1], spaced(rows[-1], _PAD),
        stacked("parts", [heading("Its parts"), parts[0]], 1.5), *parts[1:],
    ] if len(rows) > 1 else [
        spaced(stacked("cut", [heading("Cut on the assembly"), rows[0]], 1.5), _PAD),
        stacked("parts", [heading("Its parts"), parts[0]], 1.5), *parts[1:],
    ]  # fmt: skip
    columns = balanced("assembly", blocks, count, most)
    if columns is None:
        return None
    step = column + _COLUMN_GAP
    placed = tuple(c.placed(i * step, 0.0) for i, c in enumerate(columns))
    return Block("assembly notes", placed, width, max(c.height for c in columns))
