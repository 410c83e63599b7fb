"""Bodies: blank and trims, in place. What a member is before any joint is cut."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

from plangen.design.design import When
from plangen.findings import Finding, Place
from plangen.geometry.frames import Frame
from plangen.geometry.region import convex_region
from plangen.geometry.surfaces import Box, Form, Plane
from plangen.geometry.vectors import Point, Vec
from plangen.tables.stock import Stock

ShapingKind: TypeAlias = Literal[
    "end", "bevel", "trim", "taper", "curve", "outline", "round", "turned", "round-over", "chamfer"
]

BOUND_MM = 20000.0
"""No member reaches farther than this from its own origin: the box that open sides are closed with."""


@dataclass(frozen=True)
class Shaping:
    """One surface that shapes the body out of its blank, in the member's frame."""

    kind: ShapingKind
    side: str
    """The blank's face it takes the place of: ``A``, ``B``, ``edge``, ``back edge``, ``back``, ``face``."""
    form: Form
    place: Place
    stage: When = "shaped"
    fitted: bool = False
    leave: float = 0.0
    within: tuple[Form, ...] = ()
    """Where this is not empty the form shapes only the part of the body on the outer side of all of these: a
    stretch of a turned profile between two planes square to the axis, a rounded arris beyond its chamfer plane.
    """

    @property
    def cutter(self) -> tuple[Form, ...]:
        return (self.form, *self.within)


BoredKind: TypeAlias = Literal["hole", "counterbore", "countersink", "spot-face", "seat"]
EDGE_WORK: tuple[ShapingKind, ...] = ("round-over", "chamfer")
"""Shapings that ease an arris: no joint takes account of them, no surface of theirs is named."""


@dataclass(frozen=True)
class Bored:
    """What was bored: where its middle is on the surface it enters by (member's frame), and its size."""

    entry: Point
    axis: Vec
    """Unit, into the wood."""
    diameter: float
    depth: float | None
    """Along the axis, to the full diameter; None: right through."""
    side: str
    """The blank's face that it is bored from."""


@dataclass(frozen=True)
class Opening:
    """Something cut into a member, no concern of its joints: one or more cutters."""

    kind: Literal["opening"] | BoredKind
    cutters: tuple[tuple[Form, ...], ...]
    place: Place
    stage: When
    note: str = ""
    bored: Bored | None = None


ROUNDED_SIDES = ("edge", "back edge", "face", "back")
"""The box's faces that a round piece does not have."""


def _bounds(shaping: Shaping) -> bool:
    """Whether the shaping's surface bounds the whole body, so that joints and names refer to it."""
    return not shaping.within and shaping.kind not in EDGE_WORK


@dataclass(frozen=True)
class Bend:
    """One bend of a flat bar, and where its tangent lines lie on the flat, from the end that comes first."""

    angle: float
    """Radians turned through; positive and negative ones turn opposite ways."""
    inside_radius: float
    begins: float
    ends: float


@dataclass(frozen=True)
class Bent:
    """The flat that a bent bar is made from."""

    length: float
    """The developed length: straights, and each bend at its allowance."""
    width: float
    thickness: float
    k_factor: float
    bends: tuple[Bend, ...]


@dataclass(frozen=True)
class Standing:
    """One place where a body stands."""

    name: str
    aliases: tuple[str, ...]
    frame: Frame


@dataclass(frozen=True)
class Body:
    """The body of one member: the box of the shaped piece, what shapes it, where it stands.

    The body is the box less the cutter of every shaping; ``box.origin`` is 0, 0, 0.
    """

    name: str
    role: Literal["work", "jig", "bought"]
    stock: Stock
    box: Box
    shapings: tuple[Shaping, ...]
    openings: tuple[Opening, ...]
    standings: tuple[Standing, ...]
    place: Place
    grain: Literal["length", "width"] = "length"
    is_round: bool = False
    notes: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    """What the maker should know of it: notes and warnings, no errors."""
    bent: Bent | None = None
    """Of bent bar: its flat."""
    boards: int | None = None
    """Edge-glued from so many; None: not said."""

    @property
    def size(self) -> Vec:
        return self.box.size

    @property
    def frame(self) -> Frame:
        """Where the drawn one stands."""
        return self.standings[0].frame

    @property
    def blank(self) -> Box:
        """The box the member is cut from: the shaped piece's box with what is left on for fitting."""
        low, high = [0.0, 0.0, 0.0], list(self.box.size)
        for shaping in self.shapings:
            if shaping.side == "A":
                low[0] = min(low[0], -shaping.leave)
            elif shaping.side == "B":
                high[0] = max(high[0], self.box.size[0] + shaping.leave)
        return Box((low[0], low[1], low[2]), (high[0] - low[0], high[1] - low[1], high[2] - low[2]))

    def surfaces(self) -> tuple[tuple[str, Form], ...]:
        """Every surface that bounds the body, by name: the box's faces, then the shapings by their side."""
        faces = tuple(self.box.planes().items())
        return faces + tuple((f"{s.kind} {s.side}", s.form) for s in self.shapings if _bounds(s))

    @property
    def is_flat(self) -> bool:
        """Whether its planes alone bound it."""
        return all(isinstance(s.form, Plane) and not s.within for s in self.shapings)

    def planes(self) -> tuple[Plane, ...]:
        """The planes that bound the body (its curved surfaces left out: an outer approximation)."""
        return tuple(form for _, form in self.surfaces() if isinstance(form, Plane))

    def standing(self, name: str) -> Standing:
        for standing in self.standings:
            if name == standing.name or name in standing.aliases:
                return standing
        raise KeyError(name)

    def with_standings(self, standings: tuple[Standing, ...]) -> Body:
        return replace(self, standings=standings)

    def corners(self) -> tuple[Point, ...]:
        """Corners of the body, curved surfaces left out."""
        region = convex_region(self.planes(), BOUND_MM)
        return region.vertices if region is not None else ()

    def carrying(self) -> tuple[tuple[str, Plane, Point], ...]:
        """The plane surfaces that carry area on the body: name, plane, a point in the middle of the area.

        A side worked round or to a curve is no plane, though its box has one there.
        """
        rounded = set(ROUNDED_SIDES) if self.is_round else set()
        rounded |= {s.side for s in self.shapings if s.kind == "curve"}
        named = [(n, f) for n, f in self.surfaces() if isinstance(f, Plane)]
        region = convex_region([p for _, p in named], BOUND_MM)
        if region is None:
            return ()
        result = []
        for index, polygon in region.faces:
            if named[index][0] in rounded:
                continue
            k = 1.0 / len(polygon)
            middle = (
                sum(p[0] for p in polygon) * k,
                sum(p[1] for p in polygon) * k,
                sum(p[2] for p in polygon) * k,
            )
            result.append((named[index][0], named[index][1], middle))
        return tuple(result)
