"""An angle as two marks on a rule: rise and run, both on a division, for a bevel set by hand."""

from __future__ import annotations

import math
from fractions import Fraction

from plangen.units import MM_PER_INCH, LengthUnit, mixed_text

_RUNS: dict[LengthUnit, tuple[Fraction, int, int]] = {
    "in": (MM_PER_INCH / 16, 4 * 16, 16 * 16),
    "mm": (Fraction(1), 100, 400),
}
"""Division of the rule in mm, and the least and greatest run in divisions."""


def ruler_marks(degrees: float, units: LengthUnit) -> str:
    """``1 11/16 in 7 15/16``: of all pairs of marks the nearest to the angle, the shortest of equals.

    The angle is taken from the nearer of square and level, so that the rise is the smaller. Raises
    ValueError for an angle that is a multiple of 90 degrees.
    """
    acute = degrees % 90.0
    if acute > 45:
        acute = 90.0 - acute
    if acute < 1e-6:
        raise ValueError("a square angle has no rise")
    division, least, most = _RUNS[units]
    slope = math.tan(math.radians(acute))
    best: tuple[float, int, int] | None = None
    for run in range(least, most + 1):
        rise = round(run * slope)
        if rise == 0:
            continue
        off = round(abs(math.atan2(rise, run) - math.atan(slope)), 6)
        if best is None or off < best[0]:
            best = (off, run, rise)
    if best is None:
        raise ValueError("the angle is too small for marks on a rule")
    _, run, rise = best
    unit = MM_PER_INCH if units == "in" else Fraction(1)
    return f"{mixed_text(rise * division / unit)} in {mixed_text(run * division / unit)}"
