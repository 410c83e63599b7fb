"""Boards side by side: glued edge to edge, or tongued and grooved with room to swell."""

import math

import pytest
from sticks import Stick, design
from workshop import build, findings_of

RIGHT, REAR, UP = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)

DOOR = """title: Boarded door
units: mm
stock:
  boarding: {ask for: 25 x 100 larch, species: larch, width: 97, thickness: 18}
members:
  board:
    stock: boarding
    length: 1800
    place:
      length: up
      face: {flush with: depth plane}
      end A: {against: floor}
      middle: [{through point: [-180, 0, 0], square to: right}]
    copies: {repeat: {count: 5, spacing: 90, going: right}}
joints:
  - {tongue and groove: [board, board]OPTIONS}
"""


def door(options=""):
    return DOOR.replace("OPTIONS", options)


def test_a_boarded_door_of_five_boards_is_one_line():
    built = build(door())
    assert [str(f) for f in built.findings] == []
    assert sorted((m.quantity, tuple(sorted(f.kind for f in m.features))) for m in built.model.members) == [
        (1, ("groove",)),
        (1, ("tongue",)),
        (3, ("groove", "tongue")),
    ]
    assert len(built.model.joints) == 4


def test_the_tongue_is_a_third_of_the_thickness_and_the_joint_stands_open():
    """A board of 97: 97 / 60 left at the shoulder and below the tongue, slide fit at its cheeks."""
    built = build(door())
    gap, tongue = 97 / 60, 7.0
    middle = next(m for m in built.model.members if m.quantity == 3)
    shoulders = 2 * (tongue + gap) * 6 * 1800
    groove = (tongue + gap) * (6 + 2 * 0.2) * 1800
    assert 97 * 18 * 1800 - middle.solid.volume == pytest.approx(shoulders + groove)


def test_sizes_and_gap_are_those_that_were_said():
    built = build(door(", thickness: 8, gap: 2, fit: snug"))
    middle = next(m for m in built.model.members if m.quantity == 3)
    assert 97 * 18 * 1800 - middle.solid.volume == pytest.approx((9 * 10 + 9 * 8) * 1800)


def test_boards_across_one_another_are_no_boarding():
    a = Stick("a", (0.0, 0.0, 0.0), RIGHT, UP, (400.0, 90.0, 18.0))
    b = Stick("b", (0.0, 0.0, 80.0), REAR, UP, (400.0, 90.0, 18.0))
    (found,) = [
        f for f in findings_of(design(a, b, joints="{tongue and groove: [a, b]}")) if f.level == "error"
    ]
    assert found.text == 'tongue and groove: "a" and "b" do not run side by side'


def test_a_long_tongue_is_advised_against():
    (found,) = findings_of(door().replace("spacing: 90", "spacing: 80").replace("-180", "-160"))
    assert found.text == (
        "tongue and groove: the tongue is 0.94 of the board's thickness; the rule of thumb is 0.20 to 0.67 "
        "(common practice)"
    )


def glued(tilt=0.0, off=0.0, second_way=RIGHT):
    """Two boards flat, the second's edge against the first's, turned up about it by ``tilt`` degrees."""
    c, s = math.cos(math.radians(tilt)), math.sin(math.radians(tilt))
    across = (0.0, c, s)
    a = Stick("a", (0.0, 0.0, 50.0), RIGHT, REAR, (400.0, 90.0, 25.0))
    middle = (0.0, 45.0 + off + 45.0 * c + 12.5 * abs(s), 50.0 + 45.0 * s)
    b = Stick("b", middle, second_way, across, (400.0, 90.0, 25.0))
    return design(a, b, joints="{edge glue: [a, b]}")


def test_edges_that_lie_together_are_glued_and_nothing_is_cut():
    built = build(glued())
    assert [str(f) for f in built.findings] == []
    assert built.model.members[0].features == ()


def test_edges_that_gape_are_told():
    (found,) = [f for f in findings_of(glued(tilt=4)) if f.level == "error"]
    assert found.text == 'edge glue: no edge of "a" lies flat on "b"; joint them to fit'
    (found,) = [f for f in findings_of(glued(off=2)) if f.rule == "do not meet"]
    assert found.text.startswith('edge glue: "a" and "b" do not meet: they stand 2 mm apart')


def test_end_grain_is_no_edge_to_glue():
    a = Stick("a", (0.0, 0.0, 50.0), RIGHT, REAR, (400.0, 90.0, 25.0))
    b = Stick("b", (0.0, 245.0, 50.0), REAR, RIGHT, (400.0, 90.0, 25.0))
    (found,) = findings_of(design(a, b, joints="{edge glue: [a, b]}"))
    assert (found.level, found.text) == (
        "warning",
        'edge glue: the end of "b" is glued: end grain holds little (common practice); join it otherwise',
    )
