"""The holes of one row of fasteners: clearance, pilot, and the seats of heads and nuts; and whether they hold.

The head lies on its seat: on the face, on the floor of a counterbore, in a countersink, or on a spot face cut
square to the fastener on a face that slopes to it. Lengths are millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from plangen.design import design as d
from plangen.findings import DesignError, Finding, fail, warning
from plangen.geometry.bore_reach import Reach, lean_depth
from plangen.geometry.spans import Span
from plangen.geometry.surfaces import Cylinder, Form, Plane
from plangen.geometry.vectors import Point, Vec, along, dot, length, neg, scale, sub
from plangen.joinery.bores import Bore
from plangen.joinery.boring import hole_in
from plangen.joinery.meeting import Cut, Placed
from plangen.joinery.model import Driven, FeatureKind, Hole, HolePurpose, Stage
from plangen.joinery.piercing import wood_spans
from plangen.placing.boring import COUNTERSINK, LEAST_WALL, countersink_cutter, hole_cutter
from plangen.placing.scope import Scope
from plangen.tables.fasteners import EDGE_DISTANCE, END_DISTANCE, Fastener
from plangen.tables.woods import find_wood

Mouth: TypeAlias = tuple[Point, Vec]
"""Where a hole opens, and the way into the wood, world."""
LEAST_COVER = 1.0
"""Millimetres of wood left past a screw's point."""
_ON_SURFACE = 1e-6


@dataclass(frozen=True)
class Run:
    """One row of fasteners: the members passed, in order from the head, and the last one held in."""

    spec: d.Fastener
    fastener: Fastener
    passed: tuple[Placed, ...]
    holding: Placed | None
    entry: Plane
    """World plane of the face it enters by, outward."""
    entry_side: str
    axes: tuple[Point, ...]
    """Where each axis meets the entry face, world."""
    into: Vec
    """The way it is driven, world, unit."""

    @property
    def names(self) -> list[str]:
        return [p.name for p in (*self.passed, self.holding) if p is not None]


