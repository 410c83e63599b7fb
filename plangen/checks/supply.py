"""What the yard's list does not fit: stock that it has not, and sheets that measure otherwise than the design says; and
sawn boards too thin to be planed."""

from __future__ import annotations

from collections.abc import Iterator

from plangen.design import design as d
from plangen.findings import Finding, Place, note, warning
from plangen.joinery.model import Member, Model
from plangen.stock.cutting_list import planed_too_thin
from plangen.tables.allowances import Allowances
from plangen.tables.stock import sawn_thickness
from plangen.tables.yard import Yard
from plangen.units import STYLES, length_text_with_unit

_SHEET_MM = 0.05
"""A sheet is measured to a tenth of a millimetre."""


def check_supply(design: d.Design, model: Model, yard: Yard) -> Iterator[Finding]:
    """At the first member of each stock; nothing where there is no list."""
    if not yard.sold:
        return
    told: set[str] = set()
    for member in model.members:
        if member.role == "bought" or member.made is not None or member.stock.name in told:
            continue
        told.add(member.stock.name)
        place = _stock_place(design, member)
        lines = yard.sells(member.stock.name)
        if not lines:
            yield _unlisted(member, yard, place)
        for measured in (s.measured for s in lines if s.measured is not None):
            worked = member.stock.thickness
            if worked is not None and abs(measured - worked) > _SHEET_MM:
                style = STYLES[design.units]
                text = (
                    f'the yard\'s "{member.stock.name}" measures {_figure(measured, design)}; this design works with '
                    f"{length_text_with_unit(worked, style)}: give the stock the thickness that was measured"
                )
                yield warning(place, "yard", text, member.name)


def check_planing(design: d.Design, bench: Model, allowances: Allowances) -> Iterator[Finding]:
    """Sawn boards that leave less to be planed off than is allowed for both faces: they seldom come out flat."""
    for member in bench.members:
        sawn = sawn_thickness(member.stock)
        if sawn is None or member.role == "bought" or not planed_too_thin(member, allowances):
            continue
        left = sawn - member.finished[2]
        style = STYLES[design.units]
        if left < 0:
            finished = length_text_with_unit(member.finished[2], style)
            text = f'"{member.stock.name}" is thinner than the {finished} it is to be'
        else:
            text = (
                f'"{member.stock.name}" leaves {length_text_with_unit(left, style)} to plane off both faces, where '
                f"{length_text_with_unit(allowances.thickness, style)} is allowed: take thicker boards, or say under "
                "roughing what you plane off"
            )
        yield warning(_stock_place(design, member), "roughing", text, member.name)


def _unlisted(member: Member, yard: Yard, place: Place) -> Finding:
    hint = yard.nearest(member.stock.name)
    text = f'"{member.stock.name}" is not in the yard\'s list'
    if hint.startswith("; did you mean"):
        return warning(place, "yard", text + hint, member.name)
    return note(place, "yard", f"{text}: it is asked for in the trade's sizes, without a price", member.name)


def _figure(mm: float, design: d.Design) -> str:
    return f"{mm:.4g} mm" if design.units == "mm" else f"{mm / 25.4:.3f} in"


def _stock_place(design: d.Design, member: Member) -> Place:
    """Where the stock is said; of a loose piece that a joint adds, where that is."""
    own = next((m for name, m in design.members.items() if name == member.name), None)
    return own.stock.place if own is not None and own.stock is not None else member.place
