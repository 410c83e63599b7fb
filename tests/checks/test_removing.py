"""Parts that travel out: what bars them, after how far, what holds them, and the room beside them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from workshop import findings_of


def shutter(
    play: float = 2.0,
    tilt: float = 0.0,
    door: str = "removable: up",
    more: str = "",
    joints: str = "",
    fasteners: str = "",
    lean: float = 0.0,
) -> str:
    """A door that stands on a sill between two posts with ``play`` at each side; the posts lean out by ``lean``
    degrees, door and posts all lean back by ``tilt``."""
    a, b = math.radians(tilt), math.radians(lean)
    rise = (math.sin(b), math.cos(b) * math.sin(a), math.cos(b) * math.cos(a))
    return f"""title: Shutter
units: mm
stock:
  post wood: {{ask for: ash, species: ash, width: 48, thickness: 48}}
  board: {{ask for: ash, species: ash, width: 300, thickness: 20}}
let: {{play: {play:.6f}}}
planes:
  front wall:
    through line: {{from: [0, 0, 100], going: right}}
    lean: {{by: {tilt:.6f} deg, toward: rear, measured: from plumb}}
    facing: front
  sill top: {{through line: {{from: [0, 0, 100], going: right}}, along: square to front wall, facing: up}}
  jamb:
    through line: {{from: [150 + play, 0, 100], going: square to front wall}}
    along: [{rise[0]:.9f}, {rise[1]:.9f}, {rise[2]:.9f}]
    facing: left
lines:
  way out: {{meet: [front wall, centre plane], going: up}}
members:
  post:
    stock: post wood
    length: 700
    place: {{face: {{flush with: front wall}}, back edge: {{flush with: jamb}}}}
    trim: {{lower end: {{through point: [0, 0, 52], parallel to: sill top}}}}
    copies: {{mirror: left to right}}
  door:
    stock: board
    length: 400
    place:
      length: along way out
      face: {{flush with: front wall}}
      middle: [centre plane]
      end A: {{against: sill top}}
    {door}
  sill:
    stock: post wood
    place: {{length: right, face: {{flush with: front wall}}, back edge: {{flush with: sill top}}}}
    trim: {{left: post left.back edge, right: post right.back edge}}
{more}joints:
  - {{butt: [sill, post]}}
  - {{butt: [door, sill]}}
{joints}{fasteners}"""


def told(text: str, level: str) -> list[str]:
    return [f.text for f in findings_of(text) if f.level == level and f.rule == "removable"]


def test_a_door_between_two_posts_leaves_with_the_room_it_was_given():
    assert told(shutter(), "error") == []
    assert told(shutter(), "note") == ['"door" leaves up: 2 mm clear']


def test_a_door_that_leans_leaves_along_its_own_line():
    assert told(shutter(tilt=15, door="removable: along way out"), "note") == [
        '"door" leaves along way out: 2 mm clear'
    ]


def test_too_little_room_to_swell_is_a_warning():
    (text,) = told(shutter(play=0.3), "warning")
    assert text == (
        '"door" has 0.3 mm of room beside "post left" on its way up; 0.8 mm is asked for '
        "(for wood to swell, common practice)"
    )
    assert told(shutter(play=0.3, door="removable: up\n    clear: 0.25"), "warning") == []
    (text,) = told(shutter(play=2, door="removable: up\n    clear: 3"), "warning")
    assert text.endswith('2 mm of room beside "post left" on its way up; 3 mm is asked for (as stated)')


def test_what_slides_along_one_face_alone_cannot_jam():
    """A back board behind the door touches it all over; the door is free to the front."""
    back = """  back board:
    stock: board
    length: 400
    place:
      length: along way out
      face: {flush with: front wall, off: -20}
      middle: [centre plane]
      end A: {against: sill top}
