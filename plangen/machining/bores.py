"""Holes at the drill press: straight and flat-floored, countersunk, reamed; at any angle.

The surface that the drill enters lies up; a slanting hole is bored with the table tilted so far that the axis stands
upright. What is clamped on so that the drill does not wander or break out is a block with a size.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from plangen.geometry.crossings import Crossing, crossings, exact_crossing, pieces_same
from plangen.geometry.surfaces import Cone, Cylinder, Form, Plane
from plangen.geometry.vectors import Point, Vec, add, along, cross, dot, neg, scale, sub, unit
from plangen.joinery.model import Feature
from plangen.machining.holding import Hold, upright
from plangen.machining.setup import Block, Setup, Stop, Tool, Way
from plangen.machining.work import Work, distance_along, meeting_line
from plangen.tables.machines import Reach, Shop
from plangen.units import LengthUnit, whole_bits

WIDEST_DRILL = 80.0
"""Millimetres: the widest flat-bottomed bit that a small drill press turns (common practice)."""
BLOCK_OVER = 12.0
"""Millimetres of the block beyond the hole (common practice)."""
WANDERS = math.radians(20)
"""A drill that enters more aslant than this is led by a block bored at the same angle (from memory)."""
_ALONG = 1e-6
_GLANCING = 0.02
_TURN_OVER = 0.2
"""What it costs to bore from the side that is not marked."""
_LOST_MARK = 0.6
"""What it costs to bore where the middle is gone, or where the surface entered is sawn off later."""
_OVER_ARRIS = 1.5
"""What it costs that the drill's rim starts in air."""
_NEEDLE = 1.0
"""Millimetres: a socket that ends narrower is reamed straight away."""
_CROSSES = 0.3


@dataclass(frozen=True)
class Bit:
    """The surfaces that one tool leaves in one stroke about one axis, by id."""

    ids: tuple[str, ...]
    round: Cylinder | Cone
    axis: Vec
    """Into the wood."""
    floor: Plane | None = None
    body: Cylinder | None = None
    """Of a countersink: the straight part above its taper."""

    @property
    def widest(self) -> float:
        return self.body.radius if self.body is not None else self.round.radius


@dataclass(frozen=True)
class Passage:
    """Where a bit's axis comes into the work as it stands, and where it leaves it."""

    surface: str
    plane: Plane | None
    """None: a round surface is entered."""
    entry: Point
    leaves: str | None
    """None: the hole ends in the wood."""
    exit: Point | None
    exit_plane: Plane | None
    beside: str | None = None
    """A face that the hole runs half out of."""
    whole: bool = True
    """All of the mouth is in the surface entered; False: it runs over an arris of it."""

    @property
    def length(self) -> float:
        return 0.0 if self.exit is None else math.dist(self.entry, self.exit)


def bored(work: Work, feature: Feature, cutters: Sequence[tuple[str, ...]], shop: Shop) -> tuple[Way, ...]:
    """Ways to bore what ``cutters`` of a feature are; none where one of them is not bored.

    Cutters are bored in the order of their diameters, the widest first, each about its own axis.
    """
    forms = {s.id: s.form for s in feature.surfaces}
    bits = [bit_of({i: forms[i] for i in c if i in forms}, feature) for c in cutters]
    if not bits or any(b is None for b in bits):
        return ()
    known = sorted((b for b in bits if b is not None), key=lambda b: (-round(b.widest, 6), b.ids))
    ways = [w for w in (_way(work, feature, known, shop, turned) for turned in (False, True)) if w]
    return tuple(ways)


def bit_of(forms: dict[str, Form], feature: Feature) -> Bit | None:
    """The bit whose one stroke leaves these surfaces; None where no bit does."""
    rounds = {i: f for i, f in forms.items() if isinstance(f, Cylinder | Cone) and f.side == "hole"}
    planes = {i: f for i, f in forms.items() if isinstance(f, Plane)}
    if len(rounds) + len(planes) != len(forms) or len(planes) > 1:
        return None
    cones = {i: f for i, f in rounds.items() if isinstance(f, Cone)}
    straight = {i: f for i, f in rounds.items() if isinstance(f, Cylinder)}
    if len(cones) == 1 and len(straight) <= 1 and not planes:
        return _tapering(cones, straight)
    if len(straight) != 1 or cones:
        return None
    ((name, wall),) = straight.items()
    if wall.radius > WIDEST_DRILL / 2:
        return None
    if not planes:
        return Bit((name,), wall, wall.axis if feature.hole is None else _same_way(wall.axis, feature))
    ((floor_name, floor),) = planes.items()
    if abs(abs(dot(floor.normal, wall.axis)) - 1.0) > 1e-12:
        return None
    return Bit((name, floor_name), wall, neg(floor.normal), floor)


