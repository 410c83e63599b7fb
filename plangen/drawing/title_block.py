"""The title block: fields after ISO 7200 and its width of 180 mm (both from memory).

Two sizes: 25 mm high on A4 and Letter, 36 mm on A3 and Tabloid. An empty field shows an em dash.
"""

from __future__ import annotations

from dataclasses import dataclass

from plangen.drawing.lettering import DESCENT, Box2, clean, text_width
from plangen.drawing.linework import ISO_3098_HEIGHTS
from plangen.drawing.mark_geometry import polyline
from plangen.drawing.marks import Group, Lettering, Mark, Stroke
from plangen.drawing.placing_rule import Method
from plangen.drawing.projection_symbol import projection_symbol

WIDTH = 180.0
SMALL_HEIGHT, LARGE_HEIGHT = 25.0, 36.0
PRINT_WORDS = "Print at 100 % (actual size). Dimensions govern; do not scale."
_NAME = 2.5
_PAD = 1.2


@dataclass(frozen=True)
class TitleFields:
    """What the title block says of one sheet; texts as printed."""

    owner: str
    title: str
    document_type: str
    """``Part sheet``, ``Elevations and plan``."""
    number: str
    """``S-03``."""
    sheet: int
    sheets: int
    revision: str
    date: str
    """Date of issue as the design gives it; never today's."""
    creator: str
    approver: str
    scale: str
    method: Method
    units: str
    """Unit and least division: ``inches, to 1/16``."""
    design: str
    """The first figures of the design file's digest."""
    version: str
    """``plangen 0.1.0``."""


@dataclass(frozen=True)
class _Cell:
    name: str
    value: str
    width: float


@dataclass(frozen=True)
class _Row:
    height: float
    letters: float
    """Height of the values' capitals."""
    cells: tuple[_Cell, ...]

    @property
    def is_stacked(self) -> bool:
        """Name above the value, where the row has room for both."""
        return self.height >= _NAME + self.letters + 2.4


def title_block(fields: TitleFields, box: Box2) -> Group:
    """The block filling ``box``, ruled, its outer edges 0.5 (the frame covers the lower and right one)."""
    x0, y0, x1, y1 = box
    large = y1 - y0 > SMALL_HEIGHT + 1e-6
    rows = _large_rows(fields) if large else _small_rows(fields)
    stretch = (x1 - x0) / WIDTH
    marks: list[Mark] = [Stroke(polyline((x0, y0), (x0, y1), (x1, y1)), "outline")]
    top = y1
    for row in rows:
        foot = top - row.height
        x = x0
        for cell in row.cells:
            width = cell.width * stretch
            marks.extend(_cell(cell, row, (x, foot, x + width, top), fields.method))
            x += width
            if x < x1 - 1e-6:
                marks.append(Stroke(polyline((x, foot), (x, top)), "rule"))
        if foot > y0 + 1e-6:
            marks.append(Stroke(polyline((x0, foot), (x1, foot)), "rule"))
        top = foot
    return Group("title block", tuple(marks))


def _first_row(f: TitleFields) -> tuple[_Cell, ...]:
    return (
        _Cell("OWNER", f.owner, 60),
        _Cell("TITLE", f.title, 77),
        _Cell("NO.", f.number, 14),
        _Cell("REV.", f.revision, 10),
        _Cell("SHEET", f"{f.sheet} of {f.sheets}", 19),
    )


def _second_row(f: TitleFields) -> tuple[_Cell, ...]:
    return (
        _Cell("DOCUMENT TYPE", f.document_type, 42),
        _Cell("CREATOR", f.creator, 31),
        _Cell("APPROVER", f.approver, 31),
        _Cell("SCALE", f.scale, 29),
        _Cell("DATE OF ISSUE", f.date, 27),
        _Cell("", "", 20),
    )


def _small_rows(f: TitleFields) -> tuple[_Row, ...]:
    last = (
        _Cell("", PRINT_WORDS, 99),
        _Cell("", f.units, 26),
        _Cell("DESIGN", f"{f.design} {f.version}", 55),
    )
    return (
        _Row(9.7, 3.5, _first_row(f)),
        _Row(9.7, 3.5, _second_row(f)),
        _Row(5.6, 2.5, last),
    )


def _large_rows(f: TitleFields) -> tuple[_Row, ...]:
    origin = (
        _Cell("UNITS", f.units, 60),
        _Cell("DESIGN", f.design, 60),
        _Cell("MADE WITH", f.version, 60),
    )
    return (
        _Row(12.4, 5.0, _first_row(f)),
        _Row(10.8, 3.5, _second_row(f)),
        _Row(6.4, 3.5, origin),
        _Row(6.4, 3.5, (_Cell("", PRINT_WORDS, WIDTH),)),
    )


def _cell(cell: _Cell, row: _Row, box: Box2, method: Method) -> list[Mark]:
    x0, y0, x1, y1 = box
    if not cell.name and not cell.value:
        return [projection_symbol(method, ((x0 + x1) / 2, (y0 + y1) / 2))]
    x, value = x0 + _PAD, cell.value or "—"
    if row.is_stacked:
        room = x1 - x0 - 2 * _PAD
        text, height = fitted(value, room, _sizes(row.letters))
        foot = y0 + DESCENT * row.letters + 0.4
        return [
            Lettering(cell.name, (x, y1 - 0.65 - _NAME), _NAME),
            Lettering(text, (x, foot), height, fractions=False),
        ]
    foot = y0 + (row.height - (1 + DESCENT) * row.letters) / 2 + DESCENT * row.letters
    marks: list[Mark] = []
    if cell.name:
        marks.append(Lettering(cell.name, (x, foot), _NAME))
        x += text_width(cell.name, _NAME) + 1.5
    text, height = fitted(value, x1 - _PAD - x, _sizes(row.letters))
    return [*marks, Lettering(text, (x, foot), height, fractions=False)]


def _sizes(largest: float) -> tuple[float, ...]:
    """Heights of the series from ``largest`` down."""
    return tuple(h for h in reversed(ISO_3098_HEIGHTS) if h <= largest)


def fitted(text: str, width: float, heights: tuple[float, ...]) -> tuple[str, float]:
    """The text at the first height at which it fits ``width`` mm; at the last cut short with an ellipsis."""
    text = clean(text)
    for height in heights:
        if text_width(text, height, fractions=False) <= width:
            return text, height
    n = len(text)
    while n and text_width(f"{text[:n].rstrip()}…", heights[-1], fractions=False) > width:
        n -= 1
    return f"{text[:n].rstrip()}…", heights[-1]
