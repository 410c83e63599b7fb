"""Sheets of lists: what to cut, what to buy, the plain parts; each list flows over as many sheets as it needs."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from plangen.drawing.block import Block
from plangen.drawing.draft import Draft, Numbers, SheetKind, SheetStyle, free_field
from plangen.drawing.lettering import Box2
from plangen.drawing.marks import Mark
from plangen.drawing.ruled_table import Column, Table, least_width, table_blocks
from plangen.drawing.text_block import note_width, paragraph
from plangen.drawing.wording import ORIGIN_SHORT, SIZE_ORDER, capital, joined, mass_text, plain_words
from plangen.facts import PlanFacts
from plangen.joinery.model import Member
from plangen.stock.cutting_list import CuttingRow
from plangen.stock.materials_list import MaterialRow
from plangen.units import MM_PER_FOOT, UnitStyle, length_text, length_text_with_unit, mixed_text

MARGIN = 6.0
_GAP = 8.0
_SIZE_NAMES = ("Length", "Width", "Thickness")
_UNIT_PLURALS = {
    "piece": ("piece", "pieces"),
    "sheet": ("sheet", "sheets"),
    "board foot": ("board foot", "board feet"),
    "square foot": ("square foot", "square feet"),
    "square metre": ("m²", "m²"),
}


def list_drafts(facts: PlanFacts, style: SheetStyle, numbers: Numbers) -> tuple[Draft, ...]:
    """Cutting list, materials and hardware."""
    return (*_cutting_sheets(facts, style, numbers), *_buying_sheets(facts, style))


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
    return _flow(
        "cutting list", "Cutting list", "What to cut, by stock",
        [cutting_table(facts.cutting, facts.style, numbers)], style, [_cutting_note(facts)],
        tuple(row.mark for row in facts.cutting),
    )  # fmt: skip


def _with_plain_parts(facts: PlanFacts, style: SheetStyle, numbers: Numbers) -> Draft | None:
    """Cutting list and plain parts on one sheet; None where there are no plain parts or the sheet is too small."""
    plain = _plain_table(_plain_members(facts), facts)
    if plain is None:
        return None
    drafts = _flow(
        "cutting list", "Cutting list and plain parts", "What to cut, by stock",
        [cutting_table(facts.cutting, facts.style, numbers), plain], style,
        [_plain_note(), _cutting_note(facts)], tuple(m.mark for m in _plain_members(facts)), "parts table",
    )  # fmt: skip
    return drafts[0] if len(drafts) == 1 else None


def _cutting_note(facts: PlanFacts) -> Block:
    words = (
        "Sizes are finished sizes of the square piece that holds the part. "
        "Rough sizes allow for trimming and jointing."
    )
    if any(row.origin in ("fitted", "formed", "eye") for row in facts.cutting):
        words += " Where the length is a guide, cut it long and fit it on the work."
    return paragraph(words, note_width())


def cutting_table(rows: Sequence[CuttingRow], style: UnitStyle, numbers: Numbers) -> Table:
    order = SIZE_ORDER[style.length]
    letters = "LWT"
    columns = (
        Column("Mark"), Column("Part", wraps=True), Column("Qty", "right"), Column("L/R", "middle"),
        Column("Stock", wraps=True),
        *(Column(f"{letters[i]}", "right") for i in order),
        *(Column(f"Rough {letters[i]}", "right") for i in order),
        Column("Length", wraps=True), Column("Sheet"),
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
                *(length_text(row.finished[i], style) for i in order),
                *(length_text(row.rough[i], style) for i in order),
                ORIGIN_SHORT[row.origin],
                sheet or "",
            )
        )
        links.append(sheet)
    return Table(f"Parts to make ({style.length})", columns, tuple(cells), tuple(links))


def _buying_sheets(facts: PlanFacts, style: SheetStyle) -> tuple[Draft, ...]:
    tables = [materials_table(facts.materials, facts.style)] if facts.materials else []
    if facts.hardware:
        tables.append(hardware_table(facts))
    if not tables:
        return ()
    return _flow(
        "materials", "What to buy", "For the timber yard and the hardware counter", tables, style, []
    )


def materials_table(rows: Sequence[MaterialRow], style: UnitStyle) -> Table:
    columns = (
        Column("Ask for", wraps=True), Column("Buy", "left", wraps=True), Column("For parts", wraps=True),
        Column("Not used", "right"), Column("Parts weigh", "right"), Column("Remarks", wraps=True),
    )  # fmt: skip
    cells = tuple(
        (
            capital(row.stock.name),
            _buy_text(row, style),
            ", ".join(row.marks),
            f"{100 * row.waste:.0f} %",
            mass_text(row.mass, style.length) if row.mass is not None else "",
            " ".join(capital(n) for n in row.notes),
        )
        for row in rows
    )
    return Table("Wood and sheet goods", columns, cells)


def _buy_text(row: MaterialRow, style: UnitStyle) -> str:
    if row.pieces:
        parts = [f"{p.count} of {_yard_length(p.length, style)}" for p in row.pieces if p.count]
        spare = f", {row.spare} of them spare" if row.spare else ""
        return f"{joined(parts)}{spare}"
    one, many = _UNIT_PLURALS[row.unit]
    count = _amount(row.quantity)
    size = ""
    if row.unit == "sheet" and row.stock.sheet is not None:
        # inch sheets are asked for width first: 4 ft x 8 ft
        sides = sorted(row.stock.sheet, reverse=style.length == "mm")
        size = f" of {' x '.join(_yard_length(s, style) for s in sides)}"
    return f"{count} {one if row.quantity == 1 else many}{size}"


def _amount(quantity: Fraction) -> str:
    return mixed_text(quantity) if quantity.denominator in (1, 2, 4, 8, 12) else f"{float(quantity):.1f}"


def _yard_length(mm: float, style: UnitStyle) -> str:
    """In the yard's own unit: feet for inch lengths of whole feet, metres for metric ones."""
    feet = Fraction(mm).limit_denominator(10000) / MM_PER_FOOT
    if style.length == "in":
        whole = round(float(feet), 6)
        return f"{whole:g} ft" if whole == int(whole) else length_text_with_unit(mm, style)
    return f"{mm / 1000:.2f} m"


