"""What a template holds of each kind of cut, on one panel; and what its lint refuses."""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Sequence
from dataclasses import replace

import pytest
import shapely
from dxf_reading import area

from plangen.export.template_layers import layer_name, template_name
from plangen.export.templates import followed, template_dxf, template_files
from plangen.findings import Place
from plangen.geometry.curves import Arc, Bezier, Curve, Line, Vec2
from plangen.geometry.frames import WORLD
from plangen.geometry.solid import build_solid
from plangen.geometry.surfaces import Box, Cone, Cylinder, Extruded, Form, Plane, Surface
from plangen.joinery.model import Feature, FeatureKind, Hole, HolePurpose, Instance, Member, Model
from plangen.machining.cut_contours import arcs_only
from plangen.machining.label import place_label
from plangen.machining.template import Contour, Template, label_of, make_template
from plangen.tables.stock import resolve_stock

T = 18.0
HERE = Place("panel.yaml", 3, 5)


def panel(
    *features: tuple[FeatureKind, Sequence[Sequence[Form]], Hole | None], name: str = "panel"
) -> Member:
    box = Box((0.0, 0.0, 0.0), (400.0, 200.0, T))
    made = []
    for n, (kind, cutters, hole) in enumerate(features):
        surfaces = tuple(
            Surface(f"{kind} {n}.{i}", f, f"{kind} {n}") for i, f in enumerate(f for c in cutters for f in c)
        )
        ids = iter(s.id for s in surfaces)
        named = tuple(tuple(next(ids) for _ in c) for c in cutters)
        made.append(Feature(f"{kind} {n}", kind, "square", "worked", None, None, HERE, surfaces, named, hole))
    solid = build_solid(box, [c for _, cutters, _ in features for c in cutters])
    return Member(
        "A", name, "work", resolve_stock("18 mm birch plywood", "mm"), box, box.size,
        tuple(Surface(i, p) for i, p in box.planes().items()), tuple(made), solid, None,
        (Instance("panel", None, WORLD),), None, HERE,
    )  # fmt: skip


def plane(n: tuple[float, float, float], offset: float) -> Plane:
    return Plane(n, offset)


GROOVE: tuple[FeatureKind, list[list[Form]], None] = (
    "groove", [[plane((0, 1, 0), 20.0), plane((0, -1, 0), -32.0), plane((0, 0, 1), T - 6.0)]], None,
)  # fmt: skip
BOLT_HOLE: tuple[FeatureKind, list[list[Form]], Hole] = (
    "hole", [[Cylinder((100.0, 100.0, T), (0.0, 0.0, -1.0), 4.0, "hole")]],
    Hole((100.0, 100.0, T), (0.0, 0.0, -1.0), 8.0, None, "bolt", "face"),
)  # fmt: skip
COUNTERBORE: tuple[FeatureKind, list[list[Form]], Hole] = (
    "counterbore",
    [[Cylinder((100.0, 100.0, T), (0.0, 0.0, -1.0), 10.0, "hole"), plane((0, 0, 1), T - 5.0)]],
    Hole((100.0, 100.0, T), (0.0, 0.0, -1.0), 20.0, 5.0, "counterbore", "face"),
)  # fmt: skip


def layers(member: Member) -> dict[str, list[tuple[Curve, ...]]]:
    template = make_template(member)
    assert template is not None
    found: dict[str, list[tuple[Curve, ...]]] = {}
    for contour in arcs_only(template, 0.01).contours:
        found.setdefault(layer_name(contour), []).append(contour.curves)
    return found


def test_a_groove_is_a_pocket_of_its_depth_and_leaves_the_outline_whole() -> None:
    drawn = layers(panel(GROOVE))
    assert set(drawn) == {"ENGRAVE", "POCKET_D600", "CUT_THROUGH_OUTSIDE"}
    assert [area(c) for c in drawn["POCKET_D600"]] == pytest.approx([400 * 12.0])
    assert [area(c) for c in drawn["CUT_THROUGH_OUTSIDE"]] == pytest.approx([400 * 200.0])


def test_a_counterbored_bolt_hole_is_bored_twice_at_one_centre() -> None:
    drawn = layers(panel(BOLT_HOLE, COUNTERBORE))
    assert [area(c) for c in drawn["DRILL_D1800_DIA800"]] == pytest.approx([math.pi * 16])
    assert [area(c) for c in drawn["DRILL_D500_DIA2000"]] == pytest.approx([math.pi * 100])
    assert "MARK_BACK" not in drawn


def test_a_pilot_bored_on_the_work_is_left_to_the_work() -> None:
    made = panel(BOLT_HOLE)
    feature = replace(made.features[0], stage="on the work")
    assert not any(name.startswith("DRILL") for name in layers(replace(made, features=(feature,))))


