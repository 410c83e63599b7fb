"""Stretches of a profile at the lathe, round and taper tenons among them; and what is bought round."""

from __future__ import annotations

import math
from dataclasses import replace

from plangen.geometry.crossings import reach_of
from plangen.geometry.surfaces import Box, Cone, Cylinder, Form, Plane
from plangen.geometry.vectors import Point, Vec, along, cross, dot, neg, sub
from plangen.joinery.model import Feature, Member
from plangen.machining.setup import Setup, Way
from plangen.machining.work import Work, distance_along
from plangen.tables.machines import Reach, Shop

_LEAST_STRETCH = 1.0
_ALONG_GRAIN = 0.7
"""Cosine: work is turned between centres in its ends."""
_ACROSS = 0.5
"""Cosine: a shoulder lies across the axis."""
_SQUARE = 1e-9
_TURNING = 0.6
"""What a stretch costs: the work stays between its centres for the next."""


def turned(work: Work, feature: Feature, cutter: dict[str, Form], shop: Shop) -> tuple[Way, ...]:
    """The way to turn one stretch: a round surface of which the wood is inside, parted by planes square to its axis.

    A shoulder that slopes to the axis, or is hollow (of a tenon that enters a leaning face, a round post) is cut by
    hand. None where the axis does not run through the work along its grain.
    """
    rounds = {i: f for i, f in cutter.items() if isinstance(f, Cylinder | Cone) and f.side == "post"}
    if len(rounds) != 1:
        return ()
    ((name, form),) = rounds.items()
    if abs(form.axis[0]) < _ALONG_GRAIN or not _runs_inside(form, work.member.blank):
        return ()
    planes = {i: f for i, f in cutter.items() if isinstance(f, Plane)}
    square = {i: p for i, p in planes.items() if _is_square(p, form.axis)}
    scribed = tuple(i for i in cutter if i != name and i not in square)
    if any(abs(dot(planes[i].normal, form.axis)) < _ACROSS for i in scribed if i in planes):
        return ()
    lows = [i for i in square if dot(square[i].normal, form.axis) > 0.0]
    highs = [i for i in square if i not in lows]
    if len(lows) > 1 or len(highs) > 1:
        return ()
    base = Setup(work.member.mark, feature.id, feature.stage, "turn", "lathe", (), feature.cutters)
    setups = [_stretch(base, work.member, name, form, square, lows, highs)]
    if scribed:
        setups.append(
            Setup(
                work.member.mark, feature.id, feature.stage, "by hand", "hand", scribed, feature.cutters,
                by_hand="scribed shoulder",
            )
        )  # fmt: skip
    if is_bought_round(work.member, form) and not planes:
        return (Way((_as_bought(setups[0]),), 0.0),)
    beyond = _beyond(work.member, form, shop.reach("lathe"))
    return (Way(tuple(setups), _TURNING + 2.0 * len(scribed), beyond),)


def is_bought_round(member: Member, form: Cylinder | Cone) -> bool:
    """The round surface is that of the bar or dowel the member is bought as."""
    if not isinstance(form, Cylinder) or (member.role != "bought" and member.stock.kind != "round"):
        return False
    return abs(2 * form.radius - min(member.blank.size[1:])) < 1e-6


def _as_bought(setup: Setup) -> Setup:
    return replace(setup, passes=0, residue_note="bought round: nothing is turned")


def _is_square(plane: Plane, axis: Vec) -> bool:
    off = cross(plane.normal, axis)
    return dot(off, off) < _SQUARE * _SQUARE


def _runs_inside(form: Cylinder | Cone, blank: Box) -> bool:
    """The axis passes through the blank's wood, not beside it."""
    middle = along(blank.origin, blank.size, 0.5)
    nearest = along(form.point, form.axis, dot(sub(middle, form.point), form.axis))
    return all(p.distance(nearest) < -_SQUARE for p in blank.planes().values())


def _stretch(
    base: Setup,
    member: Member,
    name: str,
    form: Cylinder | Cone,
    planes: dict[str, Plane],
    lows: list[str],
    highs: list[str],
) -> Setup:
    """The set-up; its path starts at the plane where there is one."""
    way, first, last = form.axis, lows, highs
    if highs and not lows:
        way, first, last = neg(form.axis), highs, []
    low, high = _with_wood(member, form, way)
    start = _at(form.point, way, planes[first[0]]) if first else low
    end = _at(form.point, way, planes[last[0]]) if last else max(high, start + _LEAST_STRETCH)
    return replace(
        base,
        makes=(name, *first, *last),
        path=(along(form.point, way, start), along(form.point, way, end)),
        profile=tuple((at - start, 2 * _radius(form, along(form.point, way, at))) for at in (start, end)),
    )


def _extent(blank: Box, point: Point, way: Vec) -> tuple[float, float]:
    reach = [
        dot(sub((x, y, z), point), way)
        for x in (blank.origin[0], blank.most[0])
        for y in (blank.origin[1], blank.most[1])
        for z in (blank.origin[2], blank.most[2])
    ]
    return min(reach), max(reach)


def _at(point: Point, way: Vec, plane: Plane) -> float:
    found = distance_along(point, way, plane)
    assert found is not None
    return found


def _radius(form: Cylinder | Cone, p: Point) -> float:
    return form.radius if isinstance(form, Cylinder) else max(0.0, form.radius_at(p))


def _with_wood(member: Member, form: Cylinder | Cone, way: Vec) -> tuple[float, float]:
    """Where the finished member has the surface, along its axis; the blank's ends where nothing is left of it."""
    known = reach_of(member.solid, form, way)
    shift = dot(form.point, way)
    low, high = (
        _extent(member.blank, form.point, way) if known is None else (known[0] - shift, known[1] - shift)
    )
    if isinstance(form, Cone):
        tip = dot(sub(form.tip, form.point), way)
        low, high = (low, min(high, tip)) if dot(form.axis, way) * form.slope < 0.0 else (max(low, tip), high)
    return low, high


def _beyond(member: Member, form: Cylinder | Cone, reach: Reach | None) -> tuple[str, ...]:
    if reach is None:
        return ("no lathe",)
    found = []
    low, high = _extent(member.blank, form.point, form.axis)
    if reach.height is not None and high - low > reach.height:
        found.append(f"the lathe takes {reach.height:.6g} mm between its centres")
    wide = math.hypot(*member.blank.size[1:])
    if reach.width is not None and wide > reach.width:
        found.append(f"the lathe swings {reach.width:.6g} mm")
    return tuple(found)
