"""What an order of cuts spares: jigs not needed, cuts not left to hand tools, offcuts that are the wedge already."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Point, angle_between, dot, neg
from plangen.joinery.model import Feature
from plangen.joinery.stages import STAGES
from plangen.machining.order import Binding, CutOrder, Step, Trials
from plangen.machining.posture import lying
from plangen.machining.setup import Machine, Offcut, Setup, Spared, Way
from plangen.machining.work import Work, meeting_line

SAME_ANGLE = math.radians(0.05)
"""An offcut this near to the wedge's angle is the wedge: half of the tenth of a degree to which angles are printed."""
_LEAVES_CHIPS: tuple[Machine, ...] = ("jointer", "router")
_PAST_THE_MIDDLE = 0.6
"""Of what lies on a wedge, that it must reach under (common practice)."""
_BROAD = 40.0
"""Millimetres: as broad as the boards that wedges are made of."""
_ON = 1e-6

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
                found = _serves(trials, other, setup, step.seen)
                if found is not None:
                    text, offcut = found
                    texts.append(Spared(trials.member.mark, step.feature.id, other.feature.id, text, offcut))
                    bindings.append(Binding(other.feature.id, step.feature.id, math.inf))
                    break
    return tuple(texts), tuple(bindings)


def _serves(trials: Trials, other: Step, setup: Setup, seen: Iterable[str]) -> tuple[str, Offcut] | None:
    """In words how the waste of ``other`` is the wedge of the set-up, for work of which ``seen`` is cut, and that
    wedge; None where it is none, or too small for the work to lie on."""
    feature = other.feature
    if setup.tilt is None or len(feature.surfaces) != 1 or not isinstance(feature.surfaces[0].form, Plane):
        return None
    cut = feature.surfaces[0]
    assert isinstance(cut.form, Plane)
    angles = {name: angle_between(p.normal, cut.form.normal) for name, p in _long_faces(trials).items()}
    near = [name for name, angle in angles.items() if abs(angle - setup.tilt.angle) < SAME_ANGLE]
    offcut = _offcut(trials, other, cut.form, near[0]) if near else None
    if offcut is None or not _bears(trials.bench.work(seen), setup, offcut):
        return None
    keep = f"keep the offcut of {feature.id}: it is the wedge for {setup.feature}"
    planes = {**trials.member.blank.planes(), cut.id: cut.form}
    if setup.surface_down == cut.id and setup.surface_against in planes:
        down = neg(lying(cut.form, planes[setup.surface_against], setup.tilt).z)
        if any(dot(down, planes[name].normal) > 1.0 - 1e-9 for name in near):
            return f"{keep}, laid back in its place", offcut
    return f"{keep}, turned to rise the way the set-up says", offcut


def _offcut(trials: Trials, step: Step, cut: Plane, face: str) -> Offcut | None:
    """What falls between a cut and a face of the blank, less the kerf; None where what is cut leaves chips alone."""
    setups = step.way.setups if step.way else ()
    if len(setups) != 1 or setups[0].machine in _LEAVES_CHIPS:
        return None
    plane, work = trials.member.blank.planes()[face], trials.bench.work(step.seen)
    off = [p for p in (*work.corners(plane), *_on_both(work, plane, cut)) if cut.distance(p) > -_ON]
    line = meeting_line(plane, cut)
    if not off or line is None:
        return None
    angle = angle_between(plane.normal, cut.normal)
    tool = setups[0].tool
    kerf = 0.0 if tool is None or tool.width is None else tool.width
    thick = [cut.distance(p) for p in off]
    along = [dot(p, line[1]) for p in off]
    return Offcut(angle, (max(thick) - max(min(thick), kerf)) / math.sin(angle), max(along) - min(along))


def _on_both(work: Work, plane: Plane, cut: Plane) -> list[Point]:
    return [p for p in work.section(cut) if abs(plane.distance(p)) < _ON]


def _bears(work: Work, setup: Setup, offcut: Offcut) -> bool:
    """The offcut reaches well past the middle of what lies on it, and is as broad as a board on edge."""
    planes, tilt = work.planes(), setup.tilt
    if tilt is None or setup.surface_down not in planes or setup.surface_against not in planes:
        return False
    down = planes[setup.surface_down]
    flat = lying(down, planes[setup.surface_against])
    c, s = math.cos(tilt.azimuth), math.sin(tilt.azimuth)
    seat = [flat.to_machine(p) for p in work.corners(down)]
    rises, along = [p[1] * c - p[0] * s for p in seat], [p[0] * c + p[1] * s for p in seat]
    if not seat:
        return False
    broad = min(_BROAD, max(along) - min(along))
    return offcut.length >= _PAST_THE_MIDDLE * (max(rises) - min(rises)) and offcut.width >= broad - _ON


def _long_faces(trials: Trials) -> dict[str, Plane]:
    """The blank's faces that run along it: an end's offcut is too short to lie on."""
    return {name: p for name, p in trials.member.blank.planes().items() if name not in ("A", "B")}
