"""How much moisture wood holds in air, and how much it moves for it. Percent.

The equation of equilibrium moisture content and the coefficients of movement are those of the Wood Handbook
(FPL-GTR-190). Coefficients: table 13-5, read for hardwoods, from memory for softwoods. Where that table has none,
shrinkages from green to oven-dry give one: C = (S / 3000) / (1 - S / 150), for a fibre saturation of 30 % and sizes
taken at 10 % (it gives the table's own figures to the fifth decimal). Shrinkages of European woods: a wood
technologist's table in a museum's book on panel paintings (averages of a genus), read.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Air:
    """The driest and the dampest air of a year, relative humidity in percent, and its temperature."""

    driest: float = 30.0
    dampest: float = 65.0
    celsius: float = 21.0
    said: bool = False
    """The design says it."""


USUAL_AIR = Air()
"""Heated rooms of a temperate country, 6 to 12 % in the wood (``common practice``)."""

DRYING_RANGE = (6.0, 14.0)
"""Moisture over which the coefficients hold (Wood Handbook chapter 13, read)."""


@dataclass(frozen=True)
class Movement:
    """Change of size for each percent of moisture, as a share of the size: along the radius, along the rings."""

    radial: float
    tangential: float
    source: str


_TABLE = "Wood Handbook table 13-5"
_MEMORY = "Wood Handbook table 13-5, from memory"
_PANELS = "a table of shrinkages in a book on panel paintings"
_SHRINKAGE = "Wood Handbook table 4-3, by the shrinkage equation"


def coefficient(shrinkage: float) -> float:
    """Of movement for one percent, from the shrinkage from green to oven-dry in percent."""
    return (shrinkage / 3000) / (1 - shrinkage / 150)


def _shrinks(radial: float, tangential: float, source: str) -> Movement:
    return Movement(coefficient(radial), coefficient(tangential), source)


MOVEMENT: dict[str, Movement] = {
    "red alder": Movement(0.00151, 0.00256, _TABLE),
    "black ash": Movement(0.00172, 0.00274, _TABLE),
    "green ash": Movement(0.00169, 0.00274, _TABLE),
    "white ash": Movement(0.00169, 0.00274, _TABLE),
    "aspen": Movement(0.00119, 0.00234, _TABLE),
    "basswood": Movement(0.0023, 0.0033, _TABLE),
    "american beech": Movement(0.0019, 0.00431, _TABLE),
    "paper birch": Movement(0.00219, 0.00304, _TABLE),
    "yellow birch": Movement(0.00256, 0.00338, _TABLE),
    "butternut": Movement(0.00116, 0.00223, _TABLE),
    "cherry": Movement(0.00126, 0.00248, _TABLE),
    "american elm": Movement(0.00144, 0.00338, _TABLE),
    "hackberry": Movement(0.00165, 0.00315, _TABLE),
    "hickory": Movement(0.00169, 0.00315, _TABLE),
    "soft maple": Movement(0.00137, 0.00289, _TABLE),
    "hard maple": Movement(0.00165, 0.00353, _TABLE),
    "red oak": Movement(0.00158, 0.00369, _TABLE),
    "white oak": Movement(0.0018, 0.00365, _TABLE),
    "sweetgum": Movement(0.00183, 0.00365, _TABLE),
    "american sycamore": Movement(0.00172, 0.00296, _TABLE),
    "black walnut": Movement(0.0019, 0.00274, _TABLE),
    "yellow-poplar": Movement(0.00158, 0.00289, _MEMORY),
    "western red cedar": Movement(0.00111, 0.00234, _MEMORY),
    "yellow cedar": Movement(0.00095, 0.00208, _MEMORY),
    "douglas fir": Movement(0.00165, 0.00267, _MEMORY),
    "white fir": Movement(0.00112, 0.00245, _MEMORY),
    "western hemlock": Movement(0.00144, 0.00274, _MEMORY),
    "eastern white pine": Movement(0.00071, 0.00212, _MEMORY),
    "ponderosa pine": Movement(0.00133, 0.00216, _MEMORY),
    "southern pine": Movement(0.00165, 0.00259, _MEMORY + ", loblolly"),
    "longleaf pine": Movement(0.00176, 0.00263, _MEMORY),
    "sugar pine": Movement(0.00099, 0.00194, _MEMORY),
    "redwood": Movement(0.0012, 0.00205, _MEMORY),
    "sitka spruce": Movement(0.00148, 0.00263, _MEMORY),
    "mahogany": Movement(0.00172, 0.00238, _MEMORY),
    "teak": Movement(0.00101, 0.00186, _MEMORY),
    "oak": _shrinks(5.2, 10.2, _PANELS),
    "beech": _shrinks(5.8, 11.8, _PANELS),
    "european ash": _shrinks(5.2, 8.3, _PANELS),
    "elm": _shrinks(5.2, 9.1, _PANELS),
    "sweet chestnut": _shrinks(4.0, 6.8, _PANELS),
    "sycamore": _shrinks(4.2, 8.8, _PANELS),
    "larch": _shrinks(3.3, 7.8, _PANELS),
    "western larch": _shrinks(3.3, 7.8, _PANELS),
    "scots pine": _shrinks(4.0, 7.7, _PANELS),
    "spruce": _shrinks(3.6, 7.4, _PANELS),
    "birch": _shrinks(6.3, 8.6, _SHRINKAGE + ", paper birch"),
    "spruce-pine-fir": _shrinks(3.6, 7.4, _PANELS + ", spruce"),
    "hem-fir": Movement(0.00144, 0.00274, _MEMORY + ", western hemlock"),
}
"""By the name that ``tables/woods.py`` gives a wood."""


def equilibrium_moisture(humidity: float, celsius: float) -> float:
    """Percent of moisture that wood comes to in air of ``humidity`` percent.

    The equation of Wood Handbook chapter 4 in degrees Celsius, as printed in research note FPL-RN-0268 (read).
    """
    t, h = celsius, humidity / 100
    w = 349 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    kh = k * h
    bound = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    return 1800 / w * (kh / (1 - kh) + bound)
