"""Where straight lines run in what an extruded outline bounds, against a polygon clipper that knows no curves."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from plangen.geometry.curves import Arc, Bezier, Curve, EllipseArc, Line
from plangen.geometry.outline_spans import outline_crossings, patch_crossed, spans_outside
from plangen.geometry.surfaces import Cylinder, Extruded, Plane
from plangen.geometry.vectors import Point, Vec, along, unit

U: Vec = unit((1.0, 0.3, 0.2))
V: Vec = unit((-0.3, 1.0, 0.0))
ORIGIN: Point = (12.0, -7.0, 3.0)
SEAT: tuple[Curve, ...] = (
    Line((0.0, 0.0), (200.0, 0.0)),
    Arc((200.0, 60.0), 60.0, -math.pi / 2, math.pi / 2),
    Bezier(((200.0, 120.0), (150.0, 170.0), (90.0, 60.0), (60.0, 120.0))),
    EllipseArc((0.0, 120.0), (60.0, 0.0), (0.0, 25.0), 0.0, math.pi / 2),
    Line((0.0, 145.0), (0.0, 0.0)),
)


def seat(*curves: Curve) -> Extruded:
    return Extruded(ORIGIN, U, V, curves or SEAT)


def space(x: float, y: float, t: float = 0.0) -> Point:
    form = seat()
    return along(form.lift(x, y), form.axis, t)


def toward(a: Point, b: Point) -> Vec:
    return unit((b[0] - a[0], b[1] - a[1], b[2] - a[2]))


def length_outside(form: Extruded, a: Point, b: Point) -> float:
    far = math.dist(a, b)
    outside = spans_outside(form, a, toward(a, b))
    return sum(max(0.0, min(high, far) - max(low, 0.0)) for low, high in outside)


places = st.tuples(st.floats(-80, 340), st.floats(-80, 240), st.floats(-50, 50))


@given(places, places)
@settings(max_examples=12, deadline=None)
def test_a_line_leaves_the_outline_where_a_clipper_says(first: Point, last: Point) -> None:
    a, b = space(*first), space(*last)
    if math.dist(first[:2], last[:2]) < 1:
        return
    polygon = shapely.Polygon([c.at(i / 4000) for c in SEAT for i in range(4000)])
    flat = shapely.LineString([first[:2], last[:2]])
    share = flat.difference(polygon).length / flat.length
    # A line that grazes a curve may run along a chord of it.
    near = flat.intersection(polygon.exterior.buffer(1e-4)).length / flat.length
    assert length_outside(seat(), a, b) / math.dist(a, b) == pytest.approx(share, abs=1e-6 + near)


@given(places, places)
@settings(max_examples=12, deadline=None)
def test_an_opening_has_its_wood_where_a_profile_has_none(first: Point, last: Point) -> None:
    a, b = space(*first), space(*last)
    if math.dist(first[:2], last[:2]) < 1:
        return
    both = length_outside(seat(), a, b) + length_outside(seat().flipped(), a, b)
    assert both == pytest.approx(math.dist(a, b), abs=1e-6)


@pytest.mark.parametrize("corner", [c.start for c in SEAT])
def test_a_line_through_a_corner_comes_in_as_often_as_it_goes_out(corner: tuple[float, float]) -> None:
    a, inside = space(*corner, 4.0), space(70.0, 60.0, 9.0)
    crossings = outline_crossings(seat(), a, toward(a, inside))
    assert [c.inward for c in crossings] in ([True, False], [True, False] * 2)


def test_a_corner_that_a_line_only_touches_is_not_crossed() -> None:
    square = seat(
        Line((0, 0), (10, 0)), Line((10, 0), (10, 10)), Line((10, 10), (0, 10)), Line((0, 10), (0, 0))
    )
    for way in ((1.0, 1.0), (3.0, 1.0), (0.1, 0.7)):
        a, b = space(10 - way[0], -way[1]), space(10 + way[0], way[1])
        assert length_outside(square, a, b) == pytest.approx(math.dist(a, b), abs=1e-7)


def test_a_line_along_an_edge_that_a_bow_follows_comes_out_where_the_bow_begins() -> None:
    a, b = space(-50.0, 0.0), space(300.0, 0.0)
    outside = spans_outside(seat(), a, toward(a, b))
    assert outside in (
        [(-math.inf, math.inf)],
        [(-math.inf, pytest.approx(50)), (pytest.approx(250, abs=1e-3), math.inf)],
    )


def test_a_line_along_the_extrusion_is_inside_or_outside_throughout() -> None:
    form = seat()
    assert spans_outside(form, space(70.0, 60.0), form.axis) == []
    assert spans_outside(form, space(300.0, 60.0), form.axis) == [(-math.inf, math.inf)]
    assert spans_outside(form.flipped(), space(300.0, 60.0), form.axis) == []


def test_an_open_outline_runs_straight_on_at_both_ends() -> None:
    step = seat(
        Line((0.0, 0.0), (50.0, 0.0)), Line((50.0, 0.0), (50.0, 20.0)), Line((50.0, 20.0), (90.0, 20.0))
    )
    up = toward(space(0, 0), space(0, 1))
    for x, level in ((-400.0, 0.0), (30.0, 0.0), (60.0, 20.0), (700.0, 20.0)):
        ((low, high),) = spans_outside(step, space(x, -100.0), up)
        assert low == -math.inf
        assert high == pytest.approx(level + 100.0, abs=1e-9)
    across = toward(space(0, 0), space(1, 0))
    assert spans_outside(step, space(0.0, 30.0), across) == []
    assert spans_outside(step, space(0.0, -30.0), across) == [(-math.inf, math.inf)]


def test_the_surface_where_a_line_comes_out_is_told() -> None:
    form, start = seat(), space(70.0, 60.0)
    to_the_edge, to_the_end = toward(space(0, 0), space(0, -1)), toward(space(0, 0), space(1, 0))
    out = patch_crossed(form, start, to_the_edge, 60.0)
    assert isinstance(out, Plane)
    assert out.distance(space(33.0, 0.0, 5.0)) == pytest.approx(0.0, abs=1e-9)
    round_ = patch_crossed(form, start, to_the_end, 190.0)
    assert isinstance(round_, Cylinder)
    assert round_.radius == 60.0
    assert patch_crossed(form, start, to_the_end, 150.0) is None
