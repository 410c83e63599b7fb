"""Cuts right through the work, one plane each: crosscuts, rips, tapers, planed edges."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from plangen.geometry.surfaces import Plane, Surface
from plangen.geometry.vectors import Vec
from plangen.joinery.model import Feature
from plangen.machining.lying import Lying, lyings
from plangen.machining.planed import planed
from plangen.machining.posture import LEVEL, blade_angles
from plangen.machining.setup import Machine, Operation, Setup, Tool, Way
from plangen.machining.stops import crosscut_stop, faces_marked, long_or_short, rip_stop
from plangen.machining.work import Work
from plangen.tables.machines import Reach, Shop

_SQUARE = math.pi / 2
_CARRIER_FROM = math.radians(45.0)
_HANDY = 900.0
"""Millimetres: a longer piece is not pushed across a table saw."""
BEYOND = 20.0
"""What each fault of reach adds to the cost of a way, so that it is taken only where there is no other."""
_STEADY = 0.4
"""Least part of its depth, away from the fence, that the work touches the fence along."""
_KEPT = 4
"""Ways that are offered."""
_EDGES = ("edge", "back edge")


@dataclass(frozen=True)
class Angled:
    """The blade for a plane with the work lying: the angles as set, and on which side the waste is."""

    operation: Operation
    machine: Machine
    miter: float
    bevel: float
    waste_right: bool
    toward_fence: bool = False
    """The blade leans over the work toward the fence."""


def through_cuts(work: Work, feature: Feature, surface: Surface, shop: Shop, kept: int = _KEPT) -> list[Way]:
    """Ways to cut the work right through on one plane; those beyond the shop's reach only where no others are."""
    assert isinstance(surface.form, Plane)
    found = []
    points = work.section(surface.form)
    for lying in lyings(work):
        inside = tuple(map(lying.posture.to_machine, points))
        for angled in _angled(lying, surface.form, shop):
            on_assembly = feature.stage in ("glued", "assembled")
            if on_assembly and angled.operation == "crosscut" and angled.machine == "mitre saw":
                continue
            cost, faults = _cost(lying, angled, inside, shop.machine(angled.machine))
            found.append(_Found(lying, angled, cost, tuple(faults)))
    within = [f for f in found if not f.faults]
    by_jointer = planed(work, feature, surface, shop)[:kept]
    best = sorted(within or ([] if by_jointer else found), key=_Found.rank)
    sawn = [_way(work, feature, surface, f, _alternative(f, within), shop) for f in best[:kept]]
    return sorted([*sawn, *by_jointer], key=lambda w: round(w.cost, 6))[:kept]


@dataclass(frozen=True)
class _Found:
    lying: Lying
    angled: Angled
    cost: float
    faults: tuple[str, ...]

    def rank(self) -> tuple[float, str, str, str]:
        cost = round(self.cost + BEYOND * len(self.faults), 6)
        return cost, self.angled.machine, self.lying.down, self.lying.against


def _angled(lying: Lying, plane: Plane, shop: Shop) -> Iterator[Angled]:
    """The machines whose kind of cut this is, with the work so lying; their reach is judged afterwards."""
    blade = blade_angles(lying.posture, plane.normal)
    along_fence = _SQUARE - abs(blade.miter) < LEVEL
    if not along_fence:
        for machine in ("mitre saw", "table saw"):
            if shop.reach(machine) is not None and not lying.on_end:
                yield Angled("crosscut", machine, blade.miter, blade.bevel, blade.waste_right)
    if shop.reach("table saw") is not None and (along_fence or abs(blade.miter) > _CARRIER_FROM):
        operation: Operation = "rip" if along_fence else "taper"
        yield from _along(lying, plane, shop.machine("table saw"), operation)
    if shop.reach("bandsaw") is not None and along_fence:
        yield from _along(lying, plane, shop.machine("bandsaw"), "rip")


def _along(lying: Lying, plane: Plane, saw: Reach, operation: Operation) -> Iterator[Angled]:
    """A rip or taper, the work between blade and fence and the waste away from the fence, never trapped."""
    out = lying.posture.to_machine(plane.normal)
    if out[1] > -LEVEL:
        return
    inward = (-out[0], -out[1], -out[2])
    name: Machine = "bandsaw" if saw.machine == "bandsaw" else "table saw"
    miter, bevel = math.atan2(inward[1], inward[0]), math.asin(max(-1.0, min(1.0, -inward[2])))
    miter = _SQUARE if abs(miter - _SQUARE) < LEVEL else miter
    bevel = 0.0 if abs(bevel) < LEVEL else bevel
    if bevel_fault(saw, bevel) is None or bevel_fault(saw, -bevel) is not None:
        yield Angled(operation, name, miter, bevel, False, name == "table saw" and bevel > 0.0)
    else:
        # the fence on the other side of the blade, which then leans toward it
        yield Angled(operation, name, miter - math.pi, -bevel, True, name == "table saw")


