"""Repeats in a ring: one member, evenly round a line, each turned with it."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from workshop import build

from plangen.geometry.contact import contact_area

BOX = """
title: Planter
units: mm
stock: {{board: {{ask for: larch, species: larch, width: 90, thickness: 15}}}}
planes:
  wall: {{through point: [300, 0, 0], square to: [cos({pitch} deg), 0, sin({pitch} deg)]}}
members:
  side:
    stock: board
    place: {{face: {{flush with: wall}}, edge: {{along: {{from: [300, 0, 0], going: rear}}}}}}
    trim:
      end A: {{halfway between: [side 1.face, side {last}.face]}}
      end B: {{halfway between: [side 1.face, side 2.face]}}
    copies: {{around: {{count: {count}, about: {{from: [0, 0, 0], going: up}}}}}}
"""


def ring(count, pitch=20):
    return build(BOX.format(count=count, last=count, pitch=pitch))


@pytest.mark.parametrize("count", [3, 4, 5, 6, 8, 12])
def test_the_sides_of_a_ring_are_one_member_and_none_is_the_other_hand(count):
    (member,) = ring(count).model.members
    assert [i.name for i in member.instances] == [f"side {n}" for n in range(1, count + 1)]
    assert {i.frame.determinant for i in member.instances} == {1}


@pytest.mark.parametrize("count", [4, 6, 8])
def test_a_ring_of_mitred_sides_closes_all_round(count):
    built = ring(count)
    (member,) = built.model.members
    for one, following in zip(member.instances, [*member.instances[1:], member.instances[0]], strict=True):
        (end_b,) = [
            s.form
            for f in member.features
            if f.kind == "end" and f.surfaces[0].form.normal[0] > 0
            for s in f.surfaces
        ]
        area = contact_area(member.solid, one.frame, member.solid, following.frame, 1e-6)
        # The end's area, found from the section square to the grain and the end's slope to it.
        assert area == pytest.approx(90 * 15 / end_b.normal[0], rel=1e-6)


@settings(max_examples=12, deadline=None)
@given(
    count=st.integers(2, 9),
    point=st.tuples(*[st.integers(-400, 400)] * 3),
    way=st.tuples(*[st.integers(-3, 3)] * 3).filter(any),
)
def test_each_turns_on_from_the_one_before_and_the_last_one_comes_round_to_the_first(count, point, way):
    built = build(f"""
title: T
units: mm
stock: {{board: {{ask for: oak, width: 45, thickness: 20}}}}
members:
  spoke:
    stock: board
    length: 200
    place: {{length: right, face: up, corner: [100, 20, 30]}}
    copies: {{around: {{count: {count}, about: {{from: {list(point)}, going: {list(way)}}}}}}}
""")
    frames = [s.frame for s in built.body("spoke").standings]
    size = math.dist(way, (0, 0, 0))
    axis = [c / size for c in way]
    # Rotations as quaternions (common practice): the product of all steps is a whole turn.
    half = math.pi / count
    turn = (math.cos(half), *(c * math.sin(half) for c in axis))
    for frame, following in zip(frames, [*frames[1:], frames[0]], strict=True):
        for corner in ((0.0, 0.0, 0.0), (200.0, 45.0, 20.0), (0.0, 45.0, 0.0)):
            p, q = frame.point(corner), following.point(corner)
            off = rotated(turn, [a - b for a, b in zip(p, point, strict=True)])
            assert math.dist(q, [a + b for a, b in zip(off, point, strict=True)]) < 1e-9


def rotated(q, v):
    w, x, y, z = q
    t = [2 * (y * v[2] - z * v[1]), 2 * (z * v[0] - x * v[2]), 2 * (x * v[1] - y * v[0])]
    cross = [y * t[2] - z * t[1], z * t[0] - x * t[2], x * t[1] - y * t[0]]
    return [a + w * b + c for a, b, c in zip(v, t, cross, strict=True)]


def test_the_pieces_of_a_ring_that_lap_their_neighbours_are_still_one_member():
    built = build("""
title: Hexagon
units: mm
stock: {board: {ask for: oak, width: 60, thickness: 20}}
planes: {wall: {through point: [300, 0, 0], square to: right}}
members:
  side:
    stock: board
    length: 400
    place: {length: rear, face: up, edge: {at: wall}, middle: [depth plane, floor]}
    copies: {around: {count: 6, about: {from: [0, 0, 0], going: up}}}
joints:
  - {half lap: [side, side]}
""")
    (member,) = built.model.members
    assert member.quantity == 6
    assert len(built.model.joints) == 6


def test_a_ring_of_bought_parts_is_counted():
    built = build("""
title: T
units: mm
stock: {board: {ask for: oak, width: 60, thickness: 20}}
members:
  rail: {stock: board, length: 400, place: {length: rear, face: up, corner: [0, 0, 0]}}
bought:
  stud:
    size: brass stud
    round: [10, 6]
    place: {length: up, corner: [200, 0, 0]}
    copies: {around: {count: 5, about: {from: [0, 0, 0], going: up}}}
""")
    assert [h.quantity for h in built.model.hardware if h.name == "stud"] == [5]
