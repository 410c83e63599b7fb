"""Figures: what a sheet states of a member or of the piece, with the points on the work they stand between.

A figure is computed once, here, from the model; drawings, DXF and plan.json read this one record.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from plangen.geometry.vectors import Point, Vec
from plangen.joinery.model import Origin

MemberView: TypeAlias = Literal["face", "back", "edge", "back edge", "end A", "end B"]
SIGHT_OF: dict[MemberView, Vec] = {
    "face": (0.0, 0.0, -1.0),
    "back": (0.0, 0.0, 1.0),
    "edge": (0.0, 1.0, 0.0),
    "back edge": (0.0, -1.0, 0.0),
    "end A": (1.0, 0.0, 0.0),
    "end B": (-1.0, 0.0, 0.0),
}
"""Line of sight of each view of a member, in its own frame (into the paper)."""
AssemblyView: TypeAlias = Literal["face on", "upper edge", "right edge"]
"""Views of an assembly: square to the face it shows most of, and along that face."""
ConventionKind: TypeAlias = Literal[
    "square", "parallel", "in line", "concentric", "symmetric", "tangent", "same as"
]
FigureKind: TypeAlias = Literal["linear", "angular", "radius", "diameter", "depth"]
Tier: TypeAlias = Literal["size", "position", "overall"]
"""Where among parallel dimension lines: nearest the outline, in the middle, outermost."""


@dataclass(frozen=True)
class Figure:
    """One dimension of a member, in the member's frame."""

    id: str
    view: MemberView
    kind: FigureKind
    value: float
    """Millimetres, or degrees for ``angular``: exact, from the solid."""
    printed: str
    """The figure as printed, without unit: ``3 15/16``, ``(120)``, ``12.25°``, ``R85``, ``4 x Ø 3/8 THRU``."""
    reference: bool
    """In parentheses: follows from others, or stands without them on another sheet."""
    origin: Origin
    held: bool
    """Must print the same as on its mate's sheet, or as bought."""
    off: float
    """Printed less true, millimetres or degrees."""
    points: tuple[Point, ...]
    """Linear and depth: the two ends. Angular: apex, a point on each arm. Radius: centre, on the curve.
    Diameter: two opposite points."""
    direction: Vec | None
    """Linear and depth: unit direction of measuring, member frame."""
    on: tuple[tuple[str, ...], ...]
    """For each point the ids of the surfaces it lies on."""
    feature: str | None
    """Id of the feature the figure is of, None for the member's own sizes."""
    tier: Tier = "size"
    side: Literal["below", "above", "left", "right", "in place"] = "below"
    """Which side of the view the dimension line stands on, as the view is drawn (length to the right from
    end A in face and edge views)."""
    said_by: str = ""
    """Id of the figure whose printed note says this one too (``Ø 10 x 25 DEEP``): not drawn again."""


@dataclass(frozen=True)
class Convention:
    """What corners that look square, and sides that look parallel, say without a figure."""

    kind: ConventionKind
    surfaces: tuple[str, ...]


@dataclass(frozen=True)
class Proof:
    """What the figures without parentheses, with the conventions, make of a member."""

    undetermined: tuple[str, ...]
    """Ids of surfaces left open; empty where the sheet is complete."""
    redundant: tuple[str, ...]
    """Ids of figures that follow from those before them, and stand without parentheses all the same."""
    drift: float
    """Millimetres: the farthest a corner can move along an axis when every printed figure is off by half its
    step. Of a sheet that is not complete, of what it fixes."""
    off: float
    """Millimetres: how far the corner that comes out farthest from where it is drawn does so along an axis, when
    the work is true to what is printed."""
    drift_at: str = ""
    """In words where it drifts so far: ``a corner of the notch``."""
    off_at: str = ""
    """The same of the corner that comes out farthest off."""


@dataclass(frozen=True)
class MemberFigures:
    """All that the part sheet of one member states."""

    mark: str
    views: tuple[MemberView, ...]
    """The views the sheet needs, face first."""
    figures: tuple[Figure, ...]
    conventions: tuple[Convention, ...]
    notes: tuple[str, ...] = ()
    """Notes that belong to the part as a whole, in the trade's words."""
    datum: Point | None = None
    """Where end A, face edge and face side meet; None where no length is measured from there."""
    proof: Proof | None = None
    """Of the sheet; None of one that is not asked for it, as of a flat that is bent."""


@dataclass(frozen=True)
class ElevationFigure:
    """One dimension of an elevation, in world coordinates."""

    id: str
    view: Literal["front", "right", "left", "plan"]
    kind: Literal["linear", "angular"]
    value: float
    printed: str
    reference: bool
    points: tuple[Point, ...]
    direction: Vec | None
    what: str
    """In words: ``overall height``, ``beam to floor``, ``splay of the legs``."""
    tier: Tier = "size"
    side: Literal["below", "above", "left", "right", "in place"] = "below"


@dataclass(frozen=True)
class AssemblyFigure:
    """One dimension of what is cut on an assembly, in world coordinates."""

    id: str
    view: AssemblyView
    kind: FigureKind
    value: float
    printed: str
    reference: bool
    points: tuple[Point, ...]
    direction: Vec | None
    what: str
    tier: Tier = "size"
    side: Literal["below", "above", "left", "right", "in place"] = "below"


@dataclass(frozen=True)
class AssemblyFigures:
    """All that the sheet of one assembly states, and how its views look."""

    name: str
    right: Vec
    up: Vec
    toward: Vec
    """The view face on: world directions to the right, up the paper, and toward the eye."""
    figures: tuple[AssemblyFigure, ...]
    notes: tuple[str, ...]
    """What is cut, in words and in order."""
