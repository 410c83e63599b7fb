"""Holes bored into a member: from which surface, which way, how deep, with what mouth; and whether they can be.

Everything is worked out on the body, before any joint. Lengths are millimetres, in the member's frame.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from plangen.design import design as d
from plangen.findings import DesignError, Finding, fail, warning
from plangen.geometry.bore_reach import Reach, lean_depth
from plangen.geometry.spans import Span, spans_left
from plangen.geometry.surfaces import Cone, Cylinder, Extruded, Form, Plane
from plangen.geometry.vectors import Point, Vec, along, dot, neg, scale, squared
from plangen.placing.body import EDGE_WORK, Body, Bored, BoredKind, Opening
from plangen.placing.directions import LOCAL, OWN, local_normal, side_facing
from plangen.placing.scope import Scope
from plangen.units import MM_PER_INCH, STYLES, LengthUnit, UnitStyle, length_text_with_unit

GLANCING = 0.1
"""Cosine to the face below which a drill slides along the wood and does not enter (common practice)."""
LEAST_WALL = 1.0
"""Millimetres: a thinner wall beside or under a hole breaks out while it is bored (common practice)."""
THIN_WALL = 3.0
"""Millimetres: a wall thinner than this is told (common practice: an eighth of an inch)."""
COUNTERSINK = {"in": math.radians(82), "mm": math.radians(90)}
"""Included angle of flat heads, inch and metric (common practice: 82 and 90 degrees)."""
_BLOCK_OVER = {"in": 12.7, "mm": 12.0}
"""Wood of the clamped block beyond the seat's far side (common practice)."""
_BLOCK_STEP = {"in": 25.4 / 8, "mm": 1.0}
_BITS: dict[LengthUnit, UnitStyle] = {
    "in": UnitStyle("in", MM_PER_INCH / 64, Fraction(1, 4)),
    "mm": UnitStyle("mm", Fraction(1, 10), Fraction(1, 2)),
}
"""Bits are told as finely as they are sold."""
_FACE_WORDS = {own: word for word, own in OWN.items()}
_MISPLACED = 1e-3


# --- cutters, for fasteners too -----------------------------------------------------------------------------


def hole_cutter(entry: Point, way: Vec, diameter: float, depth: float | None) -> tuple[Form, ...]:
    """A round hole, through or with a flat floor so deep along the axis."""
    wall = Cylinder(entry, way, diameter / 2, "hole")
    return (wall,) if depth is None else (wall, _across(entry, way, depth))


def countersink_cutter(
    entry: Point, way: Vec, diameter: float, sunk: float, included: float
) -> tuple[Form, ...]:
    """A conical mouth, ``diameter`` wide ``sunk`` below the entry; above that, where it is sunk, straight-sided."""
    cone = Cone(along(entry, way, sunk), way, diameter / 2, -math.tan(included / 2), "hole")
    return (cone,) if sunk < 1e-9 else (cone, Cylinder(entry, way, diameter / 2, "hole"))


def _across(entry: Point, way: Vec, depth: float) -> Plane:
    """The plane square to the axis so deep, facing back out of the hole."""
    return Plane(neg(way), -dot(way, along(entry, way, depth))).squared()


# --- the holes of a member ----------------------------------------------------------------------------------


def with_holes(scope: Scope, name: str, member: d.Member, body: Body) -> Body:
    """The body with every hole that the member's entry asks for. Raises DesignError where one cannot be bored."""
    openings: list[Opening] = []
    findings: list[Finding] = []
    for spec in member.holes:
        hole = _Boring(scope, name, body, spec)
        openings += hole.openings()
        findings += hole.thin_walls()
    return replace(body, openings=(*body.openings, *openings), findings=(*body.findings, *findings))


