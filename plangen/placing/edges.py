"""Arrises rounded over or chamfered: which they are, what takes them off, and whether there is room.

An arris is that of the body, before any joint: so the order of joints and edge work is free. Only straight
arrises between two plane surfaces, and the rim of a square-cut round end, are made; the rest is told in words.
Lengths are millimetres, in the member's frame.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from plangen.design import design as d
from plangen.findings import DesignError, Finding, fail, note
from plangen.geometry.region import convex_region
from plangen.geometry.surfaces import Cone, Cylinder, Extruded, Plane
from plangen.geometry.vectors import Point, Vec, add, along, cross, dot, length, neg, scale, sub, unit
from plangen.placing.body import BOUND_MM, Body, Shaping, ShapingKind
from plangen.placing.directions import LOCAL, OWN, side_facing
from plangen.placing.scope import Scope

_LONG_ARRISES = (("face", "edge"), ("face", "back edge"), ("back", "edge"), ("back", "back edge"))
_SIDE_FACES = ("edge", "back edge", "face", "back")
_WORDS = {own: word for word, own in OWN.items()}
_SAME = 1e-6
_NO_ARRIS = math.cos(math.radians(10))
"""Surfaces that turn by less than 10 degrees meet in no arris that a cutter could be run along."""


@dataclass(frozen=True)
class Arris:
    """A straight arris of a body: its surfaces, their polygons, and its ends, the one nearer end A first."""

    names: tuple[str, str]
    faces: tuple[int, int]
    """Numbers of its surfaces among the body's planes, whose names may repeat."""
    planes: tuple[Plane, Plane]
    start: Point
    end: Point

    @property
    def way(self) -> Vec:
        return unit(sub(self.end, self.start))

    @property
    def length(self) -> float:
        return length(sub(self.end, self.start))

    def inward(self, which: int) -> Vec:
        """In one of the two surfaces, square to the arris, into the surface."""
        plane, other = self.planes[which], self.planes[1 - which]
        across = unit(cross(self.way, plane.normal))
        return across if dot(across, other.normal) < 0 else neg(across)


@dataclass(frozen=True)
class Work:
    """One arris as it is worked."""

    arris: Arris
    spec: d.EdgeWork
    size: float
    set_back: float
    """How much is taken off each surface."""
    low: float
    high: float
    """The stretch worked, along the arris from its start."""

    @property
    def kind(self) -> ShapingKind:
        return "round-over" if self.spec.round_over is not None else "chamfer"

    def shaping(self) -> Shaping:
        arris = self.arris
        tangent = along(arris.start, arris.inward(0), self.set_back)
        normal = unit(add(arris.planes[0].normal, arris.planes[1].normal))
        flat = Plane(normal, dot(normal, tangent)).squared()
        side = " and ".join(_word(n) for n in arris.names)
        if self.kind == "chamfer":
            return Shaping("chamfer", side, flat, self.spec.place, self.spec.when, within=self._stops())
        axis = along(tangent, arris.planes[0].normal, -self.size)
        round_ = Cylinder(axis, arris.way, self.size, "post")
        within = (flat, *self._stops())
        return Shaping("round-over", side, round_, self.spec.place, self.spec.when, within=within)

    def _stops(self) -> tuple[Plane, ...]:
        way, found = self.arris.way, []
        if self.low > _SAME:
            found.append(Plane(way, dot(way, along(self.arris.start, way, self.low))).squared())
        if self.high < self.arris.length - _SAME:
            found.append(Plane(neg(way), -dot(way, along(self.arris.start, way, self.high))).squared())
        return tuple(found)


def with_edge_work(scope: Scope, name: str, member: d.Member, body: Body) -> Body:
    """The body with its arrises worked. Raises DesignError where there is no such arris, or no room on it."""
    worker = _Worker(scope, name, body)
    works: list[Work] = []
    shapings: list[Shaping] = []
    for spec in member.edge_work:
        works += worker.works(spec)
        shapings += worker.round_ends(spec)
    worker.check_room(works)
    return replace(
        body,
        shapings=(*body.shapings, *(w.shaping() for w in works), *shapings),
        notes=(*body.notes, *dict.fromkeys(worker.notes)),
        findings=(*body.findings, *dict.fromkeys(worker.findings)),
    )


