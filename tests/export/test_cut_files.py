"""Cut files in every version, unit and kind of curve, read by strangers; and what the lint will not let out.

GDAL (through pyogrio), a mesh library's reader and ezdxf's own open each file; areas and perimeters are
those of the nominal contours to the reader's facets.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import ezdxf
import pytest
import shapely
from dxf_reading import area, opened
from pyogrio.raw import read
from second_reader import read_as_drawn, unit_of
from worked_out import ROOT, facts_of

from plangen.export.cut_dxf import cut_document
from plangen.export.cut_lint import document_faults
from plangen.export.template_layers import layers_of
from plangen.export.templates import TemplateFile, template_set
from plangen.geometry.contour_faults import curve_length
from plangen.geometry.curves import Arc, Line
from plangen.geometry.surfaces import Extruded
from plangen.tables.cut_files import DEFAULT, LAYERS, CurveMode, CutFiles, Layer

GATE = ROOT / "designs" / "garden-gate.yaml"
TOTE = ROOT / "designs" / "tool-tote.yaml"
STOOL = ROOT / "designs" / "three-leg-stool.yaml"
MODES = [
    replace(DEFAULT, version=version, unit=unit, curves=curves)
    for version, unit in (("R12", "in"), ("R2000", "mm"), ("R2000", "in"), ("R2010", "mm"))
    for curves in ("bulges", "lines and arcs", "facets", "splines")
    if not (version == "R12" and curves == "splines")
] + [replace(DEFAULT, circles="polylines"), replace(DEFAULT, version="R12", circles="polylines")]


def on(design: Path) -> pytest.MarkDecorator:
    """The design that a test looks at, in its id: tests of one design share its facts."""
    return pytest.mark.parametrize("design", [design], ids=lambda p: p.stem)


def named(cut: CutFiles) -> str:
    return f"{cut.version}-{cut.unit}-{cut.curves}-{cut.circles}".replace(" ", "_")


def file_of(design: Path, mark: str, cut: CutFiles) -> TemplateFile:
    bench = facts_of(design).bench
    only = replace(bench, members=tuple(m for m in bench.members if m.mark == mark))
    made = template_set(only, cut)
    assert [f.text for f in made.findings] == []
    return made.files[0]


@pytest.mark.parametrize(
    ("design", "mark", "cut"),
    [(GATE, "C", cut) for cut in MODES] + [(TOTE, "D", cut) for cut in MODES if cut.version == "R2000"],
    ids=lambda v: v if isinstance(v, str) else v.stem if isinstance(v, Path) else named(v),
)
def test_each_version_unit_and_kind_of_curve_is_read_at_its_true_size(
    cut: CutFiles, design: Path, mark: str, tmp_path: Path
) -> None:
    file = file_of(design, mark, cut)
    assert file.path.endswith(f"-{cut.unit}.dxf")
    assert all(byte < 128 for byte in file.data)
    document = opened(file.data)
    assert not document.audit().errors
    assert not document.audit().fixes
    assert document.acad_release == cut.version
    if cut.version != "R12":
        expected = (4, 1) if cut.unit == "mm" else (1, 0)
        assert (document.header["$INSUNITS"], document.header["$MEASUREMENT"]) == expected
        assert unit_of(file.data) == {"mm": "millimeters", "in": "inches"}[cut.unit]
    assert read_as_drawn(file.data, file.template, cut)
    path = tmp_path / "part.dxf"
    path.write_bytes(file.data)
    meta, _, shapes, fields = read(str(path))
    layers = fields[list(meta["fields"]).index("Layer")]
    k = 1.0 if cut.unit == "mm" else 25.4
    for layer in layers_of(file.template, cut).values():
        ours = [
            c
            for c in file.template.contours
            if layers_of(replace(file.template, contours=(c,)), cut).keys() == {layer.name}
        ]
        theirs = [shapely.from_wkb(w) for w, name in zip(shapes, layers, strict=True) if name == layer.name]
        perimeter = math.fsum(g.length for g in theirs) * k
        true = math.fsum(curve_length(c) for contour in ours for c in contour.curves)
        # arcs come as chords of four degrees at most: shorter by a^2/24, 2e-4
        assert perimeter == pytest.approx(true, rel=2.1e-4)
        if layer.may_be_open:
            continue
        rings = shapely.polygonize(
            [shapely.set_precision(g, 1e-6) if g.geom_type != "Polygon" else g.exterior for g in theirs]
        ).geoms
        assert len(rings) == len(ours)
        for ring, size in zip(
            sorted(r.area * k * k for r in map(shapely.Polygon, (r.exterior for r in rings))),
            sorted(abs(area(c.curves)) for c in ours),
            strict=True,
        ):
            curved = math.fsum(
                c.radius**2 * abs(c.last - c.first) for x in ours for c in x.curves if isinstance(c, Arc)
            )
            assert ring == pytest.approx(size, rel=1e-6, abs=curved * math.radians(4) ** 2 / 12 + 0.02 * true)


@pytest.mark.parametrize("curves", ["bulges", "lines and arcs", "splines"])
@on(GATE)
def test_curves_are_kept_as_curves(design: Path, curves: CurveMode) -> None:
    """The gate's crowned rail has one arc along it: no chord stands for it."""
    file = file_of(design, "C", replace(DEFAULT, curves=curves))
    arcs = [c for c in file.template.outline.curves if isinstance(c, Arc)]
    assert len(arcs) == 1
    outline = [e for e in opened(file.data).modelspace() if e.dxf.layer == "CUT_THROUGH_OUTSIDE"]
    if curves == "lines and arcs":
        assert [e.dxf.radius for e in outline if e.dxftype() == "ARC"] == [
            pytest.approx(arcs[0].radius, abs=1e-9)
        ]
        ends = [tuple(round(v, 9) for v in p) for e in outline for p in both_ends(e)]
        assert all(sum(math.dist(p, q) < 1e-9 for q in ends) == 2 for p in ends)
    else:
        assert len(outline) == 1
        assert sum(b != 0 for _, _, b in outline[0].get_points("xyb")) == 1