class _Boring:
    """One hole as it is laid out."""

    def __init__(self, scope: Scope, name: str, body: Body, spec: d.BoredHole) -> None:
        self.scope, self.name, self.body, self.spec = scope, name, body, spec
        self.diameter = self._size(spec.diameter)
        self.side, self.surface = self._surface()
        self.way = self._way()
        self.entry, self.room = self._entry()
        self.depth = None if spec.depth is None else self._size(spec.depth)
        self._check_depth()

    # --- how it lies ---

    def _size(self, expression: d.Expression) -> float:
        size = self.scope.length(expression)
        if size <= _MISPLACED:
            raise self.fails(f'"{expression.text}": a size must be greater than nothing')
        return size

    def fails(self, text: str) -> DesignError:
        return fail(
            self.spec.place,
            "hole",
            f'"{self.name}": the hole in {the_surface(str(self.spec.in_))}: {text}',
            self.name,
        )

    def said(self, mm: float) -> str:
        return self.scope.said(mm)

    @property
    def _stated(self) -> Point:
        """The stated middle, on the box of the piece."""
        a, b = (self.scope.length(e) for e in self.spec.at)
        size = self.body.size
        on_box: dict[str, Point] = {
            "face": (a, b, size[2]), "back": (a, b, 0.0), "edge": (a, 0.0, b), "back edge": (a, size[1], b),
            "A": (0.0, a, b), "B": (size[0], a, b),
        }  # fmt: skip
        return on_box[self.side]

    def _surface(self) -> tuple[str, Plane]:
        """The blank's side that is meant, and the plane there that the middle lies on."""
        body, spec = self.body, self.spec
        middle = body.frame.point(scale(body.size, 0.5))
        self.side = side_facing(body.frame.axes, str(spec.in_), middle, spec.place)
        if any(isinstance(s.form, Extruded) for s in body.shapings) and self.side not in ("face", "back"):
            raise self.fails("that surface is worked to a curve; bore from the face or the back")
        outward = local_normal(self.side)
        found = [
            p
            for n, p, _ in body.carrying()
            if (n == self.side or _is_shaped(n, self.side)) and dot(p.normal, outward) > GLANCING
        ]
        on_wood = [p for p in found if self._carries(p)]
        if on_wood:
            return self.side, on_wood[0]
        if found:
            raise self.fails(f"its middle does not lie on that surface of a piece {self._piece()}")
        return self.side, body.box.planes()[self.side]

    def _piece(self) -> str:
        return " x ".join(self.said(s) for s in self.body.size)

    def _carries(self, plane: Plane) -> bool:
        """The stated middle, carried square to the box onto the plane, lies on the body."""
        p = self._onto(plane)
        others = (q for q in self.body.planes() if q != plane)
        return all(q.distance(p) < _MISPLACED for q in others)

    def _onto(self, plane: Plane) -> Point:
        outward = local_normal(self.side)
        return along(self._stated, outward, -plane.distance(self._stated) / dot(plane.normal, outward))

    def _way(self) -> Vec:
        if self.spec.going is None:
            return squared(neg(self.surface.normal))
        way = squared(self.body.frame.local_direction(self.scope.direction(self.spec.going)))
        if dot(way, self.surface.normal) > -GLANCING:
            raise self.fails(
                f'it cannot enter there going "{self.spec.going.text}"; name another surface with in'
            )
        return way

    def _entry(self) -> tuple[Point, Span]:
        """Where the axis meets the wood, and the stretch of wood from there on."""
        start = self._onto(self.surface)
        spans = self._spans(along(start, self._inward, self.diameter / 4) if self.spec.half_round else start)
        if not spans:
            raise self.fails("its axis misses the wood")
        low, high = spans[0]
        if self.is_flat:
            if low > _MISPLACED:
                raise self.fails("its axis misses the wood at that surface")
            return start, (0.0, high)
        return along(start, self.way, low), (0.0, high - low)

    @property
    def is_flat(self) -> bool:
        """It enters by a plane of the body; by a round surface else."""
        return any(p == self.surface for _, p, _ in self.body.carrying())

    @property
    def _inward(self) -> Vec:
        """From the open side of a half-round seat into the wood."""
        return neg(self._open_faces()[0].normal)

    def _open_faces(self) -> list[Plane]:
        """The planes, beside the one it enters by, that the middle of a half-round seat lies on."""
        start = self._onto(self.surface)
        found = [
            p for _, p, _ in self.body.carrying() if p != self.surface and abs(p.distance(start)) < _MISPLACED
        ]
        if not found:
            raise self.fails("half round: its middle must lie on an arris of that surface; correct at")
        return found

    def _spans(self, start: Point) -> list[Span]:
        shaped = [s.cutter for s in self.body.shapings if s.kind not in EDGE_WORK]
        return [
            s for s in spans_left(self.body.box.planes().values(), shaped, start, self.way) if s[1] > 1e-6
        ]

    def _check_depth(self) -> None:
        if self.depth is not None and self.depth > self.room[1] - LEAST_WALL:
            raise self.fails(
                f"{self.said(self.depth)} deep in {self.said(self.room[1])} of wood, it comes out on the far side; "
                "leave depth away to bore it right through"
            )

    # --- what is bored ---

    def openings(self) -> list[Opening]:
        """The hole, then its mouth. Raises DesignError where they break out."""
        spec = self.spec
        mouth = self._mouth()
        kind: BoredKind = "seat" if spec.half_round else "hole"
        cutter = hole_cutter(self.entry, self.way, self.diameter, self.depth)
        note = self._seat_note() if spec.half_round else self._purpose()
        made = [self._opening(kind, (cutter,), self.diameter, self.depth, note)]
        self._check_walls()
        return made if mouth is None else [*made, mouth]

    def _opening(
        self,
        kind: BoredKind,
        cutters: tuple[tuple[Form, ...], ...],
        size: float,
        depth: float | None,
        note: str,
    ) -> Opening:
        bored = Bored(self.entry, self.way, size, depth, self.side)
        return Opening(kind, cutters, self.spec.place, self.spec.when, note, bored)

    def _mouth(self) -> Opening | None:
        spec = self.spec
        if spec.counterbore is not None:
            size, depth = self._size(spec.counterbore.diameter), self._size(spec.counterbore.depth)
            self._check_mouth("counterbore", size, depth)
            cutter = hole_cutter(self.entry, self.way, size, depth)
            return self._opening("counterbore", (cutter,), size, depth, "")
        if spec.spot_face is not None:
            size = self._size(spec.spot_face)
            depth = self._lean(size)
            if depth < _MISPLACED:
                raise self.fails("the surface is square to it, and needs no spot face")
            self._check_mouth("spot face", size, depth)
            cutter = hole_cutter(self.entry, self.way, size, depth)
            return self._opening("spot-face", (cutter,), size, depth, "")
        if spec.countersink is not None:
            size, included = self._size(spec.countersink), COUNTERSINK[self.scope.design.units]
            sunk = self._lean(size)
            self._check_mouth("countersink", size, sunk + size / 2 / math.tan(included / 2))
            cutter = countersink_cutter(self.entry, self.way, size, sunk, included)
            return self._opening("countersink", (cutter,), size, sunk, "")
        return None

    def _lean(self, size: float) -> float:
        """How deep a mouth lies on a surface that slopes to the hole, to be a full circle."""
        return lean_depth(size / 2, self.way, self.surface.normal) if self.is_flat else 0.0

    def _check_mouth(self, what: str, size: float, depth: float) -> None:
        if size <= self.diameter:
            raise self.fails(
                f"its {what}, {self.said(size)}, must be wider than the hole, {self.said(self.diameter)}"
            )
        room = self.room[1] if self.depth is None else self.depth
        if depth >= room - _MISPLACED:
            raise self.fails(
                f"its {what} reaches {self.said(depth)} down: all of the hole's {self.said(room)}"
            )
        self._check_reach(self._reach(size, depth), what)

    # --- walls ---

    def _reach(self, size: float, depth: float | None) -> Reach:
        far = along(self.entry, self.way, self.room[1] if depth is None else depth)
        leaving = next((p for p in self._planes() if depth is None and abs(p.distance(far)) < 1e-6), None)
        mouth = self.surface.normal if self.is_flat else self.way
        return Reach(
            self.entry, far, self.way, size / 2, mouth, self.way if leaving is None else leaving.normal
        )

    def _planes(self) -> list[Plane]:
        return [p for _, p, _ in self.body.carrying()]

    def _walls(self, reach: Reach) -> Iterator[tuple[str, float]]:
        """Wood left between a bore and each surface that it neither enters nor leaves by."""
        opened = self._open_faces() if self.spec.half_round else []
        far = reach.far
        for name, plane, _ in self.body.carrying():
            # what is open at the mouth or the far end is meant to be
            open_ended = plane == self.surface or (
                dot(plane.normal, self.way) > 0 and abs(plane.distance(far)) < 1e-6
            )
            if not open_ended and plane not in opened:
                yield surface_word(name), -reach.beyond(plane)

    def _check_walls(self) -> None:
        reach = self._reach(self.diameter, self.depth)
        self._check_reach(reach, "")
        if not self.is_flat or any(not isinstance(s.form, Plane) for s in self.body.shapings):
            self._check_round(reach)

    def _check_reach(self, reach: Reach, what: str) -> None:
        subject = f"its {what}" if what else "it"
        for word, wall in self._walls(reach):
            if wall < 1e-6:
                cure = "move it or make it smaller" if self.spec.half_round else (
                    "move it, make it smaller, or say half round: yes where it is a seat in an arris"
                )  # fmt: skip
                raise self.fails(f"{subject} breaks out through the {word}; {cure}")
            if wall < LEAST_WALL:
                raise self.fails(
                    f"{subject} leaves {self.said(wall)} of wood to the {word}, which breaks out (common practice: "
                    f"at least {self.said(LEAST_WALL)})"
                )

    def _check_round(self, reach: Reach) -> None:
        """Against round and curved surfaces: every line along the skin, a wall farther out, runs in wood abreast of
        the middle of the bore."""
        if self.spec.half_round:
            return
        at = reach.size / 2
        for start in reach.lines(reach.radius + LEAST_WALL):
            if not any(low < at < high for low, high in self._spans(start)):
                raise self.fails("it breaks out through the side of the wood; move it or make it smaller")

    def thin_walls(self) -> Iterator[Finding]:
        walls = list(self._walls(self._reach(self.diameter, self.depth)))
        if self.depth is not None:
            walls.append(("far side", self.room[1] - self.depth))
        for word, wall in walls:
            if wall < THIN_WALL:
                text = (
                    f'"{self.name}": the hole in {the_surface(str(self.spec.in_))} leaves only {self.said(wall)} of '
                    f"wood to the {word}; less than {self.said(THIN_WALL)} is easily split out (common practice)"
                )
                yield warning(self.spec.place, "hole", text, self.name)

    # --- words ---

    def _size_text(self, mm: float) -> str:
        return length_text_with_unit(mm, _BITS[self.scope.design.units])

    def _purpose(self) -> str:
        if self.spec.purpose is None:
            return ""
        return f"{self._size_text(self.diameter)} in {the_surface(str(self.spec.in_))}, {self.spec.purpose}"

    def _seat_note(self) -> str:
        reach, faces = self._reach(self.diameter, self.depth), self._open_faces()
        named = {p: surface_word(n) for n, p, _ in self.body.carrying()}
        outside = max(reach.beyond(f) for f in faces)
        words = " and ".join(named[f] for f in faces)
        for_what = None if self.spec.purpose is None else str(self.spec.purpose)
        return block_note(self.scope.design.units, self.diameter, reach.size, outside, words, for_what)


