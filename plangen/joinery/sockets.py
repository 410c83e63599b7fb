"""Round tenons in bored sockets: where the first's axis enters and leaves the second, and what both kinds share.

Distances along the axis are millimetres from the far end of the first; they grow into the second.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from plangen.design import design as d
from plangen.findings import DesignError, fail
from plangen.geometry.outline_spans import patch_crossed
from plangen.geometry.spans import Span, spans_left
from plangen.geometry.surfaces import Extruded, Form, Plane
from plangen.geometry.vectors import Point, Vec, add, along, cross, dot, length, neg, scale, sub, unit
from plangen.joinery.made import Made
from plangen.joinery.meeting import Meeting, Placed
from plangen.joinery.sizing import Sizing
from plangen.joinery.wedging import Spread, kerfs, to_split
from plangen.placing.directions import local_normal, side_facing

LEAST_WOOD = 2.0
"""Millimetres: less wood than this beside or under a socket breaks out."""
REACH = 0.01
"""Millimetres: ends this near to each other are one."""
ROUND_THE_RIM = 24
_LEAST_ACROSS = math.sin(math.radians(15))
_TOUCHES = 1e-6
"""A plane that the axis leans into less than this runs along it."""
_PASSED = 0.3


@dataclass(frozen=True)
class Passage:
    """The first's axis on its way through the second, world coordinates."""

    meeting: Meeting
    start: Point
    way: Vec
    entered: float
    left: float
    """Where the axis comes into the second's wood and where it would come out of it."""
    end: float
    """Where the first ends on its axis."""

    @property
    def runs_through(self) -> bool:
        return self.end > self.left - REACH

    @property
    def middle(self) -> float:
        return (self.entered + self.left) / 2

    def at(self, distance: float) -> Point:
        return along(self.start, self.way, distance)

    def square(self, distance: float) -> Plane:
        """The plane square to the axis there, outward toward the first's end."""
        return Plane(self.way, dot(self.way, self.at(distance)))

    def face(self, distance: float) -> Plane | None:
        """The second's plane face there, outward; None where the surface is curved."""
        second = self.meeting.second
        p = second.frame.local_point(self.at(distance))
        start, way = second.frame.local_point(self.start), second.frame.local_direction(self.way)
        crossed = [
            patch_crossed(f, start, way, distance) if isinstance(f, Extruded) else f
            for _, f in second.body.surfaces()
        ]
        near = [
            f for f in crossed if isinstance(f, Extruded) or (f is not None and abs(f.distance(p)) < 1e-6)
        ]
        flat = [f for f in near if isinstance(f, Plane) and self._may_cross(f)]
        if not flat or not all(isinstance(f, Plane) for f in near):
            return None
        best = max(flat, key=lambda f: round(abs(dot(second.frame.direction(f.normal), self.way)), 9))
        return best.placed(second.frame)

    def _may_cross(self, face: Plane) -> bool:
        """Of round work only the ends are flat: the sides of its box touch it where it is thickest."""
        second = self.meeting.second
        if second.body.is_round and abs(face.normal[0]) < 0.5:
            return False
        return abs(dot(second.frame.direction(face.normal), self.way)) > _TOUCHES

    def ring(self) -> tuple[Vec, Vec]:
        """Two unit directions square to the axis and to each other: the first's width and thickness."""
        w = self.meeting.first.frame.w
        w = unit(sub(w, scale(self.way, dot(w, self.way))))
        return w, cross(self.way, w)

    def beside(self, radius: float, turn: float) -> Point:
        """The start of the line parallel to the axis at a distance from it, ``turn`` radians round it."""
        u, v = self.ring()
        return add(self.start, add(scale(u, radius * math.cos(turn)), scale(v, radius * math.sin(turn))))

    def fails(self, text: str) -> DesignError:
        m = self.meeting
        return fail(m.place, "joint", text, m.first.name, m.second.name)


@dataclass(frozen=True)
class WedgedTenon:
    """What wedges ask of a tenon: its diameter at the end, its root and its end along the axis."""

    diameter: float
    root: float
    end: float


def passage_of(meeting: Meeting, kind: str) -> Passage:
    """Raises DesignError where the first's axis misses the second's wood, or ends before it."""
    first, second = meeting.first, meeting.second
    shared = meeting.shared()
    assert shared is not None
    ahead = dot(sub(shared.centroid, first.middle), first.frame.l) > 0
    way = first.frame.l if ahead else neg(first.frame.l)
    size = first.body.size
    start = first.frame.point((0.0 if ahead else size[0], size[1] / 2, size[2] / 2))
    wood = [s for s in spans_along(second, start, way) if s[1] > REACH]
    own = spans_along(first, start, way)
    if not wood or not own or wood[0][0] < REACH:
        raise fail(
            meeting.place,
            "joint",
            f'the {kind}: the axis of "{first.name}" does not come to "{second.name}" by an end',
            first.name,
            second.name,
        )
    found = Passage(meeting, start, way, *wood[0], own[-1][1])
    if found.end < found.entered + REACH:
        raise found.fails(f'the {kind}: "{first.name}" ends before its axis enters "{second.name}"')
    return found


def spans_along(placed: Placed, start: Point, way: Vec) -> list[Span]:
    """Where a world line runs in a member's body."""
    body = placed.body
    cutters: list[Sequence[Form]] = [s.cutter for s in body.shapings]
    at, going = placed.frame.local_point(start), placed.frame.local_direction(way)
    return spans_left(body.box.planes().values(), cutters, at, going)


# --- checks -------------------------------------------------------------------------------------------------