def both_ends(entity: ezdxf.entities.DXFEntity) -> list[tuple[float, ...]]:
    a, b = (
        (entity.start_point, entity.end_point)
        if entity.dxftype() == "ARC"
        else (entity.dxf.start, entity.dxf.end)
    )
    return [(a.x, a.y), (b.x, b.y)]


@on(GATE)
def test_facets_keep_to_their_tolerance_and_no_more_are_made_than_it_asks(design: Path) -> None:
    for tolerance in (0.01, 0.1):
        file = file_of(design, "C", replace(DEFAULT, curves="facets", tolerance=tolerance))
        arc = next(c for c in file.template.outline.curves if isinstance(c, Arc))
        rows = next(
            e for e in opened(file.data).modelspace() if e.dxf.layer == "CUT_THROUGH_OUTSIDE"
        ).get_points("xy")
        on = [p for p in rows if abs(math.dist(p, arc.centre) - arc.radius) < 1e-5]
        sags = [
            arc.radius - math.sqrt(arc.radius**2 - math.dist(p, q) ** 2 / 4)
            for p, q in itertools.pairwise(on)
        ]
        long = [s for s in sags if s < 1.0]
        assert max(long) <= tolerance * (1 + 1e-6)
        assert max(long) > tolerance * 0.8


@on(STOOL)
def test_a_free_curve_is_one_spline_where_splines_are_asked_for(design: Path) -> None:
    cut = replace(DEFAULT, curves="splines")
    bench = facts_of(design).bench
    bent = [m for m in bench.members if any(s.form.__class__ is Extruded for s in m.surfaces)]
    bent_ones = replace(bench, members=tuple(bent))
    files = template_set(bent_ones, cut).files
    assert files
    for file, plain in zip(files, template_set(bent_ones).files, strict=True):
        assert file.path == plain.path
        free = [
            c for contour in file.template.contours for c in contour.curves if not isinstance(c, Line | Arc)
        ]
        kinds = [e.dxftype() for e in opened(file.data).modelspace()]
        assert kinds.count("SPLINE") == len(free)
        few = sum(len(c.curves) for c in file.template.contours)
        assert few < sum(len(c.curves) for c in plain.template.contours)


# --- layers -----------------------------------------------------------------------------------------------


@on(TOTE)
def test_layers_are_called_what_the_machine_wants_and_coloured_so(design: Path) -> None:
    layers = {**LAYERS, "pocket": Layer("P_{depth}", 12), "through outside": Layer("OUT", 200)}
    document = opened(file_of(design, "A", replace(DEFAULT, layers=layers)).data)
    names = {layer.dxf.name: layer.dxf.color for layer in document.layers}
    assert names["OUT"] == 200
    assert names["P_300"] == 12
    assert "CUT_THROUGH_OUTSIDE" not in names


@on(TOTE)
def test_in_inches_depths_are_thousandths_and_say_so(design: Path) -> None:
    file = file_of(design, "A", replace(DEFAULT, unit="in"))
    assert "POCKET_D118TH" in layers_of(file.template, replace(DEFAULT, unit="in"))


@on(TOTE)
def test_a_file_says_at_its_head_which_face_lies_up_and_what_its_layers_mean(design: Path) -> None:
    head = file_of(design, "A", DEFAULT).data.decode().split("  0\nSECTION")[0]
    assert "999\nface side up\n" in head
    assert "999\nPOCKET_D300: pocket, 3.00 mm deep\n" in head
    assert "nominal" in head


# --- the lint ---------------------------------------------------------------------------------------------

Mutation = Callable[[ezdxf.document.Drawing], None]


def outline_of(document: ezdxf.document.Drawing) -> ezdxf.entities.LWPolyline:
    return next(e for e in document.modelspace() if e.dxf.layer == "CUT_THROUGH_OUTSIDE")


