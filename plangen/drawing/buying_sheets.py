"""The sheets for the yard and the counter: wood and sheet goods, other ways to buy them, finish, glue and hardware; and
what the piece weighs and how it moves."""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction

from plangen.drawing.draft import Draft, SheetStyle
from plangen.drawing.ruled_table import Column, Table
from plangen.drawing.table_flow import Passage, flow_on, side_by_side
from plangen.drawing.wording import capital, joined, mass_text
from plangen.facts import PlanFacts
from plangen.stock.coating import CoatingRow
from plangen.stock.lengths import Purchase
from plangen.stock.materials_list import MaterialRow
from plangen.stock.movement import MovingPart, swing_of
from plangen.tables.finishes import LITRES_A_GALLON
from plangen.units import MM_PER_FOOT, MM_PER_INCH, LengthUnit, UnitStyle, length_text_with_unit, mixed_text

_UNIT_PLURALS = {
    "piece": ("piece", "pieces"),
    "sheet": ("sheet", "sheets"),
    "board foot": ("board foot", "board feet"),
    "square foot": ("square foot", "square feet"),
    "square metre": ("m²", "m²"),
}
_SQUARE_FEET = 1 / 0.3048**2
_VESSELS = ((1.0, "gallon"), (0.25, "quart"), (0.125, "pint"), (0.0625, "half pint"))


def buying_sheets(facts: PlanFacts, style: SheetStyle) -> tuple[Draft, ...]:
    """What to buy, then what it weighs and how it moves."""
    tables = [materials_table(facts)] if facts.materials else []
    if any(row.alternatives for row in facts.materials):
        tables.append(_alternatives_table(facts))
    if facts.hardware:
        tables.append(hardware_table(facts))
    if facts.coating:
        tables.append(_coating_table(facts))
    bought = Passage(
        "materials", "What to buy", "For the timber yard and the hardware counter", tables,
        side_by_side(_buying_notes(facts), style) if tables else (),
    )  # fmt: skip
    passages = [p for p in (bought, _weight(facts, style)) if p.tables]
    return flow_on(passages, style) if passages else ()


# --- wood -------------------------------------------------------------------------------------------------


def materials_table(facts: PlanFacts) -> Table:
    """What to ask for; a column of prices only where there are any."""
    priced = any(row.cost is not None for row in facts.materials)
    columns = [
        Column("Ask for", wraps=True), Column("Buy", "left", wraps=True), Column("For parts", wraps=True),
        Column("Allowance", "left", wraps=True), Column("Offcuts", "right"), Column("Volume", "right"),
        *([Column(f"Cost {facts.supply.yard.currency}".strip(), "right")] if priced else []),
        Column("Remarks", wraps=True),
    ]  # fmt: skip
    cells = tuple(
        (
            capital(row.stock.name),
            _buy_text(row, facts.style),
            ", ".join(row.marks),
            _allowance(row),
            f"{100 * row.offcuts:.0f} %" if row.amount and row.breakdown is not None else "",
            _volume(row, facts.style.length),
            *([_money(row.cost)] if priced else []),
            " ".join(capital(n) for n in row.notes),
        )
        for row in facts.materials
    )
    if priced and len(cells) > 1:
        costs = math.fsum(row.cost for row in facts.materials if row.cost is not None)
        cells += (("In all", " ", " ", " ", " ", " ", _money(costs), " "),)
    return Table("Wood and sheet goods", tuple(columns), cells)


def _allowance(row: MaterialRow) -> str:
    """What is bought beyond the parts: spare pieces, or so much over the net."""
    if row.spare:
        return f"{row.spare} spare"
    return f"{float(100 * row.over):.0f} % over" if row.over else ""


def _volume(row: MaterialRow, units: LengthUnit) -> str:
    if units == "in":
        return f"{row.board_feet:.1f} bd ft" if row.board_feet else ""
    return f"{row.cubic_metres:.3f} m³" if row.cubic_metres else ""


def _money(cost: float | None) -> str:
    return "" if cost is None else f"{cost:.2f}"


def _buying_notes(facts: PlanFacts) -> Iterator[str]:
    costs = [row.cost for row in facts.materials if row.cost is not None]
    supply = facts.supply
    if supply.yard.name and supply.yard.sold:
        yield f"Sizes and prices as {supply.yard.name} lists them; ask whether they still hold."
    if costs:
        unpriced = [capital(row.stock.name) for row in facts.materials if row.cost is None and row.amount]
        if unpriced:
            yield f"The cost in all is without {joined(unpriced)}, which the list gives no price."
    if facts.materials:
        yield (
            "Offcuts: what becomes no part, sawdust included, of what is cut up. On top for faults in the wood: "
            f"{_faults(facts)}."
        )
    if facts.coating:
        yield (
            "Finish and glue: by the surface of the parts; bare, open wood takes more in the first coat. The maker's "
            "label governs."
        )


def _faults(facts: PlanFacts) -> str:
    """The stated allowance, for what is bought by the board and by area."""
    allowed = facts.supply.allowances
    by_area = any(row.over for row in facts.materials)
    return f"one spare board in {allowed.spare}" + (
        f", {float(100 * allowed.over):.0f} % over of random widths" if by_area else ""
    )


