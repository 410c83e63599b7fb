"""Settings: what the operator sets once. Set-ups that differ less than can be cut are made in one setting.

A set-up keeps its own exact angles; a setting has the angles that are set, and tells how far the work is off for it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

from plangen.geometry.boundary import Straight
from plangen.geometry.solid import GeometryError, Solid
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Point, Vec, along, dot, length, sub, unit
from plangen.machining.hands import mirrored
from plangen.machining.posture import Posture, blade_normal, floor_normal, lying
from plangen.machining.setup import Machine, Setting, Setup, Tilt, Tool
from plangen.machining.work import Work

SNAP_ERROR = 0.1
"""Millimetres that near settings may move a point of the work when they are made one: a quarter of 1/64 in, a tenth
of what glue and a plane take up, and less than a careful maker can set or see (common practice)."""
SNAP_ANGLE = math.radians(0.25)
"""Most that a setting's angle may differ from a set-up's, however short the cut: a quarter of a degree can be read on
a machine's scale, and is what readers of plan.json allow."""
ROUND_FIGURES = (math.radians(5.0), math.radians(1.0), math.radians(0.5))
"""Angles with a mark or a stop on most scales, best first."""

_EXACT = 1e-9
_MIN_LEAN = 0.05
"""Sine of the least angle between a cut and an arris that leaves it: along a flatter one a corner has no place."""

Pose: TypeAlias = tuple[float, float, Tilt | None]
"""Miter, bevel, tilt."""


@dataclass(frozen=True)
class Cut:
    """A set-up with the work on which it is made, for what its points do when the setting is a little off."""

    setup: Setup
    work: Work
    """Before the feature is cut."""
    after: Work
    drawn: bool = True
    """False: a set-up of the other hand; the work is the drawn piece's, seen in a mirror."""


def settings_of(cuts: Sequence[Cut]) -> tuple[tuple[Setting, tuple[int, ...]], ...]:
    """Settings, each with the places in ``cuts`` of the set-ups it serves; ``Setting.setups`` is still empty.

    In the order in which they are first needed. Cuts by hand need none.
    """
    groups: dict[tuple[Machine, Tool | None, str | None], list[int]] = {}
    for i, cut in enumerate(cuts):
        s = cut.setup
        if s.machine != "hand":
            groups.setdefault((s.machine, named(s.tool), s.jig), []).append(i)
    found: list[tuple[Setting, tuple[int, ...]]] = []
    for (machine, _, jig), members in groups.items():
        for pose, served, error in _merged(cuts, members):
            tool = cuts[served[0]].setup.tool
            setting = Setting(0, machine, tool, pose[0], pose[1], pose[2], jig, (), error)
            found.append((setting, tuple(served)))
    found.sort(key=lambda s: min(s[1]))
    return tuple((replace(s, index=n), served) for n, (s, served) in enumerate(found, 1))


def named(tool: Tool | None) -> Tool | None:
    """The tool by its sizes to 1e-6 mm: heads set to the width of several trenches are one where these are."""
    if tool is None:
        return None
    sizes = (tool.width, tool.diameter, tool.included, tool.radius)
    return Tool(tool.shape, *(None if size is None else round(size, 6) for size in sizes))


def pose_of(setup: Setup) -> Pose:
    return (setup.miter, setup.bevel, setup.tilt)


def _merged(cuts: Sequence[Cut], members: Sequence[int]) -> list[tuple[Pose, list[int], float]]:
    """Poses, each with the set-ups it serves and the most it moves any of their points: as few as the error allows.

    Greedy: the pose that serves most, a rounder figure before a less round one, then the one that is less off.
    """
    left: list[tuple[Pose, list[int]]] = []
    for i in members:
        same = next((ids for p, ids in left if _differ(p, pose_of(cuts[i].setup)) < _EXACT), None)
        if same is None:
            left.append((pose_of(cuts[i].setup), [i]))
        else:
            same.append(i)
    found = []
    while left:
        options = [_served(cuts, pose, left) for pose in _candidates([p for p, _ in left])]
        pose, classes, error = min(options, key=_preference)
        served = sorted(i for c in classes for i in left[c][1])
        found.append((pose, served, error))
        left = [entry for c, entry in enumerate(left) if c not in classes]
    return found


