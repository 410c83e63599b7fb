"""The shop's usual cautions, each with the work it goes with. Advice, never a claim of conformity.

Rules of thumb on least sizes were read in school shop rules and a magazine's rule of 12 and 3 (see each
source); they give way to the machine's own manual.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from plangen.units import LengthUnit

Occasion: TypeAlias = Literal[
    "any", "machine", "angled cut", "short work", "dust", "oil finish", "treated wood", "reclaimed wood",
    "heavy", "metal", "load", "child", "food",
]  # fmt: skip

DEFERRAL = (
    "Local codes and regulations, the makers' instructions of machines, tools and finishes, and licensed "
    "practice where they require it come before anything printed here."
)

SHORTEST_AT_A_MACHINE = {"in": 12 * 25.4, "mm": 300.0}
"""Millimetres: no shorter piece at a jointer, planer or saw without a holder (rule of 12 and 3, read)."""
LIFT_MASS = 20.0
"""Kilograms: heavier pieces are marked for two people. ``common practice``"""


@dataclass(frozen=True)
class Caution:
    """One caution; ``text`` by the design's units."""

    occasion: Occasion
    texts: dict[LengthUnit, str]
    source: str


def _caution(occasion: Occasion, text: str, source: str, metric: str = "") -> Caution:
    return Caution(occasion, {"in": text, "mm": metric or text}, source)


CAUTIONS: tuple[Caution, ...] = (
    _caution(
        "any",
        "Wear eye and hearing protection at every machine; keep guards and riving knife in place; "
        "disconnect the power before changing a blade or bit.",
        "common practice",
    ),
    _caution(
        "machine",
        "Keep hands 6 in or more from the cutter; use push sticks for rips of 6 in and less.",
        "school shop audit (read)",
        "Keep hands 150 mm or more from the cutter; use push sticks for rips of 150 mm and less.",
    ),
    _caution(
        "angled cut",
        "Make every angled set-up in scrap first; clamp the work; see that blade, fence and "
        "guard clear one another through the whole cut before the saw is started.",
        "common practice",
    ),
    _caution(
        "short work",
        "Pieces under 12 in are machined as part of a longer one, or held in a block, and cut apart last.",
        "rule of 12 and 3 (read)",
        "Pieces under 300 mm are machined as part of a longer one, or held in a block, and cut apart last.",
    ),
    _caution(
        "dust",
        "Wood dust harms the lungs and may cause cancer: extract at the machine and wear a fitted "
        "dust mask; the limits in force where you work apply.",
        "OSHA and HSE pages (read)",
    ),
    _caution(
        "oil finish",
        "Rags with drying oil can set fire to themselves within hours: spread them singly "
        "outdoors until stiff, or keep them in a lidded metal can made for them; never heap them.",
        "university shop and insurer pages (read)",
    ),
    _caution(
        "treated wood",
        "Preservative-treated wood: wear gloves and mask, saw outdoors, never burn the "
        "offcuts, never use it where food or drinking water touches it.",
        "US EPA consumer sheet (read)",
    ),
    _caution(
        "reclaimed wood",
        "Search reclaimed wood for nails and screws with a detector before any cutter "
        "meets it; old paint may hold lead.",
        "common practice",
    ),
    _caution(
        "heavy", "Over 44 lb: lift with two people.", "common practice", "Over 20 kg: lift with two people."
    ),
    _caution(
        "metal",
        "Deburr cut metal; never heat galvanized metal to bend it, its fumes are poisonous; seal cut ends.",
        "common practice",
    ),
    _caution(
        "load",
        "These drawings do not state a safe load. Where people sit, climb or stand below, have the "
        "piece judged by someone qualified to do so.",
        "common practice",
    ),
    _caution(
        "child",
        "Furniture for children has standards of its own (gaps, tipping, coatings): follow those "
        "in force where it will be used.",
        "standards named from memory: 16 CFR 1219, EN 1728",
    ),
    _caution(
        "food", "Where food is touched use only finishes their makers declare fit for it.", "common practice"
    ),
)