"""
    assert told(shutter(more=back), "note") == ['"door" leaves up: 2 mm clear']
    assert told(shutter(play=20, more=back), "note") == ['"door" leaves up: clear of everything beside it']


def test_room_counts_on_both_sides_together():
    """A door pushed to one side has all its play on the other."""
    pushed = shutter(play=1.5).replace(
        "middle: [centre plane]", "middle: [{through point: [1.5, 0, 0], square to: right}]"
    )
    assert told(pushed, "note") == ['"door" leaves up: 1.5 mm clear']


def test_a_door_that_slides_on_its_posts_has_no_room():
    assert told(shutter(play=0), "error") == []
    assert told(shutter(play=0), "warning")[0].startswith('"door" has no room beside "post left"')
    assert told(shutter(play=0), "note") == ['"door" leaves up: sliding along "post left"']


def test_a_bar_over_the_door_is_met_after_the_way_to_it():
    bar = """  bar:
    stock: post wood
    place: {length: right, face: {flush with: front wall}, edge: {flush with: {level at: 535.5, facing: down}}}
    trim: {left: post left.back edge, right: post right.back edge}
"""
    (text,) = told(shutter(more=bar), "error")
    assert text == '"door" cannot leave up: after 35.5 mm it meets "bar"'
    assert told(shutter(more=bar, door="removable: front"), "error") == []
    assert told(shutter(more=bar, door="removable: down"), "error") == [
        '"door" cannot leave down: at once it meets "sill"'
    ]
    assert told(shutter(more=bar, door="removable: up\n    removed with: [bar]"), "error") == []


def test_posts_that_lean_together_stop_the_door_where_its_corners_meet_them():
    """Half the door's width and the play are used up at play / tan(lean) above the sill."""

    @settings(max_examples=12, deadline=None)
    @given(st.integers(3, 30), st.integers(5, 120))
    def stopped(tenths, travel):
        lean = tenths / 10
        text = shutter(play=(400 + travel) * math.tan(math.radians(lean)), lean=-lean)
        (found,) = told(text, "error")
        after = float(found.partition("after ")[2].split()[0])
        assert after == pytest.approx(travel, abs=0.7), found

    stopped()


def test_posts_that_lean_apart_leave_the_room_at_the_foot():
    """A door that fills its place exactly stands against posts that lean out by more than a draught angle: it is
    free as soon as it moves; a nearly plumb post still rubs."""
    assert told(shutter(play=0, lean=5), "warning") == []
    assert told(shutter(play=0, lean=5), "note") == ['"door" leaves up: clear of everything beside it']
    assert told(shutter(play=0, lean=1), "warning") != []


def test_a_part_held_by_a_screw_does_not_leave_before_it_is_undone():
    screw = (
        'fasteners:\n  - {screw: "#8 x 2", through: door, into: sill, from: face, going: [0, 0.5, -0.5]}\n'
    )
    (text,) = told(shutter(fasteners=screw), "error")
    assert '"door" is held to "sill" by a screw' in text
    undone = shutter(door="removable: up\n    undone: [screws]", fasteners=screw)
    assert told(undone, "error") == []
    assert told(undone, "note") == ['"door" leaves up, once its screws are undone: 2 mm clear']


def test_a_tongue_in_a_groove_leaves_along_it_and_not_across():
    """The door stands in grooves of the posts: it slides up, and cannot leave to the front."""
    wide = shutter(play=-6, joints="  - {groove: [door, post], fit: loose}\n")
    wide = wide.replace(
        "way out\n      face: {flush with: front wall}",
        "way out\n      face: {flush with: front wall, off: -14}",
    )
    assert told(wide, "error") == []
    assert told(wide.replace("removable: up", "removable: front"), "error")[0].startswith(
        '"door" cannot leave front: '
    )


def test_what_leaves_together_must_leave_the_same_way():
    more = """  knob:
    stock: post wood
    length: 60
    removable: front
    removed with: [door]
    place:
      length: up
      back: {against: front wall}
      middle: [centre plane]
      end A: {flush with: {level at: 250, facing: down}}
"""
    text = told(shutter(more=more), "error")[0]
    assert text == '"door" and "knob" leave together, but not the same way'
    assert told(shutter(more=more.replace("removable: front", "removable: up")), "note")[0] == (
        '"door" leaves up together with knob: 2 mm clear'
    )
