"""The same cut laid out by hand: lines on the faces, marks on a rule for each angle, sight lines, depths at the sides.

Numbers and the surfaces they belong to; the words are written where sheets are drawn. Lengths are millimetres, angles
radians, points and directions in the member's frame.

The line that a slanting cut draws on a face, told from the arris, is what a bevel gauge is set to. On the face that
lies down it stands as far from square as the mitre saw's miter; on the edge it does *not* stand so far as the blade's
bevel (Building Trades Pocketbook, about 1900, hopper bevels: both lines are drawn on the squared board).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Point, Vec, along, cross, dot, length, neg, scale, sub
from plangen.joinery.boring_angles import boring_angles
from plangen.machining.bores import is_outside
from plangen.machining.layout_records import GaugeLine, HandLayout, Roll, SideDepth, SightLine
from plangen.machining.posture import lying
from plangen.machining.ruler import rise_and_run
from plangen.machining.setup import Setup
from plangen.machining.work import Work, distance_along, meeting_line
from plangen.units import LengthUnit

_SAME = 1e-6
_PARALLEL = 1e-9
_ALONG = 0.5
_REFERENCES = ("face", "edge", "back", "back edge", "A", "B")


def layout_by_hand(setup: Setup, work: Work, units: LengthUnit) -> HandLayout:
    """The lines, angles and depths of a set-up, on the work as it stands before it."""
    if setup.operation in ("bore", "ream"):
        return _of_a_hole(setup, work, units)
    if setup.operation in ("turn", "mould", "bend") or setup.depth == (0.0, 0.0):
        return HandLayout()
    planes = {s.id: s.form for f in work.member.features for s in f.surfaces if isinstance(s.form, Plane)}
    floor = _floor_of(setup)
    walls = {i: planes[i] for i in setup.makes if i in planes and i != floor}
    lines = tuple(line for i, p in walls.items() for line in gauge_lines(work, i, p, units))
    depths = tuple(_side_depths(setup, work, planes[floor], walls)) if floor in planes else ()
    return HandLayout(lines, depths=depths)


def _floor_of(setup: Setup) -> str:
    """Id of the floor that a set-up cuts or carries on; empty where it has none."""
    if setup.depth is None:
        return ""
    if len(setup.makes) == 3 or (len(setup.makes) == 2 and setup.waste != "between"):
        return setup.makes[1]
    if len(setup.makes) == 1 and setup.stop is None:
        return setup.makes[0]
    return setup.goes_on[0] if setup.goes_on else ""


# --- lines on faces ------------------------------------------------------------------------------------------


def gauge_lines(work: Work, cut: str, plane: Plane, units: LengthUnit) -> Iterator[GaugeLine]:
    """The line that a plane draws on each outer face of the work that it crosses, reference surfaces first."""
    planes = work.planes()
    crossed = [i for i in planes if is_outside(work, i) and _crosses(work, planes[i], plane)]
    crossed.sort(key=lambda i: (_REFERENCES.index(i) if i in _REFERENCES else len(_REFERENCES), i))
    for face in crossed:
        line = next(
            (
                found
                for other in crossed
                if (found := _line(planes, cut, plane, face, other, units)) is not None
            ),
            None,
        )
        if line is not None:
            yield line


def _crosses(work: Work, face: Plane, plane: Plane) -> bool:
    """Wood of the face lies on both sides of the plane."""
    off = [plane.distance(p) for p in work.corners(face)]
    return bool(off) and min(off) < -_SAME and max(off) > _SAME


def _line(
    planes: dict[str, Plane], cut: str, plane: Plane, face: str, other: str, units: LengthUnit
) -> GaugeLine | None:
    arris = meeting_line(planes[face], planes[other])
    trace = meeting_line(planes[face], plane)
    if arris is None or trace is None or abs(dot(planes[face].normal, planes[other].normal)) > _ALONG:
        return None
    on, way = arris
    reach = distance_along(on, way, plane)
    if reach is None:
        return None
    start = along(on, way, reach)
    line = trace[1] if dot(trace[1], planes[other].normal) < 0.0 else neg(trace[1])
    lean = dot(line, way)
    angle = math.atan2(length(cross(line, way)), abs(lean))
    leans = (0.0, 0.0, 0.0) if abs(lean) < _PARALLEL else scale(way, math.copysign(1.0, lean))
    marks = rise_and_run(min(angle, math.pi / 2 - angle), units)
    return GaugeLine(cut, face, (face, other), start, line, angle, leans, marks)


# --- holes ---------------------------------------------------------------------------------------------------


def _of_a_hole(setup: Setup, work: Work, units: LengthUnit) -> HandLayout:
    entry, surface = setup.path[0], setup.depth_from
    axis = _axis_of(setup, work)
    if surface is None or axis is None:
        return HandLayout()
    if setup.touches is not None:
        return HandLayout(roll=_rolled(setup, units))
    return HandLayout(sight=_sighted(setup, work, surface, entry, axis, units))


def _axis_of(setup: Setup, work: Work) -> Vec | None:
    """Into the wood: square to the table, the tilt applied."""
    planes = work.planes()
    if setup.surface_down is None or setup.surface_against is None:
        return None
    return neg(lying(planes[setup.surface_down], planes[setup.surface_against], setup.tilt).z)


def _sighted(
    setup: Setup, work: Work, surface: str, entry: Point, axis: Vec, units: LengthUnit
) -> SightLine | None:
    face = work.planes()[surface]
    arris = None if setup.stop is None else setup.stop.arris
    line = None if arris is None else meeting_line(*(work.planes()[i] for i in arris))
    told = boring_angles(axis, face.normal, (1.0, 0.0, 0.0) if line is None else line[1])
    if told.toward is None:
        return None
    aim = _aim(work, surface, entry, told.toward)
    return SightLine(
        surface, entry, None if line is None else arris, told.sight_line, told.toward,
        rise_and_run(told.sight_line, units), told.resultant,
        rise_and_run(min(told.resultant, math.pi / 2), units),
        None if aim is None else aim[1], None if aim is None else aim[0],
        setup.path[1] if len(setup.path) > 1 else None,
    )  # fmt: skip


def _aim(work: Work, surface: str, entry: Point, toward: Vec) -> tuple[str, Point] | None:
    """The first outer plane that the sight line reaches, and where."""
    found = []
    for name, plane in work.planes().items():
        rise = dot(plane.normal, toward)
        if name != surface and rise > _PARALLEL and is_outside(work, name):
            reach = -plane.distance(entry) / rise
            if reach > -_SAME:
                found.append((round(reach, 6), name, along(entry, toward, reach)))
    return None if not found else min(found)[1:]


def _rolled(setup: Setup, units: LengthUnit) -> Roll | None:
    if setup.rolled is None or setup.touches is None or setup.depth_from is None:
        return None
    roll, lean = setup.rolled
    # the piece is rolled back by what its mark stands round from the face
    return Roll(setup.depth_from, -roll, lean, rise_and_run(abs(lean), units), setup.touches[0])


# --- depths --------------------------------------------------------------------------------------------------


def _side_depths(setup: Setup, work: Work, floor: Plane, walls: dict[str, Plane]) -> Iterator[SideDepth]:
    """At each outer side that the floor runs out through: beside each wall, or where a lone floor's line is deepest."""
    planes = work.planes()
    if setup.depth_from is None:
        return
    top = planes[setup.depth_from]
    for name, side in planes.items():
        if name == setup.depth_from or not is_outside(work, name) or not _crosses(work, side, floor):
            continue
        line = meeting_line(floor, side)
        if line is None:
            continue
        for wall, at in _ends(line, walls, work, side, floor):
            if any(_is_beyond(at, wall_plane) for wall_plane in walls.values()):
                continue
            deep = -top.distance(at)
            if deep > _SAME:
                yield SideDepth(name, wall, along(at, top.normal, deep), deep)


def _ends(
    line: tuple[Point, Vec], walls: dict[str, Plane], work: Work, side: Plane, floor: Plane
) -> list[tuple[str | None, Point]]:
    on, way = line
    found: list[tuple[str | None, Point]] = []
    for name, wall in walls.items():
        reach = distance_along(on, way, wall)
        if reach is not None and abs(dot(wall.normal, way)) > _PARALLEL:
            found.append((name, along(on, way, reach)))
    if found or walls:
        return found
    return [(None, along(on, way, r)) for r in _reach(on, way, work.corners(side))]


def _reach(on: Point, way: Vec, corners: Sequence[Point]) -> tuple[float, float]:
    along_it = [dot(sub(p, on), way) for p in corners]
    return min(along_it), max(along_it)


def _is_beyond(p: Point, wall: Plane) -> bool:
    """On the wood's side of a wall, where the trench does not reach."""
    return wall.distance(p) < -_SAME
