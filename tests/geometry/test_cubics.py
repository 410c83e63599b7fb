"""Curves become cubic Beziers that no reader of a drawing can tell from the true ones."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plangen.geometry.cubics import Cubic, to_cubics
from plangen.geometry.curves import Arc, Bezier, Curve, EllipseArc, Line

angle = st.floats(-7, 7)
coordinate = st.floats(-300, 300)


def along(cubics: tuple[Cubic, ...]) -> list[tuple[float, float]]:
    return [Bezier(c).at(i / 20) for c in cubics for i in range(21)]


@given(radius=st.floats(0.1, 3000), first=angle, last=angle)
def test_an_arc_strays_no_more_than_a_ten_thousandth_of_a_millimetre(
    radius: float, first: float, last: float
) -> None:
    arc = Arc((10.0, -20.0), radius, first, last)
    for p in along(to_cubics(arc)):
        assert math.dist(p, arc.centre) == pytest.approx(radius, abs=1.01e-4)


@given(a=st.floats(0.5, 400), b=st.floats(0.5, 400), turn=angle, first=angle, last=angle)
def test_an_ellipse_stays_within_tolerance_of_its_own_equation(
    a: float, b: float, turn: float, first: float, last: float
) -> None:
    c, s = math.cos(turn), math.sin(turn)
    arc = EllipseArc((0.0, 0.0), (a * c, a * s), (-b * s, b * c), first, last)
    for x, y in along(to_cubics(arc)):
        u, v = (x * c + y * s) / a, (-x * s + y * c) / b
        # distance from the curve is at most the step along the ray from the centre
        off = abs(math.hypot(u, v) - 1) * math.hypot(x, y)
        assert off <= 1.01e-4 * max(a, b) / min(a, b) + 1e-9


@given(points=st.lists(st.tuples(coordinate, coordinate), min_size=2, max_size=7))
def test_a_bezier_of_any_degree_is_followed(points: list[tuple[float, float]]) -> None:
    curve = Bezier(tuple(points))
    true = [curve.at(i / 4000) for i in range(4001)] if len(points) > 4 else []
    cubics = to_cubics(curve)
    assert cubics[0][0] == curve.start
    assert math.dist(cubics[-1][3], curve.end) < 1e-9
    for c in cubics[:: max(1, len(cubics) // 4)]:
        p = Bezier(c).at(0.37)
        if true:
            assert min(math.dist(p, q) for q in true) < 0.5


@pytest.mark.parametrize(
    "curve",
    [
        Line((0, 0), (3, 4)),
        Arc((0, 0), 40, 0.3, 5.9),
        EllipseArc((1, 2), (30, 0), (0, 9), 6, 0.1),
        Bezier(((0, 0), (10, 30), (20, -30), (30, 0), (40, 50), (60, 0))),
    ],
)
def test_pieces_follow_each_other_from_the_start_to_the_end(curve: Curve) -> None:
    cubics = to_cubics(curve)
    assert math.dist(cubics[0][0], curve.start) < 1e-9
    assert math.dist(cubics[-1][3], curve.end) < 1e-9
    assert all(math.dist(p[3], q[0]) < 1e-9 for p, q in pairwise(cubics))
