"""The empty sheet: paper, margins, title block, symbol of projection."""

from __future__ import annotations

import dataclasses
import math

import pytest

from plangen.drawing.frame import framed_sheet, inset, paper_size
from plangen.drawing.lettering import Box2
from plangen.drawing.mark_geometry import drawn, extent, extents
from plangen.drawing.marks import Group, Lettering, Mark, Stroke
from plangen.drawing.overlaps import overlaps
from plangen.drawing.placing_rule import Method, Side, side_view_offset
from plangen.drawing.projection_symbol import projection_symbol
from plangen.drawing.title_block import PRINT_WORDS, TitleFields, fitted
from plangen.geometry.curves import Arc, Line

FIELDS = TitleFields(
    owner="Hollow Lane Community Garden",
    title="Potting bench with a sloping tray",
    document_type="Elevations and plan",
    number="S-12",
    sheet=12,
    sheets=14,
    revision="B",
    date="2025-03-01",
    creator="Garden workshop",
    approver="",
    scale="1 1/2 in = 1 ft",
    method="third",
    units="inches, to 1/16",
    design="3f9a2c1e",
    version="plangen 0.1.0",
)

PAPERS = [
    # width, height, frame, title block, free field height: ISO 216 and ASME Y14.1 sizes (read), margins
    # 20 and 10 of ISO 5457:1999 (from memory)
    ("A4 portrait", (210, 297), (180, 277), 25),
    ("A4 landscape", (297, 210), (267, 190), 25),
    ("A3 landscape", (420, 297), (390, 277), 36),
    ("Letter portrait", (215.9, 279.4), (185.9, 259.4), 25),
    ("Letter landscape", (279.4, 215.9), (249.4, 195.9), 25),
    ("Tabloid landscape", (431.8, 279.4), (401.8, 259.4), 36),
]


def texts(marks: tuple[Mark, ...]) -> list[str]:
    return [m.text for m in drawn(marks) if isinstance(m, Lettering)]


@pytest.mark.parametrize(("paper", "size", "frame", "block"), PAPERS)
def test_frame_and_field_are_those_of_the_table_of_papers(
    paper: str, size: tuple[float, float], frame: tuple[float, float], block: float
) -> None:
    sheet = framed_sheet(paper, FIELDS)
    assert (sheet.width, sheet.height) == pytest.approx(size)
    x0, y0, x1, y1 = sheet.field
    assert (x0, x1, y1) == pytest.approx((20, 20 + frame[0], 10 + frame[1]))
    assert y0 == pytest.approx(10 + block + 2)
    if sheet.beside:
        a0, b0, a1, b1 = sheet.beside
        assert (a0, b0, b1) == pytest.approx((20, 10, 10 + block))
        assert a1 == pytest.approx(20 + frame[0] - 180 - 2)


@pytest.mark.parametrize("paper", [p[0] for p in PAPERS])
@pytest.mark.parametrize("method", ["first", "third"])
def test_no_word_of_the_empty_sheet_touches_a_line(paper: str, method: Method) -> None:
    sheet = framed_sheet(paper, dataclasses.replace(FIELDS, method=method))
    assert overlaps(sheet.marks, 0.25) == ()


@pytest.mark.parametrize("paper", [p[0] for p in PAPERS])
def test_all_ink_but_marks_of_the_frame_keeps_ten_millimetres_from_the_edge(paper: str) -> None:
    sheet = framed_sheet(paper, FIELDS)
    outer, block = sheet.marks
    line = 0.35
    x0, y0, x1, y1 = extent(block)
    assert min(x0, y0) >= 10 - line
    assert (x1, y1) <= (sheet.width - 10 + line, sheet.height - 10 + line)
    a0, b0, a1, b1 = extent(outer)
    assert min(a0, b0) >= 5 - line
    assert a1 <= sheet.width - 5 + line
    assert b1 <= sheet.height - 5 + line


def test_the_title_block_says_all_that_iso_7200_asks() -> None:
    """Owner, number, date of issue, sheet, title, approver, creator, document type (names from memory)."""
    said = " | ".join(texts(framed_sheet("A3 landscape", FIELDS).marks))
    for field in dataclasses.fields(FIELDS):
        value = getattr(FIELDS, field.name)
        if field.name not in ("sheet", "sheets", "method"):
            assert (value or "—") in said, field.name
    assert "12 of 14" in said
    assert PRINT_WORDS in said


