"""An angle as two marks on a rule or framing square: so much up in so much along."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from plangen.units import MM_PER_INCH, LengthUnit

MARKS: dict[LengthUnit, Fraction] = {"in": MM_PER_INCH / 16, "mm": Fraction(1)}
"""What a framing square, or a rule, is divided into."""
LONGEST: dict[LengthUnit, Fraction] = {"in": 24 * MM_PER_INCH, "mm": Fraction(600)}
"""The blade of a framing square; a rule of the same use."""
SHORTEST: dict[LengthUnit, Fraction] = {"in": 6 * MM_PER_INCH, "mm": Fraction(150)}
"""A shorter pair of marks sets a gauge no truer than the eye does (common practice)."""
_TIE = 1e-12


@dataclass(frozen=True)
class RiseAndRun:
    """An angle as two marks: so much up in so much along. tan angle = rise / run."""

    rise: Fraction
    run: Fraction
    """Millimetres, both whole numbers of marks."""
    error: float
    """Radians, of the marks' angle over the one asked for."""

    @property
    def angle(self) -> float:
        return math.atan2(self.rise, self.run)


def rise_and_run(
    angle: float, units: LengthUnit, most_run: Fraction | None = None, step: Fraction | None = None
) -> RiseAndRun:
    """The pair of marks whose angle errs least, found by trying every longer mark from ``SHORTEST`` on.

    ``angle`` from 0 to a quarter turn; ``most_run`` the longest mark, ``step`` what the rule is divided into, mm. Of
    pairs that err alike the shorter is taken. Raises ValueError for another angle, or where no mark is that short.
    """
    if not 0.0 <= angle <= math.pi / 2:
        raise ValueError("rise and run are of an angle from 0 to 90 degrees")
    step = MARKS[units] if step is None else step
    longest = LONGEST[units] if most_run is None else most_run
    steep = angle > math.pi / 4
    slope = math.tan(math.pi / 2 - angle if steep else angle)
    first = math.ceil(min(SHORTEST[units], longest) / step)
    best: tuple[float, int, int] | None = None
    for count in range(first, int(longest / step) + 1):
        short = round(count * slope)
        rise, run = (count, short) if steep else (short, count)
        error = math.atan2(rise, run) - angle
        if best is None or abs(error) < abs(best[0]) - _TIE:
            best = error, rise, run
    if best is None:
        raise ValueError("no mark of the rule is that short")
    return RiseAndRun(best[1] * step, best[2] * step, best[0])