def _same_way(axis: Vec, feature: Feature) -> Vec:
    hole = feature.hole
    return axis if hole is None or dot(axis, hole.axis) > 0 else neg(axis)


def _tapering(cones: dict[str, Cone], straight: dict[str, Cylinder]) -> Bit | None:
    ((name, cone),) = cones.items()
    axis = cone.axis if cone.slope < 0 else neg(cone.axis)
    for other, body in straight.items():
        apart = cross(sub(body.point, cone.point), axis)
        if dot(apart, apart) > 1e-12 or abs(abs(dot(body.axis, axis)) - 1.0) > 1e-12:
            return None
        return Bit((name, other), cone, axis, body=body)
    return Bit((name,), cone, axis)


def _way(work: Work, feature: Feature, bits: Sequence[Bit], shop: Shop, turned: bool) -> Way | None:
    """All bits of a feature, from the side that the hole's mark is on or, ``turned``, from the other."""
    reach = shop.reach("drill press")
    setups: list[Setup] = []
    cost = 0.0
    beyond: list[str] = [] if reach is not None else ["no drill press"]
    for bit in bits:
        if turned:
            if bit.floor is not None or isinstance(bit.round, Cone):
                return None
            bit = replace(bit, axis=neg(bit.axis))
            cost += _TURN_OVER
        if feature.stage == "on the work":
            setups.append(_through_the_mate(work, feature, bit))
            cost += 1.0
            continue
        found = _strokes(work, feature, bit, reach)
        if found is None:
            return None
        setups += found[0]
        cost += found[1]
        beyond += _beyond(bit, reach)
    return Way(tuple(setups), cost, tuple(dict.fromkeys(beyond)))


def _beyond(bit: Bit, reach: Reach | None) -> Iterator[str]:
    if reach is None or not reach.drills or isinstance(bit.round, Cone):
        return
    if all(abs(d - 2 * bit.round.radius) > 1e-3 for d in reach.drills):
        yield f"no drill of {2 * bit.round.radius:.6g} mm"


# --- where the drill goes in ------------------------------------------------------------------------------


def passage(work: Work, feature: Feature, bit: Bit) -> Passage | None:
    """Where the bit enters the work as it stands; None where it meets no wood.

    Lines beside the axis decide: the surface that most of them enter by is the one entered, so that a hole half out of
    the wood, whose axis may run in a face, is found too.
    """
    start = bit.round.point
    end = _deepest(bit)
    radius = _radius_in_wood(work, bit)
    lines = [_line(work, start, bit.axis, across, end) for across in _beside(bit.axis, 0.9 * radius)]
    entered = [line[0] for line in lines if line]
    if not entered:
        return None
    preferred = None if feature.hole is None else feature.hole.entry_surface
    into = _most(work, entered, preferred)
    if into is None:
        return None
    entry = _meets(into[1], start, bit.axis, _middle(entered, into[1]))
    if entry is None:
        return None
    # a hole with a floor that breaks out all the same leaves by the last surface that its lines come out of
    left = [line[-1] for line in lines if line and line[-1].at < end]
    out = _most(work, left, None) if left else None
    leaves = None if out is None else _meets(out[1], start, bit.axis, _middle(left, out[1]))
    plane = into[1] if isinstance(into[1], Plane) else None
    whole = plane is None or (len(entered) == len(lines) and all(c.form == plane for c in entered))
    exit_plane = out[1] if out is not None and isinstance(out[1], Plane) else None
    return Passage(
        into[0], plane, entry, out[0] if out is not None and leaves is not None else None, leaves, exit_plane,
        _half_out(work, bit, entry, leaves),
        whole,
    )  # fmt: skip


def _deepest(bit: Bit) -> float:
    """Where the bit stops, along its axis from its surface's point; infinite right through."""
    if bit.floor is not None:
        deep = distance_along(bit.round.point, bit.axis, bit.floor)
        assert deep is not None
        return deep
    return dot(sub(bit.round.tip, bit.round.point), bit.axis) if isinstance(bit.round, Cone) else math.inf


