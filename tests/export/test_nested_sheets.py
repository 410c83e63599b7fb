"""Sheets with all their parts, judged from the files alone by readers that know nothing of us.

GDAL (through pyogrio) gives the outlines, a mesh library's reader measures them again; a part's own file says what its
outline should be. The checker shares nothing with the search: polygons, distances, turns.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest
import shapely
from dxf_reading import contour_of, opened
from ezdxf.document import Drawing
from ezdxf.entities import DXFEntity
from pyogrio.raw import read
from second_reader import read_again, read_as_drawn
from shapely import Polygon, affinity

from plangen.export.cut_dxf import cut_document
from plangen.export.cut_lint import document_faults
from plangen.export.nested_files import NestedFiles, nested_files
from plangen.export.template_layers import layers_of
from plangen.export.templates import TemplateSet, template_set
from plangen.facts import PlanFacts, plan_facts
from plangen.geometry.contour_faults import facets
from plangen.nesting.nested_sheets import nested_stock
from plangen.tables.cut_files import DEFAULT, CutFiles, HoldDown, Nesting, Tabs

SIGN = """
title: A sign with a window, and a tray for its letters
units: mm
stock:
  ply: {ask for: 12 mm birch plywood, thickness: 12}
members:
  sign:
    stock: ply
    width: 600
    length: 900
    place: {length: right, face: up, corner: [0, 0, 0]}
    outline:
      points: [[0, 0], [900, 0], [900, 500], [800, 600], [0, 600]]
      round: [0, 60, 0, 0, 0]
    openings: [{slot: [640, 380], at: [450, 300]}]
  tray:
    stock: ply
    width: 160
    length: 300
    place: {length: right, face: up, corner: [0, 0, 12]}
    openings: [{round: 40, at: [150, 80]}]
  bracket:
    stock: ply
    width: 300
    length: 400
    place: {length: right, face: up, corner: [0, 0, 24]}
    outline:
      points: [[0, 0], [400, 0], [400, 60], [60, 300], [0, 300]]
    copies: {repeat: {count: 4, spacing: 12, going: up}}
