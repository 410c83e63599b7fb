"""Cuts whose surfaces are all planes: ends, rips, tapers, trenches, tenons, pockets."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

from plangen.geometry.surfaces import Plane
from plangen.joinery.model import Feature
from plangen.machining.routed import routed
from plangen.machining.setup import HandReason, Setup, Way
from plangen.machining.through_cuts import through_cuts
from plangen.machining.trenches import Making, trenched, unmet_wall
from plangen.machining.waste import Job, Waste, job_of
from plangen.machining.work import Work
from plangen.tables.machines import Shop

BY_HAND = 8.0
"""What one piece of waste cut by hand costs beside a plain cut at a machine."""


def plane_ways(work: Work, feature: Feature, shop: Shop) -> tuple[Way, ...]:
    """Ways to make a feature all of whose surfaces are planes, never none; by hand only where no machine serves.

    A piece of waste is cut by hand where no machine reaches its shape; where only a size is beyond the shop's
    machines, the way says so in ``beyond``.
    """
    if feature.origin == "fitted" or feature.stage == "on the work":
        return (Way((by_hand(work, feature, "fitted on the work"),), BY_HAND),)
    if len(feature.surfaces) == 1:
        found = through_cuts(work, feature, feature.surfaces[0], shop)
        if found:
            return tuple(found)
    return (_piece_by_piece(job_of(work, feature, shop)),)


def _piece_by_piece(job: Job) -> Way:
    """Each piece of waste its own cheapest way; surfaces that several share are made once and carried on."""
    forms = {s.id: s.form for s in job.feature.surfaces}
    made: set[str] = set()
    parts: list[Making] = []
    for ids in job.feature.cutters:
        waste = Waste(job, {i: p for i in ids if isinstance(p := forms[i], Plane)})
        one = _cheapest(waste, made, [s for p in parts for s in p.setups])
        parts.append(one)
        made |= {i for s in one.setups for i in s.makes}
    setups = _hands_together([s for p in parts for s in p.setups])
    faults = tuple(dict.fromkeys(f for p in parts for f in p.faults))
    return Way(tuple(setups), math.fsum(p.rank()[0] for p in parts), faults)


def _cheapest(waste: Waste, made: Collection[str], before: Sequence[Setup]) -> Making:
    found = [*_cut_through(waste, made)]
    if len(waste.planes) > 1:
        found += [*trenched(waste, made), *routed(waste, made)]
    left = tuple(i for i in waste.planes if i not in made)
    setup = by_hand(waste.job.work, waste.job.feature, _reason(waste))
    hand = Making((replace(setup, makes=left, frees=(waste.ids,)),), BY_HAND)
    known = {_setting(s) for s in before}
    return min([*found, hand], key=lambda m: (_with_settings(m, known), len(m.setups)))


def _cut_through(waste: Waste, made: Collection[str]) -> Iterator[Making]:
    """Waste that only one of its planes parts from the work: a cut right through; the others meet no wood."""
    job = waste.job
    for surface in (s for s in job.feature.surfaces if s.id in waste.planes and s.id not in made):
        rest = waste.others(surface.id)
        if rest and not waste.parts_alone(surface.id):
            continue
        for way in through_cuts(job.work, job.feature, surface, job.shop, kept=1):
            (cut,) = way.setups
            unmet = [unmet_wall(waste, w, cut) for w in rest if w not in made]
            setups = (replace(cut, frees=(waste.ids,)), *unmet)
            yield Making(setups, way.cost + 0.1 * len(unmet), way.beyond)


_SAME_SETTING = 0.5
"""What it saves to cut on a setting that an earlier piece of the same feature is cut on."""


def _setting(setup: Setup) -> tuple[object, ...]:
    angles = (round(setup.miter, 6), round(setup.bevel, 6), setup.tilt)
    return (setup.machine, setup.surface_down, setup.surface_against, *angles)


def _with_settings(making: Making, known: set[tuple[object, ...]]) -> float:
    saved = sum(_setting(s) in known for s in making.setups if s.by_hand is None)
    return round(making.rank()[0] - _SAME_SETTING * saved, 6)


def _reason(waste: Waste) -> HandReason:
    """Why a piece of waste is left to the saw and chisel."""
    if _narrow(waste):
        return "wedge slot"
    floor = _floor(waste)
    reasons = {waste.by_hand(w, floor) for w in waste.others(floor)}
    return next((r for r in _HARDEST if r in reasons), "square inside corner")


_HARDEST: tuple[HandReason, ...] = ("dovetail", "undercut wall")


def _floor(waste: Waste) -> str:
    """The surface that the others stand on: over which none hangs far, and to which they are the most square."""

    def askew(floor: str) -> tuple[int, float, str]:
        leans = [waste.lean(w, floor) for w in waste.others(floor)]
        return sum(c < -0.5 for c in leans), round(math.fsum(abs(c) for c in leans), 6), floor

    return min(waste.planes, key=askew)


def _narrow(waste: Waste) -> bool:
    """Whether no blade of the shop goes in between its walls."""
    kerfs = [m.kerf for m in waste.job.shop.machines if m.kerf is not None and m.machine != "bandsaw"]
    ids = list(waste.planes)
    widths = [w for i, a in enumerate(ids) for b in ids[i + 1 :] if (w := waste.between(a, b)) is not None]
    return bool(widths) and min(widths) < min(kerfs, default=0.0)


def _hands_together(setups: Sequence[Setup]) -> list[Setup]:
    """Hand work for one reason that follows on itself is one task."""
    joined: list[Setup] = []
    for setup in setups:
        last = joined[-1] if joined else None
        if last is not None and setup.by_hand is not None and last.by_hand == setup.by_hand:
            frees = tuple(dict.fromkeys((*last.frees, *setup.frees)))
            joined[-1] = replace(last, makes=(*last.makes, *setup.makes), frees=frees)
        else:
            joined.append(setup)
    return joined


def by_hand(work: Work, feature: Feature, reason: HandReason) -> Setup:
    """The whole feature with saw and chisel to drawn lines."""
    return Setup(
        member=work.member.mark,
        feature=feature.id,
        stage=feature.stage,
        operation="by hand",
        machine="hand",
        makes=tuple(s.id for s in feature.surfaces),
        frees=feature.cutters,
        by_hand=reason,
    )