def check_socket(passage: Passage, kind: str, radius: Callable[[float], float], floor: float | None) -> None:
    """The socket stays in the second: round its rim there is wood as deep as it goes, and a little beside it.

    ``radius`` is the socket's at a distance along the axis; ``floor`` None for one right through. Raises DesignError.
    """
    second = passage.meeting.second
    deep = passage.left if floor is None else floor + LEAST_WOOD
    sides = (passage.face(passage.entered), passage.face(passage.left))
    radii = [radius(s) + LEAST_WOOD for s in (passage.entered, passage.middle, passage.left)]
    for line in _round_about(passage, radii):
        wood = [w for w in spans_along(second, line, passage.way) if w[1] > 0]
        short = not wood or (floor is not None and wood[0][1] < deep)
        if short or _by_the_side(passage, line, wood[0], sides):
            where = "at the side" if floor is None or not wood else "at the far side"
            raise passage.fails(f'the {kind}: its socket breaks out of "{second.name}" {where}')


def _round_about(passage: Passage, radii: Sequence[float]) -> list[Point]:
    """Starts of lines along the axis all round it, at each of some distances from it."""
    turns = [2 * math.pi * i / ROUND_THE_RIM for i in range(ROUND_THE_RIM)]
    return [passage.beside(r, turn) for turn in turns for r in dict.fromkeys(radii)]


def _by_the_side(passage: Passage, line: Point, span: Span, faces: Sequence[Plane | None]) -> bool:
    """Whether a line beside the axis comes in or goes out by another plane face than the axis does."""
    ends = (along(line, passage.way, mine) for mine in span)
    return any(f is not None and abs(f.distance(p)) > 1e-6 for f, p in zip(faces, ends, strict=True))


def check_filled(passage: Passage, kind: str, radius: Callable[[float], float], size: str) -> None:
    """The first is nowhere thinner than its tenon in the second's wood. Raises DesignError."""
    first = passage.meeting.first
    last = min(passage.end, passage.left) - REACH
    places: dict[float, list[float]] = {}
    for share in (0.0, 0.25, 0.5, 0.75, 0.95):
        s = passage.entered + (last - passage.entered) * share
        places.setdefault(radius(s) - 1e-6, []).append(s)
    for r, at in places.items():
        for line in _round_about(passage, [r]):
            wood = spans_along(first, line, passage.way)
            if not all(any(a <= s <= b for a, b in wood) for s in at):
                raise passage.fails(f'the {kind}: "{first.name}" is thinner than its tenon of {size}')


# --- ends, wedges, the face it is bored from ----------------------------------------------------------------


def bored_from_far(passage: Passage, spec: d.Joint) -> bool:
    """Whether the socket is bored from the side where the tenon comes out. Raises DesignError for any third side."""
    if spec.bored_from is None:
        return False
    second = passage.meeting.second
    side = side_facing(second.frame.axes, str(spec.bored_from), second.middle, spec.place)
    out = second.frame.direction(local_normal(side))
    facing = dot(out, passage.way)
    if abs(facing) < _PASSED:
        raise passage.fails(
            f'the {spec.kind}: the socket does not come to the {spec.bored_from} of "{second.name}"'
        )
    if facing > 0 and not passage.runs_through:
        raise passage.fails(f"the {spec.kind}: a blind socket is bored from the side where the tenon enters")
    return facing > 0


def proud_end(passage: Passage, spec: d.Joint, sizing: Sizing) -> Plane | None:
    """The plane that a through tenon is trimmed to, world, outward; None where the first keeps its end."""
    if spec.proud is None:
        return None
    if not passage.runs_through:
        raise passage.fails(f"the {spec.kind}: only a through tenon stands proud")
    proud = sizing.length(spec.proud) or 0.0
    face = passage.face(passage.left)
    end = passage.square(passage.left + proud) if face is None else face.shifted(proud)
    short = (end.offset - dot(end.normal, passage.at(passage.end))) / dot(end.normal, passage.way)
    if short > REACH:
        first = passage.meeting.first.name
        text = f'the {spec.kind}: "{first}" ends {sizing.said(short)} short of standing {sizing.said(proud)} proud'
        raise passage.fails(text)
    return end


def grain_across(passage: Passage, kind: str) -> Vec:
    """Unit, world: the second's grain square to the axis, which a wedge presses along. Raises DesignError."""
    second = passage.meeting.second
    grain = second.frame.w if second.body.grain == "width" else second.frame.l
    flat = sub(grain, scale(passage.way, dot(grain, passage.way)))
    if length(flat) < _LEAST_ACROSS:
        text = f'the {kind}: it enters the end grain of "{second.name}"; a wedge would split it whichever way it is set'
        raise passage.fails(text)
    return unit(flat)


def wedged(passage: Passage, spec: d.Joint, sizing: Sizing, tenon: WedgedTenon) -> Made:
    """Saw kerfs for the entry's wedges, across the second's grain; nothing where it states none. Raises DesignError."""
    if spec.wedges is None:
        return Made()
    if not passage.runs_through:
        raise passage.fails(f"the {spec.kind}: only a through tenon is wedged")
    meeting = passage.meeting
    frame = meeting.first.frame
    across = frame.local_direction(grain_across(passage, str(spec.kind)))
    middle = dot(across, frame.local_point(passage.start))
    spread = Spread(
        along=frame.local_direction(passage.way),
        way=across,
        low=middle - tenon.diameter / 2,
        high=middle + tenon.diameter / 2,
        thick=tenon.diameter,
        shoulder=passage.square(tenon.root).local_to(frame),
        long=tenon.end - tenon.root,
        exit=passage.left - tenon.root,
    )
    count = sizing.count(spec.wedges, 1)
    return Made(
        (kerfs(meeting, sizing, spread, count),), hardware=(to_split(meeting, sizing, spread, count),)
    )
