"""How far finishes and glue go. Square metres a litre in one coat on planed wood, brushed or wiped.

Gallons are US gallons of 231 cubic inches. A label's figure is for one coat on a smooth surface; the first coat on
bare, open wood covers less, and spraying loses 35 to 75 % (a wholesaler's page, read).
"""

from __future__ import annotations

from dataclasses import dataclass

from plangen.units import LengthUnit

SQUARE_FEET_A_GALLON = 0.3048**2 / 3.785411784
"""Of one square foot a gallon, in square metres a litre (231 cubic inches are 3.785411784 litres)."""


@dataclass(frozen=True)
class Finish:
    """What a finish is called, and what a litre of it covers at least and at most."""

    name: str
    words: tuple[str, ...]
    least: float
    most: float
    source: str


@dataclass(frozen=True)
class Coating:
    """A finish that a design asks for."""

    name: str
    coats: int
    covers: float | None = None
    """Square metres a litre, or square feet a gallon in an inch design; None: the published figure."""


def _gallon(name: str, words: tuple[str, ...], least: float, most: float, source: str) -> Finish:
    return Finish(name, words, least * SQUARE_FEET_A_GALLON, most * SQUARE_FEET_A_GALLON, source)


FINISHES: tuple[Finish, ...] = (
    _gallon("polyurethane", ("polyurethane",), 300, 600,
            "300 to 600 sq ft a gallon, a woodworking dealer's page, read"),
    _gallon("varnish", ("varnish",), 400, 500, "400 to 500 sq ft a gallon, a woodworking dealer's page, read"),
    _gallon("oil", ("oil", "oiled", "linseed", "tung"), 400, 500,
            "400 to 500 sq ft a gallon, a maker's page for tung oil, read"),
    _gallon("paint", ("paint", "painted", "primer"), 350, 400, "350 to 400 sq ft a gallon, common practice"),
    _gallon("lacquer", ("lacquer", "shellac", "stain", "wax"), 500, 500,
            "500 sq ft a gallon, a maker's page for brushed film finishes, read"),
)  # fmt: skip
"""The first whose word stands in the designer's text is meant."""

GLUE_SPREAD = (0.15, 0.25)
"""Kilograms of wood glue a square metre of joint, on one face (``common practice``)."""

GLUE_DENSITY = 1.1
"""Kilograms a litre of white wood glue (``common practice``)."""

LITRES_A_GALLON = 3.785411784
"""US: 231 cubic inches."""

TINS: dict[LengthUnit, tuple[float, ...]] = {
    "in": (LITRES_A_GALLON / 16, LITRES_A_GALLON / 8, LITRES_A_GALLON / 4, LITRES_A_GALLON),
    "mm": (0.25, 0.5, 0.75, 1.0, 2.5, 5.0),
}
"""Litres in a tin or bottle: half pint, pint, quart and gallon, or metric (``common practice``)."""

SCREW_BOXES = (25, 50, 100, 200)
"""Screws in a box, as counters keep them (``common practice``)."""


def finish_called(text: str) -> Finish | None:
    """The finish that a phrase such as ``two coats of raw oil`` names; None where it names none."""
    words = "".join(c if c.isalpha() else " " for c in text.lower()).split()
    return next((f for f in FINISHES if any(w in words for w in f.words)), None)
