"""Sections: what a plane cuts of a solid, and the solid that is left behind it, as exact faces and edges.

The plane is one more cutter of the solid, so the cut face has the same exact edges as any other.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

from plangen.geometry.clash import solid_mesh
from plangen.geometry.cutting import placed
from plangen.geometry.frames import Frame
from plangen.geometry.slices import Loop, level_loops
from plangen.geometry.solid import GeometryError, NothingLeft, Solid, build_solid, posed
from plangen.geometry.surfaces import Box, Form, Plane
from plangen.geometry.vectors import Point, dot, scale
from plangen.geometry.views import Projection

Box2: TypeAlias = tuple[float, float, float, float]


@dataclass(frozen=True)
class Window:
    """What a section shows: the plane through ``at`` square to the line of sight, and about it a box on paper
    (x0, y0, x1, y1, the projection's right and up) and ``deep`` away from the eye. Millimetres of the work."""

    projection: Projection
    at: Point
    box: Box2
    deep: float

    @property
    def plane(self) -> Plane:
        """Its normal looks at the eye."""
        return Plane(self.projection.toward, dot(self.projection.toward, self.at))

    @property
    def frame(self) -> Frame:
        """The frame of the section: right, up, toward the eye; its level 0 is the plane."""
        p = self.projection
        return Frame(scale(p.toward, dot(p.toward, self.at)), p.right, p.up, p.toward)

    def sides(self) -> tuple[Plane, ...]:
        """The planes that bound it, the section's own first; all look out of it."""
        p, (x0, y0, x1, y1) = self.projection, self.box
        left, down, back = (scale(v, -1.0) for v in (p.right, p.up, p.toward))
        near = self.plane
        return (
            near, Plane(left, -x0), Plane(p.right, x1), Plane(down, -y0), Plane(p.up, y1),
            Plane(back, self.deep - near.offset),
        )  # fmt: skip


@dataclass(frozen=True, eq=False)
class Cut:
    """A solid as a window shows it, and where it stands; ``loops`` round what the window's plane cuts, in its right
    and up, outer ones counter-clockwise."""

    solid: Solid
    frame: Frame
    loops: tuple[Loop, ...]

    @property
    def area(self) -> float:
        """Square millimetres that the plane cuts, exact."""
        return math.fsum(loop.area for loop in self.loops)


def cut_by(blank: Box, cutters: Sequence[Sequence[Form]], frame: Frame, window: Window) -> Cut | None:
    """The solid of ``blank`` and ``cutters``, placed by ``frame``, as far as the window shows it; None where it
    stands outside of it, or cannot be cut there.
    """
    planes = [(side.local_to(frame),) for side in window.sides()]
    try:
        left = build_solid(blank, [*cutters, *planes])
        loops = level_loops(posed(left, _seen_in(window.frame, frame)), 0.0, True)
    except (NothingLeft, GeometryError, ValueError):
        return None
    if frame.determinant < 0:
        loops = tuple(loop.reversed() for loop in loops)
    return Cut(left, frame, loops)


def rough_area(solid: Solid, frame: Frame, window: Window, box: Box2) -> float:
    """Square millimetres that the window's plane cuts of a placed solid within ``box``, by facets: to choose by."""
    left = placed(solid_mesh(solid), _seen_in(window.frame, frame))
    x0, y0, x1, y1 = box
    for normal, offset in (((1.0, 0, 0), x0), ((-1.0, 0, 0), -x1), ((0, 1.0, 0), y0), ((0, -1.0, 0), -y1)):
        left = left.trim_by_plane(normal, offset)
    return 0.0 if left.is_empty() else float(left.slice(0.0).area())


def _seen_in(other: Frame, frame: Frame) -> Frame:
    """A frame of the world as it stands in another."""
    l, w, t = (other.local_direction(v) for v in frame.axes)  # noqa: E741
    return Frame(other.local_point(frame.origin), l, w, t)
