"""The foot of a part sheet: what the part is made of, how its angles are set by hand, what to mind."""

from __future__ import annotations

import math
from collections.abc import Sequence

from plangen.dimensioning.figures import MemberFigures
from plangen.drawing.block import Block, stacked
from plangen.drawing.close_lines import without_close_lines
from plangen.drawing.face_marks import face_side_mark
from plangen.drawing.lettering import Box2, text_width
from plangen.drawing.mark_geometry import curves_box, moved_curve, polyline
from plangen.drawing.marks import Group, Lettering, Mark, Stroke
from plangen.drawing.member_views import view_words
from plangen.drawing.ruler_marks import ruler_marks
from plangen.drawing.text_block import paragraph
from plangen.drawing.view_on_paper import ProjectedView, mirrored_curve, scaled_curve
from plangen.drawing.wording import (
    ORIGIN_WORDS,
    capital,
    finished_text,
    has_other_hand,
    make_text,
    mass_text,
    plain_words,
    size_heading,
    size_text,
)
from plangen.geometry.surfaces import Extruded, Plane, Surface
from plangen.joinery.model import Member
from plangen.stock.cutting_list import CuttingRow
from plangen.tables.cautions import CAUTIONS, LIFT_MASS, SHORTEST_AT_A_MACHINE, Occasion
from plangen.units import UnitStyle

_PAD = 3.0
_OVER = 2.0
_SHARES = ((0.36, 0.29, 0.35), (0.44, 0.26, 0.3), (0.32, 0.27, 0.41), (0.3, 0.4, 0.3))
"""Of the width: material, by hand, notes; that is taken at which the blocks are lowest."""
_LOW_SHARES = (0.5, 0.4, 0.6)
"""Of the width beside the material, for by hand."""
_LETTERS = 3.5
_HEAD = 3.5
GAP = 0.8


def foot_blocks(
    member: Member, row: CuttingRow, figures: MemberFigures, style: UnitStyle, width: float
) -> Block:
    """Three blocks side by side, ruled off at the head and from one another, ``width`` mm in all."""
    texts = _texts(member, row, figures, style)
    trials = []
    for shares in _SHARES:
        widths = [share * width for share in shares]
        columns = [_column(t, lines, w - 2 * _PAD) for (t, lines), w in zip(texts, widths, strict=True)]
        trials.append((max(c.height for c in columns) + 2 * _OVER, widths, columns))
    height, widths, columns = min(trials, key=lambda t: round(t[0], 6))
    marks: list[Mark] = [Stroke(polyline((0.0, 0.0), (width, 0.0)), "rule")]
    x = 0.0
    for column, own in zip(columns, widths, strict=True):
        if x:
            marks.append(Stroke(polyline((x, 0.0), (x, -height)), "rule"))
        marks.append(column.placed(x + _PAD, -_OVER))
        x += own
    return Block("part notes", tuple(marks), width, height)


def low_blocks(
    member: Member,
    row: CuttingRow,
    figures: MemberFigures,
    style: UnitStyle,
    width: float,
    beside: tuple[float, float],
) -> Block:
    """The three blocks side by side, the first one going down beside the title block, into the room there of
    width and height ``beside``."""
    (first, *others) = _texts(member, row, figures, style)
    wide, deep = beside
    material = _column(*first, wide - 2 * _PAD)
    trials = []
    for share in _LOW_SHARES:
        widths = [(width - wide) * s for s in (share, 1 - share)]
        columns = [_column(t, lines, w - 2 * _PAD) for (t, lines), w in zip(others, widths, strict=True)]
        trials.append((max(c.height for c in columns), widths, columns))
    height, widths, columns = min(trials, key=lambda t: round(t[0], 6))
    height = max(height, material.height - deep) + 2 * _OVER
    marks: list[Mark] = [Stroke(polyline((0.0, 0.0), (width, 0.0)), "rule"), material.placed(_PAD, -_OVER)]
    x = wide
    for column, own in zip(columns, widths, strict=True):
        marks.append(Stroke(polyline((x, 0.0), (x, -height)), "rule"))
        marks.append(column.placed(x + _PAD, -_OVER))
        x += own
    return Block("part notes", tuple(marks), width, height)


def side_blocks(
    member: Member, row: CuttingRow, figures: MemberFigures, style: UnitStyle, width: float, height: float
) -> Block:
    """The three blocks over one another, ruled off at the left and from one another."""
    marks: list[Mark] = [Stroke(polyline((0.0, 0.0), (0.0, -height)), "rule")]
    down = 0.0
    for title, lines in _texts(member, row, figures, style):
        if down:
            marks.append(Stroke(polyline((0.0, -down), (width, -down)), "rule"))
        column = _column(title, lines, width - 2 * _PAD)
        marks.append(column.placed(_PAD, -down - _OVER))
        down += column.height + 2 * _OVER
    return Block("part notes", tuple(marks), width, max(height, down))


def _texts(
    member: Member, row: CuttingRow, figures: MemberFigures, style: UnitStyle
) -> tuple[tuple[str, list[tuple[str, bool]]], ...]:
    return (
        ("MATERIAL", _material(member, row, style)),
        ("BY HAND", _by_hand(member, figures, style)),
        ("NOTES", _notes(member, figures, style)),
    )


def _column(title: str, texts: Sequence[tuple[str, bool]], width: float) -> Block:
    blocks = [paragraph(title, width, _HEAD, "bold")]
    blocks += [paragraph(t, width, _LETTERS, "bold" if strong else "regular") for t, strong in texts]
    return stacked(title, blocks, GAP)


