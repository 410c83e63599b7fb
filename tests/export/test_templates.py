"""Templates held against the model's own faces, an exact kernel and two readers of DXF that know nothing of us.

GDAL (through pyogrio) and ezdxf re-read every file; Open CASCADE cuts every member anew and says how large its
faces are.
"""

from __future__ import annotations

import itertools
import math
import re
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import ezdxf
import pytest
import shapely
from brep_kernel import kernel_face_area, kernel_solid
from ezdxf.document import Drawing
from ezdxf.entities import DXFEntity
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from pyogrio.raw import read

from plangen.export.templates import (
    arcs_only,
    curve_box,
    layer_name,
    template_dxf_bytes,
    template_faults,
    template_files,
    template_name,
)
from plangen.findings import Place
from plangen.geometry.biarcs import to_arcs
from plangen.geometry.curves import Arc, Bezier, Curve, Line, Vec2
from plangen.geometry.frames import WORLD
from plangen.geometry.solid import build_solid
from plangen.geometry.surfaces import Box, Cylinder, Extruded, Form, Plane, Surface
from plangen.joinery.model import Feature, FeatureKind, Hole, Instance, Member, Model
from plangen.machining.label import place_label
from plangen.machining.template import Contour, Template, label_of, make_template, wants_template
from plangen.tables.stock import resolve_stock

LAYER = re.compile(r"CUT_THROUGH|POCKET_D\d+|DRILL_D\d+|MARK_BACK|ENGRAVE")


def templates(model: Model) -> Iterator[tuple[Member, Template]]:
    for member in model.members:
        if wants_template(member):
            template = make_template(member)
            if template is not None:
                yield member, template


def opened(data: bytes) -> Drawing:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "part.dxf"
        path.write_bytes(data)
        return ezdxf.readfile(path)


def contour_of(entity: DXFEntity) -> tuple[Curve, ...]:
    """A polyline's or circle's curves, its bulges read back: bulge = tan(angle / 4) (DXF reference)."""
    if entity.dxftype() == "CIRCLE":
        x, y, _ = entity.dxf.center
        return (Arc((x, y), entity.dxf.radius, 0.0, 2 * math.pi),)
    rows = [tuple(row) for row in entity.get_points("xyb")]
    following = [*rows[1:], rows[0]] if entity.closed else rows[1:]
    return tuple(bulged((x, y), (u, v), b) for (x, y, b), (u, v, _) in zip(rows, following, strict=False))


def bulged(a: Vec2, b: Vec2, bulge: float) -> Curve:
    if bulge == 0:
        return Line(a, b)
    angle = 4 * math.atan(bulge)
    chord = math.dist(a, b)
    radius = chord / (2 * math.sin(abs(angle) / 2))
    height = radius * math.cos(angle / 2)
    side = math.copysign(1.0, bulge)
    n = (-(b[1] - a[1]) / chord * side, (b[0] - a[0]) / chord * side)
    centre = ((a[0] + b[0]) / 2 + n[0] * height, (a[1] + b[1]) / 2 + n[1] * height)
    first = math.atan2(a[1] - centre[1], a[0] - centre[0])
    return Arc(centre, radius, first, first + angle)


def area(curves: Sequence[Curve]) -> float:
    """Square millimetres by the trapezium rule on lines and the segment formula on arcs."""
    total = 0.0
    for c in curves:
        (x0, y0), (x1, y1) = c.start, c.end
        total += (x0 * y1 - x1 * y0) / 2
        if isinstance(c, Arc):
            sweep = c.last - c.first
            total += c.radius**2 * (sweep - math.sin(sweep)) / 2
    return total


def distance(p: Vec2, curve: Curve) -> float:
    if isinstance(curve, Line):
        d = (curve.end[0] - curve.start[0], curve.end[1] - curve.start[1])
        s = ((p[0] - curve.start[0]) * d[0] + (p[1] - curve.start[1]) * d[1]) / (d[0] ** 2 + d[1] ** 2)
        return math.dist(p, curve.at(min(1.0, max(0.0, s))))
    if isinstance(curve, Arc):
        return abs(math.dist(p, curve.centre) - curve.radius)
    chords = shapely.LineString([curve.at(i / 2000) for i in range(2001)])
    return float(chords.distance(shapely.Point(p)))


# --- files ------------------------------------------------------------------------------------------------


