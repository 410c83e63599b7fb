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
from dataclasses import dataclass
from fractions import Fraction

from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Point, Vec, along, cross, dot, length, neg, scale, sub
from plangen.joinery.boring_angles import boring_angles
from plangen.machining.bores import is_outside
from plangen.machining.posture import lying
from plangen.machining.setup import Setup
from plangen.machining.work import Work, distance_along, meeting_line
from plangen.units import MM_PER_INCH, LengthUnit, UnitStyle

MARKS: dict[LengthUnit, Fraction] = {"in": MM_PER_INCH / 16, "mm": Fraction(1)}
"""What a framing square, or a rule, is divided into."""
LONGEST: dict[LengthUnit, Fraction] = {"in": 24 * MM_PER_INCH, "mm": Fraction(600)}
"""The blade of a framing square; a rule of the same use."""
SHORTEST: dict[LengthUnit, Fraction] = {"in": 6 * MM_PER_INCH, "mm": Fraction(150)}
"""A shorter pair of marks sets a gauge no truer than the eye does (common practice)."""
_TIE = 1e-12
_SAME = 1e-6
_PARALLEL = 1e-9
_ALONG = 0.5
_REFERENCES = ("face", "edge", "back", "back edge", "A", "B")


# --- marks on a rule ----------------------------------------------------------------------------------------


@dataclass(frozen=True)
class RiseAndRun:
    """An angle as two marks: so much up in so much along. tan angle = rise / run."""

    rise: Fraction
    run: Fraction
    """Millimetres, both whole numbers of marks."""
    error: float
    """Radians, of the marks' angle over the one asked for."""

    @property
    def angle(self) -> float:
        return math.atan2(self.rise, self.run)


def rise_and_run(
    angle: float, units: LengthUnit, most_run: Fraction | None = None, step: Fraction | None = None
) -> RiseAndRun:
    """The pair of marks whose angle errs least, found by trying every longer mark from ``SHORTEST`` on.

    ``angle`` from 0 to a quarter turn; ``most_run`` the longest mark, ``step`` what the rule is divided into, mm. Of
    pairs that err alike the shorter is taken. Raises ValueError for another angle, or where no mark is that short.
    """
    if not 0.0 <= angle <= math.pi / 2:
        raise ValueError("rise and run are of an angle from 0 to 90 degrees")
    step = MARKS[units] if step is None else step
    longest = LONGEST[units] if most_run is None else most_run
    steep = angle > math.pi / 4
    slope = math.tan(math.pi / 2 - angle if steep else angle)
    first = math.ceil(min(SHORTEST[units], longest) / step)
    best: tuple[float, int, int] | None = None
    for count in range(first, int(longest / step) + 1):
        short = round(count * slope)
        rise, run = (count, short) if steep else (short, count)
        error = math.atan2(rise, run) - angle
        if best is None or abs(error) < abs(best[0]) - _TIE:
            best = error, rise, run
    if best is None:
        raise ValueError("no mark of the rule is that short")
    return RiseAndRun(best[1] * step, best[2] * step, best[0])


# --- what is laid out ---------------------------------------------------------------------------------------


@dataclass(frozen=True)
class GaugeLine:
    """The line that a cut draws on one face, from an arris of it."""

    cut: str
    """Id of the surface that is cut."""
    surface: str
    arris: tuple[str, str]
    """The face, and the one it meets there."""
    at: Point
    """Where the line starts, on the arris."""
    way: Vec
    """Unit, the line's direction over the face."""
    angle: float
    """Between the line and the arris, 0 to a quarter turn: the bevel gauge's setting."""
    leans: Vec
    """Unit, along the arris: the way to which the line leans from square; 0, 0, 0 where it is square."""
    marks: RiseAndRun
    """Of the angle from square, or from the arris where that is the smaller."""

    @property
    def from_square(self) -> float:
        return math.pi / 2 - self.angle

    @property
    def marks_from_arris(self) -> bool:
        return self.angle < self.from_square - _PARALLEL


@dataclass(frozen=True)
class SightLine:
    """How a slanting hole is sighted: a line over the face it enters, and the lean along it."""

    surface: str
    entry: Point
    arris: tuple[str, str] | None
    """The sight line is told from this arris' direction; None where the mark was told from none."""
    sight_line: float
    """Radians between the two, 0 to a quarter turn."""
    toward: Vec
    """Unit, over the face: the way the hole leans as it goes in."""
    sight_marks: RiseAndRun
    resultant: float
    """Radians that the hole leans from square to the face, along the sight line."""
    resultant_marks: RiseAndRun
    aim: Point | None
    """Where the sight line, drawn on, leaves the face; None where no plane of the work bounds it."""
    aim_surface: str | None
    exit: Point | None
    """The middle of the hole's mouth on the other side."""


