"""What can hide in one view: convex polygons, discs and wells that face the eye, in view coordinates.

A *well* is a hole whose wall runs between two full rims. A ray that comes down through a rim facing the eye
leaves the hole by its other end or meets the wall, so the wall needs no facets: it hides what lies behind such
a rim, but for what is seen through the other end and what is inside the hole.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from plangen.geometry.rows import cross_rows, dot_rows, unit_rows
from plangen.geometry.scene import Discs, Mouths, Pieces, Rounds, Scene, join_rows, take_rows
from plangen.geometry.views import Projection

Array = np.ndarray
FACING = 1e-7
"""Sine of the angle between a face and the line of sight below which the face is seen edge-on."""
LATERAL = 1e-5
"""Millimetres: nearer than this to a piece's outline a point counts as on it, not inside."""


@dataclass(frozen=True, eq=False)
class Screen:
    """Pieces of one width that face the eye, sorted by face: sides as ``a x + b y + c > 0`` inside."""

    sides: Array
    """(m, k, 3), unit; a seam already moved."""
    limits: Array
    """(m, k): by how much the middle of a hidden interval must be inside."""
    plane: Array
    """(m, 4): normal and offset; ``offset - normal . x`` is the depth behind the plane."""
    depth: Array
    """(m,): least depth behind the plane that counts."""
    face: Array
    same: Array
    """Number of the round surface the piece lies on, -1 for others."""
    hole: Array
    low: Array
    """(m, 2) least x and y."""
    high: Array
    """(m, 3) greatest x, y and z."""


@dataclass(frozen=True, eq=False)
class DiscScreen:
    """Discs and round openings: ``inverse`` (m, 2, 4) takes x, y, z, 1 to the unit circle's plane.

    Only the inside of a well depends on z. An opening takes away from what its face hides.
    """

    inverse: Array
    width: Array
    """(m, 4) takes x, y, z, 1 to the circle's radius there: 1 but for the inside of a conical well."""
    conical: Array
    plane: Array
    depth: Array
    face: Array
    opening: Array
    slack: Array
    """(m,) LATERAL as a share of the radius."""
    same: Array
    """Number of a well's wall, -1 for other faces."""
    hole: Array
    low: Array
    high: Array


@dataclass(frozen=True, eq=False)
class Blinds:
    """Everything that can hide in one view."""

    screens: tuple[Screen, ...]
    discs: DiscScreen
    faces: int


def view_rows(projection: Projection, v: Array) -> Array:
    """Vectors (..., 3) of the world as x, y and z of the view."""
    axes = (projection.right, projection.up, projection.toward)
    return np.stack([dot_rows(v, np.array(axis)) for axis in axes], axis=-1)


def raise_blinds(scene: Scene, projection: Projection) -> Blinds:
    """The pieces and discs of a scene that face the eye, in view coordinates."""
    tolerance = max(1e-5, 1e-7 * scene.size)
    screens = tuple(
        _screen(pieces, scene.rounds, projection, tolerance) for pieces in (scene.small, scene.large)
    )
    discs = join_rows(
        [_disc_screen(scene.discs, projection, tolerance), _wells(scene, projection, tolerance)]
    )
    return Blinds(screens, take_rows(discs, np.argsort(discs.face, kind="stable")), scene.faces)


def _screen(pieces: Pieces, rounds: Rounds, projection: Projection, tolerance: float) -> Screen:
    facing = dot_rows(pieces.normal, np.array(projection.toward))
    index = np.flatnonzero(facing > FACING)
    pieces = take_rows(pieces, index[np.argsort(pieces.face[index], kind="stable")])
    corners = view_rows(projection, pieces.corners)
    normal = view_rows(projection, pieces.normal)
    x, y = corners[..., 0], corners[..., 1]
    dx, dy = np.roll(x, -1, axis=1) - x, np.roll(y, -1, axis=1) - y
    size = np.hypot(dx, dy)
    sign = pieces.hand[:, None] / np.where(size > 0, size, 1.0)
    a, b = -dy * sign, dx * sign
    # A side of no length (a corner repeated) is no condition.
    c = np.where(size > 0, -(a * x + b * y) + pieces.seams * LATERAL, 1.0)
    limits = np.where((size > 0) & (pieces.seams == 0), LATERAL, 0.0)
    offset = dot_rows(normal, corners[:, 0])
    of = pieces.round
    on_round = of >= 0
    same = np.where(on_round, rounds.same[of], -1) if len(rounds.same) else np.full(len(of), -1)
    hole = on_round & (rounds.side[of] < 0) if len(rounds.side) else np.zeros(len(of), dtype=bool)
    return Screen(
        sides=np.stack((a, b, c), axis=-1),
        limits=limits,
        plane=np.concatenate((normal, offset[:, None]), axis=1),
        depth=tolerance + 1.01 * pieces.sag,
        face=pieces.face,
        same=same,
        hole=hole,
        low=corners[..., :2].min(axis=1),
        high=corners.max(axis=1),
    )


