"""Every design of the project and every cruel one, worked out once a process for whatever looks at it."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import pytest
from brep_kernel import kernel_solid
from OCP.TopoDS import TopoDS_Shape

from plangen.drawing.composition import compose_sheets
from plangen.drawing.marks import Sheet
from plangen.facts import PlanFacts, plan_facts
from plangen.joinery.model import Model

ROOT = Path(__file__).parent.parent
PROJECT = sorted((ROOT / "designs").glob("*.yaml"))
CRUEL = sorted((ROOT / "tests" / "designs").glob("*.yaml"))
DESIGNS = [*PROJECT, *CRUEL]


def given(*names: str) -> pytest.MarkDecorator:
    """Gives a test these designs of the project as ``path``, so that it runs where they are worked out already."""
    return pytest.mark.parametrize("path", [p for p in PROJECT if p.stem in names], ids=lambda p: p.stem)


# Tests of one design run one after another (see ``conftest``), so a few are enough to hold.
@lru_cache(maxsize=8)
def facts_of(path: Path) -> PlanFacts:
    facts, findings = plan_facts(path.read_bytes(), path.name, lambda name: (path.parent / name).read_bytes())
    assert facts is not None, "\n".join(map(str, findings))
    return facts


@lru_cache(maxsize=8)
def piece_of(path: Path) -> Model:
    """The model without the jigs that its cuts need."""
    facts = facts_of(path)
    jigs = {m.mark for m in facts.machining.members}
    return replace(facts.model, members=tuple(m for m in facts.model.members if m.mark not in jigs))


@lru_cache(maxsize=2)
def bench_solids(path: Path) -> dict[str, TopoDS_Shape]:
    """Each member as it leaves the bench, by mark, made by the exact kernel from blank and cutters; no bought parts."""
    found = {}
    for member in facts_of(path).bench.members:
        if member.role != "bought":
            cutters = [
                [forms[i] for i in cutter]
                for f in member.features
                for forms in [{s.id: s.form for s in f.surfaces}]
                for cutter in f.cutters
            ]
            found[member.mark] = kernel_solid(member.blank, cutters)
    return found


@lru_cache(maxsize=2)
def sheets_of(path: Path) -> tuple[Sheet, ...]:
    return compose_sheets(facts_of(path))
