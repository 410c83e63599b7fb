"""Where each solid of a scene is seen best: the middle of its largest visible piece, for pointing at it.

A depth picture on a square grid: coarse, but only places to point at are read from it, never a size.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from plangen.geometry.frames import Frame
from plangen.geometry.solid import Solid
from plangen.geometry.views import Projection

Array = np.ndarray
_MOST_CELLS = 260
"""Cells along the longer side of the picture."""
_SAME_DEPTH = 1e-3
_FEW_CELLS = 12
"""So many are painted one by one: faster than as an array."""
Corners = list[list[float]]
"""Three corners of a triangle as right, up, toward."""


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
    picture = _Picture(depth, owner, (float(low[0]), float(low[1])), step)
    for index, corners in enumerate(flats):
        for triangle, first, last in _on_some_cell(corners, low, step):
            cells = (last[0] + 1 - first[0]) * (last[1] + 1 - first[1])
            paint = _paint_few if cells <= _FEW_CELLS else _paint_many
            paint(picture, triangle, index, range(first[0], last[0] + 1), range(first[1], last[1] + 1))
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


@dataclass(frozen=True, eq=False)
class _Picture:
    """Depth and owner of each cell so far; ``low`` is the corner of the first cell, ``step`` its side, mm."""

    depth: Array
    owner: Array
    low: tuple[float, float]
    step: float


def _on_some_cell(corners: Array, low: Array, step: float) -> Iterator[tuple[Corners, list[int], list[int]]]:
    """Triangles toward the eye whose box holds the middle of a cell (the others would paint nothing), and the
    first and last cell of it, across and up."""
    (a, b, c) = (corners[:, i, :2] for i in range(3))
    area = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (c[:, 0] - a[:, 0]) * (b[:, 1] - a[:, 1])
    least = np.ceil((corners[..., :2].min(axis=1) - low) / step - 0.5 - 1e-6)
    most = np.floor((corners[..., :2].max(axis=1) - low) / step - 0.5 + 1e-6)
    rows = np.flatnonzero((area >= 1e-9) & (least <= most).all(axis=1))
    # the least corner of all is at 0, so no cell is before the first; rounding of 1e-6 may ask for one
    first, last = np.maximum(least[rows], 0).astype(int), most[rows].astype(int)
    yield from zip(corners[rows].tolist(), first.tolist(), last.tolist(), strict=True)


def _paint_many(picture: _Picture, triangle: Corners, index: int, across: range, up: range) -> None:
    """Cells whose middle lies in the triangle and is nearer to the eye than what is there."""
    (ax, ay, az), (bx, by, bz), (cx, cy, cz) = triangle
    area = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
    x = picture.low[0] + (np.arange(across.start, across.stop)[:, None] + 0.5) * picture.step
    y = picture.low[1] + (np.arange(up.start, up.stop)[None, :] + 0.5) * picture.step
    v = ((x - ax) * (cy - ay) - (cx - ax) * (y - ay)) / area
    w = ((bx - ax) * (y - ay) - (x - ax) * (by - ay)) / area
    z = az + v * (bz - az) + w * (cz - az)
    here = (slice(across.start, across.stop), slice(up.start, up.stop))
    wins = (v >= 0) & (w >= 0) & (v + w <= 1) & (z > picture.depth[here] + _SAME_DEPTH)
    picture.depth[here][wins] = z[wins]
    picture.owner[here][wins] = index


def _paint_few(picture: _Picture, triangle: Corners, index: int, across: range, up: range) -> None:
    """The same, cell by cell."""
    (ax, ay, az), (bx, by, bz), (cx, cy, cz) = triangle
    area = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
    for i in across:
        x = picture.low[0] + (i + 0.5) * picture.step
        for j in up:
            y = picture.low[1] + (j + 0.5) * picture.step
            v = ((x - ax) * (cy - ay) - (cx - ax) * (y - ay)) / area
            w = ((bx - ax) * (y - ay) - (x - ax) * (by - ay)) / area
            if v >= 0 and w >= 0 and v + w <= 1:
                z = az + v * (bz - az) + w * (cz - az)
                if z > picture.depth[i, j] + _SAME_DEPTH:
                    picture.depth[i, j] = z
                    picture.owner[i, j] = index


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
