"""What shares wood and what only touches."""

from __future__ import annotations

import math
import random

import pytest

from plangen.geometry.clash import clash, overlapping_pairs, union_volume
from plangen.geometry.contact import contact_area
from plangen.geometry.frames import WORLD, Frame
from plangen.geometry.region import convex_region
from plangen.geometry.solid import Solid, build_solid
from plangen.geometry.surfaces import Box, Cylinder, Plane
from plangen.geometry.vectors import Vec, cross, unit

RAIL = Box((0.0, 0.0, 0.0), (600.0, 90.0, 38.0))


def random_frame(turn: random.Random, hand: int = 1) -> Frame:
    def direction() -> Vec:
        return unit((turn.uniform(-1, 1), turn.uniform(-1, 1), turn.uniform(-1, 1)))

    l = direction()  # noqa: E741
    w = unit(cross(l, direction()))
    t = cross(l, w)
    return Frame(
        (turn.uniform(-900, 900), turn.uniform(-900, 900), turn.uniform(-900, 900)),
        l,
        w,
        t if hand > 0 else (-t[0], -t[1], -t[2]),
    )


def moved(frame: Frame, by: Vec) -> Frame:
    return Frame(frame.point(by), *frame.axes)


def test_boards_flush_on_each_other_in_any_pose_do_not_clash() -> None:
    turn = random.Random(11)
    plain, short = build_solid(RAIL, []), build_solid(Box((0.0, 0.0, 0.0), (300.0, 90.0, 38.0)), [])
    for _ in range(150):
        frame = random_frame(turn, turn.choice((1, -1)))
        onto = (turn.choice((0.0, 37.5, 300.0)), turn.choice((0.0, 12.3)), 38.0)
        assert clash(plain, frame, short, moved(frame, onto)) is None


def test_an_overlap_of_two_hundredths_is_found_in_any_pose() -> None:
    turn = random.Random(12)
    plain = build_solid(RAIL, [])
    for _ in range(60):
        frame = random_frame(turn, turn.choice((1, -1)))
        found = clash(plain, frame, plain, moved(frame, (37.5, 0.0, 38.0 - 0.02)))
        assert found is not None
        assert found.volume == pytest.approx(562.5 * 90 * 0.02, rel=1e-2)
        assert found.thickness == pytest.approx(0.02, rel=2e-2)
        local = frame.local_point(found.point)
        assert local == pytest.approx((37.5 + 281.25, 45.0, 37.99), abs=1e-2)


def lap_pair(turn: random.Random) -> tuple[Solid, Frame, Solid, Frame]:
    """A leg that leans two ways, half lapped over a rail: each cut by the planes of the other's body."""
    frame = random_frame(turn)
    lean, twist = turn.uniform(-0.4, 0.4), turn.uniform(-0.1, 0.1)
    axis = unit((math.sin(lean), math.cos(lean), 0.0))
    t = unit((math.sin(twist) * axis[1], -math.sin(twist) * axis[0], math.cos(twist)))
    w = cross(t, axis)
    leg_in_rail = Frame((300.0 - 300.0 * axis[0], 45.0 - 300.0 * axis[1], 19.0), axis, w, t)
    leg_box = Box((0.0, -45.0, -19.0), (600.0, 90.0, 38.0))
    floor = Plane((0.0, 0.0, 1.0), turn.uniform(20.0, 30.0))
    rail_cut, leg_cut = [floor], [floor.flipped()]
    leg_planes = [p.placed(leg_in_rail) for p in leg_box.planes().values()]
    rail_planes = list(RAIL.planes().values())
    shared = convex_region([*rail_planes, *leg_planes, floor.flipped()], 1e4)
    assert shared is not None
    rail_cut += [leg_planes[i - 6].flipped() for i in shared.indices if 6 <= i < 12]
    shared = convex_region([*rail_planes, *leg_planes, floor], 1e4)
    assert shared is not None
    leg_cut += [rail_planes[i].flipped() for i in shared.indices if i < 6]
    rail = build_solid(RAIL, [rail_cut])
    leg = build_solid(leg_box, [[p.local_to(leg_in_rail) for p in leg_cut]])
    return rail, frame, leg, frame.after(leg_in_rail)


