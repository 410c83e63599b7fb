"""Every part sheet read back: the part is solved from its printed figures alone, by a solver that shares no code with
plangen, and its corners must come out where they are drawn, as near as the sheet says."""

from __future__ import annotations

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


def half_step(part: Part, figure: dict[str, Any]) -> float:
    return float(part.style.angle_step if figure["kind"] == "angular" else part.style.step) / 2


def was_rounded_jointly(part: Part) -> bool:
    """Some figure is off by more than half its step: a place rounded the other way, or the difference of two."""
    return any(abs(d["off"]) > half_step(part, d) + 1e-6 for d in plain_figures(part) if is_laid_out(d))


def is_laid_out(figure: dict[str, Any]) -> bool:
    return figure["origin"] in ("worked", "bought")


def test_no_corner_of_any_part_drifts_by_more_than_three_half_steps(path):
    # to a hundredth of a millimetre: no figure is exchanged to save less
    for part in parts_of(path):
        assert part.facts["drift"] <= 3 * float(part.style.step) / 2 + 0.01, part.name


def test_every_corner_comes_out_within_the_drift_that_the_sheet_states(path):
    for part, sheet, solved in solved_of(path):
        step = float(part.style.step)
        most = step if was_rounded_jointly(part) else min(part.facts["drift"], 3 * step / 2)
        assert worst(part, sheet, solved) <= most + 1e-3, part.name


def test_the_corner_farthest_off_is_as_far_off_as_the_sheet_was_judged_by(path):
    for part, sheet, solved in solved_of(path):
        if all(part.facts["references"].values()):
            step = float(part.style.step)
            assert worst(part, sheet, solved) == pytest.approx(part.facts["off"], abs=0.02 * step), part.name


def test_without_any_one_figure_the_part_is_open(path):
    for part, _, solved in solved_of(path):
        assert all(solved.needed.values()), (part.name, [f for f, n in solved.needed.items() if not n])


def test_without_any_one_convention_the_part_is_open(path):
    for part, _, solved in solved_of(path):
        drawn = said_by_outlines(part)
        missed = [
            c
            for c, kept in zip(part.facts["conventions"], solved.kept, strict=True)
            if not kept and not drawn & {*c["surfaces"]}
        ]
        assert not missed, (part.name, missed)


def said_by_outlines(part: Part) -> set[str]:
    """A drawn outline and the sides it runs along: its own strokes say some of it again."""
    outlines = {s["id"] for s in part.facts["surfaces"] if s["kind"] == "extruded"}
    along = [c["surfaces"] for c in part.facts["conventions"] if c["kind"] == "in line"]
    return outlines.union(*(ids for ids in along if outlines & {*ids}))


def plain_figures(part: Part) -> list[dict[str, Any]]:
    return [d for d in part.facts["dimensions"] if not d["reference"]]


def test_any_one_figure_changed_by_one_denominator_moves_the_part_by_about_that(path):
    for part, sheet, solved in solved_of(path):
        step = float(part.style.step)
        figures = [
            d["id"]
            for d in plain_figures(part)
            if d["kind"] == "linear" and is_laid_out(d) and not is_on_a_profile(sheet, d)
        ]
        if not figures:
            continue
        inside = (
            np.abs(np.array([solved.moves[i] for i in figures])).max(1) * step
        )  # where a hole is, no corner shows
        moved = corners_moved(part, sheet, solved, [solved.moves[i] * step for i in figures])
        for name, far in zip(figures, np.maximum(inside, moved).tolist(), strict=True):
            assert far > 0.4 * step, (part.name, name)


def is_on_a_profile(sheet: Sheet, figure: dict[str, Any]) -> bool:
    """Where two stretches of a turned profile meet, which lean to each other by a degree: a circle, no corner."""
    return all(s.kind == "round" for i in figure["on"][-1] for s in sheet.named(i))


def corners_moved(part: Part, sheet: Sheet, solved: Solved, changes: list[np.ndarray]) -> np.ndarray:
    """How far the corner moves that moves farthest along an axis, by each change of the unknowns."""
    batch = np.vstack([solved.x, solved.x + np.array(changes)])
    most = np.zeros(len(changes))
    for p, on in part.corners:
        if len(sheet.holding(p, on)) == 3:
            at = sheet.point(p, on, list(np.eye(3)))(batch)
            most = np.maximum(most, np.abs(at[1:] - at[0]).max(1))
    return most


CUT_UP = ["tests/designs/joints/birdsmouth.yaml", "tests/designs/joints/through-dovetail.yaml"]


@pytest.mark.parametrize("name", CUT_UP, ids=lambda name: Path(name).stem)
def test_what_rank_says_of_a_figure_or_convention_left_out_is_what_solving_without_it_says(name):
    for part in parts_of(ROOT / name):
        figures = part.facts["dimensions"]
        victim = plain_figures(part)[len(plain_figures(part)) // 2]
        changes = [
            {"dimensions": [d for d in figures if d is not victim]},
            {"conventions": part.facts["conventions"][:-1]},
        ]
        for change in changes:
            assert not Sheet({**part.facts, **change}, part.unit).solve().is_complete, (part.name, change)


@pytest.mark.parametrize("name", CUT_UP, ids=lambda name: Path(name).stem)
def test_a_figure_stated_twice_is_caught(name):
    for part in parts_of(ROOT / name):
        victim = plain_figures(part)[len(plain_figures(part)) // 2]
        twice = {**part.facts, "dimensions": [*part.facts["dimensions"], victim]}
        assert Sheet(twice, part.unit).solve().redundant == 1, part.name