def _radius_in_wood(work: Work, bit: Bit) -> float:
    """About the bit's radius where it meets wood: of a taper, that where its axis passes the work's middle."""
    if isinstance(bit.round, Cylinder):
        return bit.round.radius
    return max(1.0, min(bit.round.radius_at(work.solid.centroid), bit.widest))


def _beside(axis: Vec, radius: float) -> Iterator[Vec]:
    seed: Vec = (1.0, 0.0, 0.0) if abs(axis[0]) < 0.6 else (0.0, 1.0, 0.0)
    u = unit(cross(axis, seed))
    v = cross(axis, u)
    yield (0.0, 0.0, 0.0)
    for i in range(12):
        # turned off the work's own directions, so that no line runs in a face
        turn = 2 * math.pi * i / 12 + 0.1
        yield add(scale(u, radius * math.cos(turn)), scale(v, radius * math.sin(turn)))


def _line(work: Work, start: Point, axis: Vec, across: Vec, end: float) -> list[Crossing]:
    """The crossings of a line beside the axis, from the first that enters wood above the floor."""
    found = crossings(work.solid, add(start, across), axis)
    first = next((i for i, c in enumerate(found) if c.enters and c.at < end - _ALONG), None)
    return [] if first is None else list(found[first:])


def _most(work: Work, met: Sequence[Crossing], preferred: str | None) -> tuple[str, Form] | None:
    """The surface that most of the lines meet, by id, with the form (the piece of an outline) that is met."""
    counted: dict[str, list[Form]] = {}
    for crossing in met:
        name = surface_id(work, crossing.form)
        if name is not None:
            counted.setdefault(name, []).append(crossing.form)
    if not counted:
        return None
    name = min(counted, key=lambda n: (-len(counted[n]), n != preferred, n))
    return name, counted[name][0]


