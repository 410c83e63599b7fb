"""Pegs through a tenon and the cheeks that hold it, and drawbore: any tenon with flat sides, round ones too.

The hole in the cheeks and the hole in the tenon have one axis, square to the cheeks. With ``drawbore`` the tenon's
hole lies nearer its shoulder, so that the peg draws the shoulder tight. Places follow a worked joint (``PEG_PLACE``).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from plangen.design import design as d
from plangen.findings import DesignError, Finding, fail, warning
from plangen.geometry.frames import WORLD
from plangen.geometry.region import ConvexRegion, convex_region
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Point, Vec, along, cross, dot, neg, scale, sub, unit
from plangen.joinery import advice
from plangen.joinery.boring import bored, hole_in
from plangen.joinery.made import Made
from plangen.joinery.meeting import Cut, Meeting, Placed
from plangen.joinery.model import Hardware
from plangen.joinery.piercing import wood_spans
from plangen.joinery.sizing import Sizing
from plangen.placing.body import BOUND_MM
from plangen.tables.joint_rules import DRAWBORE, PEG_PLACE, PEG_WOOD

LEAST_WOOD = 1.0
"""Millimetres: a hole with less wood than this beside it breaks out."""
_CROSSED = 0.7
"""Cosine to the peg from which it runs out through a plane."""
CUT_LONG = 2.0
"""Diameters a peg is cut longer than its hole, for its pointed lead (common practice)."""


@dataclass(frozen=True)
class PeggedTenon:
    """What a kind tells of its tenon, world coordinates, so that pegs can be placed in it."""

    sides: tuple[Plane, ...]
    """Planes round the tenon alone, outward: cheeks, edges, end. The mate's body bounds it too. A round tenon gives
    the planes of the square round it."""
    shoulder: Plane
    """Where the tenon begins, outward toward its end: the face of the mate that it enters by."""
    across: Vec
    """Unit: square to the cheeks, either way. The pegs run along it."""
    along: Vec
    """Unit: the tenon's length, toward its end. A drawbored hole is moved against it."""


def pegs(meeting: Meeting, spec: d.Joint, sizing: Sizing, tenon: PeggedTenon) -> Made:
    """Peg holes in both members, the pegs to buy or rive, and advice. Nothing where the entry states no ``peg``.

    ``meeting.first`` has the tenon, ``meeting.second`` the cheeks. Raises DesignError where a hole breaks out of the
    tenon or the cheeks, or where a drawbored peg would not find the tenon's hole.
    """
    diameter = sizing.length(spec.peg)
    if diameter is None:
        return Made()
    run = _Pegs(meeting, sizing, tenon, diameter, sizing.or_rule(spec.drawbore, 0.0))
    return run.made(sizing.count(spec.pegs, 1))