def test_a_title_too_long_is_lettered_smaller_then_cut_short() -> None:
    assert fitted("Bench", 60, (3.5, 2.5)) == ("Bench", 3.5)
    assert fitted("Potting bench for the glasshouse", 60, (3.5, 2.5))[1] == 2.5
    text, height = fitted("Potting bench " * 9, 60, (3.5, 2.5))
    assert text.endswith("…")
    assert height == 2.5


def test_grid_references_stand_on_large_sheets_only_and_skip_i_and_o() -> None:
    """Even numbers of fields 25 to 75 mm long (read); no I, no O (from memory)."""
    small, large = (framed_sheet(p, FIELDS) for p in ("A4 landscape", "A3 landscape"))
    assert texts(small.marks[:1]) == []
    found = texts(large.marks[:1])
    numbers = {t for t in found if t.isdigit()}
    letters = {t for t in found if t.isalpha()}
    assert len(numbers) % 2 == len(letters) % 2 == 0
    assert 25 <= 390 / len(numbers) <= 75
    assert 25 <= 277 / len(letters) <= 75
    assert not letters & {"I", "O"}


def test_a_paper_that_is_not_in_the_table_is_refused() -> None:
    with pytest.raises(KeyError):
        paper_size("B7 portrait")
    with pytest.raises(ValueError, match="orientation"):
        paper_size("A4 sideways")


def circles(group: Group) -> list[Arc]:
    return [c for m in drawn((group,)) if isinstance(m, Stroke) for c in m.curves if isinstance(c, Arc)]


def frustum(group: Group) -> list[Line]:
    return [
        c
        for m in drawn((group,))
        if isinstance(m, Stroke) and m.use == "fine outline"
        for c in m.curves
        if isinstance(c, Line)
    ]


def ends(group: Group) -> tuple[float, float]:
    """Where the small and the large end of the frustum stand."""
    upright = [c for c in frustum(group) if abs(c.start[0] - c.end[0]) < 1e-9]
    upright.sort(key=lambda c: abs(c.start[1] - c.end[1]))
    return upright[0].start[0], upright[-1].start[0]


def test_third_angle_has_the_circles_left_of_the_taper_and_its_small_end_toward_them() -> None:
    """ISO 5456-2 and ASME Y14.3 (from memory): the view from the left stands on the left."""
    symbol = projection_symbol("third", (0, 0))
    small, large = ends(symbol)
    centre = circles(symbol)[0].centre[0]
    assert centre < small < large


def test_first_angle_has_the_circles_right_of_the_taper_and_its_small_end_away_from_them() -> None:
    symbol = projection_symbol("first", (0, 0))
    small, large = ends(symbol)
    centre = circles(symbol)[0].centre[0]
    assert small < large < centre


@pytest.mark.parametrize("method", ["first", "third"])
def test_the_circles_are_the_ends_of_the_frustum_and_both_are_seen(method: Method) -> None:
    symbol = projection_symbol(method, (30, 40), 3.5)
    radii = sorted(c.radius for c in circles(symbol))
    heights = sorted(
        abs(c.start[1] - c.end[1]) / 2 for c in frustum(symbol) if abs(c.start[0] - c.end[0]) < 1e-9
    )
    assert radii == pytest.approx([1.75, 3.5])
    assert heights == pytest.approx([1.75, 3.5])
    assert all(c.centre[1] == pytest.approx(40) for c in circles(symbol))
    x0, _, x1, _ = extents([m for m in drawn((symbol,)) if isinstance(m, Stroke) and m.use == "centre"])
    assert (x0 + x1) / 2 == pytest.approx(30, abs=1e-6)


@pytest.mark.parametrize("side", ["left", "right", "above", "below"])
def test_the_two_methods_place_every_side_view_on_opposite_sides(side: Side) -> None:
    a, b = side_view_offset("first", side), side_view_offset("third", side)
    assert (a[0] + b[0], a[1] + b[1]) == (0, 0)
    assert math.hypot(*a) == 1


def test_an_inset_box_is_smaller_on_every_side() -> None:
    box: Box2 = (0, 0, 10, 20)
    assert inset(box, 2) == (2, 2, 8, 18)
