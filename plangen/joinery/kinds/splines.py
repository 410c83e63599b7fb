"""Splines across mitres: a slot in both members, square to the mitre, and the loose piece that fills the two.

The slot runs the long way of the mitre's face: along the corner in the edges of a box or barrel, from the inner to
the outer corner in a frame. The spline's grain runs across the joint; its ends are trimmed flush with the work once
it is glued.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from plangen.design import design as d
from plangen.findings import DesignError, fail
from plangen.geometry.frames import Frame
from plangen.geometry.region import ConvexRegion, convex_region
from plangen.geometry.surfaces import Box, Plane
from plangen.geometry.vectors import Point, Vec, add, cross, dot, neg, scale, unit
from plangen.joinery.advice import outside
from plangen.joinery.made import Made
from plangen.joinery.meeting import LEAST_AREA, Cut, Meeting, Placed
from plangen.joinery.sizing import Sizing
from plangen.placing.body import BOUND_MM, Body, Shaping, Standing
from plangen.tables.joint_rules import SPLINE_IN_EDGE, SPLINE_IN_FRAME, SPLINE_THICKNESS
from plangen.tables.stock import Stock

LEAST_WOOD = 0.1
"""Millimetres: less wood than this beside a slot is a sliver."""


@dataclass(frozen=True)
class Corner:
    """A mitred corner in the world, planes outward of the wood."""

    first: Placed
    second: Placed
    plane: Plane
    """The mitre, outward of the first."""
    lines: tuple[tuple[Plane, Plane], tuple[Plane, Plane]]
    """The two outer faces, then the two inner ones, the first's before the second's."""
    planes: tuple[tuple[Plane, ...], tuple[Plane, ...]]
    """All faces of the first, and of the second, that run past the corner."""


@dataclass(frozen=True)
class _Slot:
    """Where the spline lies: ``run`` along the slot, ``across`` through its thickness, both in the mitre."""

    run: Vec
    across: Vec
    middle: float
    """Of its thickness, along ``across``."""
    thickness: float
    width: float
    in_frame: bool


def made(meeting: Meeting, spec: d.Joint, sizing: Sizing, corner: Corner) -> Made:
    """Slots and spline; nothing where the entry states no ``spline``. Raises DesignError where a slot has no room."""
    thickness = sizing.length(spec.spline)
    if thickness is None:
        if spec.spline_width is not None:
            text = "a spline width needs a spline, its thickness"
            raise fail(spec.spline_width.place, "joint", text, corner.first.name, corner.second.name)
        return Made()
    slot = _slot(meeting, spec, sizing, corner, thickness)
    thin = min(corner.first.body.size[2], corner.second.body.size[2])
    names = (corner.first.name, corner.second.name)
    told = outside(SPLINE_THICKNESS, thickness / thin, "mitre: the spline's thickness", meeting.place, *names)
    rule = SPLINE_IN_FRAME if slot.in_frame else SPLINE_IN_EDGE
    told += outside(rule, slot.width / thin, "mitre: the spline's width", meeting.place, *names)
    cuts = tuple(_slotted(meeting, sizing, corner, slot, i) for i in (0, 1))
    return Made(cuts, (_spline(meeting, corner, slot),), findings=told)


def _slot(meeting: Meeting, spec: d.Joint, sizing: Sizing, corner: Corner, thickness: float) -> _Slot:
    (_, _), (inner_a, inner_b) = corner.lines
    along = unit(cross(inner_a.normal, inner_b.normal))
    normal = corner.plane.normal
    along = unit(add(along, scale(normal, -dot(along, normal))))
    square = unit(cross(normal, along))
    face = _face(meeting, corner)
    reach = {way: [dot(way, p) for p in face] for way in (along, square)}
    spans = {way: max(at) - min(at) for way, at in reach.items()}
    in_frame = spans[square] > spans[along]
    run, across = (square, along) if in_frame else (along, square)
    at = reach[across]
    thin = min(corner.first.body.size[2], corner.second.body.size[2])
    rule = SPLINE_IN_FRAME if in_frame else SPLINE_IN_EDGE
    width = sizing.or_rule(spec.spline_width, rule.usual * thin)
    return _Slot(run, across, (max(at) + min(at)) / 2, thickness, width, in_frame)


def _face(meeting: Meeting, corner: Corner) -> Sequence[Point]:
    """Corners of the face in which the two members meet in the mitre."""
    planes = [*corner.planes[0], *corner.planes[1]]
    region = convex_region([*planes, corner.plane], BOUND_MM)
    face = () if region is None else region.face(len(planes))
    if not face:
        raise _fails(meeting, "they do not meet in the mitre")
    return face


def _sides(slot: _Slot, room: float = 0.0) -> list[Plane]:
    """The two sides of the slot, outward of the spline."""
    half = slot.thickness / 2 + room
    return [Plane(slot.across, slot.middle + half), Plane(neg(slot.across), half - slot.middle)]


def _slotted(meeting: Meeting, sizing: Sizing, corner: Corner, slot: _Slot, which: int) -> Cut:
    """The slot in one of the two: the sides, and its bottom."""
    target = (corner.first, corner.second)[which]
    mitre = corner.plane if which == 0 else corner.plane.flipped()
    bottom = mitre.shifted(-slot.width / 2 - meeting.clearance)
    _check_room(meeting, sizing, corner, slot, which, mitre, bottom)
    forms = [bottom, *(s.flipped() for s in _sides(slot, meeting.clearance))]
    cut = meeting.cut(target, "groove", [[f.local_to(target.frame).squared() for f in forms]])
    return replace(cut, note="for a spline, square to the mitre")


def _check_room(
    meeting: Meeting, sizing: Sizing, corner: Corner, slot: _Slot, which: int, mitre: Plane, bottom: Plane
) -> None:
    """The slot must keep off every face but those that it runs out through."""
    sides = list(_sides(slot, meeting.clearance))
    (outer, inner), own = (pair[which] for pair in corner.lines), corner.planes[which]
    crossed = [p for p in own if (p in (outer, inner)) == slot.in_frame]
    region = convex_region([*crossed, *sides, mitre, bottom.flipped()], BOUND_MM)
    closed = [p for p in own if p not in crossed]
    vertices = () if region is None else region.vertices
    for plane in closed:
        left = min((-plane.distance(v) for v in vertices), default=0.0)
        if left < LEAST_WOOD:
            name = (corner.first, corner.second)[which].name
            raise _fails(
                meeting,
                f"the slot for a spline of {sizing.said(slot.thickness)} x {sizing.said(slot.width)} comes out "
                f'through a face of "{name}"; make the spline narrower',
            )


# --- the spline -------------------------------------------------------------------------------------------


def _spline(meeting: Meeting, corner: Corner, slot: _Slot) -> Placed:
    """The loose piece: l across the joint, along its grain; w along the slot."""
    l, t = corner.plane.normal, slot.across  # noqa: E741
    w = cross(t, l)
    body_planes = [
        Plane(l, corner.plane.offset + slot.width / 2),
        Plane(neg(l), slot.width / 2 - corner.plane.offset),
        *_sides(slot),
    ]
    trims, notch = _trims(corner, slot)
    reach = [dot(w, v) for region in _parts(corner, body_planes, trims, notch) for v in region.vertices]
    if not reach:
        raise _fails(meeting, "their shared face leaves no room for the spline")
    low, high = min(reach), max(reach)
    origin = add(
        add(scale(l, corner.plane.offset - slot.width / 2), scale(w, low)),
        scale(t, slot.middle - slot.thickness / 2),
    )
    frame = Frame(origin, l, w, t)
    box = Box((0.0, 0.0, 0.0), (slot.width, high - low, slot.thickness))
    name = f"spline, {corner.first.name} to {corner.second.name}"
    body = Body(
        "spline",
        "work",
        _stock(corner.first.body.stock, slot.thickness),
        box,
        _shapings(meeting, frame, box, trims, notch),
        (),
        (Standing(name, (), frame),),
        meeting.place,
        notes=("Grain across the joint; trim the ends flush with the work once it is glued.",),
    )
    return Placed(body, body.standings[0])


def _trims(corner: Corner, slot: _Slot) -> tuple[list[Plane], tuple[Plane, Plane] | None]:
    """The faces of the work that cut the spline's ends, and the two that notch it where they meet inward."""
    outer, inner = corner.lines
    if slot.in_frame:
        return list(outer), inner
    closing = [p for own, faces in zip(corner.planes, zip(*corner.lines, strict=True), strict=True)
               for p in own if p not in faces]  # fmt: skip
    return closing, None


