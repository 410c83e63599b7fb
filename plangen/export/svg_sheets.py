"""Sheets to SVG (SVG 1.1, W3C): one file a sheet at its true size, a unit a millimetre, text as text.

The same marks as the PDF's, none left out. What belongs together stays together: a group of marks is a ``g`` with its
name, a dimension is one with its exact value, a line's use is its class. A fraction reads ``15/16`` to whatever takes
text from the file; its slash is there and is not drawn. The typeface is named, and stands beside the sheets as a file
(``TYPEFACES``); each run of text states its length, so that another typeface takes the same room.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from xml.sax.saxutils import escape, quoteattr

from plangen.drawing.dimension_marks import expand
from plangen.drawing.lettering import Run, SetText, Stack, set_text, text_width
from plangen.drawing.linework import LINES
from plangen.drawing.marks import (
    AngularDimension,
    Fill,
    Group,
    Leader,
    Lettering,
    LinearDimension,
    Link,
    Mark,
    Sheet,
    Stroke,
)
from plangen.drawing.typeface import Weight, font_path, typeface
from plangen.export.svg import grey_text, path_data, plain_number
from plangen.geometry.curves import Vec2

FAMILY = "Source Sans Pro"
TYPEFACES: dict[Weight, str] = {"regular": "SourceSansPro-Regular.ttf", "bold": "SourceSansPro-Bold.ttf"}
"""Names of the typeface's files beside the sheets."""
_DIGITS = 3
"""Micrometres: finer than any printer."""


def svg_sheets(sheets: Sequence[Sheet]) -> dict[str, bytes]:
    """File names and bytes: each sheet by its number, and the typeface that all of them name.

    Raises ValueError when a link leads to a sheet that is not in the set.
    """
    numbers = {s.number for s in sheets}
    files = {f"{s.number}.svg": svg_sheet(s, numbers) for s in sheets}
    return {**files, **{name: font_path(weight).read_bytes() for weight, name in TYPEFACES.items()}}


def svg_sheet(sheet: Sheet, numbers: Iterable[str]) -> bytes:
    """One sheet; ``numbers`` are those of the sheets that a link may lead to, files beside it."""
    w, h = _n(sheet.width), _n(sheet.height)
    writer = _Writer(sheet.height, frozenset(numbers))
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" xml:lang="en" '
        f'xml:space="preserve" role="graphics-document" aria-labelledby="title" aria-describedby="desc" '
        f'width="{w}mm" height="{h}mm" viewBox="0 0 {w} {h}">',
        f'<title id="title">{escape(f"{sheet.number} {sheet.title}")}</title>',
        f'<desc id="desc">{escape(sheet.alt or sheet.title)}</desc>',
        f"<style>\n{_STYLE}\n</style>",
        f'<rect class="paper" width="{w}" height="{h}"/>',
        *writer.written(sheet.marks),
        "</svg>",
        "",
    ]
    return "\n".join(lines).encode("utf-8")


def _style() -> str:
    rules = [
        f'@font-face{{font-family:"{FAMILY}";font-weight:{weight};src:url("{file}")}}'
        for file, weight in ((TYPEFACES["regular"], "normal"), (TYPEFACES["bold"], "bold"))
    ]
    rules.append(f'text{{font-family:"{FAMILY}",sans-serif;font-kerning:none;fill:#000}}')
    rules += [
        ".paper{fill:#fff}",
        ".bold{font-weight:bold}",
        ".slash{fill:none}",
        "a rect{fill:#fff;fill-opacity:0}",
    ]
    rules.append("path{fill:none;stroke:none;stroke-miterlimit:10}")
    for use, style in LINES.items():
        rule = f"stroke:{grey_text(style.grey)};stroke-width:{_n(style.width)}"
        if style.cap == "round":
            rule += ";stroke-linecap:round"
        if style.dashes:
            rule += f";stroke-dasharray:{','.join(_n(d) for d in style.dashes)}"
        rules.append(f"path.{_class(use)}{{{rule}}}")
    return "\n".join(rules)


