"""Waste with a floor: trenches, tenons, slots and pockets come back from the numbers of their set-ups."""

from __future__ import annotations

import math

import pytest
from cut_boards import assert_makes, board, cut, cuts_of
from hypothesis import given, settings
from hypothesis import strategies as st

from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import dot, unit
from plangen.machining.plane_ways import plane_ways
from plangen.machining.setup import Setup, Way
from plangen.tables.machines import SMALL_SHOP

LENGTH, WIDTH, THICK = 600.0, 90.0, 38.0


def plane(l: float, w: float, t: float, through: tuple[float, float, float]) -> Plane:  # noqa: E741
    """The plane through a point whose outward normal has this direction."""
    n = unit((l, w, t))
    return Plane(n, dot(n, through))


def way_to_cut(*cutters: list[Plane], size=(LENGTH, WIDTH, THICK)) -> Way:
    """The cheapest way to cut these pieces of waste out of a squared board; its numbers are held against the planes."""
    ((work, feature),) = cuts_of(board(*size, cut("notch", 1, *cutters)))
    ways = plane_ways(work, feature, SMALL_SHOP)
    for way in ways:
        assert_makes(work, feature, way)
    return min(ways, key=lambda w: w.cost)


def only(way: Way) -> Setup:
    (setup,) = way.setups
    return setup


def housing(depth=12.0, at=200.0, width=19.0, swing=0.0, lean=0.0, slope=(0.0, 0.0)) -> list[Plane]:
    """Wall, floor, wall of a trench across the face: swung (degrees), its walls leaning, its floor sloping along and
    across (degrees)."""
    a, b = math.tan(math.radians(swing)), math.tan(math.radians(lean))
    floor = plane(*(math.tan(math.radians(s)) for s in slope), 1.0, (at, WIDTH / 2, THICK - depth))
    near = plane(1.0, a, b, (at, WIDTH / 2, THICK))
    far = Plane((-near.normal[0], -near.normal[1], -near.normal[2]), -near.offset - width)
    return [near, floor, far]


# --- trenches -----------------------------------------------------------------------------------------------


def test_a_square_housing_is_one_set_up_with_the_trenched_face_down():
    setup = only(way_to_cut(housing()))
    assert (setup.operation, setup.machine, setup.surface_down) == ("trench", "trenching head", "face")
    assert (setup.cut_from, setup.depth_from, setup.waste) == ("below", "face", "between")
    assert setup.depth == pytest.approx((12.0, 12.0))
    assert setup.width == pytest.approx(19.0)
    assert (setup.stop.start, setup.stop.distance, setup.stop.wall) == ("A", pytest.approx(200.0), "near")


def test_a_swung_housing_needs_the_gauge_turned_and_nothing_else():
    setup = only(way_to_cut(housing(swing=12.0)))
    assert abs(math.degrees(setup.miter)) == pytest.approx(12.0)
    assert (setup.bevel, setup.tilt) == (0.0, None)


def test_walls_that_lean_are_sawn_before_the_floor_is_cleared():
    way = way_to_cut(housing(lean=8.0))
    assert [s.operation for s in way.setups] == ["kerf", "kerf", "trench"]
    assert all(abs(math.degrees(s.bevel)) == pytest.approx(8.0) for s in way.setups[:2])
    assert way.setups[2].stop is None
    # one wall hangs over: what the head cannot reach under it is the depth times the tangent of the lean
    assert max(s.residue for s in way.setups) == pytest.approx(12.0 * math.tan(math.radians(8.0)), abs=1e-6)
    # the other kerf, of real width, dips under the floor by its width times that tangent
    kerf = SMALL_SHOP.machine("table saw").kerf
    assert min(s.residue for s in way.setups) == pytest.approx(-kerf * math.tan(math.radians(8.0)), abs=1e-6)


def test_a_floor_that_slopes_across_its_trench_is_cut_with_the_head_leaning():
    along = math.tan(math.radians(6.0))
    near = plane(1.0, 0.0, -along, (200.0, 45.0, 38.0))
    floor = plane(along, 0.0, 1.0, (208.0, 45.0, 30.0))
    far = Plane((-near.normal[0], 0.0, -near.normal[2]), -near.offset - 16.0)
    setup = only(way_to_cut([near, floor, far]))
    assert setup.tilt is None
    assert abs(math.degrees(setup.bevel)) == pytest.approx(6.0)


