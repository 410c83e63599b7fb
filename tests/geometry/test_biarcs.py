"""Arcs for free curves: near, smooth, head to tail."""

from __future__ import annotations

import itertools
import math

import pytest
import shapely
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


FREE = {
    "ellipse": EllipseArc((5.0, 6.0), (50.0, 0.0), (0.0, 20.0), 0.0, 2 * math.pi),
    "compound cut": EllipseArc((0.0, 0.0), (900.0, 300.0), (-30.0, 90.0), 0.2, 1.9),
    "crest": Bezier(((0.0, 0.0), (120.0, 90.0), (300.0, -60.0), (420.0, 40.0))),
    "hook": Bezier(((0.0, 0.0), (200.0, 10.0), (210.0, 120.0), (60.0, 110.0), (50.0, 60.0))),
}


def lies_off(p: Vec2, piece: Line | Arc) -> float:
    """Millimetres from a point to a piece, its ends counted."""
    if isinstance(piece, Line):
        return distance(p, piece)
    low, high = sorted((piece.first, piece.last))
    turn = math.atan2(p[1] - piece.centre[1], p[0] - piece.centre[0])
    on = (turn - low) % (2 * math.pi) <= high - low
    return distance(p, piece) if on else min(math.dist(p, piece.start), math.dist(p, piece.end))


def chords_for(points: list[Vec2], tolerance: float) -> int:
    """The least number of chords between the samples that keep to the tolerance, each as long as it may be."""
    count, i = 0, 0
    while i < len(points) - 1:
        step = 1
        while i + 2 * step < len(points) and _keeps(points[i : i + 2 * step + 1], tolerance):
            step *= 2
        high = min(2 * step, len(points) - 1 - i)
        while step < high:
            middle = (step + high + 1) // 2
            step, high = (
                (middle, high) if _keeps(points[i : i + middle + 1], tolerance) else (step, middle - 1)
            )
        i, count = i + step, count + 1
    return count


def _keeps(points: list[Vec2], tolerance: float) -> bool:
    return all(distance(p, Line(points[0], points[-1])) <= tolerance for p in points[1:-1])


@pytest.mark.parametrize("tolerance", [0.1, 0.01])
@pytest.mark.parametrize("name", FREE)
def test_arcs_keep_to_the_tolerance_and_are_fewer_than_half_the_chords(name: str, tolerance: float) -> None:
    """Both ways: no point of the curve is farther from the arcs, nor of the arcs from the curve. An arc errs with the
    third power of its length, a chord with the second, so that the finer, the more arcs save."""
    curve = FREE[name]
    points = [curve.at(i / 4000) for i in range(4001)]
    pieces = to_arcs(curve, tolerance)
    # each sample against the piece it belongs to and those beside it: pieces follow the curve in order
    at, worst = 0, 0.0
    for p in points:
        near = range(max(0, at - 1), min(len(pieces), at + 3))
        off, at = min((lies_off(p, pieces[k]), k) for k in near)
        worst = max(worst, off)
    assert worst <= tolerance
    fine = shapely.LineString(points)
    assert all(
        fine.distance(shapely.Point(q.at(s / 8))) <= tolerance * 1.01 for q in pieces for s in range(9)
    )
    assert all(math.dist(p.end, q.start) < 1e-9 for p, q in itertools.pairwise(pieces))
    assert len(pieces) < chords_for(points, tolerance) * (0.5 if tolerance < 0.05 else 1.0)