def _candidates(poses: Sequence[Pose]) -> list[Pose]:
    """The poses themselves, and round figures near those that stand near another."""
    found = list(poses)
    for miter, bevel, tilt in poses:
        if any(0.0 < _differ((miter, bevel, tilt), other) <= 2.0 * SNAP_ANGLE for other in poses):
            found += [(_to(miter, step), _to(bevel, step), tilt) for step in ROUND_FIGURES]
    return found


def _served(
    cuts: Sequence[Cut], pose: Pose, left: Sequence[tuple[Pose, list[int]]]
) -> tuple[Pose, list[int], float]:
    classes, most = [], 0.0
    for c, (own, ids) in enumerate(left):
        if _differ(pose, own) < _EXACT:
            classes.append(c)
        elif _differ(pose, own) <= SNAP_ANGLE:
            error = max(moved(cuts[i], pose) for i in ids)
            if error <= SNAP_ERROR:
                classes.append(c)
                most = max(most, error)
    return pose, classes, most


def _preference(option: tuple[Pose, list[int], float]) -> tuple[object, ...]:
    (miter, bevel, tilt), classes, error = option
    lone = len(classes) == 1
    roundness = sum(_roundness(a) for a in (miter, bevel))
    turned = (0.0, 0.0) if tilt is None else (round(tilt.angle, 6), round(tilt.azimuth, 6))
    # a setting for one angle alone keeps that angle: there is nothing to win by moving it
    rank = (round(error, 6), roundness) if lone else (roundness, round(error, 6))
    return (-len(classes), *rank, round(miter, 6), round(bevel, 6), turned)


def _roundness(angle: float) -> int:
    return next((n for n, step in enumerate(ROUND_FIGURES) if abs(angle - _to(angle, step)) < _EXACT), 9)


def _to(angle: float, step: float) -> float:
    return round(angle / step) * step + 0.0


def _differ(a: Pose, b: Pose) -> float:
    """Greatest difference of two poses' angles; of two tilts, of the directions in which they hold the work."""
    tilt = length(sub(_tilt_vector(a[2]), _tilt_vector(b[2])))
    return max(abs(a[0] - b[0]), abs(a[1] - b[1]), tilt)


def _tilt_vector(tilt: Tilt | None) -> Vec:
    if tilt is None:
        return (0.0, 0.0, 0.0)
    return (tilt.angle * math.cos(tilt.azimuth), tilt.angle * math.sin(tilt.azimuth), 0.0)


# --- how far the work is off --------------------------------------------------------------------------------


def moved(cut: Cut, pose: Pose) -> float:
    """Most that a corner of the cut moves when the machine is set to ``pose`` and the stop left where it is, mm.

    A corner slides along the arris that leaves the cut there. Infinite where it cannot be told: such set-ups are made
    with their own setting.
    """
    s = cut.setup
    if not cut.drawn:
        s, pose = mirrored(s), pose_of(mirrored(replace(s, miter=pose[0], bevel=pose[1], tilt=pose[2])))
    planes = cut.work.planes()
    if s.surface_down not in planes or s.surface_against not in planes:
        return math.inf
    down, against = planes[s.surface_down], planes[s.surface_against]
    old, new = lying(down, against, s.tilt), lying(down, against, pose[2])
    try:
        if s.operation == "bore":
            return _bore_moved(s, cut.work, old, new)
        return _planes_moved(cut, made_planes(s, old, pose_of(s), planes), made_planes(s, new, pose, planes))
    except GeometryError:
        return math.inf


