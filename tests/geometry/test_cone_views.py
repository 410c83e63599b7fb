"""Views of cones: turned legs, reamed sockets and countersinks against an exact kernel, by exact rays, in words."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

import brep_kernel
import exact_rays
import pytest
import scenes
import turned_scenes
from hypothesis import given, settings
from hypothesis import strategies as st
from turned_scenes import LEG, ORIGIN, lying, turned

from plangen.geometry.curves import Arc, EllipseArc, Line, Vec2
from plangen.geometry.frames import WORLD, Frame
from plangen.geometry.hidden import draw_merged, draw_view, prepare
from plangen.geometry.merge import merged
from plangen.geometry.surfaces import Cone
from plangen.geometry.vectors import Vec, neg
from plangen.geometry.views import ABOVE, BELOW, FRONT, RIGHT, Projection, Stroke

SAME_DRAWING = 1e-4
"""The share of a view's strokes (0.01 %) that may lie farther than 0.02 mm from the other drawing's."""
UPRIGHT = lying(ORIGIN, scenes.Z)
NEAR_THE_HALF_ANGLE = (-0.02, -1e-3, 1e-3, 0.02)


def drawing(members: Sequence[scenes.Member], projection: Projection) -> tuple[Stroke, ...]:
    return draw_merged(prepare(scenes.built(members)), projection)


def contours(members: Sequence[scenes.Member], projection: Projection) -> list[Stroke]:
    return [s for s in drawing(members, projection) if s.kind == "contour"]


def unlike(members: Sequence[scenes.Member], views: Mapping[str, Projection]) -> dict[str, float]:
    """The views that differ from the kernel's drawing of solids built by its own booleans."""
    scene = prepare(scenes.built(members))
    kernel = brep_kernel.kernel_scene(
        [(brep_kernel.kernel_solid(blank, cutters), frame) for blank, cutters, frame in members]
    )
    worst = {
        name: brep_kernel.compare_strokes(
            merged(draw_view(scene, projection)), brep_kernel.kernel_drawing(kernel, projection)
        ).worst
        for name, projection in views.items()
    }
    return {name: share for name, share in worst.items() if share > SAME_DRAWING}


def views_of(member: scenes.Member) -> dict[str, Projection]:
    """The five views of all tests, and some that look along the first cone's rulings, almost."""
    cones = [form for cutter in member[1] for form in cutter if isinstance(form, Cone)]
    near = turned_scenes.views_across(cones[0], member[2], NEAR_THE_HALF_ANGLE)
    return {**scenes.VIEWS, **near}


# An exact kernel


def test_turned_legs_before_each_other_are_drawn_as_the_exact_kernel_draws_them() -> None:
    assert unlike(turned_scenes.turned_legs(), scenes.VIEWS) == {}


def test_sockets_and_countersinks_are_drawn_as_the_exact_kernel_draws_them() -> None:
    assert unlike(turned_scenes.reamed_boards(), scenes.VIEWS) == {}


@pytest.mark.parametrize("seed", [36])
def test_a_stool_is_drawn_as_the_exact_kernel_draws_it(seed: int) -> None:
    """With 0.3 mm of play: where surfaces coincide the kernel shows rims that lie behind the leg."""
    views = {name: scenes.VIEWS[name] for name in ("front", "pictorial", "below")}
    assert unlike(turned_scenes.stool(seed, 0.3), views) == {}


@pytest.mark.parametrize("seed", [11])
def test_any_turned_profile_is_drawn_as_the_exact_kernel_draws_it(seed: int) -> None:
    member = turned_scenes.spun(seed)
    assert unlike([member], views_of(member)) == {}


@pytest.mark.parametrize("seed", [5, 7])
def test_any_conical_holes_are_drawn_as_the_exact_kernel_draws_them(seed: int) -> None:
    member = turned_scenes.pierced(seed)
    assert unlike([member], views_of(member)) == {}


# Exact rays


