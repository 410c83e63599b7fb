"""Turned, moulded, sawn, routed and bent shapes: rebuilt by a few lines with numpy from their set-ups alone."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from machining.round_rebuilding import DESIGNS, apart, features_of, made_of, piece, rebuilt

from plangen.geometry.curves import Arc, Bezier, Curve, Line
from plangen.geometry.surfaces import Cone, Cylinder, Extruded, Plane, Surface
from plangen.geometry.vectors import dot, unit
from plangen.joinery.model import Feature
from plangen.machining.round_ways import round_ways
from plangen.machining.setup import Setup, Way
from plangen.machining.work import Bench, Work
from plangen.tables.machines import SMALL_SHOP, Reach, Shop

BOARD = (300.0, 120.0, 40.0)
SQUARE = (400.0, 50.0, 50.0)
ROUND = ("bore", "ream", "turn", "mould", "saw to line", "rout to template", "bend")


def assert_makes(way: Way, work: Work, feature: Feature) -> None:
    made = [i for s in way.setups for i in s.makes]
    assert sorted(made) == sorted(s.id for s in feature.surfaces), "each surface is made once"
    wanted = {s.id: s.form for s in feature.surfaces}
    for setup in way.setups:
        if setup.by_hand is None and setup.operation in ROUND:
            for name, form in rebuilt(setup, work.planes()).items():
                assert apart(form, wanted[name], work.member.blank) < 1e-6, (setup, name)


def is_shape(feature: Feature) -> bool:
    return feature.hole is None


@pytest.mark.parametrize("path", DESIGNS, ids=lambda p: p.stem)
def test_every_curved_shape_of_every_design_is_what_its_numbers_say(path: Path) -> None:
    for member, feature in features_of(path):
        if not is_shape(feature):
            continue
        bench = Bench(member)
        earlier = [f.id for f in member.features[: member.features.index(feature)]]
        for work in (bench.work(), bench.work(earlier)):
            ways = round_ways(work, feature, SMALL_SHOP)
            assert ways or feature.kind == "round-over", (member.name, feature.id)
            for way in ways:
                assert_makes(way, work, feature)


@pytest.mark.parametrize("path", DESIGNS, ids=lambda p: p.stem)
def test_a_machine_is_found_for_every_curved_shape_once_its_faces_are_there(path: Path) -> None:
    for member, feature in features_of(path):
        planes = [f.id for f in member.features if all(isinstance(s.form, Plane) for s in f.surfaces)]
        if is_shape(feature) and feature.stage != "on the work":
            way = round_ways(Bench(member).work(planes), feature, SMALL_SHOP)[0]
            assert [s.by_hand for s in way.setups] == [None] * len(way.setups), (member.name, feature.id)


def one(size: tuple[float, float, float], feature: Feature, shop: Shop = SMALL_SHOP) -> tuple[Work, Way]:
    work = Bench(piece(size, feature)).work()
    return work, round_ways(work, feature, shop)[0]


# --- the lathe ---------------------------------------------------------------------------------------------


@settings(max_examples=30, deadline=None)
@given(
    st.floats(20.0, 180.0), st.floats(200.0, 380.0), st.floats(6.0, 24.0), st.floats(6.0, 24.0),
    st.sampled_from(("between", "to A", "to B")), st.booleans(),
)  # fmt: skip
def test_a_stretch_of_a_profile_is_turned_between_its_planes(
    start: float, end: float, r0: float, r1: float, where: str, backward: bool
) -> None:
    slope = (r1 - r0) / (end - start)
    axis = (-1.0, 0.0, 0.0) if backward else (1.0, 0.0, 0.0)
    form = Cone((start, 25.0, 25.0), axis, r0, -slope if backward else slope, "post")
    round_ = form if abs(slope) > 1e-6 else Cylinder(form.point, axis, r0, "post")
    low, high = Plane((1.0, 0.0, 0.0), start), Plane((-1.0, 0.0, 0.0), -end)
    planes = {"between": [low, high], "to A": [high], "to B": [low]}[where]
    feature = made_of("turned", [round_, *planes])
    work, way = one(SQUARE, feature)
    assert_makes(way, work, feature)
    (setup,) = way.setups
    assert (setup.machine, setup.profile[0][0]) == ("lathe", 0.0)


def test_a_stretch_tells_the_diameters_where_its_wood_ends() -> None:
    feature = made_of(
        "tenon", [Plane((1.0, 0.0, 0.0), 350.0), Cylinder((0.0, 25.0, 25.0), (1.0, 0.0, 0.0), 10.0, "post")]
    )
    _, way = one(SQUARE, feature)
    (setup,) = way.setups
    assert setup.makes == ("tenon.2", "tenon.1")
    assert setup.profile == (pytest.approx((0.0, 20.0)), pytest.approx((50.0, 20.0)))
    assert setup.path == (pytest.approx((350.0, 25.0, 25.0)), pytest.approx((400.0, 25.0, 25.0)))


def test_a_shoulder_that_leans_is_scribed_and_the_tenon_turned() -> None:
    leaning = Plane(unit((1.0, 0.2, 0.0)), 350.0)
    feature = made_of("tenon", [leaning, Cylinder((0.0, 25.0, 25.0), (1.0, 0.0, 0.0), 10.0, "post")])
    work, way = one(SQUARE, feature)
    assert [s.by_hand for s in way.setups] == [None, "scribed shoulder"]
    assert_makes(way, work, feature)


def test_a_dowel_bought_round_is_not_turned() -> None:
    size = (200.0, 30.0, 30.0)
    feature = made_of("round", [Cylinder((0.0, 15.0, 15.0), (1.0, 0.0, 0.0), 15.0, "post")])
    member = piece(size, feature)
    dowel = replace(member, stock=replace(member.stock, kind="round"))
    square = round_ways(Bench(member).work(), feature, SMALL_SHOP)[0]
    bought = round_ways(Bench(dowel).work(), feature, SMALL_SHOP)[0]
    assert (square.setups[0].passes, bought.setups[0].passes) == (1, 0)
    assert bought.cost == 0.0 < square.cost


def test_a_lathe_says_what_it_does_not_take() -> None:
    feature = made_of("round", [Cylinder((0.0, 25.0, 25.0), (1.0, 0.0, 0.0), 20.0, "post")])
    work = Bench(piece(SQUARE, feature)).work()
    short = Shop("short lathe", (Reach("lathe", width=300.0, height=350.0),))
    assert round_ways(work, feature, short)[0].beyond == ("the lathe takes 350 mm between its centres",)
    assert round_ways(work, feature, Shop("none", ()))[0].beyond == ("no lathe",)


# --- arrises -----------------------------------------------------------------------------------------------


def rounded(radius: float, *ends: Plane) -> Feature:
    """The arris of face and edge rounded over."""
    half = math.sqrt(0.5)
    axis = Cylinder((0.0, radius, 40.0 - radius), (1.0, 0.0, 0.0), radius, "post")
    chord = Plane((0.0, -half, half), half * (40.0 - radius))
    return made_of("round-over", [axis, chord, *ends])


@pytest.mark.parametrize("ends", [(), (50.0,), (50.0, 210.0)])
def test_an_arris_is_rounded_over_by_a_bit_that_the_shop_owns(ends: tuple[float, ...]) -> None:
    planes = [Plane((1.0 if i == 0 else -1.0, 0.0, 0.0), x if i == 0 else -x) for i, x in enumerate(ends)]
    feature = rounded(6.0, *planes)
    work, way = one(BOARD, feature)
    assert_makes(way, work, feature)
    (setup,) = way.setups
    assert (way.beyond, setup.machine, setup.residue) == ((), "router", 0.0)
    assert setup.stop is not None
    assert set(setup.stop.arris) == {"face", "edge"}
    assert {setup.surface_down, setup.surface_against} == {"face", "edge"}
    assert (setup.run is None) == (not ends)


def test_a_bit_that_the_shop_lacks_is_told_and_the_arris_planed_by_hand() -> None:
    feature = rounded(5.0)
    work = Bench(piece(BOARD, feature)).work()
    machine, hand = round_ways(work, feature, SMALL_SHOP)
    assert machine.beyond == ("no round-over bit of 5 mm",)
    assert [s.by_hand for s in hand.setups] == ["free curve"]
    assert machine.cost < hand.cost


def test_an_arris_waits_until_both_its_faces_are_cut() -> None:
    bevel = made_of("bevel", [Plane(unit((0.0, -1.0, 0.3)), dot(unit((0.0, -1.0, 0.3)), (0.0, 0.0, 20.0)))])
    one, two = unit((0.0, -1.0, 0.3)), (0.0, 0.0, 1.0)
    out = unit((0.0, one[1] + two[1], one[2] + two[2]))
    lift = dot(one, (0.0, 0.0, 20.0))
    z = 40.0 - 6.0
    y = (lift - 6.0 - one[2] * z) / one[1]
    round_ = Cylinder((0.0, y, z), (1.0, 0.0, 0.0), 6.0, "post")
    chord = Plane(out, dot(out, (0.0, y, 40.0)))
    feature = made_of("round-over", [round_, chord])
    bench = Bench(piece(BOARD, bevel, feature))
    assert round_ways(bench.work(), feature, SMALL_SHOP) == ()
    work = bench.work(["bevel"])
    way = round_ways(work, feature, SMALL_SHOP)[0]
    assert_makes(way, work, feature)
    assert [s.machine for s in way.setups] == ["router"]


# --- lines and templates -----------------------------------------------------------------------------------


def disc(side: str, radius: float) -> tuple[Curve, ...]:
    arcs = (Arc((0.0, 0.0), radius, 0.0, math.pi), Arc((0.0, 0.0), radius, math.pi, 2 * math.pi))
    return arcs if side == "post" else tuple(a.reversed() for a in reversed(arcs))


def leaf() -> tuple[Curve, ...]:
    return (
        Bezier(((-80.0, 0.0), (-40.0, -60.0), (30.0, -50.0), (80.0, 0.0))),
        Line((80.0, 0.0), (60.0, 30.0)),
        Arc((0.0, 30.0), 60.0, 0.0, math.pi / 2),
        Line((0.0, 90.0), (-80.0, 0.0)),
    )


@settings(max_examples=15, deadline=None)
@given(st.floats(0.0, 0.7), st.floats(-3.1, 3.1), st.booleans())
def test_an_outline_is_sawn_with_the_table_tilted_as_its_walls_lean(
    lean: float, turn: float, over: bool
) -> None:
    up = unit((math.sin(lean) * math.cos(turn), math.sin(lean) * math.sin(turn), math.cos(lean)))
    u = unit((up[2], 0.0, -up[0]))
    v = (up[1] * u[2] - up[2] * u[1], up[2] * u[0] - up[0] * u[2], up[0] * u[1] - up[1] * u[0])
    form = Extruded((150.0, 60.0, 20.0), u, v, leaf())
    if over:
        # the same walls told from below
        form = Extruded(
            form.origin, form.v, form.u, tuple(mirrored(c).reversed() for c in reversed(form.outline))
        )
    feature = made_of("outline", [form])
    work, way = one((300.0, 260.0, 40.0), feature)
    (setup,) = [s for s in way.setups if s.machine == "bandsaw"]
    assert_makes(way, work, feature)
    angle = 0.0 if setup.tilt is None else setup.tilt.angle
    assert angle == pytest.approx(lean, abs=1e-9)


def mirrored(curve: Curve) -> Curve:
    if isinstance(curve, Line):
        return Line(curve.start[::-1], curve.end[::-1])
    if isinstance(curve, Bezier):
        return Bezier(tuple(p[::-1] for p in curve.points))
    assert isinstance(curve, Arc)
    return Arc(curve.centre[::-1], curve.radius, math.pi / 2 - curve.first, math.pi / 2 - curve.last)


def test_a_crown_is_sawn_along_an_arc_that_spans_the_board() -> None:
    feature = made_of("curve", [Cylinder((150.0, -500.0, 0.0), (0.0, 0.0, 1.0), 620.0, "post")])
    work, way = one(BOARD, feature)
    assert_makes(way, work, feature)
    (setup,) = way.setups
    (arc,) = setup.outline
    assert setup.outline_frame is not None
    assert isinstance(arc, Arc)
    ends = [Extruded(*setup.outline_frame, setup.outline).lift(*p)[0] for p in (arc.start, arc.end)]
    assert min(ends) <= 1e-6
    assert max(ends) >= 300.0 - 1e-6
    assert (setup.machine, setup.tilt) == ("bandsaw", None)


def test_a_hollow_edge_is_sawn_and_a_round_opening_routed() -> None:
    hollow = made_of("curve", [Cylinder((150.0, 300.0, 0.0), (0.0, 0.0, 1.0), 220.0, "hole")])
    inside = made_of("opening", [Cylinder((150.0, 60.0, 0.0), (0.0, 0.0, 1.0), 50.0, "hole")])
    for feature, machine in ((hollow, "bandsaw"), (inside, "router")):
        work, way = one(BOARD, feature)
        assert_makes(way, work, feature)
        assert [s.machine for s in way.setups] == [machine]


def opening(corner: float) -> tuple[Curve, ...]:
    """Clockwise: the wood is outside. Square corners, or round ones."""
    x, y = 60.0, 30.0
    if corner == 0.0:
        points = [(-x, -y), (-x, y), (x, y), (x, -y)]
        return tuple(Line(a, b) for a, b in zip(points, points[1:] + points[:1], strict=True))
    # each corner turns to the right by a quarter
    places = ((-x, -y, -math.pi / 2), (-x, y, math.pi), (x, y, math.pi / 2), (x, -y, 0.0))
    arcs = [
        Arc(
            (px - math.copysign(corner, px), py - math.copysign(corner, py)),
            corner,
            first,
            first - math.pi / 2,
        )
        for px, py, first in places
    ]
    found: list[Curve] = []
    for a, b in zip(arcs, arcs[1:] + arcs[:1], strict=True):
        found += [a, Line(a.end, b.start)]
    return tuple(found)


@pytest.mark.parametrize("depth", [None, 12.0])
def test_a_template_is_followed_by_the_widest_bit_that_turns_its_corners(depth: float | None) -> None:
    form = Extruded((150.0, 60.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), opening(7.0))
    floor = [] if depth is None else [Plane((0.0, 0.0, 1.0), 40.0 - depth)]
    feature = made_of("opening", [form, *floor])
    work, way = one(BOARD, feature)
    assert_makes(way, work, feature)
    (setup,) = way.setups
    assert (setup.operation, setup.machine) == ("rout to template", "router")
    assert setup.tool is not None
    assert setup.tool.width == 12.7, "the shop's widest under 14 mm"
    assert (setup.residue, setup.depth) == (0.0, None if depth is None else pytest.approx((depth, depth)))


def test_a_square_inside_corner_is_left_round_by_so_much() -> None:
    form = Extruded((150.0, 60.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), opening(0.0))
    feature = made_of("opening", [form])
    _, way = one(BOARD, feature)
    (setup,) = way.setups
    assert setup.tool is not None
    assert setup.tool.width is not None
    assert setup.residue == pytest.approx(setup.tool.width / 2 * (math.sqrt(2) - 1))


def test_a_lap_with_a_curved_shoulder_is_routed_in_one_position() -> None:
    forms = [
        Plane((0.0, 0.0, 1.0), 25.0), Plane((-1.0, 0.0, 0.0), -100.0),
        Cylinder((520.0, 60.0, 0.0), (0.0, 0.0, 1.0), 320.0, "hole"),
    ]  # fmt: skip
    feature = made_of("half lap", [*forms[:1], Plane((1.0, 0.0, 0.0), 100.0), forms[2]])
    work, way = one(BOARD, feature)
    assert_makes(way, work, feature)
    curved, straight = way.setups
    assert curved.makes == ("half lap.3", "half lap.1")
    assert straight.makes == ("half lap.2",)
    position = [(s.surface_down, s.surface_against, s.tilt) for s in way.setups]
    assert position[0] == position[1]


def test_too_thick_a_board_is_told_and_sawn_by_hand() -> None:
    feature = made_of("curve", [Cylinder((150.0, -500.0, 0.0), (0.0, 0.0, 1.0), 620.0, "post")])
    work = Bench(piece(BOARD, feature)).work()
    low = Shop("low bandsaw", (Reach("bandsaw", height=30.0, tilt=45.0),))
    machine, hand = round_ways(work, feature, low)
    assert machine.beyond == ("the bandsaw takes 30 mm",)
    assert [s.by_hand for s in hand.setups] == ["free curve"]


BENT = [path for path in DESIGNS if "bent:" in path.read_text(encoding="utf-8")]


@pytest.mark.parametrize("path", BENT, ids=lambda p: p.stem)
def test_a_bent_bar_is_bent_in_the_vise_over_a_form_bend_after_bend(path: Path) -> None:
    bars = [(m, f) for m, f in features_of(path) if m.bent is not None and f.hole is None]
    assert bars
    for member, feature in bars:
        (way,) = round_ways(Bench(member).work(), feature, SMALL_SHOP)
        (setup,) = way.setups
        assert member.bent is not None
        assert (setup.operation, setup.machine, setup.jig) == ("bend", "vise", "bending form")
        assert setup.passes == len(member.bent.bends)


# --- a wrong number -----------------------------------------------------------------------------------------


def changed(setup: Setup, what: str) -> Setup:
    if what == "profile":
        (a, d), last = setup.profile
        return replace(setup, profile=((a, d + 0.5), last))
    if what == "path":
        (x, y, z), last = setup.path
        return replace(setup, path=((x, y + 0.5, z), last))
    if what == "radius":
        assert setup.tool is not None
        return replace(setup, tool=replace(setup.tool, radius=6.5))
    assert setup.outline_frame is not None
    (x, y, z), u, v = setup.outline_frame
    return replace(setup, outline_frame=((x + 0.5, y, z), u, v))


@pytest.mark.parametrize("what", ["profile", "path", "radius", "frame"])
def test_a_changed_number_makes_another_shape(what: str) -> None:
    turned = made_of(
        "turned", [Cylinder((0.0, 25.0, 25.0), (1.0, 0.0, 0.0), 15.0, "post"), Plane((1.0, 0.0, 0.0), 90.0)]
    )
    line = made_of(
        "outline", [Extruded((150.0, 60.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), disc("post", 50.0))]
    )
    size, feature = {"radius": (BOARD, rounded(6.0)), "frame": (BOARD, line)}.get(what, (SQUARE, turned))
    work, way = one(size, feature)
    wanted = {s.id: s.form for s in feature.surfaces}
    (setup,) = way.setups
    off = [
        apart(f, wanted[i], work.member.blank)
        for i, f in rebuilt(changed(setup, what), work.planes()).items()
    ]
    assert max(off) > 0.1
    assert_makes(way, work, feature)


def test_a_shoulder_hollowed_for_a_round_post_is_scribed_after_the_tenon_is_turned() -> None:
    tenon = Cylinder((0.0, 25.0, 25.0), (1.0, 0.0, 0.0), 10.0, "post")
    hollow = Cylinder((380.0, 25.0, 25.0), (0.0, 0.0, 1.0), 30.0, "hole")
    cut_off = Plane((1.0, 0.0, 0.0), 370.0)
    forms = {"t.1": tenon, "t.2": hollow, "t.3": cut_off}
    surfaces = tuple(Surface(i, f, "t") for i, f in forms.items())
    feature = replace(made_of("t", [tenon]), surfaces=surfaces, cutters=(("t.2", "t.1"), ("t.3", "t.1")))
    work, way = one(SQUARE, feature)
    assert_makes(way, work, feature)
    turned, scribed = way.setups
    assert (turned.makes, scribed.by_hand, scribed.makes) == (("t.1", "t.3"), "scribed shoulder", ("t.2",))


def test_two_cheeks_under_one_curved_shoulder_are_routed_along_one_template() -> None:
    shoulder = Cylinder((420.0, 60.0, 0.0), (0.0, 0.0, 1.0), 200.0, "hole")
    cheek, other = Plane((0.0, 0.0, 1.0), 28.0), Plane((0.0, 0.0, -1.0), -12.0)
    forms = {"t.1": shoulder, "t.2": cheek, "t.3": other}
    surfaces = tuple(Surface(i, f, "t") for i, f in forms.items())
    feature = replace(made_of("t", [shoulder]), surfaces=surfaces, cutters=(("t.1", "t.2"), ("t.1", "t.3")))
    work, way = one(BOARD, feature)
    assert_makes(way, work, feature)
    first, second = way.setups
    assert (first.operation, first.makes) == ("rout to template", ("t.1", "t.2"))
    assert (second.operation, second.makes, second.goes_on) == ("rout", ("t.3",), ("t.1",))
    assert second.stop is None
    assert {first.surface_down, second.surface_down} == {"back", "face"}
