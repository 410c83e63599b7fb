"""Stacked fractions in a PDF: each is one glyph of a small font of our own, drawn with the embedded typeface.

A numerator above a denominator made of plain runs is scattered by readers that take text from a page line by
line. A Type 3 glyph stands on the base line like any letter and its ToUnicode entry says ``15/16``, so that
every reader copies ``3 15/16`` (ISO 32000-1, 9.6.5 Type 3 fonts and 9.10.3 ToUnicode).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from reportlab.pdfbase import pdfdoc, pdfmetrics
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.textobject import PDFTextObject

from plangen.drawing.lettering import Run, Stack
from plangen.drawing.typeface import Weight

POINT = 72 / 25.4
_FIRST_CODE = 33
_GLYPHS_IN_A_FONT = 200
_DESCENT, _ASCENT = -273, 984
"""The embedded typeface's own, thousandths of the em. Readers that sort letters into lines compare these, so
our fonts take the same unless a stack is taller."""


@dataclass(frozen=True)
class _FractionGlyph:
    text: str
    width: float
    """Thousandths of the em of the lettering the fraction stands in, as are ``foot`` and ``top``."""
    foot: float
    top: float
    procedure: str


class FractionFonts:
    """Collects the fractions a document shows and writes the fonts that hold them."""

    def __init__(self, canvas: Canvas, font_name: Callable[[Weight], str]) -> None:
        self._document = canvas._doc
        self._font_name = font_name
        self._codes: dict[tuple[str, float, Weight], tuple[int, int]] = {}
        self._fonts: list[tuple[float, list[_FractionGlyph]]] = []
        """Each the size of the lettering it serves, and its glyphs."""

    def show(self, text: PDFTextObject, stack: Stack) -> None:
        """Appends the fraction to a text object, at the pen, which moves on by its width."""
        key = (stack.text, stack.em, stack.numerator.weight)
        if key not in self._codes:
            self._codes[key] = self._add(self._draw(stack), stack.em)
        font, code = self._codes[key]
        # reportlab has no call for fonts it does not know; its own text methods append operators likewise
        text._code.append(f"/{_name(font)} {stack.em * POINT:.6f} Tf <{_FIRST_CODE + code:02X}> Tj")

    def _add(self, glyph: _FractionGlyph, em: float) -> tuple[int, int]:
        """Font and place of a new glyph, in a font for its size that has room."""
        for i, (size, glyphs) in enumerate(self._fonts):
            if size == em and len(glyphs) < _GLYPHS_IN_A_FONT:
                glyphs.append(glyph)
                return i, len(glyphs) - 1
        self._fonts.append((em, [glyph]))
        return len(self._fonts) - 1, 0

    def _draw(self, stack: Stack) -> _FractionGlyph:
        """The glyph's procedure, its origin at the fraction's left end on the base line."""
        unit = 1000 / stack.em
        width = stack.width * unit
        x0, y0, x1, y1 = stack.bar
        bar = [(x0 - stack.x) * unit, (y0 - stack.y) * unit, (x1 - x0) * unit, (y1 - y0) * unit]
        parts = [f"{_number(width)} 0 d0", f"{' '.join(map(_number, bar))} re f"]
        for run in (stack.numerator, stack.denominator):
            parts.append(self._figures(run, (run.x - stack.x) * unit, (run.y - stack.y) * unit, unit))
        # a round figure passes its base line and its top by about 0.02 em
        foot = (stack.denominator.y - stack.y - 0.02 * stack.denominator.em) * unit
        top = (stack.numerator.y - stack.y + 0.67 * stack.numerator.em) * unit
        return _FractionGlyph(stack.text, width, foot, top, "\n".join(parts))

    def _figures(self, run: Run, x: float, y: float, unit: float) -> str:
        font = pdfmetrics.getFont(self._font_name(run.weight))
        shown = []
        for subset, codes in font.splitString(run.text, self._document):
            name = font.getSubsetInternalName(subset, self._document)
            shown.append(f"{name} {_number(run.em * unit)} Tf <{codes.hex().upper()}> Tj")
        return f"BT {_number(x)} {_number(y)} Td {' '.join(shown)} ET"

    def finish(self) -> None:
        """Adds the fonts to the document; nothing where no fraction was shown."""
        fonts = self._document.idToObject[pdfdoc.BasicFonts].dict
        for i, (_, glyphs) in enumerate(self._fonts):
            fonts[_name(i)] = self._document.Reference(self._font(glyphs), _name(i))

    def _font(self, glyphs: list[_FractionGlyph]) -> Any:
        names = [f"fraction{i}" for i in range(len(glyphs))]
        procedures = {n: self._stream(g.procedure) for n, g in zip(names, glyphs, strict=True)}
        differences = [_FIRST_CODE, *(f"/{n}" for n in names)]
        foot = min(_DESCENT, *(math.floor(g.foot) for g in glyphs))
        top = max(_ASCENT, *(math.ceil(g.top) for g in glyphs))
        wide = math.ceil(max(g.width for g in glyphs))
        return pdfdoc.PDFDictionary(
            {
                "Type": "/Font",
                "Subtype": "/Type3",
                "FontBBox": pdfdoc.PDFArray([0, foot, wide, top]),
                "FontMatrix": pdfdoc.PDFArray([0.001, 0, 0, 0.001, 0, 0]),
                "CharProcs": pdfdoc.PDFDictionary(procedures),
                "Encoding": pdfdoc.PDFDictionary(
                    {"Type": "/Encoding", "Differences": pdfdoc.PDFArray(differences)}
                ),
                "FirstChar": _FIRST_CODE,
                "LastChar": _FIRST_CODE + len(glyphs) - 1,
                "Widths": pdfdoc.PDFArray([round(g.width, 4) for g in glyphs]),
                "ToUnicode": self._stream(_character_map([g.text for g in glyphs])),
                "Resources": pdfdoc.PDFDictionary({"Font": pdfdoc.PDFObjectReference(pdfdoc.BasicFonts)}),
            }
        )

    def _stream(self, content: str) -> Any:
        return self._document.Reference(pdfdoc.PDFStream(content=content))


def _name(font: int) -> str:
    return f"Fractions{font}"


def _number(value: float) -> str:
    return f"{round(value, 4) + 0.0:.4f}"


def _character_map(texts: list[str]) -> str:
    """A ToUnicode map (ISO 32000-1, 9.10.3) from codes to several characters each; 100 entries a block."""
    entries = [
        f"<{_FIRST_CODE + i:02X}> <{t.encode('utf-16-be').hex().upper()}>" for i, t in enumerate(texts)
    ]
    blocks = [entries[i : i + 100] for i in range(0, len(entries), 100)]
    body = "\n".join(f"{len(b)} beginbfchar\n" + "\n".join(b) + "\nendbfchar" for b in blocks)
    return (
        "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n"
        "/CIDSystemInfo << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def\n"
        "/CMapName /Fractions def\n/CMapType 2 def\n"
        "1 begincodespacerange\n<00> <FF>\nendcodespacerange\n"
        f"{body}\nendcmap\nCMapName currentdict /CMap defineresource pop\nend\nend"
    )
