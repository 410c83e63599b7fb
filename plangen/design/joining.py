"""What joins members: the records of joints, fasteners, and what is cut on an assembly.

A key of the file is the field's name with spaces for underscores; see ``design``.
"""

from __future__ import annotations

from typing import Literal

from plangen.design.locations import PlaneSpec
from plangen.design.records import Direction, Expression, Name, Record, Text, keyed
from plangen.design.words import Fit, Side, When


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
    depth: Expression | None = keyed(
        "depth of the cut in the second member; how far each dowel or loose tenon goes into either",
        default=None,
        kind="length",
    )
    thickness: Expression | None = keyed("of tenon or tongue", default=None, kind="length")
    width: Expression | None = keyed("of tenon", default=None, kind="length")
    length: Expression | None = keyed(
        "of tenon or tongue, from the shoulder; of a tenon by rule 2/3 of its mate's width",
        default=None,
        kind="length",
    )
    set_back: Expression | None = keyed("of tenon or tongue from the face side", default=None, kind="length")
    from_edge: Expression | None = keyed("of tenon from the face edge", default=None, kind="length")
    finger: Expression | None = keyed("width of a finger, about", default=None, kind="length")
    tails: Expression | None = keyed("how many dovetails", default=None, kind="number")
    slope: Expression | None = keyed(
        "of dovetails, or of a scarf, such as 1 in 8", default=None, kind="angle"
    )
    lap: Expression | None = keyed("wood left in front of half-blind tails", default=None, kind="length")
    nib: Expression | None = keyed("blunt end of a scarf, square to its face", default=None, kind="length")
    haunch: Expression | None = keyed("how far the haunch enters", default=None, kind="length")
    haunch_width: Expression | None = keyed(
        "of the haunch; default: all beside the tenon", default=None, kind="length"
    )
    shoulder: Literal["flat", "scribed"] | None = keyed(
        "on a round or curved mate: flat, or scribed to it", default=None
    )
    spline: Expression | None = keyed("thickness of the spline across a mitre", default=None, kind="length")
    spline_width: Expression | None = keyed("of the spline, across the joint", default=None, kind="length")
    diameter: Expression | None = keyed(
        "of a dowel or round tenon; of a taper tenon at its small end", default=None, kind="length"
    )
    included: Expression | None = keyed("angle of a taper tenon, side to side", default=None, kind="angle")
    proud: Expression | None = keyed(
        "how far a through tenon stands out; 0 takes it through, flush", default=None, kind="length"
    )
    wedges: Expression | None = keyed("how many wedges spread the tenon", default=None, kind="number")
    bored_from: Side | None = keyed("the surface of the second that the socket is bored from", default=None)
    peg: Expression | None = keyed("diameter of the pegs that hold it", default=None, kind="length")
    pegs: Expression | None = keyed("how many pegs", default=None, kind="number")
    drawbore: Expression | None = keyed(
        "the tenon's peg hole is nearer the shoulder by this", default=None, kind="length"
    )
    count: Expression | None = keyed(
        "how many dowels, loose tenons, or tenons side by side", default=None, kind="number"
    )
    inset: Expression | None = keyed(
        "first and last dowel or loose tenon from the ends of the shared area", default=None, kind="length"
    )
    short: Expression | None = keyed(
        "a stopped or sliding joint ends this far short of the side it is ``short of``",
        default=None,
        kind="length",
    )
    short_of: Side | None = keyed("the side of the second that a stopped joint does not reach", default=None)
    fit: Fit | None = keyed("how tight", default=None)
    allowance: Expression | None = keyed(
        "clearance, where the fit's is not wanted", default=None, kind="length"
    )
    gap: Expression | None = keyed("room left at the shoulder for swelling", default=None, kind="length")
    stopped: bool = keyed(
        "the cut ends where the first does (default: it runs the second's length)", default=False
    )
    sprung: bool = keyed("the parts are sprung apart to close it: no straight move does", default=False)
    after: Text | None = keyed("the joint that is cut first", default=None)
    when: When = keyed("the stage at which it is cut", default="shaped")
    only_if: Expression | None = keyed(
        "made only where this holds, such as sides = 6", default=None, kind="number"
    )


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
    spot_face: Expression | None = keyed(
        "diameter of the flat seats cut square to a bolt or rod on faces that slope to it",
        default=None,
        kind="length",
    )
    countersink: Expression | None = keyed(
        "diameter of a screw head's countersink", default=None, kind="length"
    )
    when: When = keyed(
        "the stage at which its holes are bored; pilot holes: on the work, through the others",
        default="shaped",
    )
    only_if: Expression | None = keyed(
        "used only where this holds, such as sides = 4", default=None, kind="number"
    )


class AssemblyCut(Record):
    """Something cut on an assembly once it is together; exactly one of rebate, trim says what.

    A rebate runs round an opening (or an outside) along the named faces of the members, a rabbeting cutter's
    way; a trim takes off what lies beyond a plane, from every member that it meets.
    """

    rebate: tuple[PlaneSpec, ...] | None = keyed(
        "the faces that the rebate runs along, all round", default=None
    )
    sunk_from: PlaneSpec | None = keyed("the face that the rebate is sunk from", default=None)
    width: Expression | None = keyed(
        "of the rebate, from those faces into the wood", default=None, kind="length"
    )
    depth: Expression | None = keyed("of the rebate", default=None, kind="length")
    corners: Expression | None = keyed(
        "radius that the cutter leaves in the corners", default=None, kind="length"
    )
    trim: PlaneSpec | None = keyed("or a plane that trims the assembly", default=None)
    of: tuple[Name, ...] = keyed("the members that are cut; default: all", default=())
    when: When = keyed("the stage at which it is cut", default="glued")
    note: Text | None = keyed("how it is cut, in words", default=None)


class Assembly(Record):
    of: tuple[Name, ...] = keyed("its members")
    cuts: tuple[AssemblyCut, ...] = keyed("what is cut on it once it is together, in order", default=())
    only_if: Expression | None = keyed(
        "made only where this holds, such as sides = 6", default=None, kind="number"
    )
    glue: Text | None = keyed("what holds it", default=None)
    notes: tuple[Text, ...] = keyed("notes", default=())


for _record in Record.__subclasses__():
    if _record.__module__ == __name__:
        _record.model_rebuild()  # they name one another before they are written
