"""What the shop adds to finished sizes and net amounts. Millimetres.

Ends, edges and kerf: ``common practice`` (1/2 to 2 in trimmed at each rough end, 1/8 to 1/4 in for jointing
each rough edge, 1/8 in kerf; a kerf of 1/8 in read in a kerf article; 3/16 in to plane both faces of a sawn
board, ``common practice``). Turning, ``from memory``: 1/8 to 1/4 in
over the greatest diameter.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from plangen.units import LengthUnit

_INCH = 25.4


@dataclass(frozen=True)
class Allowances:
    """The shop's allowances, round in the design's own unit."""

    length: float
    """Added to a solid part's length when it is roughed out, both ends together."""
    width: float
    """Added to the width of a part from stock without a dressed width, both edges together."""
    kerf: float
    """Lost at each cut."""
    turning: float
    """Side of a square blank over the greatest diameter that is turned from it."""
    thickness: float
    """Added to the thickness of a part from sawn boards, both faces together."""
    glued: float
    """Added to the width of each board of a panel, both edges together, for jointing it to the next."""
    scrap: float
    """Kept of each stock that is machined, to try settings on."""
    ends: float = 0.0
    """Cut off each end of a board first, where parts do not already have their own allowance."""
    spare: int = 5
    """One spare length is bought for each so many: five if clear, buy six (``common practice``)."""
    over: Fraction = Fraction(20, 100)
    """Added to the net of boards of random width: square-edged hardwood 15 to 20 % (a furniture-making text,
    read). An addition, not a share of what is bought."""


ALLOWANCES: dict[LengthUnit, Allowances] = {
    "in": Allowances(1 * _INCH, 0.25 * _INCH, 0.125 * _INCH, 0.25 * _INCH, 0.1875 * _INCH, 0.125 * _INCH,
                     12 * _INCH),
    "mm": Allowances(25.0, 6.0, 3.0, 6.0, 5.0, 3.0, 300.0),
}  # fmt: skip

SHORTEST_MACHINED: dict[LengthUnit, float] = {"in": 12 * _INCH, "mm": 300.0}
"""Nothing shorter goes over a planer or through a moulder: short parts stay in one length until they are machined.
Scrap to try settings on is as long (``common practice``)."""

FASTENERS_A_SPARE = 10
"""One spare small fastener for each so many begun, from that number up (``common practice``)."""

WIDEST_BOARD: dict[LengthUnit, float] = {"in": 8 * _INCH, "mm": 200.0}
"""A part wider than this is glued up: boards of random width are seldom wider (``common practice``)."""

MOST_OF_A_BOARD: dict[LengthUnit, float] = {"in": 6 * _INCH, "mm": 150.0}
"""Widest board of a glued-up panel: wider ones cup more with every season (``common practice``)."""

SHEET_SPARE = Fraction(10, 100)
"""Added to the net area of sheets: plywood laid out with care 10 % (same text, read)."""

ROUND_LENGTHS: dict[LengthUnit, tuple[float, ...]] = {
    "in": (36 * _INCH, 48 * _INCH, 72 * _INCH),
    "mm": (1000.0, 2000.0, 2400.0),
}
"""Lengths of dowels as sold. ``common practice``"""

BAR_LENGTHS: dict[LengthUnit, tuple[float, ...]] = {
    "in": (36 * _INCH, 48 * _INCH, 72 * _INCH),
    "mm": (1000.0, 2000.0, 3000.0),
}
"""Lengths of flat bar, rod and tube as sold. ``common practice``"""
