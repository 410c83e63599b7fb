"""Assembly step by step: what goes in, which way, how it is held, what to measure; earlier work in grey."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from plangen.assembling.apart import apart_by, step_size
from plangen.assembling.checking import Apart, distances
from plangen.assembling.steps import Step
from plangen.drawing.block import Block, stacked
from plangen.drawing.draft import Draft, SheetStyle, free_field
from plangen.drawing.exploded import standing_places
from plangen.drawing.lettering import Box2
from plangen.drawing.mark_geometry import polyline, rectangle
from plangen.drawing.marks import Group, Leader, LineUse, Mark, Stroke
from plangen.drawing.referenced_picture import best_by_mark, referenced_picture
from plangen.drawing.text_block import heading, paragraph
from plangen.drawing.view_on_paper import PaperView, ProjectedView, curve_span, project_scene, scaled_curve
from plangen.drawing.whole_piece import picture_projection
from plangen.drawing.wording import capital
from plangen.facts import PlanFacts
from plangen.geometry.clash import Placed
from plangen.geometry.hidden import prepare
from plangen.geometry.sightings import best_sightings
from plangen.geometry.vectors import Point, Vec, along
from plangen.joinery.model import Driven, Member
from plangen.units import length_text_with_unit

LETTERS = 3.5
_MARGIN, _GAP, _ROW_GAP = 5.0, 6.0, 3.0
_ROWS = (2, 3, 4)
"""Steps on a sheet: the least of these numbers for which the sheets are fewest."""
_PICTURE_SHARE = 0.6
_SQUARE, _SQUARE_GAP = 3.5, 2.5
_SHAFT = 9.0
"""Millimetres of paper that the line of a screw or bolt stands out of the wood."""
_FAINT, _SLIGHT = 0.05, 0.3
_WAYS: tuple[tuple[Vec, str], ...] = (
    ((0.0, 0.0, 1.0), "up"), ((0.0, 0.0, -1.0), "down"), ((1.0, 0.0, 0.0), "to the right"),
    ((-1.0, 0.0, 0.0), "to the left"), ((0.0, 1.0, 0.0), "to the rear"), ((0.0, -1.0, 0.0), "to the front"),
)  # fmt: skip


def step_drafts(facts: PlanFacts, style: SheetStyle) -> tuple[Draft, ...]:
    """Sheets of three steps each; none for a piece that has no steps."""
    paper = f"{style.small} portrait"
    x0, y0, x1, y1 = free_field(paper)
    steps = facts.assembling.steps
    width = x1 - x0 - 2 * _MARGIN
    words = [_words_block(facts, step, n + 1, width) for n, step in enumerate(steps)]
    rows, height = _rows_of(words, y1 - y0 - 2 * _MARGIN)
    places = standing_places(facts.model)
    cards = [_card(facts, places, s, w, width, height) for s, w in zip(steps, words, strict=True)]
    pages = [range(i, min(i + rows, len(cards))) for i in range(0, len(cards), rows)]
    return tuple(
        Draft(
            key="steps" if n == 0 else f"steps {n + 1}",
            title="Assembly" if len(pages) == 1 else f"Assembly ({n + 1} of {len(pages)})",
            purpose="Step by step, dry first; earlier work in grey",
            document_type="Assembly steps",
            kind="notes",
            paper=paper,
            marks=tuple(
                cards[i].placed(x0 + _MARGIN, y1 - _MARGIN - k * (height + _ROW_GAP))
                for k, i in enumerate(page)
            ),
            alt="; ".join(f"step {i + 1}: {_names(facts, steps[i].names)}" for i in page),
        )
        for n, page in enumerate(pages)
    )


def _rows_of(words: Sequence[Block], room: float) -> tuple[int, float]:
    """How many steps a sheet holds so that sheets are fewest, and the height of each; all words fit."""
    tall = max((w.height for w in words), default=0.0)
    heights = {n: (room - (n - 1) * _ROW_GAP) / n for n in _ROWS}
    fitting = [n for n in _ROWS if heights[n] >= tall + 2.0]
    if not fitting:
        return 1, room
    rows = min(fitting, key=lambda n: (-(-len(words) // n), n))
    return rows, heights[rows]


# --- a card ---------------------------------------------------------------------------------------------------


def _words_block(facts: PlanFacts, step: Step, number: int, width: float) -> Block:
    return stacked("words", _words(facts, step, number, width * (1 - _PICTURE_SHARE) - _GAP), 2.0)


def _card(
    facts: PlanFacts, places: dict[str, Placed], step: Step, words: Block, width: float, height: float
) -> Block:
    picture = width * _PICTURE_SHARE
    marks = _picture(facts, places, step, (0.0, -height, picture, 0.0)) or ()
    rule = Stroke(polyline((0.0, -height - _ROW_GAP / 2), (width, -height - _ROW_GAP / 2)), "rule")
    return Block(
        "step", (Group("picture", tuple(marks)), words.placed(picture + _GAP, -2.0), rule), width, height
    )


@dataclass(frozen=True)
class _Shown:
    """The scene of a step: earlier work, then what goes in, drawn off its way."""

    names: tuple[str, ...]
    solids: tuple[Placed, ...]
    members: tuple[Member, ...]
    new: int
    """The first that is new."""


def _picture(facts: PlanFacts, places: dict[str, Placed], step: Step, room: Box2) -> tuple[Mark, ...] | None:
    shown = _shown(facts, places, step)
    projection = picture_projection()
    view = project_scene(prepare(shown.solids), projection, f"step, {', '.join(step.names)}")
    sightings = best_sightings(shown.solids, projection)
    seen = best_by_mark(shown.members[shown.new :], sightings[shown.new :])
    arrows = [
        line for move in step.moves if (line := _arrow(places, step, move.names[0], move.way)) is not None
    ]

    def ink(paper: PaperView) -> Sequence[Mark]:
        return (
            *_strokes(view, paper.factor, shown.new),
            *_pointers(paper, arrows),
            *_shafts(paper, step.fasteners),
        )

    return referenced_picture(view, seen, room, ink)


def _shown(facts: PlanFacts, places: dict[str, Placed], step: Step) -> _Shown:
    names, solids = list(step.standing), [places[n] for n in step.standing]
    least = step_size(step, places)
    for move in step.moves:
        for name in move.names:
            solid, frame = places[name]
            off = along(frame.origin, move.way, -apart_by(move, places, least))
            names.append(name)
            solids.append((solid, replace(frame, origin=off)))
    members = tuple(facts.model.instance(n)[0] for n in names)
    return _Shown(tuple(names), tuple(solids), members, len(step.standing))


def _arrow(places: dict[str, Placed], step: Step, name: str, way: Vec) -> tuple[Point, Point] | None:
    """From where the joint of a part is drawn to where it goes; None: it is set down where it stands."""
    move = next(m for m in step.moves if name in m.names)
    if move.at is None:
        return None
    off = apart_by(move, places, step_size(step, places))
    return along(move.at, way, -off), move.at


def _strokes(view: ProjectedView, k: float, new: int) -> Iterator[Mark]:
    for stroke in view.strokes:
        curve = scaled_curve(stroke.curve, k)
        if not stroke.visible or curve_span(curve) < _FAINT:
            continue
        use: LineUse = (
            "context" if stroke.owner < new else "narrow" if stroke.kind == "smooth" else "fine outline"
        )
        yield Stroke((curve,), use)


def _pointers(paper: PaperView, arrows: Sequence[tuple[Point, Point]]) -> Iterator[Mark]:
    for start, end in arrows:
        a, b = paper.at(start), paper.at(end)
        if math.dist(a, b) > 2.0:
            yield Leader((b, a), "arrow", "")


def _shafts(paper: PaperView, fasteners: Sequence[Driven]) -> Iterator[Mark]:
    """The lines in which screws and bolts go in, out of the wood at their heads."""
    for driven in fasteners:
        head = paper.at(driven.head)
        out = paper.at(along(driven.head, driven.into, -_SHAFT / paper.factor))
        if math.dist(head, out) > 1.5:
            yield Stroke(polyline(head, out), "centre")


# --- words ----------------------------------------------------------------------------------------------------


def _words(facts: PlanFacts, step: Step, number: int, width: float) -> list[Block]:
    title = f"{number}. {capital(step.unit)}" if step.unit else f"{number}."
    found = [heading(title), paragraph(_adds(facts, step), width, LETTERS, weight="bold")]
    found.append(paragraph(_way(facts, step), width, LETTERS))
    if step.fasteners:
        found.append(paragraph(_held(facts, step.fasteners), width, LETTERS))
    glue = next((a.glue for n, a in facts.design.assemblies.items() if n == step.unit and a.glue), None)
    if glue:
        found.append(paragraph(f"Glue: {glue}; within its open time.", width, LETTERS))
    found += [_ticked(_apart_text(facts, a), width) for a in distances(step, facts.model)]
    return found


def _adds(facts: PlanFacts, step: Step) -> str:
    steps = facts.assembling.steps
    told = {n for s in steps[: steps.index(step)] for n in (*s.standing, *s.names)}
    first = [n for n in step.standing if n not in told]
    added = _names(facts, step.names)
    return f"To {_names(facts, first)} add {added}." if first else f"Add {added}."


def _names(facts: PlanFacts, names: Sequence[str]) -> str:
    """Those of a mark together; one of several under the name of its place."""
    by_mark: dict[str, list[str]] = {}
    for name in names:
        by_mark.setdefault(facts.model.instance(name)[0].mark, []).append(name)
    return ", ".join(f"{mark} {_called(facts, those)}" for mark, those in by_mark.items())


def _called(facts: PlanFacts, names: Sequence[str]) -> str:
    member, _ = facts.model.instance(names[0])
    if len(names) > 1:
        return f"{member.name} x {len(names)}"
    return names[0] if len(member.instances) > 1 else member.name


def _way(facts: PlanFacts, step: Step) -> str:
    one = len(step.moves) == 1
    ways = list(dict.fromkeys(_said(m.way) for m in step.moves if m.beside))
    if step.at_once:
        text = (
            "No part goes in by itself: start all joints, then close them together, a little at each in turn."
        )
    elif not ways:
        text = "Set it where it stands." if one else "Set them where they stand."
    else:
        said = ", or ".join(ways) if len(ways) < 3 else "each its own way, as the arrows show"
        text = f"{'It goes' if one else 'They go'} in {said}."
    there = {*step.standing, *step.names}
    sprung = [
        j
        for j in facts.model.joints
        if j.sprung and set(j.members) <= there and set(j.members) & {*step.names}
    ]
    return f"{text} Spring the parts apart to let {'it' if one else 'them'} in." if sprung else text


def _said(way: Vec) -> str:
    """``up and to the rear``: the parts of a direction that are more than slight, the greatest first."""
    parts = sorted(((way[0] * w[0] + way[1] * w[1] + way[2] * w[2], word) for w, word in _WAYS), reverse=True)
    return " and ".join(word for size, word in parts if size > _SLIGHT) or "as the arrow shows"


def _held(facts: PlanFacts, fasteners: Sequence[Driven]) -> str:
    sizes = {h.place: h.size for h in reversed(facts.model.hardware) if h.name not in ("nut", "washer")}
    count = Counter((f.kind, sizes.get(f.place, "")) for f in fasteners)
    said = [f"{n} {kind if n == 1 else kind + 's'} {size}".strip() for (kind, size), n in count.items()]
    return f"Held by {', '.join(said)}."


def _apart_text(facts: PlanFacts, apart: Apart) -> str:
    sizes = " and ".join(_as_elsewhere(s, facts) for s in apart.sides)
    if apart.over:
        return f"{capital(apart.member)}: {sizes} over both {apart.corner} corners."
    text = f"{capital(apart.member)}, from a {apart.corner} corner to its like: {sizes}"
    if apart.diagonals is not None:
        text += f"; both diagonals {_as_elsewhere(apart.diagonals, facts)}"
    return text + "."


def _as_elsewhere(size: float, facts: PlanFacts) -> str:
    """The figure that the elevations print for this size: theirs is between two rounded places."""
    for figure in facts.elevation_figures:
        if figure.kind == "linear" and abs(figure.value - size) < 1e-6 and "'" not in figure.printed:
            return f"{figure.printed.strip('()')} {facts.style.length}"
    return length_text_with_unit(size, facts.style)


def _ticked(text: str, width: float) -> Block:
    words = paragraph(text, width - _SQUARE - _SQUARE_GAP, LETTERS)
    square = Stroke(rectangle((0.0, -0.2 - _SQUARE, _SQUARE, -0.2)), "narrow", True)
    return Block("check", (square, words.placed(_SQUARE + _SQUARE_GAP, 0.0)), width, words.height)