def test_a_groove_in_the_back_is_marked_and_never_cut_from_the_face() -> None:
    back = [[plane((0, 1, 0), 20.0), plane((0, -1, 0), -32.0), plane((0, 0, -1), -6.0)]]
    drawn = layers(panel(("groove", back, None)))
    assert not any(name.startswith("POCKET") for name in drawn)
    assert sorted(area(c) for c in drawn["MARK_BACK"]) == pytest.approx([400 * 20.0, 400 * 168.0])


def test_what_is_sunk_into_the_back_makes_no_bevel_and_the_file_says_so() -> None:
    rebate = [[plane((0, 1, 0), 180.0), plane((0, 0, -1), -9.0)]]
    sunk = make_template(panel(("rebate", rebate, None)))
    s = math.sqrt(0.5)
    leaning = make_template(panel(("bevel", [[plane((s, 0.0, -s), s * 400.0 - s * T)]], None)))
    assert sunk is not None
    assert leaning is not None
    assert (sunk.follow, sunk.beveled) == ("face side", False)
    assert (leaning.follow, leaning.beveled) == ("face side", True)
    assert "no edge is beveled" in followed(sunk)
    assert "then bevel to the back outline" in followed(leaning)


def test_a_bevel_shows_both_outlines() -> None:
    """A 45 degree bevel on an 18 mm panel takes 18 mm of the back and nothing of the face."""
    s = math.sqrt(0.5)
    drawn = layers(panel(("bevel", [[plane((s, 0.0, -s), s * 400.0 - s * T)]], None)))
    assert [area(c) for c in drawn["CUT_THROUGH_OUTSIDE"]] == pytest.approx([400 * 200.0])
    assert [area(c) for c in drawn["MARK_BACK"]] == pytest.approx([382 * 200.0])


def test_a_hole_bored_aslant_is_only_marked() -> None:
    s = math.sqrt(0.5)
    aslant = Cylinder((200.0, 100.0, T), (s, 0.0, -s), 4.0, "hole")
    hole = Hole((200.0, 100.0, T), (s, 0.0, -s), 8.0, None, "bolt", "face")
    template = make_template(panel(("hole", [[aslant]], hole)))
    assert template is not None
    assert {c.operation for c in template.contours} == {"mark", "score", "back outline", "through outside"}
    assert sum(c.operation == "through outside" for c in template.contours) == 1


def test_a_countersink_is_marked_round_the_hole_that_is_drilled() -> None:
    sunk = Cone((100.0, 100.0, T), (0.0, 0.0, -1.0), 8.0, -1.0, "hole")
    hole = Hole((100.0, 100.0, T), (0.0, 0.0, -1.0), 16.0, 4.0, "countersink", "face")
    template = make_template(panel(BOLT_HOLE, ("countersink", [[sunk]], hole)))
    assert template is not None
    drilled = [c for c in template.contours if c.operation == "bore"]
    assert [(c.depth, area(c.curves)) for c in drilled] == [(T, pytest.approx(math.pi * 16))]
    marked = [c.curves[0] for c in template.contours if c.operation == "score" and c.closed]
    assert [c.radius for c in marked if isinstance(c, Arc)] == [pytest.approx(8.0)]


@pytest.mark.parametrize("purpose", ["socket", "hole", None])
def test_a_reamed_socket_is_only_marked_since_no_cutter_square_to_the_face_leaves_its_wall(
    purpose: HolePurpose | None,
) -> None:
    reamed = Cone((100.0, 100.0, 0.0), (0.0, 0.0, 1.0), 12.0, 0.1, "hole")
    hole = Hole((100.0, 100.0, T), (0.0, 0.0, -1.0), 27.6, None, purpose, "face") if purpose else None
    template = make_template(panel(("socket", [[reamed]], hole)))
    assert template is not None
    assert not any(c.operation in ("bore", "pocket") for c in template.contours)
    assert sum(c.operation == "through outside" for c in template.contours) == 1
    marked = [c.curves[0] for c in template.contours if c.operation == "score" and c.closed]
    assert [c.radius for c in marked if isinstance(c, Arc)] == [pytest.approx(12.0 + 0.1 * T)]
    back = [area(c.curves) for c in template.contours if c.operation == "back outline"]
    assert sorted(back) == pytest.approx([-math.pi * 144.0, 400 * 200.0])


def test_a_free_outline_is_cut_in_arcs_within_a_hundredth() -> None:
    leaf = Bezier(((60.0, 100.0), (140.0, 220.0), (260.0, -20.0), (340.0, 100.0)))
    back = Bezier(((340.0, 100.0), (300.0, 30.0), (100.0, 10.0), (60.0, 100.0)))
    opening = Extruded((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (leaf, back))
    turned = opening if signed_area((leaf, back)) < 0 else opening.flipped()
    drawn = layers(panel(("opening", [[turned]], None)))
    inner = drawn["CUT_THROUGH_INSIDE"][0]
    assert all(isinstance(c, Line | Arc) for c in inner)
    loop = shapely.LineString([c.at(i / 2000) for c in turned.outline for i in range(2001)])
    drawn_points = shapely.points([piece.at(i / 8) for piece in inner for i in range(9)])
    assert shapely.distance(loop, drawn_points).max() < 0.011
    assert area(inner) == pytest.approx(-abs(signed_area((leaf, back))), abs=0.01 * 700)
    assert area(inner) < 0


def signed_area(curves: Sequence[Curve]) -> float:
    points = [c.at(i / 2000) for c in curves for i in range(2000)]
    return (
        math.fsum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, [*points[1:], points[0]], strict=True))
        / 2
    )


