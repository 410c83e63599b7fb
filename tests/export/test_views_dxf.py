"""views.dxf read again: by ezdxf's audit, and by GDAL (pyogrio), which knows nothing of us."""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import pytest
import shapely
from dxf_reading import opened
from ezdxf.document import Drawing
from ezdxf.entities import Dimension
from pyogrio import set_gdal_config_options
from pyogrio.raw import read

from plangen.drawing.placing_rule import Method
from plangen.drawing.scene_views import aligned_origins, elevation_views
from plangen.drawing.view_on_paper import ProjectedView
from plangen.export.dxf import views_dxf_bytes
from plangen.export.dxf_text import ascii_figure, ascii_words
from plangen.facts import PlanFacts
from plangen.geometry.curves import Curve
from plangen.geometry.views import FRONT

LAYERS = {"OUTLINE", "HIDDEN", "CENTRE", "DIM", "TEXT", "TITLE"}
KINDS = {"LINE", "ARC", "CIRCLE", "TEXT", "DIMENSION"}


_WRITTEN: dict[str, bytes] = {}


def bytes_of(facts: PlanFacts) -> bytes:
    if facts.sha256 not in _WRITTEN:
        _WRITTEN[facts.sha256] = views_dxf_bytes(facts, elevation_views(facts))
    return _WRITTEN[facts.sha256]


@pytest.fixture
def path(facts: PlanFacts, tmp_path: Path) -> Path:
    found = tmp_path / "views.dxf"
    found.write_bytes(bytes_of(facts))
    return found


def dimensions(document: Drawing) -> Iterator[Dimension]:
    for entity in document.modelspace():
        if isinstance(entity, Dimension):
            yield entity


def unit_of(facts: PlanFacts) -> float:
    """Millimetres in a drawing unit."""
    return 25.4 if facts.style.length == "in" else 1.0


def test_the_file_is_sound_ascii_in_the_designs_own_unit(facts: PlanFacts, path: Path) -> None:
    path.read_bytes().decode("ascii")
    assert b"\r" not in path.read_bytes()
    document = opened(path.read_bytes())
    audit = document.audit()
    assert not audit.errors
    assert not audit.fixes
    header = document.header
    assert document.dxfversion == "AC1015"
    assert (header["$INSUNITS"], header["$MEASUREMENT"]) == ((1, 0) if facts.style.length == "in" else (4, 1))
    assert header["$DIMLFAC"] == 1
    assert header["$DIMSCALE"] == 1
    assert header["$DIMDSEP"] == 46
    style = document.dimstyles.get(header["$DIMSTYLE"])
    for name in ("dimtxt", "dimasz", "dimexe", "dimexo", "dimgap", "dimscale", "dimlfac", "dimdec", "dimzin"):
        assert header[f"${name.upper()}"] == style.dxf.get(name)
    (x0, y0, _), (x1, y1, _) = header["$EXTMIN"], header["$EXTMAX"]
    assert x0 < x1 < 1e5
    assert y0 < y1 < 1e5


def test_layers_carry_line_type_and_weight_and_hold_all_there_is(path: Path) -> None:
    document = opened(path.read_bytes())
    for name in LAYERS:
        layer = document.layers.get(name)
        assert layer.dxf.lineweight >= 18
        assert layer.dxf.linetype in document.linetypes
    assert document.layers.get("HIDDEN").dxf.linetype != document.layers.get("OUTLINE").dxf.linetype
    for entity in document.modelspace():
        assert entity.dxftype() in KINDS
        assert entity.dxf.layer in LAYERS


def test_nothing_is_drawn_twice(path: Path) -> None:
    seen = set()
    for entity in opened(path.read_bytes()).modelspace():
        if entity.dxftype() == "LINE":
            ends = sorted([tuple(entity.dxf.start), tuple(entity.dxf.end)])
            numbers = [*ends[0], *ends[1]]
        elif entity.dxftype() == "ARC":
            numbers = [*entity.dxf.center, entity.dxf.radius, entity.dxf.start_angle, entity.dxf.end_angle]
        elif entity.dxftype() == "CIRCLE":
            numbers = [*entity.dxf.center, entity.dxf.radius]
        else:
            continue
        key = (entity.dxftype(), *(round(n, 4) for n in numbers))
        assert key not in seen
        seen.add(key)


def test_every_dimension_has_its_block_and_says_what_it_measures(facts: PlanFacts, path: Path) -> None:
    found = list(dimensions(opened(path.read_bytes())))
    assert len(found) == len(facts.elevation_figures)
    for entity in found:
        block = entity.get_geometry_block()
        assert block is not None
        assert len(list(block)) > 3
        words = [
            e.plain_text() if e.dxftype() == "MTEXT" else e.dxf.text
            for e in block
            if e.dxftype() in ("MTEXT", "TEXT")
        ]
        assert words == [entity.dxf.text]
        measured = entity.get_measurement()
        assert isinstance(measured, float)
        angular = entity.dimtype in (2, 5)
        if angular:
            assert measured < 180
            assert all((e.dxf.end_angle - e.dxf.start_angle) % 360 < 180 for e in block.query("ARC"))
        said = value_said(entity.dxf.text)
        step = float(facts.style.angle_step if angular else facts.style.step / Fraction(unit_of(facts)))
        assert abs(float(said) - measured) <= step * (1 + 1e-6), entity.dxf.text


