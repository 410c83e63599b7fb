"""Cuts right through on one plane: the numbers alone give the plane back, and name only what is there."""

from __future__ import annotations

import math

import pytest
from cut_boards import assert_makes, board, cut, cuts_of
from hypothesis import given, settings
from hypothesis import strategies as st

from plangen.geometry.surfaces import Plane
from plangen.machining.plane_ways import plane_ways
from plangen.machining.setup import Setup, Way
from plangen.tables.machines import SMALL_SHOP


def ways_to_cut(length: float, width: float, thick: float, normal, through) -> tuple[Way, ...]:
    """Of one plane through a point, on a squared board."""
    size = math.sqrt(sum(c * c for c in normal))
    n = tuple(c / size for c in normal)
    plane = Plane(n, sum(a * b for a, b in zip(n, through, strict=True)))
    ((work, feature),) = cuts_of(board(length, width, thick, cut("end", 1, [plane])))
    ways = plane_ways(work, feature, SMALL_SHOP)
    for way in ways:
        assert_makes(work, feature, way)
    return ways


def best(ways: tuple[Way, ...]) -> Setup:
    (setup,) = min(ways, key=lambda w: w.cost).setups
    return setup


def degrees(*angles: float) -> tuple[float, ...]:
    return tuple(math.degrees(a) for a in angles)


normals = st.tuples(
    st.floats(0.55, 1.0), st.floats(-0.6, 0.6), st.floats(-0.6, 0.6), st.sampled_from((-1.0, 1.0))
)


@settings(max_examples=50, deadline=None)
@given(n=normals, thick=st.floats(12.0, 70.0), at=st.floats(0.3, 0.7))
def test_any_end_that_slopes_two_ways_comes_back_from_its_numbers(n, thick, at):
    ways_to_cut(800.0, 70.0, thick, (n[3] * n[0], n[1], n[2]), (800.0 * at, 35.0, thick / 2))


@settings(max_examples=30, deadline=None)
@given(w=st.sampled_from((-1.0, 1.0)), t=st.floats(-1.2, 1.2), l=st.floats(-0.3, 0.3))
def test_any_tapering_or_bevelled_edge_comes_back_from_its_numbers(w, t, l):  # noqa: E741
    ways_to_cut(800.0, 120.0, 25.0, (l, w, t), (400.0, 60.0 + 20.0 * w, 12.0))


# compound_mitre_printed.csv and crown_settings.csv of the reference: S-SAW1, S-SAW2 (read); the maker of the chart
# prints two decimals: (sides, pitch from the level, mitre, bevel)
@pytest.mark.parametrize(
    ("sides", "pitch", "mitre", "bevel"),
    [(4, 45.0, 35.26, 30.0), (4, 0.0, 45.0, 0.0), (5, 0.0, 36.0, 0.0)],
)
def test_the_end_of_a_hoppers_side_is_cut_at_the_charts_settings(sides, pitch, mitre, bevel):
    p, half = math.radians(pitch), math.pi / sides
    n, u = (math.sin(p), 0.0, math.cos(p)), (0.0, 1.0, 0.0)
    v = (-math.cos(p), 0.0, math.sin(p))
    m = (-math.sin(half), math.cos(half), 0.0)
    normal = tuple(sum(a * b for a, b in zip(m, axis, strict=True)) for axis in (u, v, n))
    setup = best(ways_to_cut(600.0, 100.0, 19.0, normal, (500.0, 50.0, 10.0)))
    found = degrees(abs(setup.miter), abs(setup.bevel))
    assert found == pytest.approx((mitre, bevel), abs=0.006)


def test_a_legs_compound_end_lies_flat_at_the_mitre_saw():
    # tan(miter) = tan(12) cos(bevel): the pair that kernel.md measures its set-ups on, mitre 11.86 bevel 6.70
    m, b = math.radians(11.86), math.radians(6.70)
    normal = (math.cos(m) * math.cos(b), math.sin(m) * math.cos(b), math.sin(b))
    setup = best(ways_to_cut(700.0, 90.0, 38.0, normal, (650.0, 45.0, 19.0)))
    assert setup.machine == "mitre saw"
    assert setup.surface_down in ("face", "back")
    assert degrees(abs(setup.miter), abs(setup.bevel)) == pytest.approx((11.86, 6.70), abs=1e-9)


