"""The few dimensions that matter: those the designer lists, else those on which the whole depends."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TypeAlias

from plangen.dimensioning.figures import ElevationFigure
from plangen.joinery.model import Model
from plangen.units import Quantity, UnitStyle, angle_text, as_length, length_text

Critical: TypeAlias = tuple[str, str, float]
"""What it is, as printed, and its value (millimetres, or degrees)."""

MOST = 6
_FEWEST = 3


def critical_dimensions(
    model: Model,
    style: UnitStyle,
    elevations: Sequence[ElevationFigure],
    stated: Sequence[tuple[str, Quantity]] = (),
) -> tuple[Critical, ...]:
    """Up to six dimensions for the cover.

    ``stated`` are the designer's own, in words with their values; where there are any, they alone are given.
    Raises ValueError where one of them is no length or angle.
    """
    if stated:
        return tuple(_stated(what, quantity, style) for what, quantity in stated)
    found: dict[str, Critical] = {}
    for critical in (*_of_elevations(elevations), *_shared(model, style)):
        found.setdefault(critical[0], critical)
    return tuple(found.values())[:MOST]


def _stated(what: str, quantity: Quantity, style: UnitStyle) -> Critical:
    if quantity.kind == "angle":
        return (what, angle_text(quantity.value, style), float(quantity.value))
    size = as_length(quantity, style.length)
    return (what, length_text(size, style), float(size))


def _of_elevations(elevations: Sequence[ElevationFigure]) -> Iterator[Critical]:
    """Height, spread at the feet (else the overall width), the leans."""
    heights = [f for f in elevations if f.what == "overall height"]
    spreads = [f for f in elevations if f.what.startswith("spread at the feet")]
    widths = [f for f in elevations if f.what in ("overall width", "overall depth")]
    leans = [f for f in elevations if f.kind == "angular"]
    for figure in (*heights, *(spreads or widths), *leans[:2]):
        yield (figure.what, figure.printed.strip("()"), figure.value)


def _shared(model: Model, style: UnitStyle) -> Iterator[Critical]:
    """Thicknesses that joints are cut to: the first member of each joint, where it enters the second whole."""
    for joint in model.joints:
        if joint.kind not in ("housing", "notch", "groove", "rebate", "finger joint"):
            continue
        entering, _ = model.instance(joint.members[0])
        receiving, _ = model.instance(joint.members[1])
        size = entering.finished[2]
        what = f"thickness of the {entering.name}, to which the {joint.kind} in the {receiving.name} is cut"
        yield (what, length_text(size, style), size)
