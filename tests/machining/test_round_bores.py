"""Holes at the drill press: a few lines with numpy rebuild each from the numbers of its set-ups alone."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from machining.round_rebuilding import DESIGNS, apart, machine_axes, made_of, piece, rebuilt
from worked_out import piece_of

from plangen.geometry.solid import GeometryError
from plangen.geometry.surfaces import Cone, Cylinder, Plane
from plangen.geometry.vectors import along, dot, neg, unit
from plangen.joinery.boring_angles import boring_angles
from plangen.joinery.model import Feature, Hole, Member
from plangen.machining.bores import bored
from plangen.machining.hands import mirrored
from plangen.machining.round_ways import round_ways
from plangen.machining.setup import Way
from plangen.machining.work import Bench, Work
from plangen.tables.machines import SMALL_SHOP, Reach, Shop

BOARD = (300.0, 120.0, 40.0)


def is_bored(feature: Feature) -> bool:
    return (
        all(
            isinstance(s.form, Plane) or (isinstance(s.form, Cylinder | Cone) and s.form.side == "hole")
            for s in feature.surfaces
        )
        and feature.hole is not None
    )


def states(member: Member) -> list[tuple[Feature, Work]]:
    """Each hole on the blank; the last also on the member with everything cut that was written before it."""
    bench = Bench(member)
    holes = [f for f in member.features if is_bored(f)]
    last = [(f, bench.work(g.id for g in member.features[: member.features.index(f)])) for f in holes[-1:]]
    return [*((f, bench.work()) for f in holes), *last]


def assert_makes(way: Way, work: Work, feature: Feature) -> None:
    made = [i for s in way.setups for i in s.makes]
    assert sorted(made) == sorted(s.id for s in feature.surfaces), "each surface is made once"
    wanted = {s.id: s.form for s in feature.surfaces}
    for setup in way.setups:
        if setup.by_hand is not None:
            continue
        for name, form in rebuilt(setup, work.planes()).items():
            assert apart(form, wanted[name], work.member.blank) < 1e-6, (setup, name)


@pytest.mark.parametrize("path", DESIGNS, ids=lambda p: p.stem)
def test_every_hole_of_every_design_is_bored_where_its_numbers_say(path: Path) -> None:
    for member in piece_of(path).members:
        for feature, work in states(member):
            ways = round_ways(work, feature, SMALL_SHOP)
            assert ways, (member.name, feature.id)
            for way in ways:
                assert_makes(way, work, feature)
                assert_lies_on_wood(way, work)


def assert_lies_on_wood(way: Way, work: Work) -> None:
    for setup in way.setups:
        if setup.jig != "cradle" and setup.by_hand is None:
            for name in (setup.surface_down, setup.surface_against):
                seat = work.seat(work.planes()[name or ""])
                assert seat.area > 0.0, (setup, name)
                assert seat.clear, (setup, name)


def slanting(lean: float, turn: float) -> tuple[float, float, float]:
    """Into the face, leaning by ``lean`` toward the direction ``turn`` from end B, radians."""
    return (math.sin(lean) * math.cos(turn), math.sin(lean) * math.sin(turn), -math.cos(lean))


angles = st.floats(0.0, 1.45)
turns = st.floats(-3.1, 3.1)


@settings(max_examples=40, deadline=None)
@given(
    angles, turns, st.floats(60.0, 240.0), st.floats(30.0, 90.0), st.floats(3.0, 20.0),
    st.one_of(st.none(), st.floats(6.0, 30.0)), st.sampled_from(("straight", "tapering")),
)  # fmt: skip
def test_a_hole_at_any_angle_is_rebuilt_from_its_set_up(
    lean: float,
    turn: float,
    along_grain: float,
    w: float,
    radius: float,
    depth: float | None,
    shape: str,
) -> None:
    axis, entry = slanting(lean, turn), (along_grain, w, BOARD[2])
    if shape == "tapering":
        feature = made_of("hole", [Cone(entry, axis, radius, -0.06, "hole")])
    elif depth is None:
        feature = made_of("hole", [Cylinder(entry, axis, radius, "hole")])
    else:
        floor = Plane(neg(axis), -dot(axis, along(entry, axis, depth)))
        feature = made_of("hole", [Cylinder(entry, axis, radius, "hole"), floor])
    work = board_for(feature)
    ways = round_ways(work, feature, SMALL_SHOP)
    assert ways
    for way in ways:
        assert_makes(way, work, feature)
        for setup in way.setups:
            upright = machine_axes(setup, work.planes())[2]
            assert abs(abs(float(upright @ axis)) - 1.0) < 1e-12, "the drill stands in the hole's axis"


def board_for(feature: Feature) -> Work:
    try:
        return Bench(piece(BOARD, feature)).work()
    except GeometryError:
        assume(False)
        raise


# rake, splay, sight line from the fore-and-aft axis, resultant, degrees. The first two were read: a shop's notes on a
# staked sawbench (64 and 15), a publisher's notes on a Roman bench (30 and 15), both stated to a degree. The others
# are vectors, with tan resultant = sqrt(tan2 rake + tan2 splay), tan sight line = tan splay / tan rake (chair-making
# practice), to 1e-4.
LEGS = [
    (6.699, 13.541, 64, 15, 1e-2), (7.631, 13.064, 60, 15, 1e-2), (5, 5, 45.0, 7.0532, 1e-4),
    (10, 10, 45.0, 14.0019, 1e-4), (8, 12, 56.5276, 14.2957, 1e-4), (14, 8, 29.4090, 15.9717, 1e-4),
    (15, 10, 33.3474, 17.7842, 1e-4), (16, 10, 31.5884, 18.6043, 1e-4), (20, 15, 36.3599, 24.3212, 1e-4),
    (22, 10, 23.5776, 23.7892, 1e-4), (25, 10, 20.7133, 26.4977, 1e-4), (10, 0, 0.0, 10.0, 1e-4),
    (0, 10, 90.0, 10.0, 1e-4), (45, 45, 45.0, 54.7356, 1e-4),
]  # fmt: skip


@pytest.mark.parametrize(("rake", "splay", "sight", "resultant", "within"), LEGS)
def test_a_splayed_leg_is_bored_at_its_resultant_with_the_table_tilted_across_its_sight_line(
    rake: float, splay: float, sight: float, resultant: float, within: float
) -> None:
    # the seat's front to back lies along the fence; seen from its underside the leg leans away from the middle
    axis = unit((math.tan(math.radians(rake)), math.tan(math.radians(splay)), -1.0))
    feature = made_of("socket", [Cylinder((150.0, 60.0, 40.0), axis, 8.0, "hole")])
    (setup,) = round_ways(board_for(feature), feature, SMALL_SHOP)[0].setups
    assert (setup.surface_down, setup.tilt is not None) == ("back", True)
    assert setup.tilt is not None
    assert math.degrees(setup.tilt.angle) == pytest.approx(resultant, abs=within)
    across = math.degrees(setup.tilt.azimuth) % 180.0
    assert min(across, 180.0 - across) == pytest.approx(90.0 - sight, abs=within)
    told = boring_angles(axis, (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))
    assert math.degrees(told.sight_line) == pytest.approx(sight, abs=within)


def test_a_table_that_tilts_too_little_takes_an_angle_block() -> None:
    axis = slanting(math.radians(30), 0.4)
    feature = made_of("hole", [Cylinder((150.0, 60.0, 40.0), axis, 5.0, "hole")])
    stiff = Shop("stiff", (Reach("drill press", tilt=20.0),))
    (setup,) = round_ways(board_for(feature), feature, stiff)[0].setups
    assert setup.jig == "angle block"
    (setup,) = round_ways(board_for(feature), feature, SMALL_SHOP)[0].setups
    assert setup.jig is None


def test_the_mark_is_laid_out_from_an_end_and_from_the_fence() -> None:
    feature = made_of("hole", [Cylinder((210.0, 35.0, 40.0), (0.0, 0.0, -1.0), 5.0, "hole")])
    (setup,) = round_ways(board_for(feature), feature, SMALL_SHOP)[0].setups
    assert setup.stop is not None
    assert setup.stop.arris == ("face", "edge")
    assert (setup.stop.start, setup.stop.distance, setup.fence) == (
        "B",
        pytest.approx(90.0),
        pytest.approx(35.0),
    )
    assert setup.stop.at == pytest.approx((210.0, 0.0, 40.0))


@settings(max_examples=30, deadline=None)
@given(angles, turns, st.floats(80.0, 220.0), st.floats(40.0, 80.0))
def test_stop_and_fence_lead_to_the_mark(lean: float, turn: float, along_grain: float, w: float) -> None:
    axis = slanting(lean, turn)
    feature = made_of("hole", [Cylinder((along_grain, w, BOARD[2]), axis, 4.0, "hole")])
    work = board_for(feature)
    (setup,) = round_ways(work, feature, SMALL_SHOP)[0].setups
    assert setup.stop is not None
    assert setup.fence is not None
    assert setup.depth_from is not None
    planes = work.planes()
    a, b = (planes[i] for i in setup.stop.arris)
    assert max(abs(p.distance(setup.stop.at)) for p in (a, b)) < 1e-9
    assert abs(planes[setup.stop.start].distance(setup.stop.at)) == pytest.approx(setup.stop.distance)
    # on a box all faces are square: from the foot straight over the surface, away from the fence
    fence = planes[setup.surface_against or ""]
    if fence in (a, b):
        assert along(setup.stop.at, neg(fence.normal), setup.fence) == pytest.approx(setup.path[0])


def test_a_hole_right_through_has_both_its_middles_and_a_board_behind_it() -> None:
    lean = math.radians(12)
    feature = made_of("hole", [Cylinder((150.0, 60.0, 40.0), slanting(lean, 0.0), 6.0, "hole")])
    first, other = round_ways(board_for(feature), feature, SMALL_SHOP)
    (one,), (two,) = first.setups, other.setups
    assert one.path[1] == pytest.approx((150.0 + 40.0 * math.tan(lean), 60.0, 0.0))
    assert two.path == (one.path[1], one.path[0]), "from the other side the marks change over"
    assert first.cost < other.cost
    (board,) = one.blocks
    assert (board.kind, board.on) == ("backing board", "back")
    # the drill's mouth on the board is an ellipse, 12 wide and 12 / cos 12 degrees long
    assert board.size[0] > 12.0 / math.cos(lean)
    assert board.size[1] > 12.0


def test_a_hole_half_out_of_a_face_is_bored_with_a_block_on_that_face() -> None:
    feature = made_of("seat", [Cylinder((150.0, 0.0, 40.0), (0.0, 1.0, 0.0), 8.0, "hole")])
    (setup,) = round_ways(board_for(feature), feature, SMALL_SHOP)[0].setups
    assert [b.kind for b in setup.blocks] == ["side block", "backing board"]
    side = setup.blocks[0]
    assert side.on == "face"
    assert side.size[0] > 120.0
    assert side.size[2] > 8.0
    assert "face" not in (setup.surface_down, setup.surface_against)


def test_a_counterbore_and_its_hole_are_bored_the_wide_one_first() -> None:
    down, entry = (0.0, 0.0, -1.0), (150.0, 60.0, 40.0)
    hole = Hole(entry, down, 8.0, None, "bolt", "face")
    wide = Hole(entry, down, 20.0, 10.0, "counterbore", "face")
    through = made_of("hole", [Cylinder(entry, down, 4.0, "hole")], hole)
    mouth = made_of("counterbore", [Cylinder(entry, down, 10.0, "hole"), Plane((0.0, 0.0, 1.0), 30.0)], wide)
    bench = Bench(piece(BOARD, through, mouth))
    before = round_ways(bench.work(), mouth, SMALL_SHOP)[0]
    after = round_ways(bench.work(["hole"]), mouth, SMALL_SHOP)[0]
    assert before.cost < after.cost - 0.3, "a hole that is there leaves the wide drill no middle"
    assert_makes(before, bench.work(), mouth)


def test_a_reamed_socket_is_bored_first_as_wide_as_its_narrow_end() -> None:
    axis, entry = (0.0, 0.0, -1.0), (150.0, 60.0, 40.0)
    feature = made_of("socket", [Cone(entry, axis, 15.0, -0.05, "hole")])
    bore, ream = round_ways(board_for(feature), feature, SMALL_SHOP)[0].setups
    assert (bore.operation, bore.makes, bore.frees) == ("bore", (), ())
    assert bore.tool is not None
    assert ream.tool is not None
    assert bore.tool.diameter == pytest.approx(2 * (15.0 - 0.05 * 40.0))
    assert (ream.operation, ream.tool.diameter) == ("ream", pytest.approx(30.0))
    assert ream.tool.included == pytest.approx(2 * math.atan(0.05))


def test_a_sunk_countersink_is_one_stroke_of_one_bit() -> None:
    axis = unit((0.2, 0.0, -1.0))
    entry = (150.0, 60.0, 40.0)
    cone = Cone(along(entry, axis, 3.0), axis, 8.0, -1.0, "hole")
    feature = made_of("countersink", [cone, Cylinder(entry, axis, 8.0, "hole")])
    work = board_for(feature)
    way = round_ways(work, feature, SMALL_SHOP)[0]
    taper, straight = way.setups
    assert (taper.passes, straight.passes) == (1, 0)
    assert_makes(way, work, feature)


def test_a_pilot_hole_is_bored_through_its_mate_by_hand() -> None:
    entry, down = (150.0, 60.0, 40.0), (0.0, 0.0, -1.0)
    hole = Hole(entry, down, 3.0, 20.0, "pilot", "face")
    forms = [Cylinder(entry, down, 1.5, "hole"), Plane((0.0, 0.0, 1.0), 20.0)]
    feature = made_of("hole", forms, hole, "on the work")
    (way,) = round_ways(board_for(feature), feature, SMALL_SHOP)
    (setup,) = way.setups
    assert (setup.by_hand, setup.makes) == ("fitted on the work", ("hole.1", "hole.2"))


def test_a_hole_deeper_than_the_quill_travels_is_bored_on_with_the_table_raised() -> None:
    feature = made_of("hole", [Cylinder((150.0, 0.0, 20.0), (0.0, 1.0, 0.0), 6.0, "hole")])
    (setup,) = round_ways(board_for(feature), feature, SMALL_SHOP)[0].setups
    assert setup.passes == 2, "120 mm with 80 mm of travel"


def test_a_shop_tells_what_it_cannot_bore() -> None:
    feature = made_of("hole", [Cylinder((150.0, 60.0, 40.0), (0.0, 0.0, -1.0), 6.25, "hole")])
    few = Shop("few drills", (Reach("drill press", drills=(6.0, 12.0)),))
    assert round_ways(board_for(feature), feature, few)[0].beyond == ("no drill of 12.5 mm",)
    none = Shop("hand tools", (Reach("hand"),))
    assert round_ways(board_for(feature), feature, none)[0].beyond == ("no drill press",)


def test_a_hole_wider_than_any_drill_is_not_bored() -> None:
    feature = made_of("arch", [Cylinder((150.0, -60.0, 40.0), (0.0, 0.0, -1.0), 90.0, "hole")])
    assert bored(board_for(feature), feature, feature.cutters, SMALL_SHOP) == ()


@pytest.mark.parametrize("wrong", ["tilt", "path", "depth", "diameter", "down"])
def test_a_changed_number_bores_another_hole(wrong: str) -> None:
    axis, entry = slanting(0.3, 0.7), (150.0, 60.0, 40.0)
    floor = Plane(neg(axis), -dot(axis, along(entry, axis, 20.0)))
    feature = made_of("hole", [Cylinder(entry, axis, 5.0, "hole"), floor])
    work = board_for(feature)
    (setup,) = round_ways(work, feature, SMALL_SHOP)[0].setups
    assert setup.tilt is not None
    assert setup.tool is not None
    ((at, depth),) = setup.depth_at
    changed = {
        "tilt": replace(setup, tilt=replace(setup.tilt, azimuth=-setup.tilt.azimuth)),
        "path": replace(setup, path=(along(setup.path[0], (1.0, 0.0, 0.0), 1.0),)),
        "depth": replace(setup, depth_at=((at, depth + 1.0),)),
        "diameter": replace(setup, tool=replace(setup.tool, diameter=11.0)),
        "down": replace(setup, surface_down="face", depth_from="face"),
    }[wrong]
    wanted = {s.id: s.form for s in feature.surfaces}
    forms = rebuilt(changed, work.planes())
    assert max(apart(f, wanted[i], work.member.blank) for i, f in forms.items()) > 0.4
    assert all(
        apart(f, wanted[i], work.member.blank) < 1e-6 for i, f in rebuilt(setup, work.planes()).items()
    )


@settings(max_examples=25, deadline=None)
@given(turns, st.floats(-0.6, 0.6), st.booleans())
def test_a_round_leg_rolled_and_raised_stands_with_its_socket_under_the_drill(
    turn: float, lean: float, other: bool
) -> None:
    round_ = made_of("round", [Cylinder((0.0, 20.0, 20.0), (1.0, 0.0, 0.0), 20.0, "post")])
    axis = (math.sin(lean), -math.cos(lean) * math.cos(turn), -math.cos(lean) * math.sin(turn))
    feature = made_of("socket", [Cylinder((200.0, 20.0, 20.0), axis, 6.0, "hole")])
    work = Bench(piece((400.0, 40.0, 40.0), round_, feature)).work(["round"])
    (setup,) = round_ways(work, feature, SMALL_SHOP)[0].setups
    face = work.planes()[setup.depth_from or ""].normal
    drill = np.array(axis)
    if other:
        # the mirror image in the length, in a right-handed frame of its own
        setup, drill = mirrored(setup), drill * (-1.0, 1.0, 1.0)
    assert setup.jig == "cradle"
    assert setup.rolled is not None
    roll, raise_ = setup.rolled
    # seen from end B, which the mirror image has at its other side: the face looks up, then the piece is rolled
    toward_b = -1.0 if other else 1.0
    turned = toward_b * roll - math.atan2(face[2], face[1])
    c, s = math.cos(turned), math.sin(turned)
    rolled = np.array([drill[0], c * drill[1] - s * drill[2], s * drill[1] + c * drill[2]])
    assert rolled == pytest.approx((toward_b * math.sin(raise_), -math.cos(raise_), 0.0), abs=1e-9)
    assert raise_ == pytest.approx(lean)


def test_a_socket_whose_mouth_runs_over_an_arris_is_bored_after_the_leg_is_turned() -> None:
    size = (300.0, 40.0, 40.0)
    round_ = made_of("round", [Cylinder((0.0, 20.0, 20.0), (1.0, 0.0, 0.0), 20.0, "post")])
    cost = {}
    for name, across in (("square", 0.0), ("toward an arris", 0.85)):
        axis = unit((0.2, -math.cos(across), -math.sin(across)))
        feature = made_of(
            "socket",
            [
                Cylinder((150.0, 20.0, 20.0), axis, 8.0, "hole"),
                Plane(neg(axis), -dot(axis, (150.0, 20.0, 20.0))),
            ],
        )
        bench = Bench(piece(size, round_, feature))
        before, after = (
            round_ways(bench.work(done), feature, SMALL_SHOP)[0].cost for done in ([], ["round"])
        )
        cost[name] = after - before
    assert cost["square"] > 0.0 > cost["toward an arris"]
