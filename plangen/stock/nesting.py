"""Two parts from one blank, head to foot: how narrow it may be.

The second part is the first turned half round in the plane of the face, so that both keep their face up and their
grain along. The outline taken is the convex one about the part: what it says always fits, and of tapered parts it is
the least there is.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from plangen.geometry.solid import Solid
from plangen.stock.balance import outline_of

_Profile = Sequence[tuple[float, float]]


def pair_width(solid: Solid, kerf: float) -> float | None:
    """Millimetres across two of the solid lying head to foot with a saw cut between, end to end with each other; None
    of a solid without an outline. Its length is along x and its width along y."""
    corners = [(round(v[0], 6), round(v[1], 6)) for v in solid.vertices.tolist()]
    hull = outline_of(corners)
    if len(hull) < 3:
        return None
    left, right = min(x for x, _ in hull), max(x for x, _ in hull)
    low, high = min(y for _, y in hull), max(y for _, y in hull)
    upper, lower = _side(hull, max), _side(hull, min)
    stations = sorted({x for x, _ in hull} | {left + right - x for x, _ in hull})
    # back edge to back edge, or edge to edge: what both need where they are widest together
    backs = max(upper(x) + upper(left + right - x) for x in stations) - 2 * low
    edges = 2 * high - min(lower(x) + lower(left + right - x) for x in stations)
    return min(backs, edges) + kerf


def _side(hull: _Profile, choose: Callable[[list[float]], float]) -> Callable[[float], float]:
    """The upper or lower side of a convex outline, as a function of the place along it."""

    def at(x: float) -> float:
        found = []
        for (ax, ay), (bx, by) in zip(hull, [*hull[1:], hull[0]], strict=True):
            if min(ax, bx) - 1e-9 <= x <= max(ax, bx) + 1e-9:
                if abs(bx - ax) < 1e-9:
                    found += [ay, by]
                else:
                    share = min(1.0, max(0.0, (x - ax) / (bx - ax)))
                    found.append(ay + share * (by - ay))
        return choose(found)

    return at
