"""Cuts whose surfaces are all planes: ends, rips, tapers, trenches, tenons, pockets."""

from __future__ import annotations

from plangen.joinery.model import Feature
from plangen.machining.setup import HandReason, Setup, Way
from plangen.machining.through_cuts import through_cuts
from plangen.machining.work import Work
from plangen.tables.machines import Shop

BY_HAND = 8.0
"""What a cut by hand costs beside a plain one at a machine."""


def plane_ways(work: Work, feature: Feature, shop: Shop) -> tuple[Way, ...]:
    """Ways to make a feature all of whose surfaces are planes. Never empty; the last is by hand or out of reach."""
    if feature.origin == "fitted" or feature.stage == "on the work":
        return (by_hand(work, feature, "fitted on the work"),)
    if len(feature.surfaces) == 1:
        found = through_cuts(work, feature, feature.surfaces[0], shop)
        if found:
            return tuple(found)
    return (by_hand(work, feature, "square inside corner"),)


def by_hand(work: Work, feature: Feature, reason: HandReason) -> Way:
    """The whole feature with saw and chisel to drawn lines."""
    setup = Setup(
        member=work.member.mark,
        feature=feature.id,
        stage=feature.stage,
        operation="by hand",
        machine="hand",
        makes=tuple(s.id for s in feature.surfaces),
        frees=feature.cutters,
        by_hand=reason,
    )
    return Way((setup,), BY_HAND)