class _Worker:
    """The arrises of one body."""

    def __init__(self, scope: Scope, name: str, body: Body) -> None:
        self.scope, self.name, self.body = scope, name, body
        self.notes: list[str] = []
        self.findings: list[Finding] = []
        self._named = [(n, f) for n, f in body.surfaces() if isinstance(f, Plane)]
        region = convex_region([p for _, p in self._named], BOUND_MM)
        self._faces = () if region is None else region.faces
        self._curved = _curved_sides(body)

    def _fails(self, spec: d.EdgeWork, text: str) -> DesignError:
        return fail(spec.place, "edge work", f'"{self.name}": {self._called(spec)}: {text}', self.name)

    def _called(self, spec: d.EdgeWork) -> str:
        word = "round-over" if spec.round_over is not None else "chamfer"
        return f"{word} of {self.scope.said(self._size(spec))}"

    def _size(self, spec: d.EdgeWork) -> float:
        said = spec.round_over if spec.round_over is not None else spec.chamfer
        assert said is not None
        size = self.scope.length(said)
        if size <= _SAME:
            raise fail(said.place, "size", f'"{said.text}": a size must be greater than nothing', self.name)
        return size

    def _pairs(self, spec: d.EdgeWork) -> list[tuple[str, str]]:
        """The blank's sides that meet in each arris named."""
        if not spec.arrises:
            return list(_LONG_ARRISES)
        axes, middle = self.body.frame.axes, self.body.frame.point(scale(self.body.size, 0.5))
        a_pair = [tuple(side_facing(axes, str(s), middle, spec.place) for s in pair) for pair in spec.arrises]
        return [(p[0], p[1]) for p in a_pair]

    # --- straight arrises ---

    def works(self, spec: d.EdgeWork) -> Iterator[Work]:
        size = self._size(spec)
        for pair in self._pairs(spec):
            if self._is_round_end(pair):
                continue
            if any(side in self._curved for side in pair):
                self._tell(spec, pair)
                continue
            found = list(self._arrises(pair))
            if not found:
                words = " and ".join(_word(s) for s in pair)
                raise self._fails(spec, f"the {words} do not meet in an arris; correct arrises")
            for arris in found:
                yield self._work(spec, arris, size)

    def _arrises(self, pair: tuple[str, str]) -> Iterator[Arris]:
        """Edges common to any surface of one side and any of the other."""
        a_side, b_side = ([(i, p) for i, p in self._faces if self._is_of(i, side)] for side in pair)
        for i, a in a_side:
            for j, b in b_side:
                ends = _shared_edge(a, b)
                pa, pb = self._named[i][1], self._named[j][1]
                if i != j and ends is not None and dot(pa.normal, pb.normal) < _NO_ARRIS:
                    start, end = sorted(ends)
                    names = (self._named[i][0], self._named[j][0])
                    yield Arris(names, (i, j), (pa, pb), start, end)

    def _is_of(self, index: int, side: str) -> bool:
        if index < 0:
            return False
        name = self._named[index][0]
        return name == side or (name not in LOCAL and name.partition(" ")[2] == side)

    def _work(self, spec: d.EdgeWork, arris: Arris, size: float) -> Work:
        set_back = size
        if spec.round_over is not None:
            # Between surfaces whose normals turn by a, the circle touches r tan(a / 2) from the arris.
            turn = math.acos(max(-1.0, min(1.0, dot(arris.planes[0].normal, arris.planes[1].normal))))
            set_back = size * math.tan(turn / 2)
        low = 0.0 if spec.from_end_a is None else self.scope.length(spec.from_end_a)
        high = arris.length - (0.0 if spec.from_end_b is None else self.scope.length(spec.from_end_b))
        stopped = spec.from_end_a is not None or spec.from_end_b is not None
        if stopped and abs(arris.way[0]) < 0.5:
            words = " and ".join(_word(n) for n in arris.names)
            raise self._fails(
                spec, f"the arris of {words} runs across the piece: it has no end A to stop from"
            )
        if min(low, arris.length - high) < -_SAME or high - low < _SAME:
            raise self._fails(
                spec,
                f"nothing is left to work of an arris {self.scope.said(arris.length)} long; correct its stops",
            )
        if stopped:
            self._tell_stop(spec)
        return Work(arris, spec, size, set_back, low, high)

    def _tell_stop(self, spec: d.EdgeWork) -> None:
        self.notes.append(
            f"{self._called(spec).capitalize()}: the stop is where its full section ends; drawn square, what the "
            "cutter leaves running out beyond it is left as it comes."
        )

    # --- room ---

    def check_room(self, works: Sequence[Work]) -> None:
        """Raises DesignError where what is taken off a surface runs into its other side, or into what is taken off
        there."""
        for work in works:
            for which in (0, 1):
                polygon = next(p for i, p in self._faces if i == work.arris.faces[which])
                for other in _opposite_edges(polygon, work.arris):
                    self._check_against(work, which, other, works)

    def _check_against(
        self, work: Work, which: int, other: tuple[Point, Point], works: Sequence[Work]
    ) -> None:
        arris, name = work.arris, work.arris.names[which]
        normal = arris.planes[which].normal
        into = cross(normal, unit(sub(other[1], other[0])))
        face = arris.faces[which]
        facing = [w for w in works if face in w.arris.faces and _is_edge(w.arris, other)]
        taken = max((w.set_back for w in facing if _abreast(work, w)), default=0.0)
        for at in (work.low, work.high):
            here = along(arris.start, arris.way, at)
            wide = dot(sub(here, other[0]), into)
            left = dot(sub(along(here, arris.inward(which), work.set_back), other[0]), into) - taken
            if left < -_SAME:
                both = f"{self.scope.said(work.set_back)} from it"
                if taken:
                    both += f" and {self.scope.said(taken)} from the other side"
                raise self._fails(
                    work.spec,
                    f"no room on the {_word(name)}, {self.scope.said(wide)} wide there: it takes {both}; "
                    "at most half the width from each side",
                )

    # --- round ends, curves ---

    def _is_round_end(self, pair: tuple[str, str]) -> bool:
        return self.body.is_round and len({"A", "B"}.intersection(pair)) == 1

    def round_ends(self, spec: d.EdgeWork) -> Iterator[Shaping]:
        """The rim of a round member's end, chamfered by a cone."""
        done = set()
        for pair in self._pairs(spec):
            if not self._is_round_end(pair):
                if self.body.is_round:
                    raise self._fails(
                        spec, "a round piece has no such arris; name an end and the face: [end A, face]"
                    )
                continue
            end = "A" if "A" in pair else "B"
            if end in done:
                continue
            done.add(end)
            if spec.from_end_a is not None or spec.from_end_b is not None:
                raise self._fails(spec, "the rim of a round end is worked all round: it has no stops")
            shaping = self._rim(spec, end)
            if shaping is None:
                self._tell(spec, (end, "face"))
            else:
                yield shaping

    def _rim(self, spec: d.EdgeWork, end: str) -> Shaping | None:
        """None where it is not a chamfer of a square end of a cylinder: a note says it."""
        body = self.body
        rounds = [s.form for s in body.shapings if isinstance(s.form, Cylinder | Cone)]
        trimmed = any(s.side == end for s in body.shapings)
        if spec.chamfer is None or trimmed or len(rounds) != 1 or not isinstance(rounds[0], Cylinder):
            return None
        size, radius = self._size(spec), rounds[0].radius
        if size >= radius - _SAME:
            raise self._fails(spec, f"it takes more than the whole end, {self.scope.said(2 * radius)} across")
        at = 0.0 if end == "A" else body.size[0]
        centre = (at, body.size[1] / 2, body.size[2] / 2)
        inward: Vec = (1.0, 0.0, 0.0) if end == "A" else (-1.0, 0.0, 0.0)
        return Shaping(
            "chamfer",
            f"{_word(end)}",
            Cone(centre, inward, radius - size, 1.0, "post"),
            spec.place,
            spec.when,
        )

    def _tell(self, spec: d.EdgeWork, pair: tuple[str, str]) -> None:
        """A curved arris is worked by a router that follows it, and not drawn."""
        size = self.scope.said(self._size(spec))
        verb = "Round over" if spec.round_over is not None else "Chamfer"
        words = " and ".join(_word(s) for s in pair)
        where = (
            "all round"
            if not spec.arrises and self._is_all_curved()
            else f"along the curved arris of {words}"
        )
        self.notes.append(f"{verb} {size} {where}, by router.")
        text = (
            f'"{self.name}": {self._called(spec)} {where}: a curved arris is told on the sheet and not drawn'
        )
        self.findings.append(note(spec.place, "edge work", text, self.name))

    def _is_all_curved(self) -> bool:
        return {"edge", "back edge"} <= self._curved