"""
ROUTER = replace(DEFAULT, cutter=6.0, nested=Nesting(8.0, 12.0))
SETTINGS = {
    "plain": DEFAULT,
    "router": ROUTER,
    "inches": replace(ROUTER, unit="in", version="R2010", curves="lines and arcs"),
    "old machine": replace(ROUTER, version="R12", circles="polylines", curves="facets"),
    "splines": replace(ROUTER, curves="splines"),
    "middle of the cutter": replace(ROUTER, compensated=True),
    "tabs and screws": replace(ROUTER, tabs=Tabs(), hold_down=HoldDown(), lead_in=5.0),
    "gaps": replace(ROUTER, tabs=Tabs(left="gaps")),
}
OUT, IN = "CUT_THROUGH_OUTSIDE", "CUT_THROUGH_INSIDE"


@lru_cache(maxsize=1)
def sign() -> PlanFacts:
    facts, findings = plan_facts(SIGN.encode(), "sign.yaml")
    assert facts is not None, findings
    return facts


@lru_cache(maxsize=16)
def made(name: str) -> tuple[CutFiles, TemplateSet, NestedFiles]:
    cut = SETTINGS[name]
    facts = replace(sign(), templates=replace(sign().templates, cut=cut))
    templates = template_set(facts.bench, cut)
    return cut, templates, nested_files(facts, templates)


def only(found: NestedFiles) -> tuple[bytes, dict[str, Any]]:
    """The one sheet that all parts lie on."""
    assert found.findings == ()
    (told,) = found.told
    (sheet,) = told["sheets"]
    return found.files[sheet["path"]], {**told, **sheet}


def outlines(data: bytes, tmp_path: Path, k: float) -> dict[str, list[Polygon]]:
    """Closed shapes by layer as GDAL reads them, in mm; arcs come as chords of four degrees."""
    path = tmp_path / "sheet.dxf"
    path.write_bytes(data)
    meta, _, shapes, fields = read(str(path))
    layers = fields[list(meta["fields"]).index("Layer")]
    found: dict[str, list[Polygon]] = {}
    for layer in set(layers):
        lines = [
            shapely.set_precision(g if g.geom_type != "Polygon" else g.exterior, 1e-7)
            for g in (shapely.from_wkb(w) for w, name in zip(shapes, layers, strict=True) if name == layer)
        ]
        rings = [Polygon(p.exterior) for p in shapely.polygonize(lines).geoms]
        found[layer] = [affinity.scale(r, k, k, origin=(0, 0)) for r in rings]
    return found


@pytest.mark.parametrize("name", [n for n in SETTINGS if n not in ("gaps", "middle of the cutter")])
def test_on_the_file_alone_parts_lie_apart_on_the_sheet_and_along_the_grain(
    name: str, tmp_path: Path
) -> None:
    cut, templates, found = made(name)
    data, told = only(found)
    k = 1.0 if cut.unit == "mm" else 25.4
    shapes = outlines(data, tmp_path, k)
    outer, inner = shapes[OUT], shapes[IN]
    assert len(outer) == sum(f.nominal.quantity for f in templates.files) == 6
    sheet = shapes["SHEET"][0]
    assert sheet.bounds == pytest.approx((0, 0, told["length"], told["width"]), abs=1e-4)
    assert all(sheet.buffer(2e-3 - told["margin"], join_style="mitre").contains(s) for s in outer)
    wood = [
        Polygon(s.exterior, [i.exterior for i in inner if s.contains(i) and s.area < 9 * i.area])
        for s in outer
    ]
    for i, a in enumerate(wood):
        # chords lie inside outer arcs by r (1 - cos 2 deg), outside openings by as much
        assert all(a.distance(b) > told["spacing"] - 2e-3 for b in wood[i + 1 :])
    assert told["spacing"] == (3.0 if name == "plain" else 8.0)
    for part in told["parts"]:
        assert part["quarters"] in (0, 2)
        file = next(f for f in templates.files if f.path == part["file"])
        own = Polygon(facets(file.template.outline.curves))
        lies = affinity.translate(affinity.rotate(own, 90 * part["quarters"], origin=(0, 0)), *part["at"])
        assert min(lies.symmetric_difference(s).area for s in outer) < 2e-3 * lies.area


@pytest.mark.parametrize("name", SETTINGS)
def test_a_second_reader_finds_all_lines_of_all_parts(name: str) -> None:
    cut, _, found = made(name)
    data, _ = only(found)
    document = opened(data)
    assert not document.audit().errors
    assert not document.audit().fixes
    assert all(byte < 128 for byte in data)
    assert document.acad_release == cut.version
    assert read_again(data)


@pytest.mark.parametrize("name", ["plain", "router", "middle of the cutter"])
def test_a_small_part_in_an_opening_is_cut_free_before_the_opening_and_marks_come_first(name: str) -> None:
    data, _ = only(made(name)[2])
    entities = list(opened(data).modelspace())
    layers = [e.dxf.layer.split("_C")[0] if e.dxf.layer.endswith("_C300") else e.dxf.layer for e in entities]
    assert layers[0] == "SHEET"
    assert max(i for i, x in enumerate(layers) if x == "ENGRAVE") < layers.index(IN)
    rings = [
        Polygon(facets(contour_of(e))) if x in (IN, OUT) else None
        for e, x in zip(entities, layers, strict=True)
    ]
    for i, a in enumerate(rings):
        for b in rings[i + 1 :]:
            # whatever comes later never lies inside what is cut free already
            assert a is None or b is None or not a.contains(b)
    inside = [a for a in rings if a and sum(b.contains(a) for b in rings if b and b is not a) == 2]
    assert len(inside) == 1, "the tray lies in the sign's window"


def test_the_middle_of_the_cutter_keeps_parts_as_far_apart(tmp_path: Path) -> None:
    _, _, found = made("middle of the cutter")
    data, told = only(found)
    shapes = outlines(data, tmp_path, 1.0)
    outer = [s for layer, mine in shapes.items() if layer.startswith(OUT) for s in mine]
    inner = [s for layer, mine in shapes.items() if layer.startswith(IN) for s in mine]
    wood = [
        Polygon(s.exterior, [i.exterior for i in inner if s.contains(i) and s.area < 9 * i.area])
        for s in outer
    ]
    assert len(wood) == 6
    gaps = [a.distance(b) for i, a in enumerate(wood) for b in wood[i + 1 :]]
    assert min(gaps) == pytest.approx(told["spacing"] - 6.0, abs=0.6)
    assert min(gaps) > told["spacing"] - 6.0 - 2e-3
    assert min(s.bounds[0] for s in outer) >= told["margin"] - 3.0 - 2e-3


def test_screws_of_the_sheet_keep_clear_of_all_parts(tmp_path: Path) -> None:
    _, _, found = made("tabs and screws")
    data, told = only(found)
    entities = list(opened(data).modelspace())
    screws = [e.dxf.center for e in entities if e.dxf.layer == "HOLD_DOWN"]
    assert len(screws) >= 8
    outer = outlines(data, tmp_path, 1.0)[OUT]
    for screw in screws:
        point = shapely.Point(screw.x, screw.y)
        assert 12.0 - 1e-6 <= screw.x <= told["length"] - 12.0 + 1e-6
        assert all(point.distance(s) >= 12.0 + 6.0 - 2e-3 for s in outer)
    assert Counter(e.dxf.layer for e in entities)["KEEP_OUT"] == len(screws)


def test_a_part_as_long_as_the_sheet_takes_the_sheets_own_edge() -> None:
    long = SIGN.replace("width: 160\n    length: 300", "width: 160\n    length: 2440")
    facts, findings = plan_facts(long.encode(), "sign.yaml")
    assert facts is not None, findings
    found = nested_files(facts, template_set(facts.bench, DEFAULT))
    assert found.findings == ()
    assert (found.told[0]["margin"], len(found.told[0]["sheets"])) == (0.0, 1)


def shape_of(entity: DXFEntity) -> Polygon:
    return Polygon(facets(contour_of(entity)))


def on_layer(document: Drawing, layer: str) -> list[DXFEntity]:
    """The largest first."""
    return sorted((e for e in document.modelspace() if e.dxf.layer == layer), key=lambda e: -shape_of(e).area)


def run_into(document: Drawing) -> None:
    """The middle of a bracket on the sign's corner."""
    sign, bracket, *_ = on_layer(document, OUT)
    to, at = shape_of(sign).bounds, shape_of(bracket).centroid
    bracket.translate(to[0] - at.x, to[1] - at.y, 0)


