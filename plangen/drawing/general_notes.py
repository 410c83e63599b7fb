"""Words that hold for the whole set: sizes at a glance, signs, units, hands, cautions, tools."""

from __future__ import annotations

import math
from collections.abc import Sequence

from plangen.dimensioning.critical import critical_dimensions
from plangen.drawing.block import Block, stacked
from plangen.drawing.face_marks import face_edge_mark, face_side_mark
from plangen.drawing.marks import Mark
from plangen.drawing.text_block import caution_box, heading, numbered_notes, paragraph
from plangen.drawing.wording import UNIT_WORDS, capital, mass_text
from plangen.facts import PlanFacts
from plangen.findings import Place
from plangen.tables.cautions import CAUTIONS, DEFERRAL, LIFT_MASS, SHORTEST_AT_A_MACHINE, Occasion
from plangen.units import Quantity, angle_text, length_text_with_unit

_GAP = 2.0
_HIGHEST_BOX = 110.0
"""Millimetres."""


def overall_block(facts: PlanFacts, width: float) -> Block:
    """Overall sizes as the elevations figure them, and the weight where it is known."""
    sizes = {
        f.what.removeprefix("overall "): f.printed.strip("()")
        for f in facts.elevation_figures
        if f.tier == "overall" and f.kind == "linear" and f.what.startswith("overall ")
    }
    text = ", ".join(f"{what} {size}" for what, size in sizes.items()) + f" {facts.style.length}"
    known = [m.mass * m.quantity for m in facts.model.members if m.mass is not None and m.role != "jig"]
    if known:
        total = mass_text(math.fsum(known), facts.style.length)
        whole = all(m.mass is not None for m in facts.model.members if m.role != "jig")
        text += f"; weight about {total}" if whole else f"; weight about {total} and bought parts"
    return paragraph(f"Overall {text}.", width, weight="bold")


def critical_rows(facts: PlanFacts, width: float) -> list[Block]:
    """The few dimensions on which the rest depends, one a block."""
    rows = [paragraph(t, width, hanging="•") for t in critical_texts(facts)]
    return [Block(b.name, b.marks, b.width, b.height + _GAP) for b in rows]


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
    """Notes, signs, tools and cautions, in the order in which they should be read."""
    blocks = [stacked("notes", [heading("General notes"), *numbered_notes(_notes(facts), width)], _GAP)]
    blocks.append(_signs_block(width))
    if facts.design.tools:
        texts = [paragraph(str(t), width, hanging="•") for t in facts.design.tools]
        blocks.append(stacked("tools", [heading("Least tools"), *texts], _GAP))
    return [*blocks, *_caution_boxes(caution_texts(facts), width)]


def _caution_boxes(texts: Sequence[str], width: float) -> list[Block]:
    """The cautions in as many boxes as keep each low enough for any column."""
    boxes: list[Block] = []
    waiting: list[str] = []
    for text in texts:
        if waiting and caution_box([*waiting, text], width).height > _HIGHEST_BOX:
            boxes.append(caution_box(waiting, width))
            waiting = []
        waiting.append(text)
    return [*boxes, caution_box(waiting, width)]


def _notes(facts: PlanFacts) -> list[str]:
    style = facts.style
    step, angle = length_text_with_unit(style.step, style), angle_text(style.angle_step, style)
    order = "thickness x width x length" if style.length == "in" else "length x width x thickness"
    return [
        f"All sizes are in {UNIT_WORDS[style.length]} unless marked, to the nearest {step}; angles to {angle}.",
        "Dimensions govern; do not scale the drawings. Each size stands on one sheet; where it is repeated it "
        "is in parentheses.",
        "Sizes are finished sizes. Measure the stock you have before cutting anything that meets it.",
        f"Lists give {order}. Length runs with the grain, or the face grain of sheet goods.",
        "Corners that look square are square; sides that look parallel are parallel.",
        "Left and right are those of a person who stands before the front elevation.",
        "End A is the left end on a part sheet: the end that stands on the floor, or the left one.",
        *map(str, facts.design.notes),
    ]


def _signs_block(width: float) -> Block:
    rows = [
        _sign(
            face_side_mark((4.0, -6.0), (0.0, 1.0)),
            "Face side: the first true surface. Its tail runs to the face edge. Face edge is down on the sheet.",
            width,
        ),
        _sign(
            face_edge_mark((4.0, -6.0), (0.0, 1.0)),
            "Face edge: square to the face side. The point of the V stands on the arris the two share.",
            width,
        ),
    ]
    return stacked("signs", [heading("Face marks"), *rows], _GAP)


def _sign(sign: Mark, text: str, width: float) -> Block:
    words = paragraph(text, width - 11.0)
    height = max(words.height, 7.5)
    return Block("sign", (sign, words.placed(11.0, 0.0)), width, height)


def caution_texts(facts: PlanFacts) -> list[str]:
    """The usual cautions that this work calls for, then the designer's, then what comes before all of them."""
    occasions = _occasions(facts)
    texts = [c.texts[facts.style.length] for c in CAUTIONS if c.occasion in occasions]
    return [*texts, *map(str, facts.design.cautions), DEFERRAL]


def _occasions(facts: PlanFacts) -> set[Occasion]:
    found: set[Occasion] = {"any", "machine", "dust"}
    members = [m for m in facts.model.members if m.role != "bought"]
    stocks = " ".join(f"{m.stock.name} {m.stock.species}".lower() for m in members)
    words = " ".join(map(str, (*facts.design.finish, facts.design.about or "", facts.design.title))).lower()
    if any(f.kind == "angular" and abs(f.value % 90) > 1e-6 for g in facts.figures for f in g.figures):
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
