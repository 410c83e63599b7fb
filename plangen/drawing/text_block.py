"""Words on a sheet: titles, numbered notes, cautions, titles of views.

Notes are flush left, never justified, 45 to 60 characters a line (common practice of typography).
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from plangen.drawing.block import Block, spaced, stacked
from plangen.drawing.dimension_marks import line_pitch
from plangen.drawing.lettering import DESCENT, LINE_PITCH, Box2, text_box, text_width, wrap
from plangen.drawing.mark_geometry import polyline, rectangle
from plangen.drawing.marks import Lettering, Mark, Stroke
from plangen.drawing.title_block import fitted
from plangen.drawing.typeface import Weight

SHEET_TITLE, VIEW_TITLE, NOTE = 7.0, 5.0, 3.5
MEASURE = 60
"""Most characters in a line of a note."""
_MEAN_CHARACTER = 0.73
"""Mean advance of running English text over h (measured on the notes of this project)."""


def note_width(height: float = NOTE) -> float:
    """Widest a column of notes should be, mm."""
    return MEASURE * _MEAN_CHARACTER * height


def paragraph(
    text: str,
    width: float,
    height: float = NOTE,
    weight: Weight = "regular",
    hanging: str = "",
    fractions: bool = True,
) -> Block:
    """The text wrapped to ``width``; ``hanging`` (a number or letter) stands before the first line. ``fractions``:
    set as stacks, else as typed."""
    indent = max(2 * height, text_width(f"{hanging} ", height)) if hanging else 0.0
    lines = wrap(text, width - indent, height, weight, fractions)
    pitch = line_pitch(lines, height) if fractions else LINE_PITCH * height
    over = max(height, text_box(lines[0], height, weight, fractions)[3])
    under = max(DESCENT * height, -text_box(lines[-1], height, weight, fractions)[1])
    marks: list[Mark] = [
        Lettering(t, (indent, -over - pitch * i), height, weight=weight, fractions=fractions)
        for i, t in enumerate(lines)
    ]
    if hanging:
        marks.insert(0, Lettering(hanging, (0.0, -over), height))
    return Block("paragraph", tuple(marks), width, over + pitch * (len(lines) - 1) + under)


def heading(text: str, height: float = VIEW_TITLE) -> Block:
    """One line over a list or a group of notes."""
    mark = Lettering(text, (0.0, -height), height)
    return Block("heading", (mark,), text_width(text, height), (1 + DESCENT) * height)


def numbered_notes(texts: Sequence[str], width: float, height: float = NOTE, first: int = 1) -> list[Block]:
    """A block for each note, numbered from ``first``; lay them with ``stacked`` or ``flowed``, gap 2."""
    width = min(width, note_width(height))
    return [paragraph(t, width, height, hanging=f"{first + i}.") for i, t in enumerate(texts)]


def caution_box(texts: Sequence[str], width: float, columns: int = 1) -> Block:
    """A frame of 0.5 with the word CAUTION and the texts in columns; it belongs beside the cut or step it
    concerns, or heads those that hold for all the work."""
    pad, gap = 3.0, 6.0
    own = (width - 2 * pad - gap * (columns - 1)) / columns
    head = paragraph("CAUTION", width - 2 * pad, VIEW_TITLE, "bold")
    rows = [spaced(paragraph(t, own), 1.5) for t in texts]
    beside = [stacked("caution", column, 0.0) for column in _shared_out(rows, columns)]
    top = -pad - head.height - 1.5
    marks = [head.placed(pad, -pad), *(c.placed(pad + i * (own + gap), top) for i, c in enumerate(beside))]
    height = pad - top + max((c.height for c in beside), default=0.0) - 1.5
    frame = Stroke(rectangle((0.0, -height, width, 0.0)), "outline", True)
    return Block("caution", (frame, *marks), width, height)


def _shared_out(rows: Sequence[Block], count: int) -> list[list[Block]]:
    """The rows in ``count`` columns as low as can be, in their order within each; the last row ends the last column.
    No row leads to the next, so a column may take any of them."""
    if count == 1 or len(rows) < 3:
        return [list(c) for c in ([rows] if count == 1 else [rows[:1], rows[1:]]) if c]
    ways = itertools.product(range(count), repeat=len(rows) - 1)
    best = min(((*way, count - 1) for way in ways), key=lambda way: (_tallest(rows, way, count), way))
    return [[r for r, c in zip(rows, best, strict=True) if c == k] for k in range(count)]


def _tallest(rows: Sequence[Block], way: Sequence[int], count: int) -> float:
    heights = [0.0] * count
    for row, column in zip(rows, way, strict=True):
        heights[column] += row.height
    return round(max(heights), 3)


def view_title(title: str, scale_text: str) -> Block:
    """``DETAIL A (1:1)``, to stand centred under its view."""
    text = f"{title} ({scale_text})" if scale_text else title
    mark = Lettering(text, (0.0, -VIEW_TITLE), VIEW_TITLE)
    return Block("view title", (mark,), text_width(text, VIEW_TITLE), (1 + DESCENT) * VIEW_TITLE)


def sheet_head(field: Box2, title: str, purpose: str) -> tuple[tuple[Mark, ...], Box2]:
    """Title of the sheet and what it is for, ruled off at the head of the free field; and the field below."""
    x0, y0, x1, y1 = field
    pad, height = 5.0, 13.5
    base = y1 - 3.0 - SHEET_TITLE
    text, size = fitted(title, x1 - x0 - 2 * pad, (SHEET_TITLE, VIEW_TITLE, NOTE))
    marks: list[Mark] = [Lettering(text, (x0 + pad, base), size, fractions=False)]
    left = x0 + pad + text_width(text, size, fractions=False) + 6.0
    if purpose:
        marks += _purpose(purpose, left, x1 - pad, base)
    marks.append(Stroke(polyline((x0, y1 - height), (x1, y1 - height)), "rule"))
    return tuple(marks), (x0, y0, x1, y1 - height)


def _purpose(purpose: str, left: float, right: float, base: float) -> list[Lettering]:
    """Nothing where there is no room for all of it."""
    text, size = fitted(purpose, max(right - left, 0.0), (NOTE, 2.5))
    return [Lettering(text, (right, base), size, "right", fractions=False)] if not text.endswith("…") else []
