"""From a member's entry to its body: size, place, trims, shape, copies."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from plangen.design import design as d
from plangen.design.records import Text
from plangen.findings import Place, fail
from plangen.geometry.frames import WORLD, Frame
from plangen.geometry.region import ConvexRegion, convex_region
from plangen.geometry.surfaces import Box, Plane
from plangen.geometry.vectors import LENGTH_TOLERANCE, Point, Vec, dot
from plangen.placing.body import BOUND_MM, Body, Shaping, ShapingKind
from plangen.placing.boring import with_holes
from plangen.placing.bought import place_bought
from plangen.placing.copies import standings
from plangen.placing.directions import local_normal, side_facing
from plangen.placing.edges import with_edge_work
from plangen.placing.locating import Extent, Located, locate, orient
from plangen.placing.outlines import openings_of, outline_points
from plangen.placing.pending import pending_member
from plangen.placing.planes import mitre_plane
from plangen.placing.scope import Scope
from plangen.placing.shaping import curved_shapings, taper_plane
from plangen.placing.tenons import tenon_end
from plangen.placing.turning import greatest_diameter, turned_shapings
from plangen.tables.stock import Stock, resolve_stock
from plangen.tables.woods import find_wood

_AXIS_SIDES = (("A", "B"), ("edge", "back edge"), ("back", "face"))
_AXIS_WORDS = ("length", "width", "thickness")


@dataclass(frozen=True)
class Sizes:
    """Length, width, thickness as far as the entry says them; None: the trims give it."""

    length: float | None
    width: float | None
    thickness: float | None

    @property
    def all(self) -> tuple[float | None, float | None, float | None]:
        return (self.length, self.width, self.thickness)


@dataclass(frozen=True)
class CutBy:
    """A trim with its plane in the world, outward normal chosen for the side it cuts."""

    side: str
    plane: Plane
    place: Place
    fitted: bool
    leave: float
    stage: d.When


def place_member(scope: Scope, name: str) -> Body:
    """The body of the member (or bought part) ``name``, with every place where it stands.

    Raises DesignError: sizes missing, freedoms left, contradictions, a trim that leaves nothing.
    """
    if name in scope.design.bought:
        return place_bought(scope, name)
    member = scope.design.members[_key(scope, name)]
    stock = member_stock(scope, name, member)
    sizes = _sizes(scope, name, member, stock)
    scope.hold_sizes(name, sizes.all)
    axes = orient(scope, name, member.place, _is_round(member, stock))
    extents = _extents(scope, name, member, sizes, axes)
    located = locate(scope, name, member.place, axes, extents)
    if not _is_round(member, stock):
        trimmed = _trimmed_sides(scope, name, member, axes)
        scope.hold(pending_member(scope, name, member, located, extents, trimmed))
    cuts = _cuts(scope, name, member, located.frame, extents)
    _check_sliding(name, member, located.sliding, cuts, extents)
    extents = _stopped(name, member, located, cuts, extents)
    body = _shape(scope, name, member, stock, located.frame, extents, cuts)
    body = with_holes(scope, name, member, body)
    return with_edge_work(scope, name, member, body)


def _is_round(member: d.Member, stock: Stock) -> bool:
    return stock.kind == "round" or member.diameter is not None or bool(member.turned)


def _key(scope: Scope, name: str) -> d.Name:
    return next(k for k in scope.design.members if k == name)


def member_stock(scope: Scope, name: str, member: d.Member) -> Stock:
    """The member's stock: one the designer named, or one of the trade's."""
    if member.stock is None:
        raise fail(member.source, "stock", f'"{name}" has no stock: say what it is made of', name)
    for key, own in scope.design.stock.items():
        if key == member.stock:
            return _own_stock(scope, key, own)
    try:
        return resolve_stock(str(member.stock), scope.design.units)
    except ValueError as problem:
        raise fail(member.stock.place, "stock", str(problem), name) from None


def _own_stock(scope: Scope, key: Text, own: d.Stock) -> Stock:
    try:
        stock = resolve_stock(str(own.ask_for), scope.design.units)
    except ValueError:
        stock = Stock(str(own.ask_for), "planed", str(own.species or ""), None, None)
    wood = find_wood(str(own.species or stock.species).lower(), scope.design.units)
    sheet = None if own.sheet is None else (scope.length(own.sheet[0]), scope.length(own.sheet[1]))
    return replace(
        stock,
        name=str(own.ask_for),
        kind="sheet" if sheet is not None else stock.kind,
        thickness=stock.thickness if own.thickness is None else scope.length(own.thickness),
        width=stock.width if own.width is None else scope.length(own.width),
        sheet=sheet or stock.sheet,
        density=stock.density if wood is None else stock.density or wood[1].density,
    )


def _sizes(scope: Scope, name: str, member: d.Member, stock: Stock) -> Sizes:
    def said(expression: d.Expression | None, default: float | None) -> float | None:
        if expression is None:
            return default
        size = scope.length(expression)
        if size <= LENGTH_TOLERANCE:
            raise fail(
                expression.place, "size", f'"{expression.text}": a size must be greater than nothing', name
            )
        return size

    if _is_round(member, stock):
        turned = greatest_diameter(scope, name, member) if member.turned else stock.thickness
        across = said(member.diameter, turned)
        return Sizes(said(member.length, None), across, across)
    thickness = said(member.thickness, stock.thickness)
    if thickness is None:
        raise fail(member.source, "size", f'"{name}" has no thickness: its stock leaves it open', name)
    width = said(member.width, stock.width)
    if member.taper is not None and width is None and member.taper.on in ("edge", "back edge"):
        width = max(scope.length(member.taper.at_end_a), scope.length(member.taper.at_end_b))
    length = said(member.length, None)
    if member.outline is not None and member.outline.points:
        corners = outline_points(scope, name, member.outline)
        length = length or max(p[0] for p in corners)
        width = width or max(p[1] for p in corners)
    return Sizes(length, width, thickness)


def _extents(
    scope: Scope, name: str, member: d.Member, sizes: Sizes, axes: tuple[Vec, Vec, Vec]
) -> tuple[Extent, Extent, Extent]:
    """Known sizes from 0; where trims give a size, its open sides run out to the bound."""
    placing = member.place
    span = sizes.length
    if span is None and placing.from_ is not None and placing.to is not None:
        a, b = scope.point(placing.from_), scope.point(placing.to)
        span = math.dist(a, b)
    trimmed = _trimmed_sides(scope, name, member, axes)
    found = []
    low_keys = ((placing.end_a, placing.from_), (placing.edge, None), (placing.back, None))
    high_keys = ((placing.end_b, None), (placing.back_edge, None), (placing.face, None))
    for axis, size in enumerate((span, sizes.width, sizes.thickness)):
        low_side, high_side = _AXIS_SIDES[axis]
        if axis == 0 and placing.from_ is not None and sizes.length is None:
            low = -BOUND_MM if low_side in trimmed else 0.0
            high = BOUND_MM if high_side in trimmed else (span if span is not None else BOUND_MM)
        elif size is not None:
            low, high = 0.0, size
        else:
            anchored_low = any(_holds(k) for k in low_keys[axis]) or placing.corner is not None
            anchored_high = any(_holds(k) for k in high_keys[axis])
            low = 0.0 if anchored_low else -BOUND_MM
            high = BOUND_MM if low == 0.0 or not anchored_high else 0.0
        found.append(Extent(low, high))
    return (found[0], found[1], found[2])


def _holds(relation: object) -> bool:
    if isinstance(relation, d.Relation):
        return relation.toward is None
    return relation is not None


def _trimmed_sides(scope: Scope, name: str, member: d.Member, axes: tuple[Vec, Vec, Vec]) -> set[str]:
    sides = set()
    for side, trim in member.trim.items():
        if str(side) in ("inner", "outer"):
            continue
        place = trim.place
        sides.add(side_facing(axes, str(side), (1.0, 1.0, 1.0), place))
    return sides


def _cuts(
    scope: Scope, name: str, member: d.Member, frame: Frame, extents: tuple[Extent, Extent, Extent]
) -> list[CutBy]:
    cuts: list[CutBy] = []
    # "inner" and "outer" ask where the piece is: the other trims say so first.
    ordered = sorted(member.trim.items(), key=lambda named: str(named[0]) in ("inner", "outer"))
    for word, said in ordered:
        trim = said if isinstance(said, d.Trim) else d.Trim(source=said.place, by=said)
        place, spec = trim.place, trim.by
        side = side_facing(frame.axes, str(word), _middle(frame, extents, cuts), place)
        outward = frame.direction(local_normal(side))
        if isinstance(spec, d.HalfwayPlane) and spec.facing is None:
            plane = mitre_plane(scope, spec, outward)
        else:
            plane = scope.plane(spec)
        plane = tenon_end(scope, name, spec, plane, outward)
        facing = dot(plane.normal, outward)
        if abs(facing) < 0.02:
            raise fail(
                place, "trim", f'"{name}": this plane runs along the piece; it cannot cut its "{word}"', name
            )
        leave = scope.length(trim.leave) if trim.leave is not None else 0.0
        fitted = trim.fit == "on the work"
        stage: d.When = "on the work" if fitted else trim.when
        cuts.append(CutBy(side, plane if facing > 0 else plane.flipped(), place, fitted, leave, stage))
    return cuts


def _middle(frame: Frame, extents: tuple[Extent, Extent, Extent], cuts: list[CutBy]) -> Point:
    """Middle of the piece, world, as far as sizes and the trims so far tell it."""
    region = convex_region(_faces(list(extents)) + [c.plane.local_to(frame) for c in cuts], BOUND_MM)
    if region is None or region.unbounded:
        return frame.point((extents[0].middle, extents[1].middle, extents[2].middle))
    return frame.point(region.centroid)


def _check_sliding(
    name: str, member: d.Member, sliding: tuple[int, ...], cuts: list[CutBy], extents: tuple[Extent, ...]
) -> None:
    cut_sides = {c.side for c in cuts}
    for axis in sliding:
        low, high = _AXIS_SIDES[axis]
        stopped = (low in cut_sides) + (high in cut_sides)
        if stopped == 2 or (stopped == 1 and extents[axis].known):
            continue
        raise fail(
            member.place.place,
            "freedom",
            f'"{name}" can still slide along its {_AXIS_WORDS[axis]}: say what stops it',
            name,
        )


def _stopped(
    name: str, member: d.Member, located: Located, cuts: list[CutBy], extents: tuple[Extent, Extent, Extent]
) -> tuple[Extent, Extent, Extent]:
    """A said length that only one trim places is measured from that trim's long point."""
    found = list(extents)
    for axis in located.sliding:
        extent = extents[axis]
        if not extent.known:
            continue
        low, high = _AXIS_SIDES[axis]
        trimmed = {c.side for c in cuts}
        if low in trimmed and high in trimmed:
            found[axis] = Extent(-BOUND_MM, BOUND_MM)
            continue
        is_low = low in trimmed
        opened = [Extent(-BOUND_MM, BOUND_MM) if i == axis else e for i, e in enumerate(found)]
        planes = [c.plane.local_to(located.frame) for c in cuts]
        region = _left_by(name, member, _faces(opened) + planes)
        size = extent.high - extent.low
        reached = [v[axis] for v in region.vertices]
        found[axis] = (
            Extent(min(reached), min(reached) + size) if is_low else Extent(max(reached) - size, max(reached))
        )
    return (found[0], found[1], found[2])


