"""Cuts with a round or free surface: bored, reamed, turned, moulded, sawn to a line, bent."""

from __future__ import annotations

from plangen.joinery.model import Feature
from plangen.machining.bores import bored
from plangen.machining.setup import Way
from plangen.machining.work import Work
from plangen.tables.machines import Shop


def round_ways(work: Work, feature: Feature, shop: Shop) -> tuple[Way, ...]:
    """Ways to make a feature of which at least one surface is round or free."""
    return bored(work, feature, feature.cutters, shop)