def off_the_sheet(document: Drawing) -> None:
    on_layer(document, OUT)[1].translate(0, -1000, 0)


def no_window(document: Drawing) -> None:
    document.modelspace().delete_entity(on_layer(document, IN)[0])


def window_away(document: Drawing) -> None:
    on_layer(document, IN)[0].translate(1200, 0, 0)


@pytest.mark.parametrize(
    ("mutation", "word"),
    [
        (run_into, "runs into another"),
        (off_the_sheet, "off the sheet"),
        (no_window, "in the wood of another part"),
        (window_away, "no opening of one part"),
    ],
    ids=lambda v: getattr(v, "__name__", ""),
)
def test_the_lint_lets_no_sheet_out_whose_parts_do_not_lie_clear(
    mutation: Callable[[Drawing], None], word: str
) -> None:
    cut, templates, _ = made("plain")
    parts = [(f.path, f.nominal, f.ready) for f in templates.files]
    breakdown = next(row.breakdown for row in sign().materials if row.breakdown is not None)
    laid = nested_stock(breakdown, parts, cut, sign().bench)
    assert laid is not None
    document, layers = cut_document(laid.sheets[0], cut), layers_of(laid.sheets[0], cut)
    assert document_faults(document, layers, cut) == ()
    mutation(document)
    assert word in " | ".join(document_faults(document, layers, cut))


def test_without_wishing_for_them_there_are_none() -> None:
    facts = replace(sign(), templates=replace(sign().templates, cut=replace(DEFAULT, nested=None)))
    assert nested_files(facts, template_set(facts.bench, DEFAULT)) == NestedFiles({}, [])


def test_a_spacing_that_leaves_no_room_is_told_at_the_part() -> None:
    cut = replace(DEFAULT, nested=Nesting(3.0, 700.0))
    facts = replace(sign(), templates=replace(sign().templates, cut=cut))
    found = nested_files(facts, template_set(facts.bench, cut))
    assert found.files == {}
    assert [f.level for f in found.findings] == ["warning"]
    assert "find no place on a sheet" in found.findings[0].text


def test_a_sheets_area_is_that_of_its_parts() -> None:
    _, templates, found = made("router")
    _, told = only(found)
    wood = 0.0
    for file in templates.files:
        through = [c for c in file.template.contours if c.operation.startswith("through")]
        own = [abs(Polygon(facets(c.curves)).area) for c in through]
        wood += file.nominal.quantity * (own[-1] - math.fsum(own[:-1]))
    assert told["used"] == pytest.approx(wood, rel=1e-4)
    for file in templates.files:
        assert read_as_drawn(file.data, file.template, SETTINGS["router"])
