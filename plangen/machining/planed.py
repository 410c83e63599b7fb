"""Bevels and chamfers along the grain, planed at the jointer with its fence leaning.

The work runs along the fence on its way over the cutters, which stand level with the table: the fence leans, the cut
does not. So a set-up has a miter and a bevel of 90 degrees, the blade's normal downward, and its tilt is the fence's.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from plangen.geometry.seats import extent
from plangen.geometry.surfaces import Plane, Surface
from plangen.geometry.vectors import dot
from plangen.joinery.model import Feature
from plangen.machining.lying import Lying, lyings
from plangen.machining.posture import LEVEL, tilted
from plangen.machining.setup import Setup, Tilt, Tool, Way
from plangen.machining.stops import planed_stop
from plangen.machining.work import Work
from plangen.tables.machines import Reach, Shop

_LEVEL_CUT = math.pi / 2
_MOST_PASSES = 5
"""More is sawn off first (common practice)."""
_LEANING, _OUTWARD, _PASS, _SHORT = 0.3, 0.4, 0.06, 1.0
"""What it costs beside a plain cut: the fence set to an angle; leaning out, so that nothing holds the work down in the
corner (common practice: it leans in); each pass; a piece shorter than the machine holds safely."""
_DONE_AT_ONCE = ("square", "shaped")


@dataclass(frozen=True)
class _Planing:
    lying: Lying
    lean: float
    """Radians that the fence leans in over the table; negative: out."""
    passes: int
    each: float
    """Depth of one pass, mm."""
    cost: float


def planed(work: Work, feature: Feature, surface: Surface, shop: Shop) -> list[Way]:
    """Ways to plane an edge to a plane that runs along the grain, cheapest first; none that the jointer does not reach.

    End grain and frames, whose corners are end grain, are left to other tools.
    """
    reach, plane = shop.reach("jointer"), surface.form
    assert isinstance(plane, Plane)
    if reach is None or feature.stage not in _DONE_AT_ONCE or abs(plane.normal[0]) > LEVEL:
        return []
    if not work.section(plane):
        return []
    found = [p for lying in lyings(work) if (p := _planing(work, lying, plane, reach)) is not None]
    found.sort(key=lambda p: (round(p.cost, 6), p.lying.down, p.lying.against))
    return [Way((_setup(work, feature, surface, p),), p.cost) for p in found]


def _planing(work: Work, lying: Lying, plane: Plane, reach: Reach) -> _Planing | None:
    """The work so lying, along the fence and square to it; None where the machine does not make the plane."""
    planes, posture = work.planes(), lying.posture
    if (
        abs(posture.x[0]) < 1.0 - LEVEL
        or abs(dot(planes[lying.down].normal, planes[lying.against].normal)) > LEVEL
    ):
        return None
    _, out, up = posture.to_machine(plane.normal)
    if up > -LEVEL:
        return None
    lean = -math.atan2(out, -up)
    lean = 0.0 if abs(lean) < LEVEL else lean
    most = math.radians((reach.bevel_left if lean > 0.0 else reach.bevel_right) or 0.0)
    across = tilted(posture, _tilt(lean)).y if lean else posture.y
    inside = [dot(p, across) for p in work.section(plane)]
    deep = extent(work.solid, plane.normal)[1] - plane.offset
    if abs(lean) > most + 1e-9 or max(inside) - min(inside) > (reach.width or math.inf) + 1e-6:
        return None
    passes = max(1, math.ceil(deep / (reach.height or math.inf) - 1e-6))
    if passes > _MOST_PASSES:
        return None
    cost = 1.0 + lying.cost + _PASS * passes + (_LEANING if lean else 0.0) + (_OUTWARD if lean < 0.0 else 0.0)
    cost += _SHORT if lying.contact < (reach.shortest or 0.0) else 0.0
    return _Planing(lying, lean, passes, deep / passes, cost)


def _tilt(lean: float) -> Tilt:
    return Tilt(abs(lean), 0.0 if lean > 0.0 else math.pi)


def _setup(work: Work, feature: Feature, surface: Surface, planing: _Planing) -> Setup:
    lying = planing.lying
    assert isinstance(surface.form, Plane)
    return Setup(
        member=work.member.mark,
        feature=feature.id,
        stage=feature.stage,
        operation="plane",
        machine="jointer",
        makes=(surface.id,),
        frees=tuple(c for c in feature.cutters if c == (surface.id,)),
        tool=Tool("head"),
        cut_from="below",
        surface_down=lying.down,
        surface_against=lying.against,
        end_left=lying.end_left,
        miter=_LEVEL_CUT,
        bevel=_LEVEL_CUT,
        tilt=_tilt(planing.lean) if planing.lean else None,
        stop=planed_stop(work, lying, surface.form),
        waste="right",
        passes=planing.passes,
        pass_depth=planing.each,
    )
