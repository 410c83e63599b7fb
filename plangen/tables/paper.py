"""Paper: sheet sizes, millimetres, short side first, and the borders of a drawing.

A series: ISO 216; letter series: ANSI/ASME Y14.1 (both read in copies). ``universal`` prints on A4 and on
Letter alike. Borders: ISO 5457:1999, 20 mm at the filing edge and 10 mm elsewhere (from memory).
"""

from __future__ import annotations

from plangen.units import MM_PER_INCH, LengthUnit


def _inch_sheet(short: float, long: float) -> tuple[float, float]:
    return (short * float(MM_PER_INCH), long * float(MM_PER_INCH))


SHEETS: dict[str, tuple[float, float]] = {
    "A4": (210.0, 297.0),
    "A3": (297.0, 420.0),
    "A2": (420.0, 594.0),
    "A1": (594.0, 841.0),
    "A0": (841.0, 1189.0),
    "Letter": _inch_sheet(8.5, 11),
    "Tabloid": _inch_sheet(11, 17),
    "ANSI C": _inch_sheet(17, 22),
    "ANSI D": _inch_sheet(22, 34),
    "ANSI E": _inch_sheet(34, 44),
    "universal": (190.0, 259.0),
}
"""Short side, long side. Letter and Tabloid are ANSI A and B."""

DEFAULT_SHEETS: dict[LengthUnit, tuple[str, str]] = {"in": ("Letter", "Tabloid"), "mm": ("A4", "A3")}
"""The small and the large sheet of a plan set."""

FILING_BORDER = 20.0
BORDER = 10.0
