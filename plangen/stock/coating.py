"""How much finish and glue to buy, from the surface of the parts and the faces that are glued."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from plangen.joinery.model import Model
from plangen.stock.contacts import JointContact, glue_area
from plangen.stock.cutting_list import CuttingRow
from plangen.tables.finishes import (
    GLUE_DENSITY,
    GLUE_SPREAD,
    SQUARE_FEET_A_GALLON,
    TINS,
    Coating,
    Finish,
    finish_called,
)
from plangen.units import LengthUnit

_MM2_PER_M2 = 1e6
_NUMBERS = {
    "one": 1, "a": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "1": 1, "2": 2, "3": 3, "4": 4, "5": 5,
    "6": 6,
}  # fmt: skip
_COATS = re.compile(r"\b(?:(\w+) )?(\w+) coats?\b")


@dataclass(frozen=True)
class CoatingRow:
    """One finish, or the glue. Square metres and litres."""

    name: str
    area: float
    coats: int
    least: float
    """Litres that all coats take, where it goes farthest."""
    most: float
    """Where it goes least far: what to buy for."""
    tin: float
    """The smallest tins that hold the most: their litres together."""
    source: str
    """Of its coverage."""


def bare_surface(model: Model, contacts: Sequence[JointContact]) -> float:
    """Square millimetres of all parts to make, less the faces that lie on each other at the joints."""
    whole = math.fsum(m.solid.area * m.quantity for m in model.members if m.role == "work")
    hidden = 0.0
    for contact in contacts:
        sides = sum(part[0].role == "work" for part in (contact.first, contact.second))
        hidden += sides * contact.area
    return max(0.0, whole - hidden)


def coating_rows(
    area: float, asked: Sequence[Coating], words: Iterable[str], units: LengthUnit
) -> tuple[CoatingRow, ...]:
    """The finishes that a design asks for, else those that its words name, over ``area`` mm2."""
    coatings = asked or tuple(c for text in words for c in _named(text))
    return tuple(_row(c, area / _MM2_PER_M2, units) for c in coatings)


def _named(text: str) -> list[Coating]:
    """A finish by the words of the designer, with the number of coats that they say; one where they say none."""
    found = finish_called(text)
    if found is None:
        return []
    words = [word for pair in _COATS.findall(text.lower()) for word in pair]
    counts = [_NUMBERS[word] for word in words if word in _NUMBERS]
    return [Coating(found.name, max(counts, default=1))]


def _row(coating: Coating, area: float, units: LengthUnit) -> CoatingRow:
    if coating.covers is not None:
        figure = coating.covers * (SQUARE_FEET_A_GALLON if units == "in" else 1.0)
        published = Finish(coating.name, (), figure, figure, "the design")
    else:
        published = finish_called(coating.name) or _ANY
    least, most = (area * coating.coats / covers for covers in (published.most, published.least))
    return CoatingRow(coating.name, area, coating.coats, least, most, tins_for(most, units), published.source)


_ANY = Finish("any", (), 300 * SQUARE_FEET_A_GALLON, 600 * SQUARE_FEET_A_GALLON,
              "300 to 600 sq ft a gallon, the widest range of a woodworking dealer's page, read")  # fmt: skip


def glue_row(
    contacts: Sequence[JointContact], cutting: Sequence[CuttingRow], units: LengthUnit
) -> CoatingRow | None:
    """Glue for the joints that are glued as a rule and the edges of panels; None where there are none."""
    edges = math.fsum(
        (row.panel.boards - 1) * row.rough[0] * row.rough[2] * row.quantity
        for row in cutting
        if row.panel is not None
    )
    area = (glue_area(contacts) + edges) / _MM2_PER_M2
    if area <= 0:
        return None
    least, most = (area * spread / GLUE_DENSITY for spread in GLUE_SPREAD)
    source = f"{GLUE_SPREAD[0] * 1000:.0f} to {GLUE_SPREAD[1] * 1000:.0f} g a square metre, common practice"
    return CoatingRow("wood glue", area, 1, least, most, tins_for(most, units), source)


def tins_for(litres: float, units: LengthUnit) -> float:
    """Litres of the tins that hold at least so much with the least over: one tin, or several of the largest."""
    sizes = TINS[units]
    one = [size for size in sizes if size >= litres - 1e-9]
    return one[0] if one else math.ceil(litres / sizes[-1] - 1e-9) * sizes[-1]
