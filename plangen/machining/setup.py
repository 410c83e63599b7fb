"""Set-ups: how the work lies at a machine for one cut, and where the tool stands. Records only, nothing computed.

At a machine: x along the fence to the right, y away from the operator toward the fence, z up. The blade at rest is
the plane x = 0; a miter turns it counter-clockwise seen from above, then a bevel leans its top to the right about its
own trace. A tilt turns the *work* about a level axis, before both. Angles are radians, lengths millimetres, points
and directions in the member's frame. At the jointer the blade lies level (miter and bevel 90 degrees, its normal down)
and the tilt is the fence's: azimuth 0 where its top leans in over the table, 180 degrees where it leans out.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from plangen.geometry.curves import Curve
from plangen.geometry.vectors import Point, Vec
from plangen.joinery.model import Hand, Member, Stage
from plangen.machining.layout_records import HandLayout

Machine: TypeAlias = Literal[
    "mitre saw",
    "table saw",
    "trenching head",
    "router",
    "bandsaw",
    "jointer",
    "drill press",
    "lathe",
    "vise",
    "hand",
]
"""``trenching head``: a stack of cutters on the table saw's arbor that clears a flat-bottomed trench from below."""

Operation: TypeAlias = Literal[
    "crosscut", "rip", "taper", "kerf", "trench", "rout", "plane", "bore", "ream", "mould", "saw to line",
    "rout to template", "turn", "bend", "by hand",
]  # fmt: skip
"""``crosscut``, ``rip``, ``taper``, ``plane``: right through, across the grain, along the fence, on a tapering carrier,
at the jointer. ``kerf``: a saw blade to a depth. ``trench``: the trenching head to a depth. ``rout``: a straight bit
to a depth along a run. ``mould``: a shaped bit along an arris. ``ream``: a tapering bit."""

HandReason: TypeAlias = Literal[
    "undercut wall", "square inside corner", "dovetail", "scribed shoulder", "wedge slot", "free curve",
    "fitted on the work",
]  # fmt: skip
"""The only reasons for which a cut is left to hand tools."""

JigKind: TypeAlias = Literal["wedge", "taper carrier", "angle block", "fence strip", "bending form", "cradle"]

End: TypeAlias = Literal["A", "B"]


@dataclass(frozen=True)
class Tool:
    """What cuts. ``width`` of a blade's kerf or a head or straight bit; ``diameter`` of a blade, drill or bit.

    A tapering bit (reamer, countersink) has its ``included`` angle and the ``diameter`` that its taper has, or would
    have, where its axis enters the work; a shaped bit the ``radius`` it leaves on an arris.
    """

    shape: Literal["blade", "head", "bit", "drill"]
    width: float | None = None
    diameter: float | None = None
    included: float | None = None
    radius: float | None = None


@dataclass(frozen=True)
class Tilt:
    """The work is turned by ``angle`` > 0 by the right-hand rule about the level axis at ``azimuth`` from the fence."""

    angle: float
    azimuth: float


@dataclass(frozen=True)
class Stop:
    """Where the tool's plane meets an arris: ``distance`` along it from the plane ``start``, positive into the wood.

    ``at`` is that point. The arris is the line common to two planes, whether or not wood is left there.
    """

    end: End
    arris: tuple[str, str]
    distance: float
    start: str
    """Id of the plane that the distance starts at (``stop.from``)."""
    at: Point
    point: Literal["long", "short"] | None = None
    wall: Literal["near", "far"] | None = None


@dataclass(frozen=True)
class Block:
    """A piece of waste wood clamped to the work while it is bored, and bored with it.

    ``backing board``: where the drill comes out. ``side block``: on the face that a hole runs half out of. ``guide
    block``: bored at the hole's own angle, it leads a drill that enters aslant.
    """

    kind: Literal["backing board", "side block", "guide block"]
    on: str
    """Id of the surface that it is clamped to."""
    size: Vec
    """Least length along the hole's trace on that surface, width across it, thickness square to it, mm."""