def _buy_text(row: MaterialRow, style: UnitStyle) -> str:
    parts = [f"{_pieces(p, style)} from the shop" for p in row.from_shop]
    bought = [_pieces(p, style) for p in row.pieces if p.count]
    if row.spare and bought and row.unit == "piece":
        needed = row.quantity - row.spare
        return f"{joined([*parts, *bought])}: {needed} if all are clear, buy {row.quantity}"
    if bought or parts:
        return joined([*parts, *bought])
    one, many = _UNIT_PLURALS[row.unit]
    size = ""
    if row.unit == "sheet" and row.stock.sheet is not None:
        size = f" of {_sheet_text(row.stock.sheet, style)}"
    return f"{_amount(row.quantity)} {one if row.quantity == 1 else many}{size}"


def _pieces(p: Purchase, style: UnitStyle) -> str:
    size = _yard_length(p.length, style) if p.width is None else _sheet_text((p.length, p.width), style)
    return f"{p.count} of {size}"


def _sheet_text(sheet: tuple[float, float], style: UnitStyle) -> str:
    """Inch sheets are asked for width first: 4 ft x 8 ft."""
    sides = sorted(sheet, reverse=style.length == "mm")
    return " x ".join(_yard_length(s, style) for s in sides)


def _amount(quantity: Fraction) -> str:
    return mixed_text(quantity) if quantity.denominator in (1, 2, 4, 8, 12) else f"{float(quantity):.1f}"


def _yard_length(mm: float, style: UnitStyle) -> str:
    """In the yard's own unit: feet for inch lengths of whole feet, metres for metric ones."""
    feet = Fraction(mm).limit_denominator(10000) / MM_PER_FOOT
    if style.length == "in":
        whole = round(float(feet), 6)
        return f"{whole:g} ft" if whole == int(whole) else length_text_with_unit(mm, style)
    return f"{mm / 1000:.2f} m"


def _alternatives_table(facts: PlanFacts) -> Table:
    """The way chosen and the others, side by side, without spares."""
    priced = any(a.cost is not None for row in facts.materials for a in row.alternatives)
    columns = (
        Column("Stock", wraps=True), Column("Way", wraps=True), Column("Buy", wraps=True),
        Column("Offcuts", "right"),
        *([Column(f"Cost {facts.supply.yard.currency}".strip(), "right")] if priced else []),
    )  # fmt: skip
    cells = []
    for row in facts.materials:
        for way in row.alternatives:
            cells.append(
                (
                    capital(row.stock.name),
                    way.words,
                    joined([_pieces(p, facts.style) for p in way.pieces]),
                    f"{100 * way.waste:.0f} %",
                    *([_money(way.cost)] if priced else []),
                )
            )
    return Table("Other ways to buy, without spares", columns, tuple(cells))


# --- hardware, finish, glue -------------------------------------------------------------------------------


def hardware_table(facts: PlanFacts) -> Table:
    columns = (
        Column("Item", wraps=True), Column("Size", wraps=True), Column("Needed", "right"),
        Column("Spare", "right"), Column("Buy", "left", wraps=True), Column("Use", wraps=True),
    )  # fmt: skip
    cells = tuple(
        (
            capital(row.name),
            row.size,
            str(row.quantity),
            str(row.spare) if row.spare else "",
            f"{row.boxes[0]} x box of {row.boxes[1]}" if row.boxes else str(row.quantity + row.spare),
            "; ".join(row.uses),
        )
        for row in facts.hardware
    )
    return Table("Hardware", columns, cells)


def _square_feet(area: float) -> str:
    return f"{area:.1f} sq ft" if area >= 0.95 else f"{area:.2g} sq ft"


def _coating_table(facts: PlanFacts) -> Table:
    units = facts.style.length
    columns = (
        Column("What", wraps=True), Column("Surface", "right"), Column("Coats", "right"),
        Column("All coats take", "right"), Column("Buy", "right"), Column("Coverage", wraps=True),
    )  # fmt: skip
    cells = tuple(
        (
            capital(row.name),
            f"{row.area:.2f} m²" if units == "mm" else _square_feet(row.area * _SQUARE_FEET),
            str(row.coats),
            _liquid(row, units),
            _tin(row.tin, units),
            _coverage(row, units),
        )
        for row in facts.coating
    )
    return Table("Finish and glue", columns, cells)


def _coverage(row: CoatingRow, units: LengthUnit) -> str:
    """Its source; where that tells gallons in a metric design, the metric figure too."""
    source = row.source.removesuffix(", read")
    if units == "in" or "gallon" not in source or not row.least:
        return source
    most, least = (row.area * row.coats / litres for litres in (row.least, row.most))
    figure = f"{least:.1f}" if round(most - least, 6) == 0 else f"{least:.1f} to {most:.1f}"
    return f"{figure} m² a litre: {source}"


