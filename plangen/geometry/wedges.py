"""Wood that touches itself along a line alone: two wedges of it, and four facets, meet there.

Every line between facets has to be between two of them. So each wedge is given an edge of its own: its own corners
where nothing else joins the wedges, else a corner in the middle of the line.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeAlias

import numpy as np

from plangen.geometry.hanging_together import least_of_each
from plangen.geometry.patches import Array, PatchSet, crosses, dots

Line: TypeAlias = tuple[int, int]
"""Two vertices, the lesser first."""
Pair: TypeAlias = tuple[int, int]
"""Two half-edges; half-edge 3t + i leaves corner i of triangle t."""


def part_wedges(
    x: Array, triangles: Array, patch: Array, patches: PatchSet, onto: Callable[[Array, Array], Array]
) -> tuple[Array, Array, Array]:
    """The mesh with an edge for each wedge of wood: vertices, triangles and their patches.

    ``onto(p, columns)`` moves a point onto two patches. Left as it is where facets do not bound wedges of wood.
    """
    if not _repeated(triangles, len(x)):
        return x, triangles, patch
    halves = _halves_of_lines(triangles)
    pairs = [_wedges(h, line, triangles, x, patch, patches) for line, h in halves.items()]
    if any(p is None for p in pairs):
        return x, triangles, patch
    x, triangles = _corners_by_fans(x, triangles, [pair for found in pairs for pair in found or ()])
    while lines := _repeated(triangles, len(x)):
        found = _wedges(_halves_of_lines(triangles)[lines[0]], lines[0], triangles, x, patch, patches)
        if found is None:
            return x, triangles, patch
        columns = np.array([patch[h // 3] for h in found[0]])
        middle = onto((x[lines[0][0]] + x[lines[0][1]]) / 2, columns)
        triangles, patch = _halved(triangles, patch, found[0], len(x))
        x = np.concatenate([x, middle[None]])
    return x, triangles, patch


def _repeated(triangles: Array, n: int) -> list[Line]:
    """Lines that more than one half-edge runs along in one direction, in order."""
    key = np.sort(triangles.ravel() * n + triangles[:, (1, 2, 0)].ravel())
    twice = np.unique(key[1:][key[1:] == key[:-1]])
    return sorted({(min(a, b), max(a, b)) for a, b in (divmod(k, n) for k in twice.tolist())})


def _halves_of_lines(triangles: Array) -> dict[Line, list[int]]:
    found: dict[Line, list[int]] = {}
    ends = zip(triangles.ravel().tolist(), triangles[:, (1, 2, 0)].ravel().tolist(), strict=True)
    for half, (a, b) in enumerate(ends):
        found.setdefault((min(a, b), max(a, b)), []).append(half)
    return found


def _wedges(
    halves: Sequence[int], line: Line, triangles: Array, x: Array, patch: Array, patches: PatchSet
) -> list[Pair] | None:
    """The half-edges along a line in pairs that bound a wedge of wood; None where they do not."""
    forward = [int(triangles[h // 3, h % 3]) == line[0] for h in halves]
    if 2 * sum(forward) != len(halves):
        return None
    if len(halves) == 2:
        return [(halves[0], halves[1])]
    a, b = x[line[0]], x[line[1]]
    way = (b - a) / np.sqrt(dots(b - a, b - a))
    middle = np.repeat(((a + b) / 2)[None], len(halves), axis=0)
    normal = patches.evaluate(patch[np.array(halves) // 3], middle)[1]
    # From the line into each facet, square to it. Turning about the line wood ends at a forward half-edge.
    into = np.where(np.array(forward)[:, None], 1.0, -1.0) * crosses(
        normal, np.broadcast_to(way, normal.shape)
    )
    aside = crosses(way, into[0])
    turn = np.arctan2(dots(into, aside[None]), dots(into, into[:1])).tolist()
    around = sorted(range(len(halves)), key=lambda i: (round(turn[i] % (2 * np.pi), 9), i))
    if forward[around[0]]:
        around = [*around[1:], around[0]]
    pairs = list(zip(around[::2], around[1::2], strict=True))
    if any(forward[i] or not forward[j] for i, j in pairs):
        return None
    return [(halves[i], halves[j]) for i, j in pairs]


def _corners_by_fans(x: Array, triangles: Array, pairs: Sequence[Pair]) -> tuple[Array, Array]:
    """A vertex of its own for each fan of triangles that hang together round one."""
    half = np.arange(triangles.size)
    after = half - half % 3 + (half + 1) % 3
    one, two = np.array(pairs).T
    # A half-edge and the one after its partner leave the same corner.
    a, b = np.concatenate([one, two]), after[np.concatenate([two, one])]
    fans, number = np.unique(least_of_each(len(half), a, b), return_inverse=True)
    return x[triangles.ravel()[fans]], number.reshape(-1, 3)


def _halved(triangles: Array, patch: Array, pair: Pair, middle: int) -> tuple[Array, Array]:
    """The two triangles at a pair of half-edges, each parted at a new corner on the line."""
    triangles = triangles.copy()
    added = []
    for half in pair:
        t, i = divmod(half, 3)
        b, c = triangles[t, (i + 1) % 3], triangles[t, (i + 2) % 3]
        triangles[t, (i + 1) % 3] = middle
        added.append((middle, b, c))
    of = [patch[half // 3] for half in pair]
    return np.concatenate([triangles, np.array(added)]), np.concatenate([patch, np.array(of)])
