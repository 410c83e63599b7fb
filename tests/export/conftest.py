"""Every design of the project, worked out once for all tests of exporters."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from plangen.facts import PlanFacts, plan_facts
from plangen.joinery.model import Model

ROOT = Path(__file__).parent.parent.parent
DESIGNS = sorted([*(ROOT / "designs").glob("*.yaml"), *(ROOT / "tests" / "designs").glob("*.yaml")])


@cache
def facts_of(path: Path) -> PlanFacts:
    facts, findings = plan_facts(path.read_bytes(), path.name)
    assert facts is not None, "\n".join(map(str, findings))
    return facts


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    for name in ("design_model", "facts"):
        if name in metafunc.fixturenames:
            metafunc.parametrize(name, DESIGNS, ids=lambda p: p.stem, indirect=True)


@pytest.fixture
def facts(request: pytest.FixtureRequest) -> PlanFacts:
    return facts_of(request.param)


@pytest.fixture
def design_model(request: pytest.FixtureRequest) -> Model:
    return facts_of(request.param).model
