"""Waste cleared to a floor: trenches, rebates, tenons and slots by the trenching head, or by kerfs and a clearing.

A floor square to its walls is made with them in one pass (side by side where the head is narrower). Walls out of square
are sawn first, each as a kerf down to the floor; then the floor is cleared between them.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Point, Vec, along, cross, dot, unit
from plangen.machining.lying import lyings
from plangen.machining.posture import LEVEL, blade_angles, floor_normal, tilted
from plangen.machining.setup import Machine, Operation, Setup, Stop, Tool
from plangen.machining.standing import WEDGE, Standing, before, flat, is_level
from plangen.machining.stops import crosscut_stop, rip_stop
from plangen.machining.through_cuts import BEYOND, bevel_fault, height_at
from plangen.machining.waste import SQUARE, Waste
from plangen.tables.machines import Reach

_QUARTER = math.pi / 2
_ROUGHEST = 4.0
"""Millimetres that a kerf may leave in a corner, to be pared."""
_FAR = 1e-6
_SHALLOWEST = 1e-3
_NEAR = 0.6
"""A way that costs more than the best by this much cannot come out better by sparing a setting."""


@dataclass(frozen=True)
class Making:
    """Set-ups that make the surfaces of one piece of waste that are not made yet."""

    setups: tuple[Setup, ...]
    cost: float
    faults: tuple[str, ...] = ()

    def rank(self) -> tuple[float, int]:
        return round(self.cost + BEYOND * len(self.faults), 6), len(self.setups)


def best(found: Iterable[Making]) -> Making | None:
    return min(found, key=Making.rank, default=None)


def promising(standings: Iterable[Standing], found: Sequence[Making]) -> Iterator[Standing]:
    """The ways to stand, cheapest first, as long as one may come near the best of what is ``found`` meanwhile."""
    for standing in sorted(standings, key=lambda s: round(s.cost, 6)):
        if found and 1.0 + standing.cost > min(m.rank()[0] for m in found) + _NEAR:
            return
        yield standing


def trenched(waste: Waste, made: Collection[str]) -> list[Making]:
    """Ways by the saw and the trenching head. ``made`` are surfaces that an earlier set-up of the feature made."""
    if waste.job.feature.stage in ("glued", "assembled"):
        return []
    found: list[Making] = []
    for floor in waste.planes:
        if _is_sawn(waste, floor):
            standings = list(before(waste.job, waste.planes[floor].normal, below=True))
            found += _sawn(waste, floor, made, standings)
    if len(waste.planes) == 2:
        found += _two_kerfs(waste, made)
    return found


def _is_sawn(waste: Waste, floor: str) -> bool:
    """Whether a blade reaches each wall from the mouth; two walls that both hang over are a dovetail."""
    walls = [w for w in waste.others(floor) if waste.foot(w, floor)]
    if not all(w in walls or waste.is_unmet(w) for w in waste.others(floor)):
        return False
    hanging = [w for w in walls if waste.lean(w, floor) < -SQUARE]
    return bool(walls) and len(hanging) < 2 and all(waste.runs_free(w, floor) for w in walls)


def _sawn(waste: Waste, floor: str, made: Collection[str], standings: list[Standing]) -> list[Making]:
    walls = [w for w in waste.others(floor) if waste.foot(w, floor)]
    unmet = [w for w in waste.others(floor) if w not in walls and w not in made]
    leaning = [w for w in walls if abs(waste.lean(w, floor)) > SQUARE]
    square = [w for w in walls if w not in leaning]
    kerfs = [best(kerf(waste, w, floor, w in made, flat_or_level(waste, standings))) for w in leaning]
    if any(k is None for k in kerfs):
        return []
    sawn = [k for k in kerfs if k is not None]
    begun = {*made, *leaning}
    found: list[Making] = []
    for standing in promising(standings, found):
        cleared = _passes(waste, floor, _groups(waste, square), begun, standing)
        if cleared is not None:
            touched = [Making((unmet_wall(waste, w, cleared[0].setups[0]),), 0.1) for w in unmet]
            found.append(_joined([*sawn, *cleared, *touched]))
    return found


def flat_or_level(waste: Waste, standings: Sequence[Standing]) -> list[Standing]:
    """Where a kerf may be sawn: as for the floor, and lying on any other side without a wedge."""
    own = {(s.lying.down, s.lying.against) for s in standings if s.tilt is None}
    rest = [s for s in flat(waste.job) if (s.lying.down, s.lying.against) not in own]
    return [*standings, *rest]


def _groups(waste: Waste, walls: Sequence[str]) -> list[tuple[str, ...]]:
    """Walls square to the floor as they are cut: two that face each other together."""
    left, found = list(walls), []
    while left:
        first = left.pop(0)
        facing = next((w for w in left if waste.between(first, w) is not None), None)
        if facing is not None:
            left.remove(facing)
        found.append((first,) if facing is None else (first, facing))
    return sorted(found, key=lambda g: -len(g))


def _passes(
    waste: Waste, floor: str, groups: Sequence[tuple[str, ...]], made: set[str], standing: Standing
) -> list[Making] | None:
    """The floor with its square walls, one set-up for each group; without any, the floor alone."""
    if not groups:
        one = _clearing(waste, floor, made, standing)
        return None if one is None else [one]
    found = []
    begun = set(made)
    for group in groups:
        some = _pass(waste, floor, group, begun, standing)
        if some is None:
            return None
        found += some
        begun |= {floor, *group}
    return found


def _pass(
    waste: Waste, floor: str, walls: tuple[str, ...], made: set[str], standing: Standing
) -> list[Making] | None:
    plane = waste.planes[floor]
    blade = blade_angles(standing.posture, waste.planes[walls[0]].normal)
    if _apart(floor_normal(standing.posture, blade.miter, blade.bevel), plane.normal) > LEVEL:
        return None
    angles = _upright(waste, standing, (blade.miter, blade.bevel))
    width = waste.between(*walls) if len(walls) == 2 else None
    wide = width if width is not None else waste.across(walls[0], floor)
    tooled = _tool(waste, standing, floor, wide, angles[1])
    if tooled is None:
        return None
    faults = (*tooled.faults, *_gauge_faults(waste, standing, angles, tooled.reach))
    base = _base(waste, standing, floor, angles, tooled)
    if abs(angles[1]) > LEVEL and tooled.passes > 1:
        # a leaning head leaves a stair where it passes twice at one height: two passes, each to its own wall
        if width is None or tooled.passes > 2 or any(w in made for w in walls):
            return None
        base = replace(base, passes=1)
        first = walls_and_floor(waste, standing, base, floor, walls[:1], made, None)
        second = walls_and_floor(waste, standing, base, floor, walls[1:], {*made, floor}, None)
        cost = _cost(standing, angles, 1)
        return [Making((first,), cost, faults), Making((second,), cost, faults)]
    setup = walls_and_floor(waste, standing, base, floor, walls, made, width)
    return [Making((setup,), _cost(standing, angles, tooled.passes), faults)]


def unmet_wall(waste: Waste, wall: str, beside: Setup) -> Setup:
    """A wall of the waste that meets no wood: where it stands is told with the cut beside it, to no depth."""
    work = waste.job.work
    lying = next(
        y for y in lyings(work) if (y.down, y.against) == (beside.surface_down, beside.surface_against)
    )
    posture = lying.posture if beside.tilt is None else tilted(lying.posture, beside.tilt)
    standing = Standing(lying, posture, beside.tilt, lying.cost)
    blade = blade_angles(posture, waste.planes[wall].normal)
    measured_from = beside.depth_from or lying.down
    base = replace(beside, miter=blade.miter, bevel=blade.bevel, depth_from=measured_from)
    stop = replace(wall_stop(waste, standing, wall, base), wall=None)
    return replace(
        base,
        makes=(wall,),
        goes_on=(),
        frees=(waste.ids,),
        operation="kerf" if beside.depth is None else beside.operation,
        jig="wedge" if beside.tilt is not None else lying.jig,
        run=None,
        stop=stop,
        waste="right" if blade.waste_right else "left",
        width=None,
        depth=(0.0, 0.0),
        depth_at=((stop.at, 0.0),),
        depth_from=next((i for i in (measured_from, *stop.arris) if i in stop.arris), None),
        passes=1,
        alternative=None,
        residue=0.0,
        residue_note="this side of the waste meets no wood of this piece",
    )


def _apart(a: Vec, b: Vec) -> float:
    c = cross(a, b)
    return math.sqrt(dot(c, c))


def walls_and_floor(
    waste: Waste,
    standing: Standing,
    base: Setup,
    floor: str,
    walls: Sequence[str],
    made: Collection[str],
    width: float | None,
) -> Setup:
    """The set-up with its stop, its waste side and the order of ``makes`` that these say."""
    new = [w for w in walls if w not in made]
    goes_on = tuple(i for i in (*walls, floor) if i in made)
    floors = () if floor in made else (floor,)
    if not new:
        return replace(base, makes=floors, goes_on=goes_on, waste="between")
    stops = {w: wall_stop(waste, standing, w, base) for w in new}
    near = min(new, key=lambda w: (stops[w].wall != "near", round(abs(stops[w].distance), 6)))
    if len(new) == 2:
        far = next(w for w in new if w != near)
        return replace(
            base, makes=(near, *floors, far), goes_on=goes_on, stop=stops[near], waste="between", width=width
        )
    # one wall still to make: the waste lies on its outer side
    return replace(
        base,
        makes=(near, *floors),
        goes_on=goes_on,
        stop=replace(stops[near], wall=None),
        waste=side(standing, base, waste.planes[near]),
        width=width,
    )


def side(standing: Standing, base: Setup, plane: Plane) -> Literal["left", "right"]:
    """The side of the blade on which a plane's outer side lies."""
    cm, sm, cb, sb = math.cos(base.miter), math.sin(base.miter), math.cos(base.bevel), math.sin(base.bevel)
    out = standing.posture.to_machine(plane.normal)
    return "right" if out[0] * cm * cb + out[1] * sm * cb - out[2] * sb > 0.0 else "left"


