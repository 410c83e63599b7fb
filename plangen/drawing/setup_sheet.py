"""Set-up sheets: every cut, grouped by machine and setting in the order of the work, a card with a picture for each.

The grammar of the words is in ``setup_words.py``.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from plangen.drawing.block import Block, balanced, spaced, stacked
from plangen.drawing.draft import Draft, SheetStyle, free_field
from plangen.drawing.lettering import LINE_PITCH, wrap
from plangen.drawing.mark_geometry import polyline, rectangle
from plangen.drawing.marks import Lettering, Mark, Stroke
from plangen.drawing.round_a_picture import round_a_picture
from plangen.drawing.ruler_marks import ruler_marks
from plangen.drawing.setup_cards import Card, CardMaker, Entry, Section
from plangen.drawing.setup_names import runs_text
from plangen.drawing.setup_picture import picture_room, setup_picture
from plangen.drawing.setup_scene import SetupScene
from plangen.drawing.setup_words import Field, other_scales, setting_fields, setting_title
from plangen.drawing.text_block import paragraph
from plangen.drawing.wording import joined
from plangen.facts import PlanFacts
from plangen.machining.printed import angle_figure
from plangen.machining.scrap_test import Along, Bases, How, Opening, ScrapTest, plane_slopes, scrap_test
from plangen.machining.setup import Machining, Setting, Setup, Tilt
from plangen.tables.cautions import DEFERRAL
from plangen.units import MM_PER_INCH, LengthUnit, UnitStyle, length_text, length_text_with_unit

LETTERS, TITLES = 2.5, 3.5
_MARGIN, _GAP, _CLOSE = 4.0, 2.5, 0.8
_PICTURE = (34.0, 21.0)
_BESIDE, _ROW_GAP = 2.0, 0.4
_COLUMN_GAP = 5.0
_LINES: tuple[tuple[str, ...], ...] = (
    ("For", "State", "Exactly", "Lay", "Left", "Ahead", "Roll"),
    ("Stop", "Fence", "Hole", "Touches", "Run", "Turn", "Line", "Waste", "Leaves", "Wide", "Deep"),
    (
        "On",
        "Waste free",
        "Passes",
        "Left standing",
        "Cut too far",
        "Block",
        "Keep",
        "On edge",
        "Only by hand",
    ),
    ("Sight",),
    ("Caution",),
)
"""The fields that stand on a line together, where there is room."""
_SHORT = {"Scale that reads 90": "other scales", "Hand": "hand way", "Test": "scrap"}
_SET = ("Along", "Swing", "Taper", "Tilt", "Fence", "Raise")
"""What the operator sets, in larger letters."""
_BASES: dict[LengthUnit, Bases] = {
    "mm": Bases(100.0, 40.0, 300.0),
    "in": Bases(4 * 25.4, 1.5 * 25.4, 12 * 25.4),
}
_READING: dict[LengthUnit, Fraction] = {"mm": Fraction(1, 2), "in": MM_PER_INCH / 32}
"""What can be read off a rule with care."""


_SHOP = "Guards, push sticks, clamps and least lengths: as the machines' makers and the rules of the shop have them."


def setup_drafts(facts: PlanFacts, style: SheetStyle) -> tuple[Draft, ...]:
    """None where nothing is cut."""
    machining = facts.machining
    if not machining.setups:
        return ()
    paper = f"{style.small} portrait"
    field = free_field(paper)
    x0, y0, x1, y1 = (field[0] + _MARGIN, field[1] + _MARGIN, field[2] - _MARGIN, field[3] - _MARGIN)
    head = _conventions(facts, x1 - x0)
    width = (x1 - x0 - _COLUMN_GAP) / 2
    pieces = _pieces(machining, facts, width)
    full = y1 - y0
    columns = _filled(pieces, (full - head.height - _GAP,) * 2, full)
    pages = [columns[i : i + 2] for i in range(0, len(columns), 2)]
    return tuple(
        Draft(
            key="set-ups" if n == 0 else f"set-ups {n + 1}",
            title="Set-ups" if len(pages) == 1 else f"Set-ups ({n + 1} of {len(pages)})",
            purpose="Every cut in its order; tick off as you go",
            document_type="Set-ups",
            kind="set-ups",
            paper=paper,
            marks=(
                *([head.placed(x0, y1)] if n == 0 else []),
                *_columns(page, (x0, x0 + width + _COLUMN_GAP), y1 - (head.height + _GAP if n == 0 else 0.0)),
            ),
            members=tuple(dict.fromkeys(m for column in page for p in column for m in p.members)),
            alt=f"Set-ups of the cuts of {facts.design.title}",
        )
        for n, page in enumerate(pages)
    )


@dataclass(frozen=True)
class _Piece:
    """A block that is not parted, the marks of the members that are cut on it, and what is left free over it."""

    block: Block
    members: tuple[str, ...]
    over: float = _GAP


def _line_of(setup: Setup) -> str:
    return (
        "as drawn on the part sheet; full size on its template"
        if setup.outline
        else "as drawn on the part sheet"
    )


def _filled(pieces: Sequence[_Piece], first: Sequence[float], further: float) -> list[list[_Piece]]:
    """The pieces in columns, the first of them of the heights ``first``."""
    columns: list[list[_Piece]] = []
    used = math.inf
    for piece in pieces:
        room = first[len(columns) - 1] if 0 < len(columns) <= len(first) else further
        if used + piece.over + piece.block.height > room:
            columns.append([])
            used = -piece.over
        columns[-1].append(piece)
        used += piece.over + piece.block.height
    return columns


def _columns(columns: Sequence[Sequence[_Piece]], lefts: Sequence[float], top: float) -> list[Mark]:
    marks: list[Mark] = []
    for column, left in zip(columns, lefts, strict=False):
        down = -column[0].over
        for piece in column:
            marks.append(piece.block.placed(left, top - down - piece.over))
            down += piece.over + piece.block.height
    return marks


# --- the head ---------------------------------------------------------------------------------------------


def _conventions(facts: PlanFacts, width: float) -> Block:
    step = length_text_with_unit(facts.style.step, facts.style)
    texts = [
        "Left and right are yours: facing the fence at mitre saw, drill press and bandsaw; behind the mitre gauge or "
        "sled at the saw table; where work is fed along a fence, with that at your right hand, ahead the way it goes.",
        "Swing left: the far end of the blade's line goes left; a mitre saw's handle then goes right, a mitre gauge's "
        "left end forward. Tilt left: the top of the blade leans left. By hand the bevel gauge is set off square, by "
        "rise in run on a rule.",
        *_lean_texts(facts.machining.settings),
        "A and B: the ends on the part sheets. A loop marks the face side. Places count from the blank's end A, face "
        "edge and back: A 120, edge 20, back 5.",
        "In the pictures waste is hatched, chain lines are the blade or the middle of a hole, wide lines with strokes "
        "behind are fence and table. The first cut of a card is shown, with the others of its hand.",
        "Test each angled setting in scrap before its first piece, and keep it until the last. The gap at the far side "
        "shows twice what the setting is out; wider by so much (+) it is so many degrees too much.",
        *_test_texts(_hows(facts)),
        f"Scales read 0 when the tool is square. Lengths to {step}, angles to 0.1°.",
    ]
    own = (width - _COLUMN_GAP) / 2
    rows = [line for t in texts for line in _lines(t, own)]
    columns = balanced("conventions", rows, 2, 400.0) or ()
    placed = tuple(c.placed(i * (own + _COLUMN_GAP), 0.0) for i, c in enumerate(columns))
    notes = Block("conventions", placed, width, max(c.height for c in columns))
    return stacked("head", [notes, _caution(width)], _GAP)


def _lines(text: str, width: float) -> list[Block]:
    """A block for each line of the text behind its bullet, so that columns come out level."""
    indent, pitch = 2 * LETTERS, LINE_PITCH * LETTERS
    words = [
        Lettering(t, (indent, -LETTERS), LETTERS, fractions=False)
        for t in wrap(text, width - indent, LETTERS)
    ]
    rows = [Block("line", (word,), width, pitch) for word in words]
    bullet = Lettering("•", (0.0, -LETTERS), LETTERS)
    first = replace(rows[0], marks=(bullet, *rows[0].marks))
    return [*(first, *rows[1:])[:-1], spaced((first, *rows[1:])[-1], _ROW_GAP)]


def _lean_texts(settings: Sequence[Setting]) -> list[str]:
    """How a raised table or wedge and a leaning fence are told, where there are any."""
    at_jointer = [s.machine == "jointer" for s in settings if s.tilt is not None]
    texts = []
    if not all(at_jointer):
        texts.append(
            "Raise: the work lies tilted; bearings of its high side count from your right (0°) over ahead (90°) and "
            "left (180°) to near you (270°)."
        )
    if any(at_jointer):
        texts.append("Fence of the jointer: its top leans so far from square, in over the table or out.")
    return texts


def _hows(facts: PlanFacts) -> set[How]:
    operation = {s.index: s.operation for s in facts.machining.setups}
    bases = _BASES[facts.style.length]
    tests = [scrap_test(s, operation[s.setups[0]], bases) for s in facts.machining.settings if s.setups]
    return {t.how for t in tests if t is not None}


def _caution(width: float) -> Block:
    """As on other sheets, in the small letters of this one."""
    pad = 1.5
    rows = [
        paragraph("CAUTION", width - 2 * pad, TITLES, "bold"),
        paragraph(f"{DEFERRAL} {_SHOP}", width - 2 * pad, LETTERS),
    ]
    words = stacked("caution", rows, 1.0)
    height = words.height + 2 * pad
    frame = Stroke(rectangle((0.0, -height, width, 0.0)), "outline", True)
    return Block("caution", (frame, words.placed(pad, -pad)), width, height)


def _pieces(machining: Machining, facts: PlanFacts, width: float) -> list[_Piece]:
    maker = CardMaker(machining, facts.model.members, facts.style)
    seen: dict[tuple[str, ...], int] = {}
    pieces: list[_Piece] = []
    for section in maker.sections(_line_of):
        pieces += _section_pieces(section, maker, facts.style, width, seen)
    return pieces


# --- sections ---------------------------------------------------------------------------------------------


def _section_pieces(
    section: Section, maker: CardMaker, style: UnitStyle, width: float, seen: dict[tuple[str, ...], int]
) -> list[_Piece]:
    """The heading stays with the first cut. ``seen``: the settings by whose tests later ones go, and grows."""
    head = _heading(section, style, width, seen)
    first, *rest = [piece for card in section.cards for piece in _card(card, maker, width)]
    return [replace(first, block=stacked("setting", [head, first.block], _GAP)), *rest]


def _heading(section: Section, style: UnitStyle, width: float, seen: dict[tuple[str, ...], int]) -> Block:
    setting = section.setting
    if setting is None:
        rows = [paragraph("BY HAND", width, TITLES, "bold")]
    else:
        rows = [paragraph(setting_title(setting), width, TITLES, "bold")]
        fields = setting_fields(setting, style)
        large = [f for f in fields if f[0] in _SET]
        small = [f for f in fields if f[0] not in _SET]
        if large:
            rows.append(_words(large, width, TITLES))
        small += _aids(setting, section.cards[0].setups[0], style, seen)
        rows += [_words(small, width)] if small else []
    block = stacked("heading", rows, 0.8)
    rule = Stroke(polyline((0.0, 0.0), (width, 0.0)), "outline")
    return Block("heading", (rule, block.placed(0.0, -1.5)), width, block.height + 1.5)


def _aids(setting: Setting, first: Setup, style: UnitStyle, seen: dict[tuple[str, ...], int]) -> list[Field]:
    """Other scales, the hand way, the test; by reference where an earlier setting has the same."""
    fields = [
        *other_scales(setting, style),
        *_hand_fields(setting, first, style),
        *_test_fields(setting, first, style),
    ]
    key = tuple(text for _, text in fields)
    if not key:
        return []
    earlier = seen.setdefault(key, setting.index)
    if earlier == setting.index:
        return fields
    return [("Test", f"{joined([_SHORT[label] for label, _ in fields])} as at setting {earlier}")]


def _words(fields: Sequence[Field], width: float, letters: float = LETTERS) -> Block:
    return paragraph(_sentences(fields), width, letters, fractions=False)


def _sentences(fields: Sequence[Field]) -> str:
    return " ".join(f"{label}: {text}." for label, text in fields)


def _hand_fields(setting: Setting, first: Setup, style: UnitStyle) -> list[Field]:
    """The same plane by bevel gauge and rule: its lines on the face and on the edge of the work."""
    if first.operation not in ("crosscut", "kerf", "rip", "taper", "trench", "plane"):
        return []
    x, y, z = (abs(c) for c in plane_slopes(setting))
    if first.operation == "plane":
        # an edge planed on its table: what falls off square is its breadth
        y, z = z, y
    along = x < y
    square = y if along else x
    lines = (("along the face" if along else "across the face", x if along else y), ("down the edge", z))
    found = []
    for where, rise in lines:
        degrees = math.degrees(math.atan2(rise, square))
        if degrees >= 0.05:
            found.append(f"{where} {angle_figure(degrees, style)}{_marks(degrees, style)}")
    return [("Hand", f"bevel gauge {'; '.join(found)}")] if found else []


def _marks(degrees: float, style: UnitStyle) -> str:
    try:
        return f" ({ruler_marks(degrees, style.length)})"
    except ValueError:
        return ""  # less than a rule shows


def _test_fields(setting: Setting, first: Setup, style: UnitStyle) -> list[Field]:
    if first.rolled is not None:
        # of round work in a cradle the table is raised by the second alone
        setting = replace(setting, tilt=Tilt(abs(first.rolled[1]), 0.0))
    test = scrap_test(setting, first.operation, _BASES[style.length])
    return [] if test is None else [("Test", _test_words(test, style))]


_HOW: dict[How, str] = {
    "end to end": "saw a scrap across, turn one part over, butt the cut ends, edges in line",
    "edge to edge": "rip a scrap in two, turn one part over end for end, put the cut edges together again",
    "planed edges": "plane two scraps, turn one end for end with the same face up, put the planed edges together",
    "face to face": "cut two scraps, lay the cut faces together, edges in line, level at one side",
    "on a rod": "bore two scraps, put both on one rod, turn one half round; the faces part beside the rod",
    "against a square": "saw a scrap in two, turn one part over, hold the cut faces together in a square",
}
_ALONG: dict[Along, str] = {
    "width": "across",
    "thickness": "through",
    "length": "along",
    "trench": "of the floors along the cut",
    "cut": "of the floors across the cut",
    "side": "beside",
}


def _test_texts(hows: set[How]) -> list[str]:
    """How the tests are made that the settings ask for."""
    return [f"{how}: {words}." for how, words in _HOW.items() if how in hows]


def _test_words(test: ScrapTest, style: UnitStyle) -> str:
    """The reading to expect in scrap, and what another one means."""
    reading = float(_READING[style.length])
    if test.how == "against a square":
        base = test.openings[0].base
        error = math.degrees(math.atan(reading / base)) / 2
        return f"{test.how}, no light; {_fine(reading, style)} over {_fine(base, style)} is {error:.2f}° out"
    parts = [
        f"{_fine(o.gap, style)} over {_fine(o.base, style)} {_ALONG[o.along]} "
        f"(+{_fine(reading, style)} is {_error(o, reading)}°)"
        for o in test.openings
    ]
    return f"{test.how} {', '.join(parts)}"


def _error(opening: Opening, reading: float) -> str:
    return f"{opening.error(reading):.2f}"


def _fine(mm: float, style: UnitStyle) -> str:
    return length_text(mm, UnitStyle(style.length, _READING[style.length], style.angle_step))


# --- cards ------------------------------------------------------------------------------------------------


def _card(card: Card, maker: CardMaker, width: float) -> list[_Piece]:
    """The title, the picture and round it the first cut's words; then the other cuts, each named by the first."""
    first, *others = card.entries
    blocks = [_titled(first, width), _body(card, maker.picture(card), width)]
    further = [_Piece(_further(e, width), _marks_of(e), _CLOSE) for e in others]
    return [_Piece(stacked("card", blocks, _CLOSE), card.members), *further]


