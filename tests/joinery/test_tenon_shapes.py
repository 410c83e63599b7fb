"""Haunched, through, proud and double tenons, between members that lean, turn and taper; and what cannot be made."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from soundness import assert_order_free, assert_sound
from sticks import DEGREES, TAPERS, face
from tenoned import DEEPER, rail_and_post, tenoned
from workshop import build, findings_of

from plangen.geometry.contact import contact_area
from plangen.geometry.vectors import dot

TILTS = st.integers(-200, 200).map(lambda tenths: tenths / 10)

SHAPES = {
    "stub": (", length: 44, width: 56", [(10.0, 12.0, 68.0, 44.0)], 44.0),
    "haunched": (
        ", length: 44, width: 50, haunch: 11, haunch width: 24",
        [(10.0, 0.0, 50.0, 44.0), (10.0, 0.0, 74.0, 11.0)],
        44.0,
    ),
    "double": (
        ", length: 40, count: 2, width: 28, from edge: 6",
        [(10.0, 6.0, 34.0, 40.0), (10.0, 46.0, 74.0, 40.0)],
        40.0,
    ),
}


@pytest.mark.parametrize("shape", SHAPES)
def test_rail_and_post_are_their_bodies_parted_by_the_tenon(tally, shape):
    options, prisms, length = SHAPES[shape]

    @settings(max_examples=12, deadline=None)
    @given(DEGREES, TILTS, TAPERS, st.sampled_from(["snug", "slide", "loose"]))
    def parted(lean, tilt, taper, fit):
        text = tenoned(f"{options}, fit: {fit}", lean, tilt, taper, height=60.0)
        built = tally.build(text)
        if built is None:
            return
        room = {"snug": 0.0, "slide": 0.2, "loose": 0.8}[fit]
        assert_sound(built, tally, rail_and_post(built, prisms, length, room))

    parted()


@settings(max_examples=12, deadline=None)
@given(DEGREES, TILTS, st.floats(0, 12))
def test_a_proud_tenon_stands_out_of_the_far_face_by_what_was_said(lean, tilt, proud):
    built = build(tenoned(f", width: 56, proud: {proud:.3f}", lean, tilt))
    assert [str(f) for f in built.findings if f.level != "note"] == []
    far = face(built, "post", "edge")
    rail, placed = built.instance("rail")
    out = [dot(far.normal, placed.frame.point(tuple(v))) - far.offset for v in rail.solid.vertices.tolist()]
    assert max(out) == pytest.approx(round(proud, 3), abs=1e-6)
    # Where it leaves the post the mortise goes right through: no floor is left.
    (cutter,) = built.feature("post", "mortise").cutters
    assert len(cutter) == 4


def test_a_tenon_without_a_length_takes_two_thirds_of_the_post():
    """2/3 of the stile's width: a published rule (reference 07_joints, tenon_len)."""
    built = build(tenoned(", width: 56"))
    assert built.member("rail").finished[0] == pytest.approx(600 - 200 + 60)
    assert built.member("post").solid.volume == pytest.approx(500 * 90 * 70 - (60 + DEEPER) * 56 * 10)


def test_a_tenon_without_a_width_is_no_wider_than_six_times_its_thickness():
    """The greatest width of one tenon: a published rule (reference 07_joints, tenon_wide)."""
    built = build(tenoned(", length: 40"))
    assert built.member("rail").solid.volume == pytest.approx(400 * 80 * 30 + 40 * 60 * 10)


def test_the_haunch_lies_toward_the_posts_nearer_end():
    for height, at_top in ((180.0, True), (-180.0, False)):
        built = build(tenoned(", length: 45, haunch: 10", height=height))
        rail, placed = built.instance("rail")
        reach = {True: -math.inf, False: -math.inf}
        plane = face(built, "post", "back edge")
        for v in rail.solid.vertices.tolist():
            x = placed.frame.point(tuple(v))
            inside = plane.offset - dot(plane.normal, x)
            above = x[2] > 250 + height
            reach[above] = max(reach[above], inside) if abs(x[2] - 250 - height) > 39 else reach[above]
        assert reach[at_top] == pytest.approx(10)


