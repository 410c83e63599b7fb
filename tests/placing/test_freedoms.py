"""What a piece's place leaves free or contradicts, told in words: the 3-2-1 of the machine vice."""

import math

import pytest
from workshop import build, findings_of

from plangen.geometry.vectors import angle_between

HEAD = """title: T
units: mm
let: {lean: 12 deg, flare: 6 deg}
stock:
  bar: {ask for: ash, species: ash, width: 90, thickness: 38}
planes:
  wall: {through point: [0, 0, 0], square to: right, turned: {by: flare, toward: front}}
lines:
  leg line: {from: [0, 0, 0], in: wall, lean: {by: lean, toward: rear, measured: on the plane}}
members:
"""
HINT = "; leave one out, or place the edge by an arris (edge: {along: LINE})"


def leg(place, trim="{upper end: {level at: 500}, lower end: floor}"):
    return f"{HEAD}  leg:\n    stock: bar\n    place: {place}\n    trim: {trim}\n"


def errors(text):
    return [f"{f.place.line}: {f.text}" for f in findings_of(text) if f.level == "error"]


def test_a_face_on_a_plane_leaves_one_turn():
    assert errors(leg("{face: {flush with: wall}}")) == [
        '13: "leg" can still turn about its thickness: say which face is level, or what its face lies against'
    ]


def test_a_direction_in_the_plane_leaves_the_slide_across_it():
    assert errors(leg("{face: {flush with: wall}, length: along leg line}")) == [
        '13: "leg" can still slide along its width: say what stops it'
    ]


def test_face_and_edge_line_and_trimmed_ends_fix_a_leg():
    built = build(leg("{face: {flush with: wall}, edge: {along: leg line}}"))
    assert built.findings == ()
    frame = built.body("leg").frame
    assert math.degrees(angle_between(frame.l, (0.0, 0.0, 1.0))) == pytest.approx(12.0, abs=1e-9)


def test_a_piece_that_nothing_stops_can_slide_along_its_length():
    text = leg("{face: {flush with: wall}, edge: {along: leg line}}", "{upper end: {level at: 500}}")
    assert errors(text) == ['13: "leg" can still slide along its length: say what stops it']


def test_a_piece_without_any_relation_can_turn_any_way():
    assert errors(leg("{middle: [centre plane]}")) == [
        '13: "leg" can still turn any way: say what its face lies against'
    ]


def test_a_length_alone_leaves_the_turn_about_it():
    assert errors(leg("{length: up, middle: [centre plane, depth plane]}")) == [
        '13: "leg" can still turn about its length: say which face is level, or what its face lies against'
    ]


def test_an_edge_line_that_contradicts_the_length_names_both_lines_and_the_amount():
    text = leg("\n      face: {flush with: wall}\n      length: up\n      edge: {along: leg line}")
    assert errors(text) == [f'16: "leg": its edge contradicts its length (line 15) by 12 degrees{HINT}']


def test_faces_on_two_planes_out_of_parallel_contradict_by_their_angle():
    text = leg("\n      face: {flush with: wall}\n      back: {against: centre plane}\n      length: up")
    assert errors(text) == [f'15: "leg": its back contradicts its face (line 14) by 6 degrees{HINT}']


def test_a_second_stop_at_another_place_contradicts_by_the_distance():
    place = "\n      length: up\n      face: {flush with: centre plane}\n      back: {at: centre plane}"
    text = leg(place + "\n      edge: {at: depth plane}")
    assert errors(text) == ['16: "leg": its back contradicts its face (line 15) by 38 mm']


def test_what_merely_repeats_is_accepted():
    once = "{face: {flush with: wall}, edge: {along: leg line}}"
    again = "{face: {flush with: wall}, edge: {along: leg line}, length: along leg line}"
    assert build(leg(again)).body("leg").frame == build(leg(once)).body("leg").frame


def test_a_side_that_looks_the_other_way_is_told_where_it_looks():
    text = leg("\n      length: up\n      face: {flush with: floor}\n      edge: {at: depth plane}")
    assert errors(text) == ['15: "leg": its face cannot look the way its length runs (line 14)']
    text = leg("\n      length: up\n      face: {flush with: depth plane}\n      end A: {flush with: floor}")
    assert errors(text) == [
        '16: "leg": its end A contradicts its length (line 14) by 180 degrees: so turned it looks down; place '
        'the opposite side instead, run the length the other way, or change over "against" and "flush with"'
    ]


# --- point to point ----------------------------------------------------------------------------------------


def brace(to, more=""):
    place = f"{{from: [0, 0, 100], to: {to}{more}}}"
    return f"{HEAD}  brace:\n    stock: bar\n    place: {place}\n"


def test_a_piece_from_point_to_point_has_its_width_as_upright_as_can_be():
    built = build(brace("[300, 200, 400]"))
    l, w, t = built.body("brace").frame.axes  # noqa: E741
    assert t[2] == pytest.approx(0.0, abs=1e-12)
    assert w[2] == pytest.approx(math.sqrt(1 - l[2] ** 2), abs=1e-12)


def test_its_axis_runs_from_the_one_point_to_the_other():
    body = build(brace("[300, 200, 400]")).body("brace")
    assert body.size[0] == pytest.approx(math.dist((0, 0, 100), (300, 200, 400)))
    ends = [body.frame.point((end, 45.0, 19.0)) for end in (0.0, body.size[0])]
    assert ends[0] == pytest.approx((0, 0, 100))
    assert ends[1] == pytest.approx((300, 200, 400))


def test_an_upright_piece_from_point_to_point_has_no_default_turn():
    assert errors(brace("[0, 0, 400]")) == [
        '13: "brace" stands upright and can still turn about its length: say which way its face looks'
    ]
    assert errors(brace("[0, 0, 400]", ", face: {toward: front}")) == []


def test_from_and_to_the_same_point_is_an_error():
    assert errors(brace("[0, 0, 100]")) == ['13: "from" and "to" are the same point']


def test_members_that_place_each_other_are_a_circle():
    text = f"""{HEAD}  a:
    {{stock: bar, length: 300, place: {{length: up, face: {{flush with: b.face}}, middle: [depth plane, floor]}}}}
  b:
    {{stock: bar, length: 300, place: {{length: up, face: {{flush with: a.face}}, middle: [depth plane, floor]}}}}
"""
    (message,) = errors(text)
    assert "in a circle" in message
    assert "member a" in message
    assert "member b" in message
