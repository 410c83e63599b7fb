"""Every design of the project, built once for all tests of exporters."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from plangen.design.reading import read_design_bytes
from plangen.design.sizes import evaluate_values
from plangen.joinery.model import Model
from plangen.joinery.modelling import build_model
from plangen.placing.building import place_member
from plangen.placing.scope import Scope

ROOT = Path(__file__).parent.parent.parent
DESIGNS = sorted([*(ROOT / "designs").glob("*.yaml"), *(ROOT / "tests" / "designs").glob("*.yaml")])


@cache
def _model(path: Path) -> Model:
    design, findings = read_design_bytes(path.read_bytes(), path.name)
    assert design is not None, "\n".join(map(str, findings))
    return build_model(design, Scope(design, evaluate_values(design), place_member))


def pytest_generate_tests(metafunc) -> None:
    if "design_path" in metafunc.fixturenames:
        metafunc.parametrize("design_path", DESIGNS, ids=lambda p: p.stem)
    if "model" in metafunc.fixturenames:
        metafunc.parametrize("model", DESIGNS, ids=lambda p: p.stem, indirect=True)


import pytest  # noqa: E402


@pytest.fixture
def model(request: pytest.FixtureRequest) -> Model:
    return _model(request.param)
