"""Dovetail laps: a tail on the first that widens toward its end, in a trench of the second with the same slopes."""

import math

import pytest
from brep_kernel import kernel_volume
from hypothesis import given, settings
from hypothesis import strategies as st
from soundness import assert_order_free, assert_sound
from sticks import DEGREES, TAPERS, Stick, design, face, turned, within
from workshop import build, findings_of, fused, kernel_bodies, less

from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import cross, dot, scale, unit

RIGHT, REAR, UP = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
FRONT = scale(REAR, -1.0)


def tee(lean=0.0, skew=0.0, taper=0.0, options="", corner=False, width=60.0):
    """A plumb post; a rail whose left end is lapped on it, sloping along the wall and skew to it; cut to the post's
    far side."""
    post = Stick("post", (0.0, 0.0, 0.0 if not corner else -265.0), UP, RIGHT, (600.0, 70.0, 40.0))
    way = turned(turned(RIGHT, REAR, lean), UP, skew)
    across = cross(FRONT, way)
    rail = Stick("rail", scale(way, 150.0), way, across, (540.0, width, 40.0), taper)
    text = design(post, rail, joints=f"{{dovetail lap: [rail, post]{options}}}")
    return text.replace("  rail:\n    stock", "  rail:\n    trim: {end A: post.left}\n    stock")


def surfaces_of(built, name):
    member, placed = built.instance(name)
    feature = next(f for f in member.features if f.kind == "dovetail lap")
    forms = {s.id: s.form.placed(placed.frame) for s in feature.surfaces}
    return [[forms[i] for i in c] for c in feature.cutters]


def tail_sides(built) -> list[Plane]:
    """The sides' planes, outward of the tail: the first of the two surfaces of a cheek's cutter."""
    return [cutter[0] for cutter in surfaces_of(built, "rail")[1:]]


def test_a_square_tail_narrows_by_its_slope_on_both_sides():
    """70 mm of lap at 1 in 7 is 10 mm a side."""
    built = build(tee())
    assert [str(f) for f in built.findings] == []
    taken = built.body("rail").size[0] * 60 * 40 - built.member("rail").solid.volume
    assert taken == pytest.approx(70 * 60 * 20 + 2 * (70 * 10 / 2) * 20)
    trench = 600 * 70 * 40 - built.member("post").solid.volume
    assert trench == pytest.approx(70 * (60 + 40) / 2 * 20)


@pytest.mark.parametrize(("said", "degrees"), [("1 in 8", 7.125), ("1 in 6", 9.462), ("10 deg", 10.0)])
def test_the_slope_is_the_one_said(said, degrees):
    """atan(1/8) = 7.125, atan(1/6) = 9.462 degrees (read: 1:6 to 1:8)."""
    built = build(tee(options=f", slope: {said}"))
    for side in tail_sides(built):
        assert math.degrees(math.asin(abs(dot(side.normal, RIGHT)))) == pytest.approx(degrees, abs=1e-3)


def test_tails_are_sound_at_any_angle(tally):
    @settings(max_examples=12, deadline=None)
    @given(DEGREES, DEGREES, TAPERS, st.sampled_from(["first", "second", "between"]))
    def lapped(lean, skew, taper, floor):
        built = tally.build(tee(lean, skew, taper, options=f", floor: {floor}", width=90.0))
        if built is None:
            return
        bodies = kernel_bodies(built)
        (floor_plane, *_), (post_floor, *_) = (surfaces_of(built, n)[0] for n in ("rail", "post"))
        assert dot(floor_plane.normal, post_floor.normal) == pytest.approx(-1.0, abs=1e-12)
        entered, behind = face(built, "post", "back edge"), face(built, "post", "edge")
        sides = tail_sides(built)
        assert len(sides) == 2
        # Behind the other member's far face nothing is taken: its wood is not there.
        rail = less(
            bodies["rail"], within(entered, behind, floor_plane.flipped(), far(built, "post", floor_plane))
        )
        for side in sides:
            assert_slopes(built, side)
            rail = less(rail, within(entered, side.flipped()))
        trench = within(*sides, post_floor.flipped(), far(built, "rail", post_floor))
        assert_sound(built, tally, {"rail": rail, "post": less(bodies["post"], trench)})

    lapped()


def far(built, name, floor):
    """The face of a member that looks away from what the other loses."""
    return min((face(built, name, n) for n in ("face", "back")), key=lambda p: dot(p.normal, floor.normal))


def assert_slopes(built, side):
    """1 in 7 from the rail's own edge, as square to its face as that edge, widest at the far end."""
    edges = [face(built, "rail", n) for n in ("edge", "back edge")]
    own = max(edges, key=lambda e: dot(e.normal, side.normal))
    assert dot(own.normal, side.normal) == pytest.approx(math.cos(math.atan(1 / 7)), abs=1e-9)
    along = unit(cross(own.normal, side.normal))
    thickness = built.body("rail").frame.t
    through = unit(
        tuple(t - dot(thickness, own.normal) * n for t, n in zip(thickness, own.normal, strict=True))
    )
    assert abs(dot(along, through)) == pytest.approx(1.0, abs=1e-9)


def test_flush_members_lose_nothing():
    for lean in (-35, -10, 0, 22.5, 35):
        built = build(tee(lean))
        whole = kernel_volume(fused(*kernel_bodies(built).values()))
        assert sum(m.solid.volume for m in built.model.members) == pytest.approx(whole, rel=1e-9)


def test_a_corner_may_be_dovetailed():
    built = build(tee(corner=True))
    assert [f for f in built.findings if f.level != "note"] == []
    whole = kernel_volume(fused(*kernel_bodies(built).values()))
    assert sum(m.solid.volume for m in built.model.members) == pytest.approx(whole, rel=1e-9)


def test_the_order_of_joints_has_no_effect():
    text = tee()
    second = Stick("other", (150.0, 0.0, 150.0), RIGHT, UP, (420.0, 60.0, 40.0)).text
    second = second.replace("other wood", "rail wood").replace(
        "  other:\n", "  other:\n    trim: {end A: post.left}\n"
    )
    text = text.replace("members:\n", "members:\n" + second) + "  - {dovetail lap: [other, post]}\n"
    assert_order_free(text)


def test_what_cannot_be_made_is_told():
    (found,) = [
        f for f in findings_of(tee().replace("    trim: {end A: post.left}\n", "")) if f.level == "error"
    ]
    assert found.text == ('the dovetail lap: "rail" runs on past "post"; the tail is its end: trim it there')
    (found,) = [f for f in findings_of(tee(options=", slope: 1 in 2")) if f.level == "error"]
    assert found.text == 'the dovetail lap: so steep a slope leaves no neck at the shoulder of "rail"'


def test_a_slope_outside_the_rule_is_advised_against():
    found = [f.text for f in findings_of(tee(options=", slope: 1 in 3"))]
    assert found == [
        "dovetail lap: the slope is 0.33 of rise to run; the rule of thumb is 0.12 to 0.20 "
        "(1:6 softwood to 1:8 hardwood, read; older texts the reverse)",
        "dovetail lap: the tail's neck is 0.22 of the member's width; the rule of thumb is 0.50 to 1.00 "
        "(common practice)",
    ]
