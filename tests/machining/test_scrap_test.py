"""Tests in scrap: two offcuts that show an angle twice, cut and put together again with plain vectors."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plangen.machining.scrap_test import Bases, Opening, scrap_test
from plangen.machining.setup import Setting, Tilt, Tool

BASES = Bases(100.0, 40.0, 300.0)
angle = st.floats(math.radians(1.0), math.radians(40.0)).flatmap(lambda a: st.sampled_from((a, -a)))


def setting(miter: float = 0.0, bevel: float = 0.0, tilt: Tilt | None = None) -> Setting:
    return Setting(1, "mitre saw", Tool("head", 20.0), miter, bevel, tilt, None, (1,))


def turn(axis: tuple[float, float, float], angle: float) -> np.ndarray:
    k = np.array([[0, -axis[2], axis[1]], [axis[2], 0, -axis[0]], [-axis[1], axis[0], 0]])
    return np.eye(3) + math.sin(angle) * k + (1 - math.cos(angle)) * k @ k


def blade(miter: float, bevel: float) -> np.ndarray:
    return turn((0, 0, 1), miter) @ turn((0, 1, 0), bevel) @ np.array([1.0, 0.0, 0.0])


def gap(normal: np.ndarray, y: float, z: float) -> float:
    """Between the cut end of a scrap that lies along x and that of its other part turned over about its length, both
    through the origin, at ``y`` of the width and ``z`` of the thickness."""
    over = np.diag([1.0, -1.0, -1.0]) @ normal
    return -(over[1] * y + over[2] * z) / over[0] + (normal[1] * y + normal[2] * z) / normal[0]


@given(miter=angle, bevel=angle)
@settings(max_examples=40, deadline=None)
def test_two_parts_of_a_scrap_one_turned_over_part_by_twice_the_angle(miter: float, bevel: float) -> None:
    found = scrap_test(setting(miter, bevel), "crosscut", BASES)
    assert found is not None
    n = blade(miter, bevel)
    if abs(n[0]) < abs(n[1]):
        return
    assert found.how == "end to end"
    across, through = found.openings
    assert across.gap == pytest.approx(abs(gap(n, 100.0, 0.0)))
    assert through.gap == pytest.approx(abs(gap(n, 0.0, 40.0)))


@given(lean=st.floats(math.radians(1.0), math.radians(40.0)), way=st.sampled_from((0.0, math.pi)))
@settings(max_examples=20, deadline=None)
def test_two_planed_edges_one_turned_end_for_end_part_by_twice_the_fence_s_lean(
    lean: float, way: float
) -> None:
    """The board as it stands on its edge at the fence, then laid down: edge to edge along x, the same face up."""
    setting_ = setting(math.pi / 2, math.pi / 2, Tilt(lean, way))
    found = scrap_test(setting_, "plane", BASES)
    assert found is not None
    assert found.how == "planed edges"
    (through,) = found.openings
    _, to_fence, up = turn((math.cos(way), 0, 0), -lean) @ np.array([0.0, 0.0, -1.0])
    one = np.array(
        [0.0, -up, to_fence]
    )  # laid on the side that stood at the fence: out of the edge y, upward z
    two = turn((0, 0, 1), math.pi) @ one
    assert through.gap == pytest.approx(40.0 * abs(one[2] / one[1] - two[2] / two[1]))
    assert through.gap == pytest.approx(80.0 * math.tan(lean))
    assert scrap_test(setting(math.pi / 2, math.pi / 2), "plane", BASES) is None


@given(miter=angle, bevel=angle)
@settings(max_examples=20, deadline=None)
def test_a_ripped_scrap_together_again_one_part_turned_end_for_end_shows_taper_and_tilt_twice(
    miter: float, bevel: float
) -> None:
    n = blade(math.pi / 2 + miter / 8, bevel)
    found = scrap_test(setting(math.pi / 2 + miter / 8, bevel), "rip", BASES)
    assert found is not None
    if found.how == "against a square":
        return
    other = turn((0, 1, 0), math.pi) @ -n
    gaps = {
        "length": 300.0 * (other[0] / other[1] - n[0] / n[1]),
        "thickness": 40.0 * (other[2] / other[1] - n[2] / n[1]),
    }
    assert found.how == "edge to edge"
    for opening in found.openings:
        assert opening.gap == pytest.approx(abs(gaps[opening.along]))


def test_a_scrap_cut_square_shows_nothing_and_has_no_test() -> None:
    assert scrap_test(setting(), "crosscut", BASES) is None
    assert scrap_test(setting(), "bore", BASES) is None


def test_two_mitres_of_45_degrees_are_held_in_a_square() -> None:
    found = scrap_test(setting(math.radians(45.0)), "crosscut", BASES)
    assert found is not None
    assert found.how == "against a square"


@given(true=st.floats(1.0, 40.0), off=st.floats(-0.5, 0.5))
@settings(max_examples=30, deadline=None)
def test_a_reading_tells_how_far_the_setting_is_out(true: float, off: float) -> None:
    def opening(degrees: float) -> float:
        return 2 * 100.0 * math.tan(math.radians(degrees))

    told = Opening("width", 100.0, opening(true)).error(opening(true + off) - opening(true))
    assert told == pytest.approx(off, abs=1e-9)


@given(lean=st.floats(math.radians(1.0), math.radians(30.0)), azimuth=st.floats(-3.0, 3.0))
@settings(max_examples=30, deadline=None)
def test_work_on_a_wedge_is_cut_as_by_a_blade_that_leans_the_other_way(lean: float, azimuth: float) -> None:
    """Put level again, the work shows the plane that the upright blade has left in it."""
    found = scrap_test(setting(math.radians(10.0), 0.0, Tilt(lean, azimuth)), "crosscut", BASES)
    level = turn((math.cos(azimuth), math.sin(azimuth), 0.0), -lean) @ blade(math.radians(10.0), 0.0)
    if abs(level[0]) < abs(level[1]):
        return
    gaps = {o.along: o.gap for o in found.openings} if found is not None else {}
    for along, value in (("width", gap(level, 100.0, 0.0)), ("thickness", gap(level, 0.0, 40.0))):
        assert gaps.get(along, 0.0) == pytest.approx(abs(value), abs=0.2 if along not in gaps else 1e-9)


def test_a_rod_through_two_scraps_shows_the_table_s_tilt_twice() -> None:
    found = scrap_test(setting(tilt=Tilt(math.radians(5.0), 0.0)), "bore", BASES)
    assert found is not None
    (side,) = found.openings
    # each face falls off square to the rod by 5 degrees; turned half round they fall off to both sides
    assert side.gap == pytest.approx(2 * 100.0 * math.tan(math.radians(5.0)))
    assert side.error(side.gap) == pytest.approx(
        math.degrees(math.atan(2 * math.tan(math.radians(5.0)))) - 5.0
    )
