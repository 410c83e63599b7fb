"""Where two outlines lie clear of each other: the no-fit polygon, as a union of sums of their convex pieces.

Of two areas A and B, B moved by v meets A just where v lies in the sum of A and of B turned half round. The sum of
two convex areas is the hull of the sums of their corners, so that a division of both into convex pieces gives that of
any two areas, openings included (Minkowski sum; de Berg et al., Computational Geometry, ch. 13: from memory).

Turns are quarters, which move coordinates without rounding them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TypeVar

import numpy as np
import shapely
from shapely import Geometry, Polygon

from plangen.geometry.contour_faults import Contour, contour_polygon, facets

_Shape = TypeVar("_Shape", bound=Geometry)
Box = tuple[float, float, float, float]
SLACK = 1e-4
"""Millimetres less on each side of a gap, so that parts which just fit beside each other have a place."""
_CURVE = 0.25
"""Millimetres that the grown outline of a curved part may lie outside the true one."""
_MANY = 40
"""Corners from which an outline is taken as curved."""
_CONVEX = 1e-9
_ALIKE = 1e-6
_LINE = 0.01


def part_area(outer: Contour, openings: Sequence[Contour] = ()) -> Polygon:
    """The area of a part by facets within 1e-3 mm."""
    return Polygon(contour_polygon(outer).exterior, [contour_polygon(c).exterior for c in openings])


def with_lines(area: Polygon, lines: Sequence[Contour]) -> Polygon:
    """The area and lines that start on its border, so that nothing is laid on them."""
    if not lines:
        return area
    whole = shapely.union_all([area, *(shapely.LineString(facets(line)).buffer(_LINE) for line in lines)])
    return whole if isinstance(whole, Polygon) else max(whole.geoms, key=lambda g: g.area)


def covers(area: Polygon, quarters: int) -> Box:
    """Least x and y, most x and y of the area when turned."""
    x0, y0, x1, y1 = turned(area, quarters).bounds
    return x0, y0, x1, y1


def quarter_turns(area: Polygon, turns: Sequence[int]) -> tuple[int, ...]:
    """Those of the turns that make a difference: a rectangle turned half round is itself."""
    found: list[tuple[int, Polygon]] = []
    for k in turns:
        x0, y0, _, _ = covers(area, k)
        shape = shifted(turned(area, k), -x0, -y0)
        if not any(shape.symmetric_difference(other).area < _ALIKE * area.area for _, other in found):
            found.append((k, shape))
    return tuple(k for k, _ in found)


def grown(area: Polygon, by: float, least_opening: float) -> Polygon:
    """The area and what lies within ``by`` mm of it, corners kept as corners: never less, a curve up to 0.25 mm more.

    Openings through which no square of ``least_opening`` mm fits are closed.
    """
    curved = sum(len(r.coords) for r in (area.exterior, *area.interiors)) > _MANY
    wide = area.buffer(by + (_CURVE if curved else -SLACK), join_style="mitre", mitre_limit=2.0)
    if curved:
        wide = wide.simplify(_CURVE)
    wide = max(wide.geoms, key=lambda g: g.area) if not isinstance(wide, Polygon) else wide
    kept = [r for r in wide.interiors if min(_sides(Polygon(r).bounds)) >= least_opening]
    return Polygon(wide.exterior, kept)


def _sides(box: Box) -> tuple[float, float]:
    return box[2] - box[0], box[3] - box[1]


def turned(shape: _Shape, quarters: int) -> _Shape:
    """Turned about 0, 0 by quarters of a turn, counter-clockwise."""
    c, s = ((1, 0), (0, 1), (-1, 0), (0, -1))[quarters % 4]
    found: _Shape = shapely.transform(
        shape, lambda p: np.column_stack((p[:, 0] * c - p[:, 1] * s, p[:, 0] * s + p[:, 1] * c))
    )
    return found


def shifted(shape: _Shape, x: float, y: float) -> _Shape:
    """Moved by ``x`` and ``y``."""
    moved: _Shape = shapely.transform(shape, lambda p: p + np.array((x, y)))
    return moved


def convex_pieces(area: Polygon) -> tuple[Polygon, ...]:
    """The area divided into convex pieces: its triangles, each joined to what stays convex with it."""
    pieces: list[Polygon] = []
    for triangle in shapely.constrained_delaunay_triangles(area).geoms:
        for i, piece in enumerate(pieces):
            both = piece.union(triangle)
            if isinstance(both, Polygon) and both.convex_hull.area - both.area < _CONVEX * both.area:
                pieces[i] = both.convex_hull
                break
        else:
            pieces.append(triangle)
    return tuple(pieces)


@dataclass
class NoFits:
    """No-fit areas of parts, each made once. ``pieces`` are the convex pieces of each part, unturned."""

    pieces: Sequence[tuple[Polygon, ...]]
    _made: dict[tuple[int, int, int], Geometry] = field(default_factory=dict)

    def of(self, still: tuple[int, int], moving: tuple[int, int]) -> Geometry:
        """Where the 0, 0 of ``moving`` must not be while that of ``still`` is at 0, 0: each a part and its quarters."""
        (a, k), (b, m) = still, moving
        return turned(self._unturned(a, b, (m - k) % 4), k)

    def _unturned(self, a: int, b: int, quarters: int) -> Geometry:
        key = (a, b, quarters)
        if key not in self._made:
            back = (b, a, -quarters % 4)
            if back in self._made:
                # A meets B at v where B meets A at -v; both then turned so that A lies unturned
                self._made[key] = turned(self._made[back], quarters + 2)
            else:
                self._made[key] = _sum(self.pieces[a], [turned(p, quarters + 2) for p in self.pieces[b]])
        return self._made[key]


def _sum(first: Sequence[Polygon], second: Sequence[Geometry]) -> Geometry:
    corners = [shapely.get_coordinates(p)[:-1] for p in first]
    others = [shapely.get_coordinates(p)[:-1] for p in second]
    points = [(a[:, None, :] + b[None, :, :]).reshape(-1, 2) for a in corners for b in others]
    return shapely.union_all(shapely.convex_hull([shapely.multipoints(p) for p in points]))
