"""How the set-up sheets name things: where the operator stands, surfaces by the cut that makes them, places on the
blank."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import Literal, TypeAlias

from plangen.joinery.model import Hand
from plangen.machining.setup import Machine, Setup
from plangen.units import UnitStyle, length_text

Stance: TypeAlias = Literal["facing", "gauge", "feeding"]
"""``facing``: the operator faces the fence, the work between. ``gauge``: a mitre gauge or sled stands between
operator and work, so that right and left change over. ``feeding``: the work is fed along the fence, which stands at
the operator's right hand."""

BLANK_NAMES = {
    "A": "end A", "B": "end B", "edge": "face edge", "back edge": "back edge", "back": "back", "face": "face side",
}  # fmt: skip
_AXIS_OF = {"A": 0, "B": 0, "edge": 1, "back edge": 1, "back": 2, "face": 2}
_PLACE_WORDS = ("A", "edge", "back")
_ON_A_GAUGE: frozenset[Machine] = frozenset({"table saw", "trenching head"})
_FED: frozenset[Machine] = frozenset({"table saw", "trenching head", "jointer", "router", "bandsaw"})
TURNED: dict[Stance, float] = {"facing": 0.0, "gauge": 180.0, "feeding": 90.0}
"""Degrees from the machine's bearings (0 along the fence to the right) to the operator's (0 at the right hand)."""


def stance(machine: Machine, miter: float) -> Stance:
    """Where the operator stands for a cut at ``miter`` (degrees)."""
    if machine in _FED and 45.0 < miter % 180.0 < 135.0:
        return "feeding"
    return "gauge" if machine in _ON_A_GAUGE else "facing"


def canonical(miter: float, bevel: float, where: Stance) -> tuple[float, float, bool]:
    """The same plane of the blade (degrees) with the miter above -90 and up to 90, fed along the fence from 0 to below
    180; and whether its normal is then turned round."""
    level = miter % 180.0
    own = level if where == "feeding" or level <= 90.0 else level - 180.0
    turned = round((miter - own) / 180.0) % 2 != 0
    return round(own, 6), -bevel if turned else bevel, turned


class Names:
    """Names of surfaces: of the blank by their faces, of cut ones by the cut (``cut 7 floor``)."""

    def __init__(self, setups: Sequence[Setup]) -> None:
        self._names: dict[tuple[str, Hand | None, str], str] = {}
        self._makers: dict[tuple[str, Hand | None, str], int] = {}
        self._makes: dict[int, frozenset[str]] = {s.index: frozenset(s.makes) for s in setups}
        self._groups: dict[tuple[str, Hand | None], set[frozenset[str]]] = {}
        for setup in setups:
            groups = self._groups.setdefault((setup.member, setup.hand), set())
            groups |= {frozenset(group) for group in setup.frees}
            for surface, part in zip(setup.makes, surface_parts(setup), strict=True):
                key = (setup.member, setup.hand, surface)
                self._names[key] = f"cut {setup.index} {part}".rstrip()
                self._makers[key] = setup.index

    def surface(self, setup: Setup, surface: str) -> str:
        """Of the member and hand of the set-up."""
        if surface in BLANK_NAMES:
            return BLANK_NAMES[surface]
        return self._name(setup, surface) or surface

    def _name(self, setup: Setup, surface: str) -> str | None:
        own = self._names.get((setup.member, setup.hand, surface))
        return own or self._names.get((setup.member, None, surface))

    def _maker(self, setup: Setup, surface: str) -> int | None:
        own = self._makers.get((setup.member, setup.hand, surface))
        return own or self._makers.get((setup.member, None, surface))

    def freed(self, setup: Setup) -> tuple[str, ...]:
        """Each piece of waste that comes away with this cut: ``cut 7 + cut 9 floor``. Empty where the cut's surfaces
        part one piece by themselves and no other, and where a later cut has to come first."""
        own = frozenset(setup.makes)
        found = []
        for group in setup.frees:
            makers = [self._maker(setup, s) for s in group]
            known = [m for m in makers if m is not None]
            if not own & set(group) or setup.index != max(known, default=setup.index):
                continue
            if frozenset(group) == own:
                found.append(f"cut {setup.index}")
                continue
            found.append(" + ".join(self._grouped(setup, group)))
        groups = self._groups[setup.member, setup.hand]
        alone = all(group == own for group in groups if own & group)
        return () if alone else tuple(dict.fromkeys(found))

    def _grouped(self, setup: Setup, group: Sequence[str]) -> list[str]:
        words: list[str] = []
        for surface in group:
            maker = self._maker(setup, surface)
            whole = maker is not None and self._makes[maker] <= set(group)
            words.append(f"cut {maker}" if whole else self.surface(setup, surface))
        return list(dict.fromkeys(words))


def surface_parts(setup: Setup) -> tuple[str, ...]:
    """What each surface that a cut makes is called beside the cut's number; nothing where it makes one alone."""
    count = len(setup.makes)
    if count == 1:
        return ("",)
    if setup.operation in ("kerf", "trench", "rout") and setup.stop is not None and count <= 3:
        return ("wall", "floor", "far wall")[:count]
    if setup.operation in ("bore", "ream") and count == 2:
        return ("hole", "floor")
    return tuple(f"side {i + 1}" for i in range(count))


def place_text(place: Sequence[float], on: str | None, style: UnitStyle) -> str:
    """``A 120, edge 20``: along from end A, across from the face edge, up from the back; what a face of the blank
    that the place lies ``on`` settles is left out."""
    left_out = None if on is None else _AXIS_OF.get(on)
    return ", ".join(f"{_PLACE_WORDS[i]} {length_text(place[i], style)}" for i in range(3) if i != left_out)


def runs_text(numbers: Sequence[int]) -> str:
    """``3 to 5, 9`` of ascending numbers."""
    parts: list[str] = []
    for _, group in itertools.groupby(enumerate(numbers), key=lambda item: item[1] - item[0]):
        run = [n for _, n in group]
        parts += [f"{run[0]} to {run[-1]}"] if len(run) > 2 else map(str, run)
    return ", ".join(parts)
