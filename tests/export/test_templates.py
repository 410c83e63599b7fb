"""Templates held against the model's own faces, an exact kernel and readers of DXF that know nothing of us.

GDAL (through pyogrio), a mesh library's reader and ezdxf re-read every file; Open CASCADE cuts every
member anew and says how large its faces are.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Iterator, Sequence
from functools import lru_cache
from pathlib import Path

import pytest
import shapely
from brep_kernel import kernel_face_area, kernel_solid
from dxf_reading import area, contour_of, distance, opened
from kernel_slices import Slice
from pyogrio.raw import read
from second_reader import read_as_drawn

from plangen.export.template_layers import layer_name
from plangen.export.templates import TemplateFile, TemplateSet, template_set
from plangen.geometry.biarcs import ARC_TOLERANCE
from plangen.geometry.contour_faults import curve_length
from plangen.geometry.curves import Arc, Curve, Line, mirrored
from plangen.geometry.outline_boxes import curve_box
from plangen.geometry.surfaces import Form
from plangen.joinery.model import Member, Model
from plangen.machining.cut_contours import arcs_only
from plangen.machining.template import SHAPINGS, Contour, Template
from plangen.tables.cut_files import DEFAULT

DEPTH = 1e-3
"""Millimetres under a face at which it is sliced."""
STEEPEST = 6.0
"""Tangent of the most that a side leans here."""
LAYER = re.compile(
    r"CUT_THROUGH_(OUT|IN)SIDE|POCKET_D\d+|DRILL_D\d+_DIA\d+|MARK_(BACK|FACE)|ENGRAVE(_SCORE)?"
)


@lru_cache(maxsize=2)
def written(model: Model) -> TemplateSet:
    return template_set(model)


def templates(model: Model) -> Iterator[tuple[Member, Template]]:
    for template in written(model).nominal:
        yield template.member, template


def drawn_hand(model: Model) -> Iterator[tuple[Member, Template]]:
    """Templates of the hand that the member is drawn in."""
    return ((m, t) for m, t in templates(model) if t.hand == m.drawn)


def files_of(model: Model) -> Iterator[TemplateFile]:
    yield from written(model).files


# --- files ------------------------------------------------------------------------------------------------


def test_every_file_is_sound_plain_and_placed_at_the_origin(design_model: Model) -> None:
    assert written(design_model).findings == ()
    for file in files_of(design_model):
        path, data = file.path, file.data
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
                assert entity.closed or entity.dxf.layer.startswith("ENGRAVE")
                assert entity.dxf.elevation == 0
            else:
                assert entity.dxf.center.z == 0
            assert entity.dxf.extrusion == (0, 0, 1)
            boxes = [curve_box(c) for c in contour_of(entity)]
            low = [min(low[0], *(b[0] for b in boxes)), min(low[1], *(b[1] for b in boxes))]
        assert low == pytest.approx([0.0, 0.0], abs=1e-6)


def test_sheet_goods_and_all_that_is_cut_or_curved_have_a_template(design_model: Model) -> None:
    for member in design_model.members:
        has = any(f.path.startswith(f"templates/{member.mark}-") for f in files_of(design_model))
        if member.stock.kind == "sheet":
            assert has
        if member.role == "bought" or (member.is_plain and member.stock.kind != "sheet"):
            assert not has


def test_the_outline_written_is_the_models_own_to_a_millionth(design_model: Model) -> None:
    for file in files_of(design_model):
        drawn = [contour_of(e) for e in opened(file.data).modelspace()]
        assert len(drawn) == len(file.nominal.contours)
        boxes = [curve_box(c) for contour in file.template.contours for c in contour.curves]
        assert min(b[0] for b in boxes) == pytest.approx(0, abs=1e-9)
        shift = file.ready.shift
        for curves, contour in zip(drawn, file.nominal.contours, strict=True):
            tolerance = 1.5e-6 if all(isinstance(c, Line | Arc) for c in contour.curves) else 0.0101
            for piece in curves:
                for s in (0.0, 0.31, 0.5, 0.83, 1.0):
                    x, y = piece.at(s)
                    p = (x - shift[0], y - shift[1])
                    assert min(distance(p, c) for c in contour.curves) < tolerance


def test_the_other_hand_is_the_mirror_image_with_a_label_of_its_own(design_model: Model) -> None:
    for member, first in drawn_hand(design_model):
        others = [t for m, t in templates(design_model) if m is member and t.hand != member.drawn]
        assert len(others) == len({i.hand for i in member.instances} - {member.drawn})
        for other in others:
            assert sum(t.quantity for t in (first, other)) == member.quantity
            ours = [c for c in first.contours if c.operation != "mark"]
            theirs = [c for c in other.contours if c.operation != "mark"]
            for a, b in zip(ours, theirs, strict=True):
                assert (a.operation, a.depth) == (b.operation, b.depth)
                if a.closed:
                    assert area(a.curves) == pytest.approx(area(b.curves), rel=1e-12)
                back = [mirrored(c, member.finished[0]) for c in b.curves]
                for p, q in zip(reversed(back), a.curves, strict=True):
                    assert p.at(0.3) == pytest.approx(q.at(0.7), abs=1e-9)


def test_an_exact_kernel_finds_the_same_area_on_face_and_back(design_model: Model) -> None:
    """Face: outline less pockets and bored holes. Back: the marked outline, else the outline itself."""
    for member, template in drawn_hand(design_model):
        known: dict[str, Form] = dict(member.blank.planes())
        known |= {s.id: s.form for f in member.features for s in f.surfaces}
        kept = [f for f in member.features if not (f.hole and f.stage == "on the work")]
        shape = kernel_solid(member.blank, [[known[i] for i in c] for f in kept for c in f.cutters])
        by_operation: dict[str, list[Contour]] = {}
        for contour in template.contours:
            operation = "through" if contour.operation.startswith("through") else contour.operation
            by_operation.setdefault(operation, []).append(contour)

        def total(operation: str, taken: dict[str, list[Contour]] = by_operation) -> float:
            return math.fsum(area(c.curves) for c in taken.get(operation, []))

        through_bores = [c for c in by_operation.get("bore", []) if c.depth == member.finished[2]]
        bored_through = math.fsum(area(c.curves) for c in through_bores if on_the_back(c, by_operation))
        sloping = "score" in by_operation
        # a pocket runs out past the wood's own outline where the back is the larger
        out = "face outline" in by_operation and "pocket" in by_operation
        if not sloping and not out and not overlapping(by_operation):
            face = total("face outline" if "face outline" in by_operation else "through")
            face -= total("pocket") + total("bore")
            true = kernel_face_area(shape, (0.0, 0.0, 1.0), member.finished[2])
            assert face == pytest.approx(true, rel=2e-6)
        back = (total("back outline") if "back outline" in by_operation else total("through")) - bored_through
        assert back == pytest.approx(kernel_face_area(shape, (0.0, 0.0, -1.0), 0.0), rel=2e-6)


def test_the_cut_outline_holds_the_wood_of_both_sides_and_no_more_than_their_box(design_model: Model) -> None:
    for member, template in drawn_hand(design_model):
        outer = polygon(template.outline.curves)
        sides = [c for c in template.contours if c.operation in ("face outline", "back outline")]
        if template.follow == "both sides":
            assert sides == []
        for side in sides:
            if area(side.curves) > 0:
                assert outer.buffer(1e-3).contains(polygon(side.curves))
        names = {c.operation for c in sides}
        assert ("face outline" in names) == (template.follow in ("back", "outside of both"))
        # what is sunk into it may take the ends of the outline afterwards
        whole = all(f.kind in SHAPINGS for f in member.features)
        for axis in (0, 1) if whole else ():
            assert outer.bounds[axis + 2] - outer.bounds[axis] < member.finished[axis] + 1e-3


def test_both_outlines_of_a_bevel_are_slices_of_the_exact_solid_at_both_faces(design_model: Model) -> None:
    """Just under each face the rim has moved by no more than the lean takes it, and is as long to that; drawn out to
    the face from two depths, it is as long to a millionth."""
    plain = {"mark", "through outside", "face outline", "back outline"}
    for member, template in drawn_hand(design_model):
        if not template.beveled or {c.operation for c in template.contours} - plain:
            continue
        known: dict[str, Form] = dict(member.blank.planes())
        known |= {s.id: s.form for f in member.features for s in f.surfaces}
        kept = [f for f in member.features if not (f.hole and f.stage == "on the work")]
        shape = kernel_solid(member.blank, [[known[i] for i in c] for f in kept for c in f.cutters])
        for name, level, inward in (("face outline", member.finished[2], -1.0), ("back outline", 0.0, 1.0)):
            drawn = [c for c in template.contours if c.operation == name] or [template.outline]
            points = [curve.at(s) for c in drawn for curve in c.curves for s in (0.0, 0.3, 0.7)]
            near, far = (Slice(shape, level + inward * depth) for depth in (DEPTH, 2 * DEPTH))
            assert near.farthest(points) < STEEPEST * DEPTH
            true = math.fsum(curve_length(curve) for c in drawn for curve in c.curves)
            assert 2 * near.length - far.length == pytest.approx(true, rel=1e-6)


def test_arcs_for_free_curves_take_no_more_than_their_tolerance_off_either_side(design_model: Model) -> None:
    for _, template in templates(design_model):
        for contour, ready in zip(
            template.contours, arcs_only(template, ARC_TOLERANCE).contours, strict=True
        ):
            free = [c for c in contour.curves if not isinstance(c, Line | Arc)]
            points = [[c.at(i / 64) for i in range(65)] for c in free]
            along = math.fsum(math.dist(a, b) for run in points for a, b in itertools.pairwise(run))
            if contour.closed:
                assert area(ready.curves) == pytest.approx(
                    area(contour.curves), rel=1e-9, abs=ARC_TOLERANCE * along
                )


def on_the_back(bore: Contour, by_operation: dict[str, list[Contour]]) -> bool:
    """A bore through what a lap has left comes out in the lap, not on the back."""
    back = by_operation.get("back outline") or by_operation["through"]
    return any(polygon(c.curves).contains(polygon(bore.curves)) for c in back if area(c.curves) > 0)


def overlapping(by_operation: dict[str, list[Contour]]) -> bool:
    """A counterbore over its bolt hole, or a pocket in a pocket: areas are not to be added up."""
    shapes = [polygon(c.curves) for op in ("pocket", "bore") for c in by_operation.get(op, [])]
    return any(a.intersection(b).area > 1e-3 for a, b in itertools.combinations(shapes, 2))


def polygon(curves: Sequence[Curve]) -> shapely.Polygon:
    return shapely.Polygon([c.at(i / 64) for c in curves for i in range(64)])


def test_gdal_reads_as_many_closed_contours_of_the_same_size(design_model: Model, tmp_path: Path) -> None:
    for file in files_of(design_model):
        ready = file.template
        path = tmp_path / "part.dxf"
        path.write_bytes(file.data)
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


def test_a_reader_of_a_mesh_library_finds_the_same_contours_to_the_last_figure_written(
    design_model: Model,
) -> None:
    for file in files_of(design_model):
        assert read_as_drawn(file.data, file.template, DEFAULT)


def test_outer_contours_turn_counter_clockwise_and_come_last(design_model: Model) -> None:
    for file in files_of(design_model):
        through = [c for c in file.template.contours if c.operation.startswith("through")]
        areas = [area(c.curves) for c in through]
        assert areas[-1] == max(areas)
        assert areas[-1] > 0
        assert all(a < 0 for a in areas[:-1])
        assert [c.operation for c in through] == ["through inside"] * (len(areas) - 1) + ["through outside"]
