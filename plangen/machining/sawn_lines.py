"""Curves: sawn to a line at the bandsaw; openings and pockets routed to a template.

The walls of both stand square to the table, so the work lies flat; where the walls slope to the face the bandsaw's
table tilts, or the work leans under the router.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from plangen.geometry.curves import Arc, Bezier, Curve, EllipseArc, Line, Vec2
from plangen.geometry.patches import end_direction, frame_about, is_closed
from plangen.geometry.seats import extent
from plangen.geometry.surfaces import Box, Cylinder, Extruded, Form, Plane
from plangen.geometry.vectors import Point, Vec, along, cross, dot, neg, sub, unit
from plangen.joinery.model import Feature
from plangen.machining.bores import is_outside
from plangen.machining.holding import Hold, upright
from plangen.machining.setup import HandReason, Setup, Tool, Way
from plangen.machining.work import Work, distance_along
from plangen.tables.machines import Reach, Shop

_SQUARE = 1e-9
_SAWING, _ROUTING = 1.0, 1.6
_BY_HAND = 6.0
_SHARP = math.radians(1)
"""An outline that turns by more than this at a point has a corner there."""


def sawn(work: Work, feature: Feature, cutter: dict[str, Form], shop: Shop) -> tuple[Way, ...]:
    """Ways to saw or rout walls that all run one way, with or without a floor square to them. None for other shapes.

    Each wall is one set-up, in the same position: the floor is made with the first.
    """
    walls, floor = _parts(cutter)
    if not walls:
        return ()
    axis = _axis_of(next(f for f in walls.values() if not isinstance(f, Plane)))
    ups = (floor[1].normal,) if floor is not None else (axis, neg(axis))
    inside = floor is not None or any(_is_opening(f, work.member.blank) for f in walls.values())
    machine = shop.reach("router" if inside else "bandsaw")
    found = []
    for up in ups:
        hold = upright(work, up, machine)
        if hold is not None:
            found.append((round(hold.cost, 6), hold, up))
    if not found:
        return ()
    _, hold, up = min(found, key=lambda x: x[0])
    setups = _setups(work, feature, walls, floor, hold, up, inside, machine)
    high = _height(work, up) if floor is None else max(s.depth[1] for s in setups if s.depth)
    beyond = _beyond(inside, machine, high)
    cost = (_ROUTING if inside else _SAWING) * len(setups) + hold.cost
    return (Way(tuple(setups), cost, beyond),)


def by_hand(work: Work, feature: Feature, makes: tuple[str, ...], reason: HandReason) -> Way:
    """Surfaces left to hand tools."""
    setup = Setup(
        work.member.mark, feature.id, feature.stage, "by hand", "hand", makes, feature.cutters, by_hand=reason
    )
    return Way((setup,), _BY_HAND)


def _parts(cutter: dict[str, Form]) -> tuple[dict[str, Form], tuple[str, Plane] | None]:
    """The walls that run along one axis, and the floor square to it; no walls where that is not what they are."""
    free = {i: f for i, f in cutter.items() if isinstance(f, Cylinder | Extruded)}
    if not free or any(not isinstance(f, Cylinder | Extruded | Plane) for f in cutter.values()):
        return {}, None
    axis = _axis_of(next(iter(free.values())))
    walls: dict[str, Form] = {}
    floors: list[tuple[str, Plane]] = []
    for name, form in cutter.items():
        if isinstance(form, Plane):
            lean = dot(form.normal, axis)
            if abs(lean) < _SQUARE:
                walls[name] = form
            elif abs(lean) > 1.0 - 1e-12:
                floors.append((name, form))
            else:
                return {}, None
        elif _parallel(_axis_of(form), axis):
            walls[name] = form
        else:
            return {}, None
    if len(floors) > 1:
        return {}, None
    # the curve comes first, so that the floor is routed with it
    walls = dict(sorted(walls.items(), key=lambda named: isinstance(named[1], Plane)))
    return walls, floors[0] if floors else None


def _axis_of(form: Form) -> Vec:
    assert not isinstance(form, Plane)
    return form.axis


def _parallel(a: Vec, b: Vec) -> bool:
    off = cross(a, b)
    return dot(off, off) < _SQUARE * _SQUARE


def _is_opening(form: Form, blank: Box) -> bool:
    """Closed about what is taken out: no saw gets in from outside."""
    if isinstance(form, Cylinder):
        beside = [p for p in blank.planes().values() if abs(dot(p.normal, form.axis)) < 0.5]
        return form.side == "hole" and all(p.distance(form.point) < -form.radius for p in beside)
    return isinstance(form, Extruded) and is_closed(form) and _walked_area(form.outline) < 0.0


def _walked_area(outline: Sequence[Curve]) -> float:
    points = [c.at(i / 8) for c in outline for i in range(8)]
    return math.fsum(a[0] * b[1] - a[1] * b[0] for a, b in pairwise([*points, points[0]])) / 2


def _setups(
    work: Work,
    feature: Feature,
    walls: dict[str, Form],
    floor: tuple[str, Plane] | None,
    hold: Hold,
    up: Vec,
    inside: bool,
    machine: Reach | None,
) -> list[Setup]:
    lying = hold.lying
    top = _top(work, up)
    base = Setup(
        work.member.mark, feature.id, feature.stage, "rout to template" if inside else "saw to line",
        "router" if inside else "bandsaw", (), feature.cutters, cut_from="above",
        surface_down=lying.down, surface_against=lying.against, end_left=lying.end_left,
        tilt=hold.tilt, jig=hold.jig or ("wedge" if inside and hold.tilt is not None else None),
        tool=_tool(walls, inside, machine),
    )  # fmt: skip
    if floor is not None:
        at = _depths(work, floor[1], top)
        deep = [d for _, d in at]
        base = replace(base, depth=(min(deep), max(deep)), depth_from=top, depth_at=at)
    found: list[Setup] = []
    for name, form in walls.items():
        outline = _outline(work, form, up, top)
        makes = (name,) if floor is None or found else (name, floor[0])
        residue, note = _corners_left(outline.outline, base.tool) if inside else (0.0, "")
        found.append(
            replace(
                base, makes=makes, outline=outline.outline, outline_frame=(outline.origin, outline.u, outline.v),
                residue=residue, residue_note=note,
            )
        )  # fmt: skip
    return found


def _top(work: Work, up: Vec) -> str:
    """The plane that lies up, where a line is drawn or a depth measured."""
    planes = work.planes()
    there = [i for i in planes if dot(planes[i].normal, up) > 0.5 and is_outside(work, i)]
    blank = [i for i in work.member.blank.planes() if dot(planes[i].normal, up) > 0.5]
    return max(there or blank, key=lambda i: (round(dot(planes[i].normal, up), 6), i))


def _depths(work: Work, floor: Plane, top: str) -> tuple[tuple[Point, float], ...]:
    """The floor's corners seen square to the surface up, and how deep each lies."""
    plane = work.planes()[top]
    corners = work.bench.work(f.id for f in work.member.features).corners(floor) or (floor.point,)
    return tuple((along(p, plane.normal, -plane.distance(p)), -plane.distance(p)) for p in corners)


