"""Drift: how far the corners of a member move when the figures that fix it are off by so much.

Published and compared, so it is reckoned by written-out elimination, the same on every processor.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from plangen.dimensioning.freedom import Freedom, Row
from plangen.dimensioning.workpiece import AXES, Spot

Columns = np.ndarray


def inverse(matrix: np.ndarray) -> np.ndarray:
    """Of a square matrix whose rows are independent, by elimination with row exchange (Gauss and Jordan)."""
    n = len(matrix)
    left = np.array(matrix, dtype=float)
    right = np.eye(n)
    for k in range(n):
        sizes = np.abs(left[k:, k])
        # The first of those that are largest but for rounding, so that noise has no say in the order.
        p = k + int(np.argmax(sizes >= sizes.max() * (1 - 1e-6)))
        if p != k:
            left[[k, p]], right[[k, p]] = left[[p, k]], right[[p, k]]
        pivot = left[k, k]
        left[k], right[k] = left[k] / pivot, right[k] / pivot
        share = left[:, k].copy()
        share[k] = 0.0
        left -= share[:, None] * left[k][None, :]
        right -= share[:, None] * right[k][None, :]
    return right


def times(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """The product of two matrices, summed in one order."""
    product = np.zeros((a.shape[0], b.shape[1]))
    for k in range(a.shape[1]):
        product += a[:, k, None] * b[None, k]
    return product


def solution(said: Sequence[Row], figures: Sequence[Row]) -> Columns:
    """How the unknowns change with each figure, all other equations kept: (unknowns, figures). Of a system that
    leaves something open, the least change."""
    equations = np.vstack([*said, *figures])
    if len(equations) == equations.shape[1]:
        inverted = inverse(equations)
    else:
        inverted = times(equations.T, inverse(times(equations, equations.T)))
    return inverted[:, len(said) :]


def corner_moves(freedom: Freedom) -> np.ndarray:
    """How each corner moves along each axis with the unknowns: (3 x corners, unknowns). One where surfaces run into
    each other without an arris moves square to them only: along them it is no point one could find."""
    moves: list[Row] = []
    for spot in freedom.work.corners:
        normals, rows = freedom.holds(spot)
        sharp = len(normals) == 3
        moves += [freedom.spot_moves(spot, axis, "face") for axis in AXES] if sharp else rows
    return np.vstack(moves) if moves else np.zeros((0, freedom.unknowns))


def corner_shifts(freedom: Freedom, figures: Sequence[Row]) -> Columns:
    """How each corner moves along each axis with each figure: (3 x corners, figures). ``figures`` are the
    equations that the system took last."""
    if not figures or not freedom.work.corners:
        return np.zeros((0, len(figures)))
    said = freedom.said[: len(freedom.said) - len(figures)]
    return times(corner_moves(freedom), solution(said, figures))


def drift(freedom: Freedom, figures: Sequence[tuple[Row, float]]) -> float:
    """The farthest, in millimetres, that a corner can move along an axis when each figure is off by as much as
    stands beside its row: the sum over the figures of how far each moves it. ``figures`` are the equations that the
    system took last."""
    return farthest(np.abs(corner_shifts(freedom, [row for row, _ in figures])), [off for _, off in figures])[
        0
    ]


def moved_corner(freedom: Freedom, index: int) -> Spot:
    """The corner that a row of ``corner_moves`` is of."""
    for spot in freedom.work.corners:
        normals, _ = freedom.holds(spot)
        index -= len(normals)
        if index < 0:
            return spot
    raise IndexError(index)


def farthest(shifts: Columns, offs: Sequence[float]) -> tuple[float, int]:
    """How far the corner moves that moves farthest along an axis, each figure being off by so much, and the row of
    ``shifts`` that says so: the first of those that are equal but for rounding."""
    if not shifts.size:
        return 0.0, 0
    moved = np.abs(times(shifts, np.array(offs)[:, None])[:, 0])
    most = float(moved.max())
    return most, int(np.argmax(moved >= most - 1e-6))
