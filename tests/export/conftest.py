"""Every design of the project, worked out once for all tests of exporters."""

from __future__ import annotations

import pytest
from worked_out import DESIGNS, facts_of

from plangen.facts import PlanFacts
from plangen.joinery.model import Model


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
