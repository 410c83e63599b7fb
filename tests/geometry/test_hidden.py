"""Hidden lines: against rays, against an exact kernel, and by what must hold of any drawing."""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Sequence

import brep_kernel
import numpy as np
import pytest
import ray_sampler
import scenes

from plangen.geometry.curves import Arc, EllipseArc, Line
from plangen.geometry.frames import WORLD, Frame
from plangen.geometry.hidden import draw_merged, draw_view, prepare, visible_only
from plangen.geometry.merge import merged
from plangen.geometry.solid import Chain, Conic, Solid, Straight, build_solid
from plangen.geometry.surfaces import Cylinder
from plangen.geometry.vectors import Vec, dot
from plangen.geometry.views import ABOVE, FRONT, RIGHT, Projection, Stroke

SAME_DRAWING = 1e-4
"""The share of a view's strokes (0.01 %) that may lie farther than 0.02 mm from the other drawing's."""


def drawing(members: Sequence[scenes.Member], projection: Projection) -> tuple[Stroke, ...]:
    return draw_merged(prepare(scenes.built(members)), projection)


def compared(members: Sequence[scenes.Member]) -> dict[str, brep_kernel.Comparison]:
    """Every view of our drawing beside the kernel's, whose solids come from blanks and cutters by booleans."""
    scene = prepare(scenes.built(members))
    kernel = brep_kernel.kernel_scene(
        [(brep_kernel.kernel_solid(blank, cutters), frame) for blank, cutters, frame in members]
    )
    return {
        name: brep_kernel.compare_strokes(
            merged(draw_view(scene, projection)), brep_kernel.kernel_drawing(kernel, projection)
        )
        for name, projection in scenes.VIEWS.items()
    }


# An exact kernel


@pytest.mark.parametrize("name", scenes.CRAFTED)
def test_joinery_is_drawn_as_the_exact_kernel_draws_it(name: str) -> None:
    worst = {view: found.worst for view, found in compared(scenes.CRAFTED[name]()).items()}
    assert {view: share for view, share in worst.items() if share > SAME_DRAWING} == {}


@pytest.mark.parametrize(("seed", "count"), [(1, 1), (2, 3), (3, 8), (4, 16)])
def test_boards_at_random_are_drawn_as_the_exact_kernel_draws_them(seed: int, count: int) -> None:
    worst = {view: found.worst for view, found in compared(scenes.clear_members(seed, count)).items()}
    assert {view: share for view, share in worst.items() if share > SAME_DRAWING} == {}


def test_the_comparison_notices_a_stroke_left_out_and_one_too_many() -> None:
    members = scenes.flush_frame()
    ours = drawing(members, FRONT)
    kernel = brep_kernel.kernel_view(
        [(brep_kernel.kernel_solid(blank, cutters), frame) for blank, cutters, frame in members], FRONT
    )
    longest = max(ours, key=lambda s: math.dist(s.curve.start, s.curve.end))
    size = math.dist(longest.curve.start, longest.curve.end)
    without = brep_kernel.compare_strokes([s for s in ours if s is not longest], kernel)
    extra = Stroke(Line((10.0, 10.1), (20.0, 10.1)), True, "edge", 0)
    # The kernel draws coinciding outlines as often as there are edges.
    assert without.visible_missing >= size - 0.1
    assert brep_kernel.compare_strokes([*ours, extra], kernel).visible_extra == pytest.approx(10.0, abs=1e-6)


def test_kernel_solids_have_the_volumes_of_ours() -> None:
    for make in scenes.CRAFTED.values():
        for blank, cutters, _ in make():
            ours = build_solid(blank, cutters)
            assert ours.volume == pytest.approx(
                brep_kernel.kernel_volume(brep_kernel.kernel_solid(blank, cutters)), rel=1e-6
            )


# Rays