def test_a_floor_that_slopes_two_ways_is_levelled_on_one_wedge():
    # rises of tan 4 and tan 3 square to each other are one of their root of squares (Pythagoras); its level line,
    # about which the work turns, lies atan(tan 4 / tan 3) from the side on which the rise of 4 is seen
    n = unit((math.tan(math.radians(4.0)), math.tan(math.radians(3.0)), 1.0))
    across = unit((n[2], 0.0, -n[0]))
    near = plane(*across, (200.0, 45.0, 30.0))
    far = Plane((-near.normal[0], -near.normal[1], -near.normal[2]), -near.offset - 19.0)
    setup = only(way_to_cut([near, plane(*n, (205.0, 45.0, 26.0)), far]))
    assert setup.jig == "wedge"
    steepest = math.atan(math.hypot(math.tan(math.radians(4.0)), math.tan(math.radians(3.0))))
    assert setup.tilt.angle == pytest.approx(steepest, abs=1e-9)
    turned = math.atan2(math.tan(math.radians(4.0)), math.tan(math.radians(3.0)))
    from_fence = abs(setup.tilt.azimuth) % (math.pi / 2)
    assert min(abs(from_fence - turned), abs(math.pi / 2 - from_fence - turned)) < 1e-9
    least, most = setup.depth
    assert most - least > 5.0


def test_a_surface_parallel_to_the_floor_spares_the_wedge():
    taper = plane(0.0, 0.05, 1.0, (300.0, 0.0, 38.0))
    trench = [
        plane(1.0, 0.0, 0.0, (200.0, 0.0, 0.0)),
        plane(0.0, 0.05, 1.0, (300.0, 0.0, 26.0)),
        plane(-1.0, 0.0, 0.0, (219.0, 0.0, 0.0)),
    ]
    first, second = cuts_of(board(LENGTH, WIDTH, 38.0, cut("bevel", 1, [taper]), cut("housing", 1, trench)))
    assert first[1].kind == "bevel"
    setup = only(min(plane_ways(*second, SMALL_SHOP), key=lambda w: w.cost))
    assert (setup.surface_down, setup.tilt) == ("bevel 1.1", None)
    assert setup.depth[1] - setup.depth[0] < 1e-9


@settings(max_examples=40, deadline=None)
@given(
    swing=st.floats(-40.0, 40.0),
    lean=st.one_of(st.just(0.0), st.floats(-20.0, 20.0)),
    along=st.one_of(st.just(0.0), st.floats(-9.0, 9.0)),
    across=st.one_of(st.just(0.0), st.floats(-9.0, 9.0)),
    width=st.floats(4.0, 80.0),
)
def test_any_trench_across_a_board_comes_back_from_its_numbers(swing, lean, along, across, width):
    way_to_cut(housing(15.0, 250.0, width, swing, lean, (along, across)))


@settings(max_examples=30, deadline=None)
@given(
    wall=st.tuples(st.floats(-0.3, 0.3), st.floats(-0.3, 0.3)),
    floor=st.tuples(st.floats(-0.15, 0.15), st.floats(-0.15, 0.15)),
    reach=st.floats(20.0, 120.0),
)
def test_any_lap_at_an_end_comes_back_from_its_numbers(wall, floor, reach):
    shoulder = plane(1.0, *wall, (LENGTH - reach, WIDTH / 2, THICK / 2))
    cheek = plane(*floor, 1.0, (LENGTH - reach, WIDTH / 2, THICK / 2))
    way_to_cut([shoulder, cheek])


# --- tenons, slots, fingers ---------------------------------------------------------------------------------


def tenon(swing=0.0, lean=0.0) -> list[list[Plane]]:
    """Shoulder with each of four cheeks, at end B."""
    slopes = math.tan(math.radians(swing)), math.tan(math.radians(lean))
    shoulder = plane(1.0, *slopes, (LENGTH - 40.0, WIDTH / 2, THICK / 2))
    cheeks = [
        ((0, 0, 1), (0, 0, 26.0)),
        ((0, 0, -1), (0, 0, 12.0)),
        ((0, 1, 0), (0, 75.0, 0)),
        ((0, -1, 0), (0, 15.0, 0)),
    ]
    return [[shoulder, plane(*n, p)] for n, p in cheeks]


def test_a_square_shoulder_is_made_once_and_carried_round_the_other_faces():
    way = way_to_cut(*tenon())
    shoulder = way.setups[0].makes[0]
    assert len(way.setups) == 4
    assert [shoulder in s.makes for s in way.setups] == [True, False, False, False]
    assert all(shoulder in s.goes_on for s in way.setups[1:])
    assert all(s.by_hand is None for s in way.setups)
    assert len({s.surface_down for s in way.setups}) == 4


