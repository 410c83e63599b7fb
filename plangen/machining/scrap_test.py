"""The test in scrap of an angled setting: two offcuts put together so that the angle, and any error of it, shows twice.

A scrap is cut across and one part is turned over about its length: put end to end with their edges in line, the two cut
ends part by twice what one is out of square. Derived here: for a plane of normal n on the level work it is out of
square by n_y / n_x of the width and n_z / n_x of the thickness, and turning over changes the sign of both.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, TypeAlias

from plangen.geometry.vectors import Vec, add, cross, dot, scale
from plangen.machining.setup import Operation, Setting, Tilt

How: TypeAlias = Literal[
    "end to end", "edge to edge", "planed edges", "face to face", "on a rod", "against a square"
]
"""How the two scraps are put together. ``end to end``: cut ends together, edges in line. ``edge to edge``: the
edges of one ripped scrap together again, one part turned over end for end. ``planed edges`` of two scraps together, one
turned end for end with the same face up. ``face to face``: cut faces together, edges in line. ``on a
rod`` through both holes, one turned half round. ``against a square``: two mitres of 45 degrees."""

Along: TypeAlias = Literal["width", "thickness", "length", "trench", "cut", "side"]
"""Across the face, through the thickness, along the face, of floors along and across the trench, beside a rod."""
_SQUARE = math.radians(0.05)
"""Half of what the scale shows: less is not set."""


@dataclass(frozen=True)
class Opening:
    """How far two scraps part: by ``gap`` over ``base`` (mm), along what the words say."""

    along: Along
    base: float
    gap: float

    def error(self, reading: float) -> float:
        """Degrees that the tool is out where the gap reads ``reading`` mm more: half of what the two show."""
        half = self.gap / 2 / self.base
        return math.degrees(math.atan((self.gap + reading) / 2 / self.base) - math.atan(half))


@dataclass(frozen=True)
class ScrapTest:
    how: How
    openings: tuple[Opening, ...]


@dataclass(frozen=True)
class Bases:
    """Over what width, thickness and length of scrap the readings are given, mm."""

    width: float
    thickness: float
    length: float


def scrap_test(setting: Setting, operation: Operation, bases: Bases) -> ScrapTest | None:
    """None where nothing is set but square."""
    if operation in ("bore", "ream"):
        if setting.tilt is None or setting.tilt.angle < _SQUARE:
            return None
        side = Opening("side", bases.width, 2 * bases.width * math.tan(setting.tilt.angle))
        return ScrapTest("on a rod", (side,))
    if operation in ("trench", "rout"):
        return _of_a_trench(setting, bases)
    if operation in ("by hand", "turn", "bend", "saw to line", "rout to template", "mould"):
        return None
    if operation == "plane":
        lean = 0.0 if setting.tilt is None else setting.tilt.angle
        through = _opening("thickness", bases.thickness, math.tan(lean))
        return None if through is None else ScrapTest("planed edges", (through,))
    return _of_a_through_cut(setting, bases)


def plane_slopes(setting: Setting) -> Vec:
    """The blade's normal in directions of the level work: along the fence, toward it, up."""
    cm, sm = math.cos(setting.miter), math.sin(setting.miter)
    cb, sb = math.cos(setting.bevel), math.sin(setting.bevel)
    return on_level_work((cm * cb, sm * cb, -sb), setting.tilt)


def floor_slopes(setting: Setting) -> Vec:
    """The normal of the floor that a head leaves, in directions of the level work."""
    cm, sm = math.cos(setting.miter), math.sin(setting.miter)
    cb, sb = math.cos(setting.bevel), math.sin(setting.bevel)
    return on_level_work((cm * sb, sm * sb, cb), setting.tilt)


def on_level_work(v: Vec, tilt: Tilt | None) -> Vec:
    """A direction at the machine, as the work has it once it lies level again."""
    if tilt is None:
        return v
    axis: Vec = (math.cos(tilt.azimuth), math.sin(tilt.azimuth), 0.0)
    c, s = math.cos(-tilt.angle), math.sin(-tilt.angle)
    return add(add(scale(v, c), scale(cross(axis, v), s)), scale(axis, dot(axis, v) * (1.0 - c)))


def _of_a_through_cut(setting: Setting, bases: Bases) -> ScrapTest | None:
    x, y, z = (abs(c) for c in plane_slopes(setting))
    if x >= y:
        found = (_opening("width", bases.width, y / x), _opening("thickness", bases.thickness, z / x))
        how: How = "end to end"
    else:
        found = (_opening("length", bases.length, x / y), _opening("thickness", bases.thickness, z / y))
        how = "edge to edge"
    openings = tuple(o for o in found if o is not None)
    if len(openings) == 1 and abs(openings[0].gap / openings[0].base - 2.0) < 4 * _SQUARE:
        return ScrapTest("against a square", openings)
    return ScrapTest(how, openings) if openings else None


def _of_a_trench(setting: Setting, bases: Bases) -> ScrapTest | None:
    """Walls out of square to the edge, and a floor that slopes along the trench or across it."""
    x, y, _ = (abs(c) for c in plane_slopes(setting))
    wall = _opening("width", bases.width, min(x, y) / max(x, y))
    f = floor_slopes(setting)
    trace = (-math.sin(setting.miter), math.cos(setting.miter))
    along, across = (abs((f[0] * u + f[1] * v) / f[2]) for u, v in (trace, (trace[1], -trace[0])))
    width = bases.thickness if setting.tool is None or setting.tool.width is None else setting.tool.width
    found = (wall, _opening("trench", bases.width, along), _opening("cut", width, across))
    openings = tuple(o for o in found if o is not None)
    return ScrapTest("face to face", openings) if openings else None


def _opening(along: Along, base: float, slope: float) -> Opening | None:
    return None if math.atan(slope) < _SQUARE else Opening(along, base, 2 * base * slope)
