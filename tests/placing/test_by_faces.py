"""Members cut by one another's faces, and the words by which a stranger calls a surface."""

import math

import pytest
from workshop import build, findings_of

TRAY = """title: Seed tray
units: mm
let: {{long: 500, wide: 250, splay: 20 deg}}
stock:
  board: {{ask for: larch, species: larch, width: 100, thickness: 20}}
planes:
  left wall:
    through line: {{from: [-long / 2, 0, 0], going: rear}}
    lean: {{by: splay, toward: left, going: up, measured: from plumb}}
  front wall:
    through line: {{from: [0, -wide / 2, 0], going: right}}
    lean: {{by: splay, toward: front, going: up, measured: from plumb}}
{planes}members:
  end:
    stock: board
    place: {{back: {{flush with: left wall}}, edge: {{along: {{meet: [left wall, floor], going: front}}}}}}
    trim: {{front end: {ends[0]}, rear end: {ends[1]}}}
    copies: {{mirror: left to right}}
  side:
    stock: board
    place: {{back: {{flush with: front wall}}, edge: {{along: {{meet: [front wall, floor], going: right}}}}}}
    trim: {{left: {sides[0]}, right: {sides[1]}}}
    copies: {{mirror: front to back}}
joints:
  - {{butt: [side, end]}}
"""


def errors(text):
    return [f.text for f in findings_of(text) if f.level == "error"]


def test_sides_may_run_past_ends_that_end_at_the_sides():
    sides = ("{shift: end.outer, by: 25}", "{shift: end mirrored.outer, by: 25}")
    built = build(TRAY.format(planes="", ends=("side.inner", "side mirrored.inner"), sides=sides))
    assert built.findings == ()
    # The end's faces reach 250 mm at the floor; the sides run on 25 mm square to them: by 25 / cos 20 deg more.
    low = [p for p in built.body("side").corners() if abs(built.body("side").frame.point(p)[2]) < 1e-6]
    reach = max(abs(built.body("side").frame.point(p)[0]) for p in low)
    assert reach == pytest.approx(250 + 25 / math.cos(math.radians(20)), abs=1e-6)


MITRE = "{halfway between: [side.outer, end.outer]}"
OTHERS = (
    "{halfway between: [side mirrored.outer, end.outer]}",
    "{halfway between: [side.outer, end mirrored.outer]}",
)


def test_pieces_may_be_mitred_by_each_others_faces_without_saying_which_bisector():
    built = build(TRAY.format(planes="", ends=(MITRE, OTHERS[0]), sides=(MITRE, OTHERS[1])))
    assert built.findings == ()
    plane = next(s.form for f in built.member("end left").features if f.kind == "end" for s in f.surfaces)
    normal = built.body("end").frame.direction(plane.normal)
    assert [abs(c) for c in normal] == pytest.approx([math.sqrt(0.5), math.sqrt(0.5), 0.0], abs=1e-9)


def test_a_mitre_plane_may_have_a_name_of_its_own():
    named = "  corner: {halfway between: [side.outer, end.outer], facing: [1, -1, 0]}\n"
    built = build(TRAY.format(planes=named, ends=("corner", OTHERS[0]), sides=("corner", OTHERS[1])))
    assert built.findings == ()


def test_members_whose_ends_place_one_another_are_still_a_circle():
    text = """title: T
units: mm
stock:
  bar: {ask for: ash, species: ash, width: 90, thickness: 38}
planes: {sole: {level at: 0, facing: down}}
members:
  a:
    stock: bar
    place: {length: right, face: {toward: front}, middle: [depth plane], edge: {flush with: sole}}
    trim: {left: centre plane, right: b.left end}
  b:
    stock: bar
    place: {length: right, face: {toward: front}, middle: [depth plane], edge: {flush with: sole}}
    trim: {left: a.right end, right: {through point: [900, 0, 0], square to: right}}
"""
    (first, *_) = errors(text)
    assert "in a circle" in first


BAR = """title: T
units: mm
stock:
  bar: {ask for: ash, species: ash, width: 60, thickness: 30}
  rod: {ask for: ash billet, species: ash}
planes: {front: {through point: [0, 0, 0], square to: front}}
members:
"""


