"""A size has one number: what a part's sheet prints between its outermost points is what the lists print."""

from __future__ import annotations

import csv
import io
import re
from fractions import Fraction

import pytest
from worked_out import DESIGNS, facts_of, given

from plangen.drawing.wording import size_text
from plangen.export.csv_lists import cutting_list_csv
from plangen.units import as_length, read_quantity

_SIDES = ("length", "width", "thickness")
_NUMBER = re.compile(r"\(?(\d+ \d+/\d+|\d+/\d+|\d+(?:\.\d+)?)")


def _mm(text: str, units) -> Fraction:
    return as_length(read_quantity(text, units), units)


def _outermost(member, figure, axis) -> bool:
    """Between the lowest and the highest corner of the part along the axis."""
    if figure.kind != "linear" or abs(figure.direction[axis]) < 1 - 1e-9:
        return False
    places = sorted(p[axis] for p in figure.points)
    return (
        abs(places[0] - member.solid.vertices[:, axis].min()) < 1e-4
        and abs(places[1] - member.solid.vertices[:, axis].max()) < 1e-4
    )


@pytest.mark.parametrize("path", DESIGNS, ids=lambda p: p.stem)
def test_the_cutting_list_prints_the_overall_sizes_of_the_part_sheets(path):
    facts = facts_of(path)
    units = facts.style.length
    text = cutting_list_csv(facts.cutting, facts.style).decode()
    cells = {row["mark"]: row for row in csv.DictReader(io.StringIO(text, newline=""))}
    rows = {row.mark: row for row in facts.cutting}
    members = {m.mark: m for m in facts.bench.members}
    compared = 0
    for sheet in facts.figures:
        for axis, side in enumerate(_SIDES):
            listed = _mm(cells[sheet.mark][f"{side} ({units})"], units)
            assert listed <= _mm(cells[sheet.mark][f"rough {side} ({units})"], units), (sheet.mark, side)
            for figure in sheet.figures:
                if _outermost(members[sheet.mark], figure, axis):
                    printed = _NUMBER.match(figure.printed)[1]
                    assert listed == _mm(printed, units), (sheet.mark, figure.id)
                    assert printed in size_text(rows[sheet.mark].finished, facts.style).split(" x ")
                    compared += 1
    assert compared > 0


@given("garden-gate")
def test_what_an_angle_leaves_open_is_laid_so_that_the_overall_length_is_nearest(path):
    """The brace: 58 degrees governs its end, so (59) serves the overall length: 59 + 1026 = 1085, true 1085.4."""
    facts = facts_of(path)
    mark = next(m.mark for m in facts.bench.members if m.name == "brace")
    sheet = next(s for s in facts.figures if s.mark == mark)
    end, over = (
        next(f for f in sheet.figures if f.id == i) for i in ("end 1 end A over width", "overall length")
    )
    length = next(f for f in sheet.figures if f.id == "length")
    assert (end.reference, over.reference, length.reference) == (True, True, False)
    assert end.value + end.off + length.value + length.off == pytest.approx(over.value + over.off)
    assert abs(over.off) < 0.5
