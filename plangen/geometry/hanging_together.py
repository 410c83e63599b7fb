"""Groups of numbered things that hang together."""

from __future__ import annotations

import numpy as np

from plangen.geometry.patches import Array


def least_of_each(count: int, a: Array, b: Array) -> Array:
    """(count,) for each thing the least of its group, where ``a[i]`` and ``b[i]`` hang together for every i."""
    label = np.arange(count)
    while True:
        least = np.minimum(label[a], label[b])
        after = label.copy()
        np.minimum.at(after, label[a], least)
        np.minimum.at(after, label[b], least)
        after = after[after]
        if (after == label).all():
            return label
        label = after
