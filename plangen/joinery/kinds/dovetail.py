"""Dovetails at a corner: tails on the first's end between pins on the second's, through or half-blind.

Both are laid out along the grain. On the first's face each tail is symmetrical about a line along the board's
length, its sides at the slope to that line; every side, of tail and pin alike, runs along the second's length.
On square boards this is the common layout; on splayed boards it keeps short grain out of tails and pins, and
the joint slides home along the second's length whatever the corner's angle (common practice for splayed work,
from memory). Sides are the same planes in both members; shoulders are the other's inner face.

Widths are measured on the first's outer face square to its length, halfway along the tails: a tail is twice as
wide as the wood left between two, and half as much of it is left at each edge (common practice).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from plangen.design import design as d
from plangen.findings import DesignError, fail
from plangen.geometry.region import convex_region
from plangen.geometry.surfaces import Form, Plane
from plangen.geometry.vectors import Point, Vec, dot, neg, sub, unit
from plangen.joinery import advice
from plangen.joinery.made import Made
from plangen.joinery.meeting import LEAST_AREA, Meeting, Placed, mating, walls_inside
from plangen.joinery.sizing import Sizing
from plangen.placing.body import BOUND_MM
from plangen.tables.joint_rules import DOVETAIL_SLOPE, HALF_BLIND_LAP, TAIL_PITCH

LEAST_WOOD = 1.0
"""Millimetres: a tail or pin narrower than this anywhere does not survive the saw."""
FLUSH = 0.01
"""Millimetres: a board that ends this near to the other's outer face is flush with it."""
_SIDE = 0.5
"""A plane whose normal lies this much along a board's length or thickness is its end or its face."""


@dataclass(frozen=True)
class _Corner:
    """The corner in the first's frame; planes look out of the wood they bound."""

    inner: Plane
    """The second's inner face: the tails' shoulder."""
    outer: Plane
    """The second's outer face."""
    own_outer: Plane
    """The first's outer face."""
    slide: Vec
    """Along the second's length toward its end at the corner, unit: the way the sides run."""
    way: float
    """1 where the first's end B is at the corner, -1 where end A is."""
    base: float
    """Place in the first's thickness at which the tails are laid out: its outer face."""

    @property
    def skew(self) -> float:
        """How far the sides lean across the first for each millimetre of its thickness, the other way."""
        return -self.slide[1] / self.slide[2]

    @property
    def askew(self) -> float:
        """How far the shoulder line runs toward the end for each millimetre across the first."""
        return -self.way * self.inner.normal[1] / self.inner.normal[0]

    def across(self, p: Point) -> float:
        """Place across the first, on its outer face, of the line along the second's length through ``p``."""
        return p[1] + self.skew * (p[2] - self.base)

    def along(self, plane: Plane, across: float) -> float:
        """Place along the first, on its outer face, of a plane across it."""
        n = plane.normal
        return (plane.offset - n[1] * across - n[2] * self.base) / n[0]


@dataclass(frozen=True)
class _Layout:
    """Across the first's outer face: where the tails may stand, how many, half a tail's width at its root."""

    low: float
    high: float
    count: int
    half: float
    rise: float
    """The slope: millimetres across for one along."""

    @property
    def pitch(self) -> float:
        return (self.high - self.low) / self.count

    @property
    def middles(self) -> list[float]:
        return [self.low + (i + 0.5) * self.pitch for i in range(self.count)]


@dataclass(frozen=True)
class _Tail:
    """The sides of a tail in the first's frame, outward: toward the edge and toward the back edge."""

    low: Plane
    high: Plane