# --- shape ------------------------------------------------------------------------------------------------


def _shape(
    scope: Scope,
    name: str,
    member: d.Member,
    stock: Stock,
    frame: Frame,
    extents: tuple[Extent, Extent, Extent],
    cuts: list[CutBy],
) -> Body:
    cut_at = [c.plane.local_to(frame) for c in cuts]
    region = _region(name, member, list(extents), cut_at)
    box = _bounding(region)
    taper = taper_plane(scope, name, member, box)
    if taper is not None:
        region = _region(name, member, [_as_extent(box, i) for i in range(3)], [*cut_at, taper])
        box = _bounding(region)
    moved = replace(frame, origin=frame.point(box.origin))
    shift = replace(WORLD, origin=box.origin)
    corners = tuple(shift.local_point(v) for v in region.vertices)
    box = Box((0.0, 0.0, 0.0), box.size)
    cut = _cut_shapings(member, zip(cuts, cut_at, strict=True), taper, shift)
    shapings = [s for s in cut if not _is_face_of(box, s)]
    scope.hold_sizes(name, box.size)
    if member.turned:
        shapings += turned_shapings(scope, name, member, box, shapings)
    else:
        shapings += curved_shapings(scope, name, member, stock, box)
    return Body(
        name,
        member.role,
        stock,
        box,
        tuple(shapings),
        openings_of(scope, name, member, box),
        standings(scope, name, member.copies, moved, box, corners),
        member.source,
        member.grain,
        _is_round(member, stock),
        _notes(scope, member),
        boards=None if member.boards is None else scope.count(member.boards),
    )


