"""How far a part may come out when every printed figure is off by half its step, and what is done about it."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from plangen.dimensioning.drift import inverse
from plangen.dimensioning.proof import prove, sheet_findings
from plangen.export.member_json import member_facts
from plangen.facts import plan_facts
from tests.dimensioning.test_members import LEG
from tests.dimensioning.test_sheets_from_outside import Part, corners_of, worst


def test_a_corner_drifts_by_three_half_steps_at_most_or_the_sheet_says_by_how_much(
    design_text, sheets_of, model_of
):
    style = model_of(design_text)[1]
    for member, figures in sheets_of(design_text):
        said = any("may come out" in n for n in figures.notes)
        assert said == (figures.proof.drift > 3 * float(style.step) / 2 + 1e-6), member.name


def test_what_a_sheet_states_is_what_it_was_chosen_for(design_text, sheets_of, model_of):
    """The proof reads only the sheet; it comes to what the choice of figures came to."""
    style = model_of(design_text)[1]
    for member, figures in sheets_of(design_text):
        assert prove(member, figures, style) == figures.proof, member.name


def test_a_part_whose_sheet_lacks_a_figure_is_not_drawn(sheets_of, model_of, monkeypatch):
    model, style = model_of(LEG)
    (member, figures), *_ = sheets_of(LEG)
    fewer = replace(figures, figures=tuple(f for f in figures.figures if f.id != "length"))
    short = replace(figures, proof=prove(member, fewer, style))
    (finding,) = sheet_findings(model, [short])
    assert finding.level == "error"
    assert "leaves open" in finding.text
    monkeypatch.setattr("plangen.facts.dimension_members", lambda *_: (short,))
    facts, findings = plan_facts(LEG.encode(), "short.yaml")
    assert facts is None
    assert any(f.rule == "sheet incomplete" for f in findings)


def test_a_part_with_a_figure_that_follows_from_others_is_not_drawn(sheets_of, model_of):
    model, style = model_of(LEG)
    (member, figures), *_ = sheets_of(LEG)
    width = next(f for f in figures.figures if f.id.startswith("width"))
    twice = replace(figures, figures=(*figures.figures, replace(width, id="width again")))
    (finding,) = sheet_findings(model, [replace(figures, proof=prove(member, twice, style))])
    assert (finding.level, "width again" in finding.text) == ("error", True)


def test_elimination_finds_the_inverse_whatever_the_order_of_rows():
    rows = np.random.default_rng(3).normal(size=(12, 12))
    rows[0, 0] = 0.0
    for order in (slice(None), slice(None, None, -1)):
        assert inverse(rows[order]) @ rows[order] == pytest.approx(np.eye(12), abs=1e-9)


ACUTE = """
title: Sharp strut
units: mm
stock:
  larch: {ask for: 38 x 90 larch, thickness: 38, width: 90}
planes:
  slant: {through point: [0, 0, 38], square to: [-1, 2.38, -1.19]}
  stop: {through point: [329.7, 0, 38], square to: [1, 2.02, -1.33]}
  side: {through point: [0, 74.3, 38], square to: [-0.12, 1, 0.57]}
members:
  strut:
    stock: larch
    place:
      length: right
      width: rear
      edge: {flush with: {through point: [0, 0, 0], square to: front}}
      back: {flush with: {level at: 0, facing: down}}
    trim: {end A: slant, end B: stop, rear: side}
"""
"""Ends so sharp that a rounding along the grain is more than doubled across it; no choice of up and down mends it."""


def test_a_part_whose_corner_comes_out_more_than_a_denominator_off_is_told():
    facts, findings = plan_facts(ACUTE.encode(), "strut.yaml")
    (told,) = [f for f in findings if f.rule == "rounding"]
    assert told.level == "warning"
    assert "strut" in told.text
    member = next(m for m in facts.bench.members if m.name == "strut")
    sheet = next(f for f in facts.figures if f.mark == member.mark)
    assert sheet.proof.off > float(facts.style.step)
    part = Part(
        member.name,
        json.loads(json.dumps(member_facts(member, member, sheet, None, {}))),
        corners_of(member, (0.0, 0.0, 0.0)),
        facts.style,
    )
    rebuilt = worst(part, part.sheet(), part.sheet().solve())
    assert rebuilt > float(facts.style.step), "a second solver finds it too"
