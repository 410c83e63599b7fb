"""How far the skin of a bored cylinder reaches: past a plane, between its mouth and its far end."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from plangen.geometry.patches import frame_about
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Point, Vec, along, cross, dot, length, neg, scale, sub


@dataclass(frozen=True)
class Reach:
    """A cylinder about ``way`` (unit) from the plane through ``mouth`` to the plane through ``far``."""

    mouth: Point
    far: Point
    way: Vec
    radius: float
    mouth_normal: Vec
    far_normal: Vec

    def beyond(self, plane: Plane) -> float:
        """Greatest signed distance past the plane of any point of the skin; negative: so much wood is left.

        A cylinder between two planes reaches farthest on one of its two rims. On a rim with normal m about c, a
        point is c + r (u cos + v sin) + s way, s such that it lies in the rim's plane.
        """
        return max(
            plane.distance(c) + self.radius * self._swing(plane.normal, m)
            for c, m in ((self.mouth, self.mouth_normal), (self.far, self.far_normal))
        )

    def _swing(self, n: Vec, m: Vec) -> float:
        slope = dot(n, self.way) / dot(m, self.way)
        return math.hypot(*(dot(n, e) - slope * dot(m, e) for e in frame_about(self.way)))

    def lines(self, radius: float, count: int = 48) -> Iterator[Point]:
        """Points round the axis abreast of the mouth's middle: starts of lines along the skin at ``radius``."""
        e, f = frame_about(self.way)
        for i in range(count):
            a = 2 * math.pi * i / count
            yield along(along(self.mouth, e, radius * math.cos(a)), f, radius * math.sin(a))

    @property
    def size(self) -> float:
        return dot(sub(self.far, self.mouth), self.way)


def segments_apart(a: tuple[Point, Point], b: tuple[Point, Point]) -> float:
    """Least distance between two straight stretches, millimetres.

    The parameters of the common perpendicular are clamped to the stretches, one after the other (the usual
    closest-points-of-two-segments construction).
    """
    u, v, w = sub(a[1], a[0]), sub(b[1], b[0]), sub(a[0], b[0])
    uu, uv, vv, uw, vw = dot(u, u), dot(u, v), dot(v, v), dot(u, w), dot(v, w)
    det = uu * vv - uv * uv
    s = _share(uv * vw - vv * uw, det) if det > 1e-12 * uu * vv else 0.0
    t = _share(uv * s + vw, vv)
    s = _share(uv * t - uw, uu)
    t = _share(uv * s + vw, vv)
    return length(sub(along(a[0], u, s), along(b[0], v, t)))


def _share(part: float, whole: float) -> float:
    return min(max(part / whole, 0.0), 1.0) if whole > 0 else 0.0


def on_one_axis(p: Point, a: Vec, q: Point, b: Vec, within: float) -> bool:
    """Whether two straight axes (unit) are one line, the second's point ``within`` so much of the first."""
    return length(cross(a, b)) < 1e-6 and length(cross(sub(q, p), a)) < within


def lean_depth(radius: float, way: Vec, outward: Vec) -> float:
    """How deep below the middle of the mouth a flat seat square to ``way`` must lie to be a full circle on a
    plane that looks ``outward``."""
    cosine = dot(way, neg(outward))
    return radius * length(sub(outward, scale(way, dot(outward, way)))) / cosine
