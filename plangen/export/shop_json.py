"""The workshop that a set is planned for, in plan.json."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

from plangen.design.shop_reading import ChosenShop
from plangen.export.json_numbers import plain
from plangen.tables.machines import Reach


def shop_facts(chosen: ChosenShop) -> dict[str, Any]:
    """Its name, the file that says it (null: none) with the hash of its bytes, its machines: mm and degrees."""
    return {
        "name": chosen.shop.name,
        "source": chosen.source,
        "sha256": chosen.sha256,
        "machines": [_machine(m) for m in chosen.shop.machines],
    }


def _machine(reach: Reach) -> dict[str, Any]:
    """What it reaches; figures that it does not have are left out."""
    found: dict[str, Any] = {"machine": reach.machine}
    for field in fields(reach):
        value = getattr(reach, field.name)
        if field.name == "machine" or value is None or value == ():
            continue
        found[field.name] = [plain(v) for v in value] if isinstance(value, tuple) else plain(value)
    return found
