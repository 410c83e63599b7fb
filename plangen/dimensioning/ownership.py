"""A size stands without parentheses on one sheet of the set only (ISO 129-1: auxiliary dimensions): on the sheet of
the part, else on that of the assembly it is cut on, else in the elevation that shows it first.

Two figures are of one size where they measure the same stretch of the piece along one direction.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import TypeAlias

from plangen.dimensioning.figures import AssemblyFigures, ElevationFigure, MemberFigures
from plangen.dimensioning.rounding import exact_text
from plangen.geometry.vectors import Point, Vec, dot, neg
from plangen.joinery.model import Model
from plangen.units import FEET_ABOVE, UnitStyle, exact, feet_text

Stretch: TypeAlias = tuple[Vec, float, float]
"""A direction in the world, and the millimetres along it at which a size begins and ends."""


def stretch(points: Sequence[Point], way: Vec) -> Stretch:
    """Of a distance in the world; the same whichever of its ends comes first."""
    way = way if next(c for c in way if abs(c) > 1e-6) > 0 else neg(way)
    low, high = sorted(round(dot(way, p), 3) + 0.0 for p in points[:2])
    return (round(way[0], 6) + 0.0, round(way[1], 6) + 0.0, round(way[2], 6) + 0.0), low, high


def sizes_by_part(bench: Model, figures: Iterable[MemberFigures]) -> dict[str, dict[Stretch, Fraction]]:
    """For each part where it stands, by name, the distances that its sheet states without parentheses, and the sizes
    printed, millimetres. Parts as they leave the bench."""
    members = {m.mark: m for m in bench.members}
    found: dict[str, dict[Stretch, Fraction]] = {}
    for sheet in figures:
        for instance in members[sheet.mark].instances:
            own = found.setdefault(instance.name, {})
            for f in sheet.figures:
                if f.reference or f.kind not in ("linear", "depth") or f.direction is None:
                    continue
                at = stretch(
                    [instance.frame.point(p) for p in f.points], instance.frame.direction(f.direction)
                )
                own.setdefault(at, exact(f.value + f.off).limit_denominator(100_000))
    return found


def _sizes_of_assemblies(assemblies: Iterable[AssemblyFigures]) -> dict[Stretch, str]:
    """Each distance that an assembly's sheet states without parentheses, and how it is printed."""
    return {
        stretch(f.points, f.direction): f.printed
        for a in assemblies
        for f in a.figures
        if f.kind == "linear" and f.direction is not None and not f.reference
    }


def told_once(
    elevations: Iterable[ElevationFigure],
    by_part: Mapping[str, Mapping[Stretch, Fraction]],
    assemblies: Iterable[AssemblyFigures],
    style: UnitStyle,
) -> Iterator[ElevationFigure]:
    """The figures of the elevations, in parentheses what another sheet or an earlier one of them states, as it is
    printed there."""
    told = _sizes_of_assemblies(assemblies)
    parts = {at: size for sizes in by_part.values() for at, size in sizes.items()}
    for figure in elevations:
        if figure.direction is None:
            yield figure
            continue
        at = stretch(figure.points, figure.direction)
        if at in parts:
            feet = figure.tier == "overall" and style.length == "in" and parts[at] > FEET_ABOVE
            yield _again(figure, feet_text(parts[at], style) if feet else exact_text(parts[at], style))
        elif at in told:
            yield _again(figure, told[at])
        else:
            told[at] = figure.printed
            yield figure


def _again(figure: ElevationFigure, text: str) -> ElevationFigure:
    return replace(figure, printed=f"({text})", reference=True)
