"""Birdsmouths: a level seat on the plate's top and a heel against its outer face, whatever way the rafter comes."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from soundness import assert_order_free, assert_sound
from sticks import TAPERS, Stick, design, face, turned, within
from workshop import build, findings_of, kernel_bodies, less

from plangen.geometry.contact import contact_area
from plangen.geometry.vectors import along, cross

RIGHT, REAR, UP = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)


def roof(
    pitch=30.0,
    skew=0.0,
    depth=25.0,
    bevel=0.0,
    taper=0.0,
    options="",
    rafter=(700.0, 95.0, 45.0),
    roll=0.0,
    more=(),
):
    """A plate along the front, its outer upper arris on the centre line; a rafter rising over it to the rear.

    ``depth`` is that of the cut square to the rafter, at its middle; ``bevel`` tips the plate's top outward.
    """
    top = turned(REAR, RIGHT, -bevel)
    arris = (0.0, 0.0, 300.0)
    middle = along(along(arris, top, 50.0), cross(RIGHT, top), -25.0)
    plate = Stick("plate", middle, RIGHT, top, (600.0, 100.0, 50.0))
    way = turned(turned(REAR, RIGHT, pitch), UP, skew)
    up = turned(cross(cross(way, UP), way), way, roll)
    at = along(along(arris, way, 150.0), up, rafter[1] / 2 - depth)
    over = Stick("rafter", at, way, up, rafter, taper)
    return design(plate, over, *more, joints=f"{{birdsmouth: [plate, rafter]{options}}}")


def test_a_seat_and_a_heel_are_cut_to_the_plate():
    """Pitch 30: the cut 25 deep has a seat of 25 / sin 30 and a heel of 25 / cos 30."""
    built = build(roof())
    assert [str(f) for f in built.findings] == []
    seat, heel = 25 / math.sin(math.radians(30)), 25 / math.cos(math.radians(30))
    rafter, plate = built.member("rafter"), built.member("plate")
    assert 700 * 95 * 45 - rafter.solid.volume == pytest.approx(seat * heel / 2 * 45)
    (_, ir), (_, ip) = built.instance("rafter"), built.instance("plate")
    assert contact_area(rafter.solid, ir.frame, plate.solid, ip.frame, 1e-6) == pytest.approx(
        (seat + heel) * 45
    )
    assert plate.solid.volume == pytest.approx(600 * 100 * 50)


def test_rafters_come_in_skew_on_beveled_plates(tally):
    pitches = st.integers(100, 450).map(lambda tenths: tenths / 10)
    turns = st.integers(-350, 350).map(lambda tenths: tenths / 10)
    bevels = st.integers(-80, 80).map(lambda tenths: tenths / 10)

    @settings(max_examples=12, deadline=None)
    @given(pitches, turns, bevels, bevels, TAPERS)
    def seated(pitch, skew, bevel, roll, taper):
        built = tally.build(roof(pitch, skew, 12.0, bevel, taper, roll=roll))
        if built is None:
            return
        bodies = kernel_bodies(built)
        below = within(face(built, "plate", "face"), face(built, "plate", "edge"))
        assert_sound(built, tally, {"rafter": less(bodies["rafter"], below), "plate": bodies["plate"]})

    seated()


def test_the_order_of_joints_has_no_effect():
    ridge = Stick("ridge", (0.0, 430.0, 600.0), RIGHT, UP, (600.0, 150.0, 40.0))
    assert_order_free(roof(more=[ridge]) + "  - {notch: [ridge, rafter]}\n")


def test_more_than_a_third_of_the_depth_is_advised_against():
    (found,) = findings_of(roof(depth=40.0))
    assert found.level == "warning"
    assert found.text == (
        "birdsmouth: its depth, square to the edge, is 0.42 of the rafter's depth; the rule of thumb is at most 0.33 "
        "(at most a third taken out, common practice; local codes govern)"
    )


def errors(text):
    return [f.text for f in findings_of(text) if f.level == "error"]


def test_what_cannot_be_made_is_told():
    assert errors(roof(pitch=0.0)) == [
        'the birdsmouth in "rafter": it lies level: a birdsmouth needs a rafter that slopes; use a notch'
    ]
    assert errors(roof(pitch=4.0, depth=40.0)) == [
        'the birdsmouth in "rafter": its seat would run out to its end: it lies too flat, or ends too near; use a notch'
    ]
