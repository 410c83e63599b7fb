"""Offers beside those a feature is usually figured by: where they leave something open, or drift too far."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace

from plangen.dimensioning.freedom import Freedom
from plangen.dimensioning.offers import Layout, Offer, linear
from plangen.dimensioning.references import References
from plangen.dimensioning.surfaces import LEAST, depths, positions, slopes
from plangen.dimensioning.workpiece import AXES

_ABREAST = 1e-6


def open_offers(freedom: Freedom, refs: References, layout: Layout) -> Iterator[Offer]:
    """For surfaces that are still open: any corner of theirs, from the references, along any axis."""
    for form in freedom.free_forms():
        feature = refs.work.feature_of(form)
        name = None if feature is None else feature.id
        for axis in range(3):
            for offer in positions(refs, layout, form, "corner", axis=axis, every=True):
                yield replace(offer, feature=name)


def other_offers(refs: References, layout: Layout) -> Iterator[Offer]:
    """Other figures of each surface: mouths of cuts along an arris, every corner from the references, depths at
    every corner, slopes along another axis."""
    work = refs.work
    shared = Counter(f for feature in work.features.values() for f in work.forms_of(feature))
    for feature in work.features.values():
        own = tuple(f for f in work.forms_of(feature) if shared[f] == 1)
        for offer in _mouths(refs, layout, own):
            yield replace(offer, feature=feature.id)
    for form in range(len(work.forms)):
        if work.plane(form) is None or form in (refs.face, refs.edge):
            continue
        feature_of = work.feature_of(form)
        name = None if feature_of is None else feature_of.id
        for offer in _of_surface(refs, layout, form):
            if form not in refs.outer or _is_of_outside(refs, offer):
                angle = None if offer.angle is None else replace(offer.angle, feature=name)
                yield replace(offer, feature=name, angle=angle)


def _is_of_outside(refs: References, offer: Offer) -> bool:
    """An outer surface is figured by its own corners, not by where a cut runs out through it."""
    return all(f in refs.outer for s in offer.spots for f in s.forms)


def _of_surface(refs: References, layout: Layout, form: int) -> Iterator[Offer]:
    """Figures that some view shows from end to end, and depths under the surface that a cut is sunk in."""
    for axis in range(3):
        for offer in positions(refs, layout, form, "corner", axis=axis, every=True):
            a, b = (s.point for s in offer.spots)
            if offer.kind == "linear" and (axis == 0 or abs(a[0] - b[0]) < _ABREAST):
                yield offer
    yield from depths(refs, layout, form, "depth")
    for axis in range(3):
        yield from slopes(refs, layout, form, "slope", axis=axis)


def _mouths(refs: References, layout: Layout, forms: tuple[int, ...]) -> Iterator[Offer]:
    """From corner to corner of one cut along an axis, both on one outer surface."""
    own = [f for f in forms if f not in refs.outer]
    spots = sorted({s for f in own for s in refs.work.corners_on(f)}, key=lambda s: s.point)
    for a, b in itertools.combinations(spots, 2):
        if not set(a.forms) & set(b.forms) & set(refs.outer):
            continue
        apart = [abs(p - q) for p, q in zip(a.point, b.point, strict=True)]
        axis = max(range(3), key=lambda i: apart[i])
        if apart[axis] > LEAST and sum(apart) - apart[axis] < _ABREAST:
            offer = linear(layout, "mouth", a, b, AXES[axis])
            if offer.kind == "linear":
                yield offer
