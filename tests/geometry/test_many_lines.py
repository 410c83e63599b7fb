"""Many parallel lines through a body at once, against points of the lines judged by the surfaces themselves."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plangen.geometry.curves import Arc, Line
from plangen.geometry.many_lines import first_shared, lines_through
from plangen.geometry.surfaces import Box, Cone, Cylinder, Extruded, Form, Plane
from plangen.geometry.vectors import along, dot, unit

BLANK = Box((0.0, 0.0, 0.0), (120.0, 80.0, 40.0))
ROUNDED = Extruded(
    (0.0, 0.0, 0.0),
    (1.0, 0.0, 0.0),
    (0.0, 1.0, 0.0),
    (
        Line((10.0, 5.0), (110.0, 5.0)),
        Arc((110.0, 40.0), 35.0, -math.pi / 2, math.pi / 2),
        Line((110.0, 75.0), (10.0, 75.0)),
        Arc((10.0, 40.0), 35.0, math.pi / 2, 3 * math.pi / 2),
    ),
)

places = st.tuples(st.floats(-20, 140), st.floats(-20, 100), st.floats(-20, 60))
directions = st.tuples(*[st.integers(-9, 9)] * 3).filter(any).map(lambda v: unit(tuple(map(float, v))))
sides = st.sampled_from(["post", "hole"])
forms: st.SearchStrategy[Form] = st.one_of(
    st.builds(lambda n, p: Plane(n, dot(n, p)), directions, places),
    st.builds(Cylinder, places, directions, st.floats(3, 60), sides),
    st.builds(Cone, places, directions, st.floats(1, 40), st.sampled_from([-1.5, -0.2, 0.1, 0.7]), sides),
    st.just(ROUNDED),
)
cutters = st.lists(st.lists(forms, min_size=1, max_size=3), max_size=4)


def off(form: Form, p) -> float:
    """Millimetres outside."""
    if isinstance(form, Extruded):
        return math.hypot(p[0] - min(max(p[0], 10.0), 110.0), p[1] - 40.0) - 35.0
    return form.distance(p)


def in_body(body, p, room) -> bool:
    """In the blank and in no cutter, or no more than ``room`` from there; deeper in than that where it is negative."""
    return not any(off(f, p) > room for f in BLANK.planes().values()) and not any(
        all(off(f, p) > room for f in cutter) for cutter in body
    )


@settings(max_examples=12, deadline=None)
@given(cutters, cutters, st.lists(places, min_size=3, max_size=3), directions)
def test_lines_first_run_in_both_bodies_where_their_points_do(a, b, starts, way):
    walls = list(BLANK.planes().values())
    lines = [lines_through(walls, body, np.array(starts), way) for body in (a, b)]
    found = first_shared(lines[0], lines[1], 1e-9)
    for start, first in zip(starts, found.tolist(), strict=True):
        points = ((s, along(start, way, s)) for s in np.arange(-250.0, 250.0, 0.25).tolist())
        assert first <= next(
            (s for s, p in points if in_body(a, p, -1e-6) and in_body(b, p, -1e-6)), math.inf
        )
        if first < math.inf:
            met = along(start, way, first)
            assert in_body(a, met, 1e-6)
            assert in_body(b, met, 1e-6)


def test_a_line_that_misses_wood_meets_nothing():
    lines = lines_through(BLANK.planes().values(), [], np.array([[200.0, 0.0, 0.0]]), (0.0, 0.0, 1.0))
    assert first_shared(lines, lines, 1e-9)[0] == math.inf


@pytest.mark.parametrize("side", ["post", "hole"])
def test_a_line_along_a_cone_beyond_its_slope_runs_in_once(side):
    """A cone 45 degrees wide from its tip at the origin, on a line nearly along its axis."""
    cone = Cone((0.0, 0.0, 10.0), (0.0, 0.0, 1.0), 10.0, 1.0, side)
    way = unit((0.1, 0.0, 1.0))
    walls = [Plane((0.0, 0.0, 1.0), 100.0), Plane((0.0, 0.0, -1.0), 100.0), cone]
    lines = lines_through(walls, [], np.array([[2.0, 0.0, 0.0]]), way)
    z = first_shared(lines, lines, 1e-9)[0] * way[2]
    # Inside a post where x = 2 + 0.1 z is less than z; inside the wood round a hole from below the tip on.
    assert z == pytest.approx(2 / 0.9 if side == "post" else -100.0, abs=1e-9)