@dataclass(frozen=True)
class _Pegs:
    meeting: Meeting
    sizing: Sizing
    tenon: PeggedTenon
    diameter: float
    drawbore: float

    @property
    def into(self) -> Vec:
        """The way the pegs are driven: from the side that is seen, or from above."""
        n = self.tenon.across
        sign = next((c for c in (-n[1], n[2], n[0]) if abs(c) > 0.35), 1.0)
        return neg(n) if sign > 0 else n

    def made(self, count: int) -> Made:
        region = self._region()
        places = self._places(region, count)
        self._check_drawbore()
        cuts: list[Cut] = []
        findings = list(self._advice(region, places))
        for at in places:
            hole = along(at, self.tenon.along, -self.drawbore)
            self._check_tenon(region, hole)
            self._check_cheeks(at)
            cuts += self._holes(at, hole)
        return Made(tuple(cuts), hardware=(self._to_buy(places),), findings=tuple(findings))

    def _region(self) -> ConvexRegion:
        """The tenon within its mate."""
        second = self.meeting.second.planes_in(WORLD)
        planes = [*self.tenon.sides, self.tenon.shoulder.flipped(), *second]
        region = convex_region(planes, BOUND_MM)
        if region is None:
            raise self._fails("there is no tenon to peg")
        return region

    def _places(self, region: ConvexRegion, count: int) -> list[Point]:
        """Peg axes in the middle of the tenon's thickness, in a line parallel to the shoulder."""
        axis, n = self.tenon.along, self.tenon.across
        low, high = _reach(region, region.centroid, axis)
        share = PEG_PLACE.usual
        middle = along(region.centroid, axis, low + (high - low) * share)
        row = cross(n, self.tenon.shoulder.normal)
        row = unit(sub(row, scale(n, dot(row, n))))
        first, last = _reach(region, middle, row)
        return [along(middle, row, first + (last - first) * (i + 0.5) / count) for i in range(count)]

    def _check_drawbore(self) -> None:
        if self.drawbore >= self.diameter / 2:
            raise self._fails(
                f"a drawbore of {self.sizing.said(self.drawbore)} is too much for pegs of "
                f"{self.sizing.said(self.diameter)}: they would not find the tenon's hole"
            )

    def _check_tenon(self, region: ConvexRegion, at: Point) -> None:
        left = self._beside(region.planes, at)
        if left < LEAST_WOOD:
            raise self._fails(
                f"the peg hole of {self.sizing.said(self.diameter)} leaves "
                f"{self.sizing.said(max(left, 0.0) + 0.0)} of the tenon beside it; take a thinner peg or a larger tenon"
            )

    def _check_cheeks(self, at: Point) -> None:
        left = self._beside(self.meeting.second.planes_in(WORLD), at)
        if left < LEAST_WOOD:
            raise self._fails(
                f'the peg hole of {self.sizing.said(self.diameter)} breaks out of "{self.meeting.second.name}"'
            )

    def _beside(self, planes: Sequence[Plane], at: Point) -> float:
        """Wood between the hole and the nearest of the planes that it does not run out through."""
        left = [math.inf]
        for plane in planes:
            slope = dot(plane.normal, self.tenon.across)
            if abs(slope) <= _CROSSED:
                left.append(-plane.distance(at) / math.sqrt(1 - slope * slope) - self.diameter / 2)
        return min(left)

    def _advice(self, region: ConvexRegion, places: Sequence[Point]) -> list[Finding]:
        found: list[Finding] = []
        if self.drawbore:
            what = "pegs: the drawbore"
            found += advice.length_outside(
                DRAWBORE, self.drawbore, what, self.sizing, self.meeting.place, self.meeting.first.name
            )
        least = PEG_WOOD.least * self.diameter
        for at in places:
            left = self._beside(region.planes, along(at, self.tenon.along, -self.drawbore))
            if LEAST_WOOD <= left < least - 1e-6:
                text = (
                    f"pegs: {self.sizing.said(left)} of wood beside a peg hole of "
                    f"{self.sizing.said(self.diameter)}; the rule of thumb is at least "
                    f"{self.sizing.said(least)} ({PEG_WOOD.source})"
                )
                found.append(warning(self.meeting.place, "rule of thumb", text, self.meeting.first.name))
                break
        return found

    def _holes(self, at: Point, in_tenon: Point) -> tuple[Cut, Cut]:
        """The cheeks bored through; the tenon's hole with them, or marked from them and bored apart."""
        first, second = self.meeting.first, self.meeting.second
        note = ""
        if self.drawbore:
            note = f"{self.sizing.figure(self.drawbore)} nearer the shoulder than in {second.name}"
        return (
            self._hole(second, self._entry(at)),
            self._hole(first, self._cheek(in_tenon), note),
        )

    def _hole(self, target: Placed, entry: Point, note: str = "") -> Cut:
        hole = hole_in(target, entry, self.into, self.diameter, None, "peg")
        return bored(self.meeting, target, hole, note)

    def _entry(self, at: Point) -> Point:
        """Where the peg's axis enters the second's wood."""
        spans = wood_spans(self.meeting.second, (), at, self.into)
        return along(at, self.into, spans[0][0]) if spans else at

    def _cheek(self, at: Point) -> Point:
        """Where it enters the tenon."""
        ways = [
            -p.distance(at) / dot(p.normal, self.into)
            for p in (*self.tenon.sides, *self.meeting.first.planes_in(WORLD))
            if dot(p.normal, self.into) < -_CROSSED
        ]
        return along(at, self.into, max((w for w in ways if w < 0), default=0.0))

    def _to_buy(self, places: Sequence[Point]) -> Hardware:
        long = 0.0
        for at in places:
            spans = wood_spans(self.meeting.second, (), at, self.into)
            long = max([long, *(high - low for low, high in spans)])
        length = self.sizing.rounded_up(long + CUT_LONG * self.diameter)
        size = f"{self.sizing.figure(self.diameter)} x {self.sizing.figure(length)}, trimmed flush"
        return Hardware("peg", size, len(places), length, self.meeting.name, self.meeting.place)

    def _fails(self, text: str) -> DesignError:
        first, second = self.meeting.first.name, self.meeting.second.name
        return fail(
            self.meeting.place, "joint", f'the pegs of "{first}" in "{second}": {text}', first, second
        )


def _reach(region: ConvexRegion, at: Point, way: Vec) -> tuple[float, float]:
    """How far the region runs against and along ``way`` from a point inside it."""
    low, high = -BOUND_MM, BOUND_MM
    for plane in region.planes:
        slope, room = dot(plane.normal, way), -plane.distance(at)
        if slope > 1e-9:
            high = min(high, room / slope)
        elif slope < -1e-9:
            low = max(low, room / slope)
    return low, high
