"""Which of the offers are stated: the first complete set in the order of offering, then swaps while it drifts.

Greedy by order gives the cheapest complete set, for independent rows are a matroid; drift is judged afterwards.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from plangen.dimensioning.drift import drift
from plangen.dimensioning.exchange import Taken, as_taken, exchange, is_echo, pool_of
from plangen.dimensioning.freedom import RAISES, RAISES_LAST, Freedom
from plangen.dimensioning.offers import Layout, Offer
from plangen.dimensioning.references import References
from plangen.dimensioning.spare import open_offers, other_offers
from plangen.units import UnitStyle

STAGES: tuple[tuple[float, ...], ...] = (
    (RAISES,),
    (0.1, RAISES),
    (0.3, 0.1, RAISES),
    (0.5, 0.3, 0.1, RAISES),
)
"""Least shares of a row that must be new, in the order in which they are tried."""
SPARE_STAGES = (0.3, 0.1, RAISES, RAISES_LAST)
"""The same for what is taken where the offers of a feature do not fix it."""
MOST_DRIFT = 3.0
"""Half steps a corner may drift (design rule of the plan set)."""


@dataclass(frozen=True)
class Stated:
    """An offer taken up; in parentheses where ``reference``."""

    offer: Offer
    reference: bool


def choose(
    freedom: Freedom, refs: References, layout: Layout, offers: Sequence[Offer], style: UnitStyle
) -> list[Stated]:
    """The first complete set that keeps the drift within three half steps, else the one with the least, figures
    exchanged while that lessens it.

    An offer that only just adds something multiplies its rounding; where the plain order leads to such a set,
    it is gone through again with the firm offers first.
    """
    most = MOST_DRIFT * float(style.step) / 2 + 1e-6
    best: tuple[float, list[Taken]] | None = None
    for stages in STAGES:
        trial = freedom.copy()
        taken = _go_through(trial, refs, layout, offers, style, stages)
        drifts = drift(trial, [(t.row, t.half) for t in taken])
        if best is None or round(drifts, 6) < round(best[0], 6):
            best = (drifts, taken)
        if drifts <= most:
            break
    assert best is not None
    drifts, taken = best
    ends = {t.place for t in taken if t.place < len(offers) and offers[t.place].firm}
    if drifts > most and len(freedom.said) + len(taken) == freedom.unknowns:
        usual = pool_of(freedom, layout, offers, style)
        others = pool_of(freedom, layout, list(other_offers(refs, layout)), style, len(offers))
        taken = exchange(freedom, taken, usual, others, most, style)
    return list(_stated(offers, taken, ends))


def _stated(offers: Sequence[Offer], taken: Sequence[Taken], ends: set[int]) -> Iterator[Stated]:
    """Each figure that governs with what is said beside it, and in parentheses what must be seen all the same: of the
    ``ends`` whose slopes have given way to other figures the angle, for the saw."""
    chosen: dict[int, list[Taken]] = {}
    for t in taken:
        chosen.setdefault(t.place, []).append(t)
    governing = {t.offer for t in taken}
    deep = {t.offer.feature for t in taken if t.offer.told}
    for place in range(max([len(offers), *(p + 1 for p in chosen)])):
        for t in chosen.get(place, ()):
            yield Stated(t.offer, False)
            if t.aside is not None and t.aside not in governing:
                yield Stated(t.aside, True)
        offer = offers[place] if place < len(offers) and place not in chosen else None
        if offer is not None and (offer.stated or (offer.told and offer.feature not in deep)):
            deep |= {offer.feature} if offer.told else set()
            yield Stated(replace(offer, angle=None), True)
        angle = offers[place].angle if place in ends else None
        if angle is not None and not governing & {
            replace(offers[place], angle=None),
            replace(angle, angle=None),
        }:
            yield Stated(angle, True)


def _go_through(
    freedom: Freedom,
    refs: References,
    layout: Layout,
    offers: Sequence[Offer],
    style: UnitStyle,
    stages: tuple[float, ...],
) -> list[Taken]:
    """The offers taken, in the order of their equations."""
    taken: dict[int, Taken] = {}
    for stage in stages:
        for i, offer in enumerate(offers):
            least = RAISES if offer.firm else stage
            if i not in taken and not any(is_echo(offer, t.offer, style) for t in taken.values()):
                found = as_taken(freedom, i, offer, style)
                if freedom.take(found.row, least):
                    taken[i] = found
    found_all = list(taken.values())
    spare = list(open_offers(freedom, refs, layout))
    for stage in SPARE_STAGES if spare else ():
        for k, offer in enumerate(spare):
            found = as_taken(freedom, len(offers) + k, offer, style)
            if freedom.take(found.row, stage):
                found_all.append(found)
    return found_all
