"""Templates held against the model's own faces, an exact kernel and two readers of DXF that know nothing of us.

GDAL (through pyogrio) and ezdxf re-read every file; Open CASCADE cuts every member anew and says how large its
faces are.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest
import shapely
from brep_kernel import kernel_face_area, kernel_solid
from dxf_reading import area, contour_of, distance, opened
from pyogrio.raw import read

from plangen.export.templates import (
    arcs_only,
    curve_box,
    layer_name,
    template_dxf_bytes,
    template_faults,
    template_files,
)
from plangen.geometry.biarcs import ARC_TOLERANCE
from plangen.geometry.curves import Arc, Curve, Line, Vec2
from plangen.geometry.surfaces import Form
from plangen.joinery.model import Member, Model
from plangen.machining.label import place_label
from plangen.machining.template import Contour, Template, label_of, make_template, wants_template

LAYER = re.compile(r"CUT_THROUGH|POCKET_D\d+|DRILL_D\d+|MARK_BACK|ENGRAVE")


def templates(model: Model) -> Iterator[tuple[Member, Template]]:
    for member in model.members:
        if wants_template(member):
            template = make_template(member)
            if template is not None:
                yield member, template


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
        for contour in template.contours:
            by_operation.setdefault(contour.operation, []).append(contour)

        def total(operation: str, taken: dict[str, list[Contour]] = by_operation) -> float:
            return math.fsum(area(c.curves) for c in taken.get(operation, []))

        through_bores = [c for c in by_operation.get("drill", []) if c.depth == member.finished[2]]
        bored_through = math.fsum(area(c.curves) for c in through_bores if on_the_back(c, by_operation))
        sloping = any(c.operation == "engrave" and not is_lettering(c, template) for c in template.contours)
        if not sloping and not overlapping(by_operation):
            face = total("through") - total("pocket") - total("drill")
            true = kernel_face_area(shape, (0.0, 0.0, 1.0), member.finished[2])
            assert face == pytest.approx(true, rel=2e-6)
        back = (total("back") if "back" in by_operation else total("through")) - bored_through
        assert back == pytest.approx(kernel_face_area(shape, (0.0, 0.0, -1.0), 0.0), rel=2e-6)


def test_arcs_for_free_curves_take_no_more_than_their_tolerance_off_either_side(design_model: Model) -> None:
    for _, template in templates(design_model):
        for contour, ready in zip(template.contours, arcs_only(template).contours, strict=True):
            free = [c for c in contour.curves if not isinstance(c, Line | Arc)]
            points = [[c.at(i / 64) for i in range(65)] for c in free]
            along = math.fsum(math.dist(a, b) for run in points for a, b in itertools.pairwise(run))
            if contour.closed:
                assert area(ready.curves) == pytest.approx(
                    area(contour.curves), rel=1e-9, abs=ARC_TOLERANCE * along
                )


def on_the_back(bore: Contour, by_operation: dict[str, list[Contour]]) -> bool:
    """A bore through what a lap has left comes out in the lap, not on the back."""
    back = by_operation.get("back") or by_operation["through"]
    return any(polygon(c.curves).contains(polygon(bore.curves)) for c in back if area(c.curves) > 0)


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
