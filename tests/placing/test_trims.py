"""Trims and true lengths against trigonometry worked by hand; tapers; curves; handed and repeated copies."""

import math

import pytest
from workshop import build, findings_of

HEAD = """title: T
units: mm
stock:
  bar: {ask for: ash, species: ash, width: 80, thickness: 40}
"""
LEANING = """planes:
  wall: {through line: {from: [0, 0, 0], going: right}, lean: {by: 0 deg, toward: front, measured: from plumb}}
lines:
  leg line: {from: [0, 0, 0], in: wall, lean: {by: 12 deg, toward: right, measured: on the plane}}
members:
  leg:
    stock: bar
    place: {face: {flush with: wall}, edge: {along: leg line}}
    trim: {lower end: floor, upper end: {level at: 600}}
"""


def tan(degrees):
    return math.tan(math.radians(degrees))


def cos(degrees):
    return math.cos(math.radians(degrees))


def test_a_leg_leaning_on_its_face_is_as_long_as_height_over_cosine_and_its_width_times_tangent():
    """Long point to long point between level cuts: 600 / cos 12 + 80 tan 12."""
    body = build(HEAD + LEANING).body("leg")
    assert body.size[0] == pytest.approx(600 / cos(12) + 80 * tan(12), abs=1e-9)


def test_its_volume_is_its_section_times_its_middle_length():
    member = build(HEAD + LEANING).member("leg")
    assert member.solid.volume == pytest.approx(80 * 40 * 600 / cos(12), rel=1e-12)


def test_a_said_length_with_one_trim_is_measured_from_the_long_point():
    text = LEANING.replace("lower end: floor, upper end: {level at: 600}", "lower end: floor")
    built = build(HEAD + text.replace("    stock: bar\n", "    stock: bar\n    length: 500\n"))
    assert built.body("leg").size[0] == pytest.approx(500, abs=1e-9)
    lowest = min(built.body("leg").frame.point(c)[2] for c in built.body("leg").corners())
    assert lowest == pytest.approx(0.0, abs=1e-9)


def test_wood_left_for_fitting_makes_the_blank_longer_and_not_the_piece():
    text = LEANING.replace("lower end: floor", "lower end: {by: floor, fit: on the work, leave: 20}")
    member = build(HEAD + text).member("leg")
    assert member.blank.size[0] - member.finished[0] == pytest.approx(20)
    assert member.length_origin == "fitted"
    assert sum(member.allowance) == 20


RAIL = """members:
  rail:
    stock: bar
    length: 600
    place: {length: right, face: {flush with: depth plane}, edge: {flush with: {level at: 0}}, middle: [centre plane]}
"""


def rail(more):
    return (HEAD + RAIL + more).replace(
        "face: {flush with: depth plane}, edge: {flush with: {level at: 0}}",
        "face: {toward: front}, back: {at: depth plane}, edge: {at: floor}",
    )


@pytest.mark.parametrize(("side", "axis"), [("edge", 1), ("back edge", 1), ("face", 2), ("back", 2)])
def test_a_taper_takes_a_wedge_off_the_side_it_names(side, axis):
    a, b = (80, 50) if axis == 1 else (40, 25)
    built = build(rail(f"    taper: {{on: {side}, at end A: {a}, at end B: {b}}}\n"))
    member = built.member("rail")
    other = 40 if axis == 1 else 80
    assert member.solid.volume == pytest.approx(600 * other * (a + b) / 2, rel=1e-12)
    at_end_b = [v for v in built.body("rail").corners() if v[0] > 599.9]
    values = sorted({round(v[axis], 6) for v in at_end_b})
    full = 80 if axis == 1 else 40
    assert values == ([0, b] if side in ("back edge", "face") else [full - b, full])


def test_a_leaning_leg_tapered_on_one_edge_has_two_different_mitres_at_its_ends_edges():
    built = build(HEAD + LEANING + "    taper: {on: back edge, at end A: 50, at end B: 80}\n")
    body = built.body("leg")
    taper = next(s.form for s in body.shapings if s.kind == "taper")
    assert math.degrees(math.atan2(-taper.normal[0], taper.normal[1])) == pytest.approx(
        math.degrees(math.atan2(30, body.size[0])), abs=0.05
    )


def test_a_crowned_edge_takes_circle_segments_off():
    """Segment of chord 600 and rise 45: the piece keeps the chord's rectangle and the segment."""
    built = build(rail("    curve: {rise: 45, bows: out}\n"))
    radius = (300**2 + 45**2) / 90
    half = math.asin(300 / radius)
    segment = radius**2 * (half - math.sin(half) * math.cos(half))
    assert built.member("rail").solid.volume == pytest.approx(40 * (600 * 35 + segment), rel=1e-9)


def test_a_hollow_edge_loses_the_same_segment():
    built = build(rail("    curve: {on: edge, rise: 45, bows: in}\n"))
    radius = (300**2 + 45**2) / 90
    half = math.asin(300 / radius)
    segment = radius**2 * (half - math.sin(half) * math.cos(half))
    assert built.member("rail").solid.volume == pytest.approx(40 * (600 * 80 - segment), rel=1e-9)


def test_a_curve_so_round_that_it_returns_is_refused():
    text = rail("    curve: {rise: 45, bows: out}\n").replace("length: 600", "length: 92")
    assert any("come back in below its ends" in f.text for f in findings_of(text))


