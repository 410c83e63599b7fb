"""Pegs and drawbore: where the holes lie, which way the tenon's is moved, what is bought, what breaks out."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from soundness import assert_sound
from sticks import DEGREES, TAPERS, face
from tenoned import shoulder_distance, tenoned
from workshop import build, findings_of

from plangen.geometry.vectors import along, cross, dot, length, sub

TILTS = st.integers(-200, 200).map(lambda tenths: tenths / 10)


def axes(built, instance):
    """Points on the axes of the peg holes of an instance, in the middle of the rail's thickness, and their way."""
    member, placed = built.instance(instance)
    front, back = face(built, "rail", "face"), face(built, "rail", "back")
    found = []
    for feature in member.features:
        if feature.kind == "peg hole":
            way = placed.frame.direction(feature.hole.axis)
            at = placed.frame.point(feature.hole.entry)
            middle = (
                -front.distance(at) / dot(front.normal, way) - back.distance(at) / dot(back.normal, way)
            ) / 2
            found.append((along(at, way, middle), way))
    return sorted(found, key=lambda a: a[0][2])


@pytest.mark.parametrize("drawbore", [0.0, 1.5])
def test_the_tenons_hole_is_as_much_nearer_the_shoulder_as_the_drawbore(tally, drawbore):
    """Toward the shoulder: a published rule (reference 07_joints, drawbore_dir). Away from it the joint would open."""

    @settings(max_examples=8, deadline=None)
    @given(DEGREES, TILTS, TAPERS)
    def bored(lean, tilt, taper):
        said = f", drawbore: {drawbore}" if drawbore else ""
        built = tally.build(tenoned(f", length: 44, width: 56, peg: 8, pegs: 2{said}", lean, tilt, taper))
        if built is None:
            return
        assert_sound(built, tally)
        along_rail = built.instance("rail")[1].frame.l
        pairs = list(zip(axes(built, "rail"), axes(built, "post"), strict=True))
        assert len(pairs) == 2
        for (in_tenon, way), (in_cheeks, same) in pairs:
            assert length(cross(way, same)) < 1e-9
            moved = sub(in_tenon, in_cheeks)
            # The rail leaves the post along its own length: that way lies the shoulder.
            assert dot(moved, along_rail) == pytest.approx(drawbore, abs=1e-6)
            assert length(cross(moved, along_rail)) < 1e-6
            nearer = shoulder_distance(built, in_cheeks) - shoulder_distance(built, in_tenon)
            assert nearer > 0.7 * drawbore or drawbore == 0.0

    bored()


def test_the_peg_stands_where_a_worked_joint_has_it():
    """A tenon of 34 mm: 16 mm from the mortised face, 18 mm from its end (reference 07_joints, peg_place)."""
    built = build(tenoned(", length: 34, width: 50, peg: 6"))
    ((at, _),) = axes(built, "post")
    assert shoulder_distance(built, at) == pytest.approx(16.0)
    assert at[2] == pytest.approx(250.0)


def test_several_pegs_are_spread_over_the_tenons_width():
    built = build(tenoned(", length: 44, width: 60, peg: 8, pegs: 3"))
    heights = [at[2] - 250 for at, _ in axes(built, "post")]
    assert heights == pytest.approx([-20, 0, 20])


def test_pegs_are_listed_with_length_to_cut_off():
    (peg,) = build(tenoned(", length: 44, width: 56, peg: 8, pegs: 2")).model.hardware
    assert (peg.name, peg.quantity, peg.length) == ("peg", 2, 70 + 2 * 8)
    assert peg.size == "8 mm x 86 mm, trimmed flush"


def test_the_hole_of_the_post_goes_through_both_cheeks_from_the_front():
    post = build(tenoned(", length: 44, width: 56, peg: 8")).member("post")
    (hole,) = [f.hole for f in post.features if f.kind == "peg hole"]
    assert (hole.diameter, hole.depth, hole.purpose, hole.entry_surface) == (8.0, None, "peg", "back")
    # As the post stands here its back looks to the front.
    assert hole.entry[2] == pytest.approx(0.0, abs=1e-9)


def test_the_rails_sheet_says_how_much_nearer():
    (feature,) = [
        f
        for f in build(tenoned(", length: 44, width: 56, peg: 8, drawbore: 1.5")).member("rail").features
        if f.kind == "peg hole"
    ]
    assert feature.note == "1.5 mm nearer the shoulder than in post"


REFUSED = {
    ", length: 44, width: 12, thickness: 10, peg: 12": "leaves 0 mm of the tenon beside it",
    ", length: 14, width: 50, peg: 13": "leaves 0.08824 mm of the tenon beside it",
    ", length: 44, width: 50, peg: 6, drawbore: 3": "they would not find the tenon's hole",
}


@pytest.mark.parametrize("options", REFUSED)
def test_a_hole_that_breaks_out_is_refused(options):
    found = [f.text for f in findings_of(tenoned(options)) if f.level == "error"]
    assert len(found) == 1
    assert found[0].startswith('the pegs of "rail" in "post": ')
    assert REFUSED[options] in found[0]


WARNED = {
    ", length: 44, width: 50, peg: 8, drawbore: 3": "the drawbore is 3 mm; the rule of thumb is 0.7937 mm to 2.381 mm",
    ", length: 44, width: 50, peg: 12, pegs: 2": "6.5 mm of wood beside a peg hole of 12 mm",
}


@pytest.mark.parametrize("options", WARNED)
def test_what_the_rules_of_thumb_say_of_pegs(options):
    """Drawbore of 1/16 to 3/32 in, 1/32 for fine work: published (reference 07_joints, drawbore_a and drawbore_b)."""
    (found,) = findings_of(tenoned(options))
    assert found.level == "warning"
    assert WARNED[options] in found.text


def test_drawbore_without_a_peg_says_nothing():
    (found,) = findings_of(tenoned(", length: 44, drawbore: 1.5"))
    assert found.text == '"drawbore" of a joint has meaning only beside "peg"'
