"""Cuts whose surfaces are all planes: ends, rips, tapers, trenches, tenons, pockets."""

from __future__ import annotations

from plangen.joinery.model import Feature
from plangen.machining.setup import Way
from plangen.machining.work import Work
from plangen.tables.machines import Shop


def plane_ways(work: Work, feature: Feature, shop: Shop) -> tuple[Way, ...]:
    """Ways to make a feature all of whose surfaces are planes."""
    return ()
