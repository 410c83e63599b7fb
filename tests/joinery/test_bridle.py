"""Bridles: an open mortise in the second's end over a tenon left on the first, at a corner and at a tee."""

import pytest
from brep_kernel import kernel_volume
from hypothesis import given, settings
from hypothesis import strategies as st
from soundness import assert_order_free, assert_sound
from sticks import DEGREES, TAPERS, Stick, design, face, turned, within
from workshop import build, common, findings_of, fused, kernel_bodies, less

from plangen.geometry.vectors import cross, scale

RIGHT, REAR, UP = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
FRONT = scale(REAR, -1.0)


def corner(lean=0.0, tilt=0.0, taper=0.0, thick=36.0, options="", tee=False, post=70.0):
    """A level rail; a post under it whose upper end straddles it, leaning along the rail and out of its plane.

    Both are cut to the other's outer faces, as a frame is.
    """
    rail = Stick("rail", (0.0, 0.0, 0.0), RIGHT, scale(UP, -1.0), (600.0, 80.0, 36.0), taper)
    way = turned(turned(UP, FRONT, lean), RIGHT, tilt)
    under = Stick("post", scale(way, -100.0), way, cross(FRONT, way), (500.0, post, thick))
    text = design(rail, under, joints=f"{{bridle: [rail, post]{options}}}")
    trims = {"rail": "" if tee else "    trim: {end A: post.left}\n", "post": "    trim: {end B: rail.top}\n"}
    for name, trim in trims.items():
        head, _, tail = text.partition(f"  {name}:\n")
        text = f"{head}  {name}:\n{trim}{tail}"
    return text


def cheek_planes(built, thickness=12.0):
    """The tenon's faces, from the rail's own."""
    front, back = face(built, "rail", "face"), face(built, "rail", "back")
    return front.shifted(-12.0), back.shifted(-(36.0 - 12.0 - thickness))


def test_a_square_corner_is_divided_in_thirds():
    built = build(corner())
    assert [str(f) for f in built.findings] == []
    rail, post = built.member("rail"), built.member("post")
    assert built.body("rail").size[0] * 80 * 36 - rail.solid.volume == pytest.approx(2 * 12 * 70 * 80)
    assert built.body("post").size[0] * 70 * 36 - post.solid.volume == pytest.approx(12 * 70 * 80)


def test_thickness_and_set_back_are_those_that_were_said():
    built = build(corner(options=", thickness: 14, set back: 8"))
    cheeks = [s.form for s in built.feature("rail", "bridle").surfaces if abs(s.form.normal[2]) > 0.9]
    assert sorted(round(abs(c.offset), 6) for c in cheeks) == [14.0, 28.0]


def test_a_slide_fit_leaves_its_room_in_the_slot_alone():
    built = build(corner(options=", fit: slide"))
    snug = build(corner())
    assert built.member("rail").solid.volume == pytest.approx(snug.member("rail").solid.volume)
    taken = built.body("post").size[0] * 70 * 36 - built.member("post").solid.volume
    assert taken == pytest.approx((12 + 0.4) * 70 * 80)


@pytest.mark.parametrize("tee", [False, True])
def test_any_two_members_are_their_bodies_less_prongs_and_tenon(tally, tee):
    @settings(max_examples=12, deadline=None)
    @given(DEGREES, st.integers(-100, 100).map(lambda tenths: tenths / 10), TAPERS)
    def straddled(lean, tilt, taper):
        text = corner(lean, tilt, taper, thick=60.0, tee=tee)
        built = tally.build(text)
        if built is None:
            return
        bodies = kernel_bodies(built)
        front, back = cheek_planes(built)
        expected = {"post": less(bodies["post"], common(bodies["rail"], within(front, back)))}
        slab = [
            face(built, "post", "edge"),
            face(built, "post", "back edge"),
            face(built, "rail", "back edge"),
        ]
        rail = bodies["rail"]
        for cheek in (front, back):
            rail = less(rail, within(*slab, cheek.flipped()))
        expected["rail"] = rail
        assert_sound(built, tally, expected)

    straddled()


def test_members_of_one_thickness_lose_nothing_at_any_lean():
    for lean in (-35, -12.5, 0, 20, 35):
        built = build(corner(lean))
        whole = kernel_volume(fused(*kernel_bodies(built).values()))
        assert sum(m.solid.volume for m in built.model.members) == pytest.approx(whole, rel=1e-9)


def test_the_order_of_joints_has_no_effect():
    text = corner(tee=True)
    other = Stick("other", (200.0, 0.0, -100.0), UP, RIGHT, (280.0, 60.0, 36.0)).text
    head, _, tail = text.partition("joints:\n")
    text = (
        head.replace(
            "members:\n",
            "members:\n"
            + other.replace("other wood", "post wood").replace("    length", "    width: 60\n    length", 1),
        )
        + "joints:\n"
        + tail
        + "  - {bridle: [rail, other]}\n"
    )
    assert_order_free(text)


def test_pegs_go_through_prongs_and_tenon():
    built = build(corner(options=", peg: 10, pegs: 2, drawbore: 1.5"))
    for name in ("rail", "post"):
        assert sum(f.kind == "peg hole" for f in built.member(name).features) == 2
    (pegs,) = [h for h in built.model.hardware if h.name == "peg"]
    assert pegs.quantity == 2


def axis_of(built, name):
    member, placed = built.instance(name)
    hole = next(f.hole for f in member.features if f.kind == "peg hole")
    return placed.frame.point(hole.entry)


def test_drawbored_pegs_draw_the_shoulders_together():
    """At a corner the hole in the tenon lies nearer its shoulder; at a tee nearer the rail's far edge, so that the
    peg draws the post on (read rule: toward the shoulder; the tee follows from it)."""
    built = build(corner(options=", peg: 10, drawbore: 1.5"))
    assert axis_of(built, "rail")[0] - axis_of(built, "post")[0] == pytest.approx(
        1.5
    )  # the rail enters leftward
    built = build(corner(options=", peg: 10, drawbore: 1.5", tee=True))
    assert axis_of(built, "rail")[2] - axis_of(built, "post")[2] == pytest.approx(1.5)  # the post rises


def errors(text):
    return [f.text for f in findings_of(text) if f.level == "error"]


def test_what_cannot_be_made_is_told():
    assert errors(corner(options=", thickness: 40")) == [
        'the bridle: its tenon, from -2 mm to 38 mm, does not leave a cheek on each side within the 36 mm of "rail"'
    ]
    (found,) = errors(corner(tee=True).replace("    trim: {end B: rail.top}\n", ""))
    assert found == (
        'the bridle: "post" runs on past "rail" on both sides; its end must lie at the first: trim it there, '
        "or use a mortise and tenon"
    )
    assert errors(corner(thick=10.0)) == [
        'the bridle: the tenon of "rail" is not within the thickness of "post"'
    ]


def test_a_thin_tenon_is_advised_against():
    (found,) = [f for f in findings_of(corner(options=", thickness: 6")) if f.level == "warning"]
    assert found.text.startswith(
        "bridle: the tenon's thickness is 0.17 of the stock's thickness; the rule of thumb"
    )
