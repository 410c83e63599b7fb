"""Lists down one sheet after another: words about a table stand with it."""

from __future__ import annotations

import pytest
from worked_out import PROJECT, sheets_of

from plangen.drawing.draft import SheetStyle, free_field
from plangen.drawing.mark_geometry import drawn, extent
from plangen.drawing.marks import Lettering, Stroke
from plangen.drawing.ruled_table import Column, Table
from plangen.drawing.table_flow import Passage, flow, side_by_side


def drawn_within(sheet):
    """Lines that stand in the field of a sheet, which tables and pictures have and words have not."""
    x0, y0, x1, y1 = free_field(sheet.paper)
    boxes = [extent(m) for m in drawn(sheet.marks) if isinstance(m, Stroke)]
    return [b for b in boxes if b[0] > x0 + 1 and b[1] > y0 + 1 and b[2] < x1 - 1 and b[3] < y1 - 1]


@pytest.mark.parametrize("path", PROJECT, ids=lambda p: p.stem)
def test_no_sheet_of_a_list_holds_notes_alone(path):
    lists = [s for s in sheets_of(path) if s.kind == "lists"]
    assert lists
    assert [s.title for s in lists if not drawn_within(s)] == []


@pytest.mark.parametrize("rows", range(1, 60))
def test_notes_take_the_last_rows_of_a_table_along_that_fills_its_sheet(rows):
    """Too wide for upright paper, so that the sheets are what they are."""
    style, wide = SheetStyle("A4", "A3", "first", "mm"), "board and more " * 8
    table = Table("Parts", (Column("Mark"), Column("Part")), tuple((str(i), wide) for i in range(rows)))
    notes = side_by_side(["Sizes are finished sizes.", "Cut long what is fitted on the work. " * 6], style)
    drafts = flow(Passage("k", "List", "What to cut", [table], notes), style)
    cells = [[m.text for m in drawn(d.marks) if isinstance(m, Lettering)] for d in drafts]
    assert all(d.paper == "A4 landscape" for d in drafts)
    assert all(wide in texts for texts in cells)
    assert sorted(int(t) for texts in cells for t in texts if t.isdigit()) == list(range(rows))
