"""Fasteners: holes square to the entry face, pilots in wood that is left, clearance, lengths that cannot hold."""

import math
from itertools import pairwise

import pytest
from workshop import build, findings_of

from plangen.geometry.vectors import dot
from plangen.tables.fasteners import read_fastener

BATTEN = """title: T
units: mm
stock:
  batten wood: {ask for: WOOD, species: WOOD, width: 60, thickness: 20}
  post wood: {ask for: WOOD, species: WOOD, width: 60, thickness: POST}
members:
  post:
    stock: post wood
    length: 400
    place: {length: up, face: {against: depth plane}, middle: [centre plane], end A: {against: floor}}
  batten:
    stock: batten wood
    length: 300
    place:
      length: right
      back: {flush with: {shift: depth plane, by: SUNK}}
      middle: [centre plane, {level at: 200}]
JOINTS
fasteners:
  - {SAID}
"""


def batten(said, post=60, joints="", wood="scots pine", sunk=0):
    """A batten in front of a post, let into it by ``sunk``, and one fastener entry."""
    text = BATTEN.replace("WOOD", wood).replace("POST", str(post)).replace("JOINTS", joints)
    return text.replace("SUNK", str(sunk)).replace("SAID", said)


def holes(built, name):
    return [f.hole for f in built.member(name).features if f.hole is not None]


def messages(text):
    return [f.text for f in findings_of(text) if f.level == "error"]


def test_a_screw_passes_the_first_freely_and_bites_in_the_second():
    built = build(batten("screw: 4 x 50, through: batten, into: post"))
    screw = read_fastener("4 x 50", "screw")
    (clearance,), (pilot,) = holes(built, "batten"), holes(built, "post")
    assert (clearance.purpose, clearance.diameter, clearance.depth) == ("clearance", screw.clearance, None)
    assert (pilot.purpose, pilot.diameter) == ("pilot", screw.pilot_softwood)
    assert pilot.depth == pytest.approx(50 - 20)


def test_hard_wood_takes_the_wider_pilot():
    built = build(batten("screw: 4 x 50, through: batten, into: post", wood="beech"))
    assert holes(built, "post")[0].diameter == read_fastener("4 x 50", "screw").pilot_hardwood


def test_the_axis_is_square_to_the_face_it_enters_by():
    built = build(batten("screw: 4 x 50, through: batten, into: post"))
    for name in ("batten", "post"):
        _, placed = built.instance(name)
        axis = placed.frame.direction(holes(built, name)[0].axis)
        assert abs(dot(axis, built.body("batten").frame.t)) == pytest.approx(1.0, abs=1e-12)


def test_a_pilot_starts_where_wood_is_left_after_the_joint():
    """The batten is let 8 mm into the post: 8 mm of the screw's way through the post's body is batten."""
    joint = "joints:\n  - {housing: [batten, post]}"
    built = build(batten("screw: 4 x 50, through: batten, into: post", joints=joint, sunk=8))
    (pilot,) = holes(built, "post")
    assert pilot.depth == pytest.approx(30)
    _, placed = built.instance("post")
    _, on_batten = built.instance("batten")
    start = on_batten.frame.local_point(placed.frame.point(pilot.entry))
    assert min(abs(start[2]), abs(start[2] - 20)) == pytest.approx(0.0, abs=1e-9)


def test_a_counterbore_lets_the_screw_reach_deeper():
    built = build(batten("screw: 4 x 50, through: batten, into: post, counterbore: {diameter: 10, depth: 6}"))
    assert holes(built, "post")[0].depth == pytest.approx(36)
    assert {h.purpose for h in holes(built, "batten")} == {"clearance", "counterbore"}


def test_a_row_keeps_its_inset_from_both_ends():
    built = build(batten("screw: 4 x 50, through: batten, into: post, count: 3, row: along, inset: 10"))
    along = sorted(h.entry[0] for h in holes(built, "batten"))
    assert [b - a for a, b in pairwise(along)] == pytest.approx([20, 20])
    assert along[0] == pytest.approx(120 + 10)


def test_hardware_counts_every_place():
    built = build(batten("screw: 4 x 50, through: batten, into: post, count: 3, row: along, inset: 10"))
    assert [(h.quantity, h.length) for h in built.model.hardware] == [(3, 50.0)]


@pytest.mark.parametrize(
    ("said", "post", "message"),
    [
        (
            "screw: 4 x 20, through: batten, into: post", 60,
            'screw: 4 x 20 wood screw is too short to hold in "post": 0 mm of its 20 mm would be in it',
        ),
        (
            "screw: 4 x 70, through: batten, into: post", 40,
            'screw: 4 x 70 wood screw would come out of "post", which has 40 mm of wood there for 50 mm of screw; '
            "take a shorter one",
        ),
        (
            "screw: 4 x 50, through: batten, into: post, counterbore: {diameter: 10, depth: 25}", 60,
            'screw: the counterbore, 25 mm deep, goes right through "batten", 20 mm thick there; make it shallower',
        ),
        (
            "screw: 4 x 50, through: batten, into: post, count: 9, row: along", 60,
            'screw: no room for 9 in a row with 8 mm at each end where "batten" and "post" meet',
        ),
        (
            "screw: 4 x 50, through: batten, into: post, at: [[10, 30]]", 60,
            'screw: its axis misses "post", or all wood is cut away there; move it with at or inset',
        ),
    ],
)  # fmt: skip
def test_a_fastener_that_cannot_hold_is_refused(said, post, message):
    assert messages(batten(said, post)) == [message]


def test_a_bolt_too_short_for_its_grip_is_refused():
    (found,) = messages(batten("bolt: M8 x 80 carriage bolt, through: [batten, post]"))
    assert found.startswith("bolt: ")
    assert "is too short: 80 mm of wood, washer and nut need" in found
    assert found.endswith("take a longer one or counterbore")


def test_a_leaning_leg_is_bored_square_to_its_own_face():
    text = """title: T
units: mm
stock:
  stick: {ask for: ash, species: ash, width: 60, thickness: 40}
planes:
  wall:
    through line: {from: [0, 0, 400], going: right}
    lean: {by: 14 deg, toward: front, going: down, measured: from plumb}
members:
  beam:
    stock: stick
    length: 400
    place: {length: right, face: {flush with: {level at: 420}}, middle: [centre plane, depth plane]}
  leg:
    stock: stick
    place: {back: {against: wall}, length: along fall, middle: [centre plane]}
    trim: {upper end: beam.top, lower end: floor}
lines:
  fall: {from: [0, 0, 400], in: wall, lean: {by: 0 deg, toward: right, going: down, measured: on the plane}}
joints:
  - {housing: [leg, beam]}
fasteners:
  - {screw: 5 x 60, through: leg, into: beam}
"""
    built = build(text)
    _, placed = built.instance("beam")
    (pilot,) = holes(built, "beam")
    axis = placed.frame.direction(pilot.axis)
    assert math.degrees(math.atan2(abs(axis[2]), abs(axis[1]))) == pytest.approx(14, abs=1e-9)


def test_a_rod_without_a_length_is_as_long_as_the_wood_washers_and_nuts_need():
    built = build(batten("rod: M8, through: [batten, post]"))
    rod = read_fastener("M8", "rod")
    (bought,) = [h for h in built.model.hardware if "rod" in h.name]
    iron = rod.nuts * rod.nut_height + rod.washers * rod.washer_thickness
    assert bought.length == pytest.approx(20 + 60 + iron)


def test_a_rod_too_short_for_its_grip_is_refused():
    (found,) = messages(batten("rod: M8 x 60, through: [batten, post]"))
    assert "is too short: 80 mm of wood" in found
