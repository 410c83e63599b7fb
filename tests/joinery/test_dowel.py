"""Dowels: one axis in both members, square to the faces that meet, a little deeper than the dowels are long."""

import pytest
from butted import butted
from hypothesis import given, settings
from hypothesis import strategies as st
from soundness import assert_order_free, assert_sound
from sticks import DEGREES, TAPERS, face
from workshop import build, findings_of

from plangen.geometry.vectors import cross, dot, length, sub

ROOM = 25.4 / 16
"""Millimetres: 1 to 2 mm below a dowel, common practice."""
TILTS = st.integers(-200, 200).map(lambda tenths: tenths / 10)


def holes(built, name):
    member, placed = built.instance(name)
    found = [f.hole for f in member.features if f.kind == "dowel hole"]
    return sorted((placed.frame.point(h.entry), placed.frame.direction(h.axis), h) for h in found)


def test_holes_of_both_lie_on_one_axis_square_to_the_contact(tally):
    @settings(max_examples=10, deadline=None)
    @given(DEGREES, TILTS, TAPERS, st.sampled_from(["snug", "slide"]))
    def bored(lean, tilt, taper, fit):
        built = tally.build(
            butted(
                f"{{dowel: [rail, post], diameter: 8, depth: 22, inset: 24, fit: {fit}}}",
                lean,
                tilt,
                taper,
                rail=(600.0, 90.0, 44.0),
            )
        )
        if built is None:
            return
        assert_sound(built, tally)
        contact = face(built, "post", "back edge")
        pairs = list(zip(holes(built, "rail"), holes(built, "post"), strict=True))
        assert len(pairs) == 2
        for (p, way, a), (q, other, b) in pairs:
            assert length(sub(p, q)) < 1e-6
            assert abs(contact.distance(p)) < 1e-6
            assert dot(way, contact.normal) == pytest.approx(1.0)
            assert length(cross(way, other)) < 1e-9
            room = 2 * {"snug": 0.0, "slide": 0.2}[fit]
            assert (a.diameter, b.diameter) == (pytest.approx(8 + room), pytest.approx(8 + room))
            assert (a.depth, b.depth) == (pytest.approx(22 + ROOM), pytest.approx(22 + ROOM))

    bored()


def test_the_dowels_to_buy():
    (dowel,) = build(butted("{dowel: [rail, post], diameter: 10, depth: 26, count: 3}")).model.hardware
    assert (dowel.name, dowel.size, dowel.quantity, dowel.length) == ("dowel", "10 mm x 52 mm", 3, 52)


def test_without_a_size_a_dowel_is_between_a_third_and_half_of_the_stock():
    """1/3 to 1/2: common practice; rod is sold in 10 and 12 mm."""
    built = build(butted("{dowel: [rail, post]}"))
    assert [h.diameter for _, _, h in holes(built, "rail")] == [12.0, 12.0]
    assert [str(f) for f in built.findings] == []


def test_inset_and_set_back_are_those_that_were_said():
    built = build(butted("{dowel: [rail, post], diameter: 8, inset: 15, set back: 9}"))
    assert sorted(h.entry[1] for _, _, h in holes(built, "rail")) == pytest.approx([15, 65])
    assert {round(h.entry[2], 6) for _, _, h in holes(built, "rail")} == {21.0}


def test_two_ends_on_one_post_in_either_order():
    text = butted("{dowel: [rail, post], diameter: 8}\n{butt: [rail, post]}")
    assert_order_free(text)


REFUSED = {
    "diameter: 10, depth: 90": 'leaves 0 mm of "post" beside or below it',
    "diameter: 10, depth: 20, set back: 4": 'leaves 0 mm of "rail" beside or below it',
    "diameter: 10, count: 9": "no room for 9 of 10 mm in 80 mm, 20 mm from either end",
}


@pytest.mark.parametrize("options", REFUSED)
def test_what_breaks_out_is_refused(options):
    (found,) = [f for f in findings_of(butted(f"{{dowel: [rail, post], {options}}}")) if f.level == "error"]
    assert found.text.startswith('the dowels of "rail" and "post": ')
    assert REFUSED[options] in found.text


def test_members_that_do_not_lie_flat_on_each_other_take_no_dowels():
    text = butted("{dowel: [rail, post]}", lean=10).replace(
        "trim: {end A: post.back edge}",
        "trim: {end A: {through point: [45, 0, 0], square to: right, turned: {by: 1 deg, toward: front}}}",
    )
    (found,) = [f for f in findings_of(text) if f.level == "error"]
    assert "do not lie face to face" in found.text or "do not meet" in found.text


def test_a_thick_dowel_is_told():
    found = [f.text for f in findings_of(butted("{dowel: [rail, post], diameter: 16}"))]
    assert any("the diameter is 0.53 of the thinner stock's thickness" in text for text in found)
