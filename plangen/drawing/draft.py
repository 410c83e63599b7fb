"""Drafts: sheets drawn but not yet numbered, and their finishing with frame and title block."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from plangen.drawing.frame import framed_sheet
from plangen.drawing.lettering import Box2
from plangen.drawing.marks import Mark, Sheet, ViewOnSheet
from plangen.drawing.placing_rule import Method
from plangen.drawing.text_block import sheet_head
from plangen.drawing.title_block import TitleFields
from plangen.tables.paper import DEFAULT_SHEETS
from plangen.units import LengthUnit

SheetKind: TypeAlias = Literal[
    "cover", "elevations", "details", "part", "assembly", "parts table", "set-ups", "lists", "notes"
]


@dataclass(frozen=True)
class Draft:
    """A sheet without number, frame and title block. ``marks`` stand on the sheet where they will be."""

    key: str
    """What links ask for: ``cover``, ``elevations``, ``part B``."""
    title: str
    purpose: str
    """What the sheet is for, at the head of it."""
    document_type: str
    kind: SheetKind
    paper: str
    marks: tuple[Mark, ...]
    views: tuple[ViewOnSheet, ...] = ()
    members: tuple[str, ...] = ()
    scale: str = "none"
    """For the title block."""
    alt: str = ""
    also: tuple[tuple[str, str], ...] = ()
    """Keys and titles of other topics that begin or go on on the sheet."""


@dataclass(frozen=True)
class SheetStyle:
    """What all sheets of a set share."""

    small: str
    """``Letter`` or ``A4``."""
    large: str
    """What elevations are drawn on."""
    method: Method
    units: LengthUnit


@dataclass(frozen=True)
class SetFields:
    """What every title block of the set says."""

    owner: str
    title: str
    revision: str
    date: str
    creator: str
    approver: str
    units: str
    design: str
    version: str


def sheet_papers(paper: str | None, large: bool, units: LengthUnit) -> tuple[str, str]:
    """Names of the small paper, and of that for elevations."""
    if paper is None:
        small, big = DEFAULT_SHEETS[units]
    else:
        small, big = ("A4", "A3") if paper == "A4" else ("Letter", "Tabloid")
    return small, big if large else small


def larger_papers(small: str) -> tuple[str, ...]:
    """The paper and those of its series that are larger, in order."""
    series = _A_SERIES if small in _A_SERIES else _LETTER_SERIES
    return series[series.index(small) :]


_A_SERIES = ("A4", "A3", "A2", "A1")
_LETTER_SERIES = ("Letter", "Tabloid", "ANSI C", "ANSI D")


def free_field(paper: str) -> Box2:
    """The field below the head of a sheet, mm on the sheet."""
    return sheet_head(framed_sheet(paper, _BLANK).field, "", "")[1]


def beside_block(paper: str) -> Box2 | None:
    """The room left beside the title block, None where there is none."""
    return framed_sheet(paper, _BLANK).beside


_BLANK = TitleFields(
    owner="", title="", document_type="", number="", sheet=1, sheets=1, revision="", date="", creator="",
    approver="", scale="", method="third", units="", design="", version="",
)  # fmt: skip


def number_of(index: int) -> str:
    """``S-01`` for the first sheet."""
    return f"S-{index + 1:02d}"


def finish_sheets(drafts: Sequence[Draft], fields: SetFields, method: Method) -> tuple[Sheet, ...]:
    """The drafts in order, numbered, each in its frame."""
    return tuple(_finish(d, i, len(drafts), fields, method) for i, d in enumerate(drafts))


def _finish(draft: Draft, index: int, count: int, fields: SetFields, method: Method) -> Sheet:
    number = number_of(index)
    title_fields = TitleFields(
        owner=fields.owner,
        title=fields.title,
        document_type=draft.document_type,
        number=number,
        sheet=index + 1,
        sheets=count,
        revision=fields.revision,
        date=fields.date,
        creator=fields.creator,
        approver=fields.approver,
        scale=draft.scale,
        method=method,
        units=fields.units,
        design=fields.design,
        version=fields.version,
    )
    framed = framed_sheet(draft.paper, title_fields)
    head, _ = sheet_head(framed.field, draft.title, draft.purpose)
    return Sheet(
        number=number,
        title=draft.title,
        kind=draft.kind,
        width=framed.width,
        height=framed.height,
        paper=draft.paper,
        marks=(*framed.marks, *head, *draft.marks),
        views=draft.views,
        members=draft.members,
        bookmark=f"{number}  {draft.title}",
        alt=draft.alt,
    )


Numbers: TypeAlias = Callable[[str], str | None]
"""The number of the sheet of a key, None where there is no such sheet."""