def _parts(
    corner: Corner, body: list[Plane], trims: list[Plane], notch: tuple[Plane, Plane] | None
) -> list[ConvexRegion]:
    """The spline in convex parts: whole, or its half in each member where their inner faces notch it."""
    if notch is None:
        parts = [[*body, *trims]]
    else:
        halves = (corner.plane, corner.plane.flipped())
        parts = [[*body, *trims, half, inner] for half, inner in zip(halves, notch, strict=True)]
    return [r for p in parts if (r := convex_region(p, BOUND_MM)) is not None]


def _shapings(
    meeting: Meeting, frame: Frame, box: Box, trims: list[Plane], notch: tuple[Plane, Plane] | None
) -> tuple[Shaping, ...]:
    found: list[Shaping] = []
    own = list(box.planes().values())
    for plane in dict.fromkeys(p.local_to(frame).squared() for p in trims):
        region = convex_region([*own, *(s.form for s in found if isinstance(s.form, Plane)), plane], BOUND_MM)
        cuts = convex_region([*own, plane.flipped()], BOUND_MM) is not None
        if cuts and region is not None and region.area(len(own) + len(found)) > LEAST_AREA:
            found.append(Shaping("trim", _end(plane), plane, meeting.place, stage="glued"))
    if notch is not None:
        first, second = (p.local_to(frame).squared() for p in notch)
        found.append(Shaping("trim", _end(first), first, meeting.place, stage="glued", within=(second,)))
    return tuple(found)


def _end(plane: Plane) -> str:
    return "back edge" if plane.normal[1] > 0 else "edge"


def _stock(like: Stock, thickness: float) -> Stock:
    """A strip of the members' own wood, planed to the spline's thickness."""
    return Stock(f"{like.species} for splines", "planed", like.species, thickness, None, "", like.density)


def _fails(meeting: Meeting, text: str) -> DesignError:
    names = (meeting.first.name, meeting.second.name)
    return fail(meeting.place, "joint", f'the mitre of "{names[0]}" and "{names[1]}": {text}', *names)
