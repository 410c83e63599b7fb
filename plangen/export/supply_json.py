"""What is bought, cut, spread and weighed, in plan.json: mm, mm2, kg, litres; money in the yard's currency."""

from __future__ import annotations

from typing import Any

from plangen.export.json_numbers import plain
from plangen.facts import PlanFacts
from plangen.stock.breakdown import Breakdown
from plangen.stock.coating import CoatingRow
from plangen.stock.laid_pieces import LaidStock, laid_stock
from plangen.stock.lengths import Purchase
from plangen.stock.lengths_layout import LengthLayout
from plangen.stock.materials_list import MaterialRow
from plangen.stock.movement import swing_of


def buying_facts(facts: PlanFacts) -> dict[str, Any]:
    """The yard, and a row for each row of ``stock``, in its order."""
    supply = facts.supply
    return {
        "yard": supply.yard.name or None,
        "source": supply.source,
        "sha256": supply.sha256,
        "currency": supply.yard.currency or None,
        "rows": [_row(row) for row in facts.materials],
        "coating": [_coating(row) for row in facts.coating],
    }


def _row(row: MaterialRow) -> dict[str, Any]:
    return {
        "name": row.stock.name,
        "pieces": [_purchase(p) for p in row.pieces],
        "from_shop": [_purchase(p) for p in row.from_shop],
        "spare": row.spare,
        "over": plain(float(row.over)),
        "offcuts": plain(row.offcuts),
        "cost": _maybe(row.cost),
        "board_feet": _maybe(row.board_feet),
        "cubic_metres": _maybe(row.cubic_metres),
        "alternatives": [
            {
                "way": a.words,
                "pieces": [_purchase(p) for p in a.pieces],
                "cost": _maybe(a.cost),
                "offcuts": plain(a.waste),
            }
            for a in row.alternatives
        ],
    }


def _maybe(value: float | None) -> float | None:
    return None if value is None else plain(value)


def _purchase(p: Purchase) -> dict[str, Any]:
    return {"length": plain(p.length), "width": _maybe(p.width), "count": p.count}


def _coating(row: CoatingRow) -> dict[str, Any]:
    return {
        "name": row.name,
        "area": plain(row.area * 1e6),
        "coats": row.coats,
        "litres": [plain(row.least), plain(row.most)],
        "tin": plain(row.tin),
        "source": row.source,
    }


def layout_facts(facts: PlanFacts) -> list[dict[str, Any]]:
    """Each stock that is laid out: its boards or sheets with parts, offcuts and cuts in order."""
    return [_layout(row.breakdown) for row in facts.materials if row.breakdown is not None]


def _layout(found: Breakdown) -> dict[str, Any]:
    layout = found.layout
    return {
        "stock": found.stock.name,
        "kind": "boards" if isinstance(layout, LengthLayout) else "sheets",
        "kerf": plain(layout.kerf),
        "trim": plain(layout.trim),
        "cost": plain(layout.cost),
        "bound": plain(layout.bound),
        "proven": layout.proven,
        "ripped": [{"member": m, "side_by_side": r, "glued": g} for m, r, g in found.ripped],
        "ganged": [{"members": list(g.marks), "length": plain(g.length)} for g in found.gangs],
        "scrap": plain(found.scrap),
        "pieces": [_piece(p) for p in laid_stock(found)],
    }


def _piece(piece: LaidStock) -> dict[str, Any]:
    return {
        "length": plain(piece.length),
        "width": plain(piece.width),
        "from_shop": piece.shop,
        "areas": [
            {
                "use": a.use,
                "member": a.name if a.use == "part" and a.name else None,
                "at": [plain(a.x), plain(a.y)],
                "size": [plain(a.length), plain(a.width)],
                "turned": a.turned,
            }
            for a in piece.areas
        ],
        "cuts": [
            {
                "number": c.number,
                "cut": "crosscut" if c.upright else "rip",
                "from": [plain(v) for v in c.start],
                "to": [plain(v) for v in c.end],
                "stop": _maybe(c.stop),
            }
            for c in piece.cuts
        ],
    }


def weight_facts(facts: PlanFacts) -> dict[str, Any]:
    """The whole's mass and where it acts (right, rear, up), and what moves across the grain."""
    found = facts.balance
    air, swing = facts.supply.air, swing_of(facts.supply.air)
    return {
        "mass": None if found is None else plain(found.mass),
        "centre": None if found is None else [plain(v) for v in found.centre],
        "unknown": [] if found is None else list(found.unknown),
        "inside_feet": None if found is None else _maybe(found.inside),
        "tips_at": None if found is None else _maybe(found.tips_at),
        "climate": {
            "humidity": [plain(air.driest), plain(air.dampest)],
            "celsius": plain(air.celsius),
            "moisture": [plain(swing.dry), plain(swing.damp)],
        },
        "movement": [
            {
                "member": p.mark,
                "width": plain(p.width),
                "coefficient": plain(p.coefficient),
                "change": plain(p.change),
                "quartered": p.quartered,
            }
            for p in facts.moving
        ],
    }