def hardware_table(facts: PlanFacts) -> Table:
    columns = (
        Column("Item", wraps=True), Column("Size", wraps=True), Column("Needed", "right"),
        Column("Spare", "right"), Column("Buy", "right"), Column("Use", wraps=True),
    )  # fmt: skip
    cells = tuple(
        (
            capital(row.name),
            row.size,
            str(row.quantity),
            str(row.spare) if row.spare else "",
            str(row.quantity + row.spare),
            "; ".join(row.uses),
        )
        for row in facts.hardware
    )
    return Table("Hardware", columns, cells)


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
            *(length_text(r.finished[i], facts.style) for i in order),
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
    return _flow(
        "plain parts", "Plain parts", "Parts that are cut to size and nothing more", [table], style,
        [_plain_note()], tuple(r[0] for r in table.rows), "parts table",
    )  # fmt: skip


def _flow(
    key: str,
    title: str,
    purpose: str,
    tables: Sequence[Table],
    style: SheetStyle,
    notes: Sequence[Block],
    members: tuple[str, ...] = (),
    kind: SheetKind = "lists",
) -> tuple[Draft, ...]:
    """Tables one after another, then the notes, down as many sheets as they take; on upright paper where that takes
    fewer and no word need be broken."""
    paper = f"{style.small} landscape"
    pages = _filled(paper, tables, notes)
    upright = f"{style.small} portrait"
    if len(pages) > 1 and all(least_width(t) <= _room(upright)[2] - _room(upright)[0] for t in tables):
        others = _filled(upright, tables, notes)
        if len(others) < len(pages):
            paper, pages = upright, others
    many = len(pages) > 1
    return tuple(
        Draft(
            key=key if i == 0 else f"{key} {i + 1}",
            title=f"{title} ({i + 1} of {len(pages)})" if many else title,
            purpose=purpose,
            document_type=capital(title.lower()),
            kind=kind,
            paper=paper,
            marks=tuple(page),
            members=members if i == 0 else (),
            alt=title,
        )
        for i, page in enumerate(pages)
    )


def _room(paper: str) -> Box2:
    field = free_field(paper)
    return (field[0] + MARGIN, field[1] + MARGIN, field[2] - MARGIN, field[3] - MARGIN)


def _filled(paper: str, tables: Sequence[Table], notes: Sequence[Block]) -> list[list[Mark]]:
    """The marks of each sheet."""
    room = _room(paper)
    pages: list[list[Mark]] = [[]]
    top = room[3]

    def place(block: Block) -> None:
        nonlocal top
        pages[-1].append(block.placed(room[0], top))
        top -= block.height + _GAP

    full = room[3] - room[1]
    for table in tables:
        pieces = table_blocks(table, room[2] - room[0], (max(0.0, top - room[1]), full))
        for i, piece in enumerate(pieces):
            if i:
                pages.append([])
                top = room[3]
            if piece.marks:
                place(piece)
    for note in notes:
        if note.height > top - room[1]:
            pages.append([])
            top = room[3]
        place(note)
    return pages
