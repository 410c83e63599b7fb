"""Turned members: a profile of diameters, straight between its places, flat at a shoulder."""

import math
from itertools import pairwise

import pytest
from brep_kernel import kernel_volume
from hypothesis import given, settings
from hypothesis import strategies as st
from soundness import assert_order_free, assert_sound
from workshop import build, common, findings_of, kernel_bodies, less

from plangen.geometry.surfaces import Cone, Plane
from plangen.stock.cutting_list import cutting_list

POST = """
title: Post
units: mm
stock: {{billet: {{ask for: 60 x 60 ash, species: ash, thickness: 60, width: 60}}}}
members:
  post:
    stock: billet
    turned: {profile}
    length: 300
    place: {{length: up, corner: [0, 0, 0]}}
"""
PROFILE = [(0, 30), (40, 30), (40, 44), (120, 56), (180, 40), (260, 24)]


def post(profile, more=""):
    return build(POST.format(profile=[list(p) for p in profile]) + more)


def frustum(length, d0, d1):
    """Volume of a frustum of a cone by its diameters (school geometry)."""
    return math.pi * length * (d0 * d0 + d0 * d1 + d1 * d1) / 12


def test_a_turned_post_has_the_volume_of_its_frustums():
    member = post(PROFILE).member("post")
    stretches = [(40, 30, 30), (80, 44, 56), (60, 56, 40), (80, 40, 24), (40, 24, 24)]
    assert member.solid.volume == pytest.approx(sum(frustum(*s) for s in stretches), rel=1e-9)


def test_its_finished_size_is_its_greatest_diameter_and_it_is_made_by_turning_alone():
    member = post(PROFILE).member("post")
    assert member.finished == pytest.approx((300, 56, 56))
    assert {f.kind for f in member.features} == {"turned"}


def test_one_place_twice_is_a_flat_shoulder():
    member = post(PROFILE).member("post")
    faces = [s.form for s in member.surfaces if isinstance(s.form, Plane) and s.feature is not None]
    assert [(p.normal, p.offset) for p in faces] == [((-1.0, 0.0, 0.0), -40.0)] or [
        p.normal[0] * p.offset for p in faces
    ] == [40.0]


def test_stretches_that_run_on_in_one_line_are_one_cone():
    member = post([(0, 50), (100, 40), (200, 30), (300, 20)]).member("post")
    assert [type(s.form) for f in member.features for s in f.surfaces] == [Cone]


def test_before_the_first_place_and_after_the_last_the_diameter_stays():
    member = post([(100, 40), (200, 20)]).member("post")
    volume = frustum(100, 40, 40) + frustum(100, 40, 20) + frustum(100, 20, 20)
    assert member.solid.volume == pytest.approx(volume, rel=1e-9)


@settings(max_examples=12, deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 60), st.integers(8, 60)), min_size=2, max_size=7).map(
        lambda steps: [(5 * sum(s for s, _ in steps[: i + 1]) % 301, d) for i, (_, d) in enumerate(steps)]
    )
)
def test_any_profile_has_the_volume_of_its_frustums(steps):
    places = sorted({at for at, _ in steps})
    if len(places) < 2:
        return
    profile = [(at, next(d for p, d in steps if p == at)) for at in places]
    ends = [(0, profile[0][1]), *profile, (300, profile[-1][1])]
    volume = sum(frustum(b - a, da, db) for (a, da), (b, db) in pairwise(ends))
    assert post(profile).member("post").solid.volume == pytest.approx(volume, rel=1e-8)


def test_its_own_length_and_its_greatest_diameter_can_be_reckoned_with():
    built = build(
        POST.format(profile="[[0, 30], [post.length / 2, wide], [post.length, 20]]")
        .replace("units: mm", "units: mm\nlet: {wide: 50}")
        .replace("members:", "members:\n  plate: {stock: billet, width: post.diameter, thickness: 10, length: 90, "
                             "place: {length: right, face: down, corner: [0, 0, 0]}}")
    )  # fmt: skip
    assert built.body("plate").size == pytest.approx((90, 50, 10))
    assert built.member("post").solid.volume == pytest.approx(
        frustum(150, 30, 50) + frustum(150, 50, 20), rel=1e-9
    )


# --- leaning, in joints -----------------------------------------------------------------------------------

