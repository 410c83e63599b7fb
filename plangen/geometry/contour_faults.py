"""What a machine could not follow in a set of plane contours: open, double, crossing, too short, misplaced.

Shapely, which knows no arcs, works on facets within 1e-3 mm; lengths and ends are judged on the true curves.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely import LinearRing, LineString, Polygon

from plangen.geometry.biarcs import SHORTEST_PIECE
from plangen.geometry.curves import Arc, Bezier, Curve, EllipseArc, Line, Vec2

ZERO = 1e-6
"""Millimetres: shorter is no length at all."""
_FACET_SAG = 1e-3
_TOUCHING = 5e-3
"""Millimetres within which facets of two curves may cross that only touch."""

Contour = Sequence[Curve]


def contour_faults(closed: Sequence[Contour], lines: Sequence[Contour] = ()) -> tuple[str, ...]:
    """Faults of the contours of one layer, in words with a place: ``open at 12.5, 40``."""
    found: list[str] = []
    for contour in [*closed, *lines]:
        found += _length_faults(contour)
    found += gap_faults(closed, lines)
    if found:
        return tuple(found)
    found += [f"crosses itself {_at(c[0].start)}" for c in closed if not _is_simple(c)]
    found += _double(closed)
    return tuple(found)


def gap_faults(closed: Sequence[Contour], lines: Sequence[Contour] = ()) -> tuple[str, ...]:
    """Where a contour does not close, or a curve does not start where the one before it ends."""
    found: list[str] = []
    for contour in closed:
        gap = math.dist(contour[-1].end, contour[0].start)
        if gap > ZERO:
            found.append(f"open by {gap:.3g} mm {_at(contour[0].start)}")
    for contour in [*closed, *lines]:
        for a, b in itertools.pairwise(contour):
            if math.dist(a.end, b.start) > ZERO:
                found.append(f"broken {_at(a.end)}")
    return tuple(found)


def nesting_faults(outlines: Sequence[Contour]) -> tuple[str, ...]:
    """Faults of what is cut through: the largest contour holds all others, which hold none themselves."""
    areas = [contour_polygon(c) for c in outlines]
    if not areas:
        return ("no outline",)
    outer = max(range(len(areas)), key=lambda i: (areas[i].area, -i))
    found = []
    for i, area in enumerate(areas):
        if i == outer:
            continue
        if not areas[outer].buffer(_TOUCHING).contains(area):
            found.append(f"outside the outline {_at(outlines[i][0].start)}")
        for j in range(i + 1, len(areas)):
            if j != outer and area.intersection(areas[j]).area > _TOUCHING:
                found.append(f"an opening in an opening {_at(outlines[j][0].start)}")
    return tuple(found)


def crossing_faults(outer: Sequence[Contour], openings: Sequence[Contour], sheet: Contour) -> tuple[str, ...]:
    """Faults of what is cut through on a sheet of many parts: none runs into another or off the sheet, no part lies
    in another's wood and no opening outside of a part."""
    outlines = [*outer, *openings]
    areas = np.array([contour_polygon(c) for c in outlines], dtype=object)
    rings = shapely.get_exterior_ring(areas)
    room = contour_polygon(sheet).buffer(_TOUCHING)
    found = [
        f"off the sheet {_at(outlines[i][0].start)}" for i, r in enumerate(rings) if not room.contains(r)
    ]
    for i, j in sorted(zip(*shapely.STRtree(rings).query(rings, "crosses").tolist(), strict=True)):
        if i < j:
            found.append(f"runs into another {_at(outlines[j][0].start)}")
    depths = [0] * len(outlines)
    for i, j in zip(*shapely.STRtree(areas).query(areas, "within").tolist(), strict=True):
        if i != j:
            depths[i] += 1 if j < len(outer) else -1
    for i, contour in enumerate(outlines):
        if depths[i] != (0 if i < len(outer) else 1):
            where = "in the wood of another part" if i < len(outer) else "no opening of one part"
            found.append(f"{where} {_at(contour[0].start)}")
    return tuple(found)


def placing_faults(
    inside: Sequence[Contour], bounds: Sequence[Contour], spare: float = 0.0
) -> tuple[str, ...]:
    """Contours that run more than ``spare`` mm out of the area that ``bounds`` cover together."""
    area = shapely.union_all([contour_polygon(c) for c in bounds]).buffer(_TOUCHING + spare)
    return tuple(
        f"outside the part {_at(c[0].start)}" for c in inside if not area.contains(contour_polygon(c))
    )


def contour_polygon(contour: Contour) -> Polygon:
    """The area that a closed contour holds, by facets within 1e-3 mm."""
    return Polygon(facets(contour))


def facets(contour: Contour) -> list[Vec2]:
    """Points along a contour, chords within 1e-3 mm."""
    points = [contour[0].start]
    for curve in contour:
        n = _facet_count(curve)
        points += [curve.at(i / n) for i in range(1, n + 1)]
    return points


def _facet_count(curve: Curve) -> int:
    match curve:
        case Line():
            return 1
        case Arc():
            sweep, size = abs(curve.last - curve.first), curve.radius
        case EllipseArc():
            sweep = abs(curve.last - curve.first)
            size = max(math.hypot(*curve.major), math.hypot(*curve.minor))
        case Bezier():
            return 256
    return max(2, math.ceil(sweep / (2 * math.acos(max(0.0, 1 - _FACET_SAG / max(size, _FACET_SAG))))))


def curve_length(curve: Curve) -> float:
    """Millimetres: exact for lines and arcs, by facets for free curves."""
    if isinstance(curve, Line):
        return math.dist(curve.start, curve.end)
    if isinstance(curve, Arc):
        return curve.radius * abs(curve.last - curve.first)
    return math.fsum(math.dist(a, b) for a, b in itertools.pairwise(facets([curve])))


def _length_faults(contour: Contour) -> list[str]:
    found = []
    for curve in contour:
        size = curve_length(curve)
        if size <= ZERO:
            found.append(f"no length {_at(curve.start)}")
        elif size < SHORTEST_PIECE:
            found.append(f"a piece of only {size:.3g} mm {_at(curve.start)}")
    return found


def _is_simple(contour: Contour) -> bool:
    points = facets(contour)[:-1]
    return len(points) > 2 and bool(LinearRing(points).is_simple)


def _double(closed: Sequence[Contour]) -> list[str]:
    """Contours that run along each other: the tool would cut there twice."""
    if len(closed) < 2:
        return []
    lines = np.array([LineString(facets(c)) for c in closed], dtype=object)
    found = []
    first, second = shapely.STRtree(lines).query(lines, predicate="intersects")
    for i, j in sorted(zip(first.tolist(), second.tolist(), strict=True)):
        if i < j and (shared := lines[i].intersection(lines[j]).length) > SHORTEST_PIECE:
            found.append(f"cut twice over {shared:.4g} mm {_at(closed[j][0].start)}")
    return found


def _at(p: Vec2) -> str:
    return f"at {round(p[0], 3) + 0.0:g}, {round(p[1], 3) + 0.0:g}"
