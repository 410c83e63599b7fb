"""What an order of cuts spares: jigs not needed, cuts not left to hand tools, offcuts that are the wedge already."""

from __future__ import annotations

import math
from collections.abc import Sequence

from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import angle_between, dot, neg
from plangen.joinery.model import Feature
from plangen.joinery.stages import STAGES
from plangen.machining.order import Binding, CutOrder, Trials
from plangen.machining.posture import lying
from plangen.machining.setup import Setup, Spared, Way

SAME_ANGLE = math.radians(0.05)
"""An offcut this near to the wedge's angle is the wedge: half of the tenth of a degree to which angles are printed."""

_STILL = {
    "wedge": "still lies flat, no wedge",
    "taper carrier": "still runs straight along the fence, no taper carrier",
    "angle block": "still lies flat, no angle block",
    "fence strip": "still lies flat, no fence strip",
    "cradle": "still has a flat to lie on, no cradle",
    "bending form": "is still straight, no bending form",
    "by hand": "can still be cut on a machine, not by hand",
}


def spared_by_order(trials: Trials, order: CutOrder) -> tuple[Spared, ...]:
    """Jigs and hand cuts that a feature would need if others were cut first, one record a feature and need."""
    found: list[Spared] = []
    for step in order.steps:
        feature, has = step.feature, _needs(step.way)
        bound = {b.later for b in order.bindings if b.earlier == feature.id and math.isfinite(b.saves)}
        later = [s.feature.id for s in order.steps if s.feature.id in bound]
        for first, after in [(i, [i]) for i in later] + [(i, later) for i in later[:1]]:
            for need in _needs(_way_after(trials, feature, after)):
                if need not in has:
                    has = (*has, need)
                    text = f"{feature.id} before {first}: the {trials.member.name} {_STILL[need]}"
                    found.append(Spared(trials.member.mark, feature.id, first, text))
    return tuple(found)


def _way_after(trials: Trials, feature: Feature, others: Sequence[str]) -> Way | None:
    earlier = STAGES.index(feature.stage)
    done = {f.id for f in trials.member.features if STAGES.index(f.stage) < earlier}
    return trials.best(feature, {*done, *others})


def _needs(way: Way | None) -> tuple[str, ...]:
    """Kinds of jig, and ``by hand``, in the order in which a way comes to them."""
    if way is None:
        return ()
    needs = [s.jig if s.by_hand is None else "by hand" for s in way.setups]
    return tuple(dict.fromkeys(n for n in needs if n in _STILL))


def spared_by_offcuts(trials: Trials, order: CutOrder) -> tuple[tuple[Spared, ...], tuple[Binding, ...]]:
    """Wedges that an offcut of the same member is, and what must be cut earlier for it.

    An offcut of one plane is a wedge between that plane and the face of the blank that it takes away.
    """
    place = {s.feature.id: n for n, s in enumerate(order.steps)}
    texts, bindings = [], []
    for step in order.steps:
        for setup in step.way.setups if step.way else ():
            if setup.jig != "wedge" or setup.tilt is None:
                continue
            for other in order.steps:
                if place[other.feature.id] >= place[step.feature.id]:
                    break
                text = _serves(trials, other.feature, setup)
                if text:
                    texts.append(Spared(trials.member.mark, step.feature.id, other.feature.id, text))
                    bindings.append(Binding(other.feature.id, step.feature.id, math.inf))
                    break
    return tuple(texts), tuple(bindings)


def _serves(trials: Trials, other: Feature, setup: Setup) -> str:
    """In words how the waste of ``other`` is the wedge of the set-up; empty where it is none."""
    if setup.tilt is None or len(other.surfaces) != 1 or not isinstance(other.surfaces[0].form, Plane):
        return ""
    cut = other.surfaces[0]
    assert isinstance(cut.form, Plane)
    planes = {**trials.member.blank.planes(), cut.id: cut.form}
    faces = [p for p in _long_faces(trials) if 0.0 < angle_between(p.normal, cut.form.normal) < math.pi / 4]
    angles = [angle_between(p.normal, cut.form.normal) for p in faces]
    if not any(abs(a - setup.tilt.angle) < SAME_ANGLE for a in angles):
        return ""
    keep = f"keep the offcut of {other.id}: it is the wedge for {setup.feature}"
    if setup.surface_down == cut.id and setup.surface_against in planes:
        down = neg(lying(cut.form, planes[setup.surface_against], setup.tilt).z)
        if any(dot(down, p.normal) > 1.0 - 1e-9 for p in faces):
            return f"{keep}, laid back in its place"
    return f"{keep}, turned to rise the way the set-up says"


def _long_faces(trials: Trials) -> Sequence[Plane]:
    """The blank's faces that run along it: an end's offcut is too short to lie on."""
    return [p for name, p in trials.member.blank.planes().items() if name not in ("A", "B")]
