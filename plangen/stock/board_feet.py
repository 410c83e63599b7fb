"""Board feet as the hardwood trade counts them.

A board foot is 144 cubic inches. The trade rounds the surface measure (width in inches by length in feet,
over 12) to whole square feet *before* it multiplies by the thickness, and counts stock thinner than an inch
as an inch (American Hardwood Export Council, measurement of sawn lumber, and a dealer's page; both read).
"""

from __future__ import annotations

import math
from fractions import Fraction

from plangen.tables.hardwood import LEAST_COUNTED_INCH
from plangen.tables.stock import Stock, nominal_sides
from plangen.units import MM_PER_FOOT, MM_PER_INCH


def surface_measure(square_feet: Fraction) -> int:
    """Whole square feet, to the nearest; an exact half counts up. (A tally of many boards takes halves
    alternately up and down; a buyer's estimate must not come out short.)"""
    return math.floor(square_feet + Fraction(1, 2))


def board_feet(surface: int, thickness: Fraction) -> Fraction:
    """Board feet of ``surface`` square feet at a rough ``thickness`` in inches."""
    return surface * max(thickness, LEAST_COUNTED_INCH)


def piece_board_feet(stock: Stock, length: float) -> float | None:
    """Board feet of ``length`` mm of a stock, by its nominal size where it has one (a 1x6 of 96 in counts 4), else by
    what it measures; None where its section is not known.

    Nominal sizes are counted as softwood and dressed boards are sold: nominal thickness by nominal width in inches,
    by length in feet, over 12 (a dealer's worked example, read).
    """
    feet = length / float(MM_PER_FOOT)
    sides = nominal_sides(stock)
    if sides is not None:
        return float(sides[0] * sides[1]) * feet / 12
    if stock.width is None or stock.thickness is None:
        return None
    return stock.width * stock.thickness / float(MM_PER_INCH) ** 2 * feet / 12
