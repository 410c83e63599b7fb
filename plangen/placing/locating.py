"""Location by reference surfaces: each relation takes freedoms away from one member.

Directions come first (three freedoms of turning), then places (three of sliding). What is left free is told
in words, what contradicts is told with both lines and the amount, what merely repeats is accepted. The rule
is the machine vice's 3-2-1: a face on a plane takes three freedoms, a direction in it one, an end at a stop
one, an edge on a line one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from plangen.design import design as d
from plangen.findings import DesignError, Place, error, fail
from plangen.geometry.frames import Frame
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import (
    LENGTH_TOLERANCE,
    Point,
    Vec,
    add,
    along,
    angle_between,
    cross,
    dot,
    length,
    neg,
    scale,
    squared,
    sub,
    unit,
)
from plangen.placing.body import BOUND_MM
from plangen.placing.directions import WORDS, local_normal
from plangen.placing.scope import Scope

UP: Vec = (0.0, 0.0, 1.0)
IDENTITY: tuple[Vec, ...] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
AXIS_WORDS = ("length", "width", "thickness")
_ANGLE_TOLERANCE = 1e-6
_FREE = 1e-5
"""A sliding direction whose equations are all below this is free (the kernel's singular value)."""
_SIDES = {
    "face": "face",
    "back": "back",
    "edge": "edge",
    "back_edge": "back edge",
    "end_a": "A",
    "end_b": "B",
}


@dataclass(frozen=True)
class Facing:
    """A direction of the member's frame that is to look along a world direction."""

    local: Vec
    world: Vec
    place: Place
    exact: bool
    said: str


@dataclass(frozen=True)
class Touching:
    """A point of the member (its own coordinates) that lies in a world plane."""

    local: Point
    plane: Plane
    place: Place
    said: str


@dataclass(frozen=True)
class Extent:
    """What is known of the piece along one of its axes: from ``low`` to ``high``; a side may be open."""

    low: float
    high: float

    @property
    def known(self) -> bool:
        return self.low > -BOUND_MM and self.high < BOUND_MM

    @property
    def anchored(self) -> bool:
        return self.low > -BOUND_MM or self.high < BOUND_MM

    @property
    def middle(self) -> float:
        """Of what is known: of an open piece its closed side, of one open both ways the origin."""
        if self.known:
            return (self.low + self.high) / 2
        return self.low if self.low > -BOUND_MM else self.high if self.high < BOUND_MM else 0.0


@dataclass(frozen=True)
class Located:
    """A member's frame (its origin where its extents read 0) and the axes along which it may still slide."""

    frame: Frame
    sliding: tuple[int, ...]


def orient(scope: Scope, name: str, placing: d.Placing, is_round: bool = False) -> tuple[Vec, Vec, Vec]:
    """World directions of the member's l, w and t axes; how a round piece is rolled need not be said.

    Raises DesignError in words.
    """
    facings = _facings(scope, placing)
    if not facings:
        raise fail(
            placing.place, "freedom", f'"{name}" can still turn any way: say what its face lies against', name
        )
    facings.sort(key=lambda f: not f.exact)
    first = facings[0]
    second = next((f for f in facings[1:] if length(cross(f.local, first.local)) > 0.5), None)
    if second is None:
        second = _upright(name, placing, first, is_round)
    axes = _frame_axes(name, first, second)
    for facing in facings:
        turned = add(
            add(scale(axes[0], facing.local[0]), scale(axes[1], facing.local[1])),
            scale(axes[2], facing.local[2]),
        )
        off = math.degrees(angle_between(turned, facing.world))
        if off > _ANGLE_TOLERANCE * 57.3 if facing.exact else off > 60:
            other = first if facing is second or not second.exact else second
            same = (
                f for f in facings if f is not facing and f.exact and abs(dot(f.local, facing.local)) > 0.5
            )
            raise _contradiction(name, next(same, other), facing, turned)
    return axes


def _facings(scope: Scope, placing: d.Placing) -> list[Facing]:
    found: list[Facing] = []
    if placing.length is not None:
        found.append(
            Facing((1.0, 0.0, 0.0), scope.direction(placing.length), placing.length.place, True, "its length")
        )
    if placing.from_ is not None and placing.to is not None:
        way = sub(scope.point(placing.to), scope.point(placing.from_))
        if length(way) < LENGTH_TOLERANCE:
            raise fail(placing.place, "place", '"from" and "to" are the same point')
        found.append(Facing((1.0, 0.0, 0.0), unit(way), placing.place, True, "from and to"))
    if placing.width is not None:
        found.append(
            Facing((0.0, 1.0, 0.0), scope.direction(placing.width), placing.width.place, True, "its width")
        )
    for key, side in _SIDES.items():
        relation: d.Relation | None = getattr(placing, key)
        if relation is None:
            continue
        local, said = (
            local_normal(side),
            f"its {key.replace('_', ' ').replace('end a', 'end A').replace('end b', 'end B')}",
        )
        if relation.against is not None:
            found.append(Facing(local, neg(scope.plane(relation.against).normal), relation.place, True, said))
        elif relation.flush_with is not None:
            found.append(Facing(local, scope.plane(relation.flush_with).normal, relation.place, True, said))
        elif relation.toward is not None:
            found.append(Facing(local, scope.direction(relation.toward), relation.place, False, said))
        elif relation.along is not None:
            found.append(Facing((1.0, 0.0, 0.0), scope.line(relation.along).way, relation.place, True, said))
    return found


def _upright(name: str, placing: d.Placing, first: Facing, is_round: bool) -> Facing:
    """The turn a point-to-point or round member takes by default: its width as upright as it can be."""
    rolls = is_round and abs(first.local[0]) > 0.5
    if rolls and length(cross(first.world, UP)) < 1e-6:
        return Facing((0.0, 0.0, 1.0), WORDS["front"], placing.place, False, "its face, to the front")
    if not rolls and (placing.from_ is None or placing.to is None):
        word = AXIS_WORDS[max(range(3), key=lambda i: abs(first.local[i]))]
        raise fail(
            placing.place,
            "freedom",
            f'"{name}" can still turn about its {word}: say which face is level, or what its face lies against',
            name,
        )
    if length(cross(first.world, UP)) < 1e-6:
        raise fail(
            placing.place,
            "freedom",
            f'"{name}" stands upright and can still turn about its length: say which way its face looks',
            name,
        )
    return Facing((0.0, 1.0, 0.0), UP, placing.place, False, "its width, upright")


def _frame_axes(name: str, first: Facing, second: Facing) -> tuple[Vec, Vec, Vec]:
    """The right-handed frame in which ``first`` holds exactly and ``second`` as nearly as it can."""
    a_local, a_world = first.local, squared(first.world)
    b_local = second.local
    b_world = sub(second.world, scale(a_world, dot(second.world, a_world)))
    if length(b_world) < 1e-9:
        text = f'"{name}": {second.said} cannot look the way {first.said} runs (line {first.place.line})'
        raise fail(second.place, "place", text, name)
    b_world = squared(unit(b_world))
    c_local, c_world = cross(a_local, b_local), cross(a_world, b_world)
    axes = []
    for i in range(3):
        axes.append(
            add(add(scale(a_world, a_local[i]), scale(b_world, b_local[i])), scale(c_world, c_local[i]))
        )
    return (axes[0], axes[1], axes[2])


def _contradiction(name: str, other: Facing, facing: Facing, turned: Vec) -> DesignError:
    """What to say of a facing whose side looks along ``turned`` by the facings before it."""
    off = math.degrees(angle_between(turned, facing.world))
    text = f'"{name}": {facing.said} contradicts {other.said} (line {other.place.line}) by {off:.4g} degrees'
    if off > 179.9:
        looks = next((w for w, v in WORDS.items() if angle_between(v, turned) < 0.01), "the other way")
        text += (
            f": so turned it looks {looks}; place the opposite side instead, run the length the other way, "
            'or change over "against" and "flush with"'
        )
    elif off < 45 and facing.exact:
        text += "; leave one out, or place the edge by an arris (edge: {along: LINE})"
    return DesignError([error(facing.place, "contradiction", text, name)])


# --- places ---------------------------------------------------------------------------------------------------


def locate(
    scope: Scope,
    name: str,
    placing: d.Placing,
    axes: tuple[Vec, Vec, Vec],
    extents: tuple[Extent, Extent, Extent],
) -> Located:
    """Where the member is. ``sliding`` names axes still free; the caller may close those by trims."""
    equations = _touchings(scope, name, placing, axes, extents)
    basis: list[tuple[Vec, float, Touching]] = []
    for touching in equations:
        normal = touching.plane.normal
        turned = Frame((0.0, 0.0, 0.0), *axes).direction(touching.local)
        wanted = touching.plane.offset - dot(normal, turned)
        rest, value = normal, wanted
        for direction, place, _ in basis:
            k = dot(rest, direction)
            rest, value = sub(rest, scale(direction, k)), value - k * place
        size = length(rest)
        if size > _FREE:
            basis.append((scale(rest, 1 / size), value / size, touching))
        elif abs(value) > LENGTH_TOLERANCE:
            mate = basis[-1][2]
            for direction, _, other in basis:
                if abs(dot(normal, direction)) > 0.5:
                    mate = other
            raise fail(
                touching.place,
                "contradiction",
                f'"{name}": {touching.said} contradicts {mate.said} (line {mate.place.line}) '
                f"by {scope.said(abs(value))}",
                name,
            )
    origin: Point = (0.0, 0.0, 0.0)
    for direction, place, _ in basis:
        origin = along(origin, direction, place)
    sliding = _sliding(name, placing, axes, [b[0] for b in basis])
    return Located(Frame(origin, *axes), sliding)


def _sliding(name: str, placing: d.Placing, axes: tuple[Vec, Vec, Vec], fixed: list[Vec]) -> tuple[int, ...]:
    """Indices of the member's axes that span what is still free. Raises when it is not along its axes."""
    free = []
    for i, axis in enumerate(axes):
        rest = axis
        for direction in fixed:
            rest = sub(rest, scale(direction, dot(rest, direction)))
        if length(rest) > 1e-6:
            free.append(i)
    if len(free) > 3 - len(fixed):
        words = " and ".join(AXIS_WORDS[i] for i in free)
        raise fail(
            placing.place,
            "freedom",
            f'"{name}" can still slide across its {words}: say what stops it',
            name,
        )
    return tuple(free)


def _touchings(
    scope: Scope,
    name: str,
    placing: d.Placing,
    axes: tuple[Vec, Vec, Vec],
    extents: tuple[Extent, Extent, Extent],
) -> list[Touching]:
    found: list[Touching] = []
    for key, side in _SIDES.items():
        relation: d.Relation | None = getattr(placing, key)
        if relation is not None and relation.toward is None:
            found += _relation_touchings(scope, name, placing, relation, side, extents)
    middle = (extents[0].middle, extents[1].middle, extents[2].middle)
    for spec in placing.middle:
        plane = scope.plane(spec)
        for i, axis in enumerate(axes):
            if abs(dot(axis, plane.normal)) > 1e-9 and not extents[i].known:
                raise fail(
                    placing.place,
                    "place",
                    f'"{name}": its middle is not known before its {AXIS_WORDS[i]} is',
                    name,
                )
        found.append(Touching(middle, plane, placing.place, "its middle"))
    if placing.corner is not None:
        point = scope.point(placing.corner)
        found += _through_point((0.0, 0.0, 0.0), point, placing.place, "its corner", IDENTITY)
    if placing.from_ is not None:
        point = scope.point(placing.from_)
        held = [_placed(placing.edge, placing.back_edge), _placed(placing.face, placing.back)]
        across = [axes[0], *(axis for axis, by_side in zip(axes[1:], held, strict=True) if not by_side)]
        found += _through_point((0.0, middle[1], middle[2]), point, placing.place, "from", tuple(across))
    return found


def _placed(*relations: d.Relation | None) -> bool:
    """Whether a side holds the piece across its centre line, so that ``from`` and ``to`` need not."""
    return any(r is not None and r.toward is None for r in relations)


def _through_point(
    local: Point, point: Point, place: Place, said: str, directions: tuple[Vec, ...]
) -> list[Touching]:
    return [Touching(local, Plane(n, dot(n, point)), place, said) for n in directions]


def _relation_touchings(
    scope: Scope,
    name: str,
    placing: d.Placing,
    relation: d.Relation,
    side: str,
    extents: tuple[Extent, Extent, Extent],
) -> list[Touching]:
    axis = max(range(3), key=lambda i: abs(local_normal(side)[i]))
    high = local_normal(side)[axis] > 0
    reference = [e.middle for e in extents]
    reference[axis] = extents[axis].high if high else extents[axis].low
    if abs(reference[axis]) >= BOUND_MM:
        raise fail(
            relation.place,
            "place",
            f'"{name}": this surface has no place before its {AXIS_WORDS[axis]} is known',
            name,
        )
    said = f"its {'end ' + side if side in 'AB' else side}"
    off = scope.length(relation.off) if relation.off is not None else 0.0
    spec = relation.against or relation.flush_with or relation.at
    if spec is not None:
        plane = scope.plane(spec)
        point = (reference[0], reference[1], reference[2])
        return [Touching(point, plane.shifted(off), relation.place, said)]
    if relation.along is None:
        raise fail(relation.place, "place", f'"{name}": say against, flush with, at, along or toward', name)
    line = scope.line(relation.along)
    # The arris that runs along the line: with the back where the back is what is placed, else with the face.
    other = 2 if axis == 1 else 1
    by_low = placing.back is not None if other == 2 else placing.edge is not None
    reference[other] = extents[other].low if by_low else extents[other].high
    reference[axis] -= off if high else -off
    square = _square_pair(line.way)
    point = (reference[0], reference[1], reference[2])
    return _through_point(point, line.start, relation.place, f"{said} along its line", square)


def _square_pair(way: Vec) -> tuple[Vec, Vec]:
    """Two directions square to ``way`` and to each other."""
    least = min(range(3), key=lambda i: (round(abs(way[i]), 6), i))
    a = unit(cross(way, IDENTITY[least]))
    return a, cross(way, a)