def block_note(
    units: LengthUnit, diameter: float, run: float, outside: float, faces: str, for_what: str | None
) -> str:
    """How half a hole is bored: with a block clamped on, as big as the half outside the wood needs.

    ``run`` is the length of the bore, ``outside`` how far its skin stands out of the wood, millimetres.
    """
    over, step = _BLOCK_OVER[units], _BLOCK_STEP[units]

    def at_least(mm: float) -> str:
        return length_text_with_unit(math.ceil(mm / step - 1e-6) * step, STYLES[units])

    purpose = f" for {for_what}" if for_what else ""
    across = length_text_with_unit(diameter, _BITS[units])
    return (
        f"half round, {across} across{purpose}: clamp a block of like wood on the {faces}, at least "
        f"{at_least(outside + over)} thick, {at_least(diameter + 2 * over)} wide and {at_least(run)} along the bore, "
        "and bore both at once, the drill's point on the joint"
    )


def the_surface(word: str) -> str:
    """As it stands in a sentence: ``the face``, ``end A``."""
    return word if word in ("end A", "end B") else f"the {word}"


def _is_shaped(name: str, side: str) -> bool:
    """A surface of the body that took the place of the blank's face ``side``, or, of an outline, of any round it."""
    return name not in LOCAL and (name.partition(" ")[2] == side or name.startswith("outline"))


def surface_word(name: str) -> str:
    """What a surface of a body is called: ``end A``, ``face``, ``back edge``."""
    own = name if name in LOCAL else name.partition(" ")[2]
    return _FACE_WORDS.get(own, own)
