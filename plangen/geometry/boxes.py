"""Which points lie in which upright boxes of a plane."""

from __future__ import annotations

import numpy as np
import shapely


def points_in_boxes(points: np.ndarray, low: np.ndarray, high: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Row numbers of ``points`` (n, 2) and of boxes (m, 2 each way) for every pair of a point in or on a box."""
    tree = shapely.STRtree(shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1]))
    point, box = tree.query(shapely.points(points))
    return point, box
