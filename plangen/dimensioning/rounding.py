"""Printing: positions are rounded, not gaps.

Each point has one rounded coordinate along each axis of the member, and a printed figure is the difference of
two, so every chain closes. Sizes that meet a mate, and bought sizes, are laid down first.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction

from plangen.dimensioning.figures import FigureKind
from plangen.dimensioning.offers import Offer
from plangen.dimensioning.references import References
from plangen.dimensioning.workpiece import AXES
from plangen.geometry.vectors import Point, dot
from plangen.units import (
    MM_PER_INCH,
    UnitStyle,
    angle_text,
    exact,
    length_text,
    rounded,
    rounded_angle,
)

GOVERNS_ABOVE = 300.0
"""Millimetres: over longer slopes the ruler offset governs, whatever the arithmetic (half a degree is 5 mm on
1.2 m)."""
_SAME = 5
"""Decimals of a millimetre to which two coordinates are one."""


def exact_style(value: float, style: UnitStyle) -> UnitStyle:
    """The style at the coarsest step, down to 1/64 in or 0.1 mm, that shows a held size as it is."""
    if style.length == "in":
        steps = [style.step, *(MM_PER_INCH / d for d in (32, 64) if MM_PER_INCH / d < style.step)]
    else:
        steps = [style.step, *(s for s in (Fraction(1, 2), Fraction(1, 10)) if s < style.step)]
    for step in steps:
        fine = replace(style, step=step)
        if abs(float(rounded(value, fine)) - value) < 1e-4:
            return fine
    return style


def angle_governs(offer: Offer, style: UnitStyle) -> bool:
    """Whether the angle, as printed, leaves the far point of a slope nearer than the printed offset does."""
    if offer.angle is None or offer.span > GOVERNS_ABOVE:
        return False
    by_offset = abs(float(rounded(offer.value, style)) - offer.value)
    turn = abs(float(rounded_angle(offer.angle.value, style)) - offer.angle.value)
    by_angle = offer.span * math.radians(turn)
    return by_angle < by_offset - 1e-6


def half_step(kind: FigureKind, arm: float, style: UnitStyle) -> float:
    """Half a step of a printed figure, as its equation measures it: millimetres, for an angle at the end of
    its ``arm``, for a diameter at the radius."""
    return as_moved(kind, arm, float(style.angle_step if kind == "angular" else style.step) / 2)


def as_moved(kind: FigureKind, arm: float, off: float) -> float:
    """What a figure is off, millimetres or degrees, as its equation measures it: see ``half_step``."""
    if kind == "angular":
        return math.radians(off) * arm
    return off / 2 if kind == "diameter" else off


class Coordinates:
    """One rounded coordinate for each point and axis of a member."""

    def __init__(self, refs: References, style: UnitStyle) -> None:
        self._refs = refs
        self._style = style
        self._laid: dict[tuple[int, float], Fraction] = {(axis, 0.0): Fraction(0) for axis in range(3)}
        self._held: set[tuple[int, float]] = set(self._laid)

    def hold(self, offers: Iterable[Offer]) -> None:
        """Lay down held sizes: the far point is the near one's rounded coordinate and the size itself."""
        for offer in offers:
            axis = axis_of(offer)
            if axis is None or offer.kind == "angular":
                continue
            size = rounded(offer.value, exact_style(offer.value, self._style))
            a, b = (self._key(axis, s.point) for s in offer.spots)
            near, far = sorted((a, b), key=lambda k: (abs(k[1]), k[1]))
            if near in self._laid and far in self._laid:
                continue
            if far in self._laid:
                near, far = far, near
            way = 1 if far[1] > near[1] else -1
            self._laid[far] = self.at(near) + way * size
            self._held |= {near, far}

    def _key(self, axis: int, p: Point) -> tuple[int, float]:
        return (axis, round(self._refs.coordinate(axis, p), _SAME) + 0.0)

    def at(self, key: tuple[int, float]) -> Fraction:
        if key not in self._laid:
            self._laid[key] = rounded(key[1], self._style)
        return self._laid[key]

    def free(self) -> list[tuple[int, float]]:
        """Positions that no held size hangs on, and that lie between two steps."""
        return sorted(
            k for k, at in self._laid.items() if k not in self._held and abs(float(at) - k[1]) > 1e-4
        )

    def close(self, governing: Iterable[Offer], others: Sequence[Offer]) -> None:
        """Lay positions that only figures in parentheses hang on: as near as the worst of those comes to its true
        size, so that an overall length is as near as the sizes that make it up."""
        firm = self._held | {key for offer in governing for key in self._keys(offer)}
        hanging: dict[tuple[int, float], list[Offer]] = {}
        for offer in others:
            for key in self._keys(offer):
                if key not in firm:
                    hanging.setdefault(key, []).append(offer)
        for key in sorted(hanging):
            near = self._worst(hanging[key])
            if abs(float(self.at(key)) - key[1]) < 1e-4:
                continue
            self.turn(key)
            if self._worst(hanging[key]) > near - 1e-6:
                self.turn(key)

    def _keys(self, offer: Offer) -> list[tuple[int, float]]:
        axis = axis_of(offer)
        return [] if axis is None else [self._key(axis, s.point) for s in offer.spots]

    def _worst(self, offers: Iterable[Offer]) -> float:
        return max(abs(float(printed(o, self, self._style)[1]) - o.value) for o in offers)

    def turn(self, key: tuple[int, float]) -> None:
        """Lay a position at the step on its other side."""
        step = self._style.step
        self._laid[key] += -step if float(self._laid[key]) > key[1] else step

    def size(self, offer: Offer) -> Fraction:
        """The figure as printed, millimetres."""
        axis = axis_of(offer)
        if axis is None:
            return rounded(offer.value, self._style)
        a, b = (self.at(self._key(axis, s.point)) for s in offer.spots)
        return abs(b - a)


