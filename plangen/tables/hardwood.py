"""Hardwood lumber sold by the quarter inch: rough and surfaced thicknesses, inches.

4/4 to 8/4 were read in two dealers' lists (13/16 for 4/4; some shops sell 3/4); 10/4 to 16/4 are the NHLA
rule book's standard surfaced thicknesses, from memory. Widths are random: a quarter size has none.
"""

from __future__ import annotations

from fractions import Fraction

from plangen.units import inches

SURFACED_TWO_SIDES: dict[str, Fraction] = {
    quarter: inches(surfaced)
    for quarter, surfaced in {
        "4/4": "13/16",
        "5/4": "1-1/16",
        "6/4": "1-5/16",
        "8/4": "1-3/4",
        "10/4": "2-1/4",
        "12/4": "2-3/4",
        "16/4": "3-3/4",
    }.items()
}

LEAST_COUNTED_INCH = Fraction(1)
"""Stock thinner than an inch is counted as an inch in board feet (NHLA practice, read at a dealer's)."""


def rough_inches(quarter: str) -> Fraction:
    """Rough thickness of ``8/4``: 2 in."""
    return Fraction(quarter)