@pytest.mark.parametrize("seed", range(2))
def test_no_point_of_a_stool_is_wrongly_shown(seed: int) -> None:
    """The tenons fill their sockets; one view looks along a leg from above, one from below."""
    members = turned_scenes.stool(seed)
    solids = scenes.built(members)
    scene = prepare(solids)
    down = members[1][2].axes[0]
    for projection in (*scenes.VIEWS.values(), scenes.looking(down), scenes.looking(neg(down))):
        verdict = exact_rays.judge_strokes(members, solids, projection, draw_view(scene, projection), 8)
        assert verdict.wrong == ()
        assert verdict.right > 0.3 * verdict.undecided


@settings(max_examples=12, deadline=None)
@given(
    make=st.sampled_from([turned_scenes.spun, turned_scenes.pierced]),
    seed=st.integers(0, 10**6),
    eye=st.tuples(*[st.floats(-1.0, 1.0)] * 3).filter(lambda v: math.hypot(*v[:2]) > 0.1),
)
def test_no_point_of_a_cone_is_wrongly_shown_from_anywhere(
    make: Callable[[int], scenes.Member], seed: int, eye: Vec
) -> None:
    member = make(seed)
    solids = scenes.built([member])
    projection = scenes.looking(eye)
    verdict = exact_rays.judge_strokes(
        [member], solids, projection, draw_view(prepare(solids), projection), 12
    )
    assert verdict.wrong == ()


def test_the_rays_notice_a_stroke_shown_that_is_hidden() -> None:
    members = turned_scenes.turned_legs()
    solids = scenes.built(members)
    strokes = draw_view(prepare(solids), scenes.PICTORIAL)
    liars = [Stroke(s.curve, True, s.kind, s.owner) for s in strokes]
    assert len(exact_rays.judge_strokes(members, solids, scenes.PICTORIAL, liars, 12).wrong) > 10


# What a draftsman expects


def beyond_meeting(a: Line, b: Line) -> Vec2:
    """Where two straight lines, produced, meet."""
    (x, y), (p, q) = a.start, b.start
    ux, uy, vx, vy = a.end[0] - x, a.end[1] - y, b.end[0] - p, b.end[1] - q
    t = ((p - x) * vy - (q - y) * vx) / (ux * vy - uy * vx)
    return (x + ux * t, y + uy * t)


@pytest.mark.parametrize("toward", [(0.0, -1.0, 0.0), (1.0, -1.0, 0.6), (0.2, 1.0, -0.4)])
def test_the_contours_of_a_taper_are_two_rulings_that_would_meet_in_its_tip(toward: Vec) -> None:
    """Half the radius on half the way: the tip is as far again. A square view shows the radii themselves."""
    projection = scenes.looking(toward)
    found = contours([turned(((0.0, 20.0), (100.0, 10.0)), UPRIGHT)], projection)
    assert [s.visible for s in found] == [True, True]
    one, two = (s.curve for s in found)
    assert isinstance(one, Line)
    assert isinstance(two, Line)
    assert beyond_meeting(one, two) == pytest.approx(projection.flat((0.0, 0.0, 200.0)), abs=1e-9)
    if toward == (0.0, -1.0, 0.0):
        ends = sorted((round(x, 9), round(y, 9)) for line in (one, two) for x, y in (line.start, line.end))
        assert ends == [(-20.0, 0.0), (-10.0, 100.0), (10.0, 100.0), (20.0, 0.0)]


@settings(max_examples=12, deadline=None)
@given(
    r0=st.floats(5.0, 40.0), r1=st.floats(5.0, 40.0), length=st.floats(5.0, 200.0), lean=st.floats(0.01, 1.5)
)
def test_a_cone_has_two_contours_or_none_within_its_half_angle(
    r0: float, r1: float, length: float, lean: float
) -> None:
    """``lean`` is the angle between the sight and the axis; the half angle has tangent (r1 - r0) / length."""
    if abs(r1 - r0) < 1e-2 or abs(lean - math.atan(abs(r1 - r0) / length)) < 1e-4:
        return
    projection = scenes.looking((math.sin(lean), 0.0, math.cos(lean)))
    strokes = draw_view(prepare(scenes.built([turned(((0.0, r0), (length, r1)), UPRIGHT)])), projection)
    found = {s.curve.start for s in strokes if s.kind == "contour"}
    assert len(found) == (2 if lean > math.atan(abs(r1 - r0) / length) else 0)