def wall_stop(waste: Waste, standing: Standing, wall: str, base: Setup) -> Stop:
    """The mark of a wall on the surface that the depth is measured from."""
    assert base.depth_from is not None
    along_fence = abs(abs(base.miter) - _QUARTER) < LEVEL
    at = rip_stop if along_fence else crosscut_stop
    return at(waste.job.work, standing.lying, waste.planes[wall], [base.depth_from], True)


# --- kerfs, and a clearing ----------------------------------------------------------------------------------


def _joined(parts: Sequence[Making]) -> Making:
    """One after the other; cuts on the same wedge pay for it once."""
    setups = tuple(s for p in parts for s in p.setups)
    wedges = [(s.surface_down, s.surface_against, s.tilt) for s in setups if s.tilt is not None]
    saved = len(wedges) - len(set(wedges))
    return Making(
        setups,
        math.fsum(p.cost for p in parts) - WEDGE * saved,
        tuple(f for p in parts for f in p.faults),
    )


def kerf(waste: Waste, wall: str, floor: str, goes_on: bool, standings: Iterable[Standing]) -> list[Making]:
    """A wall sawn down to the floor; ``goes_on``: it was begun from another face and is carried on here."""
    saw = waste.job.shop.reach("table saw")
    found: list[Making] = []
    for standing in promising(standings, found) if saw is not None else ():
        assert saw is not None
        one = _kerf(waste, wall, floor, goes_on, standing, saw)
        found += [] if one is None else [one]
    return found


