"""Offers for dovetails: tails on an end by their places there, a sliding tail by its neck; then how they slope."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from plangen.dimensioning.figures import MemberView
from plangen.dimensioning.offers import Layout, Offer, linear
from plangen.dimensioning.references import References
from plangen.dimensioning.surfaces import FROM, LEAST, by_preference, depths, positions, slopes
from plangen.dimensioning.workpiece import AXES, Spot, dominant_axis
from plangen.joinery.model import FeatureKind

_VIEWS: dict[int, tuple[MemberView, ...]] = {1: ("face",), 2: ("edge", "back edge", "end A", "end B")}


def dovetail_offers(
    refs: References, layout: Layout, kind: FeatureKind, planes: Sequence[int]
) -> Iterator[Offer]:
    """Shoulder and end first; of each side its place where it is marked: tails at their ends, a neck at its root."""
    across = 1 if kind == "tails" else 2
    sides = [f for f in planes if _axis(refs, f) == across]
    others = [f for f in planes if f not in sides]
    for form in others:
        yield from depths(refs, layout, form, "depth")
        yield from positions(refs, layout, form, "position")
        yield from slopes(refs, layout, form, "shoulder")
    placed = [(spot, f) for f in sides if (spot := _marked(refs, layout, f, others, across)) is not None]
    placed.sort(key=lambda s: (round(refs.coordinate(across, s[0].point), 6), s[1]))
    label = "tail" if kind == "tails" else "neck"
    for spot, _ in placed:
        foot = refs.foot(across, spot)
        if foot is not None and abs(foot.point[across] - spot.point[across]) > LEAST:
            offer = linear(layout, f"{label} {FROM[across]}", foot, spot, AXES[across], _VIEWS[across])
            yield replace(offer, tier="position")
        if kind == "dovetail" and len(placed) == 2:
            yield linear(layout, "neck", placed[0][0], placed[1][0], AXES[across], _VIEWS[across])
    for form in sides:
        yield from slopes(refs, layout, form, label, axis=across)


def _axis(refs: References, form: int) -> int:
    plane = refs.work.plane(form)
    assert plane is not None
    return dominant_axis(plane.normal)


def _marked(refs: References, layout: Layout, form: int, others: Sequence[int], across: int) -> Spot | None:
    """The corner that a side is marked out at: away from the shoulder for tails, on the shoulder for a neck."""
    corners = by_preference(refs, layout, refs.work.corners_on(form), across)
    on_end = [s for s in corners if any(f in refs.outer for f in s.forms if _looks_along(refs, f))]
    shoulder = min((_axis(refs, f) for f in others), default=0)
    at_root = [s for s in corners if any(f in others and _axis(refs, f) == shoulder for f in s.forms)]
    wanted = at_root if across == 2 else on_end
    return next(iter(wanted or corners), None)


def _looks_along(refs: References, form: int) -> bool:
    """An end of the piece, as a corner's surface."""
    plane = refs.work.plane(form)
    return plane is not None and dominant_axis(plane.normal) == 0