class _Writer:
    """Writes marks in their order, y turned to run down the page."""

    def __init__(self, height: float, numbers: frozenset[str]) -> None:
        self._height = height
        self._numbers = numbers

    def written(self, marks: Iterable[Mark]) -> Iterator[str]:
        for mark in marks:
            match mark:
                case Group():
                    yield from self._group(f'class="group" aria-label={quoteattr(mark.name)}', mark.marks)
                case LinearDimension():
                    yield from self._group(
                        f'class="dimension linear" data-mm="{_exact(mark.value)}"', expand(mark)
                    )
                case AngularDimension():
                    yield from self._group(
                        f'class="dimension angular" data-degrees="{_exact(mark.value)}"', expand(mark)
                    )
                case Leader():
                    value = "" if mark.value is None else f' data-mm="{_exact(mark.value)}"'
                    yield from self._group(f'class="leader {mark.kind}"{value}', expand(mark))
                case Stroke():
                    path = path_data(mark.curves, mark.closed, self._height, _DIGITS)
                    yield f'<path class="{_class(mark.use)}" d="{path}"/>'
                case Fill():
                    path = path_data(mark.curves, True, self._height, _DIGITS)
                    yield f'<path style="fill:{grey_text(mark.grey)};fill-rule:evenodd" d="{path}"/>'
                case Lettering():
                    yield from self._lettering(mark)
                case Link():
                    yield self._link(mark)

    def _group(self, attributes: str, marks: Iterable[Mark]) -> Iterator[str]:
        yield f"<g {attributes}>"
        yield from self.written(marks)
        yield "</g>"

    def _lettering(self, mark: Lettering) -> Iterator[str]:
        """One text element; of a turned line it and the bars of its fractions are turned together."""
        line = set_text(mark)
        if not line.pieces:
            return
        weight = ' class="bold"' if mark.weight == "bold" else ""
        turned = bool(mark.rotation % 360)
        if turned:
            x, y = self._at(mark.at)
            yield f'<g transform="rotate({_n(-mark.rotation)} {x} {y})">'
        yield f"<text{weight}>{''.join(self._pieces(line))}</text>"
        for x0, y0, x1, y1 in line.bars:
            x, y = self._at((x0, y1))
            yield f'<rect x="{x}" y="{y}" width="{_n(x1 - x0)}" height="{_n(y1 - y0)}"/>'
        if turned:
            yield "</g>"

    def _pieces(self, line: SetText) -> Iterator[str]:
        for piece in line.pieces:
            match piece:
                case Run():
                    yield self._run(piece)
                case Stack():
                    yield f'{self._run(piece.numerator)}<tspan class="slash">/</tspan>{self._run(piece.denominator)}'

    def _run(self, run: Run) -> str:
        """Spaces at its ends stand outside the length, since not every reader counts them."""
        words = run.text.strip(" ")
        if not words:
            return run.text
        before, _, after = run.text.partition(words)
        x, y = self._at((run.x + _length(before, run), run.y))
        return (
            f'{before}<tspan x="{x}" y="{y}" font-size="{_n(run.em)}" textLength="{_n(_length(words, run))}" '
            f'lengthAdjust="spacingAndGlyphs">{escape(words)}</tspan>{after}'
        )

    def _link(self, mark: Link) -> str:
        if mark.sheet not in self._numbers:
            raise ValueError(f"a link leads to sheet {mark.sheet}, which is not in the set")
        x0, y0, x1, y1 = mark.area
        x, y = self._at((x0, y1))
        to = f"{mark.sheet}.svg"
        return (
            f'<a href="{to}" xlink:href="{to}" aria-label="{mark.sheet}">'
            f'<rect x="{x}" y="{y}" width="{_n(x1 - x0)}" height="{_n(y1 - y0)}"/></a>'
        )

    def _at(self, p: Vec2) -> tuple[str, str]:
        return _n(p[0]), _n(self._height - p[1])


def _length(text: str, run: Run) -> float:
    """Of a text in the letters of a run, mm."""
    return text_width(text, run.em * typeface(run.weight).capital, run.weight, fractions=False)


def _class(use: str) -> str:
    return use.replace(" ", "-")


def _n(value: float) -> str:
    return plain_number(value, _DIGITS)


def _exact(value: float) -> str:
    """As plan.json has it."""
    return plain_number(value, 6)


_STYLE = _style()