def _height(work: Work, up: Vec) -> float:
    low, high = extent(work.solid, up)
    return high - low


def _beyond(inside: bool, machine: Reach | None, high: float) -> tuple[str, ...]:
    if machine is None:
        return ("no router" if inside else "no bandsaw",)
    if machine.height is not None and high > machine.height + 1e-9:
        reaches = "router cuts" if inside else "bandsaw takes"
        return (f"the {reaches} {machine.height:.6g} mm",)
    return ()


def _tool(walls: dict[str, Form], inside: bool, machine: Reach | None) -> Tool:
    """The blade; or the widest straight bit that gets into every hollow of the outline."""
    if not inside:
        return Tool("blade", width=None if machine is None else machine.kerf)
    if machine is None or not machine.widths:
        return Tool("bit")
    hollow = min((_least_hollow(f) for f in walls.values()), default=math.inf)
    fits = [w for w in machine.widths if w / 2 <= hollow + 1e-9]
    return Tool("bit", width=max(fits, default=min(machine.widths)))


def _least_hollow(form: Form) -> float:
    """The least radius of an outline's hollow arcs: where the wood is outside them."""
    if isinstance(form, Cylinder):
        return form.radius if form.side == "hole" else math.inf
    if not isinstance(form, Extruded):
        return math.inf
    hollow = [c.radius for c in form.outline if isinstance(c, Arc) and c.last < c.first]
    return min(hollow, default=math.inf)