def _middle(met: Sequence[Crossing], form: Form) -> float:
    places = sorted(c.at for c in met if c.form is form)
    return places[len(places) // 2] if places else 0.0


def _meets(form: Form, start: Point, axis: Vec, near: float) -> Point | None:
    if isinstance(form, Plane) and abs(dot(form.normal, axis)) < _GLANCING:
        return None
    at = exact_crossing(form, start, axis, near)
    return None if at is None else along(start, axis, at)


def surface_id(work: Work, form: Form) -> str | None:
    """The id of the work's surface that a form of its solid is, or is a piece of."""
    planes = work.planes()
    if isinstance(form, Plane):
        for name, plane in planes.items():
            if dot(plane.normal, form.normal) > 1.0 - 1e-12 and abs(plane.offset - form.offset) < 1e-6:
                return name
    for feature in work.member.features:
        if feature.id in work.done:
            for s in feature.surfaces:
                if not isinstance(s.form, Plane) and pieces_same(s.form, form):
                    return s.id
    return None


def _half_out(work: Work, bit: Bit, entry: Point, leaves: Point | None) -> str | None:
    """The face along which the hole runs out of the wood sideways; None where it is closed all round."""
    radius = _radius_in_wood(work, bit)
    middle = entry if leaves is None else scale(add(entry, leaves), 0.5)
    for name, plane in work.planes().items():
        beside = abs(dot(plane.normal, bit.axis)) < math.sin(math.radians(15))
        if beside and -radius < plane.distance(middle) < radius and is_outside(work, name):
            return name
    return None


# --- the strokes -------------------------------------------------------------------------------------------


def _strokes(work: Work, feature: Feature, bit: Bit, reach: Reach | None) -> tuple[list[Setup], float] | None:
    """The set-ups of one bit, and their cost; None where no wood can be bored so."""
    through = passage(work, feature, bit) or _as_said(work, feature, bit)
    if through is None:
        return None
    # the face that is entered, and one that a block is clamped to, are not free for the table or the fence
    covered = {through.surface} if through.beside is None else {through.surface, through.beside}
    hold = upright(work, neg(bit.axis), reach, covered)
    if hold is None:
        return None
    base = _held(work, feature, bit, through, hold)
    setups = [*_bored_first(bit, through, base), *_with_tool(bit, through, base, reach)]
    cost = (
        1.0
        + hold.cost
        + 0.4 * bool(base.blocks)
        + (0.0 if through.whole else _OVER_ARRIS)
        + 0.6 * sum(not s.makes for s in setups)
    )
    return setups, cost + (_LOST_MARK if _is_unmarked(work, feature, bit, through) else 0.0)


def _as_said(work: Work, feature: Feature, bit: Bit) -> Passage | None:
    """A hole in air, where another cut has taken the wood: where its note says that it is entered."""
    hole = feature.hole
    plane = None if hole is None else work.planes().get(hole.entry_surface)
    point = None if plane is None else _meets(plane, bit.round.point, bit.axis, 0.0)
    if hole is None or plane is None or point is None:
        return None
    return Passage(hole.entry_surface, plane, point, None, None, None)


def _is_unmarked(work: Work, feature: Feature, bit: Bit, through: Passage) -> bool:
    """The middle is bored away already, or marked on wood that is sawn off later."""
    for f in work.member.features:
        if f.id not in work.done or f.hole is None or f.hole.diameter > 2 * bit.widest:
            continue
        apart = cross(sub(f.hole.entry, bit.round.point), bit.axis)
        if dot(apart, apart) < 1e-6 and abs(abs(dot(f.hole.axis, bit.axis)) - 1.0) < 1e-9:
            return True
    return all(s.id != through.surface for s in work.member.surfaces)


def _held(work: Work, feature: Feature, bit: Bit, through: Passage, hold: Hold) -> Setup:
    """What every stroke of a hole has in common: the work on the table, the mark, the blocks."""
    lying = hold.lying
    start, entry, touches = _measured_from(work, bit, through)
    blocks = tuple(_blocks(bit, through))
    return Setup(
        work.member.mark, feature.id, feature.stage, "bore", "drill press", (), feature.cutters,
        cut_from="above", surface_down=lying.down, surface_against=lying.against, end_left=lying.end_left,
        tilt=hold.tilt, jig=hold.jig, stop=mark_of(work, start, entry, lying.against),
        fence=None if touches else 0.0 - work.planes()[lying.against].distance(entry), depth_from=start,
        path=(entry,) if through.exit is None else (entry, through.exit), touches=touches,
        rolled=_rolled(work, start, bit.axis) if hold.jig == "cradle" else None,
        block=" and ".join(b.kind for b in blocks), blocks=blocks,
    )  # fmt: skip


def _rolled(work: Work, start: str, axis: Vec) -> tuple[float, float]:
    """Roll about the length and lean along it that bring the bit's axis upright, from a face that looks up."""
    face = work.planes()[start].normal
    # seen from end B, w runs to t counter-clockwise; what looks up afterwards is rolled back to there
    roll = math.atan2(face[2], face[1]) - math.atan2(-axis[2], -axis[1])
    return math.remainder(roll, 2 * math.pi), math.asin(max(-1.0, min(1.0, axis[0])))


def _measured_from(work: Work, bit: Bit, through: Passage) -> tuple[str, Point, tuple[Point, float] | None]:
    """The plane that the mark and the depth are on, the mark, and what tells of a round surface entered."""
    planes = work.planes()
    if through.surface in planes:
        return through.surface, through.entry, None
    blank = work.member.blank.planes()
    start = min(blank, key=lambda i: (round(dot(blank[i].normal, bit.axis), 6), i))
    entry = _meets(blank[start], through.entry, bit.axis, 0.0)
    assert entry is not None  # a box has a face within 55 degrees of square to any direction
    deep = 0.0 if bit.floor is None else distance_along(through.entry, bit.axis, bit.floor)
    return start, entry, (through.entry, deep or 0.0)


def _bored_first(bit: Bit, through: Passage, base: Setup) -> Iterator[Setup]:
    """Of a socket that is reamed right through: a hole no wider than its narrow end, that leaves no surface."""
    if not isinstance(bit.round, Cone) or through.exit is None:
        return
    narrow = 2 * bit.round.radius_at(through.exit)
    if narrow > _NEEDLE:
        note = "bored no wider than the narrow end, then reamed: leaves none of the surfaces"
        yield replace(base, tool=Tool("drill", diameter=narrow), frees=(), residue_note=note)


def with_whole_bit(setup: Setup, units: LengthUnit) -> Setup:
    """A hole that is only bored to be reamed takes a bit that is sold."""
    tool = setup.tool
    if setup.operation != "bore" or setup.makes or tool is None or tool.diameter is None:
        return setup
    return replace(setup, tool=replace(tool, diameter=min(tool.diameter, whole_bits(tool.diameter, units))))


def _with_tool(bit: Bit, through: Passage, base: Setup, reach: Reach | None) -> Iterator[Setup]:
    entry = base.path[0]
    if isinstance(bit.round, Cone):
        included = 2 * math.atan(abs(bit.round.slope))
        tool = Tool("bit", diameter=2 * bit.round.radius_at(entry), included=included)
        yield replace(base, operation="ream", tool=tool, makes=bit.ids[:1])
        if bit.body is not None:
            note = "the straight part of the same bit, in the same stroke: no deeper than its taper"
            straight = Tool("bit", diameter=2 * bit.body.radius)
            yield replace(base, tool=straight, makes=bit.ids[1:], passes=0, residue_note=note)
        return
    deep = None if bit.floor is None else distance_along(entry, bit.axis, bit.floor)
    long = through.length if deep is None else deep
    # where the hole is deeper than the quill travels, the table is raised and the hole bored on
    travel = None if reach is None else reach.height
    passes = 1 if not travel else max(1, math.ceil(long / travel - 1e-9))
    yield replace(
        base, tool=Tool("drill", diameter=2 * bit.round.radius), makes=bit.ids, passes=passes,
        depth=None if deep is None else (deep, deep), depth_at=() if deep is None else ((entry, deep),),
    )  # fmt: skip


def mark_of(work: Work, surface: str, point: Point, against: str) -> Stop | None:
    """The foot of a point of a surface on its arris with the surface at the fence, as a distance from an end.

    Another arris where those two are parallel; None where no plane of the work crosses it.
    """
    planes = work.planes()
    there = [i for i in planes if is_outside(work, i)]
    for partner in (against, *there, *work.member.blank.planes()):
        line = meeting_line(planes[surface], planes[partner])
        if line is None:
            continue
        on, way = line
        at = along(on, way, dot(sub(point, on), way))
        found = []
        for start in there:
            square = dot(planes[start].normal, way)
            if start in (surface, partner) or abs(square) < _CROSSES:
                continue
            into = neg(way) if square > 0 else way
            off = distance_along(at, neg(into), planes[start])
            assert off is not None
            found.append((abs(square) < 1.0 - 1e-9, round(abs(off), 6), start, off))
        if found:
            _, _, start, off = min(found)
            middle = work.member.finished[0] / 2
            return Stop("A" if at[0] < middle else "B", (surface, partner), off, start, at)
    return None


def is_outside(work: Work, name: str) -> bool:
    """A plane of the work that a square or a rule can be laid to: wood is left on it, and none stands out past it."""
    seat = work.seat(work.planes()[name])
    return seat.area > 0.0 and seat.clear


# --- blocks ------------------------------------------------------------------------------------------------


def _blocks(bit: Bit, through: Passage) -> Iterator[Block]:
    """What is clamped on. Sizes: the mouth on that surface and so much wood beyond it."""
    across = 2 * bit.widest
    wide = across + 2 * BLOCK_OVER
    if through.beside is not None:
        yield Block("side block", through.beside, (through.length + across, wide, bit.widest + BLOCK_OVER))
    lean = 0.0 if through.plane is None else _lean(through.plane, bit.axis)
    if lean > WANDERS and through.beside is None:
        size = (across / math.cos(lean) + 2 * BLOCK_OVER, wide, across + BLOCK_OVER)
        yield Block("guide block", through.surface, size)
    if through.leaves is not None:
        lean = 0.0 if through.exit_plane is None else _lean(through.exit_plane, bit.axis)
        # the drill goes on until its far corner is out of the wood
        size = (across / math.cos(lean) + 2 * BLOCK_OVER, wide, across * math.sin(lean) + BLOCK_OVER)
        yield Block("backing board", through.leaves, size)


def _lean(plane: Plane, axis: Vec) -> float:
    """Radians between an axis and the square to a plane."""
    return math.acos(min(1.0, abs(dot(plane.normal, axis))))


# --- fitted on the work --------------------------------------------------------------------------------------


def _through_the_mate(work: Work, feature: Feature, bit: Bit) -> Setup:
    """Bored with a hand drill through the hole of the mate, once that is in place; its depth by a mark on the drill."""
    hole = feature.hole
    return Setup(
        work.member.mark, feature.id, feature.stage, "by hand", "hand", bit.ids, feature.cutters,
        tool=Tool("drill", diameter=2 * bit.round.radius), by_hand="fitted on the work",
        path=() if hole is None else (hole.entry,),
    )  # fmt: skip