@pytest.mark.parametrize("seed", range(3))
def test_no_point_of_boards_running_through_each_other_is_wrongly_shown(seed: int) -> None:
    solids = scenes.built(scenes.random_members(seed, 5))
    scene = prepare(solids)
    for projection in (FRONT, scenes.PICTORIAL):
        verdict = ray_sampler.judge_strokes(solids, projection, draw_view(scene, projection), 20)
        assert verdict.wrong == ()
        assert verdict.right > 10 * verdict.undecided


@pytest.mark.parametrize("name", scenes.CRAFTED)
def test_no_point_of_joinery_is_wrongly_shown(name: str) -> None:
    solids = scenes.built(scenes.CRAFTED[name]())
    scene = prepare(solids)
    for projection in scenes.VIEWS.values():
        verdict = ray_sampler.judge_strokes(solids, projection, draw_view(scene, projection), 20)
        assert verdict.wrong == ()
        assert verdict.right > 0


# What must hold of any drawing


def projected_length(solid: Solid, frame: Frame, projection: Projection) -> float:
    """Length on paper of all edges of a solid, added up edge by edge."""

    def flat(v: Vec) -> tuple[float, float]:
        world = frame.direction(v)
        return dot(world, projection.right), dot(world, projection.up)

    total = 0.0
    for edge in solid.edges:
        curve = edge.curve
        if isinstance(curve, Straight):
            points = [curve.start, curve.end]
        elif isinstance(curve, Chain):
            points = list(curve.points)
        else:
            assert isinstance(curve, Conic)
            steps = [curve.first + (curve.last - curve.first) * i / 4000 for i in range(4001)]
            points = [
                tuple(
                    o + m * math.cos(p) + n * math.sin(p)
                    for o, m, n in zip(curve.centre, curve.major, curve.minor, strict=True)
                )
                for p in steps
            ]
        paper = [flat(p) for p in points]
        total += sum(math.dist(a, b) for a, b in itertools.pairwise(paper))
    return total


def stroke_length(stroke: Stroke) -> float:
    points = brep_kernel.stroke_points(stroke, 1e-6)
    return sum(math.dist(a, b) for a, b in itertools.pairwise(points))


@pytest.mark.parametrize("view", scenes.VIEWS)
def test_seen_and_hidden_parts_of_all_edges_cover_them_once(view: str) -> None:
    """Contours, whose length no edge tells, are taken from each solid drawn alone."""
    members = [*scenes.random_members(11, 5), *scenes.round_parts(), *scenes.crossing_holes()]
    solids = scenes.built(members)
    strokes = draw_view(prepare(solids), scenes.VIEWS[view])
    alone = [draw_view(prepare([placed]), scenes.VIEWS[view]) for placed in solids]
    contours = [sum(stroke_length(s) for s in drawn if s.kind == "contour") for drawn in alone]
    for owner, (solid, frame) in enumerate(solids):
        drawn = sum(stroke_length(s) for s in strokes if s.owner == owner)
        whole = projected_length(solid, frame, scenes.VIEWS[view]) + contours[owner]
        assert drawn == pytest.approx(whole, rel=1e-6)


def same_drawing(one: Sequence[Stroke], two: Sequence[Stroke]) -> bool:
    """The same curves, seen and hidden, to 1e-4 mm."""
    for visible in (True, False):
        a, b = (
            brep_kernel.line_pieces(
                brep_kernel.stroke_points(s, 1e-5) for s in strokes if s.visible == visible
            )
            for strokes in (one, two)
        )
        if brep_kernel.far_lengths(a, b, 1e-4).sum() + brep_kernel.far_lengths(b, a, 1e-4).sum() > 1e-2:
            return False
    return True


