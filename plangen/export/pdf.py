"""Sheets to PDF: true curves, real text, one embedded typeface, the same bytes every time.

Content is left uncompressed: compressed bytes would differ between builds of the compression library, and a
plan set kept under version control diffs line by line.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from io import BytesIO

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from plangen.drawing.lettering import Run, Stack, set_text, turn_of
from plangen.drawing.linework import LINES
from plangen.drawing.mark_geometry import drawn
from plangen.drawing.marks import Fill, Lettering, Link, Sheet, Stroke
from plangen.drawing.text_block import SHEET_TITLE
from plangen.drawing.typeface import Weight, font_path
from plangen.export.pdf_fractions import FractionFonts
from plangen.export.pdf_structure import StructureTree
from plangen.geometry.cubics import to_cubics
from plangen.geometry.curves import Curve, Line, Vec2

POINT = 72 / 25.4
"""PDF user-space units in a millimetre."""
LARGEST_PAGE = 5080.0
"""Millimetres: 14,400 units, beyond which readers refuse a page (ISO 32000-1, annex C)."""


@dataclass(frozen=True)
class DocumentInfo:
    """What the file says of itself. ``creator`` names the program and its version."""

    title: str
    subject: str
    author: str
    creator: str
    language: str = "en"


def pdf_bytes(sheets: Sequence[Sheet], info: DocumentInfo) -> bytes:
    """The sheets as one PDF file, a page a sheet, each of its own size, at true scale.

    Raises ValueError when there is no sheet, when a sheet is larger than a PDF page may be, or when a link
    leads to a sheet that is not in the set.
    """
    if not sheets:
        raise ValueError("a plan set has at least one sheet")
    numbers = {s.number for s in sheets}
    out = BytesIO()
    canvas = _open_canvas(out, sheets[0], info)
    fractions = FractionFonts(canvas, font_name)
    structure = StructureTree(canvas)
    for index, sheet in enumerate(sheets):
        if max(sheet.width, sheet.height) > LARGEST_PAGE:
            raise ValueError(f"sheet {sheet.number} is larger than a PDF page may be")
        canvas.setPageSize((sheet.width * POINT, sheet.height * POINT))
        canvas.addPageLabel(index, prefix=sheet.number)
        canvas.bookmarkPage(sheet.number)
        canvas.addOutlineEntry(sheet.bookmark or f"{sheet.number}  {sheet.title}", sheet.number, 0)
        structure.begin_sheet(f"{sheet.number} {sheet.title}", sheet.alt)
        _Page(canvas, fractions, structure, numbers).draw(drawn(sheet.marks))
        structure.end_sheet()
        canvas.showPage()
    fractions.finish()
    structure.finish()
    canvas.save()
    return out.getvalue()


@cache
def font_name(weight: Weight) -> str:
    """The name reportlab knows the embedded font of a weight by; registers it once."""
    name = f"plangen-{weight}"
    pdfmetrics.registerFont(TTFont(name, str(font_path(weight))))
    return name


def _open_canvas(out: BytesIO, first: Sheet, info: DocumentInfo) -> Canvas:
    canvas = Canvas(
        out,
        pagesize=(first.width * POINT, first.height * POINT),
        invariant=1,
        pageCompression=0,
        pdfVersion=(1, 7),
        initialFontName=font_name("regular"),
        lang=info.language,
    )
    canvas.setTitle(info.title)
    canvas.setSubject(info.subject)
    canvas.setAuthor(info.author)
    canvas.setCreator(info.creator)
    canvas.setProducer(info.creator)
    # a print dialog then starts at actual size: dimensions are measured on the paper
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    canvas.setViewerPreference("Duplex", "Simplex")
    canvas.showOutline()
    return canvas


class _Page:
    """Writes drawn marks to the canvas's current page, keeping the graphics state it last set."""

    def __init__(
        self, canvas: Canvas, fractions: FractionFonts, structure: StructureTree, numbers: set[str]
    ) -> None:
        self._canvas = canvas
        self._fractions = fractions
        self._structure = structure
        self._numbers = numbers
        self._line: str | None = None
        self._grey: float | None = None
        canvas.setLineJoin(0)
        canvas.setMiterLimit(10)

    def draw(self, marks: Iterable[Stroke | Fill | Lettering | Link]) -> None:
        for mark in marks:
            match mark:
                case Stroke():
                    self._stroke(mark)
                case Fill():
                    self._fill(mark)
                case Lettering():
                    self._letter(mark)
                case Link():
                    self._link(mark)

    def _stroke(self, mark: Stroke) -> None:
        self._structure.mark("Figure")
        if self._line != mark.use:
            style = LINES[mark.use]
            self._canvas.setLineWidth(style.width * POINT)
            self._canvas.setLineCap(1 if style.cap == "round" else 0)
            self._canvas.setDash([d * POINT for d in style.dashes], 0)
            self._canvas.setStrokeGray(style.grey)
            self._line = mark.use
        path = self._path(mark.curves, mark.closed)
        self._canvas.drawPath(path, stroke=1, fill=0)

    def _fill(self, mark: Fill) -> None:
        self._structure.mark("Figure")
        self._set_fill(mark.grey)
        self._canvas.drawPath(self._path(mark.curves, True), stroke=0, fill=1, fillMode=0)

    def _set_fill(self, grey: float) -> None:
        if self._grey != grey:
            self._canvas.setFillGray(grey)
            self._grey = grey

    def _path(self, curves: Sequence[Curve], closed: bool) -> PDFPathObject:
        """A curve that does not begin where the one before it ended begins a new subpath."""
        path: PDFPathObject = self._canvas.beginPath()
        pen: Vec2 | None = None
        for curve in curves:
            if pen is None or math.dist(pen, curve.start) > 1e-6:
                if pen is not None and closed:
                    path.close()
                path.moveTo(*_points(curve.start))
            if isinstance(curve, Line):
                path.lineTo(*_points(curve.end))
            else:
                for _, p, q, end in to_cubics(curve):
                    path.curveTo(*_points(p, q, end))
            pen = curve.end
        if closed:
            path.close()
        return path

    def _letter(self, mark: Lettering) -> None:
        """One text object: each run and stack advances the pen to where the layout has the next."""
        layout = set_text(mark)
        if not layout.pieces:
            return
        self._structure.mark("H1" if mark.height >= SHEET_TITLE else "P")
        self._set_fill(0.0)
        text = self._canvas.beginText()
        c, s = turn_of(mark.rotation)
        dx, dy = layout.pieces[0].x - mark.at[0], layout.pieces[0].y - mark.at[1]
        x, y = _points((mark.at[0] + dx * c - dy * s, mark.at[1] + dx * s + dy * c))
        text.setTextTransform(c, s, -s, c, x, y)
        for piece in layout.pieces:
            if isinstance(piece, Run):
                text.setFont(font_name(piece.weight), piece.em * POINT)
                text.textOut(piece.text)
            elif isinstance(piece, Stack):
                self._fractions.show(text, piece)
        self._canvas.drawText(text)

    def _link(self, mark: Link) -> None:
        if mark.sheet not in self._numbers:
            raise ValueError(f"a link leads to sheet {mark.sheet}, which is not in the set")
        x0, y0, x1, y1 = mark.area
        self._canvas.linkAbsolute("", mark.sheet, Rect=_points((x0, y0), (x1, y1)), Border="[0 0 0]")


def _points(*at: Vec2) -> tuple[float, ...]:
    """Coordinates in PDF units; adding 0.0 turns -0.0 into 0.0."""
    return tuple(round(v * POINT, 6) + 0.0 for p in at for v in p)
