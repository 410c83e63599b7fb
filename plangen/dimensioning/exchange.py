"""Figures exchanged for others while the corners of a member drift too far.

Rank proves a set of figures complete, drift chooses between complete sets: each exchange keeps the set complete.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from plangen.dimensioning.drift import corner_moves, solution, times
from plangen.dimensioning.freedom import Freedom, Row
from plangen.dimensioning.offers import Layout, Offer
from plangen.dimensioning.rounding import GOVERNS_ABOVE, angle_governs, half_step
from plangen.geometry.vectors import dot, length, sub
from plangen.units import UnitStyle

_LEAST_ASIDE = 1.5
"""Steps: an offset that is less, beside the angle that governs, is no help to check it by."""
_WIDTHS = (1, 8)
"""How many sets are carried on at once: by the best exchange each time, then more broadly."""
_MOST = 16
"""Exchanges in a row."""
_TRIED = 300
"""Exchanges looked at in full, those that help most at the corner that drifts most."""
_WORTH = 0.5
"""Share of the excess that may be left by figures out of the usual."""
_LESS = 1e-3
"""Millimetres of drift that an exchange must save."""


@dataclass(frozen=True, eq=False)
class Taken:
    """A figure that governs, its equation, and what else is said with it in parentheses."""

    place: int
    """In the order of offering."""
    offer: Offer
    sloping: bool
    """Of a slope, by offset or angle."""
    firm: bool
    """A size of the member itself, which only changes over between offset and angle."""
    aside: Offer | None
    row: Row
    half: float
    """Half a step of it, millimetres as its equation counts them."""

    gauged: bool
    """The distance of two parallel surfaces, square to them: what a gauge is set to."""

    @property
    def is_fixed(self) -> bool:
        """A size of the stock, of a mate, of a note or of a gauge: it is stated whatever it does to the drift."""
        gauged = self.gauged and not self.offer.told
        return self.offer.stated or self.offer.held or bool(self.offer.said_by) or gauged


def as_taken(
    freedom: Freedom, place: int, offer: Offer, style: UnitStyle, *, by_angle: bool | None = None
) -> Taken:
    """An offer as it would be stated: of a slope the offset and the angle, one of them in parentheses."""
    governs, aside = offer, offer.angle
    if by_angle is None:
        by_angle = angle_governs(offer, style)
    if aside is not None and by_angle:
        governs, aside = aside, offer
    row = freedom.figure_row(governs.kind, governs.spots, governs.direction, governs.view)
    arm = length(sub(governs.spots[1].point, governs.spots[0].point))
    half = 0.0 if is_given(governs) else half_step(governs.kind, arm, style)
    if aside is not None and aside.kind != "angular" and aside.value <= _LEAST_ASIDE * float(style.step):
        aside = None
    stripped = None if aside is None else replace(aside, angle=None)
    sloping = offer.angle is not None or offer.kind == "angular"
    stated = replace(governs, angle=None)
    firm = offer.firm and (offer.angle is not None or offer.kind != "angular")
    return Taken(place, stated, sloping, firm, stripped, row, half, _is_gauged(freedom, governs))


def _is_seen(layout: Layout, offer: Offer) -> bool:
    """Its view shows every point that it stands between."""
    return all(layout.work.sees(offer.view, s.point) for s in offer.spots)


def _is_gauged(freedom: Freedom, offer: Offer) -> bool:
    way = offer.direction
    if offer.kind not in ("linear", "depth") or way is None:
        return False
    square = [
        any((p := freedom.work.plane(f)) is not None and abs(dot(p.normal, way)) > 1 - 1e-12 for f in s.forms)
        for s in offer.spots
    ]
    return all(square)


def is_given(offer: Offer) -> bool:
    """A size that the work gives: made to the mate, fitted, formed or by eye. It counts as it is."""
    return offer.origin not in ("worked", "bought")


def is_echo(offer: Offer, other: Offer, style: UnitStyle) -> bool:
    """Two positions of one cut from one place that lie less than half a step apart: they print alike, and nobody could
    tell which is of which corner."""
    way = offer.direction
    if (
        offer.feature is None
        or offer.feature != other.feature
        or "position" not in (offer.tier, other.tier)
        or way is None
        or way != other.direction
    ):
        return False
    (a, b), (c, d) = (sorted(dot(s.point, way) for s in o.spots[:2]) for o in (offer, other))
    near, apart = abs(a - c) < _LESS, abs(b - d)
    if abs(b - d) < _LESS:
        near, apart = True, abs(a - c)
    return near and _LESS < apart < float(style.step) / 2


def pool_of(
    freedom: Freedom, layout: Layout, offers: Sequence[Offer], style: UnitStyle, first: int = 0
) -> list[Taken]:
    """What could be stated instead: each offer, of a slope the offset and the angle; no words of a note, no
    overall sizes, from which one would have to subtract, and nothing that its view does not show.
    ``first`` is the place of the first."""
    found = []
    for i, offer in enumerate(offers, first):
        if offer.said_by or offer.tier == "overall" or (offer.stated and offer.prefix):
            continue
        for by_angle in (False, True) if offer.angle is not None else (None,):
            if by_angle and offer.span > GOVERNS_ABOVE:
                continue
            taken = as_taken(freedom, i, offer, style, by_angle=by_angle)
            if taken.offer.kind != "angular" and taken.offer.value <= _LEAST_ASIDE * float(style.step):
                continue  # too small to be laid out
            if not (offer.firm or taken.offer.kind == "depth" or _is_seen(layout, taken.offer)):
                continue
            if float(np.abs(taken.row).max()) > 1e-9:
                found.append(taken)
    return found


def exchange(
    freedom: Freedom,
    taken: Sequence[Taken],
    usual: Sequence[Taken],
    others: Sequence[Taken],
    most: float,
    style: UnitStyle,
) -> list[Taken]:
    """A complete set in which no corner drifts farther than ``most`` millimetres, else the best that was found.

    ``freedom`` is the system before the figures. At first only slopes and positions are exchanged, and for figures
    that are usual; then any for any, and that counts if it saves a good part of what is too much.
    """
    first = _Search(
        freedom, usual, most, style, lambda t: not t.is_fixed and (t.sloping or t.offer.tier == "position")
    )
    best = first.best(tuple(taken))
    if best.excess > 0:
        wider = _Search(freedom, (*usual, *others), most, style, lambda t: not t.is_fixed)
        found = wider.best(best.taken)
        best = found if found.excess < best.excess * _WORTH else best
    return list(best.taken)


@dataclass(frozen=True, eq=False)
class _Set:
    """One complete set of figures, and how its corners drift."""

    taken: tuple[Taken, ...]
    shifts: np.ndarray
    """(3 x corners, figures)"""
    shares: np.ndarray
    """How each of the pool would change with each figure: (pool, figures)."""
    halves: np.ndarray
    drifts: np.ndarray
    """Of each corner along each axis."""
    excess: float


class _Search:
    def __init__(
        self,
        freedom: Freedom,
        pool: Sequence[Taken],
        most: float,
        style: UnitStyle,
        may_go: Callable[[Taken], bool],
    ) -> None:
        self._freedom = freedom
        self._may_go = may_go
        self._pool = pool
        self._most = most
        self._corners = corner_moves(freedom)
        self._rows = np.vstack([t.row for t in pool])
        self._style = style
        self._cuts = {
            f.id: str(f.place) if f.kind == "outline" else f.id for f in freedom.work.features.values()
        }
        """The sides of one outline are one cut."""

    def set_of(self, taken: tuple[Taken, ...]) -> _Set:
        columns = solution(self._freedom.said, [t.row for t in taken])
        shifts, halves = times(self._corners, columns), np.array([t.half for t in taken])
        drifts = times(np.abs(shifts), halves[:, None])[:, 0]
        shares = times(self._rows, columns)
        return _Set(taken, shifts, shares, halves, drifts, self._excess(drifts))

    def best(self, taken: tuple[Taken, ...]) -> _Set:
        found = self.set_of(taken)
        for width in _WIDTHS:
            if found.excess > 0:
                found = self.from_set(found, width)
        return found

    def from_set(self, start: _Set, width: int) -> _Set:
        """The best that exchanges lead to, ``width`` sets carried on at a time."""
        best, here = start, [start]
        for _ in range(_MOST):
            ways = sorted(
                (excess, into, out, k)
                for k, at in enumerate(here)
                for excess, into, out in self._swaps(at)[:width]
            )
            reached: dict[tuple[tuple[int, float], ...], _Set] = {}
            for _, into, out, k in ways:
                after = self._after_swap(here[k], out, into)
                reached.setdefault(tuple(sorted((t.place, t.offer.value) for t in after)), self.set_of(after))
                if len(reached) == width:
                    break
            if not reached or best.excess == 0:
                break
            here = sorted(reached.values(), key=lambda s: s.excess)
            best = here[0] if here[0].excess < best.excess else best
        return best

    def _after_swap(self, at: _Set, out: int, into: int) -> tuple[Taken, ...]:
        gone, come = at.taken[out], self._pool[into]
        if gone.offer.feature == come.offer.feature:
            come = replace(come, place=gone.place)
        return tuple(come if i == out else t for i, t in enumerate(at.taken))

    def _swaps(self, at: _Set) -> list[tuple[float, int, int]]:
        """(what is too much after it, of the pool that comes, figure that goes), the best first; of equal ones
        that offered first."""
        found = []
        for out, into in self._promising(at):
            excess = self._excess(self._drifts_after(at, out, into))
            if excess < at.excess - _LESS:
                found.append((excess, into, out))
        return sorted(found)

    def _promising(self, at: _Set) -> list[tuple[int, int]]:
        """Exchanges that lessen the drift of the worst corner, most first."""
        if not len(at.drifts):
            return []
        worst = int(np.argmax(at.drifts >= at.drifts.max() * (1 - 1e-9)))
        now = round(float(at.drifts[worst]), 6)
        free = np.array([self._may_go(t) for t in at.taken])
        gains = []
        for out in np.flatnonzero(free & (np.abs(at.shifts[worst]) * at.halves > 1e-4)).tolist():
            for into in np.flatnonzero(np.abs(at.shares[:, out]) > 0.05).tolist():
                gone, come = at.taken[out], self._pool[into]
                if not self._is_like(gone, come) or any(
                    is_echo(come.offer, t.offer, self._style) for t in at.taken if t is not gone
                ):
                    continue
                there = round(float(self._drifts_after(at, out, into, worst)[0]), 6)
                if there < now - _LESS:
                    gains.append((there, into, out))
        return [(out, into) for _, into, out in sorted(gains)[:_TRIED]]

    def _is_like(self, gone: Taken, come: Taken) -> bool:
        """A figure gives way to one of the same cut, or of the member's own outside; how an end slopes to its other
        size, or to where its far corner is."""
        before, after = (self._cuts.get(t.offer.feature or "") for t in (gone, come))
        if gone.firm:
            of_end = gone.sloping and come.offer.tier == "position" and before is not None
            return gone.place == come.place or (of_end and after == before)
        return after in (before, None)

    def _drifts_after(self, at: _Set, out: int, into: int, corner: int | None = None) -> np.ndarray:
        """The drift of one corner or of all once one equation has been exchanged for another (Sherman and
        Morrison)."""
        rest = at.shares[into].copy()
        rest[out] -= 1.0
        rest /= at.shares[into, out]
        shifts = at.shifts if corner is None else at.shifts[corner : corner + 1]
        halves = at.halves.copy()
        halves[out] = self._pool[into].half
        changed = np.abs(shifts - shifts[:, out, None] * rest[None, :])
        return times(changed, halves[:, None])[:, 0]

    def _excess(self, drifts: np.ndarray) -> float:
        """By how much all corners together drift too far."""
        return round(math.fsum(max(0.0, d - self._most) for d in drifts.tolist()), 6)