def _marks_of(entry: Entry) -> tuple[str, ...]:
    return tuple(dict.fromkeys(s.member for s in entry.setups))


def _titled(entry: Entry, width: float) -> Block:
    """A square to tick and the title."""
    indent = TITLES + 1.5
    title = paragraph(entry.title, width - indent, TITLES, "bold")
    return Block("title", (_square(TITLES), title.placed(indent, 0.0)), width, title.height)


def _square(size: float) -> Stroke:
    return Stroke(rectangle((0.0, -0.2 - size, size, -0.2)), "narrow", True)


def _body(card: Card, scene: SetupScene | None, width: float) -> Block:
    given = dict(card.entries[0].fields)
    rows = [[(label, given[label]) for label in labels if label in given] for labels in _LINES]
    texts = [_sentences(fields) for fields in rows if fields]
    if scene is None:
        return round_a_picture(texts, width, LETTERS, (0.0, 0.0), _ROW_GAP)
    across, high = picture_room(scene, *_PICTURE)
    words = round_a_picture(texts, width, LETTERS, (across + _BESIDE, high), _ROW_GAP)
    return Block("cut", (*words.marks, setup_picture(scene, across, high)), width, words.height)


def _further(entry: Entry, width: float) -> Block:
    """A cut that only differs from the first, in one paragraph."""
    indent = LETTERS + 1.5
    words = paragraph(f"{entry.title} {_sentences(entry.fields)}", width - indent, LETTERS, fractions=False)
    return Block("entry", (_square(LETTERS), words.placed(indent, 0.0)), width, words.height)


def cut_numbers(machining: Machining, mark: str) -> str:
    """``3 to 9, 14``: the cuts of a member."""
    return runs_text(sorted(s.index for s in machining.setups if s.member == mark))
