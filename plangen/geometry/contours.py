"""Contours of cylinders and cones: the rulings where the surface turns away from the eye, at their exact places.

Seen along ``-toward`` such a ruling stands where the outward normal is square to the sight: on a cylinder to
either side of its axis, on a cone nearer to the eye or farther from it, and nowhere on a cone seen from within
its half angle. A border of the face crosses the half plane from the axis through the ruling; between the first
and second crossing, the third and fourth, ... the ruling lies in the face. Where one is left over, the face runs
on to the cone's tip.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from plangen.geometry.rows import cross_rows, dot_rows
from plangen.geometry.scene import Rims, Rounds, Scene, take_rows

Array = np.ndarray
EDGE_ON = 1e-7
"""Sine of the angle between the axis and the sight below which the axis is a point."""
BESIDE = 1e-6
"""Millimetres: a border nearer to the ruling than this is not crossed by it."""


@dataclass(frozen=True, eq=False)
class Contours:
    """Rulings from ``start`` to ``end`` (world, mm) on round surfaces of the scene."""

    start: Array
    end: Array
    round: Array


@dataclass(frozen=True, eq=False)
class _Turning:
    """Where each round surface turns away: (n, 3) unit vectors square to its axis, (n,) their shares.

    The two rulings stand from the axis at ``ahead`` times ``front`` and ``beside`` times ``sideways``, the one to
    either side; ``some`` is False where there are none.
    """

    front: Array
    sideways: Array
    ahead: Array
    beside: Array
    some: Array


def _turning(rounds: Rounds, eye: Array) -> _Turning:
    sideways = cross_rows(rounds.axis, np.broadcast_to(eye, rounds.axis.shape))
    sine = np.sqrt(dot_rows(sideways, sideways))
    some = sine > EDGE_ON
    sine = np.where(some, sine, 1.0)
    sideways = sideways / sine[:, None]
    # The normal is (from the axis) - slope (along it), less its length.
    ahead = rounds.slope * dot_rows(rounds.axis, eye) / sine
    some &= np.abs(ahead) < 1.0
    beside = np.sqrt(np.maximum(1.0 - ahead * ahead, 0.0))
    return _Turning(cross_rows(sideways, rounds.axis), sideways, ahead, beside, some)


def trace_contours(scene: Scene, toward: tuple[float, float, float]) -> Contours:
    """The contours of all round faces seen along ``-toward``."""
    rounds, rims = scene.rounds, scene.rims
    turning = _turning(rounds, np.array(toward))
    found = [_crossings(rounds, rims, turning, 1.0)]
    conical = rounds.slope != 0.0
    if conical.any():
        found.append(_crossings(rounds, take_rows(rims, np.flatnonzero(conical[rims.round])), turning, -1.0))
    face, at, side, height = (np.concatenate(columns) for columns in zip(*found, strict=True))
    order = np.lexsort((height, side, face))
    face, at, side, height = _with_tips(rounds, face[order], at[order], side[order], height[order])
    long = height.reshape(-1, 2)
    keep = np.repeat(long[:, 1] - long[:, 0] > 1e-6, 2)
    at, side, height = at[keep], side[keep], height[keep]
    radius = rounds.radius[at] + rounds.slope[at] * height
    x = rounds.point[at] + _outward(turning, at, side) * radius[:, None] + rounds.axis[at] * height[:, None]
    return Contours(x[0::2], x[1::2], at[0::2])


def _outward(turning: _Turning, at: Array, side: Array) -> Array:
    """Unit vectors from the axis to the ruling on that side of each round surface."""
    ahead, beside = turning.ahead[at], side * turning.beside[at]
    return turning.front[at] * ahead[:, None] + turning.sideways[at] * beside[:, None]


def _crossings(
    rounds: Rounds, rims: Rims, turning: _Turning, side: float
) -> tuple[Array, Array, Array, Array]:
    """(face, round, side, height along the axis from its point) where borders cross the rulings of a side.

    The two rulings of a cylinder lie in one plane with the axis: side 1 finds both.
    """
    at = rims.round
    point = rounds.point[at]
    # Square to the axis and to the way out to the ruling.
    across = turning.front * turning.beside[:, None] - turning.sideways * (side * turning.ahead)[:, None]
    across = across[at]
    from_start = rims.start - point
    off_start, off_end = dot_rows(from_start, across), dot_rows(rims.end - point, across)
    crossing = ((off_start >= -BESIDE) != (off_end >= -BESIDE)) & turning.some[at]
    index = np.flatnonzero(crossing)
    at, from_start = at[index], from_start[index]
    share = off_start[index] / (off_start[index] - off_end[index])
    crossed = from_start + (rims.end[index] - rims.start[index]) * share[:, None]
    mine = dot_rows(crossed, _outward(turning, at, np.full(len(at), side))) > 0
    sides = np.where(mine, side, -side)
    axis, slope = rounds.axis[at], rounds.slope[at]
    out = _outward(turning, at, sides)
    normal = rims.normal[index]
    lean = dot_rows(normal, axis + out * slope[:, None])
    on_plane = np.abs(lean) > 1e-6
    from_foot = from_start - out * rounds.radius[at][:, None]
    height = np.where(
        on_plane, dot_rows(normal, from_foot) / np.where(on_plane, lean, 1.0), dot_rows(crossed, axis)
    )
    keep = mine | (slope == 0.0)
    return rims.face[index][keep], at[keep], sides[keep], height[keep]


def _with_tips(
    rounds: Rounds, face: Array, at: Array, side: Array, height: Array
) -> tuple[Array, Array, Array, Array]:
    """Sorted crossings, the tip put in where a ruling has an odd number of them."""
    heads = np.flatnonzero((np.diff(face, prepend=-1) != 0) | (np.diff(side, prepend=0.0) != 0))
    odd = heads[np.diff(heads, append=len(face)) % 2 == 1]
    if len(odd) == 0:
        return face, at, side, height
    tip = -rounds.radius[at[odd]] / rounds.slope[at[odd]]
    face, at, side = (np.concatenate((rows, rows[odd])) for rows in (face, at, side))
    height = np.concatenate((height, tip))
    order = np.lexsort((height, side, face))
    return face[order], at[order], side[order], height[order]
