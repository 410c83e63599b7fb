"""A design as the designer wrote it: checked, placed in the file, without geometry.

These frozen records are the schema of a design file. A key of the file is the field's name with spaces for
underscores (``cut by``, ``seen from``; ``end A`` for ``end_a``). Every record and every scalar carries its
``place`` in the file; a member and a bought part, whose ``place`` is where they go, carry it as ``source``.
Expressions stay as trees: sizes are worked out here, points and faces by ``placing``.
"""

from __future__ import annotations

from typing import Literal

from plangen.design.records import Direction, Entry, Expression, Name, Record, Text, keyed

View = Literal["front", "rear", "left", "right", "above"]
Side = Literal[
    "end A", "end B", "edge", "back edge", "face", "back",
    "left", "right", "front", "rear", "top", "bottom",
    "inner", "outer", "upper end", "lower end", "left end", "right end", "front end", "rear end",
]  # fmt: skip
"""A surface of a member by its own name, or by where it looks once the member stands in place."""
Fit = Literal["press", "snug", "slide", "loose"]
When = Literal["square", "shaped", "glued", "assembled", "on the work"]

# --- where things are: planes, lines, points -----------------------------------------------------------


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

# --- members -------------------------------------------------------------------------------------------


class Relation(Record):
    """Where one surface of a member is; exactly one of against, flush with, at, along, toward."""

    against: PlaneSpec | None = keyed("face to face with this plane", default=None)
    flush_with: PlaneSpec | None = keyed("in this plane, facing the same way", default=None)
    at: PlaneSpec | None = keyed("its middle in this plane (a place, no direction)", default=None)
    along: LineSpec | None = keyed("its arris along this line", default=None)
    toward: Direction | None = keyed("looking this way (a direction, no place)", default=None)
    off: Expression | None = keyed("at this distance outward from it", default=None, kind="length")


class Placing(Record):
    """How a maker locates a piece. Each relation takes away freedoms; what is left free is an error."""

    length: Direction | None = keyed("the way from end A to end B", default=None)
    width: Direction | None = keyed("the way from the face edge into the wood", default=None)
    face: Relation | None = keyed("the face side", default=None)
    back: Relation | None = keyed("the back", default=None)
    edge: Relation | None = keyed("the face edge", default=None)
    back_edge: Relation | None = keyed("the back edge", default=None)
    end_a: Relation | None = keyed("end A", default=None)
    end_b: Relation | None = keyed("end B", default=None)
    middle: tuple[PlaneSpec, ...] = keyed("planes that the middle of the piece lies in", default=())
    corner: PointSpec | None = keyed("where end A, face edge and back meet", default=None)
    from_: PointSpec | None = keyed("the centre line starts here, at end A", default=None)
    to: PointSpec | None = keyed("and runs to here, at end B", default=None)


class Trim(Record):
    """A plane that cuts the piece; what lies beyond is waste."""

    by: PlaneSpec = keyed("the plane")
    fit: Literal["on the work", "to the figure"] = keyed("is the figure final?", default="to the figure")
    leave: Expression | None = keyed("wood left on for fitting", default=None, kind="length")
    when: When = keyed("the stage at which it is cut", default="shaped")


class Taper(Record):
    """Width (or thickness) that changes evenly from end A to end B, taken off one side."""

    on: Literal["edge", "back edge", "face", "back"] = keyed("the side that slopes", default="back edge")
    at_end_a: Expression = keyed("size at end A", kind="length")
    at_end_b: Expression = keyed("size at end B", kind="length")


class Curve(Record):
    """One edge worked to a circular curve over the whole length."""

    on: Literal["edge", "back edge"] = keyed("the edge that curves", default="back edge")
    rise: Expression = keyed("height of the curve over its chord", kind="length")
    bows: Literal["out", "in"] = keyed("out: higher in the middle; in: hollow", default="out")


class Outline(Record):
    """The shape of the face, by its corners from end A and the face edge."""

    points: tuple[tuple[Expression, Expression], ...] = keyed(
        "corners [from end A, from edge], in order", kind="length"
    )
    round: tuple[Expression, ...] | Expression | None = keyed(
        "radius of the corners: one for all, or one each (0: sharp)", default=None, kind="length"
    )
    smooth: bool = keyed("a free curve through the points", default=False)


class Opening(Record):
    """Something cut through the face: exactly one of slot, round, outline."""

    slot: tuple[Expression, Expression] | None = keyed(
        "length and width of a round-ended slot", default=None, kind="length"
    )
    round: Expression | None = keyed("diameter of a round opening", default=None, kind="length")
    outline: Outline | None = keyed("any shape", default=None)
    at: tuple[Expression, Expression] | None = keyed(
        "its middle: [from end A, from edge]", default=None, kind="length"
    )
    curved: Expression | None = keyed(
        "the slot bows toward the back edge by this much", default=None, kind="length"
    )
    when: When = keyed("the stage at which it is cut", default="square")


