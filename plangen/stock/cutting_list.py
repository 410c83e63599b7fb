"""The cutting list: every part to make, by stock, with what to rough it out to and what it finishes at."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from plangen.geometry.vectors import Vec
from plangen.joinery.model import Member, Model, Origin
from plangen.tables.allowances import ALLOWANCES, Allowances
from plangen.tables.hardwood import rough_inches
from plangen.tables.stock import Stock
from plangen.units import MM_PER_INCH, LengthUnit


@dataclass(frozen=True)
class CuttingRow:
    """One part. Sizes are length, width, thickness in millimetres, exact."""

    mark: str
    name: str
    role: Literal["work", "jig"]
    stock: Stock
    quantity: int
    left: int
    """How many are the left hand; 0 where the part is not handed."""
    right: int
    finished: Vec
    rough: Vec
    """The blank, with the wood left on for fitting and the shop's allowance for trimming and jointing."""
    origin: Origin
    """Where the length comes from: a fitted length is a guide, never final."""
    grain: Literal["length", "width"]
    mass: float | None
    """Kilograms of one piece, finished."""


def cutting_list(model: Model, units: LengthUnit = "in") -> tuple[CuttingRow, ...]:
    """A row for each member to make, work before jigs, grouped by stock in order of first use.

    ``units`` chooses the shop's allowances, which are round in that unit. Bought parts are not cut: they
    stand in the hardware list.
    """
    rows = [
        row_of(member, member.role, units)
        for member in model.members
        if member.role != "bought" and member.quantity
    ]
    first_use = {row.stock: index for index, row in reversed(list(enumerate(rows)))}
    return tuple(sorted(rows, key=lambda row: (row.role == "jig", first_use[row.stock])))


def row_of(member: Member, role: Literal["work", "jig"], units: LengthUnit = "in") -> CuttingRow:
    """The row of one member, to be made as ``role``."""
    hands = [instance.hand for instance in member.instances]
    return CuttingRow(
        member.mark,
        member.name,
        role,
        member.stock,
        member.quantity,
        hands.count("left"),
        hands.count("right"),
        member.finished,
        rough_size(member, ALLOWANCES[units]),
        member.length_origin,
        member.grain,
        member.mass,
    )


def rough_size(member: Member, allowances: Allowances) -> Vec:
    """Length, width, thickness to rough the member out to.

    Solid wood gains the allowance in length, and in width where the stock has no dressed width; sheet goods
    and bought sections are cut to the blank. Quarter stock is as thick as it comes, rough. What is turned comes
    from the stock's whole section, or from a square that leaves wood to turn off.
    """
    stock = member.stock
    length = max(member.blank.size[0], member.finished[0] + sum(member.allowance))
    width, thickness = member.blank.size[1], member.blank.size[2]
    if stock.kind in {"sheet", "bought"}:
        return (length, width, thickness)
    if any(feature.kind == "turned" for feature in member.features):
        width, thickness = (size or width + allowances.turning for size in (stock.width, stock.thickness))
    elif stock.width is None:
        width += allowances.width
    if stock.kind == "quarter":
        thickness = max(thickness, float(rough_inches(stock.nominal) * MM_PER_INCH))
    return (length + allowances.length, width, thickness)


def known_mass(model: Model) -> tuple[float, tuple[str, ...]]:
    """Kilograms of all members whose weight is known, and the marks of those whose weight is not."""
    known = [member.mass * member.quantity for member in model.members if member.mass is not None]
    return sum(known), tuple(member.mark for member in model.members if member.mass is None)
