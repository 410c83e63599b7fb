"""Laying out by hand: marks on a rule, lines on squared faces, sight lines, depths at the sides."""

from __future__ import annotations

import math
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from machining.round_rebuilding import DESIGNS, made_of, piece
from worked_out import piece_of

from plangen.geometry.surfaces import Cylinder, Plane
from plangen.geometry.vectors import Vec, along, dot, neg, unit
from plangen.joinery.model import Feature
from plangen.machining.hand_layout import layout_by_hand
from plangen.machining.layout_records import GaugeLine, HandLayout
from plangen.machining.round_ways import round_ways
from plangen.machining.ruler import LONGEST, MARKS, SHORTEST, rise_and_run
from plangen.machining.setup import Setup
from plangen.machining.ways import ways_to_make
from plangen.machining.work import Bench, Work
from plangen.tables.machines import SMALL_SHOP
from plangen.units import MM_PER_INCH, LengthUnit

BOARD = (300.0, 120.0, 40.0)


# --- marks on a rule ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("degrees", "rise", "run"),
    # pairs that a maker's page gives as good to about 0.005 degrees, in sixteenths
    [(12, 27, 127), (15, 26, 97), (10, 43, 244), (25, 69, 148), (20, 75, 206)],
)
def test_no_pair_of_marks_in_use_is_truer_than_the_one_found(degrees: int, rise: int, run: int) -> None:
    found = rise_and_run(math.radians(degrees), "in")
    in_use = abs(math.degrees(math.atan2(rise, run)) - degrees)
    assert abs(math.degrees(found.error)) < in_use < 0.006


@settings(max_examples=40, deadline=None)
@given(st.floats(0.0, math.pi / 2), st.sampled_from(("in", "mm")))
def test_of_all_pairs_of_marks_on_the_square_none_errs_less(angle: float, units: LengthUnit) -> None:
    found = rise_and_run(angle, units)
    step, longest = MARKS[units], LONGEST[units]
    assert found.rise % step == 0
    assert found.run % step == 0
    assert SHORTEST[units] <= max(found.rise, found.run) <= longest
    assert found.angle - angle == pytest.approx(found.error, abs=1e-15)
    marks = int(longest / step)
    # along the nearest ray every other pair is farther off: the two marks on either side of it, for each longer one
    for count in range(int(SHORTEST[units] / step), marks + 1):
        for slope, flip in ((math.tan(angle), False), (1.0 / max(math.tan(angle), 1e-12), True)):
            for short in (math.floor(count * slope), math.floor(count * slope) + 1):
                if short <= count:
                    pair = (count, short) if flip else (short, count)
                    assert abs(math.atan2(*pair) - angle) > abs(found.error) - 1e-11


def test_of_pairs_that_err_alike_the_shorter_is_taken() -> None:
    half = rise_and_run(math.radians(45), "in")
    assert (half.rise, half.run) == (6 * MM_PER_INCH, 6 * MM_PER_INCH)
    level = rise_and_run(0.0, "mm")
    assert (level.rise, level.run) == (0, 150)


def test_a_rule_with_half_millimetres_errs_no_more() -> None:
    for degrees in (3, 7.5, 11.86, 33.3, 52):
        whole = rise_and_run(math.radians(degrees), "mm")
        half = rise_and_run(math.radians(degrees), "mm", step=Fraction(1, 2))
        assert abs(half.error) <= abs(whole.error) + 1e-12


def test_an_angle_that_no_marks_show_is_refused() -> None:
    with pytest.raises(ValueError, match="0 to 90"):
        rise_and_run(-0.1, "in")
    with pytest.raises(ValueError, match="no mark"):
        rise_and_run(0.1, "mm", most_run=Fraction(1, 2))


# --- lines on squared faces ----------------------------------------------------------------------------------


def crosscut(normal: Vec, point: tuple[float, float, float]) -> tuple[Work, HandLayout]:
    """The end of a board cut off along a plane; the miter and bevel of its set-up are of no account here."""
    plane = Plane(unit(normal), dot(unit(normal), point))
    feature = made_of("end", [plane])
    work = Bench(piece(BOARD, feature)).work()
    setup = Setup("A", "end", "square", "crosscut", "mitre saw", ("end.1",), feature.cutters)
    return work, layout_by_hand(setup, work, "in")