def test_a_leg_seen_along_its_axis_is_circles_alone() -> None:
    """All its rims, the waist and the foot hidden; its rulings show nothing."""
    strokes = drawing([turned(LEG, UPRIGHT)], ABOVE)
    assert all(isinstance(s.curve, Arc) and s.curve.is_full for s in strokes)
    seen = sorted(round(s.curve.radius, 9) for s in strokes if s.visible and isinstance(s.curve, Arc))
    assert seen == [9.0, 11.0, 14.0, 17.0, 22.0]
    hidden = sorted(round(s.curve.radius, 9) for s in strokes if not s.visible and isinstance(s.curve, Arc))
    assert hidden == [12.0, 15.0, 19.0, 20.0]


@pytest.mark.parametrize("view", scenes.VIEWS)
def test_no_facet_shows_and_every_rim_is_one_edge(view: str) -> None:
    """A stroke a contour, and at most a seen and a hidden part a rim, or two of each where a bead cuts it up."""
    for member in turned_scenes.turned_legs():
        strokes = drawing([member], scenes.VIEWS[view])
        rims = [s for s in strokes if s.kind == "edge"]
        sides = [s for s in strokes if s.kind == "contour"]
        stretches = len(member[1])
        assert len(rims) <= 4 * (stretches + 2)
        assert len(sides) <= 4 * stretches
        if view in ("pictorial", "below"):
            assert all(isinstance(s.curve, Arc | EllipseArc) for s in rims)


def test_stretches_that_meet_at_an_angle_show_their_rim_and_those_that_run_on_do_not() -> None:
    def kinds(slope: float) -> set[str]:
        profile = ((0.0, 20.0), (100.0, 20.0), (200.0, 20.0 - 100.0 * slope))
        middle = [
            s
            for s in drawing([turned(profile, UPRIGHT)], FRONT)
            if max(abs(s.curve.at(t)[1] - 100.0) for t in (0.0, 0.5, 1.0)) < 1e-6
        ]
        return {s.kind for s in middle}

    assert kinds(1e-3) == {"edge"}
    assert kinds(5e-6) == {"smooth"}


def board(*cuts: tuple[object, ...]) -> scenes.Member:
    return (scenes.block(120.0, 60.0, 30.0), list(cuts), WORLD)


def test_a_reamed_socket_is_two_circles_from_above_and_two_leaning_dashes_from_the_front() -> None:
    socket = (turned_scenes.reamed((50.0, 30.0, 0.0), scenes.Z, 9.0, 0.1),)
    rims = [(s.curve.radius, s.visible) for s in drawing([board(socket)], ABOVE) if isinstance(s.curve, Arc)]
    assert rims == [(pytest.approx(9.0), True), (pytest.approx(12.0), True)]
    below = [(s.curve.radius, s.visible) for s in drawing([board(socket)], BELOW) if isinstance(s.curve, Arc)]
    assert below == [(pytest.approx(9.0), True), (pytest.approx(12.0), False)]
    walls = sorted(sorted((s.curve.start, s.curve.end)) for s in contours([board(socket)], FRONT))
    assert walls == [
        [pytest.approx((38.0, 30.0)), pytest.approx((41.0, 0.0))],
        [pytest.approx((59.0, 0.0)), pytest.approx((62.0, 30.0))],
    ]
    assert not any(s.visible for s in contours([board(socket)], FRONT))