def test_the_same_end_may_be_cut_with_the_piece_on_edge():
    m, b = math.radians(11.86), math.radians(6.70)
    normal = (math.cos(m) * math.cos(b), math.sin(m) * math.cos(b), math.sin(b))
    setup = best(ways_to_cut(700.0, 60.0, 38.0, normal, (650.0, 30.0, 19.0)))
    assert setup.alternative is not None
    # on edge the two slopes change places: tan(miter) = n.t / n.l, sin(bevel) = n.w
    wanted = degrees(math.atan2(normal[2], normal[0]), math.asin(normal[1]))
    assert degrees(*map(abs, setup.alternative)) == pytest.approx(wanted, abs=1e-9)


def test_a_square_end_is_a_plain_crosscut_marked_on_the_face_edge():
    setup = best(ways_to_cut(700.0, 90.0, 38.0, (1.0, 0.0, 0.0), (650.0, 0.0, 0.0)))
    assert (setup.operation, setup.machine, setup.miter, setup.bevel) == ("crosscut", "mitre saw", 0.0, 0.0)
    assert "edge" in setup.stop.arris
    assert (setup.stop.start, setup.stop.distance) == ("B", 50.0)


def test_a_board_is_ripped_with_its_waste_away_from_the_fence():
    setup = best(ways_to_cut(700.0, 90.0, 38.0, (0.0, 1.0, 0.0), (0.0, 60.0, 0.0)))
    assert (setup.operation, setup.surface_against) == ("rip", "edge")
    assert math.degrees(setup.miter) == 90.0
    assert (setup.stop.start, setup.stop.distance, setup.waste) == ("edge", 60.0, "left")


def test_the_blade_never_leans_over_the_work_toward_the_fence_where_turning_the_work_avoids_it():
    for slope in (-0.3, 0.3):
        for side in (-1.0, 1.0):
            setup = best(ways_to_cut(700.0, 90.0, 38.0, (0.0, side, slope), (0.0, 45.0 + 30.0 * side, 19.0)))
            assert math.degrees(setup.miter) == 90.0
            assert setup.bevel < 0.0


def test_a_taper_is_cut_on_the_carrier():
    setup = best(ways_to_cut(700.0, 90.0, 38.0, (-0.03, 1.0, 0.0), (350.0, 75.0, 19.0)))
    assert (setup.operation, setup.jig) == ("taper", "taper carrier")
    assert degrees(abs(setup.miter - math.pi / 2))[0] == pytest.approx(math.degrees(math.atan(0.03)))


def test_a_bevel_steeper_than_the_saw_leans_is_ripped_with_the_panel_on_edge():
    setup = best(ways_to_cut(500.0, 70.0, 38.0, (0.0, -math.sin(0.26), math.cos(0.26)), (0.0, 35.0, 25.0)))
    assert setup.operation == "rip"
    assert setup.surface_down in ("edge", "back edge")
    assert degrees(abs(setup.bevel))[0] == pytest.approx(math.degrees(0.26))


def test_a_second_end_is_measured_from_the_first():
    first, second = Plane((-1.0, 0.0, 0.0), -20.0), Plane((1.0, 0.0, 0.0), 620.0)
    made = list(cuts_of(board(700.0, 90.0, 38.0, cut("end", 1, [first]), cut("end", 2, [second]))))
    setup = best(plane_ways(*made[1], SMALL_SHOP))
    assert (setup.stop.start, setup.stop.distance) == ("end 1.1", pytest.approx(600.0))


def test_what_is_too_wide_for_every_machine_says_so_and_still_has_its_numbers():
    ways = ways_to_cut(2400.0, 1200.0, 18.0, (0.8, 0.6, 0.0), (1200.0, 600.0, 9.0))
    assert ways
    assert all(w.beyond for w in ways)
