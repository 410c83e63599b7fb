"""Details: places of a view too small to figure there, drawn again enlarged in a circle.

What would print under 3 mm goes to a detail, at a scale at which it prints 8 mm where there is one; figures
that lie wholly within the circle go with it. Each size stands in one place.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from plangen.dimensioning.figures import Figure, MemberView
from plangen.drawing.figure_marks import spread_of
from plangen.drawing.view_on_paper import ProjectedView, clipped_to_circle
from plangen.geometry.curves import Vec2
from plangen.tables.scales import Scale

LEAST_SIZE, LEAST_REFERENCE = 3.0, 1.4
"""Millimetres on paper: smaller sizes are not figured in the view."""
_GOOD_SIZE, _FAIR_SIZE = 8.0, 4.0
"""What the smallest size in a detail should print, and must where figures share a circle."""
_LEAST_RADIUS, _MOST_RADIUS, _WIDEST_RADIUS = 12.0, 32.0, 50.0
"""Of circles, mm on paper; the widest for one figure whose feet lie far apart across its direction."""
_AROUND = 7.0
"""Millimetres on paper between the feet of a figure and the circle."""


@dataclass(frozen=True)
class Detail:
    """Part of a view within a circle; centre and radius in mm of the work, in the view's coordinates."""

    letter: str
    view: MemberView
    centre: Vec2
    radius: float
    scale: Scale
    figures: tuple[Figure, ...]

    @property
    def title(self) -> str:
        return f"DETAIL {self.letter}  {self.scale.ratio_text}"


def size_in_view(figure: Figure, view: ProjectedView) -> float | None:
    """Millimetres of the work between the feet of a distance as the view shows it; None for other figures."""
    if figure.kind not in ("linear", "depth") or figure.direction is None:
        return None
    return spread_of([view.projection.flat(p) for p in figure.points[:2]], view.projection, figure.direction)


def is_small(figure: Figure, view: ProjectedView, factor: float) -> bool:
    """Whether a distance prints under the least size; what stands in parentheses, to check by, may be less."""
    size = size_in_view(figure, view)
    least = LEAST_REFERENCE if figure.reference else LEAST_SIZE
    return size is not None and size * factor < least - 1e-6


def find_details(
    name: MemberView,
    view: ProjectedView,
    figures: Sequence[Figure],
    scale: Scale,
    scales: Sequence[Scale],
    first_letter: str,
) -> tuple[tuple[Detail, ...], tuple[Figure, ...]]:
    """The details that a view needs at ``scale``, lettered on from ``first_letter``, and the figures that stay
    in it. ``scales``: those there are, largest first."""
    k = float(scale.ratio)
    clusters: list[list[Figure]] = []
    for figure in sorted((f for f in figures if is_small(f, view, k)), key=lambda f: f.id):
        for cluster in clusters:
            if _circle([*cluster, figure], view, scale, scales) is not None:
                cluster.append(figure)
                break
        else:
            clusters.append([figure])
    details: list[Detail] = []
    stay = list(figures)
    for cluster in clusters:
        if not any(f in stay for f in cluster):
            continue  # all within the circle of another detail
        circle = _circle(cluster, view, scale, scales) or _widest(cluster, view, scales)
        centre, radius, larger = circle
        if larger.ratio <= scale.ratio:
            continue  # no larger for being drawn again
        inside = [f for f in stay if f in cluster or _is_within(f, view, centre, radius)]
        stay = [f for f in stay if f not in inside]
        letter = chr(ord(first_letter) + len(details))
        details.append(Detail(letter, name, centre, radius, larger, tuple(inside)))
    return tuple(details), tuple(stay)


def detail_view(detail: Detail, view: ProjectedView) -> ProjectedView:
    """What the circle shows, its box that of the circle."""
    (x, y), r = detail.centre, detail.radius
    strokes = clipped_to_circle(view.strokes, detail.centre, r)
    return replace(view, name=f"detail {detail.letter}", strokes=strokes, box=(x - r, y - r, x + r, y + r))


def _feet(figure: Figure, view: ProjectedView) -> list[Vec2]:
    points = figure.points[:1] if figure.kind == "angular" else figure.points
    return [view.projection.flat(p) for p in points]


def _is_within(figure: Figure, view: ProjectedView, centre: Vec2, radius: float) -> bool:
    return all(math.dist(p, centre) < 0.85 * radius for p in _feet(figure, view))


def _circle(
    figures: Sequence[Figure], view: ProjectedView, scale: Scale, scales: Sequence[Scale]
) -> tuple[Vec2, float, Scale] | None:
    """Centre, radius and scale of one circle for all the figures: the largest scale whose circle is not too
    wide, none larger than the smallest figure needs. None where it would still print too small."""
    wanted = _wanted_scale(figures, view, scale, scales)
    centre, spread = _round(figures, view)
    for larger in scales:
        k = float(larger.ratio)
        if larger.ratio <= wanted.ratio and spread * k + _AROUND <= _MOST_RADIUS:
            break
    if larger.ratio < wanted.ratio and _least_size(figures, view) * k < _FAIR_SIZE:
        return None
    return centre, max(_LEAST_RADIUS, spread * k + _AROUND) / k, larger


def _widest(
    figures: Sequence[Figure], view: ProjectedView, scales: Sequence[Scale]
) -> tuple[Vec2, float, Scale]:
    """For a figure whose feet lie far apart across its direction: the largest scale that holds both."""
    centre, spread = _round(figures, view)
    for scale in scales:
        if spread * float(scale.ratio) + _AROUND <= _WIDEST_RADIUS:
            break
    return centre, spread + _AROUND / float(scale.ratio), scale


def _round(figures: Sequence[Figure], view: ProjectedView) -> tuple[Vec2, float]:
    """Middle of the box of all feet, and the distance of the farthest."""
    feet = [p for f in figures for p in _feet(f, view)]
    xs, ys = zip(*feet, strict=True)
    centre = ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
    return centre, max(math.dist(p, centre) for p in feet)


def _least_size(figures: Sequence[Figure], view: ProjectedView) -> float:
    sizes = [s for f in figures if (s := size_in_view(f, view)) is not None and s > 1e-6]
    return min(sizes, default=0.0)


def _wanted_scale(
    figures: Sequence[Figure], view: ProjectedView, scale: Scale, scales: Sequence[Scale]
) -> Scale:
    """The smallest scale over ``scale`` at which the smallest figure prints well, else the largest."""
    least = _least_size(figures, view)
    for larger in reversed(scales):
        if larger.ratio >= 2 * scale.ratio and least * float(larger.ratio) >= _GOOD_SIZE:
            return larger
    return scales[0]
