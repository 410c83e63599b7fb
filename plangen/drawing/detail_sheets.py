"""Sheets of joints drawn large: a section through every different joint, at a standard larger scale."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from plangen.dimensioning.joint_details import JointDetail, joint_details
from plangen.drawing.block import Block
from plangen.drawing.draft import Draft, SheetStyle, free_field
from plangen.drawing.figure_marks import NoteAt, PaperFigure, flat_direction, lay_figures, place_note
from plangen.drawing.lettering import Box2, text_width
from plangen.drawing.mark_geometry import box_corners, rectangle
from plangen.drawing.marks import Lettering, Mark, Stroke
from plangen.drawing.occupied import Occupied
from plangen.drawing.panel import Panel, titled_panel
from plangen.drawing.placed_panel import (
    Band,
    PlacedPanel,
    bands_fit,
    centred_bands,
    drawn_in_place,
    row_band,
    stand_bands,
)
from plangen.drawing.section_view import (
    LETTERS,
    HatchStyle,
    SectionView,
    hatch_lines,
    hatching,
    lay_section,
    paper_rings,
    part_letters,
    section_view,
)
from plangen.drawing.view_on_paper import PaperView
from plangen.drawing.wording import capital
from plangen.facts import PlanFacts
from plangen.geometry.curves import Vec2
from plangen.geometry.hatching import hatch
from plangen.geometry.vectors import dot
from plangen.tables.scales import SCALES, Scale
from plangen.units import LengthUnit

_TEXTS: dict[LengthUnit, tuple[str, ...]] = {
    "mm": ("2:1", "1:1", "1:2", "1:5"),
    "in": ("full size", "6 in = 1 ft", "3 in = 1 ft"),
}
"""Of details, largest first (``common practice``): twice, full size, half and a fifth; full, half and quarter."""
_CAPS = (150.0, 125.0, 105.0, 88.0, 74.0, 62.0, 50.0)
"""Millimetres on paper that the longer side of a section may take: the first at which the sheet holds all."""
_LEAST_SIZE = 3.0
_MOST_ON_A_SHEET = 6
_MARGIN, _KEY_GAP = 4.0, 4.0
_SWATCH = (14.0, 6.0)
_KEY = (
    ("End grain", HatchStyle("end grain", 45.0, (2.0,))),
    ("Long grain", HatchStyle("long grain", 0.0, (1.2, 1.9, 1.0))),
    ("Sheet goods", HatchStyle("sheet", 0.0, (1.2,))),
    ("Metal", HatchStyle("metal", 45.0, (0.8, 1.6))),
    ("Cut lengthwise: screws, dowels, wedges, loose tenons", HatchStyle("not hatched", 0.0, ())),
)


@dataclass(frozen=True)
class _Part:
    """A section with the scales at which it may be drawn."""

    section: SectionView
    scales: tuple[Scale, ...]

    def scale(self, cap: float) -> Scale:
        """The largest at which the section is no longer than ``cap``; larger where a size would print too small."""
        size, least = self._size, _least(self.section.detail)
        scale = next((s for s in self.scales if size * float(s.ratio) <= cap), self.scales[-1])
        if least * float(scale.ratio) < _LEAST_SIZE:
            legible = [s for s in reversed(self.scales) if least * float(s.ratio) >= _LEAST_SIZE]
            scale = next((s for s in legible if size * float(s.ratio) <= _CAPS[0]), scale)
        return scale

    def larger(self, scale: Scale) -> Scale | None:
        """The next larger scale, None where there is none or the section would be too large for a sheet."""
        steps = [s for s in reversed(self.scales) if s.ratio > scale.ratio]
        return steps[0] if steps and self._size * float(steps[0].ratio) <= _CAPS[0] else None

    @property
    def _size(self) -> float:
        """Its longer side, millimetres of the work."""
        return max(self.section.view.width, self.section.view.height)

    @property
    def stuffs(self) -> set[str]:
        """What is cut in it, and whether something stands white in it."""
        found = {p.style.stuff for p in self.section.parts}
        return {*found, *(["not hatched"] if self.section.axes else [])}


def _least(detail: JointDetail) -> float:
    """The smallest distance stated, millimetres of the work."""
    kinds = ("linear", "depth")
    return min((f.figure.value for f in detail.figures if f.figure.kind in kinds), default=math.inf)


def details_of(facts: PlanFacts) -> tuple[JointDetail, ...]:
    """A detail for every different joint of the piece."""
    touching = [c for c in facts.contacts if c.touches]
    lettered = [(c.joint, c.touches, m.letter) for c, m in zip(touching, facts.joint_marks, strict=True)]
    return joint_details(facts.model, facts.bench, facts.figures, lettered)


def detail_drafts(facts: PlanFacts, style: SheetStyle, details: Sequence[JointDetail]) -> tuple[Draft, ...]:
    """As few sheets as hold all details; none for a piece without joints that cut anything."""
    texts = _TEXTS[style.units]
    scales = tuple(s for s in SCALES[style.units] if s.text in texts)
    parts = [_Part(section_view(facts.model, d), scales) for d in details]
    for count in range(math.ceil(len(parts) / _MOST_ON_A_SHEET), len(parts) + 1):
        sheets = [_filled(style, chunk) for chunk in _shared(parts, count)]
        if all(s is not None for s in sheets):
            return tuple(
                _draft(style, placed, n, len(sheets)) for n, placed in enumerate(s for s in sheets if s)
            )
    return ()


def _shared(parts: Sequence[_Part], count: int) -> list[Sequence[_Part]]:
    """The parts in order in ``count`` heaps as equal as can be."""
    if count == 0:
        return []
    ends = [round(len(parts) * k / count) for k in range(count + 1)]
    return [parts[a:b] for a, b in itertools.pairwise(ends)]


_Filled = tuple[str, list[PlacedPanel], list[_Part]]


def _filled(style: SheetStyle, parts: Sequence[_Part]) -> _Filled | None:
    """Paper and places of the panels, as large as the sheet allows; None where not even the smallest fit."""
    tried: list[Scale] = []
    for cap in _CAPS:
        scales = [p.scale(cap) for p in parts]
        if scales != tried:
            tried = scales
            panels = [_panel(p.section, s) for p, s in zip(parts, scales, strict=True)]
            for way in ("landscape", "portrait"):
                room = _room(f"{style.small} {way}", parts)
                if _placed(panels, room) is not None:
                    return f"{style.small} {way}", _enlarged(parts, panels, room), list(parts)
    return None


def _enlarged(parts: Sequence[_Part], panels: Sequence[Panel], room: Box2) -> list[PlacedPanel]:
    """The panels in their places, those at the smallest scales a step larger where the room allows it."""
    kept = list(panels)
    for n in sorted(range(len(parts)), key=lambda k: (panels[k].paper.scale.ratio, k)):
        larger = parts[n].larger(kept[n].paper.scale)
        if larger is not None:
            tried = [*kept[:n], _panel(parts[n].section, larger), *kept[n + 1 :]]
            if _placed(tried, room) is not None:
                kept = tried
    placed = _placed(kept, room)
    assert placed is not None, "they fitted before"
    return placed


def _room(paper: str, parts: Sequence[_Part]) -> Box2:
    x0, y0, x1, y1 = free_field(paper)
    key = _key(x1 - x0 - 2 * _MARGIN, parts)
    return (x0 + _MARGIN, y0 + _MARGIN + key.height + _KEY_GAP, x1 - _MARGIN, y1 - _MARGIN)


def _placed(panels: Sequence[Panel], room: Box2) -> list[PlacedPanel] | None:
    """In rows from the top, as many beside one another as there is room for; None where they do not fit."""
    bands: list[Band] = []
    row: list[Panel] = []
    for panel in panels:
        if row and row_band([*row, panel], room) is None:
            bands.append(_band(row, room))
            row = []
        if row_band([panel], room) is None:
            return None
        row.append(panel)
    bands.append(_band(row, room))
    return stand_bands(centred_bands(bands, room), room) if bands_fit(bands, room) else None


def _band(row: Sequence[Panel], room: Box2) -> Band:
    band = row_band(row, room)
    assert band is not None, "only rows that fit are made"
    return band


def _draft(style: SheetStyle, filled: _Filled, index: int, count: int) -> Draft:
    paper, placed, parts = filled
    marks, views = drawn_in_place(placed)
    x0, y0, x1, _ = free_field(paper)
    key = _key(x1 - x0 - 2 * _MARGIN, parts)
    marks.append(key.placed(x0 + _MARGIN, y0 + _MARGIN + key.height))
    first = placed[0].panel.paper.scale
    one = all(p.panel.paper.scale == first for p in placed)
    said = "; ".join(f"{_words(p.section.detail)}: {_stated(p.section.detail)}" for p in parts)
    return Draft(
        key="joint details" if index == 0 else f"joint details {index + 1}",
        title="Joints" + (f", sheet {index + 1} of {count}" if count > 1 else ""),
        purpose="Cut through; (figures) of the part sheets",
        document_type="Sections and details",
        kind="details",
        paper=paper,
        marks=tuple(marks),
        views=views,
        scale=first.text if one else "as shown",
        alt=f"Sections through joints. {said}",
    )


def _stated(detail: JointDetail) -> str:
    return ", ".join(f.printed for f in detail.figures) or "no figures"


def _words(detail: JointDetail) -> str:
    """``Half lap, C to A``."""
    (first, _), (second, _) = detail.parts
    return f"{capital(detail.joint.kind)}, {first.mark} to {second.mark}"


# --- one detail -------------------------------------------------------------------------------------------


def _panel(section: SectionView, scale: Scale) -> Panel:
    paper = lay_section(section, scale)
    occupied = Occupied()
    occupied.add(paper.marks)
    figures = _paper_figures(section, paper)
    laid, crowded = lay_figures(figures, paper.box, LETTERS, occupied)
    written: list[Mark] = [*laid, *part_letters(section, paper.factor, occupied)]
    occupied.add(written[len(laid) :])
    for note in _unlettered(section, paper, written):
        found = place_note(note, paper.box, LETTERS, occupied)
        occupied.add(found.marks)
        written += found.marks
        crowded += found.crowded
    marks = (*hatching(section, paper.factor, written), *paper.marks, *written)
    detail = section.detail
    title = f"{detail.letter}–{detail.letter}  {_words(detail)}  {scale.ratio_text}"
    return titled_panel(paper, marks, title, occupied, crowded)


def _paper_figures(section: SectionView, paper: PaperView) -> list[PaperFigure]:
    """Distances as the section shows them; diameters across their axis, or where they say more as a note."""
    found: list[PaperFigure] = []
    for n, f in enumerate(section.detail.figures):
        own, projection = f.figure, paper.view.projection
        points = tuple(paper.at(q) for q in f.points)
        kind, way = own.kind, flat_direction(f.direction, projection)
        if f.axis is not None:
            middle = _middle(points)
            if " " in f.printed.strip("()").removeprefix("Ø "):
                kind, points = "depth", (_corner_near(section, f.mark, paper.factor, middle),)
            else:
                kind, way = "linear", _across(dot(projection.right, f.axis), dot(projection.up, f.axis))
                half = own.value / 2 * paper.factor
                points = tuple(
                    (middle[0] + s * way[0] * half, middle[1] + s * way[1] * half) for s in (-1, 1)
                )
        found.append(PaperFigure(f"{n:02d} {own.id}", kind, f.printed, own.value, points, way, own.tier, ""))
    return found


def _across(x: float, y: float) -> Vec2:
    """Square to a direction on paper, unit."""
    size = math.hypot(x, y)
    return (-y / size, x / size)


def _corner_near(section: SectionView, mark: str, k: float, at: Vec2) -> Vec2:
    """The corner of what is cut of a part that lies nearest."""
    corners = [
        p for part in section.parts if part.member.mark == mark for r in paper_rings(part, k) for p in r
    ]
    return min(corners, key=lambda p: (round(math.dist(p, at), 3), p), default=at)


def _middle(points: Sequence[Vec2]) -> Vec2:
    (ax, ay), (bx, by) = points[:2]
    return (ax + bx) / 2, (ay + by) / 2


def _unlettered(section: SectionView, paper: PaperView, written: Sequence[Mark]) -> list[NoteAt]:
    """Letters on leaders for the parts whose cut faces have no room for them."""
    lettered = {m.text for m in written if isinstance(m, Lettering)}
    notes: dict[str, NoteAt] = {}
    for part in section.parts:
        mark = part.member.mark
        if mark in lettered or mark in notes:
            continue
        inside = hatch(paper_rings(part, paper.factor), 20.0, (0.7,))
        if inside:
            line = max(inside, key=lambda c: round(math.dist(c.start, c.end), 3))
            notes[mark] = NoteAt(f"mark {mark}", mark, line.at(0.5), 0.0, "dot")
    return list(notes.values())


# --- the key ----------------------------------------------------------------------------------------------


def _key(width: float, parts: Sequence[_Part]) -> Block:
    """What the hatching on the sheet means, in one row or more."""
    there = set().union(*(p.stuffs for p in parts))
    marks: list[Mark] = []
    x, down = 0.0, 0.0
    w, h = _SWATCH
    for text, style in (k for k in _KEY if k[1].stuff in there):
        need = w + 2.0 + text_width(text, LETTERS)
        if x > 0 and x + need > width:
            x, down = 0.0, down + h + 3.0
        box = (x, -down - h, x + w, -down)
        marks.append(Stroke(rectangle(box), "cut outline", True))
        marks += [Stroke((line,), "narrow") for line in hatch_lines([box_corners(box)], style, ())]
        marks.append(Lettering(text, (x + w + 2.0, -down - h / 2 - LETTERS / 2), LETTERS))
        x += need + 8.0
    return Block("hatching", tuple(marks), width, down + h)
