"""Where things are: the records of planes, lines and points.

A key of the file is the field's name with spaces for underscores; see ``design``.
"""

from __future__ import annotations

from typing import Literal

from plangen.design.records import Direction, Expression, Name, Record, Text, keyed
from plangen.design.words import View


class Lean(Record):
    """How far a line or plane leans from plumb: by how much, toward what, and how that was measured."""

    by: Expression = keyed("the angle, such as 14 deg or 1 in 8", kind="angle")
    toward: Direction = keyed("the direction it leans toward as it goes")
    going: Literal["up", "down"] = keyed("leaning that way as it goes up (default) or down", default="up")
    seen_from: View | None = keyed("the elevation in which the angle shows", default=None)
    measured: Literal["on the plane", "from plumb"] | None = keyed(
        "or: on the plane itself, or as the true angle from plumb", default=None
    )


class Turn(Record):
    """A turn of a direction toward another."""

    by: Expression = keyed("the angle", kind="angle")
    toward: Direction = keyed("the direction it turns toward")


class ShiftedPlane(Record):
    """A plane parallel to another."""

    shift: PlaneSpec = keyed("the plane to start from")
    by: Expression = keyed("how far, along the way the plane faces (negative: back)", kind="length")


class LevelPlane(Record):
    """A level plane at a height above the floor."""

    level_at: Expression = keyed("height above the floor", kind="length")
    facing: Direction | None = keyed("up (default) or down", default=None)


class PlaneThroughPoints(Record):
    through_points: tuple[PointSpec, PointSpec, PointSpec] = keyed("three points of the plane")
    facing: Direction = keyed("the side it faces")


class PlaneThroughLine(Record):
    """A plane through a line; exactly one of lean, along, and line says the rest."""

    through_line: LineSpec = keyed("a line of the plane")
    lean: Lean | None = keyed("how the plane leans (the line must be level)", default=None)
    along: Direction | None = keyed("a direction that lies in the plane", default=None)
    and_line: LineSpec | None = keyed("a second line of the plane", default=None)
    facing: Direction | None = keyed(
        "the side it faces; for a leaning plane, default: its lean", default=None
    )


class PlaneThroughPoint(Record):
    """A plane through a point; exactly one of square to, parallel to says the rest."""

    through_point: PointSpec = keyed("a point of the plane")
    square_to: Direction | None = keyed("the direction it faces", default=None)
    turned: Turn | None = keyed("then turned from there", default=None)
    parallel_to: PlaneSpec | None = keyed("a plane it is parallel to", default=None)


class HalfwayPlane(Record):
    """The plane halfway between two: their mean, or the bisector where they are not parallel.

    Where a trim says this form, it is a mitre: the bisector that runs into the corner behind both planes.
    """

    halfway_between: tuple[PlaneSpec, PlaneSpec] = keyed("the two planes")
    facing: Direction | None = keyed("the side it faces", default=None)


PlaneForm = (
    ShiftedPlane | LevelPlane | PlaneThroughPoints | PlaneThroughLine | PlaneThroughPoint | HalfwayPlane
)
PlaneSpec = Text | PlaneForm
"""A named plane, ``member.surface``, ``floor``, ``centre plane``, ``depth plane``, or a form."""


class MeetingLine(Record):
    """The line in which two planes meet; of two faces of a member: their arris."""

    meet: tuple[PlaneSpec, PlaneSpec] = keyed("the two planes")
    going: Direction | None = keyed("the way along it", default=None)


class LineFrom(Record):
    """A line from a point: to another point, in a direction, or leaning."""

    from_: PointSpec = keyed("a point of the line, its start")
    to: PointSpec | None = keyed("a second point", default=None)
    going: Direction | None = keyed("or its direction", default=None)
    in_: PlaneSpec | None = keyed("or the plane it lies in, with lean", default=None)
    lean: Lean | None = keyed("how it leans in that plane", default=None)
    leans: tuple[Lean, Lean] | None = keyed("or its leans in two elevations", default=None)


LineForm = MeetingLine | LineFrom
LineSpec = Text | LineForm
"""A named line, ``member.axis``, or a form."""


class MeetingPoint(Record):
    meet: tuple[PlaneSpec, PlaneSpec, PlaneSpec] = keyed("three planes that meet in the point")


class PointOnLine(Record):
    """A point of a line; exactly one of meets, height, at."""

    on: LineSpec = keyed("the line")
    meets: PlaneSpec | None = keyed("where it meets this plane", default=None)
    height: Expression | None = keyed("where it is this high above the floor", default=None, kind="length")
    at: Expression | None = keyed("this far along it", default=None, kind="length")
    from_: PlaneSpec | None = keyed("measured from where it meets this plane", default=None)


class HalfwayPoint(Record):
    halfway_between: tuple[PointSpec, PointSpec] = keyed("the two points")


class ShiftedPoint(Record):
    shift: PointSpec = keyed("the point to start from")
    right: Expression | None = keyed("to the right", default=None, kind="length")
    left: Expression | None = keyed("to the left", default=None, kind="length")
    front: Expression | None = keyed("toward the viewer of the front elevation", default=None, kind="length")
    rear: Expression | None = keyed("away from that viewer", default=None, kind="length")
    up: Expression | None = keyed("up", default=None, kind="length")
    down: Expression | None = keyed("down", default=None, kind="length")


class MemberPoint(Record):
    """A point on a member's uncut body, measured as on the bench."""

    of: Name = keyed("the member")
    from_end_a: Expression = keyed("from end A", kind="length")
    from_edge: Expression = keyed("from the face edge", kind="length")
    from_back: Expression = keyed("from the back", kind="length")


PointForm = MeetingPoint | PointOnLine | HalfwayPoint | ShiftedPoint | MemberPoint
PointSpec = Text | tuple[Expression, Expression, Expression] | PointForm
"""A named point, three coordinates [right, rear, up], or a form."""


for _record in Record.__subclasses__():
    if _record.__module__ == __name__:
        _record.model_rebuild()  # they name one another before they are written