@dataclass(frozen=True)
class Holes:
    """What one row asks of its members."""

    cuts: tuple[Cut, ...]
    bores: tuple[Bore, ...]
    driven: tuple[Driven, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class Seat:
    """Where a head or nut lies: what is cut for it, and how deep below the face, along the axis, it then is."""

    kind: FeatureKind | None
    """None: it lies on the face itself."""
    diameter: float
    depth: float
    """Of what is cut, to its full diameter."""
    sunk: float
    """Of the seat itself: a flat head in a countersink lies where the cone is as wide as the head."""


ON_FACE = Seat(None, 0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Axis:
    """One fastener of a run: its axis, and the wood it meets."""

    run: Run
    joined: Sequence[Cut]
    at: Point
    """Where it meets the entry face, world."""
    scope: Scope

    @property
    def name(self) -> str:
        return f"{self.run.fastener.kind} {' to '.join(self.run.names)}"

    def said(self, mm: float) -> str:
        return self.scope.said(mm)

    def wood(self, placed: Placed) -> list[Span]:
        """Stretches of wood, from the entry face on. Raises DesignError where there is none."""
        spans = wood_spans(placed, self.joined, self.at, self.run.into)
        if not spans:
            text = f'its axis misses "{placed.name}", or all wood is cut away there; move it with at or inset'
            raise self.fails(text, placed.name)
        return spans

    def entering(self, placed: Placed) -> Mouth:
        return along(self.at, self.run.into, self.wood(placed)[0][0]), self.run.into

    def leaving(self, placed: Placed) -> Mouth:
        return along(self.at, self.run.into, self.wood(placed)[-1][1]), neg(self.run.into)

    def fails(self, text: str, *members: str) -> DesignError:
        return fail(self.run.spec.place, "fastener", f"{self.run.spec.kind}: {text}", *members)

    def warns(self, text: str, *members: str) -> Finding:
        return warning(self.run.spec.place, "fastener", f"{self.run.spec.kind}: {text}", *members)


def make_holes(run: Run, joined: Sequence[Cut], scope: Scope) -> Holes:
    """Every hole of a row. Raises DesignError where a fastener of it cannot hold or a hole cannot be bored."""
    cuts: list[Cut] = []
    bores: list[Bore] = []
    driven: list[Driven] = []
    findings: list[Finding] = []
    for at in run.axes:
        axis = Axis(run, joined, at, scope)
        cuts += _holes_on(axis)
        bores += _bores_on(axis, cuts)
        driven.append(_driven(axis))
        findings += [*_seat_advice(axis), *_near_sides(axis)]
    return Holes(tuple(cuts), tuple(bores), tuple(driven), tuple(dict.fromkeys(findings)))


def length_needed(runs: Sequence[Run], joined: Sequence[Cut], scope: Scope) -> float | None:
    """Of a rod cut to suit: what wood, washers and nuts need, the most of any; None for all else."""
    fastener = runs[0].fastener
    if fastener.family != "rod" or fastener.length is not None:
        return None
    return max(_grip(Axis(r, joined, at, scope))[1] for r in runs for at in r.axes)


def _holes_on(axis: Axis) -> Iterator[Cut]:
    run, spec = axis.run, axis.run.spec
    first, last = run.passed[0], run.passed[-1]
    if spec.nut_counterbore is not None and not run.fastener.nuts:
        raise fail(
            spec.nut_counterbore.place, "fastener", f"{spec.kind}: {run.fastener.name} has no nut", last.name
        )
    head, nut = _head_seat(axis), _nut_seat(axis)
    for placed in run.passed:
        # Bored from the side where its nut lies, as the first is from the side of the head.
        from_nut = nut.kind is not None and placed is last and placed is not first
        mouth = axis.leaving(placed) if from_nut else axis.entering(placed)
        yield _hole(axis, placed, mouth, run.fastener.clearance, "clearance", None)
    for seat, placed, mouth, wood in (
        (head, first, axis.entering(first), axis.wood(first)[0]),
        (nut, last, axis.leaving(last), axis.wood(last)[-1]),
    ):
        if seat.kind is not None:
            _check_seat(axis, placed, wood, seat)
            yield _seat(axis, placed, mouth, seat)
    if run.holding is not None:
        yield _pilot(axis, run.holding, head.sunk)
    elif run.fastener.family != "screw":
        _check_grip(axis)


# --- seats ------------------------------------------------------------------------------------------------


def _head_seat(axis: Axis) -> Seat:
    spec, first = axis.run.spec, axis.run.passed[0]
    if spec.counterbore is not None:
        return _counterbore(axis, spec.counterbore)
    if spec.countersink is not None:
        return _countersink(axis, axis.scope.length(spec.countersink), axis.entering(first))
    return _spot_face(axis, first, axis.entering(first)) if spec.spot_face is not None else ON_FACE


def _nut_seat(axis: Axis) -> Seat:
    spec, last = axis.run.spec, axis.run.passed[-1]
    if spec.nut_counterbore is not None:
        return _counterbore(axis, spec.nut_counterbore)
    if spec.spot_face is not None and axis.run.fastener.nuts:
        return _spot_face(axis, last, axis.leaving(last))
    return ON_FACE


def _counterbore(axis: Axis, spec: d.Counterbore) -> Seat:
    depth = axis.scope.length(spec.depth)
    return Seat("counterbore", axis.scope.length(spec.diameter), depth, depth)


def _countersink(axis: Axis, diameter: float, mouth: Mouth) -> Seat:
    """Sunk on a sloping face until its mouth is a full circle; the head goes down to where it fills the cone."""
    fastener = axis.run.fastener
    if diameter <= fastener.clearance:
        raise axis.fails(
            f"a countersink of {axis.said(diameter)} is no wider than the hole, {axis.said(fastener.clearance)}"
        )
    depth = lean_depth(diameter / 2, mouth[1], axis.run.entry.normal)
    slope = math.tan(COUNTERSINK[axis.scope.design.units] / 2)
    over = (diameter - (fastener.head_diameter or diameter)) / 2 / slope
    return Seat("countersink", diameter, depth, depth + over)


def _spot_face(axis: Axis, placed: Placed, mouth: Mouth) -> Seat:
    """As deep as makes it a full circle; none where the face is square to the fastener."""
    assert axis.run.spec.spot_face is not None
    diameter = axis.scope.length(axis.run.spec.spot_face)
    at, way = placed.frame.local_point(mouth[0]), placed.frame.local_direction(mouth[1])
    depth = _depth_of_circle(placed, at, way, diameter / 2)
    if depth is None:
        raise axis.fails(
            f'"{placed.name}" has no surface there that a spot face could be cut on', placed.name
        )
    return Seat("spot-face", diameter, depth, depth) if depth > _ON_SURFACE else ON_FACE


def _depth_of_circle(placed: Placed, at: Point, way: Vec, radius: float) -> float | None:
    """How deep a flat seat square to ``way`` must lie at a point of a body's plane or round side (its frame)."""
    for _, plane, _ in placed.body.carrying():
        if abs(plane.distance(at)) < _ON_SURFACE and dot(plane.normal, way) < 0:
            return lean_depth(radius, way, plane.normal)
    for shaping in placed.body.shapings:
        form = shaping.form
        if isinstance(form, Cylinder) and form.side == "post" and abs(form.distance(at)) < 1e-4:
            out = sub(at, form.point)
            out = sub(out, scale(form.axis, dot(out, form.axis)))
            is_radial = length(sub(scale(out, -1 / length(out)), way)) < 1e-6
            if is_radial and radius < form.radius:
                return form.radius - math.sqrt(form.radius**2 - radius**2)
    return None


def _seat(axis: Axis, placed: Placed, mouth: Mouth, seat: Seat) -> Cut:
    if seat.kind == "countersink":
        hole = hole_in(placed, *mouth, seat.diameter, seat.depth, "countersink")
        included = COUNTERSINK[axis.scope.design.units]
        cutter = countersink_cutter(hole.entry, hole.axis, seat.diameter, seat.depth, included)
        return _cut(axis, placed, hole, cutter)
    return _hole(
        axis,
        placed,
        mouth,
        seat.diameter,
        "spot-face" if seat.kind == "spot-face" else "counterbore",
        seat.depth,
    )


def _check_seat(axis: Axis, placed: Placed, wood: Span, seat: Seat) -> None:
    low, high = wood
    if max(seat.depth, seat.sunk) >= high - low:
        raise axis.fails(
            f'the {seat.kind}, {axis.said(seat.depth)} deep, goes right through "{placed.name}", '
            f"{axis.said(high - low)} thick there; make it shallower",
            placed.name,
        )


def _seat_advice(axis: Axis) -> Iterator[Finding]:
    """Seats that the iron does not fit."""
    fastener, run = axis.run.fastener, axis.run
    head = _head_seat(axis)
    iron = fastener.washer_diameter if fastener.washers == 2 else fastener.head_diameter
    if head.kind == "countersink" and head.sunk < head.depth - 1e-6:
        yield axis.warns(
            f"its head, {axis.said(fastener.head_diameter or 0.0)} across, stands {axis.said(head.depth - head.sunk)} "
            f"proud of a countersink of {axis.said(head.diameter)}; make it as wide as the head",
            run.passed[0].name,
        )
    for seat, across, what, placed in (
        (head, iron, "head or washer", run.passed[0]),
        (_nut_seat(axis), fastener.washer_diameter, "washer", run.passed[-1]),
    ):
        if seat.kind in ("counterbore", "spot-face") and across is not None and seat.diameter < across - 1e-6:
            yield axis.warns(
                f"its {what}, {axis.said(across)} across, does not go into the {seat.kind} of "
                f"{axis.said(seat.diameter)}",
                placed.name,
            )


# --- does it hold -----------------------------------------------------------------------------------------


def _check_grip(axis: Axis) -> None:
    """A bolt or rod reaches through the wood and takes its washers and nuts."""
    fastener = axis.run.fastener
    if fastener.length is None:
        return
    grip, needed = _grip(axis)
    if fastener.length < needed:
        raise axis.fails(
            f"{fastener.name} is too short: {axis.said(grip)} of wood, washer and nut need {axis.said(needed)}, "
            f"and it has {axis.said(fastener.length)}; take a longer one or counterbore",
            *(p.name for p in axis.run.passed),
        )


def _grip(axis: Axis) -> tuple[float, float]:
    """Wood between the seats of head and nut, and the length that takes it with washers and nuts, millimetres."""
    fastener = axis.run.fastener
    spans = [s for p in axis.run.passed for s in axis.wood(p)]
    sunk = _head_seat(axis).sunk + _nut_seat(axis).sunk
    grip = max(s[1] for s in spans) - min(s[0] for s in spans) - sunk
    iron = fastener.nuts * (fastener.nut_height or 0.0) + fastener.washers * (
        fastener.washer_thickness or 0.0
    )
    return grip, grip + iron


def _pilot(axis: Axis, holding: Placed, sunk: float) -> Cut:
    fastener = axis.run.fastener
    wood = find_wood(holding.body.stock.species.lower(), "mm" if fastener.metric else "in")
    pilot = fastener.pilot_hardwood if wood is not None and wood[1].hard else fastener.pilot_softwood
    if pilot is None:
        return _hole(axis, holding, axis.entering(holding), fastener.clearance, "bolt", None)
    if fastener.length is None:
        raise axis.fails("its length is needed for the pilot hole")
    entering, leaving = axis.wood(holding)[0]
    depth = fastener.length + sunk - entering
    if depth <= fastener.diameter:
        raise axis.fails(
            f'{fastener.name} is too short to hold in "{holding.name}": '
            f"{axis.said(max(depth, 0.0))} of its {axis.said(fastener.length)} would be in it",
            holding.name,
        )
    if depth >= leaving - entering - LEAST_COVER:
        raise axis.fails(
            f'{fastener.name} would come out of "{holding.name}", which has '
            f"{axis.said(leaving - entering)} of wood there for {axis.said(depth)} of screw; take a shorter one",
            holding.name,
        )
    return _hole(axis, holding, axis.entering(holding), pilot, "pilot", depth)


# --- the sides of the wood --------------------------------------------------------------------------------


def _near_sides(axis: Axis) -> Iterator[Finding]:
    """Too little wood beside a fastener. Raises DesignError where its hole breaks out."""
    run, d_ = axis.run, axis.run.fastener.diameter
    for placed in (*run.passed, *([run.holding] if run.holding is not None else [])):
        span = (axis.wood(placed)[0][0], axis.wood(placed)[-1][1])
        if placed is run.holding and run.fastener.length is not None:
            span = (span[0], min(span[1], run.fastener.length))
        ends = [placed.frame.local_point(along(axis.at, run.into, s)) for s in span]
        way = placed.frame.local_direction(run.into)
        reach = Reach(ends[0], ends[1], way, max(run.fastener.clearance, d_) / 2, way, way)
        for name, plane, _ in placed.body.carrying():
            if min(abs(plane.distance(p)) for p in ends) < _ON_SURFACE:
                continue
            apart = min(-plane.distance(p) for p in ends)
            if -reach.beyond(plane) < LEAST_WALL and apart > 0:
                raise axis.fails(
                    f'its hole breaks out of the side of "{placed.name}", {axis.said(apart)} from its middle; move it',
                    placed.name,
                )
            is_end = _is_end_grain(placed, name)
            least, rule = (END_DISTANCE if is_end else EDGE_DISTANCE)[run.fastener.family]
            if 0 < apart < least * d_ - 1e-6:
                where = "the end" if is_end else "the edge"
                yield axis.warns(
                    f'in "{placed.body.name}" its middle is {axis.said(apart)} from {where}, less than '
                    f"{least:g} diameters, {axis.said(least * d_)} ({rule}): the wood may split",
                    placed.name,
                )


def _is_end_grain(placed: Placed, surface: str) -> bool:
    """A surface that the grain runs out through; sheets have none."""
    if placed.body.stock.kind == "sheet":
        return False
    side = (
        surface if surface in ("back edge", "A", "B", "edge", "face", "back") else surface.partition(" ")[2]
    )
    return side in (("A", "B") if placed.body.grain == "length" else ("edge", "back edge"))


# --- cuts and bores ---------------------------------------------------------------------------------------


def _hole(
    axis: Axis, placed: Placed, mouth: Mouth, diameter: float, purpose: HolePurpose, depth: float | None
) -> Cut:
    hole = hole_in(placed, *mouth, diameter, depth, purpose)
    return _cut(axis, placed, hole, hole_cutter(hole.entry, hole.axis, diameter, depth))


def _cut(axis: Axis, placed: Placed, hole: Hole, cutter: tuple[Form, ...]) -> Cut:
    run = axis.run
    kinds: dict[HolePurpose, FeatureKind] = {
        "counterbore": "counterbore", "countersink": "countersink", "spot-face": "spot-face",
    }  # fmt: skip
    stage: Stage = "on the work" if hole.purpose == "pilot" else run.spec.when
    mate = next((n for n in run.names if n != placed.name), placed.name)
    return Cut(
        placed.name,
        kinds.get(hole.purpose, "hole"),
        (cutter,),
        stage,
        "worked",
        axis.name,
        mate,
        run.spec.place,
        hole,
    )


def _bores_on(axis: Axis, cuts: Sequence[Cut]) -> Iterator[Bore]:
    """The fastener's own stretch in each member, as wide as its hole or itself, and its seats."""
    run = axis.run
    for placed in (*run.passed, *([run.holding] if run.holding is not None else [])):
        spans = axis.wood(placed)
        low, high = spans[0][0], spans[-1][1]
        radius = run.fastener.clearance / 2
        if placed is run.holding:
            radius = run.fastener.diameter / 2
            if run.fastener.length is not None:
                high = min(high, run.fastener.length + _head_seat(axis).sunk)
        yield _stretch(axis, placed, low, high, radius)
    first, last = run.passed[0], run.passed[-1]
    head, nut = _head_seat(axis), _nut_seat(axis)
    if head.kind is not None and head.depth > 0:
        start = axis.wood(first)[0][0]
        yield _stretch(axis, first, start, start + head.depth, head.diameter / 2)
    if nut.kind is not None:
        end = axis.wood(last)[-1][1]
        yield _stretch(axis, last, end - nut.depth, end, nut.diameter / 2)


def _stretch(axis: Axis, placed: Placed, low: float, high: float, radius: float) -> Bore:
    run = axis.run
    a, b = along(axis.at, run.into, low), along(axis.at, run.into, high)
    what = f"{run.spec.kind} {run.fastener.name}"
    return Bore(what, placed.name, a, b, run.into, radius, run.spec.place)


def _driven(axis: Axis) -> Driven:
    """The metal itself, from the seat of its head to its point or to the seat of its nut."""
    run, fastener = axis.run, axis.run.fastener
    head, nut = _head_seat(axis), _nut_seat(axis)
    start = axis.wood(run.passed[0])[0][0] + head.sunk
    end = axis.wood(run.passed[-1])[-1][1] - nut.sunk
    if run.holding is not None and fastener.length is not None:
        end = start + fastener.length
    wide = fastener.head_diameter or 2 * fastener.diameter
    washer = fastener.washer_diameter or wide
    under_head = washer if fastener.washers == 2 else wide
    flush = head.sunk > 0 or fastener.kind == "wood screw"
    height = (fastener.head_height or fastener.nut_height or 0.0) + (fastener.washer_thickness or 0.0)
    return Driven(
        axis.name,
        fastener.family,
        tuple(run.names),
        along(axis.at, run.into, start),
        along(axis.at, run.into, end),
        run.into,
        fastener.diameter / 2,
        under_head / 2,
        0.0 if flush else height,
        washer / 2 if fastener.nuts else None,
        run.spec.when,
        run.spec.place,
    )
