"""The plan set as independent readers see it: pypdf, pdfplumber (pdfminer), pdfium."""

from __future__ import annotations

import ctypes
import hashlib
import io
import math
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pdfplumber
import pypdf
import pypdfium2
import pypdfium2.raw as pdfium
import pytest

from plangen.drawing.frame import framed_sheet
from plangen.drawing.lettering import set_text
from plangen.drawing.linework import ISO_128_WIDTHS, LINES
from plangen.drawing.mark_geometry import rectangle
from plangen.drawing.marks import (
    AngularDimension,
    Fill,
    Leader,
    Lettering,
    LinearDimension,
    Link,
    Mark,
    Sheet,
    Stroke,
)
from plangen.drawing.ruled_table import Column, Table, table_blocks
from plangen.drawing.title_block import PRINT_WORDS, TitleFields
from plangen.export.pdf import DocumentInfo, pdf_bytes
from plangen.geometry.curves import Arc, Bezier, EllipseArc, Line

POINT = 72 / 25.4
INFO = DocumentInfo("Potting bench", "Plan set", "Hollow Lane Community Garden", "plangen 0.1.0")
PAPERS = ("Letter landscape", "A4 portrait", "Tabloid landscape", "A3 landscape")


def fields(number: int, scale: str = "1:2") -> TitleFields:
    return TitleFields(
        "Hollow Lane Community Garden", "Potting bench", "Part sheet", f"S-{number:02}", number, 4, "A",
        "2025-03-01", "Garden workshop", "", scale, "third", "inches, to 1/16", "3f9a2c1e", "plangen 0.1.0",
    )  # fmt: skip


def drawing() -> tuple[Mark, ...]:
    """Every kind of mark and curve, a square of 50 mm among them."""
    return (
        Stroke(rectangle((100, 80, 150, 130)), "outline", True),
        Stroke((Arc((60, 150), 12, 0, 2 * math.pi),), "hidden", True),
        Stroke((EllipseArc((60, 150), (9, 3), (-1, 3), 0, 4),), "context"),
        Stroke((Bezier(((30, 60), (40, 90), (60, 40), (70, 60))),), "cut outline"),
        Stroke((Line((30, 110), (90, 110)),), "centre"),
        Stroke((Line((30, 115), (90, 115)),), "phantom"),
        Stroke((Line((30, 120), (90, 120)),), "fine outline"),
        Fill(rectangle((160, 80, 170, 90)), 0.5),
        LinearDimension(((100, 80), (150, 80)), (125, 68), (1, 0), "3 15/16", 100),
        LinearDimension(((150, 80), (150, 130)), (165, 100), (0, 1), "(7/8)", 22, 5.0),
        AngularDimension((100, 130), 0, 40, 30, "40°", 40),
        Leader(((60, 162), (70, 175), (72, 175)), "arrow", "4 x Ø 3/8 THRU"),
        Lettering("HIGH 23 5/32 in of 4/4 oak", (30, 190), 3.5),
        Lettering("H", (30, 180), 2.5),
    )


@pytest.fixture(scope="module")
def plan_set() -> bytes:
    sheets = []
    for i, paper in enumerate(PAPERS, 1):
        framed = framed_sheet(paper, fields(i))
        marks: tuple[Mark, ...] = drawing()
        if i == 1:
            rows = tuple((f"S-{n:02}", f"Sheet {n}") for n in range(1, 5))
            table = Table("", (Column("Sheet"), Column("Title")), rows, tuple(r[0] for r in rows))
            marks = (table_blocks(table, 80, [100])[0].placed(180, 180),)
        sheets.append(
            Sheet(
                f"S-{i:02}", f"Sheet {i}", "part", framed.width, framed.height, paper, (*framed.marks, *marks)
            )
        )
    return pdf_bytes(sheets, INFO)


@pytest.fixture(scope="module")
def reader(plan_set: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(plan_set), strict=True)


def page_of(*marks: Mark, width: float = 210, height: float = 297) -> bytes:
    return pdf_bytes([Sheet("S-01", "One", "part", width, height, "A4 portrait", tuple(marks))], INFO)


