"""Room beside a travelling part: measured at once, against the same measured height by height."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from plangen.geometry.frames import WORLD
from plangen.geometry.room import least_way_between, room_beside
from plangen.geometry.solid import build_solid
from plangen.geometry.surfaces import Box

FACETS = arrays.arrays(np.float64, (3, 3), elements=st.integers(-40, 40).map(lambda n: n / 4))


def come_to(facet, height, *, passed):
    """Seen along the way: where a facet crosses a height, with all of it below that where it has ``passed``."""
    found = [p[:2] for p in facet if p[2] == height or (passed and p[2] < height)]
    for p, q in zip(facet, np.roll(facet, -1, axis=0), strict=True):
        if (p[2] - height) * (q[2] - height) < 0:
            found.append(p[:2] + (q[:2] - p[:2]) * ((height - p[2]) / (q[2] - p[2])))
    return shapely.MultiPoint(found).convex_hull


def room_by_height(wall, other):
    """The least over the heights of the other, by golden section: the room has one valley."""
    low, high = max(wall[:, 2].min(), other[:, 2].min()), other[:, 2].max()

    def room(height):
        return come_to(wall, height, passed=True).distance(come_to(other, height, passed=False))

    rooms = [room(low), room(high)]
    share = (np.sqrt(5) - 1) / 2
    for _ in range(60):
        a, b = high - share * (high - low), low + share * (high - low)
        rooms += [room(a), room(b)]
        low, high = (low, b) if rooms[-2] <= rooms[-1] else (a, high)
    return min(rooms)


@settings(max_examples=12, deadline=None)
@given(FACETS, FACETS)
def test_the_room_between_two_facets_is_the_least_over_all_heights(wall, other):
    if other[:, 2].max() > wall[:, 2].min():
        assert least_way_between(wall[None], other[None])[0] == pytest.approx(
            room_by_height(wall, other), abs=1e-6
        )


def test_a_facet_below_the_other_passes_all_of_it():
    """Whatever stands above is passed by: then the room is that between the two as seen along the way."""
    rng = np.random.default_rng(7)
    walls, others = (
        rng.uniform(-10, 10, (50, 3, 3)),
        rng.uniform(-10, 10, (50, 3, 3)) + np.array((8.0, 0.0, 20.0)),
    )
    seen = [
        shapely.Polygon(a[:, :2]).distance(shapely.Polygon(b[:, :2]))
        for a, b in zip(walls, others, strict=True)
    ]
    assert least_way_between(walls, others) == pytest.approx(seen, abs=1e-9)


def test_what_the_part_has_left_behind_is_no_room():
    """A wedge-shaped facet: only where the other stands at its height or above is it passed."""
    wall = np.array([[[0.0, 0.0, 0.0], [0.0, 0.0, 10.0], [4.0, 0.0, 10.0]]])
    post = np.array([[[6.0, 0.0, -5.0], [6.0, 0.0, 5.0], [6.0, 1.0, 5.0]]])
    # The facet reaches out to x = 0.4 z: at the post's top, z = 5, to 2.
    assert least_way_between(wall, post)[0] == pytest.approx(4.0, abs=1e-12)


def test_a_drawer_between_two_sides_has_half_of_what_they_leave_it():
    drawer = build_solid(Box((0.0, 0.0, 0.0), (300.0, 400.0, 90.0)), [])
    left = build_solid(Box((-21.5, 0.0, 0.0), (20.0, 400.0, 100.0)), [])
    right = build_solid(Box((300.9, 0.0, 0.0), (20.0, 400.0, 100.0)), [])
    sides = [(left, WORLD), (right, WORLD)]
    way = (0.0, -1.0, 0.0)
    half, nearer = room_beside([(drawer, WORLD)], sides, way, 12.0)
    assert half == pytest.approx((1.5 + 0.9) / 2, abs=1e-9)
    assert nearer == 1
    assert room_beside([(drawer, WORLD)], sides[:1], way, 12.0) is None
    assert room_beside([(drawer, WORLD)], sides, way, 1.0) is None
