"""Strokes laid together: each place of the paper holds one."""

from __future__ import annotations

import math
import random

import pytest
import scenes

from plangen.geometry.curves import Arc, Curve, EllipseArc, Line
from plangen.geometry.hidden import draw_merged, draw_view, prepare
from plangen.geometry.merge import merged
from plangen.geometry.views import Kind, Stroke


def seen(curve: Curve, owner: int = 0, kind: Kind = "edge") -> Stroke:
    return Stroke(curve, True, kind, owner)


def dashed(curve: Curve, owner: int = 0, kind: Kind = "edge") -> Stroke:
    return Stroke(curve, False, kind, owner)


def line(x0: float, x1: float, y: float = 0.0) -> Line:
    return Line((x0, y), (x1, y))


def test_lines_that_overlap_become_one() -> None:
    assert merged([seen(line(0, 60)), seen(line(100, 40))]) == (seen(line(0, 100)),)


def test_lines_end_to_end_become_one_and_lines_apart_stay() -> None:
    assert merged([seen(line(0, 40)), seen(line(40, 70))]) == (seen(line(0, 70)),)
    assert merged([seen(line(0, 40)), seen(line(41, 70))]) == (seen(line(0, 40)), seen(line(41, 70)))


def test_parallel_lines_a_hair_apart_stay_two() -> None:
    assert len(merged([seen(line(0, 40)), seen(line(0, 40, 1e-3))])) == 2


def test_a_seen_line_wins_over_a_dashed_one() -> None:
    assert merged([dashed(line(0, 100)), seen(line(30, 50))]) == (
        seen(line(30, 50)),
        dashed(line(0, 30)),
        dashed(line(50, 100)),
    )


def test_an_edge_wins_over_a_contour_and_a_contour_over_a_smooth_edge() -> None:
    strokes = [seen(line(0, 30), kind="smooth"), seen(line(0, 20), kind="contour"), seen(line(0, 10))]
    assert merged(strokes) == (
        seen(line(0, 10)),
        seen(line(10, 20), kind="contour"),
        seen(line(20, 30), kind="smooth"),
    )


def test_a_stroke_of_two_members_belongs_to_neither() -> None:
    assert [s.owner for s in merged([seen(line(0, 60), 3), seen(line(60, 100), 3)])] == [3]
    assert [s.owner for s in merged([seen(line(0, 60), 3), seen(line(60, 100), 4)])] == [-1]
    assert [s.owner for s in merged([seen(line(0, 60), 3), dashed(line(0, 60), 4)])] == [3]


def test_a_line_of_no_length_is_dropped() -> None:
    assert merged([seen(line(5, 5))]) == ()


def test_sloping_lines_keep_their_own_ends() -> None:
    a, b, c = (0.1, 0.7), (10.1, 3.7), (20.1, 6.7)
    assert merged([seen(Line(b, a)), seen(Line(b, c))]) == (seen(Line(a, c)),)


def test_vertical_lines_drawn_up_and_down_are_one() -> None:
    up, down = Line((3.0, 0.0), (3.0, 8.0)), Line((3.0, 8.0), (3.0, 0.0))
    assert len(merged([seen(up), seen(down), dashed(down)])) == 1


@pytest.mark.parametrize("start", [0.0, 1.0, 3.0, 6.0])
def test_arcs_of_one_circle_close_to_a_full_circle(start: float) -> None:
    parts = [(start, start + 2.5), (start + 2.5, start + 4.0), (start + 3.5, start + 2 * math.pi)]
    (stroke,) = merged([seen(Arc((1.0, 2.0), 5.0, a, b)) for a, b in parts])
    assert isinstance(stroke.curve, Arc)
    assert stroke.curve.is_full


def test_an_arc_across_the_start_of_the_circle_stays_one() -> None:
    (stroke,) = merged([seen(Arc((0.0, 0.0), 5.0, -1.0, 0.5)), seen(Arc((0.0, 0.0), 5.0, 1.0, 0.2))])
    assert isinstance(stroke.curve, Arc)
    assert stroke.curve.last - stroke.curve.first == pytest.approx(2.0)
    assert stroke.curve.start == pytest.approx((5 * math.cos(-1.0), 5 * math.sin(-1.0)))


def test_an_ellipse_is_known_by_whichever_half_axis_is_named_first() -> None:
    one = EllipseArc((0.0, 0.0), (4.0, 3.0), (-1.5, 2.0), 0.0, 1.0)
    two = EllipseArc((0.0, 0.0), (1.5, -2.0), (4.0, 3.0), math.pi / 2, math.pi / 2 + 1.0)
    assert two.start == pytest.approx(one.start)
    (stroke,) = merged([seen(one), dashed(two)])
    assert stroke.visible
    assert {tuple(round(v, 9) for v in p) for p in (stroke.curve.start, stroke.curve.end)} == {
        tuple(round(v, 9) for v in p) for p in (one.start, one.end)
    }


def test_a_seen_half_circle_leaves_the_dashed_other_half() -> None:
    strokes = merged([dashed(Arc((0.0, 0.0), 5.0, 0.0, 2 * math.pi)), seen(Arc((0.0, 0.0), 5.0, 1.0, 4.0))])
    assert [s.visible for s in strokes] == [True, False]
    assert strokes[1].curve.start == pytest.approx((5 * math.cos(4.0), 5 * math.sin(4.0)))
    assert strokes[1].curve.end == pytest.approx((5 * math.cos(1.0), 5 * math.sin(1.0)))


@pytest.mark.parametrize("name", scenes.CRAFTED)
def test_merging_again_and_in_any_order_changes_nothing(name: str) -> None:
    scene = prepare(scenes.built(scenes.CRAFTED[name]()))
    for projection in scenes.VIEWS.values():
        strokes = list(draw_view(scene, projection))
        once = merged(strokes)
        assert [key(s) for s in draw_merged(scene, projection)] == [key(s) for s in once]
        assert [key(s) for s in merged(once)] == [key(s) for s in once]
        random.Random(1).shuffle(strokes)
        assert [key(s) for s in merged(strokes)] == [key(s) for s in once]


def key(stroke: Stroke) -> tuple[object, ...]:
    curve = stroke.curve
    places = [round(v, 5) + 0.0 for p in (curve.start, curve.at(0.5), curve.end) for v in p]
    return (stroke.visible, stroke.kind, stroke.owner, places)


def test_no_two_strokes_of_a_flush_frame_lie_on_each_other() -> None:
    scene = prepare(scenes.built(scenes.flush_frame()))
    for projection in scenes.VIEWS.values():
        strokes = draw_merged(scene, projection)
        lines = [(s.curve.start, s.curve.end) for s in strokes]
        for i, (a, b) in enumerate(lines):
            for c, d in lines[i + 1 :]:
                assert overlap(a, b, c, d) < 1e-6


def overlap(
    a: tuple[float, float], b: tuple[float, float], c: tuple[float, float], d: tuple[float, float]
) -> float:
    """Length two segments have in common."""
    size = math.dist(a, b)
    way = ((b[0] - a[0]) / size, (b[1] - a[1]) / size)
    off = [abs(way[0] * (p[1] - a[1]) - way[1] * (p[0] - a[0])) for p in (c, d)]
    if max(off) > 1e-6:
        return 0.0
    at = sorted(way[0] * (p[0] - a[0]) + way[1] * (p[1] - a[1]) for p in (c, d))
    return max(0.0, min(size, at[1]) - max(0.0, at[0]))
