"""Sizes in both units on paper, the second in square brackets."""

from __future__ import annotations

import functools
import re
from pathlib import Path

import pytest

from plangen.drawing.both_units import bracketed, in_both_units
from plangen.drawing.general_notes import general_blocks
from plangen.drawing.marks import Group, Lettering
from plangen.facts import plan_facts
from plangen.units import STYLES

JOINTS = Path(__file__).parents[1] / "designs" / "joints"
TEXT = (JOINTS / "mortise-and-tenon.yaml").read_text(encoding="utf-8")


@functools.cache
def facts(asked):
    found, findings = plan_facts((TEXT + f"\ndrawing: {{both units: {asked}}}\n").encode(), "both.yaml")
    assert found is not None, findings
    return found


@pytest.mark.parametrize(
    ("printed", "value", "unit", "both"),
    [
        ("3 15/16", 100.0125, "mm", "3 15/16 [100]"),
        ("(31 3/8)", 796.7, "mm", "(31 3/8 [797])"),
        ("3 x Ø 3/32 THRU", 2.38, "mm", "3 x Ø 3/32 [2] THRU"),
        ("""6' 7 1/2\"""", 2019.3, "mm", """6' 7 1/2" [2019]"""),
        ("R85", 85.0, "in", "R85 [3 3/8]"),
        ("200 ON FACE EDGE", 200.0, "in", "200 [7 7/8] ON FACE EDGE"),
    ],
)
def test_the_second_unit_stands_in_brackets_behind_the_size(printed, value, unit, both):
    assert bracketed(printed, value, STYLES[unit]) == both


def test_it_is_rounded_from_the_work_not_from_the_first_as_printed():
    assert bracketed("25", 24.6, STYLES["in"]) == "25 [15/16]"  # 25 mm would be 1 in to 1/16


def test_every_length_of_the_sheets_has_it_and_no_angle():
    plain, both = facts("no"), in_both_units(facts("yes"))
    assert in_both_units(plain) is plain
    for sheet in both.figures:
        for figure in sheet.figures:
            assert ("[" in figure.printed) == (figure.kind != "angular"), figure.printed
    assert all("[" in f.printed for f in both.elevation_figures if f.kind == "linear")


def test_the_proof_and_the_first_figures_are_the_same_with_and_without():
    plain, asked = facts("no"), facts("yes")
    assert plain.figures == asked.figures
    told = in_both_units(asked)
    for ours, theirs in zip(plain.figures, told.figures, strict=True):
        for a, b in zip(ours.figures, theirs.figures, strict=True):
            assert re.sub(r" \[[^]]*\]", "", b.printed) == a.printed


def words_in(marks):
    for mark in marks:
        if isinstance(mark, Lettering):
            yield mark.text
        elif isinstance(mark, Group):
            yield from words_in(mark.marks)


def test_the_notes_say_what_stands_in_brackets():
    def notes(asked):
        return " ".join(t for block in general_blocks(facts(asked), 120.0) for t in words_in(block.marks))

    assert "square brackets" in notes("yes")
    assert "square brackets" not in notes("no")
