"""The plan set as sheets: what comes in which order, numbered, every reference leading to its sheet."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import replace

from plangen import __version__
from plangen.dimensioning.mates import mates_of
from plangen.drawing.assembly_sheet import assembly_drafts
from plangen.drawing.both_units import in_both_units
from plangen.drawing.breaking_down import breakdown_drafts
from plangen.drawing.cover import IndexLine, cover_drafts
from plangen.drawing.detail_sheets import detail_drafts, details_of
from plangen.drawing.draft import (
    Draft,
    Numbers,
    SetFields,
    SheetStyle,
    finish_sheets,
    number_of,
    sheet_papers,
)
from plangen.drawing.elevations import elevation_drafts
from plangen.drawing.exploded import exploded_drafts
from plangen.drawing.list_sheets import list_drafts, plain_drafts
from plangen.drawing.marking_sheets import marking_drafts
from plangen.drawing.marks import Group, Lettering, Mark, Sheet
from plangen.drawing.part_sheet import PartWork, part_drafts
from plangen.drawing.placing_rule import Method
from plangen.drawing.setup_sheet import cut_numbers, setup_drafts
from plangen.drawing.stage_sheets import stage_drafts
from plangen.drawing.step_sheets import step_drafts
from plangen.drawing.whole_piece import project_whole, side_of
from plangen.drawing.wording import capital
from plangen.drawing.work_notes import work_drafts
from plangen.facts import PlanFacts
from plangen.joinery.model import Member
from plangen.stock.cutting_list import row_of
from plangen.units import length_text

_STAND_IN = "S-00"
"""For the number of a sheet that is not known yet."""
_UNITS = {"in": "inches", "mm": "mm"}
_DEFAULT_METHOD: dict[str, Method] = {"in": "third", "mm": "first"}


def compose_sheets(facts: PlanFacts) -> tuple[Sheet, ...]:
    """Every sheet of the set in reading order: cover and notes, elevations, joints, what to buy, what to cut, the
    parts in the order of the cutting list, plain parts, marking out, set-ups, assemblies, stages, order of work."""
    facts = in_both_units(facts)
    style = sheet_style(facts)
    whole = project_whole(facts.model, side_of(facts.elevation_figures, style.method))
    joints = details_of(facts)
    elevations = elevation_drafts(facts, style, whole, joints)
    details = detail_drafts(facts, style, joints)
    parts = _part_drafts(facts, style)
    plain = plain_drafts(facts, style)
    marking = marking_drafts(facts, style)
    cuts = setup_drafts(facts, style)
    together = assembly_drafts(facts, style)
    apart = exploded_drafts(facts, style)
    broken_down = breakdown_drafts(facts, style)
    work = (*stage_drafts(facts, style), *step_drafts(facts, style), *work_drafts(facts, style))

    def arranged(numbers: Numbers, index: Sequence[IndexLine]) -> tuple[Draft, ...]:
        front = cover_drafts(facts, style, whole, index)
        return (
            *front,
            *elevations,
            *details,
            *apart,
            *list_drafts(facts, style, numbers),
            *broken_down,
            *(_with_set_ups(d, numbers) for d in parts),
            *plain,
            *marking,
            *cuts,
            *together,
            *work,
        )

    # numbers depend on how many sheets there are, and that not on the numbers themselves
    drafts = arranged(lambda key: _STAND_IN, (IndexLine(_STAND_IN, ""),))
    count = 0
    while count != len(drafts):
        count = len(drafts)
        drafts = arranged(_numbering(drafts), _index(drafts, facts.model.members))
    return finish_sheets(drafts, _set_fields(facts), style.method)


def _index(drafts: Sequence[Draft], members: Sequence[Member]) -> tuple[IndexLine, ...]:
    """A line for all sheets that continue one another, and one for every part."""
    lines: list[IndexLine] = []
    names = {m.mark: m for m in members}
    for topic, group in itertools.groupby(enumerate(drafts), key=lambda item: _topic(item[1])):
        sheets = [(number_of(i), draft) for i, draft in group]
        first, head = sheets[0]
        if head.kind != "part" and all(line.title != topic for line in lines):
            lines.append(IndexLine(first, topic))
        if head.kind in ("part", "parts table"):
            parts = [names[mark] for mark in head.members]
            lines += [IndexLine(first, capital(m.name), m.mark, m.quantity) for m in parts]
        lines += [IndexLine(number, title) for number, draft in sheets for _, title in draft.also]
    return tuple(lines)


def _topic(draft: Draft) -> str:
    """What is the same for all sheets that continue one another."""
    if draft.kind == "cover":
        return "Cover"
    return draft.title.partition(" (")[0].partition(", sheet ")[0]


def sheet_style(facts: PlanFacts) -> SheetStyle:
    """Paper and projection as the design says, else as its unit has it."""
    drawing = facts.design.drawing
    units = facts.style.length
    small, large = sheet_papers(drawing.paper, drawing.large_paper, units)
    return SheetStyle(small, large, drawing.projection or _DEFAULT_METHOD[units], units)


def _part_drafts(facts: PlanFacts, style: SheetStyle) -> tuple[Draft, ...]:
    members = {m.mark: m for m in facts.bench.members}
    figures = {f.mark: f for f in facts.figures}
    drafts: list[Draft] = []
    for row in facts.cutting:
        member = members[row.mark]
        if not member.is_plain:
            own = figures[row.mark]
            mates = mates_of(facts.bench, member, own.figures)
            shown = replace(member, notes=(*member.notes, *_cuts_note(facts, row.mark)))
            drafts += part_drafts(PartWork(shown, row, own, facts.style, style, mates))
    for bar in facts.bent:
        row = row_of(bar.flat, "work", facts.design.units, facts.supply.allowances)
        shown = replace(bar.flat, notes=(*bar.flat.notes, *_cuts_note(facts, bar.flat.mark)))
        drafts += part_drafts(PartWork(shown, row, bar.flat_figures, facts.style, style, bent=bar))
    return tuple(drafts)


def _cuts_note(facts: PlanFacts, mark: str) -> list[str]:
    """Which cuts of the set-up sheets are this part's."""
    numbers = cut_numbers(facts.machining, mark)
    return [f"Cuts {numbers}: see {_STAND_IN}."] if numbers else []