def line_on(layout: HandLayout, surface: str) -> GaugeLine:
    return next(line for line in layout.lines if line.surface == surface)


# Building Trades Pocketbook, about 1900, hopper bevels (read): its drawing steps for a square hopper whose sides stand
# at this pitch from level give, from square, the face bevel, the mitre bevel and the butt bevel of the squared edge.
HOPPERS = [
    (85, 4.9811, 44.8908, 0.4369), (80, 9.8511, 44.5615, 1.7538), (75, 14.5108, 44.0070, 3.9671),
    (70, 18.8817, 43.2192, 7.0960), (65, 22.9098, 42.1863, 11.1484), (60, 26.5651, 40.8934, 16.1021),
    (55, 29.8376, 39.3227, 21.8815), (50, 32.7324, 37.4537, 28.3408), (45, 35.2644, 35.2644, 35.2644),
    (40, 37.4537, 32.7324, 42.3941),
]  # fmt: skip


@pytest.mark.parametrize(("pitch", "face", "mitre", "butt"), HOPPERS)
def test_the_lines_of_a_hopper_are_the_pocketbooks_bevels(
    pitch: float, face: float, mitre: float, butt: float
) -> None:
    c, s = math.cos(math.radians(pitch)), math.sin(math.radians(pitch))
    # in a side: l along its level edge, w up its slope, t out of its face. The mitre is a plumb plane through the
    # corner, 45 degrees in plan; the butt is the neighbour's own face
    planes = {"mitre": unit((1.0, c, -s)), "butt": unit((s, c * s, c * c))}
    for kind, edge in (("mitre", mitre), ("butt", butt)):
        _, layout = crosscut(planes[kind], (220.0, 60.0, 20.0))
        assert math.degrees(line_on(layout, "face").from_square) == pytest.approx(face, abs=6e-5)
        assert math.degrees(line_on(layout, "edge").from_square) == pytest.approx(edge, abs=6e-5)


# Framing square tables, rise in 12 of run: the side cut of a jack on its top edge as a pair on 12. The first was read
# (a cyclopedia of construction, roof framing); the others from memory of the tables stamped on squares, to 1/16.
JACKS = [
    (6, 10.7331, 5e-5),
    (4, 11.375, 0.0626),
    (5, 11.0625, 0.0626),
    (7, 10.375, 0.0626),
    (8, 10.0, 0.0626),
]


@pytest.mark.parametrize(("rise", "printed", "within"), JACKS)
def test_the_side_cut_of_a_jack_rafter_is_the_squares_pair(
    rise: float, printed: float, within: float
) -> None:
    slope = math.atan2(rise, 12.0)
    # l up the rafter, w square to its top, t its side, level: a plumb plane at 45 degrees in plan
    _, layout = crosscut((math.cos(slope), -math.sin(slope), -1.0), (150.0, 60.0, 20.0))
    top = line_on(layout, "back edge")
    assert 12.0 * math.tan(top.angle) == pytest.approx(printed, abs=within)
    # on its side the same cut is the plumb cut: the pair is the roof's own rise in 12
    assert 12.0 * math.tan(line_on(layout, "face").from_square) == pytest.approx(rise)


@settings(max_examples=30, deadline=None)
@given(st.floats(-0.6, 0.6), st.floats(-0.6, 0.6), st.floats(100.0, 200.0))
def test_lines_run_over_their_face_in_the_cut_and_start_on_their_arris(a: float, b: float, at: float) -> None:
    normal = unit((1.0, math.tan(a), math.tan(b)))
    work, layout = crosscut(normal, (at, 60.0, 20.0))
    planes, cut = work.planes(), Plane(normal, dot(normal, (at, 60.0, 20.0)))
    assert [line.surface for line in layout.lines] == ["face", "edge", "back", "back edge"]
    for line in layout.lines:
        for p in (line.at, along(line.at, line.way, 10.0)):
            assert abs(planes[line.surface].distance(p)) < 1e-9
            assert abs(cut.distance(p)) < 1e-9
        assert abs(planes[line.arris[1]].distance(line.at)) < 1e-9
        assert planes[line.arris[1]].distance(along(line.at, line.way, 1.0)) < 0.0, (
            "from the arris over the face"
        )
        assert abs(line.marks.error) < math.radians(0.16), "a sixteenth in two feet"
        # the gauge, set to the angle and held to the lean, draws the line
        if line.leans != (0.0, 0.0, 0.0):
            assert dot(line.way, line.leans) == pytest.approx(math.cos(line.angle))
    # on the two faces of a board the lines are alike, on the edges too
    by = {line.surface: line.angle for line in layout.lines}
    assert by["face"] == pytest.approx(by["back"])
    assert by["edge"] == pytest.approx(by["back edge"])