class Repeat(Record):
    count: Expression = keyed("how many in all", kind="number")
    spacing: Expression = keyed("from one to the next", kind="length")
    going: Direction = keyed("the way they follow each other")


class Copies(Record):
    """Further places where the same member stands."""

    mirror: tuple[Literal["left to right", "front to back"], ...] = keyed(
        "mirrored about the centre plane, the depth plane, or both", default=()
    )
    turned: bool = keyed("instead of mirroring: turned half round about the plumb centre line", default=False)
    repeat: Repeat | None = keyed("repeats at a spacing", default=None)


class Member(Entry):
    """One member: what it is made of, its size, where it goes, what cuts its ends."""

    like: Name | None = keyed("a member whose entries hold here too, unless said again", default=None)
    stock: Text | None = keyed("what it is made of", default=None)
    thickness: Expression | None = keyed(
        "finished thickness, where not the stock's", default=None, kind="length"
    )
    width: Expression | None = keyed("finished width, where not the stock's", default=None, kind="length")
    length: Expression | None = keyed("finished length, where no cuts give it", default=None, kind="length")
    diameter: Expression | None = keyed("of a round member", default=None, kind="length")
    place: Placing = keyed("where it goes")
    trim: dict[Side, Trim | PlaneSpec] = keyed("what cuts it: side, then plane", default={})
    taper: Taper | None = keyed("an even taper", default=None)
    curve: Curve | None = keyed("a curved edge", default=None)
    outline: Outline | None = keyed("the shape of its face", default=None)
    openings: tuple[Opening, ...] = keyed("openings cut through the face", default=())
    copies: Copies | None = keyed("further places", default=None)
    grain: Literal["length", "width"] = keyed("way of the (face) grain", default="length")
    role: Literal["work", "jig"] = keyed("part of the work, or a jig", default="work")
    boards: Expression | None = keyed("edge-glued from this many boards", default=None, kind="number")
    hung_on: Name | None = keyed("a gate's brace: the member on the hinge side", default=None)
    removable: Direction | None = keyed("lifts out this way", default=None)
    finish: Text | None = keyed("finish, where not that of the whole", default=None)
    notes: tuple[Text, ...] = keyed("notes for its sheet", default=())


class Bought(Entry):
    """A bought part, drawn as a simple envelope."""

    size: Text = keyed("what to ask for at the counter")
    box: tuple[Expression, Expression, Expression] | None = keyed(
        "length, width, thickness", default=None, kind="length"
    )
    round: tuple[Expression, Expression] | None = keyed("length, diameter", default=None, kind="length")
    bent: tuple[PointSpec, ...] | None = keyed("flat bar bent along these points", default=None)
    bar: tuple[Expression, Expression] | None = keyed(
        "width, thickness of that bar", default=None, kind="length"
    )
    place: Placing | None = keyed("where it goes", default=None)
    copies: Copies | None = keyed("further places", default=None)
    quantity: Expression | None = keyed("how many, where they have no place", default=None, kind="number")
    use: Text | None = keyed("what it is for", default=None)


# --- joints, fasteners, assemblies ---------------------------------------------------------------------


class Joint(Record):
    """Two members and how the wood they share is divided. In the file: ``{half lap: [leg, rail], ...}``."""

    kind: Text
    first: Name
    second: Name
    name: Text | None = keyed("a name to refer to", default=None)
    floor: Literal["first", "second", "between", "level"] | None = keyed(
        "the member whose face the floor is parallel to", default=None
    )
    over: Literal["first", "second"] | None = keyed("the member that stays on top", default=None)
    depth: Expression | None = keyed("depth of the cut in the second member", default=None, kind="length")
    thickness: Expression | None = keyed("of tenon or tongue", default=None, kind="length")
    width: Expression | None = keyed("of tenon", default=None, kind="length")
    length: Expression | None = keyed("of tenon or tongue, from the shoulder", default=None, kind="length")
    set_back: Expression | None = keyed("of tenon or tongue from the face side", default=None, kind="length")
    from_edge: Expression | None = keyed("of tenon from the face edge", default=None, kind="length")
    finger: Expression | None = keyed("width of a finger, about", default=None, kind="length")
    fit: Fit | None = keyed("how tight", default=None)
    allowance: Expression | None = keyed(
        "clearance, where the fit's is not wanted", default=None, kind="length"
    )
    gap: Expression | None = keyed("room left at the shoulder for swelling", default=None, kind="length")
    stopped: bool = keyed(
        "the cut ends where the first does (default: it runs the second's length)", default=False
    )
    after: Text | None = keyed("the joint that is cut first", default=None)
    when: When = keyed("the stage at which it is cut", default="shaped")


class Counterbore(Record):
    diameter: Expression = keyed("diameter", kind="length")
    depth: Expression = keyed("depth", kind="length")


