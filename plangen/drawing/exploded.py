"""The exploded picture: every part drawn away from its place along the way by which it goes in."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from plangen.assembling.apart import Drawn, explode
from plangen.assembling.steps import Move
from plangen.drawing.draft import Draft, SheetStyle, free_field, larger_papers
from plangen.drawing.lettering import Box2
from plangen.drawing.mark_geometry import polyline
from plangen.drawing.marks import Mark, Stroke
from plangen.drawing.parts_located import inside
from plangen.drawing.referenced_picture import best_by_mark, referenced_picture
from plangen.drawing.view_on_paper import PaperView, ProjectedView, project_scene
from plangen.drawing.whole_piece import picture_projection
from plangen.facts import PlanFacts
from plangen.geometry.clash import Placed
from plangen.geometry.curves import Vec2
from plangen.geometry.hidden import prepare, seen_lines
from plangen.geometry.sightings import best_sightings
from plangen.geometry.vectors import Point, add, cross, length, sub, unit
from plangen.joinery.model import Member, Model

_MARGIN = 4.0
_ALONG = 1e-3


def exploded_drafts(facts: PlanFacts, style: SheetStyle) -> tuple[Draft, ...]:
    """One sheet; none for a piece of one part, or of parts that no straight moves bring together.

    Raises ValueError where no paper has room for all references.
    """
    if not facts.assembling.steps:
        return ()
    places = standing_places(facts.model)
    drawn = explode(facts.assembling, places)
    solids = [moved_placed(placed, drawn, name) for name, placed in places.items()]
    projection = picture_projection()
    scene = prepare(solids)
    view = project_scene(scene, projection, "exploded")
    sightings = best_sightings(solids, projection)
    members = members_of(facts.model)
    seen = best_by_mark(members, sightings)
    axes = seen_lines(scene, projection, _axes(facts, drawn))

    def ink(paper: PaperView) -> Sequence[Mark]:
        k = paper.factor
        lines = [Stroke(polyline(_scaled(a, k), _scaled(b, k)), "centre") for a, b in axes]
        return (*lines, *paper.marks)

    for name in larger_papers(style.small):
        ways = sorted(("landscape", "portrait"), key=lambda way: -_fill(view, f"{name} {way}"))
        for way in ways:
            marks = referenced_picture(view, seen, _room(f"{name} {way}"), ink)
            if marks is not None:
                return (
                    Draft(
                        key="exploded",
                        title="Exploded picture",
                        purpose="Each part drawn off the way it goes in; not to scale"
                        + inside(members, sightings),
                        document_type="Exploded picture",
                        kind="notes",
                        paper=f"{name} {way}",
                        marks=marks,
                        alt=f"{facts.design.title} with every part drawn away from its place",
                    ),
                )
    raise ValueError("more parts than any sheet has room to refer to")


def _room(paper: str) -> Box2:
    x0, y0, x1, y1 = free_field(paper)
    return (x0 + _MARGIN, y0 + _MARGIN, x1 - _MARGIN, y1 - _MARGIN)


def _fill(view: ProjectedView, paper: str) -> float:
    x0, y0, x1, y1 = _room(paper)
    return round(min((x1 - x0) / view.width, (y1 - y0) / view.height), 6)


def standing_places(model: Model) -> dict[str, Placed]:
    """Every instance of the work and of bought parts where it stands, by name."""
    return {i.name: (m.solid, i.frame) for m in model.members if m.role != "jig" for i in m.instances}


def members_of(model: Model) -> tuple[Member, ...]:
    """The member of each of ``standing_places``."""
    return tuple(m for m in model.members if m.role != "jig" for _ in m.instances)


def moved_placed(placed: Placed, drawn: Drawn, name: str) -> Placed:
    """A part where it is drawn."""
    solid, frame = placed
    return solid, replace(frame, origin=add(frame.origin, drawn.of(name)))


def _axes(facts: PlanFacts, drawn: Drawn) -> list[tuple[Point, Point]]:
    """For each part the line from its joint to the joint it goes into, where the part was drawn straight off it."""
    return [
        line
        for step in facts.assembling.steps
        for move in step.moves
        if (line := _axis(move, drawn.by)) is not None
    ]


def _axis(move: Move, by: Mapping[str, Point]) -> tuple[Point, Point] | None:
    if move.at is None:
        return None
    ours, theirs = by[move.names[0]], by[move.beside]
    off = sub(ours, theirs)
    if length(off) < 1.0 or length(cross(unit(off), move.way)) > _ALONG:
        return None
    return add(move.at, ours), add(move.at, theirs)


def _scaled(p: Vec2, k: float) -> Vec2:
    return (p[0] * k, p[1] * k)