def test_every_file_is_sound_plain_and_placed_at_the_origin(design_model: Model) -> None:
    files, findings = template_files(design_model)
    assert findings == ()
    for path, data in files.items():
        assert re.fullmatch(r"templates/[A-Za-z0-9_-]+-mm\.dxf", path)
        data.decode("ascii")
        assert b"\r" not in data
        document = opened(data)
        assert not document.audit().errors
        assert not document.audit().fixes
        assert document.dxfversion == "AC1015"
        assert (document.header["$INSUNITS"], document.header["$MEASUREMENT"]) == (4, 1)
        low = [math.inf, math.inf]
        for entity in document.modelspace():
            assert entity.dxftype() in ("LWPOLYLINE", "CIRCLE")
            assert LAYER.fullmatch(entity.dxf.layer)
            assert entity.dxf.layer in document.layers
            if entity.dxftype() == "LWPOLYLINE":
                assert entity.closed or entity.dxf.layer == "ENGRAVE"
                assert entity.dxf.elevation == 0
            else:
                assert entity.dxf.center.z == 0
            assert entity.dxf.extrusion == (0, 0, 1)
            boxes = [curve_box(c) for c in contour_of(entity)]
            low = [min(low[0], *(b[0] for b in boxes)), min(low[1], *(b[1] for b in boxes))]
        assert low == pytest.approx([0.0, 0.0], abs=1e-6)


def test_sheet_goods_and_all_that_is_cut_or_curved_have_a_template(design_model: Model) -> None:
    files, _ = template_files(design_model)
    for member in design_model.members:
        has = any(path.startswith(f"templates/{member.mark}-") for path in files)
        if member.stock.kind == "sheet":
            assert has
        if member.role == "bought" or (member.is_plain and member.stock.kind != "sheet"):
            assert not has


def test_the_outline_written_is_the_models_own_to_a_millionth(design_model: Model) -> None:
    for _, template in templates(design_model):
        ready = arcs_only(template)
        drawn = [contour_of(e) for e in opened(template_dxf_bytes(ready)).modelspace()]
        assert len(drawn) == len(template.contours)
        boxes = [curve_box(c) for contour in ready.contours for c in contour.curves]
        assert min(b[0] for b in boxes) == pytest.approx(0, abs=1e-9)
        shift = shift_of(template, ready)
        for curves, contour in zip(drawn, template.contours, strict=True):
            tolerance = 1.5e-6 if all(isinstance(c, Line | Arc) for c in contour.curves) else 0.0101
            for piece in curves:
                for s in (0.0, 0.31, 0.5, 0.83, 1.0):
                    x, y = piece.at(s)
                    p = (x - shift[0], y - shift[1])
                    assert min(distance(p, c) for c in contour.curves) < tolerance


def shift_of(template: Template, ready: Template) -> Vec2:
    a, b = template.contours[-1].curves[0].start, ready.contours[-1].curves[0].start
    return (b[0] - a[0], b[1] - a[1])


def test_an_exact_kernel_finds_the_same_area_on_face_and_back(design_model: Model) -> None:
    """Face: outline less pockets and bored holes. Back: the marked outline, else the outline itself."""
    for member, template in templates(design_model):
        known: dict[str, Form] = dict(member.blank.planes())
        known |= {s.id: s.form for f in member.features for s in f.surfaces}
        kept = [f for f in member.features if not (f.hole and f.stage == "on the work")]
        shape = kernel_solid(member.blank, [[known[i] for i in c] for f in kept for c in f.cutters])
        by_operation: dict[str, list[Contour]] = {}
        for contour in arcs_only(template).contours:
            by_operation.setdefault(contour.operation, []).append(contour)

        def total(operation: str, taken: dict[str, list[Contour]] = by_operation) -> float:
            return math.fsum(area(c.curves) for c in taken.get(operation, []))

        through_bores = [c for c in by_operation.get("drill", []) if c.depth == member.finished[2]]
        bored_through = math.fsum(area(c.curves) for c in through_bores)
        sloping = any(c.operation == "engrave" and not is_lettering(c, template) for c in template.contours)
        if not sloping and not overlapping(by_operation):
            face = total("through") - total("pocket") - total("drill")
            true = kernel_face_area(shape, (0.0, 0.0, 1.0), member.finished[2])
            assert face == pytest.approx(true, rel=2e-6)
        back = (total("back") if "back" in by_operation else total("through")) - bored_through
        assert back == pytest.approx(kernel_face_area(shape, (0.0, 0.0, -1.0), 0.0), rel=2e-6)