def _kerf(
    waste: Waste, wall: str, floor: str, goes_on: bool, standing: Standing, saw: Reach
) -> Making | None:
    plane, ground = waste.planes[wall], waste.planes[floor]
    posture = standing.posture
    rise = _square_to(posture.z, plane.normal)
    if rise is None or dot(ground.normal, rise) > -0.2:
        return None  # the waste would lie above the blade
    foot = waste.foot(wall, floor)
    if len(foot) < 2:
        return None
    heights = [dot(p, posture.z) for p in foot]
    left = max(heights) - min(heights)
    if left > _ROUGHEST:
        return None
    blade = blade_angles(posture, plane.normal)
    angles = _upright(waste, standing, (blade.miter, blade.bevel))
    # where the foot rises the blade stays as high as it may stand at the lowest place
    lowest = [p for p, h in zip(foot, heights, strict=True) if h < min(heights) + _FAR]
    depths = depth_points(waste, standing.lying.down, lowest)
    faults = [f for f in (bevel_fault(saw, angles[1]),) if f is not None]
    faults += _gauge_faults(waste, standing, angles, saw)
    tall = height_at(saw, angles[1])
    if tall is not None and max(d for _, d in depths) > tall + _FAR:
        faults.append(
            f"the blade reaches {tall:.0f} mm and the cut is {max(d for _, d in depths):.0f} mm deep"
        )
    if min(d for _, d in depths) < -_FAR:
        return None
    tool = Tool("blade", saw.kerf, saw.diameter)
    bare = _from_below(waste, standing, "kerf", "table saw", tool, angles, depths)
    base = replace(bare, makes=() if goes_on else (wall,), goes_on=(wall,) if goes_on else ())
    stop = replace(wall_stop(waste, standing, wall, base), wall=None)
    residue, note = _left_by_kerf(waste, wall, floor, saw, left)
    setup = replace(base, stop=stop, waste=side(standing, base, plane), residue=residue, residue_note=note)
    return Making((setup,), _cost(standing, angles, 1) + (0.4 if left > 1e-3 else 0.0), tuple(faults))


