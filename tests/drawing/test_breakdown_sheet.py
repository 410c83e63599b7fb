"""How a sheet is broken down, on paper: to scale, everything labelled, every cut numbered once."""

import re
from fractions import Fraction

import pytest

from plangen.drawing.breakdown_sheet import breakdown_block, settings_table, sheet_breakdown
from plangen.drawing.lettering import corners
from plangen.drawing.mark_geometry import drawn, extents
from plangen.drawing.marks import Lettering
from plangen.stock import SheetPart, SheetStock, cut_sheets
from plangen.stock.sheets.cuts import numbered_cuts
from plangen.stock.sheets.layout import KeepOut
from plangen.units import UnitStyle

MM = UnitStyle("mm", Fraction(1), Fraction(1, 10))
PARTS = [
    SheetPart("A", 720, 300, 4, "along"),
    SheetPart("B", 562, 280, 4, "along"),
    SheetPart("C", 720, 580, 2),
]


@pytest.fixture(scope="module")
def layout():
    ply = SheetStock("ply", 2440, 1220, grain="along", keep_outs=(KeepOut(1500, 500, 100, 60),))
    return cut_sheets([ply], PARTS, 3, 10, effort=1)


@pytest.fixture(scope="module")
def block(layout):
    return breakdown_block("sheet", sheet_breakdown(layout, 0, MM), 244 + 5, 200)


def words(block):
    return [m for m in drawn(block.marks) if isinstance(m, Lettering)]


def test_every_part_carries_its_name_and_size_inside_itself(layout, block):
    """Drawn at 1:10: a place on paper is ten times as far on the sheet; beside and above is room for numbers."""
    said = [w for w in words(block) if re.match(r"[ABC] \d+ × \d+$", w.text)]
    placed = layout.sheets[0].placed
    assert sorted(w.text[0] for w in said) == sorted(layout.parts[p.part].name for p in placed)
    for w in said:
        around = [((x - 5) * 10, (y + 122 + 1.7) * 10) for x, y in corners(w)]
        part = next(
            p for p in placed if all(p.x < x < p.x + p.length and p.y < y < p.y + p.width for x, y in around)
        )
        assert w.text == f"{layout.parts[part.part].name} {part.length:.0f} × {part.width:.0f}"


def test_every_cut_has_its_number_once_and_no_two_numbers_meet(layout, block):
    numbers = [w for w in words(block) if w.weight == "bold"]
    cuts = numbered_cuts(layout, layout.sheets[0])
    assert [int(w.text) for w in numbers] == [c.number for c in cuts]
    boxes = [
        (min(x for x, _ in c), min(y for _, y in c), max(x for x, _ in c), max(y for _, y in c))
        for c in map(corners, numbers)
    ]
    for i, a in enumerate(boxes):
        assert not any(a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3] for b in boxes[:i])


def test_the_table_gives_every_cut_its_stop(layout):
    table = settings_table(layout, 0, MM)
    stops = {int(n): stop for numbers, _, stop in table.rows for n in numbers.split(", ")}
    assert stops == {c.number: f"{c.setting:.0f}" for c in numbered_cuts(layout, layout.sheets[0])}


def test_the_picture_keeps_to_its_room(block):
    x0, y0, x1, y1 = extents(block.marks)
    assert (x0 > -0.5, y0 >= -block.height - 0.5, x1 <= block.width + 1.5, y1 <= 0.01) == (True,) * 4
