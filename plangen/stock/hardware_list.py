"""The hardware list: fasteners and bought parts, like ones together."""

from __future__ import annotations

import math
from dataclasses import dataclass

from plangen.joinery.model import Hardware, Model
from plangen.tables.allowances import FASTENERS_A_SPARE
from plangen.tables.finishes import SCREW_BOXES


@dataclass(frozen=True)
class HardwareRow:
    """One line to buy; ``length`` in millimetres where it is cut or chosen to a length."""

    name: str
    size: str
    quantity: int
    """What the work takes."""
    spare: int
    """What to buy beyond it."""
    length: float | None
    uses: tuple[str, ...]

    @property
    def boxes(self) -> tuple[int, int] | None:
        """Screws by the box: how many boxes of how many, with the least over; None of what is sold singly."""
        if "screw" not in self.name:
            return None
        wanted = self.quantity + self.spare
        one = [size for size in SCREW_BOXES if size >= wanted]
        return (1, one[0]) if one else (math.ceil(wanted / SCREW_BOXES[-1]), SCREW_BOXES[-1])


def hardware_list(model: Model) -> tuple[HardwareRow, ...]:
    """Model hardware of one name, size and length as one row, in order of first use, then the bought members
    that no line of hardware names."""
    items = [*model.hardware, *_bought_members(model)]
    groups: dict[tuple[str, str, float | None], list[Hardware]] = {}
    for item in items:
        length = None if item.length is None else round(item.length, 6)
        groups.setdefault((item.name, item.size, length), []).append(item)
    return tuple(_row(*key, alike) for key, alike in groups.items())


def _row(name: str, size: str, length: float | None, alike: list[Hardware]) -> HardwareRow:
    quantity = sum(item.quantity for item in alike)
    spare = math.ceil(quantity / FASTENERS_A_SPARE) if quantity >= FASTENERS_A_SPARE else 0
    uses = tuple(dict.fromkeys(item.use for item in alike if item.use))
    return HardwareRow(name, size, quantity, spare, length, uses)


def _bought_members(model: Model) -> list[Hardware]:
    listed = {item.name for item in model.hardware}
    return [
        Hardware(member.name, member.bought_size, member.quantity, None, "", member.place)
        for member in model.members
        if member.role == "bought" and member.name not in listed and member.quantity
    ]