STOOL = """title: Stool
units: mm
stock:
  billet: {{ask for: 60 x 60 ash, species: ash, thickness: 60, width: 60}}
  slab: {{ask for: ash, species: ash, thickness: 40, width: 360}}
lines:
  leg line:
    from: [110, 0, 430]
    leans:
      - {{by: {splay} deg, toward: right, going: down, seen from: front}}
      - {{by: {rake} deg, toward: front, going: down, seen from: right}}
members:
  seat: {{stock: slab, length: 360, place: {{length: right, face: up, corner: [-180, -180, 410]}}}}
  leg:
    stock: billet
    turned: {profile}
    place: {{from: {{on: leg line, meets: seat.top}}, to: {{on: leg line, meets: floor}}}}
    trim: {{upper end: seat.top, lower end: floor}}
    copies: {{around: {{count: 3, about: {{from: [0, 0, 0], going: up}}}}}}
joints:
  - {{{joint}: [leg, seat]}}
"""
LEG = [[0, 25], [38, 25], [38, 32], [200, 40], [300, 36], [420, 22]]


def stool(splay=8, rake=0, profile=LEG, joint="housing"):
    return STOOL.format(splay=splay, rake=rake, profile=profile, joint=joint)


def test_a_leg_with_a_turned_tenon_is_housed_by_its_tenon_and_what_stands_in_the_seat():
    built = build(stool())
    assert [str(f) for f in built.findings if f.level != "note"] == []
    seat, leg = built.member("seat"), built.member("leg 1")
    assert leg.quantity == 3
    bodies = kernel_bodies(built)
    whole = bodies["seat"]
    for number in (1, 2, 3):
        whole = less(whole, bodies[f"leg {number}"])
    assert seat.solid.volume == pytest.approx(kernel_volume(whole), rel=1e-7)
    housings = [f for f in seat.features if f.kind == "housing"]
    assert [len(f.cutters) for f in housings] == [2, 2, 2]


def test_a_leg_at_any_splay_and_rake_is_housed_by_what_stands_in_the_seat(tally):
    angles = st.integers(0, 250).map(lambda tenths: tenths / 10)
    places = st.integers(10, 70)

    @settings(max_examples=8, deadline=None)
    @given(angles, angles, places, places, st.integers(18, 40), st.integers(18, 40))
    def housed(splay, rake, first, second, thin, thick):
        profile = [[0, thin], [first, thin], [first, thick], [first + second, 40], [420, 22]]
        built = tally.build(stool(splay, rake, profile))
        if built is None:
            return
        bodies = kernel_bodies(built)
        seat = bodies["seat"]
        for number in (1, 2, 3):
            seat = less(seat, bodies[f"leg {number}"])
        assert_sound(built, tally, {"seat": seat, **{n: b for n, b in bodies.items() if n != "seat"}})

    housed()
    tally.assert_few_refused()


def test_the_order_of_joints_with_turned_members_does_not_matter():
    assert_order_free(stool().replace("  - {housing: [leg, seat]}\n", "".join(
        f"  - {{housing: [leg {n}, seat]}}\n" for n in (1, 2, 3))))  # fmt: skip


def test_a_rail_in_a_turned_leg_takes_no_more_than_it_fills():
    built = build(
        POST.format(profile=[[0, 30], [100, 56], [200, 40]])
        + """  rail: {stock: billet, width: 30, thickness: 12, length: 100,
         place: {length: right, face: front, corner: [-36, -22, 90]}}
joints:
  - {housing: [rail, post]}
"""
    )
    bodies = kernel_bodies(built)
    left = kernel_volume(less(bodies["post"], bodies["rail"]))
    assert built.member("post").solid.volume == pytest.approx(left, rel=1e-7)
    assert kernel_volume(common(bodies["post"], bodies["rail"])) > 1000


def test_a_leg_whose_thin_part_passes_a_rail_does_not_meet_it():
    text = (
        POST.format(profile=[[0, 56], [100, 56], [100, 20], [300, 20]])
        + """  rail: {stock: billet, width: 30, thickness: 12, length: 100,
         place: {length: right, face: front, corner: [-76, -42, 200]}}
joints:
  - {housing: [rail, post]}
"""
    )
    assert any("do not meet" in f.text for f in findings_of(text))


def test_the_cutting_list_leaves_wood_to_turn_off():
    (row,) = cutting_list(post(PROFILE).model, "mm")
    assert row.rough == pytest.approx((325, 60, 60))
    assert row.finished == pytest.approx((300, 56, 56))
