"""Wedges in through tenons: kerfs across the post's grain, a flared mortise, and what would split the post."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from soundness import assert_sound
from sticks import DEGREES, TAPERS, face
from tenoned import tenoned
from workshop import build, findings_of

from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import dot

KERF, FLARE = 1.6, 1.5875
TILTS = st.integers(-200, 200).map(lambda tenths: tenths / 10)


def kerf_planes(built):
    _, placed = built.instance("rail")
    return [s.form.placed(placed.frame) for s in built.feature("rail", "kerf").surfaces]


def flat(text):
    """The same rail laid on its side: its face up, its width across the post's grain."""
    head, _, tail = text.partition("  rail:\n")
    before, _, rest = tail.partition("place: {length: ")
    _, _, after = rest.partition("}\n")
    return (
        head
        + "  rail:\n"
        + before
        + "place: {length: [1, 0, 0], width: [0, 1, 0], corner: [-155, -40, 235]}\n"
        + after
    )


def test_a_kerf_runs_across_the_posts_grain_whichever_way_the_rail_lies(tally):
    @settings(max_examples=8, deadline=None)
    @given(DEGREES, TILTS, TAPERS, st.integers(1, 2))
    def sawn(lean, tilt, taper, wedges):
        built = tally.build(tenoned(f", width: 56, proud: 3, wedges: {wedges}", lean, tilt, taper))
        if built is None:
            return
        assert_sound(built, tally)
        grain = built.instance("post")[1].frame.l
        rail_width = built.instance("rail")[1].frame.w
        sides = [p for p in kerf_planes(built) if abs(dot(p.normal, rail_width)) > 1 - 1e-9]
        assert len(sides) == 2 * wedges
        # What it presses apart lies along the post: against the mortise's ends, which are end grain.
        least = math.cos(math.radians(lean)) * math.cos(math.radians(tilt)) - 1e-9
        assert all(abs(dot(p.normal, grain)) > least for p in sides)

    sawn()


def test_of_a_rail_laid_flat_the_kerf_runs_along_its_width():
    text = flat(tenoned(", width: 50, proud: 0, wedges: 1, thickness: 12"))
    built = build(text)
    sides = [p for p in kerf_planes(built) if abs(p.normal[2]) > 1 - 1e-9]
    assert len(sides) == 2
    assert abs(abs(sides[0].offset) - abs(sides[1].offset)) == pytest.approx(KERF)


def test_a_kerf_stops_a_third_of_the_tenon_short_of_the_shoulder():
    built = build(tenoned(", width: 56, proud: 6, wedges: 1"))
    (root,) = [p for p in kerf_planes(built) if abs(p.normal[0]) > 0.9]
    # The post is 90 wide from x = -45 to 45: the tenon of 96 is sawn for 64 from its end.
    assert root.offset * root.normal[0] == pytest.approx(45 - 32)


def test_the_mortise_is_flared_at_both_ends_as_far_as_the_kerf_goes():
    built = build(tenoned(", width: 56, proud: 0, wedges: 2"))
    post = built.member("post")
    volume = 500 * 90 * 70 - 90 * 56 * 10 - 2 * (FLARE * 60 / 2 * 10)
    assert post.solid.volume == pytest.approx(volume)
    far = [v for v in post.solid.vertices.tolist() if abs(v[1]) < 1e-9 and 200 < v[0] < 300]
    heights = sorted({round(v[0], 6) for v in far})
    assert heights[-1] - heights[0] == pytest.approx(56 + 2 * FLARE)


def test_the_wedges_fill_what_is_sawn_and_flared():
    (wedge,) = build(tenoned(", width: 56, proud: 0, wedges: 2")).model.hardware
    assert (wedge.name, wedge.quantity, wedge.length) == ("wedge", 2, 60)
    assert wedge.size == "10 mm x 60 mm, 3.2 mm thick at the head"


def test_the_sheets_say_what_the_cuts_are_for():
    built = build(tenoned(", width: 56, proud: 0, wedges: 1"))
    assert built.feature("rail", "kerf").note == "saw kerf for a wedge, across the grain of post"
    notes = [f.note for f in built.member("post").features if f.note]
    assert notes == ["ends flared 1.6 mm toward the far side, for the wedges"]


def test_a_rail_turned_about_its_length_warns_that_the_wedge_may_split_the_post():
    text = tenoned(", width: 50, proud: 0, wedges: 1, thickness: 12", post=(500.0, 90.0, 90.0))
    head, _, tail = text.partition("  rail:\n")
    before, _, rest = tail.partition("width: [")
    after = rest.partition("]")[2].partition("corner: [")[2].partition("]")[2]
    turned = f"width: [0, 0.766044, 0.642788], corner: [-155, -40.3, 233]{after}"
    (found,) = [f for f in findings_of(f"{head}  rail:\n{before}{turned}") if f.rule == "wedges"]
    assert found.level == "warning"
    assert 'degrees out of the grain of "post" and may split it' in found.text


def test_too_many_wedges_leave_strips_that_break():
    (found,) = [f for f in findings_of(tenoned(", width: 30, proud: 0, wedges: 4")) if f.level == "error"]
    assert found.text.startswith('wedges: 4 wedges leave strips of 2.95 mm of the tenon of "rail"')


def test_no_wedge_goes_into_end_grain():
    """A tenon through a short block from end to end: whatever way it is spread, the block splits."""
    text = tenoned(", width: 40, proud: 0, wedges: 1", trim="post.end B", post=(40.0, 90.0, 70.0))
    head, _, tail = text.partition("  rail:\n")
    before, _, rest = tail.partition("place: {")
    after = rest.partition("}")[2]
    upright = "place: {length: [0, 0, 1], width: [1, 0, 0], corner: [-40, -15, 200]}"
    (found,) = [f for f in findings_of(f"{head}  rail:\n{before}{upright}{after}") if f.level == "error"]
    assert found.text == 'wedges: the tenon of "rail" enters the end grain of "post"; a wedge would split it'


def test_both_walls_of_a_flare_lean_outward():
    built = build(tenoned(", width: 56, proud: 0, wedges: 1", lean=10))
    member, placed = built.instance("post")
    flares = [f for f in member.features if f.kind == "mortise" and f.note]
    entered = face(built, "post", "back edge")
    leaning = []
    for surface in flares[0].surfaces:
        assert isinstance(surface.form, Plane)
        plane = surface.form.placed(placed.frame)
        if abs(dot(plane.normal, built.instance("rail")[1].frame.w)) > 0.9:
            leaning.append(dot(plane.normal, entered.normal))
    straight = math.sin(math.radians(10))
    assert len(leaning) == 2
    assert all(abs(x) != pytest.approx(straight, abs=1e-4) for x in leaning)
    # Looking into the mortise, both lean farther from the entered face than the tenon's own edges do.
    assert sum(leaning) == pytest.approx(-2 * FLARE / 60, rel=0.05)
