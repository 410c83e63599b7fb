"""The line along which dowels or loose tenons stand in the area that two members share."""

from __future__ import annotations

from dataclasses import dataclass

from plangen.findings import fail
from plangen.geometry.vectors import Point, Vec, along, cross, dot, length, sub
from plangen.joinery.facing import Facing


@dataclass(frozen=True)
class Line:
    """World coordinates, in the plane of the contact."""

    middle: Point
    """A point of it in the middle of the area, across."""
    way: Vec
    across: Vec
    """Unit: the contact's normal, ``way`` and ``across`` are right-handed."""
    start: Point
    end: Point
    """Where it leaves the area."""

    @property
    def long(self) -> float:
        return length(sub(self.end, self.start))


def middle_line(contact: Facing, set_back: float | None, thickness: float) -> Line:
    """The long way through the middle, or so that what is ``thickness`` thick lies ``set_back`` from the first's face.

    Raises DesignError where the face side lies across the row, or the line misses the area.
    """
    way = contact.way(contact.area.long_way())
    across = cross(contact.plane.normal, way)
    middle = contact.lift(contact.area.middle())
    if set_back is not None:
        middle = _set_back(contact, middle, across, set_back, thickness)
    ends = contact.chord(middle, way)
    if ends is None:
        first, second = contact.meeting.first.name, contact.meeting.second.name
        text = f'the set back leads out of the area where "{first}" and "{second}" meet'
        raise fail(contact.meeting.place, "joint", text, first, second)
    start, end = ends
    if dot(sub(end, start), way) < 0:
        start, end = end, start
    return Line(middle, way, across, start, end)


def _set_back(contact: Facing, middle: Point, across: Vec, set_back: float, thickness: float) -> Point:
    first = contact.meeting.first
    face = first.body.box.planes()["face"].placed(first.frame)
    slope = dot(face.normal, across)
    if abs(slope) < 0.3:
        text = f'the face side of "{first.name}" lies across the row; a set back from it says nothing'
        raise fail(contact.meeting.place, "joint", text, first.name)
    wanted = -(set_back + thickness / 2 * abs(slope))
    return along(middle, across, (wanted - face.distance(middle)) / slope)
