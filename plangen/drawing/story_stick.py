"""A story stick on paper: a strip with the lines that are carried on it, to scale, full size where it fits.

Each line's figure stands upright over it, on a leader that gives way to its neighbours.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from plangen.dimensioning.marking import Line, StoryStick
from plangen.drawing.block import Block, stacked
from plangen.drawing.lettering import text_box
from plangen.drawing.mark_geometry import polyline, rectangle
from plangen.drawing.marks import Lettering, Mark, Stroke
from plangen.drawing.text_block import heading, paragraph
from plangen.geometry.curves import Arc, Vec2
from plangen.tables.scales import SCALES, Scale
from plangen.units import LengthUnit

LETTERS = 3.5
_STRIP = 8.0
_LEADER = 6.0
_BETWEEN = 1.0
"""Clear between the figures of neighbouring lines, mm."""
_ORIGIN = 1.5
"""Radius of the circle where a stick begins (drawing guide, 2)."""
_OVER = 4.0
"""Of the strip beyond its last line."""


def stick_scale(longest: float, width: float, units: LengthUnit) -> Scale | None:
    """The largest standard scale, full size at most, at which a stick of so many mm lies within ``width``."""
    room = width - _ORIGIN - _OVER
    return next((s for s in SCALES[units] if s.ratio <= 1 and longest * float(s.ratio) <= room), None)


def stick_block(number: int, stick: StoryStick, words: str, width: float, units: LengthUnit) -> Block:
    """The strip under its title; the words alone where no scale has room for every figure."""
    title = f"Stick {number}"
    scale = stick_scale(max(line.value for line in stick.lines), width, units)
    places = [] if scale is None else [_ORIGIN + line.value * float(scale.ratio) for line in stick.lines]
    texts = [_words(line) for line in stick.lines]
    spread = spread_out(places, [_thickness(t) for t in texts], width)
    if scale is None or spread is None:
        listed = f"{words} Lines at {', '.join(texts)}."
        return stacked(title, [heading(title), paragraph(listed, width)], 1.5)
    use = "full size" if scale.ratio == 1 else f"{scale.text}, to be made from the figures"
    strip = _strip(places, texts, spread)
    return stacked(title, [heading(f"{title} ({use})"), strip, paragraph(words, width)], 2.0)


def _words(line: Line) -> str:
    """``28 + 36``: the line and what is measured on from it; what is more than a size stands on the part sheet."""
    return " + ".join((line.printed, *(t for t in line.then if not any(c.isalpha() for c in t))))


def _thickness(text: str) -> float:
    """Of a line of text, from the lowest ink to the highest."""
    _, low, _, high = text_box(text, LETTERS)
    return high - low


def spread_out(places: Sequence[float], sizes: Sequence[float], width: float) -> list[float] | None:
    """Middles of the figures, in order, as near to their places as they stand clear of one another between 0 and
    ``width``; None where they have no room."""
    if not places or sum(sizes) + _BETWEEN * (len(sizes) - 1) > width:
        return None
    out: list[float] = []
    for i, (place, size) in enumerate(zip(places, sizes, strict=True)):
        least = size / 2 if i == 0 else out[-1] + (sizes[i - 1] + size) / 2 + _BETWEEN
        out.append(max(place, least))
    most = width
    for i in reversed(range(len(out))):
        out[i] = min(out[i], most - sizes[i] / 2)
        most = out[i] - sizes[i] / 2 - _BETWEEN
    return out


def _strip(places: Sequence[float], texts: Sequence[str], spread: Sequence[float]) -> Block:
    tall = max(text_box(t, LETTERS)[2] for t in texts)
    top = -tall - 1.0 - _LEADER
    foot = top - _STRIP
    end = places[-1] + _OVER
    marks: list[Mark] = [
        Stroke(rectangle((_ORIGIN, foot, end, top)), "outline", True),
        Stroke((Arc((_ORIGIN, foot), _ORIGIN, 0.0, 2 * math.pi),), "narrow"),
    ]
    for place, text, middle in zip(places, texts, spread, strict=True):
        marks.append(Stroke(polyline((place, foot), (place, top)), "outline"))
        path: tuple[Vec2, ...] = ((place, top), (place, top + 1.0), (middle, top + _LEADER - 0.5))
        marks.append(Stroke(polyline(*path), "narrow"))
        _, low, _, high = text_box(text, LETTERS)
        marks.append(Lettering(text, (middle + (low + high) / 2, top + _LEADER), LETTERS, rotation=90.0))
    wide = max(end, spread[-1] + _thickness(texts[-1]) / 2)
    return Block("story stick", tuple(marks), wide, -foot + _ORIGIN)