@pytest.mark.parametrize("name", scenes.CRAFTED)
def test_turning_the_work_and_the_eye_together_changes_nothing(name: str) -> None:
    members = scenes.CRAFTED[name]()
    rng = random.Random(5)
    one, two, _ = scenes.random_axes(rng)
    turn = Frame((123.0, -45.0, 67.0), one, two, tuple(np.cross(one, two).tolist()))
    turned = [(blank, cutters, turn.after(frame)) for blank, cutters, frame in members]
    for projection in (FRONT, scenes.PICTORIAL):
        other = Projection(*(turn.direction(v) for v in (projection.right, projection.up, projection.toward)))
        shift = other.flat(turn.origin)
        moved = [
            (blank, cutters, Frame(tuple(o - other.right[i] * shift[0] - other.up[i] * shift[1]
                                         for i, o in enumerate(frame.origin)), *frame.axes))
            for blank, cutters, frame in turned
        ]  # fmt: skip
        assert same_drawing(drawing(members, projection), drawing(moved, other))


def test_a_mirrored_scene_is_drawn_mirrored() -> None:
    members = scenes.random_members(21, 3)

    def mirror(v: Vec) -> Vec:
        return (-v[0], v[1], v[2])

    mirrored = [
        (blank, cutters, Frame(*(mirror(v) for v in (frame.origin, *frame.axes))))
        for blank, cutters, frame in members
    ]

    def lines(strokes: Sequence[Stroke], side: float) -> list[Stroke]:
        return [
            Stroke(Line((side * a[0], a[1]), (side * b[0], b[1])), s.visible, s.kind, 0)
            for s in strokes
            for points in [brep_kernel.stroke_points(s, 1e-5)]
            for a, b in itertools.pairwise(points)
        ]

    assert same_drawing(lines(drawing(members, FRONT), 1.0), lines(drawing(mirrored, FRONT), -1.0))


@pytest.mark.parametrize("name", scenes.CRAFTED)
def test_the_order_of_members_does_not_change_the_drawing(name: str) -> None:
    members = scenes.CRAFTED[name]()
    for projection in (FRONT, scenes.PICTORIAL):
        forth, back = drawing(members, projection), drawing(members[::-1], projection)
        assert [rounded(s) for s in forth] == [rounded(s) for s in back]


def rounded(stroke: Stroke) -> tuple[object, ...]:
    curve = stroke.curve
    places = [round(v, 5) + 0.0 for p in (curve.start, curve.at(0.5), curve.end) for v in p]
    return (stroke.visible, stroke.kind, type(curve), places)


def test_a_shape_used_ten_times_is_drawn_as_ten_shapes_are() -> None:
    members = [
        (blank, cutters, frame)
        for (blank, cutters, _) in scenes.random_members(3, 1)
        for _, _, frame in scenes.random_members(4, 10)
    ]
    solid = build_solid(*members[0][:2])
    shared = prepare([(solid, frame) for _, _, frame in members])
    single = prepare(scenes.built(members))
    for projection in (FRONT, scenes.PICTORIAL):
        assert draw_view(shared, projection) == draw_view(single, projection)


# What a draftsman expects


def test_a_plain_block_shows_four_lines_and_hides_none() -> None:
    strokes = drawing([(scenes.block(100.0, 40.0, 20.0), [], WORLD)], FRONT)
    assert [(s.visible, s.kind, s.owner) for s in strokes] == [(True, "edge", 0)] * 4
    assert sum(stroke_length(s) for s in strokes) == pytest.approx(240.0)


def test_a_hole_is_a_circle_from_above_and_two_dashed_lines_from_the_front() -> None:
    members = [(scenes.block(100.0, 40.0, 20.0), [scenes.hole((30.0, 20.0, 0.0), scenes.Z, 6.0)], WORLD)]
    circle = [s for s in drawing(members, ABOVE) if isinstance(s.curve, Arc)]
    assert [(s.curve.centre, s.curve.radius, s.visible) for s in circle] == [((30.0, 20.0), 6.0, True)]
    assert circle[0].curve.is_full
    walls = sorted(s.curve.start[0] for s in drawing(members, FRONT) if s.kind == "contour")
    assert walls == pytest.approx([24.0, 36.0], abs=1e-12)
    assert all(not s.visible for s in drawing(members, FRONT) if s.kind == "contour")