def dark_rows(data: bytes, dpi: int, box: tuple[float, float, float, float]) -> np.ndarray:
    """Darkness from 0 to 1 in a box of the page, mm from the lower left corner, as pdfium paints it."""
    page = pypdfium2.PdfDocument(data)[0]
    picture = page.render(scale=dpi / 72, grayscale=True).to_numpy()
    picture = picture.reshape(picture.shape[0], -1)
    k = dpi / 25.4
    x0, y0, x1, y1 = (round(v * k) for v in box)
    rows = picture.shape[0]
    return 1 - picture[rows - y1 : rows - y0, x0:x1] / 255


def test_each_page_has_the_size_of_its_paper(reader: pypdf.PdfReader) -> None:
    """ISO 216 and ASME Y14.1 (read)."""
    sizes = [(float(p.mediabox.width) / POINT, float(p.mediabox.height) / POINT) for p in reader.pages]
    assert sizes == [
        pytest.approx(s, abs=0.01) for s in ((279.4, 215.9), (210, 297), (431.8, 279.4), (420, 297))
    ]
    assert all("/UserUnit" not in p for p in reader.pages)


def test_the_print_dialog_starts_at_actual_size(plan_set: bytes, reader: pypdf.PdfReader) -> None:
    document = pypdfium2.PdfDocument(plan_set)
    assert pdfium.FPDF_VIEWERREF_GetPrintScaling(document.raw) == 0
    preferences = reader.trailer["/Root"]["/ViewerPreferences"]
    assert preferences["/PrintScaling"] == "/None"
    assert preferences["/Duplex"] == "/Simplex"
    assert preferences["/DisplayDocTitle"] is True or preferences["/DisplayDocTitle"].value is True


def test_the_file_names_itself_and_its_language(reader: pypdf.PdfReader) -> None:
    said = reader.metadata
    assert said is not None
    assert (said.title, said.subject, said.author) == (INFO.title, INFO.subject, INFO.author)
    assert reader.trailer["/Root"]["/Lang"] == "en"


def test_pages_are_labelled_and_bookmarked_by_sheet_number(reader: pypdf.PdfReader) -> None:
    assert reader.page_labels == ["S-01", "S-02", "S-03", "S-04"]
    entries = reader.outline
    assert [e.title.split()[0] for e in entries] == reader.page_labels
    assert [reader.get_destination_page_number(e) for e in entries] == [0, 1, 2, 3]


def test_every_row_of_the_index_leads_to_its_sheet(reader: pypdf.PdfReader) -> None:
    links = [a.get_object() for a in reader.pages[0]["/Annots"]]
    named = reader.named_destinations
    targets = []
    for link in links:
        goal = link.get("/Dest") or link["/A"]["/D"]
        page = named[str(goal)].page if isinstance(goal, str) else goal[0]
        targets.append(
            [p.indirect_reference for p in reader.pages].index(getattr(page, "indirect_reference", page))
        )
    assert sorted(targets) == [0, 1, 2, 3]


def test_a_reader_who_hears_the_page_is_told_what_the_drawing_shows() -> None:
    """Read by pdfminer's structure tree through pdfplumber; ISO 32000-1, 14.7 (tags)."""
    marks = (Lettering("Left leg", (30, 200), 7), *drawing())
    sheet = Sheet(
        "S-01", "Left leg", "part", 210, 297, "A4 portrait", marks, alt="A leg of 27 5/8 × 3 1/2 in"
    )
    data = pdf_bytes([sheet], INFO)
    assert pypdf.PdfReader(io.BytesIO(data)).trailer["/Root"]["/MarkInfo"]["/Marked"]
    with pdfplumber.open(io.BytesIO(data)) as document:
        (whole,) = document.structure_tree
        page = document.pages[0]
        inks = {c["mcid"] for c in page.chars}
        lines = {c["mcid"] for kind in ("lines", "rects", "curves") for c in getattr(page, kind)}
    assert whole["type"] == "Document"
    (section,) = whole["children"]
    figure, *others = section["children"]
    assert (figure["type"], figure["alt_text"]) == ("Figure", "A leg of 27 5/8 × 3 1/2 in")
    assert others[0]["type"] == "H1"
    assert {e["type"] for e in others[1:]} == {"P"}
    assert lines == set(figure["mcids"])
    assert inks == {n for e in others for n in e["mcids"]}


