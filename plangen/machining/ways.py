"""The ways to make a feature, read from its surfaces alone.

Which recipe serves is decided by the forms of its cutters: planes only, round holes, turned and moulded surfaces,
sawn outlines. No kind of joint is known here.
"""

from __future__ import annotations

from plangen.geometry.surfaces import Plane
from plangen.joinery.model import Feature
from plangen.machining.plane_ways import plane_ways
from plangen.machining.round_ways import round_ways
from plangen.machining.setup import Way
from plangen.machining.work import Work
from plangen.tables.machines import Shop


def ways_to_make(work: Work, feature: Feature, shop: Shop) -> tuple[Way, ...]:
    """Every sensible way on the work as it stands, cheapest first; the last resort is by hand, for a stated reason."""
    planes_only = all(isinstance(s.form, Plane) for s in feature.surfaces)
    ways = plane_ways(work, feature, shop) if planes_only else round_ways(work, feature, shop)
    return tuple(sorted(ways, key=lambda w: round(w.cost, 6)))
