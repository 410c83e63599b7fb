"""Loose tenons: equal mortises in both members of a butted joint, and separate tenons that become members.

The tenons lie square to the plane in which the members meet, in the middle of the area they share, along its long
way, their grain across the joint.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from plangen.design import design as d
from plangen.findings import DesignError, fail
from plangen.geometry.frames import Frame
from plangen.geometry.surfaces import Box, Form, Plane
from plangen.geometry.vectors import Point, along, dot, length, neg, sub
from plangen.joinery import advice
from plangen.joinery.facing import Facing, facing
from plangen.joinery.made import Made
from plangen.joinery.meeting import Cut, Meeting, Placed, mating
from plangen.joinery.row import Line, middle_line
from plangen.joinery.sizing import Sizing
from plangen.placing.body import Body, Standing
from plangen.tables.joint_rules import (
    GLUE_ROOM_MM,
    LOOSE_TENON_DEPTH,
    MORTISE_BOTTOM,
    TENON_COUNT_GAP,
    TENON_THICKNESS,
    TENON_WIDTH,
)

LEAST_WOOD = 1.0
"""Millimetres: a mortise with less wood than this beside it breaks out."""


def make(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    """Mortises, loose tenons and advice. Raises DesignError where a mortise breaks out or they have no room."""
    contact = facing(meeting, "loose tenon")
    thick = _across(contact)
    thickness = sizing.or_rule(spec.thickness, TENON_THICKNESS.usual * thick)
    row = _Row(
        meeting,
        spec,
        sizing,
        contact,
        middle_line(contact, sizing.length(spec.set_back), thickness),
        thickness,
    )
    places, width = row.places()
    depth = row.depth(places, width)
    tenons = [_Tenon(contact, row.line, at, width, thickness, depth) for at in places]
    for target in (meeting.first, meeting.second):
        row.check(target, tenons)
    cuts = tuple(_mortises(meeting, target, tenons) for target in (meeting.first, meeting.second))
    names = (meeting.first.name, meeting.second.name)
    shares = (
        (TENON_THICKNESS, thickness / thick, "the thickness"),
        (TENON_WIDTH, width / thickness, "the width"),
        (LOOSE_TENON_DEPTH, depth / thickness, "the depth in each member"),
    )
    told = tuple(
        f
        for rule, share, what in shares
        for f in advice.outside(rule, share, f"loose tenon: {what}", meeting.place, *names)
    )
    pieces = tuple(t.placed(meeting, i, len(tenons)) for i, t in enumerate(tenons, 1))
    return Made(cuts, pieces, findings=told)


def _across(contact: Facing) -> float:
    """Thickness of the area they share, square to its long way."""
    line = middle_line(contact, None, 0.0)
    ends = contact.chord(line.middle, line.across)
    return 0.0 if ends is None else length(sub(ends[1], ends[0]))


@dataclass(frozen=True)
class _Tenon:
    contact: Facing
    line: Line
    middle: Point
    """In the plane of the contact."""
    width: float
    thickness: float
    depth: float

    def planes(self, room: float, below: float) -> dict[str, Plane]:
        """World planes round it, outward: ``room`` wider over each side, ``below`` longer at each end."""
        found = {}
        halves = (
            (self.line.way, self.width / 2 + room, "edge"),
            (self.line.across, self.thickness / 2 + room, "cheek"),
            (self.contact.plane.normal, self.depth + below, "end"),
        )
        for way, half, name in halves:
            at = dot(way, self.middle)
            found[f"{name} low"] = Plane(neg(way), half - at)
            found[f"{name} high"] = Plane(way, half + at)
        return found

    def corners(self, room: float, below: float) -> list[Point]:
        """Of its mortises in both members."""
        found = []
        for a in (-1, 1):
            for b in (-1, 1):
                for c in (-1, 0, 1):
                    p = along(self.middle, self.line.way, a * (self.width / 2 + room))
                    p = along(p, self.line.across, b * (self.thickness / 2 + room))
                    found.append(along(p, self.contact.plane.normal, c * (self.depth + below)))
        return found

    def placed(self, meeting: Meeting, number: int, count: int) -> Placed:
        """The loose tenon itself, of the first's wood, its length across the joint."""
        normal, way, across = self.contact.plane.normal, self.line.way, self.line.across
        corner = along(self.middle, normal, -self.depth)
        corner = along(along(corner, way, -self.width / 2), across, -self.thickness / 2)
        which = f" {number}" if count > 1 else ""
        name = f"loose tenon {meeting.first.name} to {meeting.second.name}{which}"
        box = Box((0.0, 0.0, 0.0), (2 * self.depth, self.width, self.thickness))
        standing = Standing(name, (), Frame(corner, normal, way, across))
        stock = meeting.first.body.stock
        body = Body("loose tenon", "work", stock, box, (), (), (standing,), meeting.place)
        return Placed(body, standing)


