"""Waste cleared by a straight bit: grooves, stopped housings and pockets, whose ends are squared by hand."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace

from plangen.geometry.vectors import Point, along, cross, dot, unit
from plangen.machining.lying import seen_from
from plangen.machining.posture import LEVEL, blade_angles, floor_normal
from plangen.machining.setup import HandReason, Setup, Tool
from plangen.machining.standing import Standing, before
from plangen.machining.trenches import Making, depth_points, promising, unmet_wall, walls_and_floor
from plangen.machining.waste import SQUARE, Waste
from plangen.tables.machines import Reach

_QUARTER = math.pi / 2
_FAR = 1e-6
_SHALLOWEST = 1e-3
_CEILING = -0.5
"""Cosine past which a wall hangs over so far that no bit gets in under it."""
_TALLEST = 300.0
"""Millimetres that the work may stand high on its end under a router."""
_SLIGHTEST = 6.0
"""Millimetres: no thinner bit is taken only to square an end less."""
_SLOT = 3.0
"""Two walls no farther apart than this many times their length are run along together."""
_SQUARED = 0.8
"""What squaring one end by hand costs."""
_PARED = 3.0
"""What paring a whole wall that is not square to the floor costs."""
_ROUND = math.sqrt(2.0) - 1.0


def routed(waste: Waste, made: Collection[str]) -> list[Making]:
    """Ways by the router. ``made`` are surfaces that an earlier set-up of the feature made."""
    router = waste.job.shop.reach("router")
    found: list[Making] = []
    for floor in waste.planes if router is not None else ():
        walls = _main_walls(waste, floor)
        standings = before(waste.job, waste.planes[floor].normal, below=False) if walls else ()
        for standing in promising(standings, found):
            assert router is not None
            one = _routed(Pocket(waste, floor, walls, standing, router), made)
            found += [] if one is None else [one]
    return found


def _main_walls(waste: Waste, floor: str) -> tuple[str, ...]:
    """The longest wall that the bit's side makes, with the one that faces it; none where the bit does not get in."""
    others = waste.others(floor)
    if any(waste.lean(w, floor) < _CEILING for w in others):
        return ()
    square = [w for w in others if abs(waste.lean(w, floor)) < SQUARE and waste.foot(w, floor)]
    found: list[tuple[str, ...]] = []
    for wall in square:
        facing = [w for w in square if waste.between(wall, w) is not None]
        wide = waste.between(wall, facing[0]) if facing else None
        slot = wide is not None and wide < _SLOT * _long(waste, wall, floor)
        found.append((wall, facing[0]) if slot else (wall,))
    return max(found, key=lambda g: (len(g), round(_long(waste, g[0], floor), 3), g), default=())


def _long(waste: Waste, wall: str, floor: str) -> float:
    trace = unit(cross(waste.planes[floor].normal, waste.planes[wall].normal))
    reach = [dot(p, trace) for p in waste.foot(wall, floor)]
    return max(reach) - min(reach) if reach else 0.0


@dataclass(frozen=True)
class Pocket:
    """The waste with its floor and main walls, and how the work lies under the router."""

    waste: Waste
    floor: str
    walls: tuple[str, ...]
    standing: Standing
    router: Reach

    @property
    def ends(self) -> list[str]:
        return [i for i in self.waste.others(self.floor) if i not in self.walls]

    @property
    def width(self) -> float | None:
        return self.waste.between(*self.walls) if len(self.walls) == 2 else None

    @property
    def wide(self) -> float:
        width = self.width
        return width if width is not None else self.waste.across(self.walls[0], self.floor)

    def is_live(self, wall: str) -> bool:
        return not self.waste.is_unmet(wall)


def _routed(pocket: Pocket, made: Collection[str]) -> Making | None:
    base = _base(pocket)
    if base is None or base.tool is None or base.tool.width is None or base.depth is None:
        return None
    waste, standing, bit = pocket.waste, pocket.standing, base.tool.width
    setup = walls_and_floor(waste, standing, base, pocket.floor, pocket.walls, made, pocket.width)
    setups, cost = [setup], 1.5 + standing.cost + 0.05 * (setup.passes - 1)
    cost += 0.0 if abs(abs(setup.miter) - _QUARTER) < LEVEL else 0.4
    by_hand = []
    for end in (e for e in pocket.ends if e not in made):
        if not pocket.is_live(end):
            setups.append(unmet_wall(waste, end, setup))
            cost += 0.1
        elif abs(waste.lean(end, pocket.floor)) < SQUARE and _long(waste, end, pocket.floor) > 2.0 * bit:
            setups.append(_along_end(pocket, base, end, {*made, pocket.floor}))
            cost += 0.6
        else:
            by_hand.append(end)
    squared = list(_squared(waste, pocket.floor, by_hand, setup))
    leans = [abs(waste.lean(e, pocket.floor)) > SQUARE for e in by_hand]
    cost += math.fsum(_PARED if lean else _SQUARED for lean in leans)
    faults: tuple[str, ...] = ()
    if pocket.router.height is not None and base.depth[1] > pocket.router.height + _FAR:
        deepest = f"the bit reaches {pocket.router.height:.0f} mm"
        faults = (f"{deepest} and the floor is {base.depth[1]:.0f} mm deep",)
    return Making((*setups, *squared), cost, faults)


