"""Marks: all that an exporter ever sees of a sheet. A small closed union, in paper millimetres, y up,
origin at the sheet's lower left corner.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from plangen.geometry.curves import Curve, Vec2

LineUse: TypeAlias = Literal[
    "cut outline",  # 0.7, outline of a cut surface, ground line
    "outline",  # 0.5, visible edges and outlines
    "fine outline",  # 0.35, visible edges in elevations at 1:10 and smaller
    "narrow",  # 0.25, leaders, hatching, thin rules
    "dimension",  # 0.25
    "hidden",  # 0.25 dashed
    "centre",  # 0.25 long dash, dot
    "cutting plane",  # 0.5, the thick ends of the line that a section is cut by
    "phantom",  # 0.25 long dash, two dots
    "context",  # 0.25, grey
    "frame",  # 0.7
    "rule",  # 0.25, table rules
]
"""The use of a line; widths and dashes are in ``drawing/linework.py`` (ISO 128 series)."""


@dataclass(frozen=True)
class Stroke:
    """A line drawn through curves that follow each other head to tail."""

    curves: tuple[Curve, ...]
    use: LineUse
    closed: bool = False


@dataclass(frozen=True)
class Fill:
    """A filled area; ``grey`` 0 is black, 1 white."""

    curves: tuple[Curve, ...]
    grey: float = 0.0


@dataclass(frozen=True)
class Lettering:
    """One line of text. ``height`` is the height of capitals, in millimetres (ISO 3098: 2.5 3.5 5 7 10).

    A mixed number such as ``3 15/16`` is set with a stacked fraction by the exporter when ``fractions`` is
    true; its figures are at least 2.5 mm high. ``at`` is on the base line: its left end, middle or right end.
    """

    text: str
    at: Vec2
    height: float
    align: Literal["left", "middle", "right"] = "left"
    rotation: float = 0.0
    """Degrees, counter-clockwise."""
    weight: Literal["regular", "bold"] = "regular"
    fractions: bool = True


@dataclass(frozen=True)
class LinearDimension:
    """A distance between two feet, figured on a dimension line square to ``direction``'s normal."""

    feet: tuple[Vec2, Vec2]
    """Points of the view the extension lines start from."""
    line_at: Vec2
    """Any point of the dimension line."""
    direction: Vec2
    """Unit direction in which the distance is measured."""
    text: str
    """As printed, e.g. ``3 15/16`` or ``(120)``."""
    value: float
    """Millimetres of the work, exact."""
    height: float = 3.5
    text_at: Vec2 | None = None
    """Middle of the figure's base line; None: the middle of the line."""
    arrows: Literal["inside", "outside", "running"] = "inside"
    """``running``: one of several measured from the origin circle at the first foot; a head at the second."""
    text_rotation: float | None = None
    """Degrees; None: along the line."""


@dataclass(frozen=True)
class AngularDimension:
    """The angle at ``apex`` between two rays, figured on an arc; degrees counter-clockwise from the right."""

    apex: Vec2
    first: float
    last: float
    """The arc runs counter-clockwise from ``first`` to ``last``, less than 180 degrees."""
    radius: float
    text: str
    value: float
    """Degrees, exact."""
    height: float = 3.5
    text_at: Vec2 | None = None


@dataclass(frozen=True)
class Leader:
    """A note on a leader: ``path`` from its end at the feature to the shelf under the text."""

    path: tuple[Vec2, ...]
    end: Literal["arrow", "dot", "none"]
    text: str
    height: float = 3.5
    kind: Literal["note", "radius", "diameter"] = "note"
    value: float | None = None


@dataclass(frozen=True)
class Link:
    """An area (x0, y0, x1, y1) that leads to another sheet, by its number, where the medium has links."""

    area: tuple[float, float, float, float]
    sheet: str


@dataclass(frozen=True)
class Group:
    """Marks that belong together, such as a view, a table, the title block."""

    name: str
    marks: tuple[Mark, ...]


Mark: TypeAlias = Stroke | Fill | Lettering | LinearDimension | AngularDimension | Leader | Link | Group


@dataclass(frozen=True)
class ViewOnSheet:
    """Where a view stands: paper = ``origin`` + scale * (view coordinates in mm of the work)."""

    name: str
    scale: float
    """Paper over work: 0.125 for 1:8."""
    scale_text: str
    origin: Vec2


@dataclass(frozen=True)
class Sheet:
    """One page, ready for any exporter."""

    number: str
    """``S-01``"""
    title: str
    kind: Literal[
        "cover",
        "elevations",
        "details",
        "part",
        "assembly",
        "parts table",
        "set-ups",
        "lists",
        "notes",
        "full size",
    ]
    width: float
    height: float
    paper: str
    """``Letter landscape``"""
    marks: tuple[Mark, ...]
    views: tuple[ViewOnSheet, ...] = ()
    members: tuple[str, ...] = ()
    """Marks of the members whose sizes the sheet states: one on a part sheet, some in a table of parts."""
    bookmark: str = ""
    alt: str = ""
    """What the sheet shows, in words, with the key sizes (for readers who hear the page)."""