@dataclass(frozen=True)
class _Row:
    meeting: Meeting
    spec: d.Joint
    sizing: Sizing
    contact: Facing
    line: Line
    thickness: float

    def places(self) -> tuple[list[Point], float]:
        """Middles of the tenons in the contact, and their width: edges ``inset`` from the ends of the area."""
        long, count = self.line.long, self.sizing.count(self.spec.count, 1)
        inset = self.sizing.or_rule(self.spec.inset, min(self.thickness, long / 6))
        room, between = long - 2 * inset, TENON_COUNT_GAP.usual * self.thickness
        usual = min(TENON_WIDTH.most * self.thickness, (room - (count - 1) * between) / count)
        width = self.sizing.or_rule(self.spec.width, usual)
        gap = (room - count * width) / (count - 1) if count > 1 else 0.0
        least = TENON_COUNT_GAP.least * self.thickness
        if width <= 0.0 or room < width - 1e-6 or (count > 1 and gap < least - 1e-6):
            raise self._fails(
                f"no room for {count} of {self.sizing.said(max(width, 0.0))} in {self.sizing.said(long)}, "
                f"{self.sizing.said(inset)} from either end"
            )
        if count == 1:
            return [along(self.line.start, self.line.way, long / 2)], width
        first = inset + width / 2
        return [along(self.line.start, self.line.way, first + i * (width + gap)) for i in range(count)], width

    def depth(self, places: list[Point], width: float) -> float:
        """Into each member: as said, else by rule, no farther than leaves wood below."""
        said = self.sizing.length(self.spec.depth)
        if said is not None:
            return said
        mouths = [
            along(along(p, self.line.way, a * width / 2), self.line.across, b * self.thickness / 2)
            for p in places
            for a in (-0.99, 0.99)
            for b in (-0.99, 0.99)
        ]
        room = min(self.contact.wood_behind(t, mouths) for t in (self.meeting.first, self.meeting.second))
        depth = min(LOOSE_TENON_DEPTH.usual * self.thickness, room - GLUE_ROOM_MM - MORTISE_BOTTOM.least)
        depth = self.sizing.rounded_down(depth)
        if depth < self.thickness:
            raise self._fails(f"{self.sizing.said(room)} of wood is too little for a mortise; say its depth")
        return depth

    def check(self, target: Placed, tenons: list[_Tenon]) -> None:
        into = self.contact.into(target)
        for tenon in tenons:
            behind = [
                p
                for p in tenon.corners(self.meeting.clearance, GLUE_ROOM_MM)
                if dot(sub(p, tenon.middle), into) > -1e-9
            ]
            left = self.contact.wood_beside(target, behind)
            if left < LEAST_WOOD:
                said = self.sizing.said
                raise self._fails(
                    f"a mortise of {said(tenon.width)} by {said(tenon.thickness)}, "
                    f"{said(tenon.depth + GLUE_ROOM_MM)} deep, leaves {said(max(left, 0.0) + 0.0)} "
                    f'of "{target.name}" beside or below it'
                )

    def _fails(self, text: str) -> DesignError:
        first, second = self.meeting.first.name, self.meeting.second.name
        return fail(
            self.meeting.place,
            "joint",
            f'the loose tenons of "{first}" and "{second}": {text}',
            first,
            second,
        )


def _mortises(meeting: Meeting, target: Placed, tenons: list[_Tenon]) -> Cut:
    """All mortises of one member, open where the members meet."""
    opened = "end high" if target is meeting.first else "end low"
    cutters: list[list[Form]] = []
    for tenon in tenons:
        planes = tenon.planes(meeting.clearance, GLUE_ROOM_MM)
        cutters.append(
            [mating(p.local_to(target.frame).squared()) for name, p in planes.items() if name != opened]
        )
    return replace(meeting.cut(target, "mortise", cutters), origin="worked")
