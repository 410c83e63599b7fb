"""Sheets of lists: what to cut, what to buy, the plain parts; each list flows over as many sheets as it needs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from plangen.drawing.block import Block
from plangen.drawing.buying_sheets import buying_sheets
from plangen.drawing.draft import Draft, Numbers, SheetStyle
from plangen.drawing.ruled_table import Column, Table
from plangen.drawing.table_flow import Passage, flow, side_by_side
from plangen.drawing.text_block import note_width, paragraph
from plangen.drawing.wording import ORIGIN_SHORT, SIZE_ORDER, capital, finished_text, plain_words, rough_text
from plangen.facts import PlanFacts
from plangen.joinery.model import Member
from plangen.stock.cutting_list import CuttingRow
from plangen.units import UnitStyle, length_text_with_unit

_SIZE_NAMES = ("Length", "Width", "Thickness")


def list_drafts(facts: PlanFacts, style: SheetStyle, numbers: Numbers) -> tuple[Draft, ...]:
    """Cutting list, materials and hardware."""
    return (*_cutting_sheets(facts, style, numbers), *buying_sheets(facts, style))


def plain_drafts(facts: PlanFacts, style: SheetStyle) -> tuple[Draft, ...]:
    """The plain parts, where they do not stand on the sheet of the cutting list."""
    if _with_plain_parts(facts, style, lambda key: "S-00") is not None:
        return ()
    return plain_parts(_plain_members(facts), facts, style)


def _plain_members(facts: PlanFacts) -> list[Member]:
    return [m for m in facts.bench.members if m.is_plain]


def _cutting_sheets(facts: PlanFacts, style: SheetStyle, numbers: Numbers) -> tuple[Draft, ...]:
    together = _with_plain_parts(facts, style, numbers)
    if together is not None:
        return (together,)
    table = cutting_table(facts.cutting, facts.style, numbers)
    notes = side_by_side(_cutting_notes(facts), style)
    passage = Passage("cutting list", "Cutting list", "What to cut, by stock", [table], notes)
    return flow(passage, style, tuple(row.mark for row in facts.cutting))


def _with_plain_parts(facts: PlanFacts, style: SheetStyle, numbers: Numbers) -> Draft | None:
    """Cutting list and plain parts on one sheet; None where there are no plain parts or the sheet is too small."""
    plain = _plain_table(_plain_members(facts), facts)
    if plain is None:
        return None
    passage = Passage(
        "cutting list", "Cutting list and plain parts", "What to cut, by stock",
        [cutting_table(facts.cutting, facts.style, numbers), plain],
        [_plain_note(), *side_by_side(_cutting_notes(facts), style)],
    )  # fmt: skip
    drafts = flow(passage, style, tuple(m.mark for m in _plain_members(facts)), "parts table")
    return replace(drafts[0], document_type="Cutting list") if len(drafts) == 1 else None


def _cutting_notes(facts: PlanFacts) -> list[str]:
    notes = ["Sizes are finished sizes of the square piece that holds the part."]
    if any(row.origin in ("fitted", "formed", "eye") for row in facts.cutting):
        notes.append("Where the length is a guide, cut it long and fit it on the work.")
    notes.append(_roughing(facts))
    if blanks := _blanks(facts.cutting, facts.style):
        notes.append(blanks)
    return notes


def _roughing(facts: PlanFacts) -> str:
    """From the finished size back to the rough one, in words."""
    allowed, style = facts.supply.allowances, facts.style
    free = [r for r in facts.cutting if r.stock.kind not in ("sheet", "bought")]
    if not free:
        return "Sheet goods are cut to the rough size, which is that of the square piece."

    def size(mm: float) -> str:
        return length_text_with_unit(mm, style)

    words = f"Rough: {size(allowed.length)} on the length of solid wood for both ends"
    if any(r.stock.width is None for r in free):
        words += f", {size(allowed.width)} on the width of boards without a width of their own for both edges"
    if any(r.stock.kind == "quarter" for r in free):
        words += ", quarter stock as thick as it comes"
    words += "."
    if any(r.panel for r in facts.cutting):
        words += f" Boards to be glued up have {size(allowed.glued)} on the width of each for jointing."
    return words


def _blanks(rows: Sequence[CuttingRow], style: UnitStyle) -> str:
    """Which rough pieces are not one board for one part."""
    said = []
    for row in rows:
        if row.panel is not None:
            each = length_text_with_unit(row.panel.rough, style)
            said.append(f"{row.mark}: glued up from {row.panel.boards} boards, each {each} wide.")
        elif row.pair is not None:
            said.append(
                f"{row.mark}: two head to foot from {length_text_with_unit(row.pair, style)} of width."
            )
    return " ".join(said)


def cutting_table(rows: Sequence[CuttingRow], style: UnitStyle, numbers: Numbers) -> Table:
    """The column of lengths says where each comes from, unless all are cut to the figure."""
    order = SIZE_ORDER[style.length]
    letters = "LWT"
    told = any(row.origin != "worked" for row in rows)
    columns = (
        Column("Mark"), Column("Part", wraps=True), Column("Qty", "right"), Column("L/R", "middle"),
        Column("Stock", wraps=True),
        *(Column(f"{letters[i]}", "right") for i in order),
        *(Column(f"Rough {letters[i]}", "right") for i in order),
        *([Column("Length", wraps=True)] if told else []), Column("Sheet"),
    )  # fmt: skip
    cells = []
    links = []
    for row in rows:
        sheet = numbers(f"part {row.mark}")
        hands = f"{row.left}/{row.right}" if row.left or row.right else ""
        cells.append(
            (
                row.mark,
                capital(row.name) if row.role == "work" else f"{capital(row.name)} (jig)",
                str(row.quantity),
                hands,
                row.stock.name,
                *(finished_text(row.finished[i], style) for i in order),
                *(rough_text(row.rough[i], row.finished[i], style) for i in order),
                *([ORIGIN_SHORT[row.origin]] if told else []),
                sheet or "",
            )
        )
        links.append(sheet)
    return Table(f"Parts to make ({style.length})", columns, tuple(cells), tuple(links))


def _plain_table(members: Sequence[Member], facts: PlanFacts) -> Table | None:
    """The rectangular parts without a feature; None where there are none to make."""
    marks = {m.mark for m in members}
    rows = [r for r in facts.cutting if r.mark in marks]
    if not rows:
        return None
    order = SIZE_ORDER[facts.style.length]
    columns = (
        Column("Mark"), Column("Part", wraps=True), Column("Make", "right"), Column("Stock", wraps=True),
        *(Column(_SIZE_NAMES[i], "right") for i in order),
        Column("Grain along"), Column("Length is", wraps=True), Column("Notes", wraps=True),
    )  # fmt: skip
    notes = {m.mark: "; ".join(map(plain_words, m.notes)) for m in members}
    cells = tuple(
        (
            r.mark, capital(r.name), str(r.quantity), r.stock.name,
            *(finished_text(r.finished[i], facts.style) for i in order),
            r.grain, ORIGIN_SHORT[r.origin], notes[r.mark],
        )
        for r in rows
    )  # fmt: skip
    return Table(f"Plain parts ({facts.style.length})", columns, cells)


def _plain_note() -> Block:
    return paragraph(
        "Plain parts: all corners square, nothing cut into them. Face side and face edge are any true pair; "
        "mark them as on the other sheets.",
        note_width(),
    )


def plain_parts(members: Sequence[Member], facts: PlanFacts, style: SheetStyle) -> tuple[Draft, ...]:
    """The rectangular parts without a feature, in one table: no sheet of their own."""
    table = _plain_table(members, facts)
    if table is None:
        return ()
    purpose = "Parts that are cut to size and nothing more"
    passage = Passage("plain parts", "Plain parts", purpose, [table], [_plain_note()])
    return flow(passage, style, tuple(r[0] for r in table.rows), "parts table")
