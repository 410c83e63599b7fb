"""Rods across members that stand apart, the way a fastener is driven, rows where leaning members meet."""

import math

import pytest
from workshop import build, findings_of

TIE = """title: Rod across two rails that spread
units: mm
stock:
  ash: {ask for: ash, species: ash, width: 90, thickness: 40}
planes:
  wall: {through point: [300, 0, 0], square to: right, turned: {by: 5 deg, toward: front}}
lines:
  foot: {meet: [wall, floor], going: rear}
members:
  rail:
    stock: ash
    length: 800
    place:
      length: along foot
      face: {flush with: wall}
      middle: [depth plane]
      edge: {flush with: {level at: 500, facing: down}}
    copies: {mirror: left to right}
fasteners:
  - {rod: M8 threaded rod, through: [rail right, rail left], from: outer, at: [[100, 45]]SAID}
"""


def bored(built):
    """World entry and direction of every hole, by the instance it is in."""
    return {
        i.name: (i.frame.point(f.hole.entry), i.frame.direction(f.hole.axis))
        for m in built.model.members
        for i in m.instances
        for f in m.features
        if f.hole is not None
    }


def test_a_rod_passes_rails_that_stand_apart_and_goes_the_way_it_is_told():
    found = bored(build(TIE.replace("SAID", ", going: left")))
    (right, way), (left, _) = found["rail right"], found["rail left"]
    assert (abs(way[0]), way[1], way[2]) == pytest.approx((1.0, 0.0, 0.0), abs=1e-9)
    assert right[1:] == pytest.approx(left[1:], abs=1e-9)
    # 100 mm from the front end of 800, measured along the rail, which spreads 5 degrees.
    assert right[1] == pytest.approx(-300 * math.cos(math.radians(5)), abs=4)


def test_a_rod_with_a_seat_for_each_nut_leaves_the_two_rails_a_pair():
    seats = ", going: left, counterbore: {diameter: 24, depth: 6}, nut counterbore: {diameter: 24, depth: 6}"
    built = build(TIE.replace("SAID", seats))
    (member,) = built.model.members
    assert len(member.instances) == 2
    seat = next(f.hole for f in member.features if f.kind == "counterbore")
    assert (seat.entry_surface, seat.diameter, seat.depth) == ("face", 24, 6)


def test_a_screw_has_no_nut_to_seat():
    text = DESK.replace("count: 2", "nut counterbore: {diameter: 12, depth: 3}")
    assert [f.text for f in findings_of(text) if f.level == "error"] == [
        "screw: 4 x 50 wood screw has no nut"
    ]


def test_a_rod_square_to_a_rail_that_spreads_arrives_elsewhere():
    found = bored(build(TIE.replace("SAID", "")))
    (right, way), (left, _) = found["rail right"], found["rail left"]
    assert math.degrees(math.asin(abs(way[1]))) == pytest.approx(5.0, abs=1e-9)
    assert abs(right[1] - left[1]) == pytest.approx(
        abs(right[0] - left[0]) * math.tan(math.radians(5)), abs=1e-6
    )


def test_a_rod_that_passes_beside_the_other_member_is_refused():
    messages = [f.text for f in findings_of(TIE.replace("SAID", ", going: [-1, 3, 0]")) if f.level == "error"]
    assert messages == ['rod: no place where "rail right" and "rail left" touch']


def test_a_fastener_cannot_enter_along_a_surface():
    messages = [f.text for f in findings_of(TIE.replace("SAID", ", going: rear")) if f.level == "error"]
    assert messages == ['rod: it cannot enter by that surface going "rear"; name another with from']


DESK = """title: Sloping desk on a post
units: mm
stock:
  board: {ask for: larch, species: larch, width: 300, thickness: 20}
  post: {ask for: larch, species: larch, width: 60, thickness: 40}
members:
  desk:
    stock: board
    length: 300
    place:
      width: [0, cos(20 deg), sin(20 deg)]
      length: right
      middle: [centre plane, depth plane, {level at: 900}]
  post:
    stock: post
    place:
      length: up
      face: {toward: front}
      middle: [centre plane]
      back: {flush with: {through point: [0, 80, 0], square to: rear}}
    trim: {lower end: floor, upper end: desk.bottom}
fasteners:
  - {screw: 4 x 50, through: desk, into: post, count: 2}
"""


def test_screws_through_a_sloping_board_stand_over_the_end_of_the_post_below():
    built = build(DESK)
    (post, frame) = built.member("post"), built.body("post").frame
    entries = [frame.point(f.hole.entry) for f in post.features if f.hole is not None]
    assert len(entries) == 2
    # The post's end runs from 40 to 80 mm; a screw square to the desk goes toward the rear as it goes down.
    for entry in entries:
        assert 40 < entry[1] < 60 + 25 * math.sin(math.radians(20))
