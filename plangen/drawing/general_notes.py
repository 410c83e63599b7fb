"""Words that hold for the whole set: sizes at a glance, signs, units, hands, cautions, tools."""

from __future__ import annotations

import math

from plangen.dimensioning.critical import critical_dimensions
from plangen.drawing.block import Block, spaced, stacked
from plangen.drawing.both_units import other_unit
from plangen.drawing.face_marks import face_edge_mark, face_side_mark
from plangen.drawing.marks import Mark
from plangen.drawing.text_block import caution_box, heading, numbered_notes, paragraph
from plangen.drawing.wording import UNIT_WORDS, capital, mass_text, plain_words
from plangen.facts import PlanFacts
from plangen.findings import Place
from plangen.tables.cautions import CAUTIONS, DEFERRAL, LIFT_MASS, SHORTEST_AT_A_MACHINE, Occasion
from plangen.units import STYLES, Quantity, angle_text, length_text_with_unit

_CLEAR = 1.0
"""Millimetres over the floor at which a piece hangs, as a gate does."""
_GAP = 2.0
BLOCK_GAP = 5.0
"""Between blocks of one column, mm."""


def overall_block(facts: PlanFacts, width: float) -> Block:
    """Overall sizes as the elevations figure them, and the weight where it is known."""
    sizes = {
        f.what.removeprefix("overall "): f.printed.strip("()")
        for f in facts.elevation_figures
        if f.tier == "overall" and f.kind == "linear" and f.what.startswith("overall ")
    }
    if "height" in sizes and _lowest(facts) > _CLEAR:
        sizes["height"] += " from the floor"
    text = ", ".join(f"{what} {size}" for what, size in sizes.items()) + f" {facts.style.length}"
    known = [m.mass * m.quantity for m in facts.model.members if m.mass is not None and m.role != "jig"]
    if known:
        total = mass_text(math.fsum(known), facts.style.length)
        whole = all(m.mass is not None for m in facts.model.members if m.role != "jig")
        text += f"; weight about {total}" if whole else f"; weight about {total} and bought parts"
    return paragraph(f"Overall {text}.", width, weight="bold")


def _lowest(facts: PlanFacts) -> float:
    """How far the lowest wood stands over the floor, millimetres: a gate's own height is less than its top's."""
    corners = (
        instance.frame.point((x, y, z))[2]
        for member in facts.model.members
        if member.role != "jig"
        for instance in member.instances
        for x, y, z in member.solid.vertices.tolist()
    )
    return min(corners, default=0.0)


def critical_rows(facts: PlanFacts, width: float) -> list[Block]:
    """The few dimensions on which the rest depends, one a block."""
    rows = [paragraph(t, width, hanging="•") for t in critical_texts(facts)]
    return [spaced(b, _GAP) for b in rows]


def critical_texts(facts: PlanFacts) -> list[str]:
    """``Spread at the feet: 30 5/8 in``; overall sizes stand by themselves."""

    def look(name: str, place: Place) -> Quantity:
        return facts.values[name]

    stated = [(str(c.what), c.size.evaluate(look)) for c in facts.design.critical]
    found = critical_dimensions(facts.model, facts.style, facts.elevation_figures, stated)
    unit = facts.style.length
    return [
        f"{capital(what)}: {text}" + ("" if "°" in text else f" {unit}")
        for what, text, _ in found
        if not what.startswith("overall ")
    ]


def general_blocks(facts: PlanFacts, width: float) -> list[Block]:
    """Notes and signs, in the order in which they should be read."""
    notes = numbered_notes(_notes(facts), width)
    blocks = [stacked("notes", [heading("General notes"), notes[0]], _GAP), *notes[1:]]
    signs = _signs(width)
    groups = (blocks, signs)
    blocks = [spaced(b, _GAP) for group in groups for b in (*group[:-1], spaced(group[-1], BLOCK_GAP - _GAP))]
    return blocks


def caution_boxes(facts: PlanFacts, width: float, most: float) -> list[Block]:
    """The cautions in one box of two columns; in more where one would be higher than ``most``."""
    boxes: list[Block] = []
    waiting: list[str] = []
    for text in caution_texts(facts):
        if waiting and caution_box([*waiting, text], width, 2).height > most:
            boxes.append(caution_box(waiting, width, 2))
            waiting = []
        waiting.append(text)
    return [*boxes, caution_box(waiting, width, 2)]


