"""Flat faces bounded by cones, as exact loops: circles, ellipses, parabolas, hyperbolas."""

from __future__ import annotations

import math

import brep_kernel
import pytest
import scenes
from hypothesis import given, settings
from hypothesis import strategies as st

from plangen.geometry.curves import Arc, Bezier, Curve, EllipseArc
from plangen.geometry.slices import level_loops
from plangen.geometry.solid import Solid, build_solid
from plangen.geometry.surfaces import Box, Cone, Form
from plangen.geometry.vectors import Vec, unit

BOARD = scenes.block(200.0, 100.0, 30.0)


def drilled(cone: Cone, *more: Form) -> tuple[Solid, list[tuple[Form, ...]]]:
    cutters = [(cone, *more)]
    return build_solid(BOARD, cutters), cutters


def curves(solid: Solid) -> list[Curve]:
    return [c for loop in level_loops(solid, 30.0, True) for c in loop.curves]


def on_cone(cone: Cone, curve: Curve, level: float) -> float:
    """How far at most the curve lies off the cone at that level."""
    return max(abs(cone.distance((*curve.at(i / 64), level))) for i in range(65))


def same_area(solid: Solid, box: Box, cutters: list[tuple[Form, ...]]) -> None:
    kernel = brep_kernel.kernel_solid(box, cutters)
    for level, up in ((30.0, True), (0.0, False)):
        theirs = brep_kernel.kernel_face_area(kernel, (0.0, 0.0, 1.0 if up else -1.0), level)
        assert sum(loop.area for loop in level_loops(solid, level, up)) == pytest.approx(theirs, rel=1e-6)


def test_a_socket_reamed_square_to_the_face_has_circles_for_mouths() -> None:
    solid, cutters = drilled(Cone((80.0, 50.0, 0.0), scenes.Z, 10.0, 0.1, "hole"))
    assert [loop.circle.radius for loop in level_loops(solid, 30.0, True)[1:] if loop.circle] == [
        pytest.approx(13.0)
    ]
    assert [loop.circle.radius for loop in level_loops(solid, 0.0, False)[1:] if loop.circle] == [
        pytest.approx(10.0)
    ]
    same_area(solid, BOARD, cutters)


def test_a_socket_reamed_aslant_has_ellipses_for_mouths() -> None:
    cone = Cone((80.0, 50.0, 0.0), unit((0.3, 0.2, 1.0)), 10.0, 0.1, "hole")
    solid, cutters = drilled(cone)
    mouth = [c for c in curves(solid) if isinstance(c, EllipseArc)]
    assert len(mouth) == 1
    assert on_cone(cone, mouth[0], 30.0) < 1e-9
    same_area(solid, BOARD, cutters)


def test_a_ruling_square_to_the_eye_makes_parabolas_each_of_one_piece() -> None:
    """A face along one ruling cuts the cone in a parabola: one quadratic Bezier, exact."""
    cone = Cone((-20.0, 50.0, 20.0), unit((1.0, 0.0, 0.5)), 8.0, 0.5, "hole")
    solid, cutters = drilled(cone)
    bent = [c for c in curves(solid) if isinstance(c, Bezier)]
    assert [len(c.points) for c in bent] == [3, 3]
    assert max(on_cone(cone, c, 30.0) for c in bent) < 1e-8
    same_area(solid, BOARD, cutters)


directions = st.tuples(st.floats(-1.0, 1.0), st.floats(-1.0, 1.0), st.floats(-0.6, 0.6)).filter(
    lambda v: math.hypot(*v) > 0.3
)


@settings(max_examples=12, deadline=None)
@given(axis=directions, slope=st.floats(0.3, 1.5), sign=st.sampled_from((1, -1)), wide=st.floats(8.0, 20.0))
def test_the_loops_of_any_cone_lie_on_it(axis: Vec, slope: float, sign: int, wide: float) -> None:
    cone = Cone((100.0, 50.0, 22.0), unit(axis), wide, round(sign * slope, 3), "hole")
    solid, cutters = drilled(cone)
    for level, up in ((30.0, True), (0.0, False)):
        for curve in (c for loop in level_loops(solid, level, up) for c in loop.curves):
            if isinstance(curve, Bezier | EllipseArc | Arc):
                assert on_cone(cone, curve, level) < 1.1e-4
    same_area(solid, BOARD, cutters)