def _corners_left(outline: tuple[Curve, ...], tool: Tool | None) -> tuple[float, str]:
    """What a round bit leaves in the outline's sharp inside corners, measured from the corner."""
    if tool is None or tool.width is None:
        return 0.0, ""
    closed = math.dist(outline[0].start, outline[-1].end) < 1e-6
    most = 0.0
    for a, b in pairwise([*outline, outline[0]] if closed else outline):
        (ax, ay), (bx, by) = end_direction(a, 1.0), end_direction(b, 0.0)
        turn = math.atan2(ax * by - ay * bx, ax * bx + ay * by)
        # wood on the left: a turn to the right is a corner that the bit is shut in by
        if turn < -_SHARP:
            most = max(most, tool.width / 2 * (1.0 / math.cos(turn / 2) - 1.0))
    return most, "inside corners are left round, then squared with a chisel" if most else ""


# --- the line -----------------------------------------------------------------------------------------------


def _outline(work: Work, form: Form, up: Vec, top: str) -> Extruded:
    """The wall as an outline seen from above, its plane through the face that is up where that is square to it."""
    found = _as_extruded(work, form, up)
    if dot(found.axis, up) < 0.0:
        found = _turned_over(found)
    plane = work.planes()[top]
    if _parallel(plane.normal, found.axis):
        off = distance_along(found.origin, found.axis, plane)
        assert off is not None
        found = replace(found, origin=along(found.origin, found.axis, off))
    return found


def _as_extruded(work: Work, form: Form, up: Vec) -> Extruded:
    if isinstance(form, Extruded):
        return form
    low, high = work.member.blank.origin, work.member.blank.most
    corners = [(x, y, z) for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])]
    if isinstance(form, Plane):
        # walked with the wood on the left: its outward normal to the right
        way = unit(cross(up, form.normal))
        on = form.point
        reach = [dot(sub(p, on), way) for p in corners]
        return Extruded(on, way, cross(up, way), (Line((min(reach), 0.0), (max(reach), 0.0)),))
    assert isinstance(form, Cylinder)
    u, v = frame_about(up)
    flat = [(dot(sub(p, form.point), u), dot(sub(p, form.point), v)) for p in corners]
    return Extruded(form.point, u, v, _arcs(flat, form.radius, form.side == "post"))


def _arcs(corners: Sequence[Vec2], radius: float, post: bool) -> tuple[Curve, ...]:
    """The circle about the origin as far as it runs over the corners' rectangle; in two halves where it goes round."""
    angles = sorted(math.atan2(y, x) % (2 * math.pi) for x, y in corners)
    gaps = [(b - a, b) for a, b in pairwise([*angles, angles[0] + 2 * math.pi])]
    widest, first = max(gaps)
    span = 2 * math.pi - widest
    if widest < math.pi:
        # the axis runs through the rectangle: the circle goes all round
        halves = (Arc((0.0, 0.0), radius, 0.0, math.pi), Arc((0.0, 0.0), radius, math.pi, 2 * math.pi))
        return halves if post else tuple(a.reversed() for a in reversed(halves))
    arc = Arc((0.0, 0.0), radius, first, first + span)
    return (arc if post else arc.reversed(),)


def _turned_over(form: Extruded) -> Extruded:
    """The same walls told in a frame that is seen from the other side."""
    outline = tuple(_swapped(c).reversed() for c in reversed(form.outline))
    return Extruded(form.origin, form.v, form.u, outline)


def _swapped(curve: Curve) -> Curve:
    """A curve with its two coordinates changed over."""
    if isinstance(curve, Line):
        return Line(curve.start[::-1], curve.end[::-1])
    if isinstance(curve, Arc):
        quarter = math.pi / 2
        return Arc(curve.centre[::-1], curve.radius, quarter - curve.first, quarter - curve.last)
    if isinstance(curve, EllipseArc):
        return EllipseArc(curve.centre[::-1], curve.major[::-1], curve.minor[::-1], curve.first, curve.last)
    return Bezier(tuple(p[::-1] for p in curve.points))
