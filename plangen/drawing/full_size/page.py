"""A page at full size: the field for the drawing, and round it the head and the rulers, all inside what prints.

Pages are laid out for a printer that prints true, on paper smaller by the ``stretch`` that the settings give; at the
end every place is stretched by it, rulers and squares too, so that they tell whether the figures given are right.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from plangen.drawing.full_size.rulers import RULER_BAND, ruler
from plangen.drawing.lettering import Box2
from plangen.drawing.mark_geometry import rectangle
from plangen.drawing.marks import Fill, Group, Lettering, Link, Mark, Sheet, Stroke
from plangen.drawing.title_block import fitted
from plangen.geometry.curve_windows import stretched_curve
from plangen.geometry.curves import Vec2
from plangen.tables.cut_files import FullSizePaper
from plangen.tables.paper import SHEETS

HEAD = 12.0
"""Height of the two lines over the field, mm."""
LONGEST = 5000.0
"""Of a page from a roll: readers refuse a page over 5080 mm (ISO 32000-1, annex C)."""
_LETTERS, _SMALL = 3.5, 2.5
_GAP = 1.0


@dataclass(frozen=True)
class Paper:
    """The paper that a set is printed on at full size."""

    name: str
    """``A4``, ``Letter``, ``universal`` or ``roll``."""
    size: Vec2
    """Short and long side of a sheet, mm; of a roll its width and the most that a page is long."""
    edge: float
    overlap: float
    stretch: Vec2

    @property
    def is_roll(self) -> bool:
        return self.name == "roll"


@dataclass(frozen=True)
class Page:
    """One page to draw on. Boxes are before stretching, from the paper's lower left corner."""

    paper: Paper
    width: float
    """Of the real paper, mm."""
    height: float
    inner: Box2
    """What prints."""
    field: Box2
    """What the drawing stands in."""


def chosen_paper(paper: FullSizePaper, small: str) -> Paper:
    """As the settings say, else the ``small`` sheet of the drawings."""
    if paper.roll is not None:
        return Paper("roll", (paper.roll, LONGEST), paper.edge, paper.overlap, paper.stretch)
    name = paper.paper or small
    return Paper(name, SHEETS[name], paper.edge, paper.overlap, paper.stretch)


def page_of(paper: Paper, upright: bool, length: float | None = None) -> Page:
    """A page of the paper; ``length`` of its field, where it is cut off a roll."""
    width, height = paper.size if upright else paper.size[::-1]
    sx, sy = paper.stretch
    e, head, rulers = paper.edge, HEAD, RULER_BAND
    if length is not None:
        height = min(height, (length + head + rulers) * sy + 2 * e)
    inner = (e / sx, e / sy, (width - e) / sx, (height - e) / sy)
    field = (inner[0] + rulers, inner[1] + rulers, inner[2], inner[3] - head)
    return Page(paper, width, height, inner, field)


def field_sizes(paper: Paper) -> list[tuple[bool, Vec2]]:
    """The fields of a sheet upright and lying; of a roll the one that its width gives."""
    pages = [(u, page_of(paper, u).field) for u in ((True,) if paper.is_roll else (True, False))]
    return [(u, (f[2] - f[0], f[3] - f[1])) for u, f in pages]


def furniture(
    page: Page, number: str, head: str, under: Sequence[str], says: str, key: float = 0.0
) -> list[Mark]:
    """Rulers, the frame of the field, the head with ``under`` in its second line, ``says`` beside the ruler.

    ``key``: room left for a map beside the number, mm.
    """
    x0, y0, x1, y1 = page.inner
    fx0, fy0, _, fy1 = page.field
    right = x1 - 14.0 - key
    title, height = fitted(head, right - x0 - 2, (_LETTERS, _SMALL))
    second = "  ·  ".join(t for t in under if t)
    beside = fx0 + 125.0
    told, size = fitted(says, max(x1 - beside, 10.0), (_SMALL,))
    return [
        Stroke(rectangle(page.field), "narrow", True),
        *ruler((fx0, y0 + RULER_BAND / 2), False, 100, 4),
        *ruler((x0 + RULER_BAND / 2, fy0), True, 100, 4),
        Lettering(title, (x0, y1 - _GAP - _LETTERS), height, weight="bold", fractions=False),
        Lettering(number, (x1, y1 - _GAP - _LETTERS), _LETTERS, "right", weight="bold"),
        Lettering(*_placed(second, x0, fy1 + 1.6, x1 - x0)),
        Lettering(told, (beside, y0 + RULER_BAND / 2 - _SMALL / 2), size),
    ]


def _placed(text: str, x: float, y: float, room: float) -> tuple[str, Vec2, float]:
    shown, height = fitted(text, room, (_SMALL,))
    return shown, (x, y), height


def page_sheet(
    page: Page, number: str, title: str, marks: Sequence[Mark], members: tuple[str, ...], alt: str
) -> Sheet:
    """The page as a sheet, every place stretched as the printer needs it."""
    name = (
        page.paper.name
        if page.paper.is_roll
        else (f"{page.paper.name} {'portrait' if page.width < page.height else 'landscape'}")
    )
    by = page.paper.stretch
    placed = tuple(marks) if by == (1.0, 1.0) else tuple(_stretched(m, by) for m in marks)
    return Sheet(
        number, title, "full size", page.width, page.height, name, placed, (), members, f"{number}  {title}", alt
    )  # fmt: skip


def _stretched(mark: Mark, by: Vec2) -> Mark:
    match mark:
        case Stroke() | Fill():
            return replace(mark, curves=tuple(stretched_curve(c, by) for c in mark.curves))
        case Lettering():
            return replace(mark, at=(mark.at[0] * by[0], mark.at[1] * by[1]))
        case Link():
            x0, y0, x1, y1 = mark.area
            return replace(mark, area=(x0 * by[0], y0 * by[1], x1 * by[0], y1 * by[1]))
        case Group():
            return replace(mark, marks=tuple(_stretched(m, by) for m in mark.marks))
        case _:
            raise ValueError("dimensions do not stand on pages at full size")