@dataclass(frozen=True)
class Setup:
    """One cut: the work on the table, the tool, the stop; what it makes.

    ``makes`` names each surface once for each hand; ``goes_on`` names surfaces begun by an earlier set-up of the
    feature that this one carries on (a shoulder's line taken round the other faces). Its order for waste with a
    floor: wall at the stop, floor, other wall; with waste left or right wall and floor; two with waste between are
    the walls of a floor that is carried on; one without a stop is the floor; none where all is only carried on. A
    wall with a depth of (0, 0) meets no wood: nothing is cut. ``frees`` repeats the feature's
    cutters: each a set of surface ids that together part one piece of waste from the work.
    """

    member: str
    """Mark."""
    feature: str
    stage: Stage
    operation: Operation
    machine: Machine
    makes: tuple[str, ...]
    frees: tuple[tuple[str, ...], ...]
    goes_on: tuple[str, ...] = ()
    tool: Tool | None = None
    """None at the lathe, in the vise and by hand."""
    cut_from: Literal["above", "below", "end"] | None = None
    surface_down: str | None = None
    surface_against: str | None = None
    end_left: End | None = None
    """None where the work stands on an end."""
    miter: float = 0.0
    bevel: float = 0.0
    tilt: Tilt | None = None
    """Of the work on what lies under it, on the tilting table of bandsaw or drill press, by the jointer's fence."""
    jig: str | None = None
    stop: Stop | None = None
    fence: float | None = None
    """Second distance for the bench: of a bored hole's or routed run's middle from the surface against the fence."""
    waste: Literal["left", "right", "between"] | None = None
    width: float | None = None
    """Between the walls of a trench, square to them."""
    depth: tuple[float, float] | None = None
    """Least and most, square to ``depth_from``, over the corners of the floor; of a bored hole both along its axis.
    None: right through."""
    depth_from: str | None = None
    depth_at: tuple[tuple[Point, float], ...] = ()
    """Points on ``depth_from`` and the depth there; the floor is square to the blade, parallel to its trace, through
    the first. A bored hole has one: its ``path[0]``, and the depth of the floor along the axis."""
    run: tuple[Point, Point] | None = None
    """Along the trace, where it stops short of an edge; None: right through."""
    path: tuple[Point, ...] = ()
    """A bored hole: where its axis enters, on ``depth_from``, and, of a hole right through, the middle of its mouth on
    the other side. A turned piece: two points of its axis."""
    touches: tuple[Point, float] | None = None
    """Where a drill's middle touches wood on a round or sawn surface, and how much deeper its hole is bored from there
    (0: right through); ``depth_from`` is then a face of the blank that the work no longer has."""
    rolled: tuple[float, float] | None = None
    """Round work in a cradle, whose ``tilt`` is one turn for both: how far it is rolled about its own axis from where
    ``depth_from`` looks up, counter-clockwise seen from end B; and how far the table is then raised along it, positive
    where the hole leans toward end B as it goes in."""
    outline: tuple[Curve, ...] = ()
    """Sawn or routed to a line, or bent: the line on the face that is up, in the plane of ``frame``."""
    outline_frame: tuple[Point, Vec, Vec] | None = None
    """Origin and the two directions of the outline's plane; the walls run along their cross product."""
    profile: tuple[tuple[float, float], ...] = ()
    """Turned: (distance along the axis from its first point, diameter), two of a stretch. ``makes`` is then the round
    surface, the plane at the first of them and the plane at the last; where it has one plane, that is at the first."""
    by_hand: HandReason | None = None
    residue: float = 0.0
    """Most that a tool of real width leaves standing (positive) or takes too much (negative), mm."""
    residue_note: str = ""
    block: str = ""
    """What is clamped on while the hole is bored, in words; ``blocks`` has the sizes."""
    blocks: tuple[Block, ...] = ()
    passes: int = 1
    """Of the tool; 0: nothing of its own is cut here, since the wood is bought so or the stroke before left it so."""
    pass_depth: float | None = None
    """At the jointer: what one pass takes off at most, mm, square to the cut."""
    alternative: tuple[float, float] | None = None
    """Miter and bevel for the work standing on edge, where that is at hand too."""
    quantity: int = 1
    """Pieces of this hand."""
    hand: Hand | None = None
    sequence: int = 0
    """Place in the order of cuts of its member, from 1."""
    index: int = 0
    """Place in the order of the whole set, from 1."""
    cautions: tuple[str, ...] = ()
    layout: HandLayout | None = None
    """The same cut laid out by hand on the work as it stands before it; of the other hand as drawn."""


@dataclass(frozen=True)
class Way:
    """One way to make a feature: its set-ups in order, and what they cost a maker (a plain cut is about 1)."""

    setups: tuple[Setup, ...]
    cost: float
    beyond: tuple[str, ...] = ()
    """What of this way the shop's machines do not reach, in words; a way within reach has none."""


@dataclass(frozen=True)
class Setting:
    """What the operator sets once for several set-ups."""

    index: int
    machine: Machine
    tool: Tool | None
    miter: float
    bevel: float
    tilt: Tilt | None
    jig: str | None
    setups: tuple[int, ...]
    snap_error: float = 0.0
    """Most that any of the work's points moves because near settings were made one, mm."""


@dataclass(frozen=True)
class Jig:
    """A shop-made aid as it is laid; its member (mark) stands among the model's members with the role ``jig``.

    One member laid in several ways is a jig each.
    """

    name: str
    kind: JigKind
    member: str
    angle: float
    azimuth: float
    """Of the axis about which the work turns, from the fence."""
    rise: float
    length: float
    width: float
    setups: tuple[int, ...]
    snap_error: float = 0.0
    """Most that any of the work's points moves because near jigs were made one, mm."""
    beside: str = ""
    """Name of the jig that it is used together with: a second cradle for the thinner end of a leg."""
    offcut: str = ""
    """Id of the feature whose waste it is: ``member`` is then a piece of work, and nothing is made."""


@dataclass(frozen=True)
class Offcut:
    """The wedge that the waste of one plane cut is: its angle, and what of it the saw leaves, mm."""

    angle: float
    length: float
    """Down its slope, along the face of the blank."""
    width: float


@dataclass(frozen=True)
class Spared:
    """A jig that an order of cuts, or an offcut, made needless."""

    member: str
    feature: str
    before: str
    """The feature that is cut afterwards; or the one whose offcut serves."""
    text: str
    offcut: Offcut | None = None
    """Where an offcut serves."""


@dataclass(frozen=True)
class Machining:
    """Every cut of the piece: set-ups in the order of the set, settings, jigs."""

    setups: tuple[Setup, ...] = ()
    settings: tuple[Setting, ...] = ()
    jigs: tuple[Jig, ...] = ()
    spared: tuple[Spared, ...] = ()
    changes: int = 0
    """Times that a machine is set."""
    least_changes: int = 0
    """No order that the stages allow has fewer."""
    beyond: tuple[str, ...] = field(default=())
    """What this shop cannot make, in words."""
    members: tuple[Member, ...] = ()
    """The jigs as members, to stand with those of the piece."""