def test_a_countersink_ends_in_its_tip_or_on_its_hole() -> None:
    sunk = (turned_scenes.reamed((60.0, 30.0, 30.0), scenes.Z, 10.0, 1.0),)
    tips = [max((s.curve.start, s.curve.end), key=lambda p: -p[1]) for s in contours([board(sunk)], FRONT)]
    assert tips == [pytest.approx((60.0, 20.0)), pytest.approx((60.0, 20.0))]
    bored = board(sunk, scenes.hole((60.0, 30.0, 0.0), scenes.Z, 4.0))
    circles = [(s.curve.radius, s.visible) for s in drawing([bored], ABOVE) if isinstance(s.curve, Arc)]
    assert circles == [(pytest.approx(4.0), True), (pytest.approx(10.0), True)]
    depths = sorted(round(p[1], 9) for s in contours([bored], FRONT) for p in (s.curve.start, s.curve.end))
    assert depths == [0.0, 0.0, 24.0, 24.0, 24.0, 24.0, 30.0, 30.0]


def test_what_lies_under_a_socket_shows_through_it_and_nowhere_else() -> None:
    """A batten's edge right under the middle of a hole 18 wide at the bottom: 18 mm of it are seen from above."""
    socket = (turned_scenes.reamed((60.0, 30.0, 0.0), scenes.Z, 9.0, 0.1),)
    batten = (scenes.block(300.0, 40.0, 5.0), [], scenes.moved(-80.0, 30.0, -20.0))
    edge = [
        s
        for s in drawing([board(socket), batten], ABOVE)
        if isinstance(s.curve, Line) and abs(s.curve.start[1] - 30.0) + abs(s.curve.end[1] - 30.0) < 1e-9
    ]
    seen = sorted(tuple(sorted((s.curve.start[0], s.curve.end[0]))) for s in edge if s.visible)
    assert seen == [pytest.approx(ends) for ends in [(-80.0, 0.0), (51.0, 69.0), (120.0, 220.0)]]


def test_a_tenon_that_fills_its_socket_shares_the_rim_of_the_mouth() -> None:
    """A peg flush in a board: what is seen of it from above is one circle, from the front a dashed taper."""
    socket = (turned_scenes.reamed((60.0, 30.0, 0.0), scenes.Z, 9.0, 0.1),)
    peg = turned(((0.0, 9.0), (30.0, 12.0)), lying((60.0, 30.0, 0.0), (60.0, 30.0, 30.0)))
    above = [s for s in drawing([board(socket), peg], ABOVE) if isinstance(s.curve, Arc)]
    assert [(s.curve.radius, s.visible, s.owner) for s in above] == [
        (pytest.approx(12.0), True, -1),
        (pytest.approx(9.0), False, -1),
    ]
    assert len(contours([board(socket), peg], FRONT)) == 2


def test_a_mirrored_leg_is_drawn_mirrored() -> None:
    def mirror(v: Vec) -> Vec:
        return (-v[0], v[1], v[2])

    def places(strokes: Sequence[Stroke], side: float) -> list[tuple[object, ...]]:
        rows = []
        for s in strokes:
            ends = sorted(
                (round(side * x, 5) + 0.0, round(y, 5) + 0.0) for x, y in (s.curve.start, s.curve.end)
            )
            rows.append((s.visible, s.kind, ends))
        return sorted(rows)

    members = turned_scenes.turned_legs()
    mirrored = [
        (blank, cutters, Frame(*(mirror(v) for v in (frame.origin, *frame.axes))))
        for blank, cutters, frame in members
    ]
    for projection in (FRONT, scenes.looking((0.0, -1.0, 0.7))):
        there = contours(members, projection)
        assert places(there, 1.0) == places(contours(mirrored, projection), -1.0)
        assert len(there) > 20


def test_a_round_member_hides_what_lies_behind_it_just_as_wide_as_it_is() -> None:
    """A batten behind a taper 40 wide below and 20 above, crossing it at half its height: 30 mm are hidden."""
    taper = turned(((0.0, 20.0), (100.0, 10.0)), UPRIGHT)
    batten = (scenes.block(200.0, 10.0, 10.0), [], scenes.moved(-100.0, 40.0, 50.0))
    dashed = [
        s.curve
        for s in drawing([taper, batten], FRONT)
        if not s.visible and abs(s.curve.start[1] - 50.0) < 1e-9
    ]
    assert [sorted((c.start[0], c.end[0])) for c in dashed] == [pytest.approx([-15.0, 15.0], abs=0.006)]
    assert len(contours([taper], RIGHT)) == 2