def _notes(facts: PlanFacts) -> list[str]:
    style = facts.style
    step, angle = length_text_with_unit(style.step, style), angle_text(style.angle_step, style)
    order = "thickness x width x length" if style.length == "in" else "length x width x thickness"
    return [
        f"Sizes are in {UNIT_WORDS[style.length]}, to the nearest {step}; angles to {angle}.",
        *_of_both_units(facts),
        "Dimensions govern; do not scale the drawings. Sizes in parentheses repeat another.",
        "Sizes are finished sizes. Measure the stock you have before cutting anything that meets it.",
        f"Lists give {order}. Length runs with the grain (face grain of sheet goods).",
        "What looks square or parallel is so.",
        "Left and right are those of a person who stands before the front elevation.",
        "On part sheets the face edge is down and end A left. Positions start at the small circle.",
        *(
            f"{_without_marks(f.text)}."
            for f in facts.findings
            if f.rule == "removable" and f.level == "note"
        ),
        *map(plain_words, facts.design.notes),
    ]


def _of_both_units(facts: PlanFacts) -> list[str]:
    if not facts.design.drawing.both_units:
        return []
    other = STYLES[other_unit(facts.style.length)]
    step = length_text_with_unit(other.step, other)
    return [
        f"In square brackets the same in {UNIT_WORDS[other.length]}, to the nearest {step}: work in one unit only."
    ]


def _without_marks(text: str) -> str:
    """A finding's words as a note has them."""
    return capital(text.replace('"', ""))


def _signs(width: float) -> list[Block]:
    rows = [
        _sign(
            face_side_mark((4.0, -6.0), (0.0, 1.0)),
            "Face side: the first true surface. Its tail runs to the face edge.",
            width,
        ),
        _sign(
            face_edge_mark((4.0, -6.0), (0.0, 1.0)),
            "Face edge: square to the face side. The V points to the arris they share.",
            width,
        ),
    ]
    return [stacked("signs", [heading("Face marks"), rows[0]], _GAP), rows[1]]


def _sign(sign: Mark, text: str, width: float) -> Block:
    words = paragraph(text, width - 11.0)
    height = max(words.height, 7.5)
    return Block("sign", (sign, words.placed(11.0, 0.0)), width, height)


def caution_texts(facts: PlanFacts) -> list[str]:
    """The usual cautions that this work calls for, then the designer's, then what comes before all of them."""
    occasions = _occasions(facts)
    texts = [c.texts[facts.style.length] for c in CAUTIONS if c.occasion in occasions]
    return [*texts, *map(plain_words, facts.design.cautions), DEFERRAL]


def _occasions(facts: PlanFacts) -> set[Occasion]:
    found: set[Occasion] = {"any", "machine", "dust"}
    members = [m for m in facts.model.members if m.role != "bought"]
    stocks = " ".join(f"{m.stock.name} {m.stock.species}".lower() for m in members)
    words = " ".join(map(str, (*facts.design.finish, facts.design.about or "", facts.design.title))).lower()
    drawn = [f for g in facts.figures for f in g.figures if not f.said_by]
    if any(f.kind == "angular" and abs(f.value % 90) > 1e-6 for f in drawn):
        found.add("angled cut")
    if any(m.finished[0] < SHORTEST_AT_A_MACHINE[facts.style.length] for m in members):
        found.add("short work")
    if any(m.mass is not None and m.mass > LIFT_MASS for m in members):
        found.add("heavy")
    for word, occasion in _WORDS.items():
        if word in stocks or word in words:
            found.add(occasion)
    if any(m.role == "bought" for m in facts.model.members) or "steel" in stocks:
        found.add("metal")
    return found


_WORDS: dict[str, Occasion] = {
    "oil": "oil finish", "treated": "treated wood", "reclaimed": "reclaimed wood", "sit": "load",
    "seat": "load", "bench": "load", "stool": "load", "chair": "load", "trestle": "load", "step": "load",
    "child": "child", "food": "food",
}  # fmt: skip
"""What in the design's own words calls for a caution."""
