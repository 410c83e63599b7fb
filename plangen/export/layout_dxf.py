"""Layouts of boards and sheets as DXF at full size: drawings to read, not files to cut by.

One file for each board or sheet, millimetres. Layers: ``SHEET`` or ``BOARD`` its outline, ``PART`` a closed outline a
part, ``OFFCUT`` what is left, ``KEEP_OUT`` what is spoilt, ``CUT`` each cut along its kerf's edge, with its number
where it starts, ``LABEL`` names and sizes, ``STOP`` the table of cuts with their settings. The board's or sheet's
lower left corner is 0, 0. Plain ASCII lettering.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from ezdxf.document import Drawing
from ezdxf.enums import TextEntityAlignment

from plangen.export.dxf_file import document_bytes, fixed_metadata, new_document, set_extents, tidy
from plangen.export.dxf_text import ascii_words
from plangen.stock.breakdown import Breakdown
from plangen.stock.laid_pieces import LaidStock, laid_stock
from plangen.stock.materials_list import MaterialRow
from plangen.units import UnitStyle, length_text

_LAYERS = {"SHEET": 7, "BOARD": 7, "PART": 5, "OFFCUT": 8, "KEEP_OUT": 1, "CUT": 3, "LABEL": 7, "STOP": 7}
"""Name and colour number."""
_MOST_LETTER, _LEAST_LETTER = 30.0, 3.0
"""Heights of lettering, mm at full size."""


def layout_files(rows: tuple[MaterialRow, ...], style: UnitStyle) -> dict[str, bytes]:
    """``layout/<stock>-<n>.dxf`` and its bytes, for every board and sheet that is cut."""
    files: dict[str, bytes] = {}
    for row in rows:
        if row.breakdown is None:
            continue
        for number, piece in enumerate(laid_stock(row.breakdown), 1):
            path = f"layout/{_slug(row.stock.name)}-{number}.dxf"
            while path in files:
                path = path.replace("layout/", "layout/other-", 1)
            files[path] = _document(row.breakdown, piece, style)
    return files


def _slug(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", ascii_words(name).lower()).strip("-") or "stock"


def _document(found: Breakdown, piece: LaidStock, style: UnitStyle) -> bytes:
    with fixed_metadata():
        document = new_document("mm")
        for name, colour in _LAYERS.items():
            document.layers.add(name, color=colour)
        _draw(document, found, piece, style)
        return document_bytes(document)


def _draw(document: Drawing, found: Breakdown, piece: LaidStock, style: UnitStyle) -> None:
    _rectangle(document, piece.kind, 0.0, 0.0, piece.length, piece.width)
    for area in piece.areas:
        layer = {"part": "PART", "offcut": "OFFCUT", "spoilt": "KEEP_OUT"}[area.use]
        _rectangle(document, layer, area.x, area.y, area.length, area.width)
        if area.use != "spoilt":
            size = f"{length_text(area.length, style)} x {length_text(area.width, style)}"
            text = ascii_words(f"{area.name} {size}".strip())
            _label(document, text, area.x, area.y, area.length, area.width)
    letter = _letter(piece)
    for cut in piece.cuts:
        (x0, y0), (x1, y1) = cut.start, cut.end
        document.modelspace().add_line(
            (tidy(x0), tidy(y0)), (tidy(x1), tidy(y1)), dxfattribs={"layer": "CUT"}
        )
        _text(document, str(cut.number), x0, y0 - letter * 1.4 if cut.upright else y0, letter, "CUT")
    below = -letter * 4
    for line in _stop_lines(found, piece, style):
        _text(document, line, 0.0, below, letter, "STOP")
        below -= letter * 1.6
    set_extents(document, (0.0, below), (piece.length, piece.width))


def _stop_lines(found: Breakdown, piece: LaidStock, style: UnitStyle) -> Iterator[str]:
    kerf = length_text(found.layout.kerf, style)
    yield ascii_words(
        f"{found.stock.name}, {'from the shop, ' if piece.shop else ''}kerf {kerf} {style.length}"
    )
    for cut in piece.cuts:
        setting = (
            "square the end" if cut.stop is None else f"stop {length_text(cut.stop, style)} {style.length}"
        )
        yield ascii_words(f"Cut {cut.number}: {'crosscut' if cut.upright else 'rip'}, {setting}")


def _letter(piece: LaidStock) -> float:
    return min(_MOST_LETTER, max(_LEAST_LETTER, piece.length / 100))


def _rectangle(document: Drawing, layer: str, x: float, y: float, length: float, width: float) -> None:
    corners = [(x, y), (x + length, y), (x + length, y + width), (x, y + width)]
    document.modelspace().add_lwpolyline(
        [(tidy(a), tidy(b)) for a, b in corners], close=True, dxfattribs={"layer": layer}
    )


def _label(document: Drawing, text: str, x: float, y: float, length: float, width: float) -> None:
    """In the middle of its rectangle, along its longer side, as high as fits."""
    long, short = max(length, width), min(length, width)
    height = min(_MOST_LETTER, short * 0.5, long / max(len(text), 1))
    entity = document.modelspace().add_text(
        text,
        height=tidy(height),
        rotation=0.0 if length >= width else 90.0,
        dxfattribs={"layer": "LABEL"},
    )
    middle = (tidy(x + length / 2), tidy(y + width / 2))
    entity.set_placement(middle, align=TextEntityAlignment.MIDDLE_CENTER)


def _text(document: Drawing, text: str, x: float, y: float, height: float, layer: str) -> None:
    entity = document.modelspace().add_text(text, height=tidy(height), dxfattribs={"layer": layer})
    entity.set_placement((tidy(x), tidy(y)))
