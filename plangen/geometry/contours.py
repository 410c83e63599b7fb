"""Contours of cylinders: the rulings where the surface turns away from the eye, at their exact places.

Along the border of a cylinder's face the sign of (outward normal . toward) changes where the border crosses
such a ruling; between the first and second crossing, the third and fourth, ... the ruling lies in the face.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from plangen.geometry.rows import cross_rows, dot_rows
from plangen.geometry.scene import Scene

Array = np.ndarray
EDGE_ON = 1e-7
"""Sine of an angle: a border nearer to the ruling than this is not crossed by it."""


@dataclass(frozen=True, eq=False)
class Contours:
    """Rulings from ``start`` to ``end`` (world, mm) on cylinders of the scene."""

    start: Array
    end: Array
    cylinder: Array


def trace_contours(scene: Scene, toward: tuple[float, float, float]) -> Contours:
    """The contours of all cylinder faces seen along ``-toward``; none of a cylinder seen along its axis."""
    cylinders, rims = scene.cylinders, scene.rims
    eye = np.array(toward)
    sideways = cross_rows(cylinders.axis, np.broadcast_to(eye, cylinders.axis.shape))
    sine = np.sqrt(dot_rows(sideways, sideways))
    sideways = sideways / np.where(sine > EDGE_ON, sine, 1.0)[:, None]
    at = rims.cylinder
    axis, point, radius = cylinders.axis[at], cylinders.point[at], cylinders.radius[at]
    # Square to the axis and to the ruling's direction from it: the way the normal turns.
    front = cross_rows(sideways, cylinders.axis)[at]
    from_start, from_end = rims.start - point, rims.end - point
    ahead_start = dot_rows(from_start, front) / radius
    ahead_end = dot_rows(from_end, front) / radius
    crossing = ((ahead_start >= -EDGE_ON) != (ahead_end >= -EDGE_ON)) & (sine[at] > EDGE_ON)
    index = np.flatnonzero(crossing)
    at, axis, point, radius = at[index], axis[index], point[index], radius[index]
    share = ahead_start[index] / (ahead_start[index] - ahead_end[index])
    crossed = from_start[index] + (from_end[index] - from_start[index]) * share[:, None]
    side = np.where(dot_rows(crossed, sideways[at]) > 0, 1.0, -1.0)
    foot = sideways[at] * (side * radius)[:, None]
    normal = rims.normal[index]
    lean = dot_rows(normal, axis)
    on_plane = np.abs(lean) > 1e-6
    height = np.where(
        on_plane,
        dot_rows(normal, from_start[index] - foot) / np.where(on_plane, lean, 1.0),
        dot_rows(crossed, axis),
    )
    order = np.lexsort((height, side, rims.face[index]))
    x = (point + foot + axis * height[:, None])[order].reshape(-1, 2, 3)
    long = height[order].reshape(-1, 2)
    keep = long[:, 1] - long[:, 0] > 1e-6
    return Contours(x[keep, 0], x[keep, 1], at[order].reshape(-1, 2)[keep, 0])
