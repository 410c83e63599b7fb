"""A scene: solids in their places as arrays, prepared once for all views.

Every distinct solid is read once, in its own frame (its *shape*, see ``shapes.py``): straight edges, conic
edges, the borders of cylinders and cones (for their contours), convex pieces that can hide. A scene carries the shapes
of all its instances to the world and lays them end to end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from plangen.geometry.frames import Frame
from plangen.geometry.rows import cross_rows, dot_rows

Array = np.ndarray
if TYPE_CHECKING:
    from _typeshed import DataclassInstance

Rows = TypeVar("Rows", bound="DataclassInstance")


@dataclass(frozen=True, eq=False)
class Lines:
    """Straight edges, the segments of chains, and facet borders that may become contours. Rows n."""

    start: Array
    end: Array
    left: Array
    """Outward unit normals of the two faces along the edge."""
    right: Array
    left_round: Array
    """Index of the cylinder or cone a face lies on, -1 for other faces."""
    right_round: Array
    convex: Array
    smooth: Array
    facet: Array
    """A border between two facets of one free curve: drawn only where it is a contour."""
    owner: Array


@dataclass(frozen=True, eq=False)
class Conics:
    """Edges ``centre + major cos p + minor sin p``; a face's normal there is ``n0 + n1 cos p + n2 sin p``."""

    centre: Array
    major: Array
    minor: Array
    first: Array
    last: Array
    left: Array
    """(n, 3, 3): n0, n1, n2 of the left face, and of the right."""
    right: Array
    left_round: Array
    right_round: Array
    convex: Array
    smooth: Array
    owner: Array


@dataclass(frozen=True, eq=False)
class Rounds:
    """Cylinders and cones that carry area. ``side`` is +1 for a post, -1 for a hole."""

    point: Array
    axis: Array
    radius: Array
    """At ``point``."""
    slope: Array
    """By how much the radius grows for each millimetre along the axis: 0 of a cylinder."""
    side: Array
    same: Array
    """A number equal for surfaces that coincide in space, whichever side their wood is on."""
    owner: Array


@dataclass(frozen=True, eq=False)
class Rims:
    """Mesh edges that bound the round faces, from ``start`` to ``end``."""

    start: Array
    end: Array
    round: Array
    face: Array
    normal: Array
    """Of the plane on the other side; zero where that face is curved."""


@dataclass(frozen=True, eq=False)
class Pieces:
    """Convex polygons that hide: (n, k) corners, the last one repeated where there are fewer."""

    corners: Array
    seams: Array
    normal: Array
    sag: Array
    face: Array
    round: Array
    """-1 for pieces of planes and free curves."""
    hand: Array
    """-1 where the instance is mirrored: corners then run clockwise."""


@dataclass(frozen=True, eq=False)
class Discs:
    """Full ellipses in plane faces: openings to leave out, or whole faces."""

    centre: Array
    major: Array
    minor: Array
    normal: Array
    face: Array
    opening: Array


@dataclass(frozen=True, eq=False)
class Mouths:
    """The rims of each *well*, one after the other: a hole whose wall's face has full ellipses and no other border.

    There are two, or one where the wall of a cone runs on to its tip.
    """

    centre: Array
    major: Array
    minor: Array
    normal: Array
    """Of the rim's plane, out of the hole."""
    face: Array
    """The wall's."""
    round: Array


@dataclass(frozen=True, eq=False)
class Scene:
    """All that a view needs, in world coordinates (mm)."""

    lines: Lines
    conics: Conics
    rounds: Rounds
    rims: Rims
    small: Pieces
    """Pieces of up to four sides."""
    large: Pieces
    discs: Discs
    mouths: Mouths
    faces: int
    """Number of faces of all instances; pieces name their face by its index."""
    size: float
    """Greatest extent of the scene along a world axis."""


POINTS = {"start", "end", "centre", "point", "corners"}
DIRECTIONS = {"left", "right", "normal", "axis", "major", "minor"}
ROUND_INDICES = {"round", "left_round", "right_round"}


@dataclass(frozen=True, eq=False)
class Places:
    """Where the shapes of a scene go: one row an instance."""

    origin: Array
    axes: Array
    """(n, 3, 3): rows l, w, t in the world."""
    hand: Array
    first_round: Array
    first_face: Array


