"""Seats of heads and nuts, wood beside a fastener, and bores that meet."""

import math

import pytest
from soundness import Tally, assert_sound
from workshop import build, findings_of

from plangen.geometry.surfaces import Cone
from plangen.geometry.vectors import dot
from plangen.tables.fasteners import read_fastener

BATTEN = """title: T
units: mm
stock:
  batten wood: {ask for: ash, species: ash, width: 60, thickness: 20}
  post wood: {ask for: ash, species: ash, width: 60, thickness: 60}
members:
  post:
    stock: post wood
    length: 400
    place: {length: up, face: {against: depth plane}, middle: [centre plane], end A: {against: floor}}
  batten:
    stock: batten wood
    length: 300
    place: {length: right, back: {flush with: depth plane}, middle: [centre plane, {level at: 200}]}
fasteners:
  - SAID
"""
LEANING = """title: T
units: mm
stock: {bar: {ask for: ash, species: ash, width: 80, thickness: 40}}
members:
  low:
    stock: bar
    length: 300
    place: {length: right, face: {flush with: {level at: 40}}, middle: [centre plane, depth plane]}
  high:
    stock: bar
    length: 300
    place: {length: right, back: {against: low.top}, middle: [centre plane, depth plane]}
fasteners:
  - {bolt: M8 x 120 hex bolt, through: [high, low], going: [LEAN, 0, -1], from: top, at: [[150, 40]], spot face: 24}
"""


def batten(*said):
    return BATTEN.replace("  - SAID", "\n".join(f"  - {{{s}}}" for s in said))


def holes(built, name, purpose):
    return [f.hole for f in built.member(name).features if f.hole is not None and f.hole.purpose == purpose]


def told(text, level):
    return [f.text for f in findings_of(text) if f.level == level]


def test_a_flat_head_fills_its_countersink_and_the_screw_goes_in_as_deep_as_its_length():
    """The head of a 5 mm screw is 10 mm across: a countersink of that width leaves it flush."""
    built = build(batten("screw: 5 x 50, through: batten, into: post, countersink: 10"))
    (sunk,) = holes(built, "batten", "countersink")
    assert (sunk.diameter, sunk.depth) == (10, 0)
    assert holes(built, "post", "pilot")[0].depth == pytest.approx(30)
    (cone,) = [s.form for s in built.feature("batten", "countersink").surfaces]
    assert isinstance(cone, Cone)
    assert math.degrees(math.atan(-cone.slope)) == pytest.approx(45)


def test_a_countersink_wider_than_the_head_lets_it_down():
    """14 mm for a head of 10: at 90 degrees the head lies 2 mm down, and the point that much deeper."""
    built = build(batten("screw: 5 x 50, through: batten, into: post, countersink: 14"))
    assert holes(built, "post", "pilot")[0].depth == pytest.approx(32)


def test_a_countersink_too_small_leaves_the_head_proud_and_says_so():
    (warned,) = told(batten("screw: 5 x 50, through: batten, into: post, countersink: 8"), "warning")
    assert warned == (
        "screw: its head, 10 mm across, stands 1 mm proud of a countersink of 8 mm; make it as wide as the head"
    )


def test_a_countersink_on_a_slope_is_let_in_to_a_full_circle():
    text = batten(
        "screw: 5 x 60, through: batten, into: post, going: [0.3, 1, 0], countersink: 10, from: front"
    )
    built = build(text)
    (sunk,) = holes(built, "batten", "countersink")
    assert sunk.depth == pytest.approx(5 * 0.3)  # the radius times the tangent of the lean
    assert_sound(built, Tally("countersink on a slope"))


@pytest.mark.parametrize("lean", [0.15, 0.3])
def test_a_bolt_out_of_square_has_a_seat_under_head_and_nut(lean):
    built = build(LEANING.replace("LEAN", str(lean)))
    for name in ("high", "low"):
        (seat,) = holes(built, name, "spot-face")
        (bore,) = holes(built, name, "clearance")
        assert seat.diameter == 24
        assert seat.depth == pytest.approx(12 * lean)
        assert abs(dot(seat.axis, bore.axis)) == pytest.approx(1)
    assert_sound(built, Tally("spot faces"))