# --- the lint ---------------------------------------------------------------------------------------------


def ring(*corners: Vec2) -> tuple[Line, ...]:
    return tuple(Line(a, b) for a, b in itertools.pairwise((*corners, corners[0])))


SQUARE = ring((0.0, 0.0), (90.0, 0.0), (90.0, 60.0), (0.0, 60.0))


def faults_of(*contours: Contour) -> str:
    return " | ".join(template_dxf(Template(panel(), contours))[1])


def moved(curves: Sequence[Curve], dx: float, dy: float, k: float = 1.0) -> tuple[Curve, ...]:
    return tuple(
        Line((c.start[0] * k + dx, c.start[1] * k + dy), (c.end[0] * k + dx, c.end[1] * k + dy))
        for c in curves
    )


def test_a_sound_outline_has_no_fault() -> None:
    assert faults_of(Contour("through outside", SQUARE)) == ""


def through(*curves: Curve) -> Contour:
    return Contour("through outside", tuple(curves))


INNER = through(*moved(SQUARE, 9, 9, 0.5))
IN_INNER = through(*moved(SQUARE, 20, 20, 0.2))
SLIVER = (*SQUARE[:3], Line((0.0, 60.0), (0.0, 0.02)), Line((0.0, 0.02), (0.0, 0.0)))


@pytest.mark.parametrize(
    ("broken", "word"),
    [
        ((through(*SQUARE[:-1]),), "open"),
        ((through(*SQUARE[:1], *SQUARE[2:]),), "broken"),
        ((through(*SQUARE), through(*SQUARE)), "twice"),
        ((through(*SQUARE, Line((0.0, 0.0), (0.0, 0.0))),), "no length"),
        ((through(*SLIVER),), "only"),
        ((through(*SQUARE), through(*moved(SQUARE, 200, 0, 0.3))), "outside"),
        ((through(*SQUARE), INNER, IN_INNER), "opening in an opening"),
        ((through(*SQUARE), Contour("pocket", moved(SQUARE, 50, 0), depth=3.0)), "outside the part"),
        ((through(*ring((0.0, 0.0), (60.0, 60.0), (60.0, 0.0), (0.0, 60.0))),), "crosses itself"),
    ],
)
def test_each_fault_is_named_with_its_layer_and_place(broken: tuple[Contour, ...], word: str) -> None:
    told = faults_of(*broken)
    assert word in told
    assert re.search(r"at -?[\d.]+, -?[\d.]+", told)


def test_a_part_with_a_sliver_gets_a_finding_instead_of_a_file() -> None:
    notch = [[plane((1.0, 0.0, 0.0), 399.97), plane((0.0, 1.0, 0.0), 150.0)]]
    files, findings = template_files(Model((panel(("notch", notch, None)),), (), (), ()))
    assert files == {}
    assert [f.level for f in findings] == ["warning"]
    assert "A" in findings[0].members
    assert "0.03 mm" in findings[0].text


# --- names and labels -------------------------------------------------------------------------------------


def test_a_files_name_says_part_quantity_stock_and_unit_in_plain_letters() -> None:
    named = replace(panel(), name="Türe / links", mark="B")
    assert template_name(Template(named, ())) == "B-Ture_links-x1-18_mm_birch_plywood-mm"


def test_a_label_stays_clear_of_what_is_cut() -> None:
    template = make_template(panel(GROOVE, BOLT_HOLE))
    assert template is not None
    label = [
        p for c in template.contours if c.operation == "mark" for q in c.curves for p in (q.start, q.end)
    ]
    assert label
    for x, y in label:
        assert 3 - 1e-6 <= x <= 397 + 1e-6
        assert 3 - 1e-6 <= y <= 197 + 1e-6
        assert not 20 - 3 < y < 32 + 3
        assert math.dist((x, y), (100, 100)) > 4 + 3 - 1e-6


def test_a_handed_parts_label_says_which_hand_the_template_is_of() -> None:
    assert label_of(panel(), "left") == "A panel left"
    assert label_of(panel(), None) == "A panel"


def test_a_part_without_room_goes_without_label() -> None:
    assert place_label("A PANEL", ring((0.0, 0.0), (12.0, 0.0), (12.0, 8.0), (0.0, 8.0)), (), ()) == ()