# --- holes ---------------------------------------------------------------------------------------------------


def hole(axis: Vec, entry: tuple[float, float, float] = (150.0, 60.0, 40.0)) -> tuple[Feature, Work]:
    feature = made_of("socket", [Cylinder(entry, axis, 5.0, "hole")])
    return feature, Bench(piece(BOARD, feature)).work()


@pytest.mark.parametrize(
    ("rake", "splay", "sight", "resultant"),
    # vectors, by chair-making practice's formulas; the third is a published staked sawbench (read, stated to a degree)
    [
        (10, 10, 45.0, 14.0019),
        (14, 8, 29.409, 15.9717),
        (6.699, 13.541, 64.0, 15.0),
        (22, 10, 23.5776, 23.7892),
    ],
)
def test_a_leg_is_sighted_from_the_arris_and_aimed_at_a_mark(
    rake: float, splay: float, sight: float, resultant: float
) -> None:
    axis = unit((math.tan(math.radians(rake)), math.tan(math.radians(splay)), -1.0))
    feature, work = hole(axis)
    (setup,) = round_ways(work, feature, SMALL_SHOP)[0].setups
    told = layout_by_hand(setup, work, "mm").sight
    assert told is not None
    assert told.arris == ("face", "edge")
    assert math.degrees(told.sight_line) == pytest.approx(sight, abs=1e-2)
    assert math.degrees(told.resultant) == pytest.approx(resultant, abs=1e-2)
    assert told.sight_marks.angle == pytest.approx(told.sight_line, abs=1e-4)
    assert told.resultant_marks.angle == pytest.approx(told.resultant, abs=1e-4)
    # the mark to aim at is on an outer face, as much over as tan sight line says
    assert told.aim is not None
    over, up = told.aim[0] - 150.0, told.aim[1] - 60.0
    assert (over, up) == (
        pytest.approx(up / math.tan(told.sight_line)),
        pytest.approx(60.0),
    ) or over == pytest.approx(150.0)
    assert up / over == pytest.approx(math.tan(math.radians(splay)) / math.tan(math.radians(rake)))
    # the middle where the drill comes out: thickness times the tangent of the resultant, along the sight line
    assert told.exit is not None
    out = math.hypot(told.exit[0] - 150.0, told.exit[1] - 60.0)
    assert out == pytest.approx(40.0 * math.tan(told.resultant))


def test_a_square_hole_needs_no_sight_line() -> None:
    feature, work = hole((0.0, 0.0, -1.0))
    (setup,) = round_ways(work, feature, SMALL_SHOP)[0].setups
    assert layout_by_hand(setup, work, "mm") == HandLayout()


@settings(max_examples=20, deadline=None)
@given(st.floats(-3.1, 3.1), st.floats(-0.5, 0.5))
def test_a_hole_in_a_round_leg_is_told_by_its_turn_and_its_lean(turn: float, lean: float) -> None:
    size = (400.0, 40.0, 40.0)
    round_ = made_of("round", [Cylinder((0.0, 20.0, 20.0), (1.0, 0.0, 0.0), 20.0, "post")])
    out = (0.0, math.cos(turn), math.sin(turn))
    axis = (math.sin(lean), -math.cos(lean) * out[1], -math.cos(lean) * out[2])
    middle = (200.0, 20.0, 20.0)
    feature = made_of("socket", [Cylinder(middle, axis, 6.0, "hole"), Plane(neg(axis), -dot(axis, middle))])
    work = Bench(piece(size, round_, feature)).work(["round"])
    (setup,) = round_ways(work, feature, SMALL_SHOP)[0].setups
    assert setup.jig == "cradle"
    assert setup.touches is not None
    entry, deep = setup.touches
    assert math.hypot(entry[1] - 20.0, entry[2] - 20.0) == pytest.approx(20.0)
    assert deep == pytest.approx(20.0 / math.cos(lean))
    told = layout_by_hand(setup, work, "mm").roll
    assert told is not None
    # turned back by the roll, the hole's place looks the way of the face it is told from
    normal = work.member.blank.planes()[told.from_surface].normal
    c, s = math.cos(told.roll), math.sin(told.roll)
    assert (normal[1] * c - normal[2] * s, normal[1] * s + normal[2] * c) == pytest.approx(out[1:])
    assert told.lean == pytest.approx(lean)