@dataclass(frozen=True)
class Roll:
    """A hole in a round piece: where it stands round the piece from a face of its blank, and its lean along it."""

    from_surface: str
    roll: float
    """Radians round from the square to that face, counter-clockwise seen from end B, from -pi to pi."""
    lean: float
    """Radians from square to the piece's length; positive toward end B as the hole goes in."""
    lean_marks: RiseAndRun
    entry: Point


@dataclass(frozen=True)
class SideDepth:
    """How deep a trench is where it comes out at one side."""

    surface: str
    wall: str | None
    """The wall beside which it is measured; None where the trench has none."""
    at: Point
    """On the surface that depths are measured from."""
    depth: float


@dataclass(frozen=True)
class HandLayout:
    """Everything drawn on the work for one set-up."""

    lines: tuple[GaugeLine, ...] = ()
    sight: SightLine | None = None
    roll: Roll | None = None
    depths: tuple[SideDepth, ...] = ()


def layout_by_hand(setup: Setup, work: Work, style: UnitStyle) -> HandLayout:
    """The lines, angles and depths of a set-up, on the work as it stands before it."""
    if setup.operation in ("bore", "ream"):
        return _of_a_hole(setup, work, style)
    if setup.operation in ("turn", "mould", "bend") or setup.depth == (0.0, 0.0):
        return HandLayout()
    planes = {s.id: s.form for f in work.member.features for s in f.surfaces if isinstance(s.form, Plane)}
    floor = _floor_of(setup)
    walls = {i: planes[i] for i in setup.makes if i in planes and i != floor}
    lines = tuple(line for i, p in walls.items() for line in gauge_lines(work, i, p, style))
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


def gauge_lines(work: Work, cut: str, plane: Plane, style: UnitStyle) -> Iterator[GaugeLine]:
    """The line that a plane draws on each outer face of the work that it crosses, reference surfaces first."""
    planes = work.planes()
    crossed = [i for i in planes if is_outside(work, i) and _crosses(work, planes[i], plane)]
    crossed.sort(key=lambda i: (_REFERENCES.index(i) if i in _REFERENCES else len(_REFERENCES), i))
    for face in crossed:
        line = next(
            (
                found
                for other in crossed
                if (found := _line(planes, cut, plane, face, other, style)) is not None
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
    planes: dict[str, Plane], cut: str, plane: Plane, face: str, other: str, style: UnitStyle
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
    marks = rise_and_run(min(angle, math.pi / 2 - angle), style.length)
    return GaugeLine(cut, face, (face, other), start, line, angle, leans, marks)


# --- holes ---------------------------------------------------------------------------------------------------


def _of_a_hole(setup: Setup, work: Work, style: UnitStyle) -> HandLayout:
    entry, surface = setup.path[0], setup.depth_from
    axis = _axis_of(setup, work)
    if surface is None or axis is None:
        return HandLayout()
    if setup.touches is not None:
        return HandLayout(roll=_rolled(setup, style))
    return HandLayout(sight=_sighted(setup, work, surface, entry, axis, style))


def _axis_of(setup: Setup, work: Work) -> Vec | None:
    """Into the wood: square to the table, the tilt applied."""
    planes = work.planes()
    if setup.surface_down is None or setup.surface_against is None:
        return None
    return neg(lying(planes[setup.surface_down], planes[setup.surface_against], setup.tilt).z)


def _sighted(
    setup: Setup, work: Work, surface: str, entry: Point, axis: Vec, style: UnitStyle
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
        rise_and_run(told.sight_line, style.length), told.resultant,
        rise_and_run(min(told.resultant, math.pi / 2), style.length),
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


def _rolled(setup: Setup, style: UnitStyle) -> Roll | None:
    if setup.rolled is None or setup.touches is None or setup.depth_from is None:
        return None
    roll, lean = setup.rolled
    # the piece is rolled back by what its mark stands round from the face
    return Roll(setup.depth_from, -roll, lean, rise_and_run(abs(lean), style.length), setup.touches[0])


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
