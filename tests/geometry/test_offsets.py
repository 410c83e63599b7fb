"""The way of a cutter's middle and relieved corners, on random outlines; held against a polygon library's offset."""

from __future__ import annotations

import math
import random

import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from plangen.geometry.contour_faults import contour_faults, facets
from plangen.geometry.curve_meetings import Piece, arc_through_points, distance_to
from plangen.geometry.curves import Arc, Line, Vec2
from plangen.geometry.edge_moves import Bite, moved_edges, relief_arc, relieved
from plangen.geometry.offsets import offset_contour

SQUARE = [Line((0, 0), (60, 0)), Line((60, 0), (60, 40)), Line((60, 40), (0, 40)), Line((0, 40), (0, 0))]


def ring(pieces: list[Piece] | tuple[Piece, ...]) -> shapely.Polygon:
    return shapely.Polygon(facets(pieces)[:-1])


def star(seed: int) -> list[Piece]:
    """A closed outline of lines and arcs round 0, 0, with slivers, spikes and hollows."""
    rng = random.Random(seed)
    n = rng.randint(3, 14)
    turns = [2 * math.pi * (k + rng.uniform(-0.35, 0.35)) / n for k in range(n)]
    points = [(r * math.cos(a), r * math.sin(a)) for a in turns if (r := rng.uniform(15, 100))]
    pieces: list[Piece] = []
    for p, q in zip(points, [*points[1:], points[0]], strict=True):
        long = math.dist(p, q)
        rise = rng.uniform(-0.25, 0.25) * long
        middle = (
            (p[0] + q[0]) / 2 - (q[1] - p[1]) / long * rise,
            (p[1] + q[1]) / 2 + (q[0] - p[0]) / long * rise,
        )
        pieces.append(arc_through_points(p, middle, q) if rng.random() < 0.5 else Line(p, q))
    return pieces


def sharpest(pieces: list[Piece]) -> float:
    """The narrowest corner, degrees: one that folds back on itself crosses itself within the facets' tolerance."""
    turns = []
    for a, b in zip(pieces, [*pieces[1:], pieces[0]], strict=True):
        u, v = direction(a, 0.999, 1.0), direction(b, 0.0, 0.001)
        turns.append(
            180 - abs(math.degrees(math.atan2(u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1])))
        )
    return min(turns)


def direction(piece: Piece, first: float, last: float) -> Vec2:
    a, b = piece.at(first), piece.at(last)
    return (b[0] - a[0], b[1] - a[1])


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 100_000), st.floats(0.5, 12.0), st.sampled_from((1.0, -1.0)))
def test_an_offset_loses_nothing_and_never_crosses_itself(seed: int, distance: float, side: float) -> None:
    pieces = star(seed)
    area = ring(pieces)
    assume(area.is_valid and area.exterior.is_ccw and not contour_faults([pieces]) and sharpest(pieces) > 1.0)
    loops = offset_contour(pieces, side * distance)
    assert contour_faults(loops) == ()
    rings = [ring(loop) for loop in loops]
    assert all(r.is_valid for r in rings)
    outer = shapely.union_all([r for r in rings if r.exterior.is_ccw])
    made = outer.difference(shapely.union_all([r for r in rings if not r.exterior.is_ccw]))
    true = area.buffer(side * distance, quad_segs=200)
    # both by chords: a thousandth of a millimetre along both outlines
    assert made.symmetric_difference(true).area < 2e-3 * (true.length + made.length) + 0.02


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 100_000), st.floats(0.5, 8.0))
def test_every_place_of_the_way_is_the_cutters_radius_from_the_outline(seed: int, radius: float) -> None:
    pieces = star(seed)
    assume(ring(pieces).is_valid and not contour_faults([pieces]) and sharpest(pieces) > 1.0)
    for loop in offset_contour(pieces, radius):
        for piece in loop:
            for s in (0.0, 0.2, 0.5, 0.9):
                off = min(distance_to(p, piece.at(s)) for p in pieces)
                # a piece shorter than any cutter follows is drawn together with those beside it
                assert off == pytest.approx(radius, abs=2e-3)