def _curved_sides(body: Body) -> set[str]:
    """Sides of a body that are no plane: worked to a curve or an outline with curves."""
    found = {s.side for s in body.shapings if s.kind == "curve"}
    if any(isinstance(s.form, Extruded) for s in body.shapings):
        found |= {"edge", "back edge", "A", "B"}
    return found


def _shared_edge(a: Sequence[Point], b: Sequence[Point]) -> tuple[Point, Point] | None:
    for p, q in zip(a, [*a[1:], a[0]], strict=True):
        for r, s in zip(b, [*b[1:], b[0]], strict=True):
            if length(sub(p, s)) < _SAME and length(sub(q, r)) < _SAME:
                return p, q
    return None


def _is_edge(arris: Arris, edge: tuple[Point, Point]) -> bool:
    ends = (arris.start, arris.end)
    return all(any(length(sub(p, q)) < _SAME for q in ends) for p in edge)


def _opposite_edges(polygon: Sequence[Point], arris: Arris) -> list[tuple[Point, Point]]:
    """The edges of a surface that share no corner with the arris."""
    ends = (arris.start, arris.end)
    edges = zip(polygon, [*polygon[1:], polygon[0]], strict=True)
    return [e for e in edges if not any(length(sub(p, q)) < _SAME for p in e for q in ends)]


def _abreast(a: Work, b: Work) -> bool:
    """The two stretches lie beside each other somewhere, along the first's arris."""
    at = sorted(
        dot(sub(along(b.arris.start, b.arris.way, s), a.arris.start), a.arris.way) for s in (b.low, b.high)
    )
    return at[0] < a.high - _SAME and at[1] > a.low + _SAME


def _word(name: str) -> str:
    own = name if name in LOCAL else name.partition(" ")[2]
    return _WORDS.get(own, own)
