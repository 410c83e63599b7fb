"""Arcs through points on free curves: near, head to tail, and few."""

from __future__ import annotations

import itertools
import math

import pytest
from dxf_reading import distance
from hypothesis import given, settings
from hypothesis import strategies as st

from plangen.geometry.arcs_through import arc_through, arcs_through
from plangen.geometry.biarcs import to_arcs
from plangen.geometry.curves import Arc, Bezier, EllipseArc, Line

size = st.floats(0.5, 200)


@settings(max_examples=12, deadline=None)
@given(
    long=size,
    flat=st.floats(0.05, 1.0),
    turn=st.floats(0, 3),
    first=st.floats(0, 6),
    sweep=st.floats(0.5, 6.28),
)
def test_arcs_stay_within_a_hundredth_of_an_ellipse_head_to_tail(
    long: float, flat: float, turn: float, first: float, sweep: float
) -> None:
    c, s = math.cos(turn), math.sin(turn)
    short = long * flat
    curve = EllipseArc((7.0, -3.0), (long * c, long * s), (-short * s, short * c), first, first + sweep)
    pieces = arcs_through(curve)
    assert math.dist(pieces[0].start, curve.start) < 1e-6
    assert math.dist(pieces[-1].end, curve.end) < 1e-6
    assert all(math.dist(p.end, q.start) < 1e-6 for p, q in itertools.pairwise(pieces))
    assert all(min(distance(curve.at(i / 400), q) for q in pieces) < 0.01 for i in range(401))


@pytest.mark.parametrize("radius", [1.2, 2.6, 5.0, 12.0, 50.0])
@pytest.mark.parametrize("tilt", [0.2, 0.4, 0.6, 0.8, 0.95])
def test_the_rim_of_a_tilted_hole_takes_no_more_arcs_than_it_would_biarcs(radius: float, tilt: float) -> None:
    rim = EllipseArc((0.0, 0.0), (radius, 0.0), (0.0, radius * tilt), 0.0, 2 * math.pi)
    assert len(arcs_through(rim)) <= len(to_arcs(rim))


def test_three_points_of_a_circle_give_the_circle_again() -> None:
    """Also where the arc is more than half of it, and clockwise."""
    for first, last in ((0.3, 1.1), (0.2, 5.9), (4.0, -1.0)):
        circle = Arc((2.0, -1.0), 25.0, first, last)
        found = arc_through(circle.start, circle.at(0.5), circle.end, 1e-4)
        assert isinstance(found, Arc)
        assert found.radius == pytest.approx(25.0)
        assert math.dist(found.centre, circle.centre) < 1e-9
        assert found.last - found.first == pytest.approx(last - first)


def test_a_straight_free_curve_is_one_line_and_one_too_long_for_arcs_is_refused() -> None:
    assert arcs_through(Bezier(((0, 0), (1, 0), (2, 0), (3, 0)))) == (Line((0, 0), (3, 0)),)
    with pytest.raises(ValueError, match="too long or too sharp"):
        arcs_through(EllipseArc((0.0, 0.0), (1e7, 0.0), (0.0, 1e6), 0.0, 2 * math.pi))