def _liquid(row: CoatingRow, units: LengthUnit) -> str:
    """Litres, or US fluid ounces; rounded up."""
    factor, unit = (1000.0, "ml") if units == "mm" else (128 / LITRES_A_GALLON, "fl oz")
    step = 10.0 if units == "mm" else 1.0
    least, most = (math.ceil(v * factor / step - 1e-9) * step for v in (row.least, row.most))
    return f"{most:.0f} {unit}" if least == most else f"{least:.0f} to {most:.0f} {unit}"


def _tin(litres: float, units: LengthUnit) -> str:
    if units == "mm":
        return f"{litres:g} l"
    gallons = litres / LITRES_A_GALLON
    size, name = next(v for v in _VESSELS if gallons >= v[0] - 1e-9)
    count = round(gallons / size)
    return f"{count} {name}{'s' if count > 1 else ''}"


# --- weight and movement ----------------------------------------------------------------------------------


def _weight(facts: PlanFacts, style: SheetStyle) -> Passage:
    tables = [_weight_table(facts)] if facts.balance is not None else []
    if facts.moving:
        tables.append(_movement_table(facts))
    notes = side_by_side([*_balance_notes(facts), *_movement_notes(facts)], style)
    purpose = "For whoever lifts it, and for the joints through the year"
    return Passage("weight", "Weight and movement", purpose, tables, notes)


def _weight_table(facts: PlanFacts) -> Table:
    units = facts.style.length
    columns = (
        Column("Mark"), Column("Part", wraps=True), Column("Qty", "right"), Column("Each", "right"),
        Column("Together", "right"), Column("Balances, from end A", "right"),
        Column("From face edge", "right"), Column("From back", "right"),
    )  # fmt: skip
    cells = []
    for member in facts.model.members:
        if member.mass is None or not member.instances:
            continue
        length, width, thickness = (length_text_with_unit(v, facts.style) for v in member.solid.centroid)
        cells.append(
            (
                member.mark, capital(member.name), str(member.quantity), mass_text(member.mass, units),
                mass_text(member.mass * member.quantity, units), length, width, thickness,
            )
        )  # fmt: skip
    return Table("Weight at 12 % moisture, and where each part balances", columns, tuple(cells))


def _balance_notes(facts: PlanFacts) -> Iterator[str]:
    found = facts.balance
    if found is None:
        return
    x, y, z = found.centre
    said = [
        f"{_length(abs(v), facts.style)} {plus if v > 0 else minus} of the middle"
        for v, plus, minus in ((x, "right", "left"), (y, "to the rear", "to the front"))
        if abs(v) >= facts.style.step
    ]
    text = (
        f"The whole weighs {mass_text(found.mass, facts.style.length)}; its weight acts "
        f"{joined([*said, f'{_length(z, facts.style)} above the floor'])}."
    )
    if found.tips_at is not None and found.inside is not None and found.inside > 0:
        text += (
            f" That is {_length(found.inside, facts.style)} inside its feet: left to itself it stands on a slope of up "
            f"to {found.tips_at:.0f}° the worst way, nobody leaning on it."
        )
    elif found.inside is not None and found.inside <= 0:
        text += " That is not inside its feet: left to itself it falls over."
    if found.unknown:
        text += f" Without {', '.join(found.unknown)}, whose weight is not known."
    yield text


def _length(mm: float, style: UnitStyle) -> str:
    return length_text_with_unit(mm, style)


def _movement_table(facts: PlanFacts) -> Table:
    columns = (
        Column("Mark"), Column("Part", wraps=True), Column("Wood", wraps=True), Column("Width", "right"),
        Column("Moves", "right"), Column("Sawn"),
    )  # fmt: skip
    cells = tuple(_movement_cells(part, facts.style) for part in facts.moving)
    return Table("Wide parts across the grain, driest to dampest", columns, cells)


def _movement_cells(part: MovingPart, style: UnitStyle) -> tuple[str, ...]:
    moved = f"{part.change:.1f} mm" if style.length == "mm" else f"{part.change / float(MM_PER_INCH):.2f} in"
    return (
        part.mark, capital(part.name), part.wood, length_text_with_unit(part.width, style), moved,
        "quartered" if part.quartered else "flat",
    )  # fmt: skip


def _movement_notes(facts: PlanFacts) -> Iterator[str]:
    if not facts.moving:
        return
    air = facts.supply.air
    swing = swing_of(air)
    usual = "" if air.said else " (heated rooms; say the air it will live in under climate)"
    yield (
        f"Air of {air.driest:g} to {air.dampest:g} % humidity at {air.celsius:g} °C{usual}: the wood holds "
        f"{swing.dry:.1f} to {swing.damp:.1f} % moisture. Taken as flat-sawn, which moves most; quartered wood moves "
        "about half. Let a panel "
        "in a frame have this much room, and screws across the grain a slot in place of all holes but one."
    )
    sources = dict.fromkeys((p.wood, p.source) for p in facts.moving)
    yield "Coefficients: " + "; ".join(f"{wood}, {source}" for wood, source in sources) + "."
    if swing.damp > 14 or swing.dry < 6:
        yield "The coefficients hold from 6 to 14 % moisture; beyond that these figures are a guide."
