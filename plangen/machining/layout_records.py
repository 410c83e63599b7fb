"""What is laid out by hand for one set-up: records only; ``hand_layout.py`` works them out.

Lengths are millimetres, angles radians, points and directions in the member's frame.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from plangen.geometry.vectors import Point, Vec
from plangen.machining.ruler import RiseAndRun

_PARALLEL = 1e-9


@dataclass(frozen=True)
class GaugeLine:
    """The line that a cut draws on one face, from an arris of it."""

    cut: str
    """Id of the surface that is cut."""
    surface: str
    arris: tuple[str, str]
    """The face, and the one it meets there."""
    at: Point
    """Where the line starts, on the arris."""
    way: Vec
    """Unit, the line's direction over the face."""
    angle: float
    """Between the line and the arris, 0 to a quarter turn: the bevel gauge's setting."""
    leans: Vec
    """Unit, along the arris: the way to which the line leans from square; 0, 0, 0 where it is square."""
    marks: RiseAndRun
    """Of the angle from square, or from the arris where that is the smaller."""

    @property
    def from_square(self) -> float:
        return math.pi / 2 - self.angle

    @property
    def marks_from_arris(self) -> bool:
        return self.angle < self.from_square - _PARALLEL


@dataclass(frozen=True)
class SightLine:
    """How a slanting hole is sighted: a line over the face it enters, and the lean along it."""

    surface: str
    entry: Point
    arris: tuple[str, str] | None
    """The sight line is told from this arris' direction; None where the mark was told from none."""
    sight_line: float
    """Radians between the two, 0 to a quarter turn."""
    toward: Vec
    """Unit, over the face: the way the hole leans as it goes in."""
    sight_marks: RiseAndRun
    resultant: float
    """Radians that the hole leans from square to the face, along the sight line."""
    resultant_marks: RiseAndRun
    aim: Point | None
    """Where the sight line, drawn on, leaves the face; None where no plane of the work bounds it."""
    aim_surface: str | None
    exit: Point | None
    """The middle of the hole's mouth on the other side."""


@dataclass(frozen=True)
class Roll:
    """A hole in a round piece: where it stands round the piece from a face of its blank, and its lean along it."""

    from_surface: str
    roll: float
    """Radians round from the square to that face, counter-clockwise seen from end B, from -pi to pi."""
    lean: float
    """Radians from square to the piece's length; positive toward end B as the hole goes in."""
    lean_marks: RiseAndRun
    entry: Point


@dataclass(frozen=True)
class SideDepth:
    """How deep a trench is where it comes out at one side."""

    surface: str
    wall: str | None
    """The wall beside which it is measured; None where the trench has none."""
    at: Point
    """On the surface that depths are measured from."""
    depth: float


@dataclass(frozen=True)
class HandLayout:
    """Everything drawn on the work for one set-up."""

    lines: tuple[GaugeLine, ...] = ()
    sight: SightLine | None = None
    roll: Roll | None = None
    depths: tuple[SideDepth, ...] = ()
