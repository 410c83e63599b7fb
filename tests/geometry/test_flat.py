"""Plane areas: the way a row of screws takes in one."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPoint, Polygon

from plangen.geometry.flat import Area

POINTS = st.lists(st.tuples(st.integers(-100, 100), st.integers(-100, 100)), min_size=3, max_size=7)


def area(points) -> Area | None:
    return Area.around([(float(x), float(y)) for x, y in points])


@given(POINTS)
@settings(max_examples=60, deadline=None)
def test_the_mirror_image_of_an_area_has_the_mirror_image_of_its_long_way(points) -> None:
    drawn, other = area(points), area([(x, -y) for x, y in points])
    if drawn is None or other is None:
        return
    (x, y), (a, b) = drawn.long_way(), other.long_way()
    assert abs(x * b + y * a) < 1e-6, "the same line, mirrored"


@given(POINTS)
@settings(max_examples=60, deadline=None)
def test_no_rectangle_round_an_area_is_smaller_than_the_one_along_its_long_way(points) -> None:
    """Held to shapely's own least rectangle, where that has a longer side."""
    drawn = area(points)
    if drawn is None:
        return
    x, y = drawn.long_way()
    least = Polygon(MultiPoint(drawn.corners).minimum_rotated_rectangle)
    sides = sorted(
        math.dist(*pair) for pair in zip(least.exterior.coords[:2], least.exterior.coords[1:3], strict=True)
    )
    if sides[1] < 1.06 * sides[0]:
        return
    along = [p[0] * x + p[1] * y for p in drawn.corners]
    across = [p[1] * x - p[0] * y for p in drawn.corners]
    assert (max(along) - min(along)) * (max(across) - min(across)) == pytest.approx(least.area, rel=1e-6)


def test_two_rails_lapped_at_a_slant_share_a_rhombus_and_its_mirror_image() -> None:
    """A bench's legs lean 12 degrees in rails of their own width: left and right leg came out as two members."""
    lean = math.tan(math.radians(12.0))
    width = 88.9 / math.cos(math.radians(12.0))
    corners = [(0.0, 0.0), (width, 0.0), (width - 88.9 * lean, 88.9), (-88.9 * lean, 88.9)]
    assert Area.around(corners).long_way() == pytest.approx((1.0, 0.0))
    assert Area.around([(x, -y) for x, y in corners]).long_way() == pytest.approx((1.0, 0.0))
