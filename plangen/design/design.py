"""A design as the designer wrote it: checked, placed in the file, without geometry.

These frozen records are the schema of a design file. A key of the file is the field's name with spaces for
underscores (``cut by``, ``seen from``; ``end A`` for ``end_a``). Every record and every scalar carries its
``place`` in the file; a member and a bought part, whose ``place`` is where they go, carry it as ``source``.
Expressions stay as trees: sizes are worked out here, points and faces by ``placing``.
"""

from __future__ import annotations

from typing import Literal

from plangen.design.joining import (
    Assembly,
    AssemblyCut,
    Counterbore,
    Fastener,
    Joint,
)
from plangen.design.locations import (
    HalfwayPlane,
    HalfwayPoint,
    Lean,
    LevelPlane,
    LineForm,
    LineFrom,
    LineSpec,
    MeetingLine,
    MeetingPoint,
    MemberPoint,
    PlaneForm,
    PlaneSpec,
    PlaneThroughLine,
    PlaneThroughPoint,
    PlaneThroughPoints,
    PointForm,
    PointOnLine,
    PointSpec,
    ShiftedPlane,
    ShiftedPoint,
    Turn,
)
from plangen.design.records import Direction, Entry, Expression, FileName, Name, Record, Text, keyed
from plangen.design.shop import Workshop
from plangen.design.template_settings import Templates
from plangen.design.words import (
    Fit,
    Side,
    View,
    When,
)
from plangen.design.yard import Climate, Coat, Roughing, YardList

__all__ = [
    "Around",
    "Assembly",
    "AssemblyCut",
    "BoredHole",
    "Bought",
    "Copies",
    "Counterbore",
    "Critical",
    "Curve",
    "Design",
    "Drawing",
    "EdgeWork",
    "Fastener",
    "Fit",
    "HalfwayPlane",
    "HalfwayPoint",
    "Joint",
    "Lean",
    "LevelPlane",
    "LineForm",
    "LineFrom",
    "LineSpec",
    "MeetingLine",
    "MeetingPoint",
    "Member",
    "MemberPoint",
    "Opening",
    "Outline",
    "Placing",
    "PlaneForm",
    "PlaneSpec",
    "PlaneThroughLine",
    "PlaneThroughPoint",
    "PlaneThroughPoints",
    "PointForm",
    "PointOnLine",
    "PointSpec",
    "Relation",
    "Repeat",
    "Revision",
    "ShiftedPlane",
    "ShiftedPoint",
    "Side",
    "Stock",
    "Taper",
    "Trim",
    "Turn",
    "View",
    "When",
]

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
    mirrored: bool = keyed(
        "half an outline: the other half mirrored about the line through its first and last points",
        default=False,
    )


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


class Around(Record):
    count: Expression = keyed("how many in all, evenly round", kind="number")
    about: LineSpec = keyed("the line they stand round; they follow anticlockwise as it comes toward you")


class Copies(Record):
    """Further places where the same member stands."""

    mirror: tuple[Literal["left to right", "front to back"], ...] = keyed(
        "mirrored about the centre plane, the depth plane, or both", default=()
    )
    turned: bool = keyed("instead of mirroring: turned half round about the plumb centre line", default=False)
    repeat: Repeat | None = keyed("repeats at a spacing", default=None)
    around: Around | None = keyed("or repeats in a ring about a line", default=None)


class BoredHole(Record):
    """A hole bored into a member, no fastener's. In the file: ``{diameter: 3/4, in: face, at: [3, 1 1/2]}``."""

    diameter: Expression = keyed("diameter", kind="length")
    in_: Side = keyed("the surface it is bored from")
    at: tuple[Expression, Expression] = keyed(
        "its middle on that surface: on face or back [from end A, from edge]; on an edge [from end A, from back]; "
        "on an end [from edge, from back]",
        kind="length",
    )
    depth: Expression | None = keyed(
        "to the full diameter; default: right through", default=None, kind="length"
    )
    going: Direction | None = keyed("the way it is bored; default: square to that surface", default=None)
    counterbore: Counterbore | None = keyed("a wider mouth with a flat floor", default=None)
    countersink: Expression | None = keyed("diameter of a conical mouth", default=None, kind="length")
    spot_face: Expression | None = keyed(
        "diameter of a flat seat square to the hole, where the surface slopes to it",
        default=None,
        kind="length",
    )
    half_round: bool = keyed(
        "its middle lies on an arris of the piece: a half-round seat, bored with a block clamped on",
        default=False,
    )
    purpose: Text | None = keyed("what it is for", default=None)
    when: When = keyed("the stage at which it is bored", default="square")


