"""Sizes in both units, the second in square brackets: from the model, never from the first as printed.

On paper only; the figures of plan.json and their proof are in the unit of the design alone.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from typing import TypeVar

from plangen.dimensioning.figures import AssemblyFigure, ElevationFigure, Figure, MemberFigures
from plangen.dimensioning.marking import marking_out
from plangen.facts import PlanFacts
from plangen.units import STYLES, LengthUnit, UnitStyle, length_text

_NUMBER = re.compile(r"\(?(?:\d+ x )?\D*(?:\d+' ?)?(?:\d+ \d+/\d+|\d+/\d+|\d+(?:\.\d+)?)?\"?")
"""Up to the end of the first size: ``4 x Ø 3/8``, ``REBATE 3/8``, ``6' 7 1/2"``."""
_Plain = TypeVar("_Plain", ElevationFigure, AssemblyFigure)


def other_unit(unit: LengthUnit) -> LengthUnit:
    return "mm" if unit == "in" else "in"


def in_both_units(facts: PlanFacts) -> PlanFacts:
    """The facts with every length of the sheets' figures in both units, where the design asks for it."""
    if not facts.design.drawing.both_units:
        return facts
    style = STYLES[other_unit(facts.style.length)]
    figures = tuple(_of_sheet(s, style) for s in facts.figures)
    return replace(
        facts,
        figures=figures,
        marking=marking_out(facts.bench, figures),
        elevation_figures=tuple(_plain(f, style) for f in facts.elevation_figures),
        assembly_figures=tuple(
            replace(a, figures=tuple(_plain(f, style) for f in a.figures)) for a in facts.assembly_figures
        ),
    )


def bracketed(printed: str, value: float, style: UnitStyle) -> str:
    """``3 15/16 [100]``, ``(4 x Ø 3/8 [10] THRU)``: the second unit behind the first size that is printed."""
    found = _NUMBER.match(printed)
    if found is None:
        return printed
    return f"{found[0]} [{length_text(value, style)}]{printed[found.end() :]}"


def _plain(figure: _Plain, style: UnitStyle) -> _Plain:
    if figure.kind == "angular":
        return figure
    return replace(figure, printed=bracketed(figure.printed, figure.value, style))


def _of_sheet(sheet: MemberFigures, style: UnitStyle) -> MemberFigures:
    said: dict[str, list[tuple[str, str]]] = {}
    for f in sheet.figures:
        if f.said_by and f.kind != "angular":
            bare = f.printed.strip("()")
            said.setdefault(f.said_by, []).append((bare, bracketed(bare, f.value, style)))

    def figures() -> Iterator[Figure]:
        for f in sheet.figures:
            if f.kind == "angular":
                yield f
                continue
            text = f.printed
            for bare, both in said.get(f.id, ()):
                head, found, tail = text.rpartition(bare)
                text = f"{head}{both}{tail}" if found else text
            yield replace(f, printed=bracketed(text, f.value, style))

    return replace(sheet, figures=tuple(figures()))
