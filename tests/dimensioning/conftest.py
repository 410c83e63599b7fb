"""Models of small designs, and of every design in the tree, with their figures."""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from worked_out import DESIGNS, facts_of

from plangen.design.reading import read_design
from plangen.design.sizes import evaluate_values
from plangen.dimensioning.figures import Figure, MemberFigures
from plangen.dimensioning.members import dimension_member
from plangen.joinery.model import Member, Model
from plangen.joinery.modelling import build_model
from plangen.joinery.stages import bench_model
from plangen.placing.building import place_member
from plangen.placing.scope import Scope
from plangen.units import STYLES, UnitStyle

_IN_THE_TREE = {path.read_text(encoding="utf-8"): path for path in DESIGNS}


@functools.lru_cache(maxsize=8)
def built(text: str) -> tuple[Model, UnitStyle]:
    """The model of a design's text without its jigs, and the style of its unit."""
    if text in _IN_THE_TREE:
        facts = facts_of(_IN_THE_TREE[text])
        jigs = {m.mark for m in facts.machining.members}
        kept = tuple(m for m in facts.model.members if m.mark not in jigs)
        return replace(facts.model, members=kept), facts.style
    design, findings = read_design(text, "test.yaml")
    assert design is not None, findings
    model = build_model(design, Scope(design, evaluate_values(design), place_member))
    return model, STYLES[design.units]


@functools.lru_cache(maxsize=8)
def stated(text: str) -> tuple[tuple[Member, MemberFigures], ...]:
    """Every member to make as it leaves the bench, with the figures of its sheet."""
    if text in _IN_THE_TREE:
        facts = facts_of(_IN_THE_TREE[text])
        jigs = {m.mark for m in facts.machining.members}
        figures = {f.mark: f for f in facts.figures}
        made = (m for m in facts.bench.members if m.role != "bought" and m.mark not in jigs)
        return tuple((m, figures[m.mark]) for m in made)
    model, style = built(text)
    bench = bench_model(model)
    return tuple((m, dimension_member(bench, m, style)) for m in bench.members if m.role != "bought")


class Sheet:
    """The figures of one member, asked for by the tail of their ids."""

    def __init__(self, member: Member, figures: MemberFigures) -> None:
        self.member = member
        self.figures = figures

    def figure(self, tail: str) -> Figure:
        found = [f for f in self.figures.figures if f.id.endswith(tail)]
        assert len(found) == 1, (tail, [f.id for f in self.figures.figures])
        return found[0]

    def sized(self, figure_id: str) -> Figure:
        """One of the member's own figures, by its whole id."""
        return next(f for f in self.figures.figures if f.id == figure_id)

    @property
    def printed(self) -> list[str]:
        return [f.printed for f in self.figures.figures]


@pytest.fixture(scope="session")
def sheet_of() -> Callable[[str, str], Sheet]:
    """The sheet of the member called so in a design's text."""

    def find(text: str, name: str) -> Sheet:
        for member, figures in stated(text):
            if member.name == name:
                return Sheet(member, figures)
        raise AssertionError(name)

    return find


@pytest.fixture(scope="session", params=DESIGNS, ids=lambda p: p.stem)
def design_text(request: pytest.FixtureRequest) -> str:
    """The text of each design of the tree in turn."""
    return Path(request.param).read_text(encoding="utf-8")


@pytest.fixture(scope="session")
def sheets_of() -> Callable[[str], tuple[tuple[Member, MemberFigures], ...]]:
    return stated


@pytest.fixture(scope="session")
def model_of() -> Callable[[str], tuple[Model, UnitStyle]]:
    return built