# --- depths --------------------------------------------------------------------------------------------------


def trench(slope: float) -> tuple[Work, HandLayout]:
    """A trench an inch and a half wide across a leg, its floor sloping across it by so many degrees."""
    up = unit((0.0, math.tan(math.radians(slope)), 1.0))
    middle = (150.0, 19.05, 30.0)
    forms = [Plane((1.0, 0.0, 0.0), 100.0), Plane(up, dot(up, middle)), Plane((-1.0, 0.0, 0.0), -138.1)]
    feature = made_of("notch", forms)
    work = Bench(piece((300.0, 38.1, 40.0), feature)).work()
    makes = ("notch.1", "notch.2", "notch.3")
    setup = Setup(
        "A", "notch", "square", "trench", "trenching head", makes, feature.cutters,
        depth=(8.0, 12.0), depth_from="face",
    )  # fmt: skip
    return work, layout_by_hand(setup, work, "in")


def test_a_sloping_trench_is_an_eighth_deeper_at_one_side() -> None:
    # a leg's notch whose floor slopes 4.89 degrees across 1 1/2 in is 0.128 in deeper at one side (a maker's figure)
    _, layout = trench(4.89)
    depths = {(d.surface, d.wall): d.depth for d in layout.depths}
    assert set(depths) == {(s, w) for s in ("edge", "back edge") for w in ("notch.1", "notch.3")}
    assert (depths["back edge", "notch.1"] - depths["edge", "notch.1"]) / 25.4 == pytest.approx(
        0.128, abs=5e-4
    )
    assert depths["edge", "notch.1"] == pytest.approx(depths["edge", "notch.3"])


def test_a_level_trench_is_as_deep_at_both_sides_and_its_walls_are_square() -> None:
    work, layout = trench(0.0)
    assert {round(d.depth, 6) for d in layout.depths} == {10.0}
    assert {(line.cut, line.surface) for line in layout.lines} >= {("notch.1", "face"), ("notch.3", "face")}
    assert all(line.angle == pytest.approx(math.pi / 2) for line in layout.lines)
    for d in layout.depths:
        assert abs(work.planes()["face"].distance(d.at)) < 1e-9
        assert abs(work.planes()[d.surface].distance(d.at)) < 1e-9


@pytest.mark.parametrize("path", DESIGNS[::3], ids=lambda p: p.stem)
def test_every_cut_of_a_design_is_laid_out_by_hand_in_its_own_planes(path: Path) -> None:
    for member in piece_of(path).members:
        forms = {s.id: s.form for f in member.features for s in f.surfaces}
        bench = Bench(member)
        for feature in member.features:
            work = bench.work()
            for setup in (s for w in ways_to_make(work, feature, SMALL_SHOP)[:1] for s in w.setups):
                layout = layout_by_hand(setup, work, "mm")
                for line in layout.lines:
                    cut, on = forms[line.cut], work.planes()[line.surface]
                    assert abs(cut.distance(along(line.at, line.way, 25.0))) < 1e-6
                    assert abs(on.distance(along(line.at, line.way, 25.0))) < 1e-6
                    assert 0.0 <= line.angle <= math.pi / 2
                    shown = line.angle if line.marks_from_arris else line.from_square
                    assert line.marks.angle == pytest.approx(shown, abs=math.radians(0.16))
                for side in layout.depths:
                    assert setup.depth_from is not None
                    top = work.planes()[setup.depth_from]
                    assert abs(top.distance(side.at)) < 1e-6
                    bottom = along(side.at, top.normal, -side.depth)
                    assert abs(work.planes()[side.surface].distance(bottom)) < 1e-6
                    assert min(abs(forms[i].distance(bottom)) for i in (*setup.makes, *setup.goes_on)) < 1e-6