def test_a_link_to_no_sheet_is_refused() -> None:
    with pytest.raises(ValueError, match="S-99"):
        page_of(Link((0, 0, 10, 10), "S-99"))


def test_every_font_is_embedded(reader: pypdf.PdfReader) -> None:
    """No text relies on a font the reader may lack; a Type 3 font carries its glyphs by nature."""
    for page in reader.pages:
        for font in page["/Resources"]["/Font"].values():
            font = font.get_object()
            if font["/Subtype"] == "/Type3":
                assert len(font["/CharProcs"]) > 0
            else:
                assert "/FontFile2" in font["/FontDescriptor"]
                assert font["/BaseFont"][7:8] == "+"
            assert "/ToUnicode" in font


@pytest.mark.parametrize(
    "words", ["3 15/16", "4 x Ø 3/8 THRU", "HIGH 23 5/32 in of 4/4 oak", "40°", PRINT_WORDS]
)
def test_fractions_and_signs_copy_as_they_read(plan_set: bytes, reader: pypdf.PdfReader, words: str) -> None:
    assert words in reader.pages[1].extract_text()
    assert words in pypdfium2.PdfDocument(plan_set)[1].get_textpage().get_text_range()
    with pdfplumber.open(io.BytesIO(plan_set)) as document:
        assert words in document.pages[1].extract_text()


def test_a_figure_that_reads_from_the_right_copies_too(reader: pypdf.PdfReader) -> None:
    assert "(7/8)" in reader.pages[1].extract_text()


def test_lettering_stands_where_it_was_laid_out() -> None:
    """The reader adds up its own widths; the layout never saw them."""
    mark = Lettering("Width 3 15/16 of AVA To", (40, 100), 5)
    layout = set_text(mark)
    with pdfplumber.open(io.BytesIO(page_of(mark))) as document:
        chars = document.pages[0].chars
    assert chars[0]["x0"] / POINT == pytest.approx(40, abs=1e-3)
    assert chars[-1]["x1"] / POINT == pytest.approx(40 + layout.width, abs=1e-2)


@pytest.mark.parametrize("height", [2.5, 3.5, 5.0, 7.0])
def test_capitals_are_as_high_on_the_page_as_the_lettering_says(height: float) -> None:
    """Glyph boxes by pdfium; ISO 3098 heights are heights of capitals (read)."""
    document = pypdfium2.PdfDocument(page_of(Lettering("H", (50, 100), height)))
    text = document[0].get_textpage()
    left, right, bottom, top = (ctypes.c_double() for _ in range(4))
    assert pdfium.FPDFText_GetCharBox(text.raw, 0, left, right, bottom, top)
    assert (top.value - bottom.value) / POINT == pytest.approx(height, abs=0.01)
    assert bottom.value / POINT == pytest.approx(100, abs=0.01)


@pytest.mark.parametrize("height", [2.5, 3.5, 5.0])
def test_figures_of_fractions_are_two_and_a_half_millimetres_high_as_painted(height: float) -> None:
    data = page_of(Lettering("7/4", (0, 0), 2.5), Lettering("1/4", (50, 100), height))
    dpi = 1200
    ink = dark_rows(data, dpi, (45, 90, 65, 112)).max(axis=1) > 0.5
    edges = np.flatnonzero(np.diff(np.concatenate(([0], ink.astype(int), [0]))))
    bands = [(b - a) * 25.4 / dpi for a, b in zip(edges[::2], edges[1::2], strict=True)]
    numerator, bar, denominator = bands
    assert numerator >= 2.5 - 25.4 / dpi
    assert denominator >= 2.5 - 25.4 / dpi
    assert bar == pytest.approx(0.25, abs=2 * 25.4 / dpi)


def test_a_square_of_fifty_millimetres_is_fifty_millimetres_in_its_path(plan_set: bytes) -> None:
    with pdfplumber.open(io.BytesIO(plan_set)) as document:
        page = document.pages[1]
        shapes = [*page.rects, *page.curves]
        squares = [
            s for s in shapes if abs(s["width"] - 50 * POINT) < 0.5 and abs(s["height"] - 50 * POINT) < 0.5
        ]
    assert len(squares) == 1
    assert squares[0]["width"] / POINT == pytest.approx(50, abs=1e-3)
    assert squares[0]["height"] / POINT == pytest.approx(50, abs=1e-3)
    assert squares[0]["x0"] / POINT == pytest.approx(100, abs=1e-3)


