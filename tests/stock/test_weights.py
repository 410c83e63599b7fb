"""Weights told to whoever lifts the piece, from densities and bars that others print and the exact kernel's volumes."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest
from brep_kernel import kernel_solid, kernel_volume
from worked_out import PROJECT, facts_of, sheets_of
from workshop import build

from plangen.drawing.mark_geometry import drawn
from plangen.drawing.marks import Lettering
from plangen.joinery.building import cutters_of
from plangen.joinery.model import Member

DENSITY = {
    # specific gravity at 12 %, times 1120: Wood Handbook, table 5-3 (read for oak, ash; Douglas-fir from memory)
    "white oak": 0.68 * 1120, "ash": 0.60 * 1120, "douglas fir": 0.48 * 1120,
    # EN 350-2, mean (from memory)
    "larch": 600.0, "oak": 710.0, "elm": 650.0,
    # softwood plywood as sold; birch plywood: its makers' 680 (from memory)
    "plywood": 580.0, "birch plywood": 680.0,
}  # fmt: skip
STEEL = 7850.0
"""Kilograms a cubic metre (common practice)."""
POUND, FOOT = 0.45359237, 304.8

BARS = [
    # width and thickness, and what a foot or a metre of it weighs, kg: tables of steel merchants (from memory)
    ("in", "1, 1/8", "1/8 x 1 flat bar", 0.425 * POUND, FOOT),
    ("in", "1 1/2, 1/4", "1/4 x 1 1/2 flat bar", 1.276 * POUND, FOOT),
    ("mm", "25, 3", "25 x 3 mm flat bar, galvanized", 0.589, 1000.0),
    ("mm", "40, 5", "40 x 5 mm flat bar", 1.57, 1000.0),
]


def kernel_mass(member: Member) -> float:
    volume = kernel_volume(kernel_solid(member.blank, cutters_of(member.features)))
    return volume * 1e-9 * (STEEL if member.role == "bought" else DENSITY[member.stock.species])


@pytest.mark.parametrize("path", PROJECT, ids=lambda p: p.stem)
def test_the_weight_on_the_cover_is_that_of_the_wood_and_of_bought_bars(path: Path) -> None:
    """Screws, bolts and glue, and what the hardware list names without a size, are not weighed. Densities
    are rounded to a whole kilogram before they are used: a thousandth."""
    parts = [m for m in facts_of(path).model.members if m.role != "jig"]
    kilograms = math.fsum(kernel_mass(m) * m.quantity for m in parts)
    front = sheets_of(path)[:2]
    words = " ".join(m.text for s in front for m in drawn(s.marks) if isinstance(m, Lettering))
    (told,) = re.findall(r"weight about ([\d.]+) (kg|lb)(?! and)", words)
    assert told[1] == ("kg" if facts_of(path).design.units == "mm" else "lb")
    weight = kilograms if told[1] == "kg" else kilograms / POUND
    assert float(told[0]) == pytest.approx(weight, abs=0.05 + 1e-3 * weight)


@pytest.mark.parametrize(("units", "bar", "size", "mass", "per"), BARS)
def test_a_bent_bar_weighs_what_its_merchant_says_of_its_length(
    units: str, bar: str, size: str, mass: float, per: float
) -> None:
    """A wide U: its length along the middle, but for the bends, is that of its three legs."""
    legs = (300.0, 500.0) if units == "mm" else (12.0, 20.0)
    high, wide = legs
    text = f"""title: Iron
units: {units}
stock: {{post wood: {{ask for: ash, species: ash, width: {wide}, thickness: {wide}}}}}
members:
  post:
    stock: post wood
    length: {high}
    place: {{length: up, face: {{toward: front}}, middle: [centre plane, depth plane], end A: {{at: floor}}}}
bought:
  iron:
    size: {size}
    bar: [{bar}]
    bent: [[0, {wide}, 0], [0, {wide}, {high}], [{wide}, {wide}, {high}], [{wide}, {wide}, 0]]
    use: holds a stake
"""
    iron = build(text).member("iron")
    scale = 1.0 if units == "mm" else 25.4
    assert iron.mass == pytest.approx(mass * (2 * high + wide) * scale / per, rel=0.03)
