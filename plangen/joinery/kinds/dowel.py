"""Dowels: holes in both members of a butted joint, in a row along the area they share, square to its plane."""

from __future__ import annotations

import math
from dataclasses import dataclass

from plangen.design import design as d
from plangen.findings import DesignError, Finding, fail, warning
from plangen.geometry.vectors import Point, along, length, sub
from plangen.joinery import advice
from plangen.joinery.boring import bored, hole_in
from plangen.joinery.facing import Facing, facing
from plangen.joinery.made import Made
from plangen.joinery.meeting import Cut, Meeting, Placed
from plangen.joinery.model import Hardware
from plangen.joinery.row import Line, middle_line
from plangen.joinery.sizing import Sizing
from plangen.tables.joint_rules import (
    DOWEL_DEPTH,
    DOWEL_DIAMETER,
    DOWEL_EDGE,
    DOWEL_SIZES_INCH,
    DOWEL_SIZES_MM,
    DOWEL_SPACING,
    GLUE_ROOM_MM,
    MORTISE_BOTTOM,
)

LEAST_WOOD = 1.0
"""Millimetres: a hole with less wood than this beside it breaks out."""
_RIM = 8


def make(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    """Holes in both, the dowels to buy, and advice. Raises DesignError where a hole breaks out or they have no room."""
    contact = facing(meeting, "dowel")
    line = middle_line(contact, sizing.length(spec.set_back), 0.0)
    thickness = _thickness(contact, line)
    diameter = sizing.or_rule(spec.diameter, _usual_diameter(sizing, thickness))
    row = _Row(meeting, spec, sizing, contact, line, diameter)
    places = row.places()
    depths = [row.depth(p, places) for p in (meeting.first, meeting.second)]
    cuts: list[Cut] = []
    for target, depth in zip((meeting.first, meeting.second), depths, strict=True):
        row.check(target, places, depth)
        for at in places:
            cuts.append(row.hole(target, at, depth))
    names = (meeting.first.name, meeting.second.name)
    told = advice.outside(DOWEL_DIAMETER, diameter / thickness, "dowel: the diameter", meeting.place, *names)
    beside = min(
        row.beside(t, places, dep) for t, dep in zip((meeting.first, meeting.second), depths, strict=True)
    )
    told += row.near_edge(beside)
    long = sum(depths)
    size = f"{sizing.figure(diameter)} x {sizing.figure(long)}"
    dowels = Hardware("dowel", size, len(places), long, meeting.name, meeting.place)
    return Made(tuple(cuts), hardware=(dowels,), findings=told)


def _thickness(contact: Facing, line: Line) -> float:
    """Of the area they share, across the row."""
    across = contact.chord(line.middle, line.across)
    return 0.0 if across is None else length(sub(across[1], across[0]))


def _usual_diameter(sizing: Sizing, thickness: float) -> float:
    """The size of dowel rod nearest to the rule."""
    sizes = DOWEL_SIZES_INCH if sizing.scope.design.units == "in" else DOWEL_SIZES_MM
    return min(sizes, key=lambda s: (round(abs(s - DOWEL_DIAMETER.usual * thickness), 6), s))


@dataclass(frozen=True)
class _Row:
    meeting: Meeting
    spec: d.Joint
    sizing: Sizing
    contact: Facing
    line: Line
    diameter: float

    def places(self) -> list[Point]:
        """Where the axes pass the contact."""
        start, end = self.line.start, self.line.end
        long = length(sub(end, start))
        inset = self.sizing.or_rule(self.spec.inset, min(2 * self.diameter, long / 4))
        free = long - 2 * inset
        count = self.sizing.count(self.spec.count, max(2, 1 + round(free / DOWEL_SPACING.usual)))
        if count == 1:
            return [along(start, self.line.way, long / 2)]
        if free / (count - 1) < self.diameter + LEAST_WOOD:
            raise self._fails(
                f"no room for {count} of {self.sizing.said(self.diameter)} in {self.sizing.said(long)}, "
                f"{self.sizing.said(inset)} from either end"
            )
        return [along(start, self.line.way, inset + free * i / (count - 1)) for i in range(count)]

    def depth(self, target: Placed, places: list[Point]) -> float:
        """How far a dowel goes into a member: as said, else by rule, no farther than leaves wood below."""
        said = self.sizing.length(self.spec.depth)
        if said is not None:
            return said
        room = min(self.contact.wood_behind(target, self._rim(at)) for at in places)
        depth = min(DOWEL_DEPTH.usual * self.diameter, room - GLUE_ROOM_MM - MORTISE_BOTTOM.least)
        depth = self.sizing.rounded_down(depth)
        if depth < DOWEL_DEPTH.least * self.diameter:
            raise self._fails(
                f'only {self.sizing.said(max(depth, 0.0))} of "{target.name}" take a dowel of '
                f"{self.sizing.said(self.diameter)}; take thinner ones, or say their depth"
            )
        return depth

    def _rim(self, at: Point) -> list[Point]:
        """Points of a hole's rim in the contact."""
        r, found = self.diameter / 2, []
        for i in range(_RIM):
            a = 2 * math.pi * i / _RIM
            found.append(along(along(at, self.line.way, r * math.cos(a)), self.line.across, r * math.sin(a)))
        return found

    def hole(self, target: Placed, at: Point, depth: float) -> Cut:
        size = self.diameter + 2 * self.meeting.clearance
        way = self.contact.into(target)
        hole = hole_in(target, at, way, size, depth + GLUE_ROOM_MM, "dowel")
        return bored(self.meeting, target, hole)

    def beside(self, target: Placed, places: list[Point], depth: float) -> float:
        """Least wood beside and below the holes of a member."""
        into = self.contact.into(target)
        ends = [q for p in places for q in (p, along(p, into, depth + GLUE_ROOM_MM))]
        return self.contact.wood_beside(target, ends, self.diameter / 2 + self.meeting.clearance)

    def check(self, target: Placed, places: list[Point], depth: float) -> None:
        if (left := self.beside(target, places, depth)) < LEAST_WOOD:
            raise self._fails(
                f"a hole of {self.sizing.said(self.diameter)}, {self.sizing.said(depth + GLUE_ROOM_MM)} deep, "
                f'leaves {self.sizing.said(max(left, 0.0) + 0.0)} of "{target.name}" beside or below it'
            )

    def near_edge(self, left: float) -> tuple[Finding, ...]:
        least = min(DOWEL_EDGE.least * self.diameter, MORTISE_BOTTOM.least)
        if left >= least - 1e-6:
            return ()
        text = (
            f"dowel: {self.sizing.said(left)} of wood beside or below a hole of {self.sizing.said(self.diameter)}; "
            f"the rule of thumb is at least {self.sizing.said(least)} ({DOWEL_EDGE.source})"
        )
        return (warning(self.meeting.place, "rule of thumb", text, self.meeting.first.name),)

    def _fails(self, text: str) -> DesignError:
        first, second = self.meeting.first.name, self.meeting.second.name
        return fail(
            self.meeting.place, "joint", f'the dowels of "{first}" and "{second}": {text}', first, second
        )