def test_half_laps_cut_by_each_others_bodies_touch_without_a_clash() -> None:
    turn = random.Random(13)
    for _ in range(60):
        rail, frame, leg, leg_frame = lap_pair(turn)
        assert clash(rail, frame, leg, leg_frame) is None
        assert contact_area(rail, frame, leg, leg_frame, 0.01) > 90 * 90


def test_a_peg_that_fills_its_hole_is_in_contact_and_no_clash() -> None:
    turn = random.Random(14)
    bored = build_solid(RAIL, [[Cylinder((100.0, 45.0, 0.0), (0.0, 0.0, 1.0), 8.0, "hole")]])
    peg = build_solid(
        Box((0.0, -10.0, -10.0), (60.0, 20.0, 20.0)),
        [[Cylinder((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), 8.0, "post")]],
    )
    for _ in range(20):
        frame = random_frame(turn)
        a = turn.uniform(0, 6)
        inside = Frame(
            (100.0, 45.0, -10.0),
            (0.0, 0.0, 1.0),
            (math.cos(a), math.sin(a), 0.0),
            (-math.sin(a), math.cos(a), 0.0),
        )
        seat = frame.after(inside)
        assert clash(bored, frame, peg, seat) is None
        area = contact_area(bored, frame, peg, seat, 0.01)
        assert area == pytest.approx(2 * math.pi * 8 * 38, rel=2e-3)
        sideways = frame.after(Frame((100.05, 45.0, -10.0), inside.l, inside.w, inside.t))
        assert clash(bored, frame, peg, sideways) is not None


def test_contact_is_the_area_of_the_faces_that_lie_on_each_other() -> None:
    plain = build_solid(RAIL, [])
    turn = random.Random(15)
    for _ in range(20):
        frame = random_frame(turn)
        assert contact_area(plain, frame, plain, moved(frame, (200.0, 30.0, 38.0)), 0.01) == pytest.approx(
            400 * 60
        )
        assert contact_area(plain, frame, plain, moved(frame, (200.0, 30.0, 38.1)), 0.01) == 0.0
        assert contact_area(plain, frame, plain, moved(frame, (200.0, 30.0, 38.1)), 0.2) == pytest.approx(
            400 * 60
        )


def test_boxes_that_keep_apart_make_no_pair() -> None:
    plain = build_solid(RAIL, [])
    row = [(plain, moved(WORLD, (0.0, 0.0, 40.0 * i))) for i in range(6)]
    assert list(overlapping_pairs(row)) == []
    assert list(overlapping_pairs(row, gap=2.0)) == [(i, i + 1) for i in range(5)]


def test_every_pair_of_boxes_that_meet_is_found() -> None:
    turn = random.Random(16)
    plain = build_solid(Box((0.0, 0.0, 0.0), (300.0, 40.0, 20.0)), [])
    heap = [(plain, random_frame(turn)) for _ in range(40)]
    boxes = []
    for solid, frame in heap:
        corners = [frame.point(tuple(v)) for v in solid.vertices.tolist()]
        boxes.append([(min(c[i] for c in corners), max(c[i] for c in corners)) for i in range(3)])
    expected = [
        (i, j)
        for i in range(40)
        for j in range(i + 1, 40)
        if all(boxes[i][k][0] <= boxes[j][k][1] and boxes[j][k][0] <= boxes[i][k][1] for k in range(3))
    ]
    assert list(overlapping_pairs(heap)) == expected


def test_a_joint_conserves_wood() -> None:
    """The union of two lapped members fills what the union of their bodies filled."""
    turn = random.Random(17)
    body = build_solid(RAIL, [])
    leg_body = build_solid(Box((0.0, -45.0, -19.0), (600.0, 90.0, 38.0)), [])
    for _ in range(20):
        rail, frame, leg, leg_frame = lap_pair(turn)
        before = union_volume([(body, frame), (leg_body, leg_frame)])
        after = union_volume([(rail, frame), (leg, leg_frame)])
        assert after == pytest.approx(before, rel=1e-9)
        assert after == pytest.approx(rail.volume + leg.volume, rel=1e-9)
