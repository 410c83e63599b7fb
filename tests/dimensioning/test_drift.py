"""How far a part may come out when every printed figure is off by half its step, and what is done about it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from plangen.dimensioning.drift import inverse
from plangen.dimensioning.proof import prove, sheet_findings
from plangen.facts import plan_facts
from tests.dimensioning.test_members import LEG


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