def test_a_circle_grows_and_shrinks_as_a_circle_and_is_lost_where_the_cutter_is_too_wide() -> None:
    hole = Arc((5.0, 5.0), 4.0, 2 * math.pi, 0.0)
    assert offset_contour([hole], 1.0) == ((Arc((5.0, 5.0), 3.0, 2 * math.pi, 0.0),),)
    ((grown,),) = offset_contour([hole], -1.0)
    assert isinstance(grown, Arc)
    assert grown.radius == 5.0
    assert offset_contour([hole], 4.0) == ()


def test_a_neck_that_the_cutter_does_not_pass_parts_the_way_in_two() -> None:
    corners = [
        (0, 0),
        (40, 0),
        (40, 18),
        (60, 18),
        (60, 0),
        (100, 0),
        (100, 40),
        (60, 40),
        (60, 22),
        (40, 22),
        (40, 40),
        (0, 40),
    ]
    pieces = [Line(a, b) for a, b in zip(corners, [*corners[1:], corners[0]], strict=True)]
    assert len(offset_contour(pieces, -1.9)) == 1
    assert len(offset_contour(pieces, -2.1)) == 2


def test_a_moved_edge_takes_its_neighbours_with_it() -> None:
    moved, was = moved_edges(SQUARE, {1: 5.0})
    assert was == (0, 1, 2, 3)
    assert ring(moved).bounds == (0, 0, 65, 40)
    with pytest.raises(ValueError, match="shorter than it is moved"):
        moved_edges(SQUARE, {1: -70.0})


def test_an_edge_in_line_with_its_neighbour_steps_off_from_it() -> None:
    halves = [Line((0, 0), (30, 0)), Line((30, 0), (60, 0)), *SQUARE[1:]]
    moved, was = moved_edges(halves, {1: 2.0})
    assert was == (0, -1, 1, 2, 3, 4)
    assert ring(moved).area == pytest.approx(60 * 40 + 30 * 2)


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("bite", ["both", "before", "after"])
def test_a_relief_passes_through_its_corner_and_takes_wood_alone(bite: Bite, turned: bool) -> None:
    """Of an opening, wood left of the walk; and of a pocket, wood right of it."""
    hollow = [c.reversed() for c in reversed(SQUARE)] if turned else SQUARE
    before, after = hollow[0], hollow[1]
    arc = relief_arc(before, after, 3.0, bite)
    corner = shapely.Point(before.end)
    made, was = relieved(hollow, {0: arc})
    assert was == (0, -1, 1, 2, 3)
    grown = ring(made)
    assert grown.is_valid
    assert grown.boundary.distance(corner) < 2e-3
    assert grown.area > ring(SQUARE).area
    assert grown.contains(ring(SQUARE).buffer(-2e-3))
    # the cutter's circle lies in what is open
    assert grown.buffer(2e-3).contains(shapely.Point(arc.centre).buffer(2.99))
    if bite != "both":
        taken = grown.difference(ring(SQUARE)).area
        assert taken == pytest.approx(math.pi * 9 / 2, abs=0.02)


