"""The sheets of marking out: side by side, gauges and bevels once each, letters of the joints, story sticks.

Every size stands here as its part sheet prints it; nothing is measured again.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

from plangen.dimensioning.marking import BevelSetting, Gang, GaugeSetting, Line, Served, StoryStick
from plangen.drawing.block import Block, stacked
from plangen.drawing.draft import Draft, SheetStyle, free_field
from plangen.drawing.joint_letters import letter_tables
from plangen.drawing.member_views import view_words
from plangen.drawing.ruled_table import Column, Table
from plangen.drawing.ruler_marks import ruler_marks
from plangen.drawing.story_stick import stick_block
from plangen.drawing.table_flow import MARGIN, Passage, flow
from plangen.drawing.text_block import heading, note_width, paragraph
from plangen.drawing.wording import capital, has_other_hand, joined
from plangen.facts import PlanFacts
from plangen.joinery.model import Member
from plangen.units import LengthUnit

_BETWEEN = 1.5
"""Room between two notes, mm."""

_CUT_WORDS = {
    "clearance": "clearance hole", "pilot": "pilot hole", "bolt": "bolt hole", "dowel": "dowel hole", "peg": "peg hole",
    "end": "sloping end", "turned place": "turning",
}  # fmt: skip
_SIZES = "Sizes are those of the part sheets. Where a sheet calls a part symmetric, mark the same from the other end."
_KNIFE = "Knife lines that will show as a shoulder, pencil the others; hatch the waste before the pieces are parted."
_ONWARD = "12 + 45: a line at 12, the next 45 farther on."
_HANDS = "Of two hands laid together square the lines over both; what slopes runs the opposite way on the other hand."
_TWICE = "An angle that stands twice is not quite the same twice: its marks on the rule are the nearer."
_LETTERS = (
    "Write a joint's letter on both parts where they meet, before the dry fit; keep it until the glue is dry."
)


def marking_drafts(facts: PlanFacts, style: SheetStyle) -> tuple[Draft, ...]:
    """None for a piece with nothing to mark: a single part, or plain parts that nothing joins."""
    members = {m.mark: m for m in facts.bench.members}
    units = facts.style.length
    out = facts.marking
    tables = [
        *_table(
            f"Side by side, ends A flush ({units})", _GANG_COLUMNS, [_gang_row(g, members) for g in out.gangs]
        ),
        *_table(f"Gauges, each set once ({units})", _GAUGE_COLUMNS, [_gauge_row(g) for g in out.gauges]),
        *_bevel_tables(out.bevels, units),
        *letter_tables(facts.joint_marks, members),
    ]
    if not tables and not out.sticks:
        return ()
    field = free_field(f"{style.small} portrait")
    blocks = [*_notes(facts, members), *_sticks(facts, members, field[2] - field[0] - 2 * MARGIN)]
    purpose = "Marked together, gauged once, from one stick"
    return flow(Passage("marking out", "Marking out", purpose, tables, blocks), style)


def _table(title: str, columns: tuple[Column, ...], rows: Sequence[tuple[str, ...]]) -> list[Table]:
    return [Table(title, columns, tuple(rows))] if rows else []


def _notes(facts: PlanFacts, members: dict[str, Member]) -> Iterator[Block]:
    """What holds for the tables that are there, in two halves, which may stand on two sheets."""
    out = facts.marking
    lines = [*(line for g in out.gangs for line in g.lines), *(line for s in out.sticks for line in s.lines)]
    printed = [p for b in out.bevels for p in b.printed]
    said = {
        _SIZES: True,
        _KNIFE: True,
        _ONWARD: any(line.then for line in lines),
        _HANDS: any(has_other_hand(members[mark]) for g in out.gangs for mark in g.parts),
        _TWICE: len(set(printed)) < len(printed),
        _LETTERS: bool(facts.joint_marks),
    }
    rows = [paragraph(text, note_width(), hanging="•") for text, holds in said.items() if holds]
    half = len(rows) // 2
    yield stacked("how to mark out", [heading("How to mark out"), *rows[:half]], _BETWEEN)
    yield stacked("and further", rows[half:], _BETWEEN)


# --- side by side --------------------------------------------------------------------------------------------

_GANG_COLUMNS = (Column("Parts", wraps=True), Column("Side up"), Column("Lines at, from end A", wraps=True))


def _gang_row(gang: Gang, members: dict[str, Member]) -> tuple[str, ...]:
    parts = joined([_pieces(members[mark]) for mark in gang.parts])
    first = members[gang.parts[0]]
    return (parts, "any" if first.is_round else view_words(gang.up, first), "; ".join(_cuts(gang)))


def _pieces(member: Member) -> str:
    hands = " of both hands" if has_other_hand(member) else ""
    return f"{member.quantity} x {member.mark}{hands}"


def _cuts(gang: Gang) -> Iterator[str]:
    """What is cut, with all its lines: ``notch 3 9/16, 6 5/8``."""
    groups: dict[tuple[tuple[str, ...], tuple[str, ...]], list[Line]] = {}
    for line in gang.lines:
        groups.setdefault((line.cuts, line.parts), []).append(line)
    for (cuts, parts), lines in groups.items():
        own = "" if parts == gang.parts else f" ({joined(parts)} only)"
        yield f"{joined([cut_words(c) for c in cuts])} {', '.join(map(line_words, lines))}{own}"


def line_words(line: Line) -> str:
    """``28 + 36``: the line, and what is measured on from it."""
    return " + ".join((line.printed, *(t.lower() for t in line.then)))


def cut_words(kind: str) -> str:
    return _CUT_WORDS.get(kind, kind)


# --- gauges --------------------------------------------------------------------------------------------------

_GAUGE_COLUMNS = (
    Column("Gauge"), Column("Set to", "right"), Column("Pins apart", "right"), Column("For", wraps=True),
)  # fmt: skip
_BEVEL_COLUMNS = (Column("Angle"), Column("As marks on a rule"), Column("Parts", wraps=True))
_FEW_BEVELS = 5


def _gauge_row(setting: GaugeSetting) -> tuple[str, ...]:
    """A second line too far off for a pin stands behind the first."""
    pins = setting.apart if setting.tool == "mortise gauge" else None
    on = f" + {setting.apart}" if setting.apart and pins is None else ""
    return (capital(setting.tool), f"{setting.printed}{on}", pins or "", "; ".join(_served(setting.serves)))


def _served(serves: Sequence[Served]) -> Iterator[str]:
    """``half lap of E, H and J from the face side``."""
    groups: dict[tuple[str, str | None], list[str]] = {}
    for s in serves:
        marks = groups.setdefault((s.kind, s.origin), [])
        if s.mark not in marks:
            marks.append(s.mark)
    for (kind, origin), marks in groups.items():
        where = "in the middle" if origin is None else f"from the {origin}"
        yield f"{cut_words(kind)} of {joined(marks)} {where}"


def _bevel_tables(settings: Sequence[BevelSetting], units: LengthUnit) -> list[Table]:
    """Two settings a row where there are many, down the left half first."""
    rows = [_bevel_row(s, units) for s in settings]
    columns: tuple[Column, ...] = _BEVEL_COLUMNS
    if len(rows) > _FEW_BEVELS:
        half = (len(rows) + 1) // 2
        columns = (*columns, *columns)
        rows = [(*a, *b) for a, b in itertools.zip_longest(rows[:half], rows[half:], fillvalue=("", "", ""))]
    return _table("Sliding bevel, each set once", columns, rows)


def _bevel_row(setting: BevelSetting, units: LengthUnit) -> tuple[str, ...]:
    try:
        marks = ruler_marks(setting.value, units)
    except ValueError:
        marks = ""
    return (" or ".join(setting.printed), marks, joined(setting.parts))


# --- sticks --------------------------------------------------------------------------------------------------


def _sticks(facts: PlanFacts, members: dict[str, Member], width: float) -> Iterator[Block]:
    for n, stick in enumerate(facts.marking.sticks, 1):
        yield stick_block(n, stick, _stick_words(stick, members), width, facts.style.length)


def _stick_words(stick: StoryStick, members: dict[str, Member]) -> str:
    kinds: dict[str, list[str]] = {}
    for mark, kind in stick.uses:
        kinds.setdefault(mark, []).append(cut_words(kind))
    parts: dict[str, list[str]] = {}
    for mark, words in kinds.items():
        parts.setdefault(joined(words), []).append(_pieces(members[mark]))
    uses = "; ".join(f"{words} of {joined(pieces)}" for words, pieces in parts.items())
    start = "end A" if stick.axis == "length" else "the face edge"
    return f"{capital(uses)}. The circle lies at {start}."