# --- copies ------------------------------------------------------------------------------------------------

SLOPED = (
    HEAD
    + """members:
  leg:
    stock: bar
    place:
      from: [-300, -200, 600]
      to: [-380, -260, 0]
      face: {toward: front}
    trim: {upper end: {level at: 600}, lower end: floor}
    copies: {mirror: [left to right, front to back]}
"""
)


def test_four_mirrored_legs_are_named_by_where_they_stand():
    built = build(SLOPED)
    assert {i.name for i in built.member("leg front left").instances} == {
        "leg front left",
        "leg front right",
        "leg rear left",
        "leg rear right",
    }


def test_two_of_four_mirrored_legs_are_the_other_hand_and_stand_mirrored():
    tapered = SLOPED.replace("    copies", "    taper: {at end A: 80, at end B: 60}\n    copies")
    instances = {i.name: i for i in build(tapered).member("leg front left").instances}
    hands = {name: (i.hand, i.frame.determinant) for name, i in instances.items()}
    assert hands == {
        "leg front left": ("left", 1),
        "leg front right": ("right", -1),
        "leg rear left": ("right", -1),
        "leg rear right": ("left", 1),
    }


def test_a_leg_between_two_level_cuts_is_its_own_mirror_image_turned():
    """Opposite faces of the uncut leg are parallel, so a half turn does what the mirror does."""
    assert {i.frame.determinant for i in build(SLOPED).member("leg front left").instances} == {1}


def test_a_mirror_image_stands_where_a_mirror_would_show_it():
    built = build(SLOPED)
    member = built.member("leg front left")
    frames = {i.name: i.frame for i in member.instances}
    for v in member.solid.vertices.tolist():
        x, y, z = frames["leg front left"].point(tuple(v))
        shown = [frames["leg front right"].point(tuple(u)) for u in member.solid.vertices.tolist()]
        assert any(math.dist((-x, y, z), s) < 1e-9 for s in shown)


def test_a_plain_piece_is_not_handed():
    built = build(
        rail("    copies: {mirror: front to back}\n").replace(
            "back: {at: depth plane}", "back: {off: -50, at: depth plane}"
        )
    )
    assert [i.hand for i in built.member("rail front").instances] == [None, None]
    assert all(i.frame.determinant == 1 for i in built.member("rail front").instances)


def test_a_brace_that_crosses_the_middle_and_its_image_are_bare_and_mirrored():
    text = (
        HEAD
        + """members:
  brace:
    stock: bar
    place: {from: [-300, 0, 100], to: [300, 0, 500], face: {toward: front}}
    copies: {mirror: left to right}
joints:
  - {cross lap: [brace, brace mirrored]}
"""
    )
    assert {i.name for m in build(text).model.members for i in m.instances} == {"brace", "brace mirrored"}


def test_repeats_follow_at_their_spacing():
    built = build(rail("    copies: {repeat: {count: 3, spacing: 120, going: up}}\n"))
    frames = [i.frame for i in built.member("rail 1").instances]
    assert [i.name for i in built.member("rail 1").instances] == ["rail 1", "rail 2", "rail 3"]
    assert [f.origin[2] - frames[0].origin[2] for f in frames] == pytest.approx([0, 120, 240])


def test_a_piece_turned_half_round_keeps_its_hand():
    text = SLOPED.replace("mirror: [left to right, front to back]", "turned: yes")
    instances = build(text).member("leg").instances
    assert [i.name for i in instances] == ["leg", "leg turned"]
    assert [i.frame.determinant for i in instances] == [1, 1]


def test_inner_is_the_face_toward_the_middle_of_the_work_for_a_piece_without_a_length():
    """The piece stands to the left; its inner face is the right one, wherever its open ends run."""
    text = (
        HEAD
        + """lines:
  leg line: {from: [-400, 0, 0], to: [-300, 0, 500]}
members:
  leg:
    stock: bar
    place: {width: rear, length: along leg line, edge: {along: leg line}}
    trim:
      inner: {shift: {through line: leg line, along: rear, facing: right}, by: 25}
      lower end: floor
      upper end: {level at: 500}
"""
    )
    built = build(text)
    assert built.body("leg").size[2] == pytest.approx(25)


def test_the_floor_is_where_named_members_lowest_points_are():
    """A leaning pole 36 thick, its foot cut square: its lowest point is half of 36 sin(lean) below its axis."""
    text = """title: T
units: mm
stock:
  rod: {ask for: 36 mm ash dowel, species: ash}
  bar: {ask for: ash, species: ash, width: 80, thickness: 40}
floor touches: [pole]
members:
  pole: {stock: rod, diameter: 36, place: {from: [0, 0, 400], to: [231, 0, 0], face: {toward: front}}}
  post:
    stock: bar
    place: {length: up, face: {toward: front}, middle: [{through point: [0, 38, 0], square to: rear}, centre plane]}
    trim: {bottom: floor, top: {level at: 500}}
"""
    lowest = -18 * 231 / math.hypot(231, 400)
    built = build(text)
    # The foot's rim is an ellipse seen level; its facets come within the chord of its lowest point.
    assert built.body("post").size[0] == pytest.approx(500 - lowest, abs=0.02)
