"""The model: every member with its surfaces and features, its instances in place, joints, hardware.

Everything downstream (lists, dimensions, drawings, exporters) reads these types and nothing earlier.
Lengths are millimetres; member coordinates are (l, w, t) from end A, face edge and back.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from plangen.findings import Finding, Place
from plangen.geometry.frames import Frame
from plangen.geometry.solid import Solid
from plangen.geometry.surfaces import Box, Plane, Surface
from plangen.geometry.vectors import Point, Vec
from plangen.placing.body import Bent
from plangen.tables.stock import Stock

Stage: TypeAlias = Literal["square", "shaped", "glued", "assembled", "on the work"]
"""When a feature is cut: while the blank is square; after tapers and outlines; on a glued frame; after
assembly; fitted on the work."""

Origin: TypeAlias = Literal["worked", "bought", "matched", "fitted", "formed", "eye"]
"""Where a size comes from: worked to the figure; as bought; matched to its mate; fitted on the work; formed
(bent) on the work; by eye."""

Hand: TypeAlias = Literal["left", "right"]
Role: TypeAlias = Literal["work", "jig", "bought"]

HolePurpose: TypeAlias = Literal[
    "clearance",
    "pilot",
    "bolt",
    "counterbore",
    "countersink",
    "spot-face",
    "hole",
    "dowel",
    "peg",
    "socket",
    "seat",
]
FeatureKind: TypeAlias = Literal[
    "end", "trim", "bevel", "taper", "curve", "outline", "round",
    "opening", "hole", "counterbore",
    "half lap", "housing", "notch", "rebate", "groove", "tongue", "tenon", "mortise", "fingers",
    "turned", "round-over", "chamfer", "countersink", "spot-face", "seat",
    "dovetail lap", "edge lap", "bridle", "mitre", "scarf", "birdsmouth", "tails", "pins", "dovetail",
    "haunch", "round tenon", "taper tenon", "socket", "kerf", "peg hole", "dowel hole", "bend",
]  # fmt: skip


@dataclass(frozen=True)
class Hole:
    """A bored hole, beside the cutter that makes it: what its note on the drawing says."""

    entry: Point
    """Where the axis meets the entry face, member coordinates."""
    axis: Vec
    """Unit, into the wood."""
    diameter: float
    depth: float | None
    """To the full diameter; None: right through."""
    purpose: HolePurpose
    entry_surface: str


@dataclass(frozen=True)
class Feature:
    """One thing cut into a member: its surfaces, its cutters, when, by which joint, from which line."""

    id: str
    kind: FeatureKind
    stage: Stage
    origin: Origin
    joint: str | None
    """Name of the joint that asks for it."""
    mate: str | None
    """Name of the member whose body made it."""
    place: Place
    surfaces: tuple[Surface, ...]
    cutters: tuple[tuple[str, ...], ...]
    """Each a set of surface ids (the feature's own or others of the member); the cutter is the set of points
    on the outer side of all of them. The feature removes the union."""
    hole: Hole | None = None
    note: str = ""
    assembly: str | None = None
    """Name of the assembly that it is cut on for its own sake, once that is together."""


@dataclass(frozen=True)
class Instance:
    """A member where it stands. ``frame`` takes the drawn member to the world; determinant -1: other hand."""

    name: str
    hand: Hand | None
    frame: Frame


@dataclass(frozen=True)
class Member:
    """One part to make (or buy), drawn once, with all the places where it stands."""

    mark: str
    """A short item reference: A, B, ... AA."""
    name: str
    role: Role
    stock: Stock
    blank: Box
    """What the member is cut from, in the member's frame; may exceed the finished box."""
    finished: Vec
    """Length, width, thickness of the box of the cut member; its least corner is at 0, 0, 0."""
    surfaces: tuple[Surface, ...]
    """Surfaces that remain on the finished member, the blank's faces among them by their reserved ids."""
    features: tuple[Feature, ...]
    solid: Solid
    mass: float | None
    """Kilograms, None where the stock's density is not known."""
    instances: tuple[Instance, ...]
    drawn: Hand | None
    """The hand as drawn; None: not handed."""
    place: Place
    length_origin: Origin = "worked"
    grain: Literal["length", "width"] = "length"
    """For sheet goods: the face grain's direction."""
    bought_size: str = ""
    """For bought parts: what to ask for."""
    notes: tuple[str, ...] = ()
    allowance: tuple[float, float] = (0.0, 0.0)
    """Wood left on at end A and end B for fitting on the work."""
    bent: Bent | None = None
    """Of bought bar bent to shape: the flat it is bent from."""
    boards: int | None = None
    """Edge-glued from so many; None: not said."""
    made: int | None = None
    """Of a jig that the plan asks for: how many are made. It stands nowhere."""

    @property
    def quantity(self) -> int:
        return len(self.instances) if self.made is None else self.made

    @property
    def is_plain(self) -> bool:
        """A rectangular piece without a feature: it goes in the table of plain parts, not on a sheet."""
        return not self.features

    @property
    def is_round(self) -> bool:
        """Round or turned about its own axis: it has no face side and no face edge."""
        return any(f.kind in ("round", "turned") for f in self.features)

    def surface(self, surface_id: str) -> Surface:
        for s in self.surfaces:
            if s.id == surface_id:
                return s
        raise KeyError(surface_id)


@dataclass(frozen=True)
class Joint:
    """A joint in place, between two instances."""

    name: str
    kind: str
    members: tuple[str, str]
    """Instance names; the first enters the second."""
    fit: str
    clearance: float
    place: Place
    sprung: bool = False
    """The parts are sprung apart to close it."""


@dataclass(frozen=True)
class Hardware:
    """Fasteners and bought parts to buy, one line of the hardware list."""

    name: str
    size: str
    quantity: int
    length: float | None
    use: str
    place: Place


@dataclass(frozen=True)
class Driven:
    """A screw, bolt or rod where it sits, in the world: the metal that a later cutter could meet."""

    name: str
    """``screw batten to post``."""
    kind: Literal["screw", "bolt", "rod"]
    members: tuple[str, ...]
    """Names of the instances that it passes, then of the one it holds in."""
    head: Point
    """Middle of the seat under its head, or under its nut at that end."""
    far: Point
    """Its point, or the seat of the nut at the far end."""
    into: Vec
    """The way it is driven, unit."""
    radius: float
    head_radius: float
    """Of what lies on the seat, washer or head."""
    proud: float
    """Height of head and washer over the surface; none where they are sunk in it."""
    nut_radius: float | None
    """Of the nut or washer at the far end; None: it holds in the wood."""
    stage: Stage
    """At which its holes are bored."""
    place: Place


@dataclass(frozen=True)
class AssemblyFeature:
    """What is cut on an assembly for its own sake, in the world; the members it cuts have it as features."""

    kind: Literal["rebate", "trim"]
    stage: Stage
    place: Place
    members: tuple[str, ...]
    """Names of the instances that it cuts."""
    plane: Plane
    """Of a trim; of a rebate the face that it is sunk from."""
    note: str = ""
    width: float = 0.0
    depth: float = 0.0
    corners: float = 0.0
    """Radius that the cutter leaves in the corners of a rebate; 0: sharp."""
    opens: bool = True
    """A rebate runs round an opening, not round an outside."""
    arrises: tuple[tuple[Point, Vec], ...] = ()
    """For each face that a rebate runs along: the middle of the arris it had with ``plane``, and the unit direction
    in that plane into the wood."""


@dataclass(frozen=True)
class Assembly:
    """A sub-assembly: the instances it is made of, and what is cut on it once it is together."""

    name: str
    members: tuple[str, ...]
    features: tuple[tuple[str, str], ...]
    """(member mark, feature id) of the features cut on the assembly."""
    note: str = ""
    cuts: tuple[AssemblyFeature, ...] = ()
    """What of these is cut for its own sake, for no joint or fastener."""


@dataclass(frozen=True)
class Model:
    """The piece, complete."""

    members: tuple[Member, ...]
    joints: tuple[Joint, ...]
    hardware: tuple[Hardware, ...]
    assemblies: tuple[Assembly, ...]
    findings: tuple[Finding, ...] = field(default=())
    driven: tuple[Driven, ...] = field(default=())

    def instance(self, name: str) -> tuple[Member, Instance]:
        for member in self.members:
            for instance in member.instances:
                if instance.name == name:
                    return member, instance
        raise KeyError(name)