def _disc_screen(discs: Discs, projection: Projection, tolerance: float) -> DiscScreen:
    facing = dot_rows(discs.normal, np.array(projection.toward))
    index = np.flatnonzero(facing > FACING)
    discs = take_rows(discs, index)
    ellipse = _Ellipses(*(view_rows(projection, v) for v in (discs.centre, discs.major, discs.minor)))
    return ellipse.screen(
        view_rows(projection, discs.normal), discs.opening, discs.face, np.full(len(index), -1), tolerance
    )


@dataclass(frozen=True, eq=False)
class _Ellipses:
    """Ellipses in view coordinates."""

    centre: Array
    major: Array
    minor: Array

    @property
    def low(self) -> Array:
        return (self.centre - np.hypot(self.major, self.minor))[:, :2]

    @property
    def high(self) -> Array:
        return self.centre + np.hypot(self.major, self.minor)

    def screen(self, normal: Array, opening: Array, face: Array, same: Array, tolerance: float) -> DiscScreen:
        """The ellipses as discs; ``normal`` turned toward the eye, ``same`` numbers of wells' walls."""
        major, minor = self.major, self.minor
        area = major[:, 0] * minor[:, 1] - major[:, 1] * minor[:, 0]
        to_x = np.stack((minor[:, 1], -minor[:, 0]), axis=1) / area[:, None]
        to_y = np.stack((-major[:, 1], major[:, 0]), axis=1) / area[:, None]
        rows = np.stack((to_x, to_y), axis=1)
        shift = -(rows[..., 0] * self.centre[:, None, 0] + rows[..., 1] * self.centre[:, None, 1])
        radius = np.sqrt(np.minimum(dot_rows(major, major), dot_rows(minor, minor)))
        offset = dot_rows(normal, self.centre)
        return DiscScreen(
            inverse=np.concatenate((rows, np.zeros((len(rows), 2, 1)), shift[..., None]), axis=2),
            width=np.tile((0.0, 0.0, 0.0, 1.0), (len(rows), 1)),
            conical=np.zeros(len(rows), dtype=bool),
            plane=np.concatenate((normal, offset[:, None]), axis=1),
            depth=np.full(len(rows), tolerance),
            face=face,
            opening=opening,
            slack=2 * LATERAL / np.where(radius > 0, radius, 1.0),
            same=same,
            hole=same >= 0,
            low=self.low,
            high=self.high,
        )


def _wells(scene: Scene, projection: Projection, tolerance: float) -> DiscScreen:
    """Of each well that can be looked into: mouths toward the eye, the other rims and the inside as openings."""
    facing = dot_rows(scene.mouths.normal, np.array(projection.toward))
    heads = np.flatnonzero(np.diff(scene.mouths.face, prepend=-1))
    counts = np.diff(heads, append=len(facing))
    into = np.logical_or.reduceat(facing > FACING, heads)
    number = np.flatnonzero(np.repeat(into, counts))
    both = take_rows(scene.mouths, number)
    ellipses = _Ellipses(*(view_rows(projection, v) for v in (both.centre, both.major, both.minor)))
    same = scene.rounds.same[both.round]
    inside = _insides(ellipses, both, same, scene.rounds, projection)
    seen = np.flatnonzero(np.abs(facing[number]) > FACING)
    back = facing[number[seen]] < 0
    normal = view_rows(projection, both.normal[seen]) * np.where(back, -1.0, 1.0)[:, None]
    rims = take_rows(ellipses, seen).screen(normal, back, both.face[seen], same[seen], tolerance)
    return join_rows([rims, inside])


def _insides(
    ellipses: _Ellipses, mouths: Mouths, same: Array, rounds: Rounds, projection: Projection
) -> DiscScreen:
    """The cylinder or cone of each well, wider by a hair so that what touches its wall is inside."""
    first = np.flatnonzero(np.diff(mouths.face, prepend=-1))
    of = mouths.round[first]
    axis, point = view_rows(projection, rounds.axis[of]), view_rows(projection, rounds.point[of])
    slope = rounds.slope[of]
    pick = np.eye(3)[np.argmin(np.abs(axis).round(6), axis=1)]
    e1 = unit_rows(pick - axis * dot_rows(pick, axis)[:, None])
    height = dot_rows(ellipses.centre[first] - point, axis)
    radius = rounds.radius[of] + slope * height + 2 * LATERAL * np.sqrt(1.0 + slope * slope)
    rows = np.stack((e1, cross_rows(axis, e1)), axis=1) / radius[:, None, None]
    shift = -dot_rows(rows, point[:, None])
    growth = slope / radius
    none = np.zeros(len(of))
    return DiscScreen(
        inverse=np.concatenate((rows, shift[..., None]), axis=2),
        width=np.column_stack((axis * growth[:, None], 1.0 - growth * (height + dot_rows(axis, point)))),
        conical=slope != 0.0,
        plane=np.concatenate((np.zeros((len(of), 3)), np.ones((len(of), 1))), axis=1),
        depth=none,
        face=mouths.face[first],
        opening=np.ones(len(of), dtype=bool),
        slack=none,
        same=same[first],
        hole=np.ones(len(of), dtype=bool),
        low=np.minimum.reduceat(ellipses.low, first),
        high=np.maximum.reduceat(ellipses.high, first),
    )