class Fastener(Record):
    """Screws, bolts or rods through members. In the file: ``{screw: "#8 x 1 1/4", through: a, into: b}``."""

    kind: Literal["screw", "bolt", "rod"]
    size: Text
    through: tuple[Name, ...] = keyed("the members it passes")
    into: Name | None = keyed("the member it holds in", default=None)
    from_: Side | None = keyed(
        "the surface of the first member it enters by; default: away from the last", default=None
    )
    going: Direction | None = keyed(
        "the way it is driven; default: square to the face it enters by", default=None
    )
    count: Expression = keyed("how many at each place", default="1", kind="number")
    row: Literal["along", "across"] | None = keyed(
        "the row runs along or across the first member; default: the long way of the shared area",
        default=None,
    )
    inset: Expression | None = keyed(
        "first and last from the ends of the shared area", default=None, kind="length"
    )
    at: tuple[tuple[Expression, Expression], ...] | None = keyed(
        "or places: [from end A, from edge] on the entry face; a bolt or rod may then pass members that stand apart",
        default=None,
        kind="length",
    )
    counterbore: Counterbore | None = keyed("for the head", default=None)
    nut_counterbore: Counterbore | None = keyed("for the nut, at the far end of a bolt or rod", default=None)
    when: When = keyed("the stage at which it goes in", default="assembled")


class Assembly(Record):
    of: tuple[Name, ...] = keyed("its members")
    glue: Text | None = keyed("what holds it", default=None)
    notes: tuple[Text, ...] = keyed("notes", default=())


# --- the drawing and the words about it ----------------------------------------------------------------


class Drawing(Record):
    paper: Literal["letter", "A4"] | None = keyed(
        "default: letter for inches, A4 for millimetres", default=None
    )
    large_paper: bool = keyed("elevations on tabloid or A3", default=False)
    projection: Literal["first", "third"] | None = keyed(
        "default: third for inches, first for mm", default=None
    )
    sizes: Expression | None = keyed("least division of sizes, such as 1/16", default=None, kind="length")
    angles: Expression | None = keyed("least division of angles, such as 1/4 deg", default=None, kind="angle")
    hidden_lines: bool = keyed("hidden lines in the elevations", default=False)


class Critical(Record):
    what: Text = keyed("the dimension, in words")
    size: Expression = keyed("its value")


class Revision(Record):
    letter: Text = keyed("its letter")
    date: Text = keyed("its date")
    text: Text = keyed("what changed")


class Design(Record):
    title: Text = keyed("what the piece is")
    units: Literal["in", "mm"] = keyed("the unit of bare numbers and of the drawings")
    about: Text | None = keyed("a sentence or two about it", default=None)
    number: Text | None = keyed("drawing number", default=None)
    owner: Text | None = keyed("whose drawing it is", default=None)
    drawn_by: Text | None = keyed("by whom", default=None)
    approved_by: Text | None = keyed("by whom", default=None)
    date: Text | None = keyed("date of issue", default=None)
    drawing: Drawing = keyed("how it is drawn", default={})
    let: dict[Name, Expression] = keyed("named values", default={})
    stock: dict[Name, Stock] = keyed("stock named by the designer", default={})
    planes: dict[Name, PlaneSpec] = keyed("named planes", default={})
    lines: dict[Name, LineSpec] = keyed("named lines", default={})
    points: dict[Name, PointSpec] = keyed("named points", default={})
    floor_touches: tuple[Name, ...] = keyed("the floor is where these members' lowest points are", default=())
    members: dict[Name, Member] = keyed("the members")
    bought: dict[Name, Bought] = keyed("bought parts", default={})
    joints: tuple[Joint, ...] = keyed("the joints", default=())
    fasteners: tuple[Fastener, ...] = keyed("screws, bolts, rods", default=())
    assemblies: dict[Name, Assembly] = keyed("sub-assemblies", default={})
    order: tuple[Text, ...] = keyed("order of work", default=())
    finish: tuple[Text, ...] = keyed("finish", default=())
    notes: tuple[Text, ...] = keyed("general notes", default=())
    cautions: tuple[Text, ...] = keyed("cautions beside the usual ones", default=())
    tools: tuple[Text, ...] = keyed("the least tools that build it", default=())
    critical: tuple[Critical, ...] = keyed("the dimensions that matter most", default=())
    measure_first: tuple[Text, ...] = keyed("what to buy and measure before cutting", default=())
    keep: tuple[Text, ...] = keyed("offcuts to keep", default=())
    revisions: tuple[Revision, ...] = keyed("revisions, oldest first", default=())


class Stock(Record):
    """Stock that the designer names: what the yard is asked, and its sizes."""

    ask_for: Text = keyed("what to ask for, such as 45 x 95 larch")
    species: Text | None = keyed("species, for its weight", default=None)
    thickness: Expression | None = keyed("thickness", default=None, kind="length")
    width: Expression | None = keyed("width", default=None, kind="length")
    sheet: tuple[Expression, Expression] | None = keyed(
        "length and width of a sheet", default=None, kind="length"
    )


for _record in (*Entry.__subclasses__(), *Record.__subclasses__()):
    _record.model_rebuild()  # they name one another before they are written