def axis_of(offer: Offer) -> int | None:
    """The member's axis a distance is measured along; None for others."""
    if offer.kind not in ("linear", "depth") or offer.direction is None:
        return None
    return next((i for i in range(3) if abs(dot(offer.direction, AXES[i])) > 1 - 1e-12), None)


def printed(offer: Offer, coordinates: Coordinates, style: UnitStyle) -> tuple[str, Fraction]:
    """The bare figure and its value: degrees for an angle, else millimetres. Never 0 for a size."""
    if offer.kind == "angular":
        return angle_text(offer.value, style), rounded_angle(offer.value, style)
    if offer.kind in ("radius", "diameter"):
        fine = exact_style(offer.value, style)
        return length_text(offer.value, fine), rounded(offer.value, fine)
    if offer.held:
        fine = exact_style(offer.value, style)
        return length_text(offer.value, fine), rounded(offer.value, fine)
    size = coordinates.size(offer)
    if size == 0 or abs(offer.value) < float(style.step):
        text = length_text(offer.value, style)
        return text, _value_of_small(offer.value, style)
    return exact_text(size, style), size


def exact_text(size: Fraction, style: UnitStyle) -> str:
    """The figure of a difference of coordinates, millimetres, one of which may stand on a finer step."""
    return length_text(size, exact_style(float(size), style))


def _value_of_small(value: float, style: UnitStyle) -> Fraction:
    """What ``length_text`` prints for a size under one step."""
    step = style.step
    finest = MM_PER_INCH / 128 if style.length == "in" else Fraction(1, 100)
    while rounded(value, replace(style, step=step)) == 0 and step > finest:
        step = step / 2 if style.length == "in" else _next_decimal(step)
    size = rounded(value, replace(style, step=step))
    return size if size else exact(value)


def _next_decimal(step: Fraction) -> Fraction:
    fine = Fraction(1, 10)
    while fine >= step:
        fine /= 10
    return fine