@settings(max_examples=40, deadline=None)
@given(
    st.floats(2.0, 6.0),
    st.floats(8.0, 40.0),
    st.floats(4.0, 30.0),
    st.integers(1, 6),
    st.sampled_from(("both", "before", "after")),
)
def test_relieved_rows_of_fingers_never_cross_themselves(
    diameter: float, width: float, depth: float, count: int, bite: Bite
) -> None:
    points: list[Vec2] = [(0.0, 0.0)]
    for i in range(count):
        x = width * (2 * i + 1)
        points += [(x, 0.0), (x, depth), (x + width, depth), (x + width, 0.0)]
    points += [(width * (2 * count + 1), 0.0), (width * (2 * count + 1), 100.0), (0.0, 100.0)]
    pieces = [Line(a, b) for a, b in zip(points, [*points[1:], points[0]], strict=True)]
    sides: dict[Bite, tuple[Bite, Bite]] = {
        "both": ("both", "both"), "before": ("before", "after"), "after": ("after", "before"),
    }  # fmt: skip
    reliefs = {}
    for i in range(count):
        for corner in (4 * i + 1, 4 * i + 2):
            try:
                side = sides[bite][corner % 2]
                reliefs[corner] = relief_arc(pieces[corner], pieces[corner + 1], diameter / 2, side)
            except ValueError:
                return
    try:
        made, _ = relieved(pieces, reliefs)
    except ValueError:
        assert width <= 2 * diameter or depth <= diameter
        return
    if width > 2 * diameter and depth > diameter:
        assert contour_faults([made]) == ()
        bites = sum(a.radius**2 * (math.pi / 2 - (1 if bite == "both" else 0)) for a in reliefs.values())
        assert ring(pieces).area - ring(made).area == pytest.approx(bites, rel=2e-3, abs=0.05)


def panel(seed: int) -> tuple[list[Piece], list[list[Piece]]]:
    """An outline of 3 to 14 lines and arcs with up to five openings in it, star shaped, round or slots."""
    rng = random.Random(seed)
    outer = [moved_piece(p, (0.0, 0.0), 3.0) for p in star(seed)]
    openings: list[list[Piece]] = []
    for k in range(rng.randint(1, 5)):
        at = (rng.uniform(-120, 120), rng.uniform(-120, 120))
        if rng.random() < 0.3:
            openings.append([Arc(at, rng.uniform(2, 25), 2 * math.pi, 0.0)])
        else:
            scale = rng.uniform(0.1, 0.4)
            inner = [moved_piece(p, at, scale) for p in star(seed * 7 + k)]
            openings.append([p.reversed() for p in reversed(inner)])
    return outer, openings


def moved_piece(piece: Piece, at: Vec2, scale: float) -> Piece:
    def to(p: Vec2) -> Vec2:
        return (p[0] * scale + at[0], p[1] * scale + at[1])

    if isinstance(piece, Line):
        return Line(to(piece.start), to(piece.end))
    return Arc(to(piece.centre), piece.radius * scale, piece.first, piece.last)


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 100_000), st.floats(1.0, 10.0))
def test_round_a_panel_with_openings_no_way_is_lost_that_the_cutter_fits_and_none_crosses(
    seed: int, radius: float
) -> None:
    """The way of the cutter's middle is the border of all that lies within its radius of the wood."""
    outer, openings = panel(seed)
    area = ring(outer)
    assume(area.is_valid and area.exterior.is_ccw and not contour_faults([outer]) and sharpest(outer) > 1.0)
    kept = []
    for opening in openings:
        hole = ring(opening)
        sound = hole.is_valid and not hole.exterior.is_ccw and not contour_faults([opening])
        if sound and (len(opening) == 1 or sharpest(opening) > 1.0) and area.buffer(-1).contains(hole):
            area, kept = area.difference(hole), [*kept, opening]
        assume(area.geom_type == "Polygon")
    assume(kept)
    # two openings that run together are one no longer drawn as two
    assume(len(area.interiors) == len(kept))
    loops = [*offset_contour(outer, radius), *(loop for o in kept for loop in offset_contour(o, radius))]
    for loop in loops:
        assert contour_faults([loop]) == ()
    rings = [ring(loop) for loop in loops]
    assert all(r.is_valid for r in rings)
    made = shapely.union_all([r for r in rings if r.exterior.is_ccw])
    made = made.difference(shapely.union_all([r for r in rings if not r.exterior.is_ccw]))
    true = area.buffer(radius, quad_segs=200)
    assert made.symmetric_difference(true).area < 2e-3 * (true.length + made.length) + 0.02