def _material(member: Member, row: CuttingRow, style: UnitStyle) -> list[tuple[str, bool]]:
    stuff = capital(row.stock.name)
    if member.bent is None:
        stuff += f", grain along the {member.grain}"
    if member.mass is not None:
        stuff += f", {mass_text(member.mass, style.length)} each"
    lines = [
        (make_text(member), True),
        (stuff, False),
        (_size_line(member, row, style), False),
    ]
    if member.length_origin != "worked":
        lines.append((f"Length {ORIGIN_WORDS[member.length_origin]}", False))
    return lines


def _size_line(member: Member, row: CuttingRow, style: UnitStyle) -> str:
    if member.is_round:
        return (
            f"L x Ø: {finished_text(row.finished[0], style)} x {finished_text(max(row.finished[1:]), style)}"
        )
    return f"{size_heading(style.length)}: {size_text(row.finished, style)}"


def _by_hand(member: Member, figures: MemberFigures, style: UnitStyle) -> list[tuple[str, bool]]:
    """Each angle once, as marks on a rule, with the view that shows it."""
    found: dict[str, list[str]] = {}
    for figure in figures.figures:
        if figure.kind != "angular" or figure.said_by or not figure.printed.strip("()").endswith("°"):
            continue
        if abs(figure.value % 90) < 1e-6:
            continue
        words = found.setdefault(figure.printed.strip("()"), [])
        view = view_words(figure.view, member)
        if view not in words:
            words.append(view)
    lines = []
    values = {f.printed.strip("()"): f.value for f in figures.figures}
    for printed, views in found.items():
        try:
            marks = ruler_marks(values[printed], style.length)
        except ValueError:
            continue  # so near to square that no rule shows it
        lines.append((f"{printed} = {marks} ({', '.join(views)})", False))
    if member.bent is not None:
        turns = sorted({round(abs(math.degrees(b.angle)), 1) for b in member.bent.bends})
        lines = [(f"{t:g}° = {ruler_marks(t, style.length)}", False) for t in turns if abs(t % 90) > 1e-6]
        return lines or [("All bends square.", False)]
    if member.is_round and not lines:
        square = not any(f.id.startswith("end ") for f in figures.figures)
        return [("Ends square." if square else "No angles to set.", False)]
    return lines or [
        ("No angles to set." if any(map(_is_aslant, member.surfaces)) else "All corners square.", False)
    ]


def _is_aslant(surface: Surface) -> bool:
    """Not square to the piece, or no plane and no round hole: an outline."""
    form = surface.form
    return isinstance(form, Extruded) or (isinstance(form, Plane) and max(map(abs, form.normal)) < 1.0 - 1e-9)


def _notes(member: Member, figures: MemberFigures, style: UnitStyle) -> list[tuple[str, bool]]:
    lines = [*figures.notes, *(capital(plain_words(n)) for n in member.notes)]
    occasions: list[Occasion] = []
    if member.bent is None and member.finished[0] < SHORTEST_AT_A_MACHINE[style.length]:
        occasions.append("short work")
    if member.mass is not None and member.mass > LIFT_MASS:
        occasions.append("heavy")
    lines += [f"CAUTION: {c.texts[style.length]}" for c in CAUTIONS if c.occasion in occasions]
    return [(text, False) for text in dict.fromkeys(lines)] or [("No special notes.", False)]


def other_hand(member: Member, face: ProjectedView, room: Box2) -> Group | None:
    """A small picture of the opposite hand, its face edge down and so its end A at the right; None for a
    member without one. The letters take the upper part of the room."""
    if not has_other_hand(member):
        return None
    x0, y0, x1, y1 = room
    hand = "RIGHT" if member.drawn == "left" else "LEFT"
    title = f"OPPOSITE HAND ({hand})"
    strokes = [mirrored_curve(s.curve) for s in face.strokes if s.visible and s.kind != "smooth"]
    bx0, by0, bx1, by1 = curves_box(strokes)
    side = text_width("A", _LETTERS) + 2.5
    k = min((x1 - x0 - 8 - 2 * side) / (bx1 - bx0), (y1 - y0 - 8 - _LETTERS - 3) / (by1 - by0))
    middle = ((x0 + x1) / 2, y0 + 4 + (by1 - by0) * k / 2)
    dx, dy = middle[0] - (bx0 + bx1) / 2 * k, middle[1] - (by0 + by1) / 2 * k
    left, right, foot = bx0 * k + dx, bx1 * k + dx, by0 * k + dy
    edges = [Stroke((moved_curve(scaled_curve(c, k), (dx, dy)),), "fine outline") for c in strokes]
    marks: list[Mark] = [*without_close_lines(edges, (left, foot, right, foot + (by1 - by0) * k))]
    size = min(5.0, 0.7 * (by1 - by0) * k)
    marks.append(face_side_mark((middle[0], foot), (0.0, 1.0), size))
    level = middle[1] - _LETTERS / 2
    marks.append(Lettering("B", (left - 1.5, level), _LETTERS, "right"))
    marks.append(Lettering("A", (right + 1.5, level), _LETTERS))
    marks.append(Lettering(title, ((x0 + x1) / 2, y1 - 3 - _LETTERS), _LETTERS, "middle"))
    return Group("opposite hand", tuple(marks))