def _with_set_ups(draft: Draft, numbers: Numbers) -> Draft:
    """A part sheet that says where its set-ups are: the figures of all sheet numbers take the same room."""
    number = numbers(f"set-ups {draft.members[0]}")
    return (
        draft if number is None else replace(draft, marks=tuple(_renumbered(m, number) for m in draft.marks))
    )


def _renumbered(mark: Mark, number: str) -> Mark:
    if isinstance(mark, Group):
        return replace(mark, marks=tuple(_renumbered(m, number) for m in mark.marks))
    if isinstance(mark, Lettering) and _STAND_IN in mark.text:
        return replace(mark, text=mark.text.replace(_STAND_IN, number))
    return mark


def _numbering(drafts: tuple[Draft, ...]) -> Numbers:
    """Looks up the number of a sheet by its key; a plain part is found on the sheet of plain parts, the cuts of a part
    on the first of the set-up sheets that has any."""
    by_key: Mapping[str, str] = {
        key: number_of(i) for i, d in enumerate(drafts) for key in (d.key, *(k for k, _ in d.also))
    }
    by_member = {
        f"part {mark}": number_of(i)
        for i, d in enumerate(drafts)
        if d.kind == "parts table"
        for mark in d.members
    }
    by_cut = {
        f"set-ups {mark}": number_of(i)
        for i, d in reversed(list(enumerate(drafts)))
        if d.kind == "set-ups"
        for mark in d.members
    }
    return lambda key: by_key.get(key) or by_member.get(key) or by_cut.get(key)


def _set_fields(facts: PlanFacts) -> SetFields:
    design = facts.design
    revision = design.revisions[-1].letter if design.revisions else ""
    return SetFields(
        owner=design.owner or "",
        title=design.title,
        revision=revision,
        date=design.date or "",
        creator=design.drawn_by or "",
        approver=design.approved_by or "",
        units=f"{_UNITS[facts.style.length]}, to {length_text(facts.style.step, facts.style)}",
        design=facts.sha256[:8],
        version=f"plangen {__version__}",
    )
