"""Item references: the cheapest assignment, and leaders that neither cross nor run through circles."""

from __future__ import annotations

import itertools
import random

import pytest

from plangen.drawing.balloons import Anchor, assign, place_balloons
from plangen.drawing.marks import Group, Leader, Stroke
from plangen.drawing.occupied import Occupied, segments_cross
from plangen.geometry.curves import Arc


@pytest.mark.parametrize("seed", range(20))
def test_an_assignment_costs_no_more_than_the_best_of_all_orders(seed: int) -> None:
    rng = random.Random(seed)
    rows, columns = rng.randint(1, 5), rng.randint(5, 6)
    costs = [[round(rng.uniform(1, 100), 3) for _ in range(columns)] for _ in range(rows)]
    chosen = assign(costs)
    best = min(
        sum(costs[i][j] for i, j in enumerate(order))
        for order in itertools.permutations(range(columns), rows)
    )
    assert len(set(chosen)) == rows
    assert sum(costs[i][j] for i, j in enumerate(chosen)) == pytest.approx(best, abs=1e-4)


@pytest.mark.parametrize("seed", range(60))
def test_leaders_round_a_view_do_not_cross(seed: int) -> None:
    rng = random.Random(seed)
    width, height = rng.uniform(60, 160), rng.uniform(40, 120)
    count = rng.randint(2, 25)
    anchors = [
        Anchor(str(i), (rng.uniform(2, width - 2), rng.uniform(2, height - 2)), 1.0) for i in range(count)
    ]
    marks = place_balloons(anchors, (0, 0, width, height), Occupied())
    assert marks is not None
    leaders = [m for m in marks if isinstance(m, Leader)]
    crossings = sum(
        segments_cross(a.path[0], a.path[1], b.path[0], b.path[1])
        for a, b in itertools.combinations(leaders, 2)
    )
    assert crossings == 0
    assert len(leaders) == count


def test_circles_stand_on_straight_rows_and_columns_round_the_view() -> None:
    anchors = [Anchor(m, (10.0 + 12 * i, 20.0), 1.0) for i, m in enumerate("ABCDEFGH")]
    marks = place_balloons(anchors, (0, 0, 110, 50), Occupied())
    assert marks is not None
    centres = [
        c.centre
        for g in marks
        if isinstance(g, Group)
        for s in g.marks
        if isinstance(s, Stroke)
        for c in s.curves
        if isinstance(c, Arc)
    ]
    # ISO 6433: on rows and columns (read)
    lines = {round(y, 6) for x, y in centres if 0 <= x <= 110} | {
        round(x, 6) for x, y in centres if 0 <= y <= 50
    }
    assert len(centres) == 8
    assert len(lines) <= 4
    assert all(not (0 < x < 110 and 0 < y < 50) for x, y in centres)


def test_where_there_is_no_room_there_are_no_references() -> None:
    crowd = Occupied()
    crowd.add([Stroke((Arc((0, 0), r, 0, 6.28),), "outline") for r in range(1, 400, 2)])
    assert place_balloons([Anchor("A", (5.0, 5.0), 1.0)], (0, 0, 10, 10), crowd) is None
