"""Board feet as the hardwood trade counts them.

A board foot is 144 cubic inches. The trade rounds the surface measure (width in inches by length in feet,
over 12) to whole square feet *before* it multiplies by the thickness, and counts stock thinner than an inch
as an inch (American Hardwood Export Council, measurement of sawn lumber, and a dealer's page; both read).
"""

from __future__ import annotations

import math
from fractions import Fraction

from plangen.tables.hardwood import LEAST_COUNTED_INCH


def surface_measure(square_feet: Fraction) -> int:
    """Whole square feet, to the nearest; an exact half counts up. (A tally of many boards takes halves
    alternately up and down; a buyer's estimate must not come out short.)"""
    return math.floor(square_feet + Fraction(1, 2))


def board_feet(surface: int, thickness: Fraction) -> Fraction:
    """Board feet of ``surface`` square feet at a rough ``thickness`` in inches."""
    return surface * max(thickness, LEAST_COUNTED_INCH)
