"""Line widths, dashes, greys and the fixed sizes of dimensioning, all in paper millimetres.

Widths are steps of the ISO 128 series (0.18 0.25 0.35 0.5 0.7, ratio of the square root of two; series read
in a drafting text, number of the part from memory). Dash lengths follow ISO 128-20 (from memory): dash 12 d,
gap 3 d, long dash 24 d, dot at most 0.5 d, where d is the width of the line.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from plangen.drawing.marks import LineUse

ISO_128_WIDTHS = (0.18, 0.25, 0.35, 0.5, 0.7)
ISO_3098_HEIGHTS = (2.5, 3.5, 5.0, 7.0, 10.0)


@dataclass(frozen=True)
class LineStyle:
    """How a line is drawn: ``width`` and ``dashes`` (pen down, pen up, ...; empty: continuous) in mm."""

    width: float
    dashes: tuple[float, ...] = ()
    grey: float = 0.0
    """0 is black, 1 white."""
    cap: Literal["butt", "round"] = "butt"
    """Outlines end round, so that two edges drawn apart close their corner."""


def _dashed(width: float) -> tuple[float, ...]:
    return (12 * width, 3 * width)


def _chain(width: float, dots: int) -> tuple[float, ...]:
    return (24 * width, 3 * width, *(0.5 * width, 3 * width) * dots)


LINES: dict[LineUse, LineStyle] = {
    "cut outline": LineStyle(0.7, cap="round"),
    "outline": LineStyle(0.5, cap="round"),
    "fine outline": LineStyle(0.35, cap="round"),
    "narrow": LineStyle(0.25),
    "dimension": LineStyle(0.25),
    "hidden": LineStyle(0.25, _dashed(0.25)),
    "centre": LineStyle(0.25, _chain(0.25, 1)),
    "cutting plane": LineStyle(0.5),
    "phantom": LineStyle(0.25, _chain(0.25, 2)),
    # 58 % black: a grey lighter than 55 % black is lost when the sheet is copied (drawing guide, 1.1)
    "context": LineStyle(0.25, grey=0.42, cap="round"),
    "frame": LineStyle(0.7),
    "rule": LineStyle(0.25),
}
"""Every use of a line. Wide to narrow is 2:1 in a view (ISO 128, read)."""


@dataclass(frozen=True)
class DimensioningPractice:
    """Sizes of the parts of a dimension, mm on paper."""

    extension_gap: float = 1.5
    """From the outline to the extension line (1/16 in, US drafting texts, read)."""
    extension_overrun: float = 2.0
    """Past the dimension line (ISO 129-1 about 8 d, from memory)."""
    first_line: float = 10.0
    """Outline to the first dimension line (ASME Y14.5 text and a BIS text, read)."""
    pitch: float = 8.0
    """Between parallel dimension lines (BIS text 8, US texts 6, read)."""
    arrow_length: float = 3.0
    arrow_width: float = 1.0
    """Length to width 3:1 (ASME Y14.2 text, read)."""
    tail: float = 3.0
    """Line beyond an arrowhead that stands outside its span."""
    dot: float = 1.2
    """Diameter of a leader's dot."""
    figure_gap: float = 0.8
    """Between the dimension line and the lowest ink of its figure."""
    text_clearance: float = 0.7
    """Least distance of a text from any line."""


PRACTICE = DimensioningPractice()
