"""The machines of a workshop, as its ``shop`` section or a file of its own says them.

What is not said of a machine is as in a small shop (``tables/machines.py``); a machine that is not named is not
there. Each size says which figure of ``Reach`` it is (``reach`` beside its ``kind``).
"""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field

from plangen.design.records import Expression, Record, Text, keyed
from plangen.tables.machines import SMALL_SHOP
from plangen.units import Kind


def _reach(machine: str, figure: str, meaning: str, kind: Kind = "length") -> Any:
    """A field that says a figure of a machine's ``Reach``; its default there is told with its meaning."""
    usual = SMALL_SHOP.machine(machine)
    value = getattr(usual, figure)
    unit = "deg" if kind == "angle" else "mm"
    several = isinstance(value, tuple)
    if value:
        shown = ", ".join(f"{v:g}" for v in value) if several else f"{value:g}"
        meaning = f"{meaning}; default: {shown} {unit}"
    default: Any = () if several else None
    return Field(default, description=meaning, json_schema_extra={"kind": kind, "reach": figure})


class MitreSaw(Record):
    """A saw whose blade comes down across the work."""

    mitre: Expression | None = _reach("mitre saw", "miter", "most swing from square, each way", "angle")
    tilts: Literal["left", "right", "both"] = keyed("the side the top of the blade leans to", default="both")
    bevel: Expression | None = _reach("mitre saw", "bevel_left", "most lean of the blade", "angle")
    deepest: Expression | None = _reach("mitre saw", "height", "deepest cut, square")
    deepest_at_45: Expression | None = _reach(
        "mitre saw", "height_at_45", "the same with the blade at 45 deg"
    )
    widest: Expression | None = _reach("mitre saw", "width", "widest board it cuts across, square")
    shortest: Expression | None = _reach("mitre saw", "shortest", "shortest piece that is held safely")
    kerf: Expression | None = _reach("mitre saw", "kerf", "width of the cut of its blade")
    blade: Expression | None = _reach("mitre saw", "diameter", "diameter of its blade")


class TableSaw(Record):
    mitre: Expression | None = _reach(
        "table saw", "miter", "most swing of its mitre gauge, each way", "angle"
    )
    tilts: Literal["left", "right"] = keyed("the side the top of the blade leans to", default="left")
    bevel: Expression | None = _reach("table saw", "bevel_left", "most lean of the blade", "angle")
    deepest: Expression | None = _reach("table saw", "height", "deepest cut, square")
    deepest_at_45: Expression | None = _reach(
        "table saw", "height_at_45", "the same with the blade at 45 deg"
    )
    rip: Expression | None = _reach("table saw", "width", "widest from blade to fence")
    shortest: Expression | None = _reach("table saw", "shortest", "shortest piece that is held safely")
    kerf: Expression | None = _reach("table saw", "kerf", "width of the cut of its blade")
    blade: Expression | None = _reach("table saw", "diameter", "diameter of its blade")


class TrenchingHead(Record):
    """Cutters stacked on the table saw's arbor that clear a flat-bottomed trench; leans and swings as the saw does."""

    narrowest: Expression | None = keyed(
        "least width it is set to; default: 6 mm", default=None, kind="length"
    )
    widest: Expression | None = keyed("greatest width; default: 20 mm", default=None, kind="length")
    deepest: Expression | None = _reach("trenching head", "height", "deepest trench")
    diameter: Expression | None = _reach("trenching head", "diameter", "diameter of its cutters")
    shortest: Expression | None = _reach("trenching head", "shortest", "shortest piece that is held safely")


class Router(Record):
    deepest: Expression | None = _reach("router", "height", "deepest cut")
    straight_bits: tuple[Expression, ...] = _reach("router", "widths", "diameters of its straight bits")
    round_over_bits: tuple[Expression, ...] = _reach("router", "radii", "radii of its rounding-over bits")


class Bandsaw(Record):
    deepest: Expression | None = _reach("bandsaw", "height", "deepest cut")
    throat: Expression | None = _reach("bandsaw", "width", "from the blade to the column")
    kerf: Expression | None = _reach("bandsaw", "kerf", "width of the cut of its blade")
    table_tilts: Expression | None = _reach("bandsaw", "tilt", "most tilt of its table", "angle")


class Jointer(Record):
    widest: Expression | None = _reach("jointer", "width", "widest face it planes")
    fence_tilts: Expression | None = _reach(
        "jointer", "bevel_left", "most tilt of its fence, either way", "angle"
    )
    deepest: Expression | None = _reach("jointer", "height", "most taken off in one pass")
    shortest: Expression | None = _reach("jointer", "shortest", "shortest piece that is held safely")


class DrillPress(Record):
    stroke: Expression | None = _reach("drill press", "height", "deepest hole in one stroke")
    table_tilts: Expression | None = _reach("drill press", "tilt", "most tilt of its table", "angle")
    drills: tuple[Expression, ...] = _reach(
        "drill press", "drills", "diameters of the drills owned; default: any that a hole asks for"
    )


class Lathe(Record):
    swing: Expression | None = _reach("lathe", "width", "greatest diameter it turns")
    between_centres: Expression | None = _reach("lathe", "height", "longest piece it turns")


class Workshop(Record):
    """The machines that are there: `yes`, or what is said of them."""

    name: Text | None = keyed("what the workshop is called", default=None)
    mitre_saw: MitreSaw | bool = keyed("a mitre saw", default=False)
    table_saw: TableSaw | bool = keyed("a table saw", default=False)
    trenching_head: TrenchingHead | bool = keyed("a trenching head for the table saw", default=False)
    router: Router | bool = keyed("a router, in the hand or in a table", default=False)
    bandsaw: Bandsaw | bool = keyed("a bandsaw", default=False)
    jointer: Jointer | bool = keyed("a jointer", default=False)
    drill_press: DrillPress | bool = keyed("a drill press", default=False)
    lathe: Lathe | bool = keyed("a lathe", default=False)
    vise: bool = keyed("a vise that bends metal", default=False)


class ShopFile(Workshop):
    """A file that holds the machines of a workshop, for all designs beside it."""

    units: Literal["in", "mm"] = keyed("the unit of bare numbers in this file")