def value_said(text: str) -> Fraction:
    """A DIMENSION's words back to a number of drawing units, or degrees."""
    assert text.isascii()
    assert not re.search(r"[\\%{}<>]", text)
    plain = text.strip("()").removesuffix(" deg").removesuffix('"')
    feet, inches = plain.split("'") if "'" in plain else ("0", plain)
    total = 12 * Fraction(feet)
    for part in filter(None, re.split(r"[-\s]+", inches.strip('"'))):
        total += Fraction(part)
    return total


def test_every_figure_of_the_elevations_stands_once_with_its_exact_value(
    facts: PlanFacts, path: Path
) -> None:
    drawn = list(dimensions(opened(path.read_bytes())))
    for is_angle, unit in ((False, unit_of(facts)), (True, 1.0)):
        measured = sorted(d.get_measurement() * unit for d in drawn if (d.dimtype in (2, 5)) == is_angle)
        stated = sorted(f.value for f in facts.elevation_figures if (f.kind == "angular") == is_angle)
        assert measured == pytest.approx(stated, abs=1e-3)


@pytest.fixture
def arcs_by_fine_chords() -> Iterator[None]:
    """GDAL draws arcs by chords of four degrees unless told otherwise: short of a flat arc's top by 0.003 mm."""
    set_gdal_config_options({"OGR_ARC_STEPSIZE": 0.1})
    yield
    set_gdal_config_options({"OGR_ARC_STEPSIZE": None})


@pytest.mark.usefixtures("arcs_by_fine_chords")
def test_gdal_finds_the_strokes_of_every_view_at_full_size(facts: PlanFacts, path: Path) -> None:
    """Chords of a tenth of a degree fall short of an arc by 4e-7 of its radius; free curves are kept to 0.01 mm."""
    meta, _, shapes, fields = read(str(path))
    layers = fields[list(meta["fields"]).index("Layer")]
    outline = [shapely.from_wkb(s) for s, layer in zip(shapes, layers, strict=True) if layer == "OUTLINE"]
    length = math.fsum(s.length for s in outline) * unit_of(facts)
    views = elevation_views(facts)
    true = math.fsum(curve_length(s.curve) for v in views for s in v.strokes if s.visible)
    assert length == pytest.approx(true, rel=1e-5)
    front = next(v for v in views if v.name == "front")
    at = shapely.box(*(c / unit_of(facts) for c in front.box)).buffer(1e-4)
    inside = [s for s in outline if at.contains(s)]
    x0, y0, x1, y1 = shapely.total_bounds(inside)
    assert [c * unit_of(facts) for c in (x0, y0, x1, y1)] == pytest.approx(front.box, abs=2e-4)


def curve_length(curve: Curve) -> float:
    points = [curve.at(i / 256) for i in range(257)]
    return math.fsum(math.dist(a, b) for a, b in itertools.pairwise(points))


# --- where views stand ------------------------------------------------------------------------------------


def view(name: str, box: tuple[float, float, float, float]) -> ProjectedView:
    return ProjectedView(name, FRONT, (), box)


FRONT_BOX = (-300.0, 0.0, 300.0, 700.0)


@pytest.mark.parametrize(
    ("method", "side", "right"),
    [("third", "right", True), ("third", "left", False), ("first", "left", True), ("first", "right", False)],
)
def test_side_and_plan_line_up_with_the_front_by_the_method(method: Method, side: str, right: bool) -> None:
    """ISO 5456-2 (from memory): first angle sets each view on the far side of the front view."""
    plan = view("plan", (-300.0, -50.0, 300.0, 250.0))
    views = (view("front", FRONT_BOX), view(side, (-50.0, 0.0, 250.0, 700.0)), plan)
    origins = aligned_origins(views, method, (100.0, 100.0))
    x, y = origins[side]
    assert y == 0
    assert (x - 50 == 400) if right else (x + 250 == -400)
    assert origins["plan"][0] == 0
    assert origins["plan"][1] == (850.0 if method == "third" else -350.0)


# --- words in ASCII ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("printed", "angular", "unit", "expected"),
    [
        ("3 15/16", False, "in", '3-15/16"'),
        ("36", False, "in", '36"'),
        ("1/2", False, "in", '1/2"'),
        ("(3 15/16)", False, "in", '(3-15/16")'),
        ("6' 7 1/2\"", False, "in", "6' 7-1/2\""),
        ("120", False, "mm", "120"),
        ("(120.5)", False, "mm", "(120.5)"),
        ("12.25°", True, "in", "12.25 deg"),
        ("Ø 3/8", False, "in", '3/8" DIA'),
        ("R85", False, "mm", "R85"),
    ],
)  # fmt: skip
def test_figures_are_written_as_every_reader_gets_them_right(
    printed: str, angular: bool, unit: str, expected: str
) -> None:
    assert ascii_figure(printed, angular, "in" if unit == "in" else "mm") == expected


def test_words_lose_accents_before_they_lose_their_meaning() -> None:
    assert ascii_words("Türblatt – 2 × ½ zoll, Æble, 木") == "Turblatt - 2 x 1/2 zoll, AEble, ?"