def _base(pocket: Pocket) -> Setup | None:
    """The set-up without its walls; None where the bit does not leave this floor, or is too thick to get in."""
    waste, standing = pocket.waste, pocket.standing
    plane = waste.planes[pocket.floor]
    if standing.lying.on_end and standing.lying.size[2] > _TALLEST:
        return None
    blade = blade_angles(standing.posture, waste.planes[pocket.walls[0]].normal)
    lifted = cross(floor_normal(standing.posture, blade.miter, 0.0), plane.normal)
    tops = seen_from(waste.job.work, standing.posture.z)
    if dot(lifted, lifted) > LEVEL * LEVEL or abs(blade.bevel) > LEVEL or not tops:
        return None
    depths = depth_points(waste, tops[0], waste.corners(pocket.floor))
    deep = max((d for _, d in depths), default=0.0)
    bit = _bit(pocket)
    if bit is None or deep < _SHALLOWEST or min(d for _, d in depths) < -_FAR:
        return None
    stopped = [e for e in pocket.ends if pocket.is_live(e)]
    note = "the round of the bit in the corners: square them with a chisel"
    return Setup(
        member=waste.job.work.member.mark,
        feature=waste.job.feature.id,
        stage=waste.job.feature.stage,
        operation="rout",
        machine="router",
        makes=(),
        frees=(waste.ids,),
        tool=Tool("bit", bit, bit),
        cut_from="above",
        surface_down=standing.lying.down,
        surface_against=standing.lying.against,
        end_left=standing.lying.end_left,
        miter=blade.miter,
        tilt=standing.tilt,
        jig=standing.jig,
        depth=(min(d for _, d in depths), deep),
        depth_from=tops[0],
        depth_at=depths,
        run=_run(pocket) if stopped else None,
        passes=max(1, math.ceil(deep / bit - 1e-6) * math.ceil(pocket.wide / bit - 1e-6)),
        residue=bit / 2 * _ROUND if stopped else 0.0,
        residue_note=note if stopped else "",
    )


def _bit(pocket: Pocket) -> float | None:
    """The thickest bit that gets in, and that runs along the ends where these are long; None where none does."""
    most = pocket.wide
    if len(pocket.walls) == 1:
        ends = [_long(pocket.waste, e, pocket.floor) for e in pocket.ends if pocket.is_live(e)]
        most = min([most, *(max(_SLIGHTEST, e / 2.0 - 1e-3) for e in ends)])
    return max((w for w in pocket.router.widths if w < most + 1e-3), default=None)


def _run(pocket: Pocket) -> tuple[Point, Point]:
    """From where to where the bit runs along the middle of the floor, or along the one wall."""
    waste, wall = pocket.waste, pocket.waste.planes[pocket.walls[0]]
    trace = unit(cross(waste.planes[pocket.floor].normal, wall.normal))
    foot = waste.foot(pocket.walls[0], pocket.floor)
    half = (pocket.width or 0.0) / 2
    low, high = (f(foot, key=lambda p: round(dot(p, trace), 6)) for f in (min, max))
    return along(low, wall.normal, half), along(high, wall.normal, half)


def _along_end(pocket: Pocket, base: Setup, end: str, made: Collection[str]) -> Setup:
    """An end long enough for the bit to run along it: its side makes it, but for the round of the corners."""
    turned = Pocket(pocket.waste, pocket.floor, (end,), pocket.standing, pocket.router)
    miter = blade_angles(pocket.standing.posture, pocket.waste.planes[end].normal).miter
    own = replace(base, miter=miter, run=_run(turned), passes=1)
    return walls_and_floor(pocket.waste, pocket.standing, own, pocket.floor, (end,), made, None)


def _squared(waste: Waste, floor: str, ends: Iterable[str], base: Setup) -> Sequence[Setup]:
    """End walls squared by hand after the bit, by the reason why the bit does not make them."""
    reasons: dict[HandReason, list[str]] = {}
    for end in ends:
        reasons.setdefault(waste.by_hand(end, floor), []).append(end)
    return [
        Setup(
            member=base.member,
            feature=base.feature,
            stage=base.stage,
            operation="by hand",
            machine="hand",
            makes=tuple(ids),
            frees=(waste.ids,),
            by_hand=reason,
        )
        for reason, ids in reasons.items()
    ]