def place_shapes(shapes: Sequence[Scene], frames: Sequence[Frame]) -> Scene:
    """The shapes carried to the world by their frames, end to end; a shape may be given many times."""
    rounds = np.array([len(s.rounds.radius) for s in shapes], dtype=np.int64)
    faces = np.array([s.faces for s in shapes], dtype=np.int64)
    places = Places(
        origin=np.array([f.origin for f in frames], dtype=float).reshape(-1, 3),
        axes=np.array([f.axes for f in frames], dtype=float).reshape(-1, 3, 3),
        hand=np.array([f.determinant for f in frames], dtype=float),
        first_round=np.cumsum(rounds) - rounds,
        first_face=np.cumsum(faces) - faces,
    )
    small = _place_rows([s.small for s in shapes], places)
    large = _place_rows([s.large for s in shapes], places)
    corners = np.concatenate((small.corners.reshape(-1, 3), large.corners.reshape(-1, 3)))
    placed = _place_rows([s.rounds for s in shapes], places)
    return Scene(
        lines=_place_rows([s.lines for s in shapes], places),
        conics=_place_rows([s.conics for s in shapes], places),
        rounds=replace(placed, same=_number_coincident(placed)),
        rims=_place_rows([s.rims for s in shapes], places),
        small=small,
        large=large,
        discs=_place_rows([s.discs for s in shapes], places),
        mouths=_place_rows([s.mouths for s in shapes], places),
        faces=int(faces.sum()),
        size=float((corners.max(axis=0) - corners.min(axis=0)).max()) if len(corners) else 0.0,
    )


def _place_rows(parts: Sequence[Rows], places: Places) -> Rows:
    counts = np.array([len(_columns(part)[0][1]) for part in parts], dtype=np.int64)
    at = np.repeat(np.arange(len(parts)), counts)
    joined = join_rows(parts)
    moved = {}
    for name, column in _columns(joined):
        if name in POINTS or name in DIRECTIONS:
            column = _turned(column, places.axes[at])
        if name in POINTS:
            column = column + places.origin[at].reshape(-1, *([1] * (column.ndim - 2)), 3)
        elif name in ROUND_INDICES:
            column = np.where(column < 0, -1, column + places.first_round[at])
        elif name == "face":
            column = column + places.first_face[at]
        elif name == "owner":
            column = at
        elif name == "hand":
            column = column * places.hand[at]
        moved[name] = column
    return type(joined)(**moved)


def _turned(v: Array, axes: Array) -> Array:
    """Vectors (n, ..., 3) in their members' frames, seen from the world."""
    axes = axes.reshape(-1, *([1] * (v.ndim - 2)), 3, 3)
    return v[..., 0:1] * axes[..., 0, :] + v[..., 1:2] * axes[..., 1, :] + v[..., 2:3] * axes[..., 2, :]


def _number_coincident(rounds: Rounds) -> Array:
    """Equal numbers for rounds with the same axis line, slope and radius, to about 1e-4 mm."""
    axis = rounds.axis
    lead = np.argmax(np.abs(axis) > 1e-6, axis=1) if len(axis) else np.zeros(0, dtype=np.int64)
    sign = np.sign(axis[np.arange(len(axis)), lead])[:, None]
    moment = cross_rows(rounds.point, axis)
    # The radius where the axis passes nearest to the world's origin: of a cylinder the one it has.
    radius = (rounds.radius - rounds.slope * dot_rows(rounds.point, axis))[:, None]
    slope = rounds.slope[:, None] * sign
    table = np.concatenate((axis * sign * 1e3, moment * sign, radius, slope * 1e3), axis=1)
    # The odd shift keeps round sizes away from the borders between two rounded values.
    return np.unique(np.rint((table + 2.71828e-5) / 1e-4), axis=0, return_inverse=True)[1].reshape(-1)


def _columns(rows: DataclassInstance) -> list[tuple[str, Array]]:
    return [(f.name, getattr(rows, f.name)) for f in fields(rows)]


def join_rows(parts: Sequence[Rows]) -> Rows:
    """Rows of several tables end to end."""
    kind = type(parts[0])
    names = [name for name, _ in _columns(parts[0])]
    return kind(**{name: np.concatenate([getattr(part, name) for part in parts]) for name in names})


def take_rows(rows: Rows, index: Array) -> Rows:
    """The rows of a table at ``index`` (integers or booleans)."""
    return type(rows)(**{name: column[index] for name, column in _columns(rows)})
