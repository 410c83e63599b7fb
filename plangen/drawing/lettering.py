"""Lettering set in lines: where each run of glyphs and each stacked fraction stands, in millimetres.

Heights are heights of capitals (ISO 3098). A proper fraction in lowest terms, as in ``3 15/16``, is set as a
stack: numerator, bar, denominator, its figures h / sqrt 2 high (one step of the series down) and never under
2.5 mm. ``4/4`` stock, dates and ratios stay as typed. Exporters read this layout and measure nothing.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import TypeAlias

from plangen.drawing.linework import LINES
from plangen.drawing.marks import Lettering
from plangen.drawing.typeface import Weight, typeface
from plangen.geometry.curves import Vec2

Box2: TypeAlias = tuple[float, float, float, float]
"""x0, y0, x1, y1 in millimetres."""

LEAST_FIGURE = 2.5
"""Least height of any letter or figure (ISO 3098 series, read)."""
DESCENT = 0.35
"""What letters hang below the base line, over h (g, y, cedilla of the typeface, measured)."""
LINE_PITCH = 1.54
"""Base line to base line over h. ISO 3098-0 asks 1.4 at least (from memory); at 1.4 the descenders of this
typeface touch the ascenders of the next line (seen)."""
_BAR_GAP = 0.35
"""Between the bar and the figures, mm (our judgement)."""
_STACK_BEARING = 0.3
"""Clear at both sides of a stack, mm, as letters have (our judgement)."""

_FRACTION = re.compile(r"(?<![\d/.:])(\d{1,3})/(\d{1,3})(?![\d/]|\.\d)")
_SUBSTITUTES = str.maketrans(
    {"⌀": "Ø", "\t": " ", "\u2011": "-", "\u00a0": " ", "\u202f": " ", "\u2009": " "}
)


@dataclass(frozen=True)
class Run:
    """Glyphs in a row, one size. ``x`` and ``y`` are on the base line, before rotation."""

    text: str
    x: float
    y: float
    em: float
    """Font size, mm."""
    weight: Weight


@dataclass(frozen=True)
class Stack:
    """A stacked fraction; its bar is centred at half the height of the capitals beside it."""

    numerator: Run
    denominator: Run
    bar: Box2
    """The filled bar between the two."""
    text: str
    """``15/16``: what a reader that copies text gets."""
    x: float
    y: float
    em: float
    """Font size of the lettering the stack stands in, mm."""
    width: float


@dataclass(frozen=True)
class SetText:
    """A lettering laid out, before rotation about its ``at``; runs and stacks in reading order."""

    pieces: tuple[Run | Stack, ...]
    width: float
    box: Box2
    """Box of the ink; of zero width at ``at`` where there is none."""

    @property
    def runs(self) -> tuple[Run, ...]:
        """Every run, figures of fractions among them."""
        out: list[Run] = []
        for p in self.pieces:
            out.extend((p,) if isinstance(p, Run) else (p.numerator, p.denominator))
        return tuple(out)

    @property
    def bars(self) -> tuple[Box2, ...]:
        return tuple(p.bar for p in self.pieces if isinstance(p, Stack))


def clean(text: str) -> str:
    """The text as it can be drawn: one line, with stand-ins for signs the typeface lacks."""
    return " ".join(text.translate(_SUBSTITUTES).split("\n"))


def missing_characters(text: str) -> str:
    """Characters of the text that the typeface does not have, each once, in order."""
    face = typeface("regular")
    return "".join(dict.fromkeys(c for c in clean(text) if not face.has(c)))


def em_size(height: float, weight: Weight = "regular") -> float:
    """Font size in mm of lettering whose capital H is ``height`` mm high."""
    return height / typeface(weight).capital


def figure_height(height: float) -> float:
    """Height of the figures of a fraction beside capitals ``height`` high."""
    return max(LEAST_FIGURE, height / math.sqrt(2))


def stack_height(height: float) -> float:
    """Height over all of a stacked fraction, mm: about 6 at h 3.5."""
    return 2 * figure_height(height) + 2 * _BAR_GAP + LINES["narrow"].width


def split_fractions(text: str) -> Iterator[tuple[str, tuple[str, str] | None]]:
    """Pieces of the text in order: (words, None) or ("", (numerator, denominator))."""
    done = 0
    for m in _FRACTION.finditer(text):
        n, d = int(m[1]), int(m[2])
        if not (0 < n < d and math.gcd(n, d) == 1):
            continue
        if m.start() > done:
            yield text[done : m.start()], None
        yield "", (m[1], m[2])
        done = m.end()
    if done < len(text):
        yield text[done:], None


def has_stack(text: str) -> bool:
    """Whether the text is set with a stacked fraction."""
    return any(pair for _, pair in split_fractions(clean(text)))


def _advance(text: str, em: float, weight: Weight) -> float:
    face = typeface(weight)
    return math.fsum(face.glyph(c).advance for c in text) * em


def _ink(run: Run) -> Box2 | None:
    face, pen = typeface(run.weight), run.x
    boxes: list[Box2] = []
    for c in run.text:
        g = face.glyph(c)
        if g.box:
            x0, y0, x1, y1 = (v * run.em for v in g.box)
            boxes.append((pen + x0, run.y + y0, pen + x1, run.y + y1))
        pen += g.advance * run.em
    return around(boxes) if boxes else None


def around(boxes: list[Box2]) -> Box2:
    """The least box around boxes (at least one)."""
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    return (min(x0), min(y0), max(x1), max(y1))


def _stack(pair: tuple[str, str], x: float, height: float, weight: Weight) -> Stack:
    figures = figure_height(height)
    em = figures / typeface(weight).figure
    widths = [_advance(t, em, weight) for t in pair]
    half_bar, wide = LINES["narrow"].width / 2, max(widths)
    middle = height / 2
    left = x + _STACK_BEARING
    top = Run(pair[0], left + (wide - widths[0]) / 2, middle + half_bar + _BAR_GAP, em, weight)
    foot = Run(pair[1], left + (wide - widths[1]) / 2, middle - half_bar - _BAR_GAP - figures, em, weight)
    bar = (left, middle - half_bar, left + wide, middle + half_bar)
    full = wide + 2 * _STACK_BEARING
    return Stack(top, foot, bar, f"{pair[0]}/{pair[1]}", x, 0.0, em_size(height, weight), full)


def _shift(piece: Run | Stack, dx: float, dy: float) -> Run | Stack:
    if isinstance(piece, Run):
        return Run(piece.text, piece.x + dx, piece.y + dy, piece.em, piece.weight)
    n, d, b = piece.numerator, piece.denominator, piece.bar
    return Stack(
        Run(n.text, n.x + dx, n.y + dy, n.em, n.weight),
        Run(d.text, d.x + dx, d.y + dy, d.em, d.weight),
        (b[0] + dx, b[1] + dy, b[2] + dx, b[3] + dy),
        piece.text, piece.x + dx, piece.y + dy, piece.em, piece.width,
    )  # fmt: skip


@lru_cache(maxsize=8192)
def _set_line(text: str, height: float, weight: Weight, fractions: bool) -> SetText:
    """The line with its left end at the origin."""
    em = em_size(height, weight)
    pieces: list[Run | Stack] = []
    pen = 0.0
    parts = split_fractions(text) if fractions else iter([(text, None)] if text else [])
    for words, pair in parts:
        if pair:
            stack = _stack(pair, pen, height, weight)
            pieces.append(stack)
            pen += stack.width
        else:
            pieces.append(Run(words, pen, 0.0, em, weight))
            pen += _advance(words, em, weight)
    probe = SetText(tuple(pieces), pen, (0.0, 0.0, 0.0, 0.0))
    boxes = [b for r in probe.runs if (b := _ink(r))] + list(probe.bars)
    return SetText(probe.pieces, pen, around(boxes) if boxes else (0.0, 0.0, 0.0, 0.0))


def set_text(lettering: Lettering) -> SetText:
    """The layout of a lettering on the sheet, aligned on its ``at``; turn it by ``rotation`` about ``at``."""
    line = _set_line(clean(lettering.text), lettering.height, lettering.weight, lettering.fractions)
    dx = lettering.at[0] - {"left": 0.0, "middle": 0.5, "right": 1.0}[lettering.align] * line.width
    dy = lettering.at[1]
    b = line.box
    return SetText(
        tuple(_shift(p, dx, dy) for p in line.pieces),
        line.width,
        (b[0] + dx, b[1] + dy, b[2] + dx, b[3] + dy),
    )


def text_width(text: str, height: float, weight: Weight = "regular", fractions: bool = True) -> float:
    """Advance width of one line, mm."""
    return _set_line(clean(text), height, weight, fractions).width


def text_box(text: str, height: float, weight: Weight = "regular", fractions: bool = True) -> Box2:
    """Box of the ink of one line whose left end stands at the origin, mm; y0 < 0 is what hangs below."""
    return _set_line(clean(text), height, weight, fractions).box


def corners(lettering: Lettering) -> tuple[Vec2, Vec2, Vec2, Vec2]:
    """Corners of the ink's box, turned: lower left, lower right, upper right, upper left of the text."""
    x0, y0, x1, y1 = set_text(lettering).box
    c, s = turn_of(lettering.rotation)
    ax, ay = lettering.at

    def turned(x: float, y: float) -> Vec2:
        return (ax + (x - ax) * c - (y - ay) * s, ay + (x - ax) * s + (y - ay) * c)

    return (turned(x0, y0), turned(x1, y0), turned(x1, y1), turned(x0, y1))


