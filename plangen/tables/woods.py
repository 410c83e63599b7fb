"""Woods: names, spellings, and weight at 12 % moisture.

Where a source gives specific gravity G on volume at 12 %, density is 1120 G (Wood Handbook, chapter 4, from
memory: 1000 G (1 + 12/100)). The Wood Handbook's G (FPL-GTR-190, tables 5-3) were read in copies. Densities
of European woods are the mean values of EN 350-2:1994, from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

from plangen.units import LengthUnit

_HANDBOOK = "Wood Handbook FPL-GTR-190 tables 5-3, specific gravity at 12 %"
_HANDBOOK_MEMORY = _HANDBOOK + ", from memory"
_EN350 = "EN 350-2:1994 mean density, from memory"
_TRADE = "common practice"


@dataclass(frozen=True)
class Wood:
    """One wood; ``density`` is kilograms a cubic metre at 12 % moisture."""

    name: str
    hard: bool
    density: float
    source: str
    spellings: tuple[str, ...] = ()
    """Other names; one that begins with ``=`` is a general name, printed as the designer wrote it."""


def _handbook(name: str, hard: bool, gravity: float, *spellings: str, source: str = _HANDBOOK) -> Wood:
    return Wood(name, hard, round(1120 * gravity), source, spellings)


def _european(name: str, hard: bool, density: float, *spellings: str) -> Wood:
    return Wood(name, hard, density, _EN350, spellings)


WOODS: tuple[Wood, ...] = (
    _handbook("red alder", True, 0.41, "=alder"),
    _handbook("black ash", True, 0.49),
    _handbook("green ash", True, 0.56),
    _handbook("white ash", True, 0.60, "=ash"),
    _handbook("aspen", True, 0.38, "quaking aspen"),
    _handbook("basswood", True, 0.37, "american basswood"),
    _handbook("american beech", True, 0.64),
    _handbook("paper birch", True, 0.55),
    _handbook("yellow birch", True, 0.62),
    _handbook("butternut", True, 0.38),
    _handbook("cherry", True, 0.50, "black cherry"),
    _handbook("american elm", True, 0.50),
    _handbook("hackberry", True, 0.53),
    _handbook("hickory", True, 0.66, "pecan"),
    _handbook("soft maple", True, 0.54, "red maple"),
    _handbook("hard maple", True, 0.63, "sugar maple", "=maple", "rock maple"),
    _handbook("red oak", True, 0.63, "northern red oak"),
    _handbook("white oak", True, 0.68, "american white oak"),
    _handbook("sweetgum", True, 0.52),
    _handbook("american sycamore", True, 0.49),
    _handbook("black walnut", True, 0.55, "=walnut", "american walnut"),
    _handbook("yellow-poplar", True, 0.42, "yellow poplar", "=poplar", "tulipwood"),
    _handbook("mahogany", True, 0.45, "true mahogany", source=_HANDBOOK_MEMORY),
    _handbook("teak", True, 0.55, source=_HANDBOOK_MEMORY),
    _handbook("western red cedar", False, 0.32, "western redcedar", "red cedar", "redcedar", "=cedar"),
    _handbook("yellow cedar", False, 0.44, "alaska cedar"),
    _handbook("douglas fir", False, 0.48, "doug fir", "douglas-fir", "df"),
    _handbook("white fir", False, 0.39, "=fir"),
    _handbook("western hemlock", False, 0.45, "=hemlock"),
    _handbook("eastern white pine", False, 0.35, "white pine"),
    _handbook("ponderosa pine", False, 0.40),
    _handbook("southern pine", False, 0.51, "southern yellow pine", "yellow pine", "loblolly pine", "syp"),
    _handbook("longleaf pine", False, 0.59),
    _handbook("sugar pine", False, 0.36),
    _handbook("redwood", False, 0.40),
    _handbook("sitka spruce", False, 0.40),
    _handbook("western larch", False, 0.52, source=_HANDBOOK_MEMORY),
    _handbook("cypress", False, 0.46, "baldcypress", "bald cypress", source=_HANDBOOK_MEMORY),
    _handbook("black locust", True, 0.69, "locust", source=_HANDBOOK_MEMORY),
    _european("oak", True, 710, "european oak", "english oak"),
    _european("beech", True, 710, "european beech"),
    _european("european ash", True, 700),
    _european("birch", True, 660, "european birch"),
    _european("elm", True, 650, "european elm"),
    _european("sweet chestnut", True, 590, "chestnut"),
    _european("robinia", True, 740),
    _european("iroko", True, 650),
    _european("sycamore", True, 640, "european maple"),
    _european("larch", False, 600, "european larch", "siberian larch"),
    _european("scots pine", False, 520, "=pine", "european redwood"),
    _european("spruce", False, 460, "norway spruce", "whitewood"),
    Wood("spruce-pine-fir", False, 450, _TRADE, ("spf",)),
    Wood("hem-fir", False, 460, _TRADE, ("hem fir",)),
)
"""A name without a region, such as ``oak``, carries the figure of the wood most sold under it; plain ``oak``
carries the European figure, which lies between red and white oak."""

SPELLINGS: dict[str, tuple[str, Wood]] = {
    spelling.removeprefix("="): (spelling[1:] if spelling.startswith("=") else wood.name, wood)
    for wood in WOODS
    for spelling in (wood.name, *wood.spellings)
}
"""Each known spelling: the name to print and the wood."""
_METRIC_SENSE = {"redwood": "scots pine"}
"""Words that name another wood at a metric yard."""


def find_wood(words: str, units: LengthUnit) -> tuple[str, Wood] | None:
    """The name to print and the wood that ``words`` (lower case) mean at a yard that sells by ``units``.

    None where the tables lack it.
    """
    if units == "mm" and words in _METRIC_SENSE:
        return words, SPELLINGS[_METRIC_SENSE[words]][1]
    return SPELLINGS.get(words)