def _left_by_kerf(waste: Waste, wall: str, floor: str, saw: Reach, left: float) -> tuple[float, str]:
    """What a kerf of real width leaves in the corner, or what a hanging wall keeps from the head."""
    lean = waste.lean(wall, floor)
    tangent = lean / math.sqrt(max(1.0 - lean * lean, 1e-12))
    if left > 1e-3:
        return left, "left in the corner where the foot of the wall falls away: pare it to the line"
    if lean < -SQUARE:
        deep = max((waste.planes[floor].distance(p) for p in waste.corners(wall)), default=0.0)
        return -tangent * deep, "left on the floor under the leaning wall: pare it with a chisel"
    if lean > SQUARE and saw.kerf is not None:
        return -saw.kerf * tangent, "the leaning kerf dips below the floor by this much at its far side"
    return 0.0, ""


def _clearing(waste: Waste, floor: str, made: Collection[str], standing: Standing) -> Making | None:
    """The floor alone, cleared between walls that are sawn already, the head running along the longest of them."""
    if floor in made:
        return None
    plane = waste.planes[floor]
    walls = waste.others(floor)
    trace = unit(cross(plane.normal, waste.planes[walls[0]].normal))
    if not is_level(standing.posture, trace):
        return None
    blade = blade_angles(standing.posture, cross(trace, plane.normal))
    angles = _upright(waste, standing, (blade.miter, blade.bevel))
    wide = max(waste.across(w, floor) for w in walls)
    tooled = _tool(waste, standing, floor, wide, angles[1])
    if tooled is None or (abs(angles[1]) > LEVEL and tooled.passes > 1):
        return None
    base = _base(waste, standing, floor, angles, tooled)
    setup = replace(base, makes=(floor,), goes_on=tuple(walls), waste="between")
    faults = (*tooled.faults, *_gauge_faults(waste, standing, angles, tooled.reach))
    return Making((setup,), _cost(standing, angles, tooled.passes), faults)


def _two_kerfs(waste: Waste, made: Collection[str]) -> list[Making]:
    """Two planes, each sawn down to the other: the waste falls off in one piece."""
    a, b = waste.planes
    standings = list(flat(waste.job))
    first = best(kerf(waste, a, b, a in made, standings))
    second = best(kerf(waste, b, a, b in made, standings))
    return [] if first is None or second is None else [_joined([first, second])]


# --- the tool, its depth, what it costs ---------------------------------------------------------------------


@dataclass(frozen=True)
class Tooled:
    """What clears the floor: the trenching head, or the saw blade side by side where that does not reach."""

    machine: Machine
    reach: Reach
    tool: Tool
    passes: int
    faults: tuple[str, ...]
    residue: tuple[float, str] = (0.0, "")


def _tool(waste: Waste, standing: Standing, floor: str, wide: float, bevel: float) -> Tooled | None:
    points = depth_points(waste, standing.lying.down, waste.corners(floor))
    if not points or min(d for _, d in points) < -_FAR or max(d for _, d in points) < _SHALLOWEST:
        return None
    deep = max(d for _, d in points)
    head, saw = waste.job.shop.reach("trenching head"), waste.job.shop.reach("table saw")
    found = []
    if head is not None and head.widths and wide > head.widths[0] - _FAR:
        broad = min(wide, head.widths[-1])
        passes = max(1, math.ceil(wide / broad - 1e-6))
        faults = _deep_faults(head, bevel, deep)
        found.append(Tooled("trenching head", head, Tool("head", broad, head.diameter), passes, faults))
    if saw is not None and saw.kerf is not None and wide > saw.kerf - 1e-3:
        passes = max(1, math.ceil(wide / saw.kerf - 1e-6))
        residue = (0.1, "ridges of the saw's teeth on the floor: pare or scrape them")
        faults = _deep_faults(saw, bevel, deep)
        found.append(Tooled("table saw", saw, Tool("blade", saw.kerf, saw.diameter), passes, faults, residue))
    return min(found, key=lambda t: (len(t.faults), t.passes), default=None)


