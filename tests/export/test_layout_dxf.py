"""Layouts as DXF, read back by two readers that know nothing of ours: areas, places and numbers of cuts."""

import io
from collections import Counter
from fractions import Fraction

import ezdxf
import pyogrio
import pytest
import shapely

from plangen.export.layout_dxf import layout_files
from plangen.stock.cutting_list import CuttingRow
from plangen.stock.laid_pieces import laid_stock
from plangen.stock.materials_list import listed
from plangen.tables.allowances import ALLOWANCES
from plangen.tables.stock import resolve_stock
from plangen.tables.yard import Lying, Sold, Yard
from plangen.units import UnitStyle

MM = UnitStyle("mm", Fraction(1), Fraction(1, 10))
LAYERS = {"part": "PART", "offcut": "OFFCUT", "spoilt": "KEEP_OUT"}


def _row(mark: str, stock: str, length: float, width: float, thickness: float, quantity: int) -> CuttingRow:
    size = (length, width, thickness)
    return CuttingRow(
        mark, f"part {mark}", "work", resolve_stock(stock, "mm"), quantity, 0, 0, size, size, "worked", "length", None
    )  # fmt: skip


@pytest.fixture(scope="module")
def rows():
    parts = [
        _row("A", "45 x 95 mm larch", 1100.5, 95, 45, 4),
        _row("B", "45 x 95 mm larch", 333.3, 95, 45, 3),
        _row("C", "12 mm plywood", 700, 300, 12, 5),
        _row("D", "12 mm plywood", 250, 180.5, 12, 4),
    ]
    yard = Yard(
        sold=(Sold("45 x 95 mm larch", (2400.0, 3000.0)), Sold("12 mm plywood", sheet=(1525.0, 1525.0))),
        lying=(
            Lying("45 x 95 mm larch", 1700, knots=((500.0, 530.0),)),
            Lying("12 mm plywood", 900, 600, spoilt=((0.0, 0.0, 80.0, 60.0),)),
        ),
    )
    return listed(parts, "mm", ALLOWANCES["mm"], yard)


@pytest.fixture(scope="module")
def files(rows):
    return layout_files(rows, MM)


@pytest.fixture(scope="module")
def pieces(rows):
    return [piece for row in rows for piece in laid_stock(row.breakdown)]


def test_every_board_and_sheet_has_a_file_of_its_own(files, pieces) -> None:
    assert len(files) == len(pieces) > 3
    assert {"layout/45-x-95-mm-larch-1.dxf", "layout/12-mm-plywood-1.dxf"} <= set(files)


def test_areas_are_those_of_the_layout_at_full_size(files, pieces) -> None:
    for data, piece in zip(files.values(), pieces, strict=True):
        document = ezdxf.read(io.StringIO(data.decode("ascii")))
        assert document.units == ezdxf.units.MM
        assert not document.audit().errors
        drawn = Counter()
        for line in document.modelspace().query("LWPOLYLINE"):
            assert line.closed
            shape = shapely.Polygon(line.get_points("xy"))
            drawn[line.dxf.layer, tuple(round(v, 3) for v in shape.bounds)] += 1
        meant = Counter({(piece.kind, (0.0, 0.0, round(piece.length, 3), round(piece.width, 3))): 1})
        for a in piece.areas:
            box = (a.x, a.y, a.x + a.length, a.y + a.width)
            meant[LAYERS[a.use], tuple(round(v, 3) for v in box)] += 1
        assert drawn == meant


def test_another_reader_finds_the_same_areas_and_none_overlap(files, pieces, tmp_path) -> None:
    for number, (data, piece) in enumerate(zip(files.values(), pieces, strict=True)):
        path = tmp_path / f"{number}.dxf"
        path.write_bytes(data)
        _, _, shapes, (layers, *_) = pyogrio.raw.read(path, columns=["Layer"])
        closed = {name: [] for name in LAYERS.values()}
        for layer, shape in zip(layers, map(shapely.from_wkb, shapes), strict=True):
            if layer in closed:
                corners = shapely.get_coordinates(shape)
                closed[layer].append(shapely.Polygon(corners))
        for use, layer in LAYERS.items():
            meant = sum(a.length * a.width for a in piece.areas if a.use == use)
            assert sum(s.area for s in closed[layer]) == pytest.approx(meant, abs=1e-3)
        parts = closed["PART"]
        spoilt = shapely.union_all(closed["KEEP_OUT"])
        assert shapely.union_all(parts).area == pytest.approx(sum(s.area for s in parts))
        assert all(p.intersection(spoilt).area < 1e-6 for p in parts)


def test_cuts_are_numbered_in_order_with_a_stop_each(files, pieces) -> None:
    for data, piece in zip(files.values(), pieces, strict=True):
        space = ezdxf.read(io.StringIO(data.decode("ascii"))).modelspace()
        numbers = [t.dxf.text for t in space.query('TEXT[layer=="CUT"]')]
        assert numbers == [str(n) for n in range(1, len(piece.cuts) + 1)]
        lines = [(line.dxf.start, line.dxf.end) for line in space.query('LINE[layer=="CUT"]')]
        for (start, end), cut in zip(lines, piece.cuts, strict=True):
            assert (start.x, start.y, end.x, end.y) == pytest.approx((*cut.start, *cut.end), abs=1e-3)
            assert (start.x == pytest.approx(end.x)) == cut.upright
        said = [t.dxf.text for t in space.query('TEXT[layer=="STOP"]')]
        assert len(said) == 1 + len(piece.cuts)
        assert ("from the shop" in said[0]) == piece.shop
        for text, cut in zip(said[1:], piece.cuts, strict=True):
            assert text.startswith(f"Cut {cut.number}: {'crosscut' if cut.upright else 'rip'}")
            assert ("square the end" in text) == (cut.stop is None)


def test_each_part_is_labelled_in_its_own_rectangle(files, pieces) -> None:
    for data, piece in zip(files.values(), pieces, strict=True):
        space = ezdxf.read(io.StringIO(data.decode("ascii"))).modelspace()
        told = Counter()
        for text in space.query('TEXT[layer=="LABEL"]'):
            at = text.dxf.align_point
            (area,) = [a for a in piece.areas if a.x < at.x < a.x + a.length and a.y < at.y < a.y + a.width]
            told[area.name] += 1
            assert text.dxf.text.startswith(area.name)
        assert told == Counter(a.name for a in piece.areas if a.use != "spoilt")
