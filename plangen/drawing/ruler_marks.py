"""An angle as two marks on a rule, in words, for a bevel set by hand."""

from __future__ import annotations

import math
from fractions import Fraction

from plangen.machining.ruler import rise_and_run
from plangen.units import MM_PER_INCH, LengthUnit, mixed_text


def ruler_marks(degrees: float, units: LengthUnit) -> str:
    """``1 11/16 in 7 15/16``: the pair of marks nearest to the angle.

    The angle is taken from the nearer of square and level, so that the rise is the smaller. Raises
    ValueError for an angle that is a multiple of 90 degrees, or so near to one that no mark shows it.
    """
    acute = degrees % 90.0
    if acute > 45:
        acute = 90.0 - acute
    if acute < 1e-6:
        raise ValueError("a square angle has no rise")
    marks = rise_and_run(math.radians(acute), units)
    if not marks.rise:
        raise ValueError("the angle is too small for marks on a rule")
    unit = MM_PER_INCH if units == "in" else Fraction(1)
    return f"{mixed_text(marks.rise / unit)} in {mixed_text(marks.run / unit)}"
