"""Dimensions in tiers: what stands on which line, and how running dimensions are drawn."""

from __future__ import annotations

import itertools
import random

import pytest

from plangen.drawing.linework import PRACTICE
from plangen.drawing.marks import LinearDimension
from plangen.drawing.occupied import Occupied
from plangen.drawing.overlaps import overlaps
from plangen.drawing.tiers import Measure, lay_tiers

OUTLINE = (0.0, 0.0, 180.0, 40.0)


def below(key: str, low: float, high: float, text: str, tier: str) -> Measure:
    return Measure(key, ((low, 0.0), (high, 0.0)), text, high - low, tier, "below")


def laid(measures: list[Measure]) -> dict[str, LinearDimension]:
    marks, _ = lay_tiers(measures, OUTLINE, 3.5, Occupied())
    return {m.text: m for m in marks if isinstance(m, LinearDimension)}


def test_the_first_line_stands_ten_millimetres_off_and_the_overall_size_outermost() -> None:
    found = laid(
        [below("o", 0, 180, "180", "overall"), below("s", 0, 30, "30", "size"),
         below("p", 0, 80, "80", "position")]
    )  # fmt: skip
    levels = {text: d.line_at[1] for text, d in found.items()}
    assert levels["30"] == pytest.approx(-PRACTICE.first_line)
    assert levels["80"] == pytest.approx(-PRACTICE.first_line - PRACTICE.pitch)
    assert levels["180"] == pytest.approx(-PRACTICE.first_line - 2 * PRACTICE.pitch)


def test_sizes_side_by_side_share_a_line() -> None:
    found = laid([below("a", 0, 60, "60", "size"), below("b", 60, 180, "120", "size")])
    assert found["60"].line_at[1] == found["120"].line_at[1]


def test_three_positions_from_one_end_run_on_one_line_from_its_origin() -> None:
    found = laid([below(str(x), 0, x, str(x), "position") for x in (40, 90, 150)])
    assert {d.arrows for d in found.values()} == {"running"}
    assert len({d.line_at[1] for d in found.values()}) == 1
    assert all(d.feet[0] == (0.0, 0.0) for d in found.values())
    assert [d.text for d in found.values()] == ["40", "90", "150"]


def test_two_positions_stand_on_parallel_lines() -> None:
    found = laid([below(str(x), 0, x, str(x), "position") for x in (40, 90)])
    assert {d.arrows for d in found.values()} == {"inside"}
    assert found["40"].line_at[1] > found["90"].line_at[1]


def test_the_same_distance_to_holes_in_a_row_is_figured_once() -> None:
    row = [Measure(f"h{i}", ((0.0, 0.0), (20.0 * i, 12.0)), "12", 12.0, "size", "left") for i in range(5)]
    marks, _ = lay_tiers(row, OUTLINE, 3.5, Occupied())
    assert len(marks) == 1


@pytest.mark.parametrize("seed", range(40))
def test_figures_of_random_tiers_stand_clear_with_the_shorter_inside(seed: int) -> None:
    rng = random.Random(seed)
    measures = []
    for i in range(rng.randint(2, 9)):
        low = rng.choice([0.0, round(rng.uniform(0, 120), 1)])
        high = round(low + rng.uniform(3, 180 - low), 1)
        text = rng.choice(["17", "3 15/16", "(120)", "26 5/8 ON FACE EDGE"])
        measures.append(below(str(i), low, high, text, rng.choice(["size", "position", "overall"])))
    marks, crowded = lay_tiers(measures, OUTLINE, 3.5, Occupied())
    if not crowded:
        assert overlaps(marks) == ()
    same_tier = [m for m in marks if isinstance(m, LinearDimension) and m.arrows != "running"]
    for a, b in itertools.combinations(same_tier, 2):
        (a0, a1), (b0, b1) = (sorted(f[0] for f in d.feet) for d in (a, b))
        if min(a1, b1) - max(a0, b0) > 1e-6:
            assert abs(a.line_at[1] - b.line_at[1]) >= PRACTICE.pitch - 1e-9