def turn_of(degrees: float) -> tuple[float, float]:
    """Cosine and sine, exact at the quarter turns."""
    quarter = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}
    a = degrees % 360.0
    return quarter.get(a, (math.cos(math.radians(a)), math.sin(math.radians(a))))


def wrap(
    text: str, width: float, height: float, weight: Weight = "regular", fractions: bool = True
) -> tuple[str, ...]:
    """Lines of the text no wider than ``width`` mm; a word that is wider by itself is broken.

    A number is parted neither from the fraction after it nor from its unit.
    """
    glued = re.sub(r"(\d) (\d+/\d+|(?:in|mm|ft|lb|kg)\b)", "\\1\u00a0\\2", " ".join(text.split()))
    lines: list[str] = []
    line = ""
    for word in glued.split(" "):
        trial = f"{line} {word}" if line else word
        if text_width(trial, height, weight, fractions) <= width:
            line = trial
            continue
        if line:
            lines.append(line)
        line = word
        while text_width(line, height, weight, fractions) > width and len(line) > 1:
            n = len(line) - 1
            while n > 1 and text_width(line[:n], height, weight, fractions) > width:
                n -= 1
            lines.append(line[:n])
            line = line[n:]
    lines.append(line)
    return tuple(x.replace("\u00a0", " ") for x in lines)
