"""Arcs for free curves: near, smooth, head to tail."""

from __future__ import annotations

import itertools
import math

from dxf_reading import distance
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from plangen.geometry.biarcs import part_of, to_arcs
from plangen.geometry.curves import Arc, Bezier, EllipseArc, Line, Vec2
from plangen.geometry.patches import end_direction
from plangen.geometry.slices import Loop

coordinate = st.floats(-200, 200).map(lambda v: round(v, 3))
point = st.tuples(coordinate, coordinate)


@settings(max_examples=12, deadline=None)
@given(a=point, b=point, c=point, d=point)
def test_arcs_follow_any_gentle_curve_smoothly_within_a_hundredth(a: Vec2, b: Vec2, c: Vec2, d: Vec2) -> None:
    assume(min(math.dist(p, q) for p, q in itertools.combinations((a, b, c, d), 2)) > 5)
    curve = Bezier((a, b, c, d))
    try:
        pieces = to_arcs(curve)
    except ValueError:
        # a cusp: refused, never flattened
        return
    assert math.dist(pieces[0].start, curve.start) < 1e-6
    assert math.dist(pieces[-1].end, curve.end) < 1e-6
    for p, q in itertools.pairwise(pieces):
        assert math.dist(p.end, q.start) < 1e-6
    for i in range(201):
        assert min(distance(curve.at(i / 200), q) for q in pieces) < 0.01
    for p, q in itertools.pairwise(pieces):
        (ax, ay), (bx, by) = end_direction(p, 1.0), end_direction(q, 0.0)
        if not isinstance(p, Line) and not isinstance(q, Line):
            assert math.hypot(ax - bx, ay - by) < 1e-4


def test_an_ellipse_of_a_hundred_by_forty_keeps_its_area_and_needs_few_arcs() -> None:
    """Area of an ellipse: pi a b. Within 0.01 mm a quadrant takes a handful of arcs."""
    pieces = to_arcs(EllipseArc((5.0, 6.0), (50.0, 0.0), (0.0, 20.0), 0.0, 2 * math.pi))
    assert all(isinstance(piece, Arc) for piece in pieces)
    assert len(pieces) <= 64
    assert abs(Loop(pieces).area - math.pi * 1000) < 0.01 * 230


@settings(max_examples=12, deadline=None)
@given(a=point, b=point, c=point, d=point, first=st.floats(0, 0.45), last=st.floats(0.55, 1))
def test_part_of_a_curve_is_the_curve_between(
    a: Vec2, b: Vec2, c: Vec2, d: Vec2, first: float, last: float
) -> None:
    curve = Bezier((a, b, c, d))
    for part, ends in (
        (part_of(curve, first, last), (first, last)),
        (part_of(curve, last, first), (last, first)),
    ):
        for i in range(5):
            assert math.dist(part.at(i / 4), curve.at(ends[0] + (ends[1] - ends[0]) * i / 4)) < 1e-9


def test_the_area_of_a_loop_of_free_curves_is_exact() -> None:
    """Bernstein polynomials integrated in closed form, against many chords."""
    curves = (
        Bezier(((0.0, 0.0), (30.0, -20.0), (90.0, 10.0), (120.0, 0.0))),
        Bezier(((120.0, 0.0), (60.0, 90.0), (0.0, 0.0))),
    )
    points = [c.at(i / 20000) for c in curves for i in range(20000)]
    chords = math.fsum(p[0] * q[1] - q[0] * p[1] for p, q in itertools.pairwise([*points, points[0]])) / 2
    assert abs(Loop(curves).area - chords) < 1e-4
