"""What is measured: bored and notched members, in a three-dimensional lattice or as a row of benches.

Sizes and the places of holes vary by fixed irrational steps, so that no two members of a lattice are alike and
every run measures the same work. A member is kept as plain numbers, from which each side builds it its own way.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from plangen.geometry.frames import Frame
from plangen.geometry.surfaces import Box, Cylinder, Form, Plane
from plangen.geometry.vectors import Point, Vec, cross, scale, unit
from plangen.geometry.views import ABOVE, FRONT, RIGHT, Projection

BENCH_MEMBERS = 25
REPEATED_SHAPES = 10
"""Distinct members where shapes repeat."""


@dataclass(frozen=True)
class Hole:
    """A hole right through the thickness, at ``l`` and ``w`` (mm) of its member."""

    l: float  # noqa: E741  the trade's letter for length along the grain
    w: float
    radius: float


@dataclass(frozen=True)
class Workpiece:
    """A blank with its corner at the origin, its holes, and a notch of the face edge right through (mm)."""

    size: Vec
    holes: tuple[Hole, ...]
    notch_from: float
    notch_to: float
    notch_depth: float

    @property
    def blank(self) -> Box:
        return Box((0.0, 0.0, 0.0), self.size)

    def cutters(self) -> list[tuple[Form, ...]]:
        """As ``build_solid`` takes them."""
        middle = self.size[2] / 2
        bored: list[tuple[Form, ...]] = [
            (Cylinder((h.l, h.w, middle), (0.0, 0.0, 1.0), h.radius, "hole"),) for h in self.holes
        ]
        notch: tuple[Form, ...] = (
            Plane((1.0, 0.0, 0.0), self.notch_from),
            Plane((-1.0, 0.0, 0.0), -self.notch_to),
            Plane((0.0, -1.0, 0.0), -self.notch_depth),
        )
        return [*bored, notch]


@dataclass(frozen=True)
class Arrangement:
    """Workpieces in their places; a workpiece may stand in several."""

    pieces: tuple[Workpiece, ...]
    standing: tuple[tuple[int, Frame], ...]
    """(index into ``pieces``, where it stands)."""


def oblique_view() -> Projection:
    """From the front, above and the right, no edge of the lattice seen end-on."""
    toward = unit((0.5, -1.0, 0.7))
    right = unit(cross((0.0, 0.0, 1.0), toward))
    return Projection(right, cross(toward, right), toward)


FOUR_VIEWS: tuple[Projection, ...] = (FRONT, RIGHT, ABOVE, oblique_view())


def _share(index: int, step: float) -> float:
    """A value from 0 to 1 for each index, evenly spread, never repeating."""
    return math.modf((index + 1) * step)[0]


_STEPS = tuple(math.sqrt(p) for p in (2, 3, 5, 7, 11, 13, 17, 19, 23))


def workpiece(index: int, length: float = 500.0) -> Workpiece:
    """One of an endless series of unlike members about ``length`` long, with three holes and a notch."""
    a, b, c, d, e, f, g, h, i = (_share(index, step) for step in _STEPS)
    size = (length * (0.8 + 0.4 * a), 60.0 + 40.0 * b, 24.0 + 16.0 * c)
    holes = tuple(
        Hole(size[0] * (0.12 + 0.25 * k + 0.08 * share), size[1] * (0.55 + 0.15 * share), 4.0 + 6.0 * share)
        for k, share in enumerate((d, e, f))
    )
    start = size[0] * (0.72 + 0.05 * g)
    return Workpiece(size, holes, start, start + 30.0 + 20.0 * h, size[1] * (0.25 + 0.15 * i))


def _leaning(index: int, origin: Point) -> Frame:
    """Along one of the three axes in turn, leaned some degrees two ways as splayed work is."""
    lean = [math.radians(12.0 * _share(index, step) - 6.0) for step in _STEPS[:2]]
    along = unit((1.0, math.tan(lean[0]), math.tan(lean[1])))
    across = unit(cross((0.0, 0.0, 1.0), along))
    axes = [along, across, cross(along, across)]
    turn = index % 3
    turned = [(v[-turn], v[1 - turn], v[2 - turn]) for v in axes]
    return Frame(origin, turned[0], turned[1], turned[2])


def lattice(count: int, shapes: int | None = None) -> Arrangement:
    """``count`` members in a cube; all unlike, or of ``shapes`` shapes that repeat."""
    pieces = tuple(workpiece(k) for k in range(count if shapes is None else min(shapes, count)))
    side = math.ceil(count ** (1 / 3) - 1e-9)
    pitch = 380.0
    standing = []
    for k in range(count):
        cell = (k % side, k // side % side, k // (side * side))
        origin = tuple(pitch * c + 25.0 * _share(k, s) for c, s in zip(cell, _STEPS[2:5], strict=True))
        standing.append((k % len(pieces), _leaning(k, (origin[0], origin[1], origin[2]))))
    return Arrangement(pieces, tuple(standing))


def bench_row(benches: int) -> Arrangement:
    """Benches of 25 unlike members side by side along x: 4 legs, 6 rails, 15 slats."""
    pieces, standing = [], []
    for k in range(benches):
        for place in _bench_places():
            pieces.append(workpiece(len(pieces), place[1]))
            x, y, z = place[0].origin
            standing.append((len(standing), Frame((x + 1600.0 * k, y, z), *place[0].axes)))
    return Arrangement(tuple(pieces), tuple(standing))


def _bench_places() -> Sequence[tuple[Frame, float]]:
    x, y, z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
    legs = [
        (Frame((100.0 + 1000.0 * i, 100.0 + 380.0 * j, 0.0), z, x, y), 400.0) for i in (0, 1) for j in (0, 1)
    ]
    long_rails = [(Frame((120.0, 90.0 + 190.0 * j, 330.0), x, scale(z, -1.0), y), 1000.0) for j in (0, 1, 2)]
    short_rails = [(Frame((110.0 + 500.0 * i, 80.0, 300.0), y, z, x), 420.0) for i in (0, 1, 2)]
    slats = [(Frame((30.0, 20.0 + 36.0 * j, 440.0), x, y, z), 1100.0) for j in range(15)]
    return [*legs, *long_rails, *short_rails, *slats]
