"""Frames: a rigid pose, proper or mirrored, of a member in the world.

A frame takes member coordinates (l, w, t) to the world. Its three axes are orthonormal; ``determinant`` is
-1 where the instance is the other hand of the drawn member.
"""

from __future__ import annotations

from dataclasses import dataclass

from plangen.geometry.vectors import Point, Vec, add, cross, dot, scale, sub

IDENTITY_AXES: tuple[Vec, Vec, Vec] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


@dataclass(frozen=True)
class Frame:
    """World position of the member's origin and world directions of its l, w and t axes."""

    origin: Point
    l: Vec  # noqa: E741  the trade's letter for length along the grain
    w: Vec
    t: Vec

    @property
    def axes(self) -> tuple[Vec, Vec, Vec]:
        return (self.l, self.w, self.t)

    @property
    def determinant(self) -> int:
        return 1 if dot(cross(self.l, self.w), self.t) > 0 else -1

    def point(self, p: Point) -> Point:
        """World position of a point given in the member's frame."""
        return add(self.origin, self.direction(p))

    def direction(self, v: Vec) -> Vec:
        """World direction of a vector given in the member's frame."""
        return add(add(scale(self.l, v[0]), scale(self.w, v[1])), scale(self.t, v[2]))

    def local_point(self, p: Point) -> Point:
        """Member coordinates of a world point."""
        return self.local_direction(sub(p, self.origin))

    def local_direction(self, v: Vec) -> Vec:
        """Member coordinates of a world direction."""
        return (dot(v, self.l), dot(v, self.w), dot(v, self.t))

    def after(self, inner: Frame) -> Frame:
        """The frame that applies ``inner`` first and then this one."""
        return Frame(
            self.point(inner.origin),
            self.direction(inner.l),
            self.direction(inner.w),
            self.direction(inner.t),
        )

    def matrix(self) -> tuple[tuple[float, ...], ...]:
        """The 4 x 4 matrix, rows first, that takes member coordinates (mm) to the world."""
        o, a, b, c = self.origin, self.l, self.w, self.t
        rows = tuple((a[i], b[i], c[i], o[i]) for i in range(3))
        return (*rows, (0.0, 0.0, 0.0, 1.0))


WORLD = Frame((0.0, 0.0, 0.0), *IDENTITY_AXES)
