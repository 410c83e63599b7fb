"""Sheet goods: PS 1 plywood thickness limits, usual sheets, densities.

PS 1 limits are inches, read on a page of the plywood trade body (APA, "performance category", unsanded,
touch-sanded and overlaid panels, at 9 % moisture).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from plangen.units import MM_PER_FOOT, inches

PS1_LIMITS: dict[Fraction, tuple[str, str, str]] = {
    inches(category): limits
    for category, limits in {
        "1/4": ("0.219", "0.281", "0.225"),
        "11/32": ("0.313", "0.375", "0.322"),
        "3/8": ("0.344", "0.406", "0.354"),
        "7/16": ("0.406", "0.469", "0.418"),
        "15/32": ("0.438", "0.500", "0.451"),
        "1/2": ("0.469", "0.531", "0.483"),
        "19/32": ("0.563", "0.625", "0.578"),
        "5/8": ("0.594", "0.656", "0.609"),
        "23/32": ("0.688", "0.750", "0.703"),
        "3/4": ("0.719", "0.781", "0.734"),
        "13/16": ("0.781", "0.844", "0.788"),
        "7/8": ("0.831", "0.919", "0.849"),
        "1": ("0.950", "1.050", "0.970"),
        "1-1/8": ("1.069", "1.181", "1.091"),
        "1-1/4": ("1.188", "1.313", "1.213"),
    }.items()
}
"""Category: least thickness, most thickness, recommended label, inches as printed."""

SHEET_INCH = (float(8 * MM_PER_FOOT), float(4 * MM_PER_FOOT))
"""The usual sheet, 96 x 48 in (trade, ``common practice``), length and width in millimetres."""
SHEET_METRIC = (2440.0, 1220.0)
"""The usual metric sheet. ``common practice``"""


@dataclass(frozen=True)
class Panel:
    """A kind of sheet goods; the density is kilograms a cubic metre as sold."""

    name: str
    words: tuple[str, ...]
    density: float
    source: str
    limits: bool = False
    """PS 1 thickness limits apply."""


PANELS: tuple[Panel, ...] = (
    Panel("birch plywood", ("birch plywood", "birch ply", "baltic birch plywood", "baltic birch"), 680,
          "common practice (makers' sheets give 640 to 700)"),
    Panel("marine plywood", ("marine plywood", "marine ply"), 600, "common practice"),
    Panel("overlaid plywood", ("overlaid plywood", "overlay plywood", "mdo plywood", "mdo"), 620,
          "common practice", limits=True),
    Panel("plywood", ("plywood", "ply"), 580,
          "common practice: 3.0 lb a square foot for each inch of thickness, 577 kg/m3", limits=True),
    Panel("blockboard", ("blockboard",), 500, "common practice"),
    Panel("fibreboard", ("fibreboard", "fiberboard", "mdf"), 750, "common practice"),
    Panel("hardboard", ("hardboard",), 950, "common practice"),
    Panel("particleboard", ("particleboard", "chipboard"), 660, "common practice"),
    Panel("strand board", ("strand board", "osb", "oriented strand board"), 640, "common practice"),
)  # fmt: skip