def _cut_shapings(
    member: d.Member, cuts: Iterable[tuple[CutBy, Plane]], taper: Plane | None, shift: Frame
) -> Iterator[Shaping]:
    """Ends and bevels, then the taper, in the frame that begins at the box's corner."""
    for cut, plane in cuts:
        kind: ShapingKind = "end" if cut.side in "AB" else "bevel"
        at = plane.local_to(shift).squared()
        yield Shaping(kind, cut.side, at, cut.place, cut.stage, cut.fitted, cut.leave)
    if taper is not None and member.taper is not None:
        yield Shaping("taper", member.taper.on, taper.local_to(shift), member.taper.place)


def _notes(scope: Scope, member: d.Member) -> tuple[str, ...]:
    """What the designer says of the member in words, and what follows from the entry."""
    found = [str(n) for n in member.notes]
    if member.boards is not None:
        found.append(f"Edge-glued from {scope.count(member.boards)} boards.")
    if member.removable is not None:
        found.append(f"Removable: lifts out {member.removable}.")
    if member.hung_on is not None:
        found.append(f"The lower end stands at the hinge side ({member.hung_on}).")
    if member.finish is not None:
        found.append(f"Finish: {member.finish}")
    return tuple(found)


def _as_extent(box: Box, axis: int) -> Extent:
    return Extent(box.origin[axis], box.most[axis])