def test_a_bolt_square_to_the_wood_needs_no_spot_face():
    built = build(LEANING.replace("LEAN", "0"))
    assert not holes(built, "high", "spot-face")


def test_a_bolt_grips_from_seat_to_seat():
    """80 mm of wood, along a bolt that leans 0.3 in 1, less both seats; washers and nut on top."""
    bolt = read_fastener("M8 x 80 hex bolt", "bolt")
    (found,) = told(LEANING.replace("LEAN", "0.3").replace("M8 x 120", "M8 x 80"), "error")
    grip = 80 * math.hypot(1, 0.3) - 2 * 12 * 0.3
    iron = bolt.nuts * bolt.nut_height + bolt.washers * bolt.washer_thickness
    assert f"{grip:.4g} mm of wood, washer and nut need {grip + iron:.4g} mm" in found


def test_a_rod_cut_to_suit_is_shorter_by_its_counterbores():
    sunk = "counterbore: {diameter: 20, depth: 10}, nut counterbore: {diameter: 20, depth: 12}"
    built = build(batten(f"rod: M8, through: [batten, post], {sunk}"))
    rod = read_fastener("M8", "rod")
    (bought,) = [h for h in built.model.hardware if "rod" in h.name]
    iron = rod.nuts * rod.nut_height + rod.washers * rod.washer_thickness
    assert bought.length == pytest.approx(80 - 22 + iron)


def test_a_washer_wider_than_its_counterbore_is_told():
    """An M8 washer is 16 mm across (ISO 7089, from memory)."""
    sunk = "counterbore: {diameter: 14, depth: 6}"
    warned = told(batten(f"bolt: M8 x 100 hex bolt, through: [batten, post], {sunk}"), "warning")
    assert warned == ["bolt: its head or washer, 16 mm across, does not go into the counterbore of 14 mm"]


def test_a_bolt_too_near_the_end_of_the_wood_is_told_with_the_rule():
    bolt = "bolt: M8 x 110 hex bolt, through: [batten, post], from: front, at: [[140, 30]], going: rear"
    (warned,) = told(batten(bolt).replace("length: 400", "length: 230"), "warning")
    assert (
        'in "post" its middle is 30 mm from the end, less than 4 diameters, 32 mm (NDS 2018 table 12.5.1A'
        in warned
    )


def test_a_bolt_too_near_an_edge_is_told_with_the_rule():
    (warned,) = told(
        batten("bolt: M8 x 100 hex bolt, through: [batten, post], from: front, at: [[130, 30]]"), "warning"
    )
    assert 'in "post" its middle is 10 mm from the edge, less than 1.5 diameters, 12 mm (NDS 2018' in warned


def test_a_bolt_whose_hole_breaks_out_is_refused():
    (found,) = told(
        batten("bolt: M8 x 100 hex bolt, through: [batten, post], from: front, at: [[124, 30]]"), "error"
    )
    assert found == 'bolt: its hole breaks out of the side of "post", 4 mm from its middle; move it'


def test_two_fasteners_that_meet_are_refused_wherever_each_comes_from():
    """A screw from the front at 200 up, a bolt from the left 6 mm above: 4.5 and 2.5 mm of radius meet."""
    screw = "screw: 5 x 60, through: batten, into: post"
    bolt = "bolt: M8 x 80 hex bolt, through: [post], from: left, at: [[206, 30]]"
    found = told(batten(screw, bolt), "error")
    assert len(found) == 1
    assert "runs into" in found[0]
    assert "their axes pass 6 mm apart and need 8 mm" in found[0]


def test_fasteners_that_pass_each_other_are_not_refused():
    screw = "screw: 5 x 60, through: batten, into: post"
    bolt = "bolt: M8 x 80 hex bolt, through: [post], from: left, at: [[214, 30]]"
    assert told(batten(screw, bolt), "error") == []
