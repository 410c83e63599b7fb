"""Bends in flat bar and sheet: where the neutral line lies, what a bend takes of the flat, how tight it may be.

Bend allowance BA = A (R + K T), A the angle turned through in radians, R the inside radius, T the thickness (bend
formulas and K-factors by stock, quoted from Machinery's Handbook 26th edition on a public page, read). The three
K-factors are those of the handbook's 90 degree forms 0.55 T, 0.64 T and 0.71 T + 1.57 R (``from memory``).
"""

from __future__ import annotations

import re
from dataclasses import dataclass


@dataclass(frozen=True)
class Metal:
    """How a metal bends cold."""

    words: tuple[str, ...]
    """Any of these in what is asked for at the counter names it."""
    k_factor: float
    """Where the neutral line lies, as a share of the thickness from the inside."""
    least_radius: float
    """The usual least inside radius, as a share of the thickness; tighter bends may crack. ``common practice``"""
    density: float
    """Kilograms a cubic metre. ``common practice``"""


_STEEL = Metal((), 0.407, 1.0, 7850.0)
METALS = (
    Metal(("stainless",), 0.452, 1.5, 8000.0),
    Metal(("spring", "cold-rolled", "cold rolled"), 0.452, 1.5, 7850.0),
    Metal(("aluminium", "aluminum"), 0.407, 1.5, 2700.0),
    Metal(("bronze",), 0.452, 1.0, 8800.0),
    Metal(("brass",), 0.350, 1.0, 8500.0),
    Metal(("copper",), 0.350, 0.5, 8900.0),
)
"""The first whose word is said is meant; what names none is soft steel, galvanized or not."""


def metal_of(text: str) -> Metal:
    """The metal that the words for a bought bar name; soft steel where they name none."""
    said = text.lower()
    fitting = (m for m in METALS if any(re.search(rf"\b{re.escape(word)}\b", said) for word in m.words))
    return next(fitting, _STEEL)


def bend_allowance(angle: float, inside_radius: float, thickness: float, k_factor: float) -> float:
    """Length of the flat that a bend through ``angle`` (radians) takes, in the unit of the radius."""
    return angle * (inside_radius + k_factor * thickness)