def test_a_shoulder_that_slopes_two_ways_is_sawn_round_on_its_own_line():
    way = way_to_cut(*tenon(7.0, 6.0))
    assert all(s.by_hand is None for s in way.setups)
    shoulder = "notch 1.1"
    sawn = [s for s in way.setups if shoulder in (*s.makes, *s.goes_on) and s.operation == "kerf"]
    assert next(s.makes for s in sawn) == (shoulder,)
    assert len(sawn) >= 3


def test_slots_that_share_a_floor_are_cut_side_by_side_standing_on_the_end():
    floor = plane(1.0, 0.0, 0.0, (LENGTH - 12.0, 0.0, 0.0))
    slots = [
        [floor, plane(0, 1, 0, (0, w, 0)), plane(0, -1, 0, (0, w + 12.0, 0))] for w in (12.0, 36.0, 60.0)
    ]
    way = way_to_cut(*slots)
    assert [s.surface_down for s in way.setups] == ["B"] * 3
    assert [len(s.makes) for s in way.setups] == [3, 2, 2]
    assert all(s.width == pytest.approx(12.0) for s in way.setups)


def test_a_kerf_narrower_than_any_blade_is_a_wedge_slot_cut_by_hand():
    floor = plane(1.0, 0.0, 0.0, (LENGTH - 30.0, 0.0, 0.0))
    slot = [floor, plane(0, 1, 0, (0, 44.0, 0)), plane(0, -1, 0, (0, 45.5, 0))]
    assert only(way_to_cut(slot)).by_hand == "wedge slot"


def test_a_socket_whose_two_walls_hang_over_its_floor_is_a_dovetail():
    near = plane(1.0, 0.0, -0.2, (200.0, 45.0, 38.0))
    far = plane(-1.0, 0.0, -0.2, (219.0, 45.0, 38.0))
    way = way_to_cut([near, plane(0, 0, 1, (0, 0, 28.0)), far])
    assert {s.by_hand for s in way.setups} == {"dovetail"}


# --- pockets ------------------------------------------------------------------------------------------------


def test_a_stopped_housing_is_routed_and_its_end_squared_by_hand():
    end = plane(0, 1, 0, (0, 20.0, 0))
    way = way_to_cut([*housing(), end])
    routed, squared = way.setups
    assert (routed.operation, routed.machine, routed.cut_from) == ("rout", "router", "above")
    assert routed.run is not None
    assert (squared.by_hand, squared.makes) == ("square inside corner", ("notch 1.4",))
    # the corner that a round bit leaves: its radius times (root 2 - 1)
    assert routed.residue == pytest.approx(routed.tool.diameter / 2 * (math.sqrt(2.0) - 1.0))


def test_a_mortise_is_routed_from_its_mouth_with_both_ends_squared():
    walls = [plane(0, 0, 1, (0, 0, 13.0)), plane(0, 0, -1, (0, 0, 25.0))]
    ends = [plane(1, 0, 0, (200.0, 0, 0)), plane(-1, 0, 0, (260.0, 0, 0))]
    way = way_to_cut([plane(0, -1, 0, (0, 40.0, 0)), *walls, *ends])
    routed, squared = way.setups
    assert routed.depth_from == "edge"
    assert routed.depth == pytest.approx((40.0, 40.0))
    assert set(squared.makes) == {"notch 1.4", "notch 1.5"}
    assert routed.tool.width <= 12.0


def test_a_narrow_groove_along_the_edge_runs_along_the_fence():
    groove = [plane(0, 0, 1, (0, 0, 16.0)), plane(0, -1, 0, (0, 10.0, 0)), plane(0, 0, -1, (0, 0, 22.0))]
    setup = only(way_to_cut(groove))
    assert abs(math.degrees(setup.miter)) == pytest.approx(90.0)
    assert setup.surface_against in ("face", "back")


def test_a_wall_that_meets_no_wood_is_told_but_cut_to_no_depth():
    beyond = plane(0, 1, 0, (0, -5.0, 0))
    way = way_to_cut([*housing(), beyond])
    unmet = [s for s in way.setups if s.depth == (0.0, 0.0)]
    assert [s.makes for s in unmet] == [("notch 1.4",)]
    assert all(s.by_hand is None for s in way.setups)
