"""Where each solid of a scene is seen best: the middle of its largest visible piece, for pointing at it.

A depth picture on a square grid: coarse, but only places to point at are read from it, never a size.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from plangen.geometry.frames import Frame
from plangen.geometry.solid import Solid
from plangen.geometry.views import Projection

Array = np.ndarray
_MOST_CELLS = 260
"""Cells along the longer side of the picture."""
_SAME_DEPTH = 1e-3


@dataclass(frozen=True)
class Sighting:
    """``at`` in view coordinates (mm of the work); ``clearance``: mm of the work to the edge of what is seen,
    0 where the solid is hidden."""

    at: tuple[float, float]
    clearance: float


def best_sightings(placed: Sequence[tuple[Solid, Frame]], projection: Projection) -> tuple[Sighting, ...]:
    """A sighting of every solid, in their order. Raises ValueError for an empty scene."""
    if not placed:
        raise ValueError("a scene without solids has no sightings")
    flats = [_flat(solid, frame, projection) for solid, frame in placed]
    everything = np.concatenate([corners.reshape(-1, 3) for corners in flats])
    low, high = everything[:, :2].min(axis=0), everything[:, :2].max(axis=0)
    step = float((high - low).max()) / _MOST_CELLS
    shape = tuple(int(n) + 1 for n in np.ceil((high - low) / step))
    depth = np.full(shape, -np.inf)
    owner = np.full(shape, -1)
    for index, corners in enumerate(flats):
        for triangle in corners[_on_some_cell(corners, low, step)]:
            _paint(triangle, index, low, step, depth, owner)
    return tuple(_sighting(owner == i, low, step) for i in range(len(flats)))


def _flat(solid: Solid, frame: Frame, projection: Projection) -> Array:
    """Corners (n, 3, 3) of the triangles as right, up, toward, counter-clockwise seen from outside."""
    rows = []
    for direction in (projection.right, projection.up, projection.toward):
        local = frame.local_direction(direction)
        start = sum(a * b for a, b in zip(frame.origin, direction, strict=True))
        v = solid.vertices
        rows.append(v[:, 0] * local[0] + v[:, 1] * local[1] + v[:, 2] * local[2] + start)
    around = solid.triangles if frame.determinant > 0 else solid.triangles[:, ::-1]
    return np.stack(rows, axis=1)[around]


def _on_some_cell(corners: Array, low: Array, step: float) -> Array:
    """Triangles toward the eye whose box holds the middle of a cell: the others would paint nothing."""
    (a, b, c) = (corners[:, i, :2] for i in range(3))
    area = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (c[:, 0] - a[:, 0]) * (b[:, 1] - a[:, 1])
    least = np.ceil((corners[..., :2].min(axis=1) - low) / step - 0.5 - 1e-6)
    most = np.floor((corners[..., :2].max(axis=1) - low) / step - 0.5 + 1e-6)
    return np.flatnonzero((area >= 1e-9) & (least <= most).all(axis=1))


def _paint(triangle: Array, index: int, low: Array, step: float, depth: Array, owner: Array) -> None:
    """Cells whose middle lies in the triangle and is nearer to the eye than what is there."""
    (ax, ay, az), (bx, by, bz), (cx, cy, cz) = triangle.tolist()
    area = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
    x0, x1 = _cells(min(ax, bx, cx), max(ax, bx, cx), float(low[0]), step, depth.shape[0])
    y0, y1 = _cells(min(ay, by, cy), max(ay, by, cy), float(low[1]), step, depth.shape[1])
    x = float(low[0]) + (np.arange(x0, x1)[:, None] + 0.5) * step
    y = float(low[1]) + (np.arange(y0, y1)[None, :] + 0.5) * step
    v = ((x - ax) * (cy - ay) - (cx - ax) * (y - ay)) / area
    w = ((bx - ax) * (y - ay) - (x - ax) * (by - ay)) / area
    z = az + v * (bz - az) + w * (cz - az)
    here = (slice(x0, x1), slice(y0, y1))
    wins = (v >= 0) & (w >= 0) & (v + w <= 1) & (z > depth[here] + _SAME_DEPTH)
    depth[here][wins] = z[wins]
    owner[here][wins] = index


def _cells(low: float, high: float, start: float, step: float, count: int) -> tuple[int, int]:
    """First cell and one past the last that an interval may reach."""
    first = max(0, int((low - start) / step) - 1)
    return first, max(first, min(count, int((high - start) / step) + 2))


def _sighting(seen: Array, low: Array, step: float) -> Sighting:
    """The cell that survives most peelings of the seen area; of equals the one nearest their middle."""
    if not seen.any():
        return Sighting((float(low[0]), float(low[1])), 0.0)
    inner, left = np.pad(seen, 1), np.pad(seen, 1)
    rounds = 0
    while left.any():
        inner = left
        rounds += 1
        left = (
            inner
            & np.roll(inner, 1, 0)
            & np.roll(inner, -1, 0)
            & np.roll(inner, 1, 1)
            & np.roll(inner, -1, 1)
        )
    cells = np.argwhere(inner) - 1
    spread = cells * 2 * len(cells) - 2 * cells.sum(axis=0)
    best = int(np.argmin(np.abs(spread).sum(axis=1)))
    x, y = cells[best].tolist()
    return Sighting(
        (float(low[0]) + (x + 0.5) * step, float(low[1]) + (y + 0.5) * step), (rounds - 0.5) * step
    )
