"""Standard scales, paper over work.

Metric: ISO 5455, reductions and enlargements 2, 5, 10 and their tens (from memory). Inch: the architect's
scales, so many inches to the foot (``common practice``).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from plangen.units import LengthUnit


@dataclass(frozen=True)
class Scale:
    """``ratio`` is paper over work; ``text`` is how it is written beside a view."""

    ratio: Fraction
    text: str

    @property
    def ratio_text(self) -> str:
        """``1:8``, ``2:1``."""
        return f"{self.ratio.numerator}:{self.ratio.denominator}"


def _ratio(text: str) -> Scale:
    paper, work = text.split(":")
    return Scale(Fraction(int(paper), int(work)), text)


_ISO_TEXTS = "10:1 5:1 2:1 1:1 1:2 1:5 1:10 1:20 1:50 1:100 1:200 1:500 1:1000"
ISO_SCALES: tuple[Scale, ...] = tuple(map(_ratio, _ISO_TEXTS.split()))

INCH_SCALES: tuple[Scale, ...] = (
    Scale(Fraction(2), "2:1"),
    Scale(Fraction(1), "full size"),
    Scale(Fraction(1, 2), "6 in = 1 ft"),
    Scale(Fraction(1, 4), "3 in = 1 ft"),
    Scale(Fraction(1, 8), "1 1/2 in = 1 ft"),
    Scale(Fraction(1, 12), "1 in = 1 ft"),
    Scale(Fraction(1, 16), "3/4 in = 1 ft"),
    Scale(Fraction(1, 24), "1/2 in = 1 ft"),
    Scale(Fraction(1, 32), "3/8 in = 1 ft"),
    Scale(Fraction(1, 48), "1/4 in = 1 ft"),
    Scale(Fraction(1, 64), "3/16 in = 1 ft"),
    Scale(Fraction(1, 96), "1/8 in = 1 ft"),
    Scale(Fraction(1, 128), "3/32 in = 1 ft"),
    Scale(Fraction(1, 192), "1/16 in = 1 ft"),
)

SCALES: dict[LengthUnit, tuple[Scale, ...]] = {"in": INCH_SCALES, "mm": ISO_SCALES}
"""Largest first."""