def is_lettering(contour: Contour, template: Template) -> bool:
    """Marks of mouths come straight before the back and after the label's short strokes."""
    first = next(i for i, c in enumerate(template.contours) if c.operation != "engrave")
    label = len(place_label_lines(template))
    return template.contours.index(contour) < label or first == 0


def place_label_lines(template: Template) -> tuple[tuple[Curve, ...], ...]:
    rest = [c for c in template.contours if c.operation != "engrave"]
    outline = [c for c in rest if c.operation == "through"][-1]
    taken = [c.curves for c in rest if c.operation in ("pocket", "drill")]
    taken += [c.curves for c in rest if c.operation == "through" and c is not outline]
    lines = [c.curves for c in rest if c.operation == "back"]
    return place_label(label_of(template.member), outline.curves, taken, lines)


def overlapping(by_operation: dict[str, list[Contour]]) -> bool:
    """A counterbore over its bolt hole, or a pocket in a pocket: areas are not to be added up."""
    shapes = [polygon(c.curves) for op in ("pocket", "drill") for c in by_operation.get(op, [])]
    return any(a.intersection(b).area > 1e-3 for a, b in itertools.combinations(shapes, 2))


def polygon(curves: Sequence[Curve]) -> shapely.Polygon:
    return shapely.Polygon([c.at(i / 64) for c in curves for i in range(64)])


def test_gdal_reads_as_many_closed_contours_of_the_same_size(design_model: Model, tmp_path: Path) -> None:
    for _, template in templates(design_model):
        ready = arcs_only(template)
        path = tmp_path / "part.dxf"
        path.write_bytes(template_dxf_bytes(ready))
        meta, _, shapes, fields = read(str(path), CLOSED_LINE_AS_POLYGON="TRUE")
        layers = fields[list(meta["fields"]).index("Layer")]
        assert len(shapes) == len(ready.contours)
        for wkb, layer, contour in zip(shapes, layers, ready.contours, strict=True):
            shape = shapely.from_wkb(wkb)
            assert layer == layer_name(contour)
            if contour.closed:
                closed = shape if shape.geom_type == "Polygon" else shapely.Polygon(shape.coords)
                # GDAL draws arcs by chords of four degrees or less: a segment is short by up to a^3/12.
                tolerance = 1e-6 + math.fsum(
                    c.radius**2 * abs(c.last - c.first) * math.radians(4) ** 2 / 12
                    for c in contour.curves
                    if isinstance(c, Arc)
                )
                assert closed.area == pytest.approx(abs(area(contour.curves)), abs=tolerance + 1e-3)


def test_outer_contours_turn_counter_clockwise_and_come_last(design_model: Model) -> None:
    for _, template in templates(design_model):
        areas = [
            area(arcs_only(template).contours[i].curves)
            for i, c in enumerate(template.contours)
            if c.operation == "through"
        ]
        assert areas[-1] == max(areas)
        assert areas[-1] > 0
        assert all(a < 0 for a in areas[:-1])


def test_no_template_has_a_fault_a_machine_would_stumble_on(design_model: Model) -> None:
    for _, template in templates(design_model):
        assert template_faults(arcs_only(template)) == ()


# --- a panel with everything ------------------------------------------------------------------------------

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
    for contour in arcs_only(template).contours:
        found.setdefault(layer_name(contour), []).append(contour.curves)
    return found


def test_a_groove_is_a_pocket_of_its_depth_and_leaves_the_outline_whole() -> None:
    drawn = layers(panel(GROOVE))
    assert set(drawn) == {"ENGRAVE", "POCKET_D600", "CUT_THROUGH"}
    assert [area(c) for c in drawn["POCKET_D600"]] == pytest.approx([400 * 12.0])
    assert [area(c) for c in drawn["CUT_THROUGH"]] == pytest.approx([400 * 200.0])


def test_a_counterbored_bolt_hole_is_bored_twice_at_one_centre() -> None:
    drawn = layers(panel(BOLT_HOLE, COUNTERBORE))
    assert [area(c) for c in drawn["DRILL_D1800"]] == pytest.approx([math.pi * 16])
    assert [area(c) for c in drawn["DRILL_D500"]] == pytest.approx([math.pi * 100])
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


