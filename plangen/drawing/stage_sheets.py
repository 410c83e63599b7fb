"""Pictures of the piece as it stands at each stage of the work that the design asks for, with what is cut at it.

Every member is shown where it will stand at the end, not yet cut by what comes later: before joints are cut
members run through one another.
"""

from __future__ import annotations

from collections.abc import Sequence

from plangen.drawing.block import Block, balanced, stacked
from plangen.drawing.cover import picture_of
from plangen.drawing.draft import Draft, SheetStyle, free_field
from plangen.drawing.text_block import heading, paragraph
from plangen.drawing.view_on_paper import project_scene
from plangen.drawing.whole_piece import picture_projection, placed_solids
from plangen.drawing.wording import capital
from plangen.facts import PlanFacts
from plangen.geometry.hidden import prepare
from plangen.joinery.model import Member, Stage
from plangen.joinery.stages import STAGES, model_at

LETTERS = 3.5
_PAD, _COLUMN_GAP = 4.0, 8.0
_MOST_WORDS = 0.4
"""Of the height of the sheet, that the words may take; what is left over is not said."""
_WORDS: dict[Stage, tuple[str, str]] = {
    "square": ("Square", "The wood cut to size, and what is cut while it is square"),
    "shaped": ("Shaped", "Every part as it leaves the bench"),
    "glued": ("Glued", "With what is cut on glued assemblies"),
    "assembled": ("Assembled", "With what is cut once the piece is together"),
    "on the work": ("Done", "With what is fitted on the work"),
}


def stage_drafts(facts: PlanFacts, style: SheetStyle) -> tuple[Draft, ...]:
    """A sheet for each stage asked for, in the order of work; none where the design asks for none."""
    asked = set(facts.design.drawing.stages)
    return tuple(_draft(facts, style, stage) for stage in STAGES if stage in asked)


def _draft(facts: PlanFacts, style: SheetStyle, stage: Stage) -> Draft:
    paper = f"{style.small} landscape"
    x0, y0, x1, y1 = free_field(paper)
    solids = placed_solids(model_at(facts.model, stage))[0]
    view = project_scene(prepare(solids), picture_projection(), f"as it stands, {stage}")
    words = _words(_cut_at(facts.model.members, stage), x1 - x0 - 2 * _PAD, _MOST_WORDS * (y1 - y0))
    top = y0 + words.height + 2 * _PAD
    name, purpose = _WORDS[stage]
    return Draft(
        key=f"stage {stage}",
        title=f"As it stands: {name.lower()}",
        purpose=f"{purpose}; not to scale",
        document_type="Picture",
        kind="notes",
        paper=paper,
        marks=(
            picture_of(view, solids, (x0 + _PAD, top, x1 - _PAD, y1 - _PAD)),
            words.placed(x0 + _PAD, top - _PAD),
        ),
        alt=f"A picture of {facts.design.title} as it stands at the stage {stage}",
    )


def _cut_at(members: Sequence[Member], stage: Stage) -> list[tuple[str, str]]:
    """Mark and name of each member with what is cut into it at the stage, each kind once with its number."""
    found = []
    for member in members:
        kinds = [f.kind for f in member.features if f.stage == stage]
        if kinds:
            counted = [(kind, kinds.count(kind)) for kind in dict.fromkeys(kinds)]
            what = ", ".join(kind if n == 1 else f"{n} x {kind}" for kind, n in counted)
            found.append((member.mark, f"{capital(member.name)}: {what}"))
    return found


def _words(rows: Sequence[tuple[str, str]], width: float, most: float) -> Block:
    column = (width - _COLUMN_GAP) / 2
    blocks = [paragraph(text, column, LETTERS, hanging=mark) for mark, text in rows]
    if not blocks:
        return paragraph("Nothing is cut at this stage.", width, LETTERS)
    while blocks:
        headed = [stacked("cut", [heading("Cut at this stage"), blocks[0]], 1.5), *blocks[1:]]
        columns = balanced("cut at this stage", headed, 2, most)
        if columns is not None:
            step = column + _COLUMN_GAP
            placed = tuple(c.placed(i * step, 0.0) for i, c in enumerate(columns))
            return Block("cut at this stage", placed, width, max(c.height for c in columns))
        blocks = blocks[:-1]
    return paragraph("See the part sheets for what is cut.", width, LETTERS)