def made_planes(setup: Setup, posture: Posture, pose: Pose, planes: Mapping[str, Plane]) -> dict[str, Plane]:
    """The planes that a blade or head makes through the stop and to its depth, by surface id, either way round.

    ``planes`` are those of the work, of which one is ``depth_from``. Empty where the set-up is not a cut of planes.
    Of a second wall the direction alone is sure: on which side of the first it stands is not asked here.
    """
    walls, floors = _roles(setup)
    blade, floor = blade_normal(posture, *pose[:2]), floor_normal(posture, *pose[:2])
    found = {}
    if walls and setup.stop is not None:
        near = dot(blade, setup.stop.at)
        found[walls[0]] = Plane(blade, near)
        if len(walls) > 1 and setup.width is not None:
            found[walls[1]] = Plane(blade, near + setup.width)
    from_plane = planes.get(setup.depth_from or "")
    if floors and setup.depth_at and from_plane is not None:
        point, depth = setup.depth_at[0]
        found[floors[0]] = Plane(floor, dot(floor, along(point, from_plane.normal, -depth)))
    return found


def _roles(setup: Setup) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The walls, the one at the stop first, and the floor among what a cut of planes makes."""
    ids = setup.makes
    match setup.operation:
        case "crosscut" | "rip" | "taper" | "plane":
            return ids[:1], ()
        case "kerf" | "trench" | "rout" if len(ids) == 3:
            return (ids[0], ids[2]), (ids[1],)
        case "kerf" | "trench" | "rout" if len(ids) == 2:
            return ids[:1], ids[1:]
        case "trench" | "rout" if setup.stop is None:
            return (), ids[:1]
        case "kerf" | "trench" | "rout":
            return ids[:1], ()
    return (), ()


def _planes_moved(cut: Cut, old: Mapping[str, Plane], new: Mapping[str, Plane]) -> float:
    if not old or set(old) != set(cut.setup.makes):
        return math.inf
    solid, most = cut.after.solid, 0.0
    forms = {s.id: s.form for f in cut.after.member.features for s in f.surfaces}
    for name, before in old.items():
        form = forms.get(name)
        if not isinstance(form, Plane):
            return math.inf
        turned = dot(form.normal, before.normal) < 0.0
        after = new[name].flipped() if turned else new[name]
        # the second wall is a width from the first; what is measured is the turn, about where the two meet
        at_rest = before.flipped() if turned else before
        for corner in cut.after.corners(form):
            off = after.distance(corner) - at_rest.distance(corner)
            most = max(most, abs(off) / _steepest(solid, corner, form, after.normal))
    return most


def _steepest(solid: Solid, corner: Point, plane: Plane, normal: Vec) -> float:
    """Sine between the cut and the arris that leaves it at a corner; 1 where none does."""
    sines = []
    for edge in solid.edges:
        if not isinstance(edge.curve, Straight):
            continue
        a, b = edge.curve.start, edge.curve.end
        for end, other in ((a, b), (b, a)):
            if length(sub(end, corner)) < 1e-6 and abs(plane.distance(other)) > 1e-6:
                sines.append(abs(dot(unit(sub(other, end)), normal)))
    steep = [s for s in sines if s > _MIN_LEAN]
    return min(steep, default=1.0)


def _bore_moved(s: Setup, work: Work, old: Posture, new: Posture) -> float:
    """How far the axis is off at the hole's far end, about where it enters."""
    if not s.path:
        return math.inf
    reach = s.depth[1] if s.depth else _through(work.solid, s.path[0], old.z)
    return reach * length(sub(old.z, new.z))


def _through(solid: Solid, entry: Point, up: Vec) -> float:
    """Depth of the wood below a point along the axis."""
    return max((dot(sub(entry, _point(row)), up) for row in solid.vertices), default=0.0)


def _point(row: Sequence[float]) -> Point:
    return (float(row[0]), float(row[1]), float(row[2]))
