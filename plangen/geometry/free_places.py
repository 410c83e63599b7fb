"""Room for a label on a flat part, clear of everything that is cut there."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from plangen.geometry.contour_faults import Contour, contour_polygon, facets
from plangen.geometry.curves import Vec2

_STEPS = 24


def free_place(
    outline: Contour,
    taken: Sequence[Contour],
    lines: Sequence[Contour],
    width: float,
    height: float,
    margin: float,
) -> Vec2 | None:
    """Lower left corner of a box inside the outline, ``margin`` clear of it, of the areas ``taken`` and of
    other ``lines``.

    Of the places of a regular grid the one nearest to the outline's middle; None where none is free.
    """
    inside = contour_polygon(outline).buffer(-margin)
    for area in [*map(contour_polygon, taken), *(shapely.LineString(facets(line)) for line in lines)]:
        inside = inside.difference(area.buffer(margin))
    if inside.is_empty:
        return None
    x0, y0, x1, y1 = inside.bounds
    middle = contour_polygon(outline).centroid
    places = []
    for i in range(_STEPS + 1):
        for j in range(_STEPS + 1):
            x = x0 + (x1 - x0 - width) * i / _STEPS
            y = y0 + (y1 - y0 - height) * j / _STEPS
            off = (x + width / 2 - middle.x) ** 2 + (y + height / 2 - middle.y) ** 2
            places.append((round(off, 3), round(x, 3) + 0.0, round(y, 3) + 0.0))
    shapely.prepare(inside)
    for _, x, y in sorted(places):
        if inside.contains(shapely.box(x, y, x + width, y + height)):
            return (x, y)
    return None
