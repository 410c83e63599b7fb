"""What stays risky about a set-up once the safer ways have been taken: read from its own numbers."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

from plangen.joinery.model import Member, Model
from plangen.machining.setup import Machine, Setup
from plangen.tables.cut_cautions import (
    CUT_CAUTIONS,
    DEEP,
    MOST_OF_SECTION,
    NARROW_AT_JOINTER,
    PUSH_STICK_WIDTH,
    SMALL_AT_BANDSAW,
    SMALL_AT_ROUTER,
    TALL_FOR_ITS_FOOT,
    THIN_AT_JOINTER,
    Risk,
)
from plangen.tables.machines import Shop
from plangen.units import LengthUnit

_SAWN_OR_PLANED: tuple[Machine, ...] = ("mitre saw", "table saw", "trenching head", "jointer")
_FENCED: tuple[Machine, ...] = (*_SAWN_OR_PLANED, "bandsaw")
"""Machines that the work is carried to, and rides on."""
_RIPS = ("rip", "taper")
_STANDING = {"A": 0, "B": 0, "edge": 1, "back edge": 1}
"""The side of the blank that is upright when it stands on a surface: length or width."""
_LEANS = 1e-6


def with_cautions(setups: Sequence[Setup], model: Model, shop: Shop, units: LengthUnit) -> tuple[Setup, ...]:
    """The same set-ups, each with what is to be said about it, in the order of the risks."""
    members = {m.mark: m for m in model.members}
    square = _still_square(setups)
    return tuple(
        replace(
            s, cautions=tuple(CUT_CAUTIONS[r].texts[units] for r in risks_of(s, members[s.member], shop, sq))
        )
        if s.member in members
        else s
        for s, sq in zip(setups, square, strict=True)
    )


def _still_square(setups: Sequence[Setup]) -> list[bool]:
    """Of each set-up, in their order: is its work to be turned, and not yet?"""
    to_turn = Counter(s.member for s in setups if s.machine == "lathe")
    turned: Counter[str] = Counter()
    found = []
    for s in setups:
        found.append(to_turn[s.member] > 0 and turned[s.member] == 0)
        turned[s.member] += s.machine == "lathe"
    return found


def risks_of(setup: Setup, member: Member, shop: Shop, is_square: bool = False) -> tuple[Risk, ...]:
    """The risks that remain; none for work by hand, on the lathe or in the vise.

    ``is_square``: round work that is not turned yet.
    """
    if setup.machine in ("hand", "lathe", "vise"):
        return ()
    return tuple(dict.fromkeys(_risks(setup, member, shop, is_square)))


def _risks(setup: Setup, member: Member, shop: Shop, is_square: bool) -> Iterator[Risk]:
    length, width, thickness = member.blank.size
    reach = shop.reach(setup.machine)
    long = max(length, width)
    if setup.machine in _SAWN_OR_PLANED and reach is not None and long < (reach.shortest or 0.0):
        yield "short piece"
    if setup.operation in _RIPS and leans_to_the_fence(setup):
        yield "blade toward fence"
    if setup.operation == "taper" and setup.machine == "table saw":
        yield "tapering rip"
    if setup.operation == "rip" and setup.stop is not None and abs(setup.stop.distance) < PUSH_STICK_WIDTH:
        yield "narrow rip"
    if setup.machine == "jointer":
        if setup.stop is not None and setup.stop.start in ("A", "B"):
            yield "end grain"
        if thickness < THIN_AT_JOINTER:
            yield "thin at jointer"
        if member.blank.size[_STANDING.get(setup.surface_down or "", 2)] < NARROW_AT_JOINTER:
            yield "narrow at jointer"
        if setup.tilt is not None and math.cos(setup.tilt.azimuth) < 0.0:
            yield "fence leans out"
    if setup.depth is not None and setup.machine in ("table saw", "trenching head"):
        if setup.depth[1] > MOST_OF_SECTION * _section(setup, member):
            yield "trench through most"
        wide = setup.tool.width if setup.tool is not None else None
        if setup.operation == "trench" and setup.depth[1] > max(wide or 0.0, DEEP):
            yield "deep cut"
    if setup.surface_down in _STANDING and setup.machine in _SAWN_OR_PLANED and _is_tall(setup, member):
        yield "standing tall"
    if setup.machine == "drill press":
        if setup.tilt is not None and setup.tilt.angle > math.radians(5.0):
            yield "bored aslant"
        if member.is_round and not is_square:
            yield "round rolls"
    if setup.machine == "router" and long < SMALL_AT_ROUTER:
        yield "small at router"
    if setup.machine == "bandsaw" and long < SMALL_AT_BANDSAW:
        yield "small at bandsaw"
    if setup.stage in ("glued", "assembled") and setup.machine in _FENCED:
        yield "put together"


def leans_to_the_fence(setup: Setup) -> bool:
    """Whether the blade's top leans toward the fence: to the right at rest, so toward it where miter is positive."""
    return abs(setup.bevel) > _LEANS and (setup.bevel > 0) == (setup.miter > 0)


def _section(setup: Setup, member: Member) -> float:
    """Height of the wood over the surface the depth is measured from."""
    sides = {"face": 2, "back": 2, "edge": 1, "back edge": 1, "A": 0, "B": 0}
    return member.blank.size[sides.get(setup.depth_from or "face", 2)]


def _is_tall(setup: Setup, member: Member) -> bool:
    size = member.blank.size
    upright = _STANDING[setup.surface_down or ""]
    foot = min(s for i, s in enumerate(size) if i != upright)
    return size[upright] > TALL_FOR_ITS_FOOT * foot