def test_inner_and_outer_of_a_stile_seen_from_the_front_are_its_edges():
    text = (
        f"{BAR}  stile:\n    stock: bar\n    length: 900\n"
        "    place: {length: up, face: {flush with: front}, end A: {flush with: {level at: 0, facing: down}},\n"
        "      back edge: {flush with: {through point: [-250, 0, 0], square to: left}}}\n"
        "    copies: {mirror: left to right}\n"
        "  rung:\n    stock: bar\n    width: 30\n"
        "    place: {length: right, face: {flush with: front},\n"
        "      edge: {flush with: {level at: 200, facing: down}}}\n"
        "    trim: {left: stile left.inner, right: stile right.outer}\n"
    )
    built = build(text)
    assert built.body("rung").size[0] == pytest.approx(190 + 250, abs=1e-9)


def test_a_beveled_edge_is_still_that_edge_and_not_the_back_edge():
    text = (
        f"{BAR}  ledge:\n    stock: bar\n    length: 400\n"
        "    place: {length: right, face: {flush with: {level at: 30}}, middle: [centre plane],\n"
        "      edge: {flush with: {through point: [0, -40, 0], square to: front}}}\n"
        "    trim: {edge: {through line: {from: [0, -40, 30], going: right},\n"
        "      lean: {by: 10 deg, toward: front, going: up, seen from: right}}}\n"
        "  block:\n    stock: bar\n"
        "    place: {length: front, face: {flush with: {level at: 0}}, middle: [centre plane]}\n"
        "    trim: {rear end: depth plane, front end: ledge.edge}\n"
    )
    # The bevel's upper arris is 40 mm to the front; 30 mm lower its plane has run back by 30 tan 10 deg.
    reach = 40 - 30 * math.tan(math.radians(10))
    assert build(text).body("block").size[0] == pytest.approx(reach, abs=1e-9)


@pytest.mark.parametrize("going", ["up", "[1, 2, 5]"])
def test_how_a_round_piece_is_rolled_need_not_be_said(going):
    text = (
        f"{BAR}  peg:\n    stock: rod\n    diameter: 20\n    length: 100\n"
        f"    place: {{from: [0, 0, 0], length: {going}}}\n"
    )
    assert errors(text) == []


def test_a_face_on_a_plane_moves_a_piece_off_the_line_that_says_how_it_runs():
    text = (
        f"{BAR}  brace:\n    stock: bar\n"
        "    place: {from: [0, 0, 0], to: [300, 0, 400], back: {flush with: front}}\n"
    ).replace("  rod: {ask for: ash billet, species: ash}\n", "")
    built = build(text)
    assert built.findings == ()
    assert built.body("brace").size == pytest.approx((500, 60, 30), abs=1e-9)
    ys = [built.body("brace").frame.point(p)[1] for p in built.body("brace").corners()]
    assert sorted({round(abs(y), 9) for y in ys}) == [0, 30]


def test_a_width_that_a_leaning_face_does_not_allow_says_what_to_say_instead():
    text = (
        f"{BAR}  leg:\n    stock: bar\n    length: 500\n    place: {{width: front, middle: [centre plane],\n"
        "      face: {flush with: {through point: [0, 0, 0], square to: right, turned: {by: 5 deg, toward: front}}}}\n"
    )
    (message,) = errors(text)
    assert message.endswith(
        "by 5 degrees; leave one out, or place the edge by an arris (edge: {along: LINE})"
    )


def test_a_piece_that_its_line_turns_under_the_floor_is_told():
    turned = TRAY.replace(
        "{meet: [left wall, floor], going: front}", "{meet: [left wall, floor], going: rear}"
    )
    sides = ("{shift: end.outer, by: 25}", "{shift: end mirrored.outer, by: 25}")
    found = findings_of(turned.format(planes="", ends=("side.inner", "side mirrored.inner"), sides=sides))
    (warned,) = (f.text for f in found if f.rule == "floor")
    assert warned.startswith('"side front" stands mostly under the floor')


def test_a_place_may_reckon_with_the_pieces_own_thickness_from_its_stock():
    text = (
        f"{BAR}  rung:\n    stock: bar\n    length: 400\n    place: {{length: right, middle: [centre plane],\n"
        "      edge: {flush with: {level at: 200, facing: down}},\n"
        "      face: {flush with: {shift: front, by: rung.thickness - 14}}}\n"
    ).replace("  rod: {ask for: ash billet, species: ash}\n", "")
    built = build(text)
    assert built.findings == ()
    ys = [built.body("rung").frame.point(p)[1] for p in built.body("rung").corners()]
    assert sorted({round(y, 9) for y in ys}) == [-16, 14]