def test_a_bevel_shows_both_outlines() -> None:
    """A 45 degree bevel on an 18 mm panel takes 18 mm of the back and nothing of the face."""
    s = math.sqrt(0.5)
    drawn = layers(panel(("bevel", [[plane((s, 0.0, -s), s * 400.0 - s * T)]], None)))
    assert [area(c) for c in drawn["CUT_THROUGH"]] == pytest.approx([400 * 200.0])
    assert [area(c) for c in drawn["MARK_BACK"]] == pytest.approx([382 * 200.0])


def test_a_hole_bored_aslant_is_only_marked() -> None:
    s = math.sqrt(0.5)
    aslant = Cylinder((200.0, 100.0, T), (s, 0.0, -s), 4.0, "hole")
    hole = Hole((200.0, 100.0, T), (s, 0.0, -s), 8.0, None, "bolt", "face")
    template = make_template(panel(("hole", [[aslant]], hole)))
    assert template is not None
    assert {c.operation for c in template.contours} == {"engrave", "back", "through"}
    assert sum(c.operation == "through" for c in template.contours) == 1


def test_a_free_outline_is_cut_in_arcs_within_a_hundredth() -> None:
    leaf = Bezier(((60.0, 100.0), (140.0, 220.0), (260.0, -20.0), (340.0, 100.0)))
    back = Bezier(((340.0, 100.0), (300.0, 30.0), (100.0, 10.0), (60.0, 100.0)))
    opening = Extruded((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (leaf, back))
    turned = opening if signed_area((leaf, back)) < 0 else opening.flipped()
    drawn = layers(panel(("opening", [[turned]], None)))
    inner = drawn["CUT_THROUGH"][0]
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
    return " | ".join(template_faults(Template(panel(), contours)))


def moved(curves: Sequence[Curve], dx: float, dy: float, k: float = 1.0) -> tuple[Curve, ...]:
    return tuple(
        Line((c.start[0] * k + dx, c.start[1] * k + dy), (c.end[0] * k + dx, c.end[1] * k + dy))
        for c in curves
    )


def test_a_sound_outline_has_no_fault() -> None:
    assert faults_of(Contour("through", SQUARE)) == ""


def through(*curves: Curve) -> Contour:
    return Contour("through", tuple(curves))


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
    assert template_name(named) == "B-Ture_links-x1-18_mm_birch_plywood-mm"


def test_a_label_stays_clear_of_what_is_cut() -> None:
    template = make_template(panel(GROOVE, BOLT_HOLE))
    assert template is not None
    label = [
        p for c in template.contours if c.operation == "engrave" for q in c.curves for p in (q.start, q.end)
    ]
    assert label
    for x, y in label:
        assert 3 - 1e-6 <= x <= 397 + 1e-6
        assert 3 - 1e-6 <= y <= 197 + 1e-6
        assert not 20 - 3 < y < 32 + 3
        assert math.dist((x, y), (100, 100)) > 4 + 3 - 1e-6


def test_a_handed_parts_label_says_which_hand_the_template_is_of() -> None:
    assert label_of(replace(panel(), drawn="left")) == "A panel left"
    assert label_of(panel()) == "A panel"


def test_a_part_without_room_goes_without_label() -> None:
    assert place_label("A PANEL", ring((0.0, 0.0), (12.0, 0.0), (12.0, 8.0), (0.0, 8.0)), (), ()) == ()


# --- arcs for free curves ---------------------------------------------------------------------------------

coordinate = st.floats(-200, 200).map(lambda v: round(v, 3))
point = st.tuples(coordinate, coordinate)


@settings(max_examples=40, deadline=None)
@given(a=point, b=point, c=point, d=point)
def test_arcs_follow_any_gentle_curve_smoothly_within_a_hundredth(a: Vec2, b: Vec2, c: Vec2, d: Vec2) -> None:
    assume(min(math.dist(p, q) for p, q in itertools.combinations((a, b, c, d), 2)) > 5)
    curve = Bezier((a, b, c, d))
    try:
        pieces = to_arcs(curve)
    except ValueError:
        # a cusp: refused, never flattened
        return
    assert math.dist(pieces[0].start, curve.start) < 1e-6
    assert math.dist(pieces[-1].end, curve.end) < 1e-6
    for p, q in itertools.pairwise(pieces):
        assert math.dist(p.end, q.start) < 1e-6
    for i in range(201):
        assert min(distance(curve.at(i / 200), q) for q in pieces) < 0.01
