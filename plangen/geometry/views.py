"""What a view is: a projection, and the strokes seen and hidden in it. Knows no paper."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from plangen.geometry.curves import Curve, Vec2
from plangen.geometry.vectors import Point, Vec, dot


@dataclass(frozen=True)
class Projection:
    """A parallel projection: paper ``right`` and ``up`` and the direction ``toward`` the eye (unit, square,
    right-handed: right x up = toward)."""

    right: Vec
    up: Vec
    toward: Vec

    def flat(self, p: Point) -> Vec2:
        return (dot(self.right, p), dot(self.up, p))

    def depth(self, p: Point) -> float:
        """Greater is nearer to the eye."""
        return dot(self.toward, p)


FRONT = Projection((1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0))
REAR = Projection((-1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, 1.0, 0.0))
RIGHT = Projection((0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))
LEFT = Projection((0.0, -1.0, 0.0), (0.0, 0.0, 1.0), (-1.0, 0.0, 0.0))
ABOVE = Projection((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
BELOW = Projection((1.0, 0.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, -1.0))


Kind: TypeAlias = Literal["edge", "contour", "smooth"]


@dataclass(frozen=True)
class Stroke:
    """One piece of an edge or contour as projected (millimetres of the work, not paper)."""

    curve: Curve
    visible: bool
    kind: Kind
    owner: int
    """Index of the solid it belongs to, in the order given."""
