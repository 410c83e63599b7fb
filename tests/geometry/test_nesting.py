"""Parts laid by outline, judged by a checker of its own: it samples outlines and knows nothing of no-fit polygons.

Published: the no-fit polygon of two convex polygons has the area A + B + 2 V(A, -B), V being their mixed area, so that
of two squares of sides a and b it is the square of side a + b (Minkowski; from memory).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, affinity

from plangen.geometry.nesting import Flat, Ground, Laid, nest, nest_faults
from plangen.geometry.no_fit import NoFits, convex_pieces, grown, quarter_turns

CORNER = Polygon([(0, 0), (300, 0), (300, 60), (60, 60), (60, 300), (0, 300)])
FRAME = Polygon([(0, 0), (400, 0), (400, 300), (0, 300)], [[(40, 40), (360, 40), (360, 260), (40, 260)]])
WEDGE = Polygon([(0, 0), (200, 0), (0, 90)])


def lie_apart(parts: list[Flat], grounds: list[Ground], laid: tuple[Laid, ...], gap: float) -> bool:
    """By points every 2 mm along outlines: on the sheet, the gap to every other part, none within another."""
    shapes = []
    for item in laid:
        angle = item.turn * 90
        moved = affinity.translate(
            affinity.rotate(parts[item.part].area, angle, origin=(0, 0)), item.x, item.y
        )
        shapes.append((item.ground, moved))
    for i, (k, shape) in enumerate(shapes):
        ground = grounds[k]
        points = shapely.get_coordinates(shapely.segmentize(shape, 2.0))
        edge = np.minimum(points, np.array((ground.length, ground.width)) - points).min()
        if edge < ground.margin - 2e-3:
            return False
        for j, (other, beside) in enumerate(shapes):
            if i != j and k == other and shapely.distance(shapely.points(points), beside).min() < gap - 2e-3:
                return False
    return True


def polygons() -> st.SearchStrategy[Polygon]:
    """Star shaped outlines of 3 to 9 corners, hollows and slivers among them."""
    radii = st.lists(st.floats(20, 120), min_size=3, max_size=9)
    return radii.map(
        lambda r: Polygon(
            [
                (d * math.cos(2 * math.pi * k / len(r)), d * math.sin(2 * math.pi * k / len(r)))
                for k, d in enumerate(r)
            ]
        )
    )


@settings(max_examples=40, deadline=None)
@given(
    polygons(), polygons(), st.integers(0, 3), st.integers(0, 3), st.floats(-250, 250), st.floats(-250, 250)
)
def test_a_part_meets_another_just_where_the_no_fit_polygon_holds_its_place(
    a: Polygon, b: Polygon, k: int, m: int, x: float, y: float
) -> None:
    barred = NoFits([convex_pieces(a), convex_pieces(b)]).of((0, k), (1, m))
    still = affinity.rotate(a, 90 * k, origin=(0, 0))
    moving = affinity.translate(affinity.rotate(b, 90 * m, origin=(0, 0)), x, y)
    away = barred.boundary.distance(shapely.Point(x, y))
    if away > 1e-6:
        assert barred.contains(shapely.Point(x, y)) == (still.intersection(moving).area > 0)
    elif away == 0:
        assert still.distance(moving) < 1e-6


@settings(max_examples=25, deadline=None)
@given(polygons())
def test_convex_pieces_cover_their_outline_and_do_not_overlap(a: Polygon) -> None:
    pieces = convex_pieces(a)
    assert math.fsum(p.area for p in pieces) == pytest.approx(a.area, rel=1e-6)
    assert all(p.convex_hull.area == pytest.approx(p.area, rel=1e-9) for p in pieces)
    assert shapely.union_all(pieces).symmetric_difference(a).area < 1e-6 * a.area


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(polygons(), st.integers(1, 2)), min_size=1, max_size=4), st.floats(0.5, 12))
def test_random_parts_lie_apart_on_their_sheets_in_turns_that_the_grain_lets(
    shapes: list[tuple[Polygon, int]], gap: float
) -> None:
    parts = [Flat(shape, count, (0, 2)) for shape, count in shapes]
    grounds = [Ground(900.0, 500.0, gap, 1.0, ((0.0, 0.0, 40.0, 70.0),)), Ground(900.0, 500.0, gap, 1.0)]
    found = nest(parts, grounds, gap, 60)
    assert found is not None
    assert sorted(i.part for i in found.laid) == sorted(
        i for i, p in enumerate(parts) for _ in range(p.count)
    )
    assert {i.turn for i in found.laid} <= {0, 2}
    assert lie_apart(parts, grounds, found.laid, gap)
    knot = shapely.box(0, 0, 40, 70)
    for item in found.laid:
        angle = item.turn * 90
        lying = affinity.translate(
            affinity.rotate(parts[item.part].area, angle, origin=(0, 0)), item.x, item.y
        )
        assert item.ground != 0 or lying.distance(knot) >= gap - 2e-3


def test_the_same_parts_always_lie_the_same() -> None:
    parts = [Flat(CORNER, 3, (0, 2)), Flat(WEDGE, 5, (0, 2))]
    assert nest(parts, [Ground(1200, 600, 6)], 6, 300) == nest(parts, [Ground(1200, 600, 6)], 6, 300)


def test_what_just_fits_beside_each_other_finds_its_place() -> None:
    """Two of 297 and the gap of 6 between them take the whole width of 600."""
    found = nest([Flat(shapely.box(0, 0, 500, 297), 2)], [Ground(500, 600)], 6)
    assert found is not None
    assert found.reach == pytest.approx(500, abs=1e-3)


def test_corners_nest_into_each_other_and_save_length_over_their_boxes() -> None:
    """Six corners of 300 x 300 take 3 x 306 as boxes on a sheet 612 wide; nested they take less than two thirds."""
    corners, boxes = (
        nest([Flat(shape, 6, (0, 1, 2, 3))], [Ground(2440, 612, 0)], 6, 800)
        for shape in (CORNER, shapely.box(0, 0, 300, 300))
    )
    assert corners is not None
    assert boxes is not None
    assert boxes.reach == pytest.approx(912, abs=1e-2)
    assert corners.reach < boxes.reach * 2 / 3


def test_openings_of_large_parts_are_used() -> None:
    found = nest([Flat(FRAME), Flat(shapely.box(0, 0, 300, 200))], [Ground(412, 312, 6)], 6)
    assert found is not None
    assert lie_apart([Flat(FRAME), Flat(shapely.box(0, 0, 300, 200))], [Ground(412, 312, 6)], found.laid, 6)


def test_an_opening_too_narrow_for_any_part_is_closed_and_a_wide_one_kept() -> None:
    assert len(grown(FRAME, 3, 100).interiors) == 1
    assert len(grown(FRAME, 3, 230).interiors) == 0


def test_parts_too_many_for_their_sheets_are_told_not_squeezed() -> None:
    assert nest([Flat(shapely.box(0, 0, 300, 300), 3)], [Ground(650, 320)], 6) is None


def test_a_turn_that_changes_nothing_is_not_tried() -> None:
    assert quarter_turns(shapely.box(0, 0, 3, 2), (0, 1, 2, 3)) == (0, 1)
    assert quarter_turns(shapely.box(0, 0, 2, 2), (0, 1, 2, 3)) == (0,)
    assert quarter_turns(WEDGE, (0, 2)) == (0, 2)


@pytest.mark.parametrize(
    ("x", "turn", "word"), [(312.0, 0, "near"), (2300.0, 0, "leaves"), (400.0, 1, "not as")], ids=str
)
def test_the_last_look_finds_parts_too_near_off_the_sheet_or_against_the_grain(
    x: float, turn: int, word: str
) -> None:
    parts, grounds = [Flat(CORNER, 2, (0, 2))], [Ground(2440, 1220, 6)]
    sound = (Laid(0, 0, 6, 6, 0), Laid(0, 0, 400, 6, 0))
    assert nest_faults(parts, grounds, sound, 6) == ()
    x = 311.9 if word == "near" else 706.0 if turn else x
    assert word in " ".join(nest_faults(parts, grounds, (sound[0], Laid(0, turn, x, 6, 0)), 6))