def through(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    """Tails and pins both run through to the other's outer face."""
    corner = _corner(meeting, spec, sizing)
    _, _, short = _end_inside(meeting, meeting.first, meeting.second, corner.outer)
    if short > FLUSH:
        raise _too_short(meeting, spec, sizing, meeting.first, meeting.second, short)
    return _made(meeting, spec, sizing, corner, corner.outer)


def half_blind(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    """Tails that end at the lap; a first that ends inside the second leaves the lap itself unless one is said."""
    corner = _corner(meeting, spec, sizing)
    thick = meeting.second.body.size[2]
    end, least, short = _end_inside(meeting, meeting.first, meeting.second, corner.outer)
    if spec.lap is None and end is not None and short > FLUSH:
        lap, floor = least, end
    else:
        lap = sizing.or_rule(spec.lap, HALF_BLIND_LAP.usual * thick)
        floor = corner.outer.shifted(-lap)
        if short > lap + FLUSH:
            raise _too_short(meeting, spec, sizing, meeting.first, meeting.second, short - lap)
    if not FLUSH < lap < thick - LEAST_WOOD:
        text = f"a lap of {sizing.said(lap)} in wood {sizing.said(thick)} thick leaves no lap or no tails"
        raise _fail(meeting, spec, text)
    what = "half-blind dovetail: the lap"
    told = advice.outside(HALF_BLIND_LAP, lap / thick, what, meeting.place, meeting.second.name)
    made = _made(meeting, spec, sizing, corner, floor)
    return replace(made, findings=(*told, *made.findings))


def _fail(meeting: Meeting, spec: d.Joint, text: str) -> DesignError:
    return fail(meeting.place, "joint", f"the {spec.kind}: {text}", meeting.first.name, meeting.second.name)


# --- the corner ---------------------------------------------------------------------------------------------


def _corner(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> _Corner:
    first, second = meeting.first, meeting.second
    shared = meeting.shared()
    assert shared is not None
    inner, outer = (
        p.placed(second.frame).local_to(first.frame).squared()
        for p in _faces(meeting, spec, second, first, shared.centroid)
    )
    _, own_outer = _faces(meeting, spec, first, second, shared.centroid)
    slide = first.frame.local_direction(second.frame.l)
    if dot(slide, own_outer.normal) < 0:
        slide = neg(slide)
    squareness = ((first, second, abs(inner.normal[0])), (second, first, dot(slide, own_outer.normal)))
    for board, other, square in squareness:
        if square < _SIDE:
            text = f'"{board.name}" must come to "{other.name}" by its end, at a corner nearer to square'
            raise _fail(meeting, spec, text)
    way = -1.0 if inner.normal[0] > 0 else 1.0
    corner = _Corner(inner, outer, own_outer, slide, way, own_outer.offset * own_outer.normal[2])
    _check_ends(meeting, spec, sizing, corner)
    return corner


def _faces(
    meeting: Meeting, spec: d.Joint, board: Placed, other: Placed, corner: Point
) -> tuple[Plane, Plane]:
    """Inner and outer face of a board in its own frame: the inner one looks to the other board's middle."""
    toward = board.frame.local_direction(sub(other.middle, corner))
    faces = [p.squared() for _, p, _ in board.body.carrying() if abs(p.normal[2]) > 1 - _SIDE / 2]
    if len(faces) != 2:
        raise _fail(meeting, spec, f'"{board.name}" is no board with two plane faces')
    inner, outer = sorted(faces, key=lambda p: -round(dot(p.normal, toward), 9))
    return inner, outer


def _check_ends(meeting: Meeting, spec: d.Joint, sizing: Sizing, corner: _Corner) -> None:
    """The second reaches the first's outer face; neither runs on past the other."""
    first, second = meeting.first, meeting.second
    own_outer = corner.own_outer.placed(first.frame)
    _, _, short = _end_inside(meeting, second, first, own_outer.local_to(first.frame))
    if short > FLUSH:
        raise _too_short(meeting, spec, sizing, second, first, short)
    outer = corner.outer.placed(first.frame)
    for board, other, face in ((first, second, outer), (second, first, own_outer)):
        beyond = max(face.distance(board.frame.point(p)) for p in board.body.corners())
        if beyond > other.body.size[2]:
            text = (
                f'"{board.name}" runs on {sizing.said(beyond)} past "{other.name}"; '
                "dovetails join two boards at their ends"
            )
            raise _fail(meeting, spec, text)


def _end_inside(
    meeting: Meeting, board: Placed, other: Placed, face: Plane
) -> tuple[Plane | None, float, float]:
    """The board's end inside the other, and the wood before it up to the other's outer ``face``, least and most.

    ``face`` and the plane given back are in the first's frame. None, 0, 0 where no end lies inside.
    """
    frame = meeting.first.frame
    own, others = board.planes_in(frame), other.planes_in(frame)
    along = frame.local_direction(board.frame.l)
    region = convex_region(others + own, BOUND_MM)
    if region is None:
        return None, 0.0, 0.0
    for index in region.indices:
        if index < len(others) or region.area(index) <= LEAST_AREA:
            continue
        plane = own[index - len(others)]
        if abs(dot(plane.normal, along)) > _SIDE and dot(plane.normal, face.normal) > 0:
            covers = [-face.distance(p) for p in region.face(index)]
            return plane, min(covers), max(covers)
    return None, 0.0, 0.0


def _too_short(
    meeting: Meeting, spec: d.Joint, sizing: Sizing, board: Placed, other: Placed, by: float
) -> DesignError:
    text = f'"{board.name}" ends {sizing.said(by)} short in "{other.name}"; trim it by the outer face'
    return _fail(meeting, spec, text)


# --- tails and pins -----------------------------------------------------------------------------------------


def _made(meeting: Meeting, spec: d.Joint, sizing: Sizing, corner: _Corner, floor: Plane) -> Made:
    """Tails as far as ``floor``, the second's outer face or the lap's plane, outward in the first's frame."""
    layout = _layout(meeting, spec, sizing, corner, floor)
    tails = [_tail(corner, layout, middle) for middle in layout.middles]
    lapped = floor != corner.outer
    cuts = (
        meeting.cut(meeting.first, "tails", _between(meeting, corner, tails, floor if lapped else None)),
        meeting.cut(meeting.second, "pins", _sockets(meeting, corner, tails, floor if lapped else None)),
    )
    said = f"slope 1 in {1 / layout.rise:.3g}, laid out along the grain"
    note = f"{said}; slides home along {meeting.second.name}"
    told = advice.outside(
        DOVETAIL_SLOPE, layout.rise, f"{spec.kind}: the slope", meeting.place, meeting.first.name
    )
    return Made((replace(cuts[0], note=note), replace(cuts[1], note=said)), findings=told)


def _layout(meeting: Meeting, spec: d.Joint, sizing: Sizing, corner: _Corner, floor: Plane) -> _Layout:
    low, high = _room(meeting, corner)
    usual = TAIL_PITCH.usual * meeting.first.body.size[2]
    count = sizing.count(spec.tails, max(1, round((high - low) / usual)))
    rise = math.tan(sizing.angle(spec.slope, math.atan(DOVETAIL_SLOPE.usual)))
    long = max(abs(corner.along(floor, q) - corner.along(corner.inner, q)) for q in (low, high))
    half = (high - low) / count / 3 - rise * long / 2
    layout = _Layout(low, high, count, half, rise)
    # Where a tail's sides reach its end: the line of the end may run askew across the board.
    over = (half + rise * long) / (1 - corner.askew * rise), (half + rise * long) / (1 + corner.askew * rise)
    left = layout.pitch - sum(over) if count > 1 else layout.pitch
    left = min(left, layout.pitch / 2 - max(over))
    if 2 * half < LEAST_WOOD or left < LEAST_WOOD:
        text = (
            f"{count} tails at this slope do not fit in {sizing.said(high - low)}: "
            f"{sizing.said(2 * half)} would be left of a tail at its root, {sizing.said(left)} of a pin; "
            "fewer tails, or a lesser slope"
        )
        raise _fail(meeting, spec, text)
    return layout


def _room(meeting: Meeting, corner: _Corner) -> tuple[float, float]:
    """Across the first, on its outer face: the stretch that lies between the edges all over the corner."""
    first, second = meeting.first, meeting.second
    own = first.planes_in(first.frame)
    planes = own + second.planes_in(first.frame)
    region = convex_region(planes, BOUND_MM)
    assert region is not None
    side = unit((0.0, 1.0, corner.skew))
    lows, highs = [], []
    for index in region.indices:
        board = first if index < len(own) else second
        normal = board.frame.local_direction(first.frame.direction(planes[index].normal))
        if abs(normal[0]) > _SIDE or abs(normal[2]) > 1 - _SIDE / 2:
            continue
        reach = [corner.across(p) for p in region.face(index)]
        if dot(planes[index].normal, side) < 0:
            lows.append(max(reach))
        else:
            highs.append(min(reach))
    return max(lows), min(highs)


def _tail(corner: _Corner, layout: _Layout, middle: float) -> _Tail:
    """Sides that run along the slide and stand at the slope to the first's length."""
    root = corner.along(corner.inner, middle)
    lean = layout.rise * corner.way
    through = lean * corner.slide[0] / corner.slide[2]
    low, high = (unit((-lean, sign, sign * corner.skew + through)) for sign in (-1.0, 1.0))
    return _Tail(
        Plane(low, dot(low, (root, middle - layout.half, corner.base))),
        Plane(high, dot(high, (root, middle + layout.half, corner.base))),
    )


def _between(
    meeting: Meeting, corner: _Corner, tails: Sequence[_Tail], floor: Plane | None
) -> list[list[Form]]:
    """What the first loses: the pins' places between the tails and at the edges, and its end before a lap."""
    highs: list[Plane | None] = [None, *(t.high for t in tails)]
    lows: list[Plane | None] = [*(t.low for t in tails), None]
    cutters: list[list[Form]] = []
    for high, low in zip(highs, lows, strict=True):
        sides = [s for s in (high, low) if s is not None]
        walls = walls_inside(
            meeting.first,
            meeting.second,
            [s.flipped() for s in sides],
            lambda f: not _runs_out(f, corner.outer.normal, corner.slide),
        )
        cutters.append([*(mating(w) for w in walls), *sides])
    if floor is not None and max(floor.distance(p) for p in meeting.first.body.corners()) > FLUSH:
        cutters.append([floor])
    return cutters


def _sockets(
    meeting: Meeting, corner: _Corner, tails: Sequence[_Tail], floor: Plane | None
) -> list[list[Form]]:
    """What the second loses: a socket for each tail, open to its end, wider by the clearance at each side."""
    first, second = meeting.first, meeting.second

    def there(p: Plane) -> Plane:
        return p.placed(first.frame).local_to(second.frame).squared()

    ahead = first.frame.direction((corner.way, 0.0, 0.0))
    own_outer = there(corner.own_outer)
    cutters: list[list[Form]] = []
    for tail in tails:
        sides = [there(tail.low), there(tail.high)]
        ends = [] if floor is None else [there(floor)]
        walls = walls_inside(
            second,
            first,
            [*sides, *ends],
            lambda f: not _runs_out(f, own_outer.normal, second.frame.local_direction(ahead)),
        )
        cutters.append([*(mating(w) for w in walls), *(meeting.room_for(p) for p in (*sides, *ends))])
    return cutters


def _runs_out(form: Form, outward: Vec, ahead: Vec) -> bool:
    """Whether a surface of the mate is its outer face or its end at the corner, through which a cut runs out."""
    return isinstance(form, Plane) and (dot(form.normal, outward) > _SIDE or dot(form.normal, ahead) > _SIDE)
