"""Every cut of the piece, from the surfaces of its members: order, set-ups, settings, jigs."""

from __future__ import annotations

from plangen.joinery.model import Model
from plangen.machining.setup import Machining
from plangen.tables.machines import Shop


def plan_cuts(model: Model, shop: Shop) -> Machining:
    """Set-ups of every member of the piece (``model`` is the piece when all is done), and what they need."""
    return Machining()
