"""A real sheet painted at 150 dpi by pdfium, as a printer would: its widths and heights are those of the standards."""

from __future__ import annotations

import math
import re
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
import shapely
import worked_out
from shapely import LineString
from sheet_ink import opened

from plangen.drawing.lettering import set_text
from plangen.drawing.linework import LINES
from plangen.drawing.mark_geometry import drawn, extent
from plangen.drawing.marks import Fill, Group, Lettering, LineUse, Sheet, Stroke
from plangen.drawing.overlaps import ink_points
from plangen.export.pdf import DocumentInfo, pdf_bytes
from plangen.geometry.curves import Line, Vec2

DPI = 150
MM = 25.4 / DPI
"""Of a pixel."""
ELEVATIONS = "Elevations and plan"


@pytest.fixture(params=[p for p in worked_out.PROJECT if p.stem == "tool-tote"], ids=lambda p: p.stem)
def sheet(request: pytest.FixtureRequest) -> Sheet:
    path: Path = request.param
    return next(s for s in worked_out.sheets_of(path) if s.title == ELEVATIONS)


@pytest.fixture
def painted(sheet: Sheet) -> np.ndarray:
    """Darkness from 0 to 1, rows from the foot of the sheet."""
    page = pypdfium2.PdfDocument(pdf_bytes([sheet], DocumentInfo("Tote", "Plan set", "Garden", "plangen")))[0]
    picture = page.render(scale=DPI / 72, grayscale=True).to_numpy()
    return 1 - picture.reshape(picture.shape[0], -1)[::-1] / 255


def _alone(sheet: Sheet, use: LineUse) -> list[tuple[Vec2, Vec2]]:
    """Pieces of 5 mm of level and upright lines of a use, 2 mm clear of all other ink."""
    ink = [m for m in drawn(sheet.marks) if isinstance(m, Stroke)]
    lines = [c for m in ink for c in m.curves if isinstance(c, Line) and math.dist(c.start, c.end) > 9]
    boxes = [shapely.box(*extent(m)) for m in drawn(sheet.marks) if not isinstance(m, Stroke)]
    others = shapely.STRtree([*(LineString(ink_points(m)) for m in ink), *boxes])
    found = []
    for c in (c for m in ink if m.use == use for c in m.curves if c in lines):
        length = math.dist(c.start, c.end)
        if min(abs(c.end[0] - c.start[0]), abs(c.end[1] - c.start[1])) > 1e-9:
            continue
        for k in range(1, int(length / 5) - 1):
            ends = (c.at(5 * k / length), c.at(5 * (k + 1) / length))
            if len(others.query(LineString(ends).buffer(2.0), "intersects")) == 1:
                found.append(ends)
                break
    return found


@pytest.mark.parametrize("use", ["frame", "outline", "dimension", "rule"])
def test_a_line_is_painted_as_wide_as_the_series_has_it(
    sheet: Sheet, painted: np.ndarray, use: LineUse
) -> None:
    """ISO 128 series (read): the darkness across a line adds up to its width."""
    places = _alone(sheet, use)[:3]
    assert places, f"no {use} stands by itself"
    for (ax, ay), (bx, by) in places:
        level = abs(by - ay) < 1e-9
        at, low, high = (ay, *sorted((ax, bx))) if level else (ax, *sorted((ay, by)))
        band = slice(round((at - 1.5) / MM), round((at + 1.5) / MM))
        along = slice(round(low / MM) + 1, round(high / MM) - 1)
        across = painted[band, along].mean(axis=1) if level else painted[along, band].mean(axis=0)
        assert across.sum() * MM == pytest.approx(LINES[use].width, abs=0.06)


def test_capitals_are_painted_as_high_as_the_standard_asks(sheet: Sheet, painted: np.ndarray) -> None:
    """ISO 3098 (read): heights are heights of capitals. The stem of a letter, dark from its foot to its head."""
    measured = 0
    for m in drawn(sheet.marks):
        if (
            isinstance(m, Lettering)
            and m.rotation == 0
            and re.match(r"[EFLPRBD][A-Za-z]", m.text)
            and m.height >= 3.5
        ):
            x0, _, _, _ = extent(m)
            stem = set_text(m).box
            rows = slice(round((m.at[1] - 1.0) / MM), round((m.at[1] + m.height + 1.0) / MM))
            columns = slice(round((x0 - 0.3) / MM), round((x0 + 0.3 * m.height) / MM))
            assert stem[3] >= m.height - 0.2
            assert painted[rows, columns].sum(axis=0).max() * MM == pytest.approx(m.height, abs=0.12), m.text
            measured += 1
    assert measured >= 3


def test_the_scale_bar_is_painted_true(sheet: Sheet, painted: np.ndarray) -> None:
    """The ends of its dark fields against the figures that stand at them, at the scale of the view: 0.1 mm (record
    practice, read)."""
    (bar,) = (m for m in sheet.marks if isinstance(m, Group) and m.name == "scale bar")
    numbers = [m for m in opened([bar]) if isinstance(m, Lettering) and m.text.isdigit()]
    fields = [extent(m) for m in opened([bar]) if isinstance(m, Fill)]
    upper, lower = sorted({(round(y0, 6), round(y1, 6)) for _, y0, _, y1 in fields}, reverse=True)
    for (low, high), unit in ((upper, 25.4), (lower, 1.0)):
        row = sorted(
            (m for m in numbers if min(abs(m.at[1] - high), abs(m.at[1] + m.height - low)) < 1.5), key=_value
        )
        true = (_value(row[-1]) - _value(row[0])) * unit * sheet.views[0].scale
        assert _inked(painted, (low + high) / 2, row[0].at[0], row[-1].at[0]) == pytest.approx(true, abs=0.1)


def _value(number: Lettering) -> float:
    return float(number.text)


def _inked(painted: np.ndarray, level: float, left: float, right: float) -> float:
    """From the first to the last ink at a level between 1 mm beyond either side, mm, the half widths of its end lines
    taken off; a pixel counts by its darkness."""
    row = painted[round(level / MM), round((left - 1) / MM) : round((right + 1) / MM)]
    dark = np.flatnonzero(row > 0.02)
    whole = (dark[-1] - dark[0] - 1) + row[dark[0]] + row[dark[-1]]
    return float(whole * MM - LINES["narrow"].width)
