"""Cuts with a round or free surface: bored, reamed, turned, moulded, sawn to a line, bent.

Each cutter of a feature is made for itself, by the first recipe that knows its shape; cutters of planes alone, such as
the end of a tenon that is left long, as such cuts are made elsewhere. What no recipe knows is a free curve, and cut by
hand.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from plangen.geometry.surfaces import Form, Plane
from plangen.joinery.model import Feature
from plangen.machining.bending import bent
from plangen.machining.bores import bored
from plangen.machining.moulding import awaits_its_faces, moulded, rounds_an_arris
from plangen.machining.plane_ways import plane_ways
from plangen.machining.sawn_lines import by_hand, sawn
from plangen.machining.setup import HandReason, Setup, Way
from plangen.machining.turning import turned
from plangen.machining.work import Work
from plangen.tables.machines import Shop

_Recipe = Callable[[Work, Feature, dict[str, Form], Shop], tuple[Way, ...]]
_RECIPES: tuple[_Recipe, ...] = (bent, turned, sawn)


def round_ways(work: Work, feature: Feature, shop: Shop) -> tuple[Way, ...]:
    """Ways to make a feature of which at least one surface is round or free; empty where the work offers none yet."""
    forms = {s.id: s.form for s in feature.surfaces}
    cutters = [{i: forms[i] for i in c if i in forms} for c in feature.cutters]
    free = [c for c in cutters if not all(isinstance(f, Plane) for f in c.values())]
    plane = [c for c in cutters if c not in free]
    if feature.stage == "on the work" and feature.hole is None:
        return (by_hand(work, feature, tuple(forms), "fitted on the work"),)
    holes = bored(work, feature, [tuple(c) for c in free], shop)
    choices = [holes] if holes else [_of_one(work, feature, c, shop) for c in free]
    choices += [_of_planes(work, feature, c, shop) for c in plane if c]
    if not all(choices):
        return ()
    if len(choices) == 1:
        return tuple(_once(w.setups, w.cost, w.beyond) for w in choices[0])
    best = [min(ways, key=lambda w: (bool(w.beyond), round(w.cost, 6))) for ways in choices]
    best.sort(key=lambda w: any(s.by_hand for s in w.setups))
    setups = [s for w in best for s in w.setups]
    beyond = dict.fromkeys(b for w in best for b in w.beyond)
    return (_once(setups, sum(w.cost for w in best), tuple(beyond)),)


def _of_one(work: Work, feature: Feature, cutter: dict[str, Form], shop: Shop) -> tuple[Way, ...]:
    if awaits_its_faces(work, feature, cutter):
        return ()
    recipes = (moulded,) if rounds_an_arris(cutter) else _RECIPES
    ways = next((w for w in (recipe(work, feature, cutter, shop) for recipe in recipes) if w), ())
    if all(w.beyond for w in ways):
        # a curve that runs into planes is a shoulder fitted to a round piece
        is_shoulder = any(isinstance(f, Plane) for f in cutter.values()) and not rounds_an_arris(cutter)
        reason: HandReason = "scribed shoulder" if is_shoulder else "free curve"
        return (*ways, by_hand(work, feature, tuple(cutter), reason))
    return ways


def _of_planes(work: Work, feature: Feature, cutter: dict[str, Form], shop: Shop) -> tuple[Way, ...]:
    """A cutter of planes alone, as if it were a feature of its own."""
    surfaces = tuple(s for s in feature.surfaces if s.id in cutter)
    ways = plane_ways(work, replace(feature, surfaces=surfaces, cutters=(tuple(cutter),)), shop)
    return tuple(replace(w, setups=tuple(replace(s, frees=feature.cutters) for s in w.setups)) for w in ways)


def _once(setups: Sequence[Setup], cost: float, beyond: tuple[str, ...]) -> Way:
    """The way with each surface made by the first set-up that reaches it; later ones go on with it.

    A set-up that would make nothing new is left out, and what is left to hand tools for one reason is one.
    """
    made: set[str] = set()
    found: list[Setup] = []
    for setup in setups:
        again = tuple(i for i in setup.makes if i in made)
        makes = tuple(i for i in setup.makes if i not in made)
        if setup.makes and not makes:
            continue
        made |= set(makes)
        last = found[-1] if found else None
        if last is not None and setup.by_hand is not None and last.by_hand == setup.by_hand:
            found[-1] = replace(last, makes=(*last.makes, *makes), goes_on=_joined(last.goes_on, again))
        else:
            found.append(_going_on(setup, makes, again) if again else setup)
    return Way(tuple(found), cost, beyond)


def _joined(a: tuple[str, ...], b: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys((*a, *b)))


def _going_on(setup: Setup, makes: tuple[str, ...], again: tuple[str, ...]) -> Setup:
    """The set-up without what is there already.

    Of a template whose wall is there the floor alone is routed along it. Other tools leave their surfaces in one order,
    so that the rest without the first is left to hand tools.
    """
    later = replace(setup, makes=makes, goes_on=_joined(setup.goes_on, again))
    if setup.makes[0] in makes or setup.by_hand is not None:
        return later
    if setup.operation == "rout to template":
        return replace(later, operation="rout")
    return replace(
        Setup(setup.member, setup.feature, setup.stage, "by hand", "hand", makes, setup.frees),
        goes_on=later.goes_on,
        by_hand="scribed shoulder",
    )