def test_a_round_post_shows_its_width_by_two_contours() -> None:
    post = (Cylinder((0.0, 0.0, 0.0), scenes.Z, 25.0, "post"),)
    members = [(scenes.block(50.0, 50.0, 200.0, (-25.0, -25.0, 0.0)), [post], WORLD)]
    contours = [s for s in drawing(members, FRONT) if s.kind == "contour"]
    assert sorted(s.curve.start[0] for s in contours) == pytest.approx([-25.0, 25.0], abs=1e-12)
    assert all(s.visible for s in contours)


def test_the_start_of_a_round_over_is_smooth_but_its_end_is_an_outline() -> None:
    members = scenes.rounded_parts()[1:]
    above = drawing(members, ABOVE)
    assert [s.visible for s in above if s.kind == "smooth"] == [True]
    back = [
        s for s in above if s.visible and abs(s.curve.start[1] - 40.0) + abs(s.curve.end[1] - 40.0) < 1e-9
    ]
    assert sum(stroke_length(s) for s in back) == pytest.approx(200.0)


def test_boards_side_by_side_and_flush_show_their_joint_once() -> None:
    board = scenes.block(100.0, 20.0, 60.0)
    strokes = drawing([(board, [], WORLD), (board, [], scenes.moved(100.0, 0.0, 0.0))], FRONT)
    joint = [s for s in strokes if abs(s.curve.start[0] - 100.0) + abs(s.curve.end[0] - 100.0) < 1e-9]
    assert [(s.visible, s.owner) for s in joint] == [(True, -1)]
    assert all(s.visible for s in strokes)


def test_a_shelf_behind_an_upright_is_dashed_just_where_it_passes() -> None:
    upright, shelf = scenes.block(40.0, 20.0, 300.0), scenes.block(200.0, 20.0, 20.0)
    strokes = drawing([(upright, [], WORLD), (shelf, [], scenes.moved(-80.0, 20.0, 100.0))], FRONT)
    dashed = [s for s in strokes if not s.visible]
    assert sorted((s.curve.start, s.curve.end) for s in dashed) == [
        ((0.0, 100.0), (40.0, 100.0)),
        ((0.0, 120.0), (40.0, 120.0)),
    ]
    assert len(visible_only(strokes)) == len(strokes) - 2


def test_the_far_rim_of_a_slanting_hole_is_seen_where_the_near_rim_lets_it() -> None:
    """Both rims are the same ellipse, one moved by the slant: they cross on the line half way between."""
    slant = 0.2
    members = [
        (scenes.block(100.0, 60.0, 20.0), [scenes.hole((50.0, 30.0, 0.0), (slant, 0.0, 1.0), 8.0)], WORLD)
    ]
    visible = [s.curve for s in drawing(members, ABOVE) if s.visible and isinstance(s.curve, EllipseArc)]
    near = next(c for c in visible if c.centre[0] == pytest.approx(50.0 + 20 * slant))
    far = next(c for c in visible if c.centre[0] == pytest.approx(50.0))
    assert abs(near.last - near.first) == pytest.approx(2 * math.pi)
    assert far.start[0] == pytest.approx(50.0 + 10 * slant, abs=1e-9)
    assert far.end[0] == pytest.approx(50.0 + 10 * slant, abs=1e-9)


def test_a_scene_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="no solid to draw"):
        prepare([])


def test_an_edge_seen_end_on_is_not_drawn() -> None:
    strokes = draw_view(prepare(scenes.built([(scenes.block(100.0, 40.0, 20.0), [], WORLD)])), RIGHT)
    assert len(strokes) == 8
    assert min(stroke_length(s) for s in strokes) == pytest.approx(20.0)
