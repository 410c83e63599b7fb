"""Stopped housings: the trench ends short of a side, and the first is notched there by as much as it is let in."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from soundness import assert_order_free, assert_sound
from sticks import face, within
from workshop import build, common, findings_of, kernel_bodies, less

SHELF = """title: Shelf
units: mm
stock:
  shelf board: {{ask for: pine, species: scots pine, width: 140, thickness: 18}}
  side board: {{ask for: pine, species: scots pine, width: 140, thickness: 24}}
planes:
  side wall:
    through line: {{from: [0, 0, 200], going: rear}}
    lean: {{by: {lean} deg, toward: left, going: up, measured: from plumb}}
    facing: right
members:
  side:
    stock: side board
    length: 400
    place:
      length: along side wall
      face: {{flush with: side wall}}
      middle: [depth plane, {{level at: 200}}]
  shelf:
    stock: shelf board
    place:
      length: right
      face: {{flush with: {{level at: 218}}}}
      middle: [{{through point: [0, {back}, 0], square to: rear}}]
    trim: {{left end: {{shift: side wall, by: -{deep}}}, right end: {{through point: [300, 0, 0], square to: right}}}}
joints:
  - {{stopped housing: [shelf, side], {options}}}
"""


def shelf(options="short: 15, short of: front", lean=8.0, deep=7.0, back=0.0):
    text = SHELF.format(options=options, lean=lean, deep=deep, back=back)
    return text.replace("length: along side wall", f"length: [{_up(lean)}]")


def _up(lean):
    return f"{-math.sin(math.radians(lean)):.12f}, 0, {math.cos(math.radians(lean)):.12f}"


def test_shelf_and_side_share_the_wood_on_either_side_of_the_stop(tally):
    @settings(max_examples=10, deadline=None)
    @given(
        st.integers(-300, 300).map(lambda t: t / 10), st.floats(8, 40), st.floats(5, 9),
        st.sampled_from(["front", "rear"]), st.sampled_from(["snug", "slide"]),
    )  # fmt: skip
    def shared(lean, short, deep, side, fit):
        text = shelf(f"short: {short:.3f}, short of: {side}, fit: {fit}", lean, deep=round(deep, 3))
        built = tally.build(text)
        if built is None:
            return
        bodies = kernel_bodies(built)
        room = {"snug": 0.0, "slide": 0.2}[fit]
        named = {"front": "back edge", "rear": "edge"}[side]
        plane = face(built, "side", named)
        stop = plane.shifted(-round(short, 3))
        sides = [face(built, "shelf", s).shifted(room) for s in ("face", "back", "edge", "back edge")]
        sides.append(face(built, "side", "face").shifted(-round(deep, 3)).flipped().shifted(room))
        trench = within(*sides, stop.shifted(room))
        notch = common(within(face(built, "side", "face")), within(stop.flipped()))
        second = {"side": less(bodies["side"], trench), "shelf": less(bodies["shelf"], notch)}
        assert_sound(built, tally, second)

    shared()


def test_the_trench_is_as_long_as_was_said():
    built = build(shelf(lean=0.0))
    assert 24 * 140 * 400 - built.member("side").solid.volume == pytest.approx(7 * 18 * (140 - 15))
    assert built.body("shelf").size[0] * 140 * 18 - built.member("shelf").solid.volume == pytest.approx(
        7 * 18 * 15
    )


def test_without_a_word_it_stops_short_of_the_front():
    built = build(shelf("fit: snug", lean=0.0))
    assert built.feature("side", "housing").cutters
    taken = 24 * 140 * 400 - built.member("side").solid.volume
    assert taken == pytest.approx(7 * 18 * (140 - 25.4 * 3 / 8))


def test_a_shelf_that_ends_before_the_stop_needs_no_notch():
    built = build(shelf("short: 10, short of: front", lean=0.0, back=20.0))
    assert [f.rule for f in built.findings if f.level == "note"] == ["stopped housing"]
    assert built.body("shelf").size[0] * 140 * 18 == pytest.approx(built.member("shelf").solid.volume)


def test_the_order_of_joints_changes_nothing():
    text = shelf()
    assert_order_free(text + "  - {butt: [shelf, side]}\n")


REFUSED = {
    "short: 15, short of: right": 'no trench for "shelf" runs toward the right of "side"',
    "short: 150, short of: front": 'so far short nothing is left of the trench in "side"',
}


@pytest.mark.parametrize("options", REFUSED)
def test_what_cannot_be_cut_is_refused(options):
    (found,) = [f for f in findings_of(shelf(options, lean=0.0)) if f.level == "error"]
    assert REFUSED[options] in found.text


def test_too_deep_a_trench_is_told():
    (found,) = [f for f in findings_of(shelf(deep=16.0)) if f.level == "warning"]
    assert 'stopped housing: the depth in "side" is 0.67 of the stock\'s thickness' in found.text
