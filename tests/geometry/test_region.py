"""Convex regions against known bodies and against an independent half-space construction."""

from __future__ import annotations

import math
import random

import pytest
from brep_kernel import kernel_centroid, kernel_solid, kernel_volume

from plangen.geometry.region import convex_region
from plangen.geometry.surfaces import Box, Plane
from plangen.geometry.vectors import dot, length, sub, unit


def _board(length_: float = 700.0, width: float = 90.0, thickness: float = 38.0) -> list[Plane]:
    return list(Box((0.0, 0.0, 0.0), (length_, width, thickness)).planes().values())


def test_six_faces_of_a_board_close_a_region_of_its_size() -> None:
    region = convex_region(_board(), 1e4)
    assert region is not None
    assert region.volume == pytest.approx(700 * 90 * 38, rel=1e-15)
    assert region.centroid == pytest.approx((350.0, 45.0, 19.0), rel=1e-14)
    assert region.indices == (0, 1, 2, 3, 4, 5)
    assert not region.unbounded
    assert len(region.vertices) == 8
    assert sorted(region.areas) == pytest.approx(
        sorted([90 * 38.0] * 2 + [700 * 38.0] * 2 + [700 * 90.0] * 2)
    )


def test_four_long_faces_alone_leave_the_ends_open() -> None:
    region = convex_region(_board()[2:], 5000.0)
    assert region is not None
    assert region.unbounded
    assert region.volume == pytest.approx(1e4 * 90 * 38)


def test_planes_that_only_touch_or_repeat_carry_no_area() -> None:
    s = math.sqrt(0.5)
    touching = [Plane((-s, -s, 0.0), 0.0), Plane((s, s, 0.0), s * 790), Plane((0.0, 0.0, 1.0), 38.0)]
    region = convex_region(_board() + touching, 1e4)
    assert region is not None
    assert region.indices == (0, 1, 2, 3, 4, 5)
    assert all(region.area(i) == 0.0 for i in (6, 7, 8))
    assert len(region.vertices) == 8


@pytest.mark.parametrize("offset", [0.0, 5e-8, -1.0, 1e-7])
def test_a_flat_or_empty_region_is_none(offset: float) -> None:
    assert convex_region([*_board(), Plane((0.0, 0.0, 1.0), offset)], 1e4) is None


def test_a_face_a_hair_thick_is_not_lost() -> None:
    region = convex_region([*_board(), Plane((0.0, 0.0, 1.0), 1e-3)], 1e4)
    assert region is not None
    assert region.volume == pytest.approx(700 * 90 * 1e-3, rel=1e-9)
    assert region.indices == (0, 1, 2, 3, 4, 6)


def test_corners_lie_on_three_planes_each_and_faces_turn_outward() -> None:
    turn = random.Random(3)
    for _ in range(60):
        planes = _board()
        for _ in range(8):
            normal = unit((turn.uniform(-1, 1), turn.uniform(-1, 1), turn.uniform(-1, 1)))
            through = (turn.uniform(250, 450), turn.uniform(20, 70), turn.uniform(5, 33))
            height = dot(normal, through) - dot(normal, (350.0, 45.0, 19.0))
            planes.append(Plane(normal, dot(normal, (350.0, 45.0, 19.0)) + abs(height)))
        region = convex_region(planes, 1e4)
        assert region is not None
        for p in region.vertices:
            distances = sorted(abs(plane.distance(p)) for plane in region.planes)
            assert distances[2] < 1e-10
            assert all(plane.distance(p) < 2e-7 for plane in planes)
        outward = [
            dot(region.planes[region.indices.index(i)].normal, sub(polygon[0], region.centroid))
            for i, polygon in region.faces
        ]
        assert min(outward) > 0
        by_pyramids = math.fsum(a * h / 3 for a, h in zip(region.areas, outward, strict=True))
        assert by_pyramids == pytest.approx(region.volume, rel=1e-12)


def test_volume_and_centroid_agree_with_an_exact_boundary_kernel() -> None:
    turn = random.Random(5)
    for _ in range(8):
        planes = _board()
        for _ in range(4):
            normal = unit((turn.uniform(-1, 1), turn.uniform(-0.4, 0.4), turn.uniform(-0.3, 0.3)))
            planes.append(Plane(normal, dot(normal, (350.0, 45.0, 19.0)) + turn.uniform(40, 250)))
        region = convex_region(planes, 1e4)
        solid = kernel_solid(Box((0.0, 0.0, 0.0), (700.0, 90.0, 38.0)), [[plane] for plane in planes[6:]])
        assert region is not None
        assert region.volume == pytest.approx(kernel_volume(solid), rel=1e-9)
        assert length(sub(region.centroid, kernel_centroid(solid))) < 1e-6
