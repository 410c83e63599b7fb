"""The workshop that a design is made in: its ``shop`` section, or the file beside it, to ``tables.machines.Shop``.

Nothing is opened here: whoever reads the design hands over a way to read what stands beside it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import PurePath
from typing import Any

from plangen.design import shop as s
from plangen.design.design import Design
from plangen.design.expressions import Expression, Lookup
from plangen.design.files_beside import Beside, FiguresAlone, nothing_beside, read_beside
from plangen.design.records import Entry, kind_of
from plangen.design.sizes import Sizes
from plangen.findings import DesignError, Finding, error, in_order
from plangen.tables.machines import SMALL_SHOP, Reach, Shop


@dataclass(frozen=True)
class ChosenShop:
    """The workshop a design is planned for, and the file it stands in."""

    shop: Shop
    source: str | None = None
    """Base name of the shop file; None: said in the design, or a small shop."""
    sha256: str | None = None
    """Of the shop file's bytes."""


def choose_shop(design: Design, file: str, beside: Beside = nothing_beside) -> ChosenShop:
    """The workshop that the design names; a small shop where it names none.

    ``file`` is the design's name as the user gave it. Raises DesignError with all that is wrong, at its place in
    the file that says it.
    """
    if design.shop is None:
        return ChosenShop(SMALL_SHOP)
    if isinstance(design.shop, s.Workshop):
        return ChosenShop(_shop(design.shop, Sizes(design).lookup, "the design's workshop"))
    name = design.shop
    workshop, sha256 = read_beside(name, file, beside, "shop file", s.ShopFile, "units and machines")
    shop = _shop(workshop, FiguresAlone("shop file").lookup, PurePath(name).stem.replace("-", " "))
    return ChosenShop(shop, str(name), sha256)


def wrong_workshop(workshop: s.Workshop, lookup: Lookup) -> Iterator[Finding]:
    """Machines whose figures cannot go together; the figures themselves are sound."""
    saw, head = workshop.table_saw, workshop.trenching_head
    if head and not saw:
        place = head.place if isinstance(head, Entry) else workshop.place
        yield error(place, "shop", "a trenching head runs on a table saw, and this workshop has none")
    for machine, word in ((workshop.mitre_saw, "a mitre saw"), (saw, "a table saw")):
        if not isinstance(machine, s.MitreSaw | s.TableSaw):
            continue
        square, leaning = machine.deepest, machine.deepest_at_45
        if square and leaning and _value(leaning, lookup, "length") > _value(square, lookup, "length"):
            text = f'{word} cuts "{leaning}" deep at 45 deg; that cannot be more than square, "{square}"'
            yield error(leaning.place, "shop", text)
    if isinstance(head, s.TrenchingHead):
        least, most = _widths(head, lookup)
        said = head.widest or head.narrowest
        if least > most and said is not None:
            text = f"a trenching head of {least:g} to {most:g} mm has no width; the narrowest comes first"
            yield error(said.place, "shop", text)


# --- records to figures ----------------------------------------------------------------------------------


def _shop(workshop: s.Workshop, lookup: Lookup, called: str) -> Shop:
    """The machines of sound records."""
    if wrong := in_order(wrong_workshop(workshop, lookup)):
        raise DesignError(wrong)
    machines = []
    for usual in SMALL_SHOP.machines:
        said = True if usual.machine == "hand" else getattr(workshop, usual.machine.replace(" ", "_"))
        if said:
            machines.append(_machine(usual, said, lookup) if isinstance(said, Entry) else usual)
    shop = Shop(str(workshop.name or called), tuple(machines))
    saw = shop.reach("table saw")
    if saw is None:
        return shop
    leaning: dict[str, Any] = {
        "miter": saw.miter,
        "bevel_left": saw.bevel_left,
        "bevel_right": saw.bevel_right,
    }
    on_the_saw = tuple(replace(m, **leaning) if m.machine == "trenching head" else m for m in shop.machines)
    return replace(shop, machines=on_the_saw)


def _machine(usual: Reach, said: Entry, lookup: Lookup) -> Reach:
    """``usual`` with the figures that the record says."""
    changed: dict[str, Any] = {}
    for name, info in type(said).model_fields.items():
        extra, value = info.json_schema_extra, getattr(said, name)
        if not isinstance(extra, dict) or "reach" not in extra or value is None or value == ():
            continue
        kind = "angle" if kind_of(type(said), name) == "angle" else "length"
        if isinstance(value, tuple):
            changed[str(extra["reach"])] = tuple(sorted({_value(v, lookup, kind) for v in value}))
        else:
            changed[str(extra["reach"])] = _value(value, lookup, kind)
    found = replace(usual, **changed)
    if isinstance(said, s.MitreSaw | s.TableSaw):
        left, right = said.tilts in ("left", "both"), said.tilts in ("right", "both")
        lean = found.bevel_left or 0.0
        return replace(found, bevel_left=lean if left else 0.0, bevel_right=lean if right else 0.0)
    if isinstance(said, s.Jointer):
        return replace(found, bevel_right=found.bevel_left)
    return replace(found, widths=_widths(said, lookup)) if isinstance(said, s.TrenchingHead) else found


def _widths(head: s.TrenchingHead, lookup: Lookup) -> tuple[float, float]:
    """Least and greatest width of the head."""
    least, most = SMALL_SHOP.machine("trenching head").widths
    if head.narrowest is not None:
        least = _value(head.narrowest, lookup, "length")
    if head.widest is not None:
        most = _value(head.widest, lookup, "length")
    return least, most


def _value(expression: Expression, lookup: Lookup, kind: str) -> float:
    """Millimetres or degrees."""
    found = expression.angle(lookup) if kind == "angle" else expression.length(lookup)
    return float(found.value)