def broken(document: ezdxf.document.Drawing) -> None:
    outline_of(document).closed = False


def doubled(document: ezdxf.document.Drawing) -> None:
    document.modelspace().add_entity(outline_of(document).copy())


def doubled_edge(document: ezdxf.document.Drawing) -> None:
    (ax, ay, *_), (bx, by, *_) = list(outline_of(document).get_points())[:2]
    far = [(ax, ay), (bx, by), (bx + 3.0, by - 50.0)]
    document.modelspace().add_lwpolyline(far, close=True, dxfattribs={"layer": "CUT_THROUGH_OUTSIDE"})


def lifted(document: ezdxf.document.Drawing) -> None:
    outline_of(document).dxf.elevation = 1e-6


def turned_over(document: ezdxf.document.Drawing) -> None:
    outline_of(document).dxf.extrusion = (0, 0, -1)


def first_point_repeated(document: ezdxf.document.Drawing) -> None:
    outline = outline_of(document)
    outline.append(outline.get_points()[0])


def tiny_piece(document: ezdxf.document.Drawing) -> None:
    outline = outline_of(document)
    x, y, *rest = outline.get_points()[0]
    outline.append((x + 0.01, y + 0.01, *rest))


def crossing(document: ezdxf.document.Drawing) -> None:
    outline = outline_of(document)
    points = list(outline.get_points())
    points[0], points[1] = points[1], points[0]
    outline.set_points(points)


def misnested(document: ezdxf.document.Drawing) -> None:
    for entity in document.modelspace():
        if entity.dxf.layer.startswith("POCKET"):
            entity.translate(500, 0, 0)


def undeclared_kind(document: ezdxf.document.Drawing) -> None:
    document.modelspace().add_point((5, 5), dxfattribs={"layer": "CUT_THROUGH_OUTSIDE"})


def unknown_layer(document: ezdxf.document.Drawing) -> None:
    outline_of(document).dxf.layer = "0"


def no_place(document: ezdxf.document.Drawing) -> None:
    outline = outline_of(document)
    outline.append((math.nan, 0.0, 0, 0, 0))


@pytest.mark.parametrize(
    ("mutation", "word"),
    [
        (broken, "open"),
        (doubled, "twice"),
        (doubled_edge, "twice"),
        (lifted, "leaves the plane"),
        (turned_over, "turned out of the plane"),
        (first_point_repeated, "no length"),
        (tiny_piece, "only"),
        (crossing, "crosses itself"),
        (misnested, "outside the part"),
        (undeclared_kind, "POINT"),
        (unknown_layer, "no layer"),
        (no_place, "no place"),
    ],
    ids=lambda v: getattr(v, "__name__", v),
)
@on(TOTE)
def test_the_lint_lets_no_broken_file_out(design: Path, mutation: Mutation, word: str) -> None:
    template = file_of(design, "A", DEFAULT).template
    document, layers = cut_document(template, DEFAULT), layers_of(template, DEFAULT)
    assert document_faults(document, layers, DEFAULT) == ()
    mutation(document)
    assert word in " | ".join(document_faults(document, layers, DEFAULT))


def lifted_vertex(document: ezdxf.document.Drawing) -> None:
    polyline = outline_of(document)
    x, y, _ = polyline.vertices[2].dxf.location
    polyline.vertices[2].dxf.location = (x, y, 1e-3)


def lifted_line(document: ezdxf.document.Drawing) -> None:
    line = next(e for e in document.modelspace() if e.dxftype() == "LINE")
    line.dxf.end = (*tuple(line.dxf.end)[:2], 1e-3)


def gap(document: ezdxf.document.Drawing) -> None:
    line = next(e for e in document.modelspace() if e.dxftype() == "LINE")
    x, y, _ = line.dxf.end
    line.dxf.end = (x + 1e-4, y, 0)


def line_left_out(document: ezdxf.document.Drawing) -> None:
    document.modelspace().delete_entity(next(e for e in document.modelspace() if e.dxftype() == "LINE"))


@pytest.mark.parametrize(
    ("cut", "mutation", "word"),
    [
        (replace(DEFAULT, version="R12"), lifted_vertex, "leaves the plane"),
        (replace(DEFAULT, curves="lines and arcs"), lifted_line, "leaves the plane"),
        (replace(DEFAULT, curves="lines and arcs"), gap, "broken"),
        (replace(DEFAULT, curves="lines and arcs"), line_left_out, "open"),
    ],
    ids=lambda v: getattr(v, "__name__", None),
)
@on(GATE)
def test_old_polylines_and_loose_lines_are_looked_at_too(
    design: Path, cut: CutFiles, mutation: Mutation, word: str
) -> None:
    template = file_of(design, "C", cut).template
    document, layers = cut_document(template, cut), layers_of(template, cut)
    assert document_faults(document, layers, cut) == ()
    mutation(document)
    assert word in " | ".join(document_faults(document, layers, cut))