def _region(name: str, member: d.Member, extents: list[Extent], planes: list[Plane]) -> ConvexRegion:
    region = _left_by(name, member, _faces(extents) + planes)
    if region.unbounded:
        axis = _open_axis(region)
        raise fail(
            member.source,
            "size",
            f'"{name}": nothing gives its {_AXIS_WORDS[axis]}: say it, or trim both sides',
            name,
        )
    return region


def _left_by(name: str, member: d.Member, planes: list[Plane]) -> ConvexRegion:
    region = convex_region(planes, BOUND_MM)
    if region is None:
        text = f'"{name}": its trims leave nothing of it; see which side each of them cuts'
        raise fail(member.source, "trim", text, name)
    return region


def _faces(extents: list[Extent]) -> list[Plane]:
    """The planes of the extents' closed sides."""
    faces = []
    for axis, extent in enumerate(extents):
        for value, sign in ((extent.low, -1.0), (extent.high, 1.0)):
            if abs(value) < BOUND_MM:
                normal = [sign if i == axis else 0.0 for i in range(3)]
                faces.append(Plane((normal[0], normal[1], normal[2]), sign * value))
    return faces


def _open_axis(region: ConvexRegion) -> int:
    return max(range(3), key=lambda i: (max(abs(v[i]) for v in region.vertices), -i))


def _bounding(region: ConvexRegion) -> Box:
    low = tuple(min(v[i] for v in region.vertices) for i in range(3))
    high = tuple(max(v[i] for v in region.vertices) for i in range(3))
    return Box((low[0], low[1], low[2]), (high[0] - low[0], high[1] - low[1], high[2] - low[2]))


def _is_face_of(box: Box, shaping: Shaping) -> bool:
    face = box.planes()[shaping.side]
    form = shaping.form
    return (
        isinstance(form, Plane)
        and not shaping.leave
        and dot(face.normal, form.normal) > 1 - 1e-12
        and abs(face.offset - form.offset) < LENGTH_TOLERANCE
    )
