"""Every part sheet read back: the part is solved from its printed figures alone, by a solver that shares no code with
plangen, and its corners must come out where they are drawn, as near as the sheet says."""

from __future__ import annotations

import copy
import functools
import json
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from worked_out import facts_of

from plangen.export.member_json import member_facts
from plangen.geometry.patches import patches_of, same_surface
from plangen.joinery.model import Member
from plangen.joinery.stages import frame_shift
from plangen.units import UnitStyle
from tests.dimensioning.sheet_solver import Sheet, Solved

ROOT = Path(__file__).parents[2]
DESIGNS = sorted(
    p for where in ("designs", "tests/designs", "tests/designs/joints") for p in ROOT.glob(f"{where}/*.yaml")
)


@dataclass(frozen=True)
class Part:
    """A member as plan.json has it, and its corners with the ids of the surfaces that meet there."""

    name: str
    facts: dict[str, Any]
    corners: tuple[tuple[np.ndarray, list[str]], ...]
    style: UnitStyle

    @property
    def unit(self) -> Fraction:
        return Fraction(254, 10) if self.style.length == "in" else Fraction(1)

    def sheet(self) -> Sheet:
        return Sheet(self.facts, self.unit)


def corners_of(member: Member, shift: tuple[float, float, float]) -> tuple[tuple[np.ndarray, list[str]], ...]:
    """From the skin of the model: points where facets of three surfaces meet."""
    solid = member.solid
    ids: list[list[str]] = [[] for _ in solid.forms]
    touching: dict[int, set[int]] = {}
    for row, form in zip(solid.triangles.tolist(), np.asarray(solid.triangle_form).tolist(), strict=True):
        for v in row:
            touching.setdefault(v, set()).add(form)
    x = np.asarray(solid.vertices)
    for s in member.surfaces:
        for i, form in enumerate(solid.forms):
            if any(same_surface(piece, form) for piece in patches_of(s.form)):
                ids[i].append(s.id)
    return tuple(
        (x[v] + np.array(shift), [i for f in sorted(forms) for i in ids[f]])
        for v, forms in sorted(touching.items())
        if len(forms) >= 3
    )


@functools.cache
def parts_of(path: Path) -> tuple[Part, ...]:
    facts = facts_of(path)
    whole = {m.mark: m for m in facts.model.members}
    figures = {f.mark: f for f in facts.figures}
    found = []
    for member in facts.bench.members:
        if member.role != "bought":
            told = member_facts(whole[member.mark], member, figures[member.mark], None, {})
            corners = corners_of(member, frame_shift(whole[member.mark], member))
            found.append(Part(member.name, json.loads(json.dumps(told)), corners, facts.style))
    return tuple(found)


@functools.cache
def solved_of(path: Path) -> tuple[tuple[Part, Sheet, Solved], ...]:
    return tuple((p, sheet, sheet.solve()) for p in parts_of(path) for sheet in (p.sheet(),))


@pytest.fixture(scope="module", params=DESIGNS, ids=lambda p: p.stem)
def path(request: pytest.FixtureRequest) -> Path:
    return request.param


def worst(part: Part, sheet: Sheet, solved: Solved) -> float:
    return max((float(np.abs(sheet.corner(solved, p, on)).max()) for p, on in part.corners), default=0.0)


def test_the_part_follows_from_what_its_sheet_prints_and_nothing_stands_twice(path):
    for part, _, solved in solved_of(path):
        assert solved.residual < 1e-6, part.name
        assert solved.is_complete, (part.name, solved.rank, solved.unknowns)
        assert solved.redundant == 0, part.name


def test_every_corner_comes_out_within_the_drift_that_the_sheet_states(path):
    for part, sheet, solved in solved_of(path):
        # A figure that is the difference of two rounded places may itself be a whole step off.
        most = max(part.facts["drift"], float(part.style.step))
        assert worst(part, sheet, solved) <= most * 1.01 + 1e-3, part.name


def test_without_any_one_figure_the_part_is_open(path):
    for part, _, solved in solved_of(path):
        assert all(solved.needed.values()), (part.name, [f for f, n in solved.needed.items() if not n])


def test_without_any_one_convention_the_part_is_open(path):
    for part, _, solved in solved_of(path):
        if any(s["kind"] == "extruded" for s in part.facts["surfaces"]):
            continue  # its pieces say some of it again
        missed = [c for c, kept in zip(part.facts["conventions"], solved.kept, strict=True) if not kept]
        assert not missed, (part.name, missed)


CUT_UP = [
    "designs/splayed-trestle.yaml", "designs/potting-bench.yaml", "tests/designs/joints/birdsmouth.yaml",
    "tests/designs/bored-and-eased.yaml", "tests/designs/joints/through-dovetail.yaml",
]  # fmt: skip


def changed(part: Part, **change: Any) -> Solved:
    return Sheet({**copy.deepcopy(part.facts), **change}, part.unit).solve()


def plain_figures(part: Part) -> list[dict[str, Any]]:
    return [d for d in part.facts["dimensions"] if not d["reference"]]


@pytest.mark.parametrize("name", CUT_UP, ids=lambda name: Path(name).stem)
def test_a_sheet_with_a_figure_dropped_or_doubled_is_caught(name):
    for part in parts_of(ROOT / name):
        figures = part.facts["dimensions"]
        victim = plain_figures(part)[len(plain_figures(part)) // 2]
        assert not changed(part, dimensions=[d for d in figures if d is not victim]).is_complete, part.name
        twice = changed(part, dimensions=[*figures, victim])
        assert twice.redundant == 1, part.name


@pytest.mark.parametrize("name", CUT_UP, ids=lambda name: Path(name).stem)
def test_a_sheet_with_a_convention_deleted_is_caught(name):
    for part in parts_of(ROOT / name):
        conventions = part.facts["conventions"]
        assert not changed(part, conventions=conventions[:-1]).is_complete, part.name


@pytest.mark.parametrize("name", CUT_UP, ids=lambda name: Path(name).stem)
def test_a_figure_changed_by_one_denominator_moves_the_part_by_about_that(name):
    for part, sheet, before in solved_of(ROOT / name):
        step = float(part.style.step)
        figures = [d for d in plain_figures(part) if d["kind"] == "linear" and d["origin"] == "worked"]
        victim = figures[len(figures) // 2]
        size = victim["value"] + victim["off"] + step
        changes = [
            {**d, "origin": "fitted", "value": size} if d is victim else d for d in part.facts["dimensions"]
        ]
        after = changed(part, dimensions=changes)
        moved = [
            float(np.abs(sheet.corner(after, p, on) - sheet.corner(before, p, on)).max())
            for p, on in part.corners
        ]
        inside = float(np.abs(after.x - before.x).max())  # where a hole is, no corner shows
        assert max([inside, *moved]) > 0.4 * step, (part.name, victim["id"])