def test_a_square_of_fifty_millimetres_is_fifty_millimetres_as_painted() -> None:
    data = page_of(Stroke(rectangle((80, 100, 130, 150)), "narrow", True))
    dpi = 600
    ink = dark_rows(data, dpi, (70, 90, 140, 160))
    for axis in (0, 1):
        # the middle of each side by the centroid of its ink
        profile = (
            ink[ink.shape[0] // 3 : ink.shape[0] // 2].sum(axis=0)
            if axis == 0
            else ink[:, ink.shape[1] // 3 : ink.shape[1] // 2].sum(axis=1)
        )
        half = len(profile) // 2
        place = np.arange(len(profile))
        first = (profile[:half] * place[:half]).sum() / profile[:half].sum()
        last = (profile[half:] * place[half:]).sum() / profile[half:].sum()
        assert (last - first) * 25.4 / dpi == pytest.approx(50, abs=0.02)


def test_every_line_has_a_width_of_the_iso_128_series(plan_set: bytes) -> None:
    widths = set()
    with pdfplumber.open(io.BytesIO(plan_set)) as document:
        for page in document.pages:
            for shape in (*page.lines, *page.rects, *page.curves):
                if shape["stroke"]:
                    widths.add(min(ISO_128_WIDTHS, key=lambda w: abs(w - shape["linewidth"] / POINT)))
                    assert shape["linewidth"] / POINT == pytest.approx(
                        min(ISO_128_WIDTHS, key=lambda w: abs(w - shape["linewidth"] / POINT)), abs=1e-3
                    )
    assert widths == {s.width for s in LINES.values()}


def test_circles_are_curves_and_not_chords(plan_set: bytes) -> None:
    content = pypdf.PdfReader(io.BytesIO(plan_set)).pages[1].get_contents()
    assert content is not None
    curves = content.get_data().decode("latin-1").count(" c\n") + content.get_data().decode("latin-1").count(
        " c "
    )
    assert 4 <= curves < 60


def test_a_larger_page_than_pdf_allows_is_refused() -> None:
    with pytest.raises(ValueError, match="larger"):
        page_of(width=6000)
    with pytest.raises(ValueError, match="at least one"):
        pdf_bytes([], INFO)


def test_no_coordinate_is_minus_zero(plan_set: bytes) -> None:
    for page in pypdf.PdfReader(io.BytesIO(plan_set)).pages:
        content = page.get_contents()
        assert content is not None
        assert not any(word in (b"-0", b"-0.0", b"-.0") for word in content.get_data().split())


PROGRAM = """
import hashlib, sys
sys.path.insert(0, {folder!r})
import test_pdf
from plangen.drawing.frame import framed_sheet
from plangen.drawing.marks import Sheet
from plangen.export.pdf import pdf_bytes
framed = framed_sheet("A4 landscape", test_pdf.fields(1))
marks = (*framed.marks, *test_pdf.drawing())
sheet = Sheet("S-01", "One", "part", framed.width, framed.height, "A4 landscape", marks)
print(hashlib.sha256(pdf_bytes([sheet], test_pdf.INFO)).hexdigest())
"""


def test_the_same_bytes_under_any_hash_seed_time_zone_and_folder(tmp_path: Path) -> None:
    program = PROGRAM.format(folder=str(Path(__file__).parent))
    digests = set()
    for seed, zone, folder in (
        ("0", "UTC", "/"),
        ("1", "Pacific/Auckland", str(tmp_path)),
        ("77", "America/Lima", "/tmp"),
    ):
        environment = {**os.environ, "PYTHONHASHSEED": seed, "TZ": zone}
        done = subprocess.run(
            [sys.executable, "-c", program],
            env=environment,
            cwd=folder,
            capture_output=True,
            text=True,
            check=True,
        )
        digests.add(done.stdout)
    assert len(digests) == 1


def test_two_documents_in_one_process_have_the_same_bytes() -> None:
    first, second = (hashlib.sha256(page_of(*drawing())).hexdigest() for _ in range(2))
    assert first == second