def _deep_faults(reach: Reach, bevel: float, deep: float) -> tuple[str, ...]:
    leans = bevel_fault(reach, bevel)
    faults: tuple[str, ...] = () if leans is None else (leans,)
    most = height_at(reach, bevel)
    if most is not None and deep > most + _FAR:
        faults += (f"the {reach.machine} reaches {most:.0f} mm and the cut is {deep:.0f} mm deep",)
    return faults


def _base(waste: Waste, standing: Standing, floor: str, angles: tuple[float, float], tooled: Tooled) -> Setup:
    points = depth_points(waste, standing.lying.down, waste.corners(floor))
    residue, note = tooled.residue
    bare = _from_below(waste, standing, "trench", tooled.machine, tooled.tool, angles, points)
    return replace(bare, passes=tooled.passes, residue=residue, residue_note=note)


def _from_below(
    waste: Waste,
    standing: Standing,
    operation: Operation,
    machine: Machine,
    tool: Tool,
    angles: tuple[float, float],
    depths: tuple[tuple[Point, float], ...],
) -> Setup:
    """A cut to a depth over the table; what it makes is not said yet."""
    return Setup(
        member=waste.job.work.member.mark,
        feature=waste.job.feature.id,
        stage=waste.job.feature.stage,
        operation=operation,
        machine=machine,
        makes=(),
        frees=(waste.ids,),
        tool=tool,
        cut_from="below",
        surface_down=standing.lying.down,
        surface_against=standing.lying.against,
        end_left=standing.lying.end_left,
        miter=angles[0],
        bevel=angles[1],
        tilt=standing.tilt,
        jig=standing.jig,
        depth=(min(d for _, d in depths), max(d for _, d in depths)),
        depth_from=standing.lying.down,
        depth_at=depths,
    )


def depth_points(waste: Waste, surface: str, corners: Sequence[Point]) -> tuple[tuple[Point, float], ...]:
    """Points on a surface of the work, and how deep the corners lie square below them."""
    plane = waste.job.work.planes()[surface]
    depths = [(p, 0.0 - plane.distance(p)) for p in corners]
    depths = [(p, 0.0 if abs(d) < 1e-9 else d) for p, d in depths]
    return tuple((along(p, plane.normal, d), d) for p, d in depths)


def _upright(waste: Waste, standing: Standing, angles: tuple[float, float]) -> tuple[float, float]:
    """The same blade with the fence on its other side, where only then it leans the way the saw can."""
    miter, bevel = angles
    saw = waste.job.shop.reach("table saw")
    if abs(abs(miter) - _QUARTER) > LEVEL or saw is None or bevel_fault(saw, bevel) is None:
        return angles
    return (miter - math.pi, -bevel) if bevel_fault(saw, -bevel) is None else angles


def _gauge_faults(
    waste: Waste, standing: Standing, angles: tuple[float, float], reach: Reach
) -> tuple[str, ...]:
    """Whether the gauge turns so far; along the fence it need not, but the work must run along it."""
    wanted = abs(math.degrees(angles[0]))
    if abs(wanted - 90.0) < 1e-6:
        if standing.lying.contact < 40.0:
            return (f"the work touches the fence for {standing.lying.contact:.0f} mm only and would turn",)
        return ()
    if reach.miter is not None and wanted > reach.miter + 1e-6:
        return (f"the gauge turns {reach.miter:g} degrees and this cut needs {wanted:.1f}",)
    if standing.lying.contact < 0.25 * standing.lying.size[1]:
        return (f"the work touches the gauge for {standing.lying.contact:.0f} mm only and would turn",)
    return ()


def _cost(standing: Standing, angles: tuple[float, float], passes: int) -> float:
    cost = 1.0 + standing.cost + 0.08 * (passes - 1)
    cost += 0.3 if abs(angles[1]) > LEVEL else 0.0
    along_fence = abs(abs(angles[0]) - _QUARTER) < LEVEL
    cost += 0.2 if abs(angles[0]) > LEVEL and not along_fence else 0.0
    return cost + (0.6 if along_fence and angles[0] < 0.0 and abs(angles[1]) > LEVEL else 0.0)


def _square_to(direction: Vec, normal: Vec) -> Vec | None:
    """What of a direction lies in the plane of ``normal``, unit; None where it stands square on it."""
    rest = along(direction, normal, -dot(direction, normal))
    size = dot(rest, rest)
    return None if size < 1e-6 else unit(rest)