def _cost(lying: Lying, angled: Angled, inside: tuple[Vec, ...], reach: Reach) -> tuple[float, list[str]]:
    faults = [
        f
        for f in (
            bevel_fault(reach, angled.bevel),
            _height_fault(reach, angled.bevel, lying, inside),
            _miter_fault(reach, angled),
            _width_fault(reach, angled, lying, inside),
        )
        if f is not None
    ]
    cost = 1.0 + lying.cost + (1.0 if angled.toward_fence else 0.0)
    cost += 0.3 if abs(angled.bevel) > LEVEL else 0.0
    length = lying.size[0]
    if angled.operation == "crosscut":
        cost += 0.2 if abs(angled.miter) > LEVEL else 0.0
        if angled.machine == "table saw":
            cost += 0.15 + max(0.0, (length - _HANDY) / 300.0)
    elif angled.machine == "bandsaw":
        cost += 0.8
    elif angled.operation == "taper":
        cost += 1.4 + abs(abs(angled.miter) - _SQUARE)
    if reach.shortest is not None:
        held = length if angled.operation == "crosscut" else lying.contact
        cost += 1.0 if held < reach.shortest else 0.0
    return cost, faults


def bevel_fault(reach: Reach, bevel: float) -> str | None:
    most = reach.bevel_right if bevel > 0.0 else reach.bevel_left
    most = reach.tilt if reach.machine == "bandsaw" else most
    wanted = abs(math.degrees(bevel))
    if most is None or wanted < most + 1e-6:
        return None
    side = "right" if bevel > 0.0 else "left"
    return f"the {reach.machine} leans {most:g} degrees to the {side} and this cut needs {wanted:.1f}"


def _miter_fault(reach: Reach, angled: Angled) -> str | None:
    wanted = abs(math.degrees(angled.miter))
    if angled.operation != "crosscut" or reach.miter is None or wanted < reach.miter + 1e-6:
        return None
    return f"the {reach.machine} turns {reach.miter:g} degrees and this cut needs {wanted:.1f}"


def height_at(reach: Reach, bevel: float) -> float | None:
    """Deepest cut, mm, of a blade that leans by ``bevel``: between the two that the shop states."""
    if reach.height is None:
        return None
    leaning = abs(math.degrees(bevel)) / 45.0
    return reach.height + ((reach.height_at_45 or reach.height) - reach.height) * leaning


def _height_fault(reach: Reach, bevel: float, lying: Lying, inside: tuple[Vec, ...]) -> str | None:
    most = height_at(reach, bevel)
    if most is None or not inside:
        return None
    wanted = max(p[2] for p in inside) - lying.low[2]
    if wanted < most + 1e-6:
        return None
    return f"the {reach.machine} cuts {most:.0f} mm high at this bevel and the work stands {wanted:.0f} mm"


def _width_fault(reach: Reach, angled: Angled, lying: Lying, inside: tuple[Vec, ...]) -> str | None:
    if not inside:
        return None
    from_fence = lying.high[1] - min(p[1] for p in inside)
    if angled.operation == "crosscut" and lying.contact < _STEADY * lying.size[1]:
        return f"the work touches the fence for {lying.contact:.0f} mm only and would turn"
    if angled.operation == "crosscut":
        wanted = from_fence / max(math.cos(angled.miter), 1e-3)
    else:
        wanted = from_fence
        if angled.operation == "rip" and lying.contact < min(150.0, wanted):
            return f"the work touches the fence for {lying.contact:.0f} mm only and would turn"
    if reach.width is None or wanted < reach.width + 1e-6:
        return None
    return f"the {reach.machine} cuts {reach.width:.0f} mm wide and this cut is {wanted:.0f} mm"


def _alternative(found: _Found, within: list[_Found]) -> tuple[float, float] | None:
    """Angles of the same crosscut with the work on edge (or flat, where it stands on edge)."""
    if found.angled.operation != "crosscut" or min(abs(found.angled.miter), abs(found.angled.bevel)) < LEVEL:
        return None
    other = [
        f
        for f in sorted(within, key=_Found.rank)
        if f.angled.operation == "crosscut" and (f.lying.down in _EDGES) != (found.lying.down in _EDGES)
    ]
    return (other[0].angled.miter, other[0].angled.bevel) if other else None


def _way(
    work: Work,
    feature: Feature,
    surface: Surface,
    found: _Found,
    alternative: tuple[float, float] | None,
    shop: Shop,
) -> Way:
    lying, angled = found.lying, found.angled
    assert isinstance(surface.form, Plane)
    reach = shop.machine(angled.machine)
    at = crosscut_stop if angled.operation == "crosscut" else rip_stop
    stop = at(work, lying, surface.form, faces_marked(work, lying))
    point = long_or_short(work, surface.form, stop) if angled.operation == "crosscut" else None
    stop = replace(stop, point=point, wall=None)
    setup = Setup(
        member=work.member.mark,
        feature=feature.id,
        stage=feature.stage,
        operation=angled.operation,
        machine=angled.machine,
        makes=(surface.id,),
        frees=tuple(c for c in feature.cutters if c == (surface.id,)),
        tool=Tool("blade", reach.kerf, reach.diameter),
        cut_from="above" if angled.machine == "mitre saw" else "below",
        surface_down=lying.down,
        surface_against=lying.against,
        end_left=lying.end_left,
        miter=angled.miter,
        bevel=angled.bevel,
        jig="taper carrier" if angled.operation == "taper" else lying.jig,
        stop=stop,
        waste="right" if angled.waste_right else "left",
        alternative=alternative,
    )
    return Way((setup,), found.cost + BEYOND * len(found.faults), found.faults)
