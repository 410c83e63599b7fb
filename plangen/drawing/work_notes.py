"""The sheet of work: what to measure first, the order, the finish, what to keep, the revisions."""

from __future__ import annotations

from collections.abc import Sequence

from plangen.drawing.block import Block, flowed, stacked
from plangen.drawing.draft import Draft, SheetStyle, free_field
from plangen.drawing.mark_geometry import rectangle
from plangen.drawing.marks import Stroke
from plangen.drawing.ruled_table import Column, Table, table_blocks
from plangen.drawing.text_block import heading, paragraph
from plangen.drawing.wording import capital, plain_words
from plangen.facts import PlanFacts

_MARGIN = 6.0
_COLUMN_GAP = 8.0
_BLOCK_GAP = 6.0
_LETTERS, _LARGE_LETTERS = 3.5, 5.0


def work_drafts(facts: PlanFacts, style: SheetStyle) -> tuple[Draft, ...]:
    """Nothing where the design says nothing of these. In large letters across the sheet, to be read from the
    bench, where one sheet holds them so; else in two columns."""
    paper = f"{style.small} portrait"
    field = free_field(paper)
    x0, y0, x1, y1 = (field[0] + _MARGIN, field[1] + _MARGIN, field[2] - _MARGIN, field[3] - _MARGIN)
    columns = flowed("order of work", _blocks(facts, x1 - x0, _LARGE_LETTERS), (y1 - y0,), _BLOCK_GAP)
    count = 1
    if len(columns) > 1:
        width, count = (x1 - x0 - _COLUMN_GAP) / 2, 2
        columns = flowed("order of work", _blocks(facts, width, _LETTERS), (y1 - y0,), _BLOCK_GAP)
    pages = [columns[i : i + count] for i in range(0, len(columns), count)]
    step = (x1 - x0 + _COLUMN_GAP) / 2
    return tuple(
        Draft(
            key="order of work" if n == 0 else f"order of work {n + 1}",
            title="Order of work" if len(pages) == 1 else f"Order of work ({n + 1} of {len(pages)})",
            purpose="Tick off as you go",
            document_type="Order of work",
            kind="notes",
            paper=paper,
            marks=tuple(c.placed(x0 + i * step, y1) for i, c in enumerate(page)),
            alt="Order of work, finish and notes",
        )
        for n, page in enumerate(pages)
    )


def _blocks(facts: PlanFacts, width: float, letters: float) -> list[Block]:
    design = facts.design
    lists = (
        ("Measure first", design.measure_first, True),
        ("Order of work", design.order, True),
        ("Finish", design.finish, False),
        ("Keep", design.keep, False),
    )
    blocks: list[Block] = []
    if design.tools:
        words = f"{capital(', '.join(map(plain_words, design.tools)))}."
        blocks += _headed("Least tools", [paragraph(words, width, letters)])
    for title, texts, ticked in lists:
        rows = [
            _ticked(f"{i + 1}. {plain_words(t)}", width, letters)
            if ticked
            else paragraph(plain_words(t), width, letters, hanging="•")
            for i, t in enumerate(texts)
        ]
        blocks += _headed(title, rows)
    for name, assembly in design.assemblies.items():
        held = [f"Held with {assembly.glue}."] if assembly.glue else []
        members = ", ".join(map(str, assembly.of))
        rows = [
            paragraph(f"Of {members}.", width, letters),
            *(paragraph(t, width, letters, hanging="•") for t in [*held, *map(plain_words, assembly.notes)]),
        ]
        blocks += _headed(f"Sub-assembly: {name}", rows)
    if design.revisions:
        columns = (Column("Rev."), Column("Date"), Column("What changed", wraps=True))
        table = Table("Revisions", columns, tuple((r.letter, r.date, r.text) for r in design.revisions))
        blocks += table_blocks(table, width, (1000.0,))
    return blocks


def _headed(title: str, rows: Sequence[Block]) -> list[Block]:
    """The heading kept with the first row, the other rows free to go on in the next column."""
    if not rows:
        return []
    return [stacked(title, [heading(title), rows[0]], 2.0), *rows[1:]]


def _ticked(text: str, width: float, letters: float) -> Block:
    """A square to tick off, as high as the letters, and the words."""
    words = paragraph(text, width - letters - 2.5, letters)
    top = -0.2
    square = Stroke(rectangle((0.0, top - letters, letters, top)), "narrow", True)
    return Block("step", (square, words.placed(letters + 2.5, 0.0)), width, words.height)
