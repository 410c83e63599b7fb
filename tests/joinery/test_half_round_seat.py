"""Half-round seats: the exact half of a rod's room, at any angle, with the fit that is said."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from soundness import Tally, assert_sound
from workshop import build, findings_of

TEXT = """title: T
units: mm
stock: {bar: {ask for: ash, species: ash, width: 70, thickness: 45}}
members:
  bearer:
    stock: bar
    length: 300
    place: {length: right, face: {flush with: {level at: 100}}, middle: [centre plane, depth plane]}
bought:
  axle: {size: 16 mm steel rod, round: [LONG, 16], place: PLACE}
joints:
  - {KIND: [axle, bearer], FIT}
"""
ROUND_BOUND = 1e-6


def design(place, kind="half-round seat", fit="fit: slide", long="200"):
    return TEXT.replace("LONG", long).replace("PLACE", place).replace("KIND", kind).replace("FIT", fit)


def messages(text):
    return [f.text for f in findings_of(text) if f.level == "error"]


@settings(max_examples=12, deadline=None)
@given(st.integers(-60, 60))
def test_a_seat_is_half_a_bore_as_wide_as_the_rod_and_its_fit(skew):
    """Volume of half a cylinder as long as the seat, worked out by hand: slide leaves 0.2 mm all round."""
    built = build(design(f"{{from: [{-skew}, -100, 100], to: [{skew}, 100, 100]}}", long="260"))
    assert_sound(built, Tally("half-round seat"))
    run = 70 * math.hypot(1, 2 * skew / 200)
    bearer = built.member("bearer").solid
    assert bearer.volume == pytest.approx(300 * 70 * 45 - math.pi * 8.2**2 / 2 * run, rel=ROUND_BOUND)
    (seat,) = [f for f in built.member("bearer").features if f.kind == "seat"]
    assert seat.hole.diameter == pytest.approx(16.4)
    assert "clamp a block of like wood on the face" in seat.note


def test_a_rod_that_dips_into_the_wood_must_be_slid_in_from_the_end():
    text = design("{from: [-20, -100, 96], to: [20, 100, 96]}")
    (note,) = [f.text for f in findings_of(text) if f.rule == "joint"]
    assert note.endswith('lies 4 mm under the surface of "bearer": it must be slid in from the end')


def test_a_seat_ends_where_the_rod_ends():
    text = design("{from: [0, -100, 100], to: [0, 10, 100]}", fit="fit: snug", long="110")
    built = build(text)
    (seat,) = [f for f in built.member("bearer").features if f.kind == "seat"]
    assert seat.hole.depth == pytest.approx(45)
    assert built.member("bearer").solid.volume == pytest.approx(
        300 * 70 * 45 - math.pi * 64 / 2 * 45, rel=1e-6
    )


@pytest.mark.parametrize(
    ("place", "words"),
    [
        ("{from: [0, -100, 80], to: [0, 100, 80]}", "it lies wholly in the wood; a housing bores it a hole"),
        ("{from: [0, -100, 120], to: [0, 100, 120]}", "do not meet"),
        ("{from: [0, -20, 100], to: [0, 20, 100]}", "ends within the seat both ways"),
    ],
)  # fmt: skip
def test_a_seat_that_cannot_be_bored_is_refused(place, words):
    long = "40" if "-20" in place else "200"
    (found,) = messages(design(place, long=long))
    assert words in found


@pytest.mark.parametrize("kind", ["housing", "notch", "groove"])
def test_a_round_bought_part_in_any_cut_leaves_an_exact_cylinder_with_its_fit(kind):
    """Loose leaves 0.8 mm over each side: a 16 mm rod in 17.6."""
    places = {
        "housing": "{from: [0, -100, 77], to: [0, 100, 77]}",
        "notch": "{from: [-30, -100, 96], to: [30, 100, 96]}",
        "groove": "{from: [-200, 0, 97], to: [200, 0, 97]}",
    }
    built = build(design(places[kind], kind, "fit: loose", "400" if kind == "groove" else "210"))
    assert_sound(built, Tally(kind))
    (cut,) = [f for f in built.member("bearer").features if f.kind == kind]
    (wall,) = [s.form for s in cut.surfaces]
    assert wall.radius == pytest.approx(8.8)