def test_the_haunch_fills_a_groove_of_the_posts_beside_the_tenon():
    """The groove for a panel, as deep as the haunch and as wide as the tenon: no light is seen through it."""
    panel = (
        "  panel:\n    stock: rail wood\n    thickness: 10\n    width: 80\n    length: 200\n"
        "    place: {length: right, face: {flush with: {through point: [0, -5, 0], square to: front}}, "
        "back edge: {flush with: {level at: 410, facing: up}}}\n"
        "    trim: {left end: {shift: post.back edge, by: -10}}\n"
    )
    text = tenoned(", length: 45, haunch: 10, width: 53.5", height=200.0)
    head, _, tail = text.partition("joints:\n")
    built = build(f"{head}{panel}joints:\n{tail}  - {{groove: [panel, post]}}\n")
    post, placed = built.instance("post")
    rail, at = built.instance("rail")
    assert contact_area(post.solid, placed.frame, rail.solid, at.frame, 1e-6) > 10 * 26
    haunch = built.feature("post", "haunch")
    groove = built.feature("post", "groove")
    walls = {(s.form.normal, round(s.form.offset, 6)) for s in haunch.surfaces}
    shared = walls & {(s.form.normal, round(s.form.offset, 6)) for s in groove.surfaces}
    assert len(shared) == 3  # both cheeks and the floor are the groove's own


def test_the_order_of_joints_changes_nothing():
    text = tenoned(", length: 40, width: 50", lean=8, tilt=5, height=-100)
    other = tenoned("", lean=-12, tilt=-4, height=100).partition("  rail:\n")[2].partition("joints:")[0]
    head, _, tail = text.partition("joints:\n")
    second = "  - {mortise and tenon: [other rail, post], length: 35, width: 50, peg: 8}\n"
    assert_order_free(f"{head}  other rail:\n{other}joints:\n{tail}{second}")


WARNED = {
    ", length: 40, width: 64": "the tenon's width is 6.40 of the tenon's thickness",
    ", length: 40, width: 36, thickness: 6": "the tenon's thickness is 0.20 of the stock's thickness",
    ", length: 25, width: 50": "the tenon's length is 0.28 of the width of the member it enters",
    ", length: 84.5, width: 50": 'the wood of "post" below the mortise is 2.325 mm; the rule of thumb is at least 3 mm',
    ", length: 40, width: 50, haunch: 20": "the haunch's depth is 2.00 of the tenon's thickness",
}


@pytest.mark.parametrize("options", WARNED)
def test_what_lies_outside_a_rule_of_thumb_is_made_and_told(options):
    found = [f.text for f in findings_of(tenoned(options))]
    assert len(found) == 1
    assert WARNED[options] in found[0]
    assert "rule of thumb" in found[0]


REFUSED = {
    ", length: 89, width: 50": "comes out of the far side",
    ", length: 100, width: 50": 'the tenon of "rail" comes out of the far side of "post" by 10 mm',
    ", length: 40, width: 50, proud: 5": 'proud: the tenon of "rail" does not come through "post"',
    ", length: 40, width: 50, wedges: 1": 'wedges: the tenon of "rail" does not come through "post"',
    ", length: 40, width: 90": "the tenon, from -5 mm to 85 mm, does not lie within the 80 mm",
    ", length: 40, width: 80, haunch: 10": 'the haunch: 0 mm of "rail" lies beside the tenon',
    ", length: 40, count: 3, width: 30": "has no room for 3 of 30 mm with wood between them",
}


@pytest.mark.parametrize("options", REFUSED)
def test_what_cannot_be_made_is_refused_with_the_reason(options):
    (found,) = [f for f in findings_of(tenoned(options)) if f.level == "error"]
    assert REFUSED[options] in found.text


def test_a_rail_that_ends_before_its_tenon_is_refused():
    text = tenoned(", length: 40, width: 50", trim="{shift: post.back edge, by: -20}")
    (found,) = [f for f in findings_of(text) if f.level == "error"]
    assert found.text.startswith(
        'the tenon: "rail" ends 20 mm past its shoulder, so its tenon cannot be 40 mm long'
    )


def test_a_rail_that_runs_on_is_cut_to_the_tenons_length():
    text = tenoned(", length: 40, width: 50", trim="{shift: post.back edge, by: -75}", lean=9)
    built = build(text)
    same = build(tenoned(", length: 40, width: 50", lean=9))
    assert built.member("rail").solid.volume == pytest.approx(same.member("rail").solid.volume)
    assert built.member("post").solid.volume == pytest.approx(same.member("post").solid.volume)
