"""The cutting list: every part to make, by stock, with what to rough it out to and what it finishes at."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from plangen.geometry.vectors import Vec
from plangen.joinery.model import Member, Model, Origin
from plangen.stock.nesting import pair_width
from plangen.tables.allowances import ALLOWANCES, MOST_OF_A_BOARD, WIDEST_BOARD, Allowances
from plangen.tables.hardwood import rough_inches
from plangen.tables.stock import Stock, is_metal, sawn_thickness
from plangen.tables.yard import NO_LIST, Yard
from plangen.units import MM_PER_INCH, LengthUnit

_SAME = 1e-6


@dataclass(frozen=True)
class Panel:
    """How a part is glued up: so many boards, each jointed to ``width`` from a rough board ``rough`` wide."""

    boards: int
    width: float
    rough: float


@dataclass(frozen=True)
class CuttingRow:
    """One part. Sizes are length, width, thickness in millimetres."""

    mark: str
    name: str
    role: Literal["work", "jig"]
    stock: Stock
    quantity: int
    left: int
    """How many are the left hand; 0 where the part is not handed."""
    right: int
    finished: Vec
    """As the part's sheet prints it where it does, else true."""
    rough: Vec
    """The blank, with the wood left on for fitting and the shop's allowance for trimming and jointing; never less
    than what is finished."""
    origin: Origin
    """Where the length comes from: a fitted length is a guide, never final."""
    grain: Literal["length", "width"]
    mass: float | None
    """Kilograms of one piece, finished."""
    pair: float | None = None
    """Rough width of a blank that holds two of them head to foot, where that is narrower than two blanks."""
    panel: Panel | None = None
    """How it is glued up; None: from one board."""
    worked: bool = False
    """Something is cut into it beside its size, so that machines are set for it."""
    is_round: bool = False

    @property
    def area(self) -> float:
        """Square millimetres of board that all of them take, roughed out; pairs from one blank."""
        width = self.rough[1] if self.panel is None else self.panel.boards * self.panel.rough
        pairs = 0 if self.pair is None else self.quantity // 2
        return self.rough[0] * (width * (self.quantity - 2 * pairs) + (self.pair or 0.0) * pairs)


def cutting_list(
    model: Model,
    units: LengthUnit = "in",
    allowances: Allowances | None = None,
    yard: Yard = NO_LIST,
    finished: Mapping[str, Vec] | None = None,
) -> tuple[CuttingRow, ...]:
    """A row for each member to make, work before jigs, grouped by stock in order of first use.

    ``units`` chooses the shop's allowances, which are round in that unit, where none are given; the ``yard`` says
    how wide its boards are; ``finished`` has by mark the sizes that part sheets state. Bought parts are not cut:
    they stand in the hardware list.
    """
    rows = [
        row_of(member, member.role, units, allowances, yard, (finished or {}).get(member.mark))
        for member in model.members
        if member.role != "bought" and member.quantity
    ]
    first_use = {row.stock: index for index, row in reversed(list(enumerate(rows)))}
    return tuple(sorted(rows, key=lambda row: (row.role == "jig", first_use[row.stock])))


def row_of(
    member: Member,
    role: Literal["work", "jig"],
    units: LengthUnit = "in",
    allowances: Allowances | None = None,
    yard: Yard = NO_LIST,
    finished: Vec | None = None,
) -> CuttingRow:
    """The row of one member, to be made as ``role``; ``finished`` as its sheet states it, if it has one."""
    allowed = allowances or ALLOWANCES[units]
    hands = [instance.hand for instance in member.instances]
    finished = finished or member.finished
    length, width, thickness = map(max, rough_size(member, allowed), finished)
    rough = (length, width, thickness)
    panel = _panel(member, rough, allowed, units, yard)
    return CuttingRow(
        member.mark,
        member.name,
        role,
        member.stock,
        member.quantity,
        hands.count("left"),
        hands.count("right"),
        finished,
        rough,
        member.length_origin,
        member.grain,
        member.mass,
        None if panel else _pair(member, rough, allowed),
        panel,
        bool(member.features),
        member.is_round,
    )


def rough_size(member: Member, allowances: Allowances) -> Vec:
    """Length, width, thickness to rough the member out to.

    Solid wood gains the allowance in length, and in width where the stock has no dressed width; sheet goods
    and bought sections are cut to the blank. Quarter stock and sawn boards are as thick as they come. What is turned
    comes from the stock's whole section, or from a square that leaves wood to turn off.
    """
    stock = member.stock
    length = max(member.blank.size[0], member.finished[0] + sum(member.allowance))
    width, thickness = member.blank.size[1], member.blank.size[2]
    if stock.kind in {"sheet", "bought"} or is_metal(stock):
        return (length, width, thickness)
    if any(feature.kind == "turned" for feature in member.features):
        width, thickness = (size or width + allowances.turning for size in (stock.width, stock.thickness))
    elif stock.width is None:
        width += allowances.width
    if stock.kind == "quarter":
        thickness = max(thickness, float(rough_inches(stock.nominal) * MM_PER_INCH))
    elif (sawn := sawn_thickness(stock)) is not None:
        thickness = max(thickness, sawn)
    return (length + allowances.length, width, thickness)


def planed_too_thin(member: Member, allowances: Allowances) -> bool:
    """Whether a sawn board leaves less to be planed off than the allowance asks."""
    sawn = sawn_thickness(member.stock)
    return sawn is not None and sawn < member.finished[2] + allowances.thickness - _SAME


def _of_any_width(stock: Stock) -> bool:
    """Whether a part may be cut from boards of random width."""
    return stock.kind not in ("sheet", "bought", "round") and stock.width is None


def _panel(member: Member, rough: Vec, allowances: Allowances, units: LengthUnit, yard: Yard) -> Panel | None:
    """Of as many boards as the design says; else, where it is wider than boards come, of the fewest that are not too
    wide to stay flat."""
    if not _of_any_width(member.stock) or member.is_round or any(f.kind == "turned" for f in member.features):
        return None
    width = rough[1]
    sold = [w for line in yard.sells(member.stock.name) for w in line.widths]
    count = member.boards
    if count is None:
        if width <= (max(sold) if sold else WIDEST_BOARD[units]) + _SAME:
            return None
        most = max(sold) - allowances.glued if sold else MOST_OF_A_BOARD[units]
        count = -int(-(width - _SAME) // most)
    if count < 2:
        return None
    each = width / count
    wide = [w for w in sorted(sold) if w >= each + allowances.glued - _SAME]
    return Panel(count, each, wide[0] if wide else each + allowances.glued)


def _pair(member: Member, rough: Vec, allowances: Allowances) -> float | None:
    """Rough width of a blank for two, where boards of random width are cheaper so."""
    if not _of_any_width(member.stock) or member.quantity < 2 or member.is_round:
        return None
    if any(feature.kind == "turned" for feature in member.features):
        return None
    width = pair_width(member.solid, allowances.kerf)
    if width is None:
        return None
    both = width + (rough[1] - member.blank.size[1])
    return both if both < 2 * rough[1] - allowances.kerf - _SAME else None


def known_mass(model: Model) -> tuple[float, tuple[str, ...]]:
    """Kilograms of all members whose weight is known, and the marks of those whose weight is not."""
    known = [member.mass * member.quantity for member in model.members if member.mass is not None]
    return sum(known), tuple(member.mark for member in model.members if member.mass is None)
