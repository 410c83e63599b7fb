"""Tables on paper lose nothing, leave nothing alone, and line their figures up."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plangen.drawing.block import Block, flowed, stacked
from plangen.drawing.lettering import set_text, text_width
from plangen.drawing.mark_geometry import drawn, extents
from plangen.drawing.marks import Lettering, Link, Stroke
from plangen.drawing.overlaps import overlaps
from plangen.drawing.ruled_table import FEWEST_ROWS, Column, Table, table_blocks

COLUMNS = (
    Column("Item", "middle"),
    Column("Qty", "right"),
    Column("Name", wraps=True),
    Column("Length in", "right"),
    Column("Stock", wraps=True),
)
NAMES = ["Leg", "Rail, long", "Apron with a name that goes on over the line and further", ""]
SIZES = ["23 15/16", "7/8", "12", "101 1/2", ""]


def rows(count: int) -> tuple[tuple[str, ...], ...]:
    return tuple(
        (f"P{i}", str(i % 4 + 1), NAMES[i % 4], SIZES[i % 5], "Oak 4/4" if i % 3 else "")
        for i in range(count)
    )


def texts(block: Block) -> list[str]:
    return [m.text for m in drawn(block.marks) if isinstance(m, Lettering)]


@settings(max_examples=60, deadline=None)
@given(
    count=st.integers(1, 60),
    width=st.floats(110, 240),
    first=st.floats(0, 200),
    rest=st.floats(130, 230),
)
def test_every_row_stands_once_within_its_room_and_no_few_rows_alone(
    count: int, width: float, first: float, rest: float
) -> None:
    pieces = table_blocks(Table("CUTTING LIST", COLUMNS, rows(count)), width, [first, rest])
    found = [t for p in pieces for t in texts(p) if t.startswith("P") and t[1:].isdigit()]
    assert found == [f"P{i}" for i in range(count)]
    room = [first] + [rest] * len(pieces)
    for piece, height in zip(pieces, room, strict=False):
        assert piece.height <= height + 1e-6
        assert piece.width <= width + 1e-6
        if piece.marks:
            held = sum(t.startswith("P") and t[1:].isdigit() for t in texts(piece))
            filled = sum(bool(p.marks) for p in pieces)
            assert held >= min(FEWEST_ROWS, count // filled)


@pytest.mark.parametrize("width", [95, 120, 170, 240])
def test_no_cell_touches_a_rule_or_its_neighbour(width: float) -> None:
    for piece in table_blocks(Table("LIST", COLUMNS, rows(25)), width, [230]):
        assert overlaps(piece.marks, 0.3) == ()


def test_the_header_stands_on_every_piece_and_later_ones_say_so() -> None:
    pieces = table_blocks(Table("CUTTING LIST", COLUMNS, rows(40)), 170, [150])
    assert len(pieces) > 1
    assert [texts(p)[0] for p in pieces] == ["CUTTING LIST"] + ["CUTTING LIST (continued)"] * (
        len(pieces) - 1
    )
    assert all("Item" in texts(p) and "Name" in texts(p) for p in pieces)


def test_whole_numbers_end_on_one_upright_and_fractions_begin_on_another() -> None:
    column = (Column("Length", "right"),)
    sizes = ["23 15/16", "7/8", "12", "101 1/2", "(3 1/4)"]
    (piece,) = table_blocks(Table("", column, tuple((s,) for s in sizes)), 60, [200])
    ends, starts = set(), set()
    for mark in drawn(piece.marks):
        if isinstance(mark, Lettering) and mark.text in sizes:
            for part in set_text(mark).pieces:
                if hasattr(part, "bar"):
                    starts.add(round(part.x, 6))
                elif part.text.strip().isdigit():
                    ends.add(round(part.x + text_width(part.text.strip(), 3.5), 6))
    assert len(ends) == 1
    assert len(starts) == 1


def test_an_empty_cell_shows_a_dash() -> None:
    (piece,) = table_blocks(Table("", COLUMNS, rows(4)), 170, [200])
    assert texts(piece).count("—") == 4 * 5 - sum(bool(c) for r in rows(4) for c in r)


def test_a_table_too_high_for_the_first_room_begins_in_the_next() -> None:
    pieces = table_blocks(Table("LIST", COLUMNS, rows(9)), 170, [25, 200])
    assert pieces[0].height == 0
    assert "Item" in texts(pieces[1])


def test_a_row_that_leads_to_a_sheet_is_a_link_over_its_whole_width() -> None:
    table = Table("SHEETS", (Column("Sheet"),), (("S-01",), ("S-02",)), ("S-01", None))
    (piece,) = table_blocks(table, 60, [100])
    (link,) = (m for m in drawn(piece.marks) if isinstance(m, Link))
    assert link.sheet == "S-01"
    assert link.area[2] - link.area[0] == pytest.approx(piece.width)


def test_frame_and_header_rule_are_wide_and_the_rest_narrow_and_none_upright_inside() -> None:
    """Rules 0.25, frame and header rule 0.5 (drawing guide 1.1)."""
    (piece,) = table_blocks(Table("", COLUMNS, rows(6)), 170, [200])
    strokes = [m for m in drawn(piece.marks) if isinstance(m, Stroke)]
    assert sum(s.use == "outline" for s in strokes) == 2
    rules = [s for s in strokes if s.use == "rule"]
    assert len(rules) == 5
    assert all(c.start[1] == c.end[1] for s in rules for c in s.curves)


def test_a_row_of_another_length_is_refused() -> None:
    with pytest.raises(ValueError, match="columns"):
        table_blocks(Table("LIST", COLUMNS, (("A", "1"),)), 170, [200])


@given(heights=st.lists(st.floats(3, 60), min_size=1, max_size=20), room=st.floats(60, 120))
def test_blocks_flow_in_order_and_fill_no_column_over_its_height(heights: list[float], room: float) -> None:
    blocks = [Block(f"b{i}", (Lettering(str(i), (0, -3), 2.5),), 10, h) for i, h in enumerate(heights)]
    columns = flowed("notes", blocks, [20.0, room], 2.0)
    assert [int(t) for c in columns for t in texts(c)] == list(range(len(blocks)))
    assert all(c.height <= h + 1e-9 for c, h in zip(columns, [20.0] + [room] * 20, strict=False))


def test_stacked_blocks_keep_their_gap() -> None:
    box = Block("b", (Stroke((), "rule"),), 10, 7)
    assert stacked("two", [box, box], 2).height == 16
    word = Block("w", (Lettering("H", (0, -3.5), 3.5),), 10, 3.5)
    _, y0, _, y1 = extents(drawn(stacked("two", [word, word], 2).marks))
    assert y1 - y0 == pytest.approx(9.0)