class EdgeWork(Record):
    """Arrises rounded over or chamfered; exactly one of round over, chamfer."""

    round_over: Expression | None = keyed("radius", default=None, kind="length")
    chamfer: Expression | None = keyed("width taken off both faces", default=None, kind="length")
    arrises: tuple[tuple[Side, Side], ...] = keyed(
        "each the two surfaces that meet in it; default: the four long ones", default=()
    )
    from_end_a: Expression | None = keyed(
        "starts this far from end A; default: at the end", default=None, kind="length"
    )
    from_end_b: Expression | None = keyed(
        "stops this far from end B; default: at the end", default=None, kind="length"
    )
    when: When = keyed("the stage at which it is worked", default="shaped")


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
    turned: tuple[tuple[Expression, Expression], ...] = keyed(
        "diameters along a turned member: [from end A on the axis, diameter], straight between; one place twice "
        "is a shoulder; before the first and after the last the diameter stays",
        default=(),
        kind="length",
    )
    place: Placing = keyed("where it goes")
    trim: dict[Side, Trim | PlaneSpec] = keyed("what cuts it: side, then plane", default={})
    taper: Taper | None = keyed("an even taper", default=None)
    curve: Curve | None = keyed("a curved edge", default=None)
    outline: Outline | None = keyed("the shape of its face", default=None)
    openings: tuple[Opening, ...] = keyed("openings cut through the face", default=())
    holes: tuple[BoredHole, ...] = keyed("holes bored in it, no fasteners'", default=())
    edge_work: tuple[EdgeWork, ...] = keyed("arrises rounded over or chamfered", default=())
    copies: Copies | None = keyed("further places", default=None)
    grain: Literal["length", "width"] = keyed("way of the (face) grain", default="length")
    role: Literal["work", "jig"] = keyed("part of the work, or a jig", default="work")
    boards: Expression | None = keyed("edge-glued from this many boards", default=None, kind="number")
    hung_on: Name | None = keyed("a gate's brace: the member on the hinge side", default=None)
    removable: Direction | None = keyed("travels out this way, everything else in place", default=None)
    removed_with: tuple[Name, ...] = keyed("what leaves together with it", default=())
    undone: tuple[Literal["screws", "bolts", "rods"], ...] = keyed(
        "its fasteners that come out before it leaves", default=()
    )
    clear: Expression | None = keyed(
        "room beside it on its way out, to swell in; default: that of a loose fit",
        default=None,
        kind="length",
    )
    finish: Text | None = keyed("finish, where not that of the whole", default=None)
    notes: tuple[Text, ...] = keyed("notes for its sheet", default=())
    only_if: Expression | None = keyed(
        "made only where this holds, such as sides = 6", default=None, kind="number"
    )


class Bought(Entry):
    """A bought part, drawn as a simple envelope."""

    size: Text = keyed("what to ask for at the counter")
    box: tuple[Expression, Expression, Expression] | None = keyed(
        "length, width, thickness", default=None, kind="length"
    )
    round: tuple[Expression, Expression] | None = keyed("length, diameter", default=None, kind="length")
    bent: tuple[PointSpec, ...] | None = keyed(
        "flat bar bent along these points, all in one plane: the middle of its thickness and width",
        default=None,
    )
    bar: tuple[Expression, Expression] | None = keyed(
        "width, thickness of that bar", default=None, kind="length"
    )
    inside_radius: Expression | None = keyed(
        "of its bends; default: the bar's thickness", default=None, kind="length"
    )
    k_factor: Expression | None = keyed(
        "where the neutral line lies, as a share of the thickness", default=None, kind="number"
    )
    place: Placing | None = keyed("where it goes", default=None)
    copies: Copies | None = keyed("further places", default=None)
    quantity: Expression | None = keyed("how many, where they have no place", default=None, kind="number")
    use: Text | None = keyed("what it is for", default=None)
    removed_with: tuple[Name, ...] = keyed("what leaves together with it", default=())
    only_if: Expression | None = keyed(
        "bought only where this holds, such as sides = 4", default=None, kind="number"
    )


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
    both_units: bool = keyed("sizes in the other unit too, in square brackets", default=False)
    hidden_lines: bool = keyed("hidden lines in the elevations", default=False)
    stages: tuple[When, ...] = keyed("stages at which the piece is shown as it then stands", default=())


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
    shop: Workshop | FileName | None = keyed(
        "the machines it is made with, or the name of a file beside the design that says them; default: a small shop",
        default=None,
    )
    templates: Templates | FileName | None = keyed(
        "how cut files and full-size paper are made, or the name of a file beside the design that says it",
        default=None,
    )
    yard: YardList | FileName | None = keyed(
        "what the timber yard sells and what lies in the shop, or the name of a file beside the design that says it; "
        "default: the trade's sizes, without prices",
        default=None,
    )
    roughing: Roughing | None = keyed("what is left on when parts are roughed out", default=None)
    climate: Climate | None = keyed("the air that it will live in", default=None)
    order: tuple[Text, ...] = keyed("order of work", default=())
    finish: tuple[Text, ...] = keyed("finish", default=())
    coats: tuple[Coat, ...] = keyed(
        "finishes to buy for; default: what the words of `finish` name", default=()
    )
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
