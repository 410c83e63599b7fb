"""sheets.dxf: every sheet with views laid out in paper space, read by ezdxf's audit and by GDAL (pyogrio)."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path

import ezdxf
import pytest
from dxf_reading import opened
from ezdxf.document import Drawing
from ezdxf.entities import Dimension
from pyogrio.raw import read
from worked_out import facts_of, given, sheets_of

from plangen.drawing.linework import LINES
from plangen.drawing.marks import AngularDimension, Group, LinearDimension, Mark, Sheet, Stroke
from plangen.drawing.scene_views import elevation_views
from plangen.export.dxf import views_dxf_bytes
from plangen.export.dxf_sheets import layout_name, sheet_layer, sheets_dxf_bytes
from plangen.export.dxf_text import sheet_words
from plangen.geometry.curves import Arc

_WRITTEN: dict[Path, bytes] = {}


@pytest.fixture
def document(path: Path) -> Drawing:
    return opened(written(path))


def written(path: Path) -> bytes:
    if path not in _WRITTEN:
        facts = facts_of(path)
        _WRITTEN[path] = sheets_dxf_bytes(facts, elevation_views(facts), sheets_of(path))
    return _WRITTEN[path]


def drawn(path: Path) -> list[Sheet]:
    return [s for s in sheets_of(path) if s.views]


def each(marks: tuple[Mark, ...]) -> Iterator[Mark]:
    for mark in marks:
        if isinstance(mark, Group):
            yield from each(mark.marks)
        else:
            yield mark


@given("splayed-trestle", "tool-tote")
def test_a_sheet_with_views_is_a_layout_of_its_paper(path: Path, document: Drawing) -> None:
    written(path).decode("ascii")
    audit = document.audit()
    assert not audit.errors
    assert not audit.fixes
    assert document.layouts.names()[1:] == [layout_name(s) for s in drawn(path)]
    for sheet in drawn(path):
        layout = document.layouts.get(layout_name(sheet))
        dxf = layout.dxf_layout.dxf
        assert (dxf.paper_width, dxf.paper_height) == (sheet.width, sheet.height)
        words = {e.dxf.text for e in layout.query("TEXT")}
        assert {"OWNER", "SHEET", sheet.number} <= words


@given("splayed-trestle", "tool-tote")
def test_a_dimension_in_paper_space_measures_the_work(path: Path, document: Drawing) -> None:
    """Its own points apart, by the factor of its style, are the exact value; its block says its text once."""
    unit = 25.4 if facts_of(path).style.length == "in" else 1.0
    for sheet in drawn(path):
        entities = [e for e in document.layouts.get(layout_name(sheet)) if isinstance(e, Dimension)]
        marks = [m for m in each(sheet.marks) if isinstance(m, LinearDimension | AngularDimension)]
        assert len(entities) == len(marks)
        for entity, mark in zip(entities, marks, strict=True):
            measured = entity.get_measurement()
            assert isinstance(measured, float)
            if isinstance(mark, LinearDimension):
                factor = document.dimstyles.get(entity.dxf.dimstyle).dxf.dimlfac
                scale = 1 / (factor * unit)
                assert min(abs(scale - v.scale) for v in sheet.views) < 1e-9
                assert measured * factor * unit == pytest.approx(mark.value, abs=2e-6 / scale)
                assert entity.dxf.actual_measurement * unit == pytest.approx(mark.value, abs=1e-6)
            else:
                assert measured == pytest.approx(mark.value, abs=1e-6)
            block = entity.get_geometry_block()
            assert block is not None
            assert [e.dxf.text for e in block.query("TEXT")] == [entity.dxf.text] == [sheet_words(mark.text)]


@given("splayed-trestle", "tool-tote")
def test_a_viewport_shows_a_view_where_the_sheet_has_it_at_its_scale(path: Path, document: Drawing) -> None:
    facts = facts_of(path)
    unit = 25.4 if facts.style.length == "in" else 1.0
    sheet = next(s for s in drawn(path) if s.kind == "elevations")
    boxes = {v.name: v.box for v in elevation_views(facts)}
    layout = document.layouts.get(layout_name(sheet))
    ports = [v for v in layout.query("VIEWPORT") if v.dxf.id > 1]
    assert len(ports) == len(sheet.views) == 3
    front = next(v for v in sheet.views if v.name == "front")
    for port, stand in zip(ports, sheet.views, strict=True):
        assert port.dxf.height / port.dxf.view_height / unit == pytest.approx(stand.scale, rel=1e-6)
        x0, y0, x1, y1 = boxes[stand.name]
        middle = [
            stand.origin[0] + (x0 + x1) / 2 * stand.scale,
            stand.origin[1] + (y0 + y1) / 2 * stand.scale,
        ]
        assert [port.dxf.center.x, port.dxf.center.y] == pytest.approx(middle, abs=1e-6)
        assert port.dxf.width >= (x1 - x0) * stand.scale
        assert set(port.frozen_layers) >= {"DIM", "TEXT", "TITLE"}
        lines = [e for e in document.modelspace().query("LINE") if e.dxf.layer == "OUTLINE"]
        seen = [e for e in lines if _is_seen(e.dxf.start, port) and _is_seen(e.dxf.end, port)]
        xs = [p.x for e in seen for p in (e.dxf.start, e.dxf.end)]
        assert (max(xs) - min(xs)) * unit == pytest.approx(x1 - x0, abs=1e-3)
    assert front.scale == sheet.views[0].scale
    narrow = [m for m in sheet.marks if isinstance(m, Stroke) and m.use == "narrow"]
    round_ = [m for m in narrow if isinstance(m.curves[0], Arc) and m.curves[0].is_full]
    rings = [e for e in layout.query("CIRCLE") if e.dxf.layer == sheet_layer("narrow")]
    for mark in round_:
        # a ring round what is drawn large elsewhere lies over the view and is not an edge of it
        assert any(math.dist(e.dxf.center.vec2, mark.curves[0].centre) < 1e-6 for e in rings)
    edges = [e for e in layout.query("LINE") if e.dxf.layer == sheet_layer("outline")]
    assert not any(_within(e, ports) for e in edges)


def _is_seen(p: ezdxf.math.Vec3, port: ezdxf.entities.Viewport) -> bool:
    half = port.dxf.view_height / 2
    centre = port.dxf.view_center_point
    return abs(p.x - centre.x) <= half * port.dxf.width / port.dxf.height and abs(p.y - centre.y) <= half


def _within(line: ezdxf.entities.Line, ports: list[ezdxf.entities.Viewport]) -> bool:
    return any(
        all(
            abs(p.x - v.dxf.center.x) < v.dxf.width / 2 and abs(p.y - v.dxf.center.y) < v.dxf.height / 2
            for p in (line.dxf.start, line.dxf.end)
        )
        for v in ports
    )


@given("splayed-trestle", "tool-tote")
def test_dashes_are_as_long_on_paper_in_both_spaces(path: Path, document: Drawing) -> None:
    """A dash of the pattern by the document's factor and the entity's own; through a viewport by its scale too."""
    facts = facts_of(path)
    unit = 25.4 if facts.style.length == "in" else 1.0
    header = document.header
    sheet = next(s for s in drawn(path) if s.kind == "elevations")
    assert header["$PSLTSCALE"] == 0
    assert header["$LTSCALE"] * unit * sheet.views[0].scale == pytest.approx(1, rel=1e-5)
    for use in ("hidden", "centre", "phantom"):
        layer = document.layers.get(sheet_layer(use))
        pattern = document.linetypes.get(layer.dxf.linetype).pattern_tags.tags
        lengths = [abs(t.value) for t in pattern if t.code == 49]
        assert lengths == pytest.approx(LINES[use].dashes)
    dashed = [e for s in drawn(path) for e in document.layouts.get(layout_name(s)).query("LINE ARC CIRCLE")]
    assert dashed
    assert all(e.dxf.ltscale * header["$LTSCALE"] == pytest.approx(1, rel=1e-6) for e in dashed)


@given("splayed-trestle")
def test_gdal_tells_the_sheets_from_the_views(path: Path, tmp_path: Path) -> None:
    """Model space is that of views.dxf; what it adds stands in paper space on layers of its own."""
    facts = facts_of(path)
    (tmp_path / "views.dxf").write_bytes(views_dxf_bytes(facts, elevation_views(facts)))
    (tmp_path / "sheets.dxf").write_bytes(written(path))

    def layers(name: str) -> list[tuple[str, bool]]:
        meta, _, _, fields = read(str(tmp_path / name))
        columns = list(meta["fields"])
        paper = fields[columns.index("PaperSpace")]
        return [
            (layer, bool(p) and not math.isnan(float(p)))
            for layer, p in zip(fields[columns.index("Layer")], paper, strict=True)
        ]

    found = layers("sheets.dxf")
    assert sorted(layer for layer, paper in found if not paper) == sorted(
        layer for layer, _ in layers("views.dxf")
    )
    assert {layer.startswith("SHEET_") for layer, paper in found if paper} == {True}


def test_a_layout_s_name_has_no_sign_that_a_name_may_not_have() -> None:
    sheet = Sheet("S-07", 'Sub-assembly: "base" 1/2 <a|b>; Türe', "assembly", 297, 210, "A4 landscape", ())
    assert layout_name(sheet) == "S-07 Sub-assembly base 1 2 a b Ture"
    assert ezdxf.new().layouts.new(layout_name(sheet)) is not None


def test_a_diameter_is_said_in_words() -> None:
    assert sheet_words("(4 x Ø 3/8 THRU)") == "(4 x DIA 3/8 THRU)"
    assert sheet_words("Ørsted, 30°") == "Orsted, 30 deg"
