"""Two bodies that meet: what they share, and which surfaces of one carry area inside the other.

Everything is worked out from bodies, never from members already cut, so the order of joints does not matter.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from plangen.design.records import Name
from plangen.findings import Place, fail
from plangen.geometry.flat import outside_loop
from plangen.geometry.frames import WORLD, Frame
from plangen.geometry.region import ConvexRegion, convex_region
from plangen.geometry.surfaces import Cone, Cylinder, Extruded, Form, Plane
from plangen.geometry.vectors import Point, Vec, dot, scale, unit
from plangen.joinery.model import FeatureKind, Hole, Origin, Stage
from plangen.placing.body import BOUND_MM, Body, Standing
from plangen.placing.parts import Part, parts_of_body
from plangen.placing.scope import Scope

LEAST_AREA = 1e-4
"""Square millimetres: a plane that carries less inside a body does not cut it."""
LEAST_VOLUME = 1e-3
"""Cubic millimetres: bodies that share less than this only touch."""
TOUCH_MM = 1e-3
"""Millimetres: bodies this near touch."""
_STEPS = 16


@dataclass(frozen=True)
class Placed:
    """A body at one of its places."""

    body: Body
    standing: Standing

    @property
    def name(self) -> str:
        return self.standing.name

    @property
    def frame(self) -> Frame:
        return self.standing.frame

    @property
    def middle(self) -> Point:
        return self.frame.point(scale(self.body.size, 0.5))

    def planes_in(self, frame: Frame) -> list[Plane]:
        """The body's planes in another frame's coordinates, squared up there."""
        return [p.placed(self.frame).local_to(frame).squared() for p in self.body.planes()]

    def parts_in(self, frame: Frame) -> list[Part]:
        """The body's parts in another frame's coordinates, squared up there."""

        def moved(planes: Sequence[Plane]) -> tuple[Plane, ...]:
            return tuple(p.placed(self.frame).local_to(frame).squared() for p in planes)

        return [
            Part(
                moved(part.walls),
                moved(part.seams),
                moved(part.hull),
                tuple(c.placed(self.frame).local_to(frame) for c in part.curves),
            )
            for part in parts_of_body(self.body)
        ]


@dataclass(frozen=True)
class Cut:
    """What a joint takes from one body: cutters in that body's own frame."""

    target: str
    """Name of the standing that is cut."""
    kind: FeatureKind
    cutters: tuple[tuple[Form, ...], ...]
    stage: Stage
    origin: Origin
    joint: str | None
    mate: str | None
    place: Place
    hole: Hole | None = None
    note: str = ""
    assembly: str | None = None
    """Name of the assembly on which it is cut, for what no joint asks for."""


@dataclass(frozen=True)
class Meeting:
    """One joint in place: the first enters, or laps, the second."""

    first: Placed
    second: Placed
    name: str
    place: Place
    stage: Stage
    clearance: float
    """Room left between the two, over each side, millimetres."""
    earlier: tuple[Cut, ...] = ()
    """Cuts in the first that this joint comes after: what they took, the second need not make room for."""

    def room_for(self, wall: Form) -> Form:
        """The surface that a wall of one leaves in the other, with the joint's clearance."""
        if self.clearance and isinstance(wall, Extruded):
            text = (
                f'"{self.first.name}" and "{self.second.name}" meet in a free curve, which takes no clearance'
            )
            raise fail(self.place, "joint", text, self.first.name, self.second.name)
        return mating(wall, self.clearance)

    def room_inside(self, inside: Inside) -> tuple[Form, ...]:
        """The cutter that one part of the one leaves in the other."""
        return (*(self.room_for(w) for w in inside.walls), *(mating(s) for s in inside.seams))

    def receiving(self, cutter: Sequence[Form]) -> tuple[tuple[Form, ...], ...]:
        """Cutters in the second for what is left of the first within ``cutter``.

        A convex cutter less a convex earlier cut is a union: the cutter on the inner side of each of the
        earlier cut's surfaces in turn.
        """
        left: list[tuple[Form, ...]] = [tuple(cutter)]
        for cut in self.earlier:
            for taken in cut.cutters:
                placed = [f.placed(self.first.frame).local_to(self.second.frame) for f in taken]
                left = [(*c, mating(f)) for c in left for f in placed]
        return tuple(left)

    def cut(self, target: Placed, kind: FeatureKind, cutters: Sequence[Sequence[Form]]) -> Cut:
        mate = self.second if target is self.first else self.first
        origin: Origin = "matched"
        return Cut(
            target.name,
            kind,
            tuple(tuple(c) for c in cutters),
            self.stage,
            origin,
            self.name,
            mate.name,
            self.place,
        )

    def shared(self, frame: Frame = WORLD) -> ConvexRegion | None:
        """What the two bodies share (curved surfaces left out), in the frame's coordinates.

        Of turned bodies the two parts that share most.
        """
        shared = [
            convex_region([*_bounds(b), *_bounds(a)], BOUND_MM)
            for a in self.first.parts_in(frame)
            for b in self.second.parts_in(frame)
        ]
        regions = [r for r in shared if r is not None and r.volume > LEAST_VOLUME]
        return max(regions, key=lambda r: round(r.volume, 6), default=None)

    def entering(self) -> Vec:
        """Unit world direction in which the first goes into the second: out of the face it enters by.

        That face is the second's surface that carries area inside the first and looks most toward the
        first's middle.
        """
        carrying = planes_inside(self.first, self.second)
        if not carrying:
            way = tuple(b - a for a, b in zip(self.first.middle, self.second.middle, strict=True))
            return unit((way[0], way[1], way[2]))
        shared = self.shared()
        centre = shared.centroid if shared is not None else self.second.middle
        toward = tuple(a - c for a, c in zip(self.first.middle, centre, strict=True))

        def looks(plane: Plane) -> float:
            return round(dot(self.first.frame.direction(plane.normal), (toward[0], toward[1], toward[2])), 6)

        best = max(carrying, key=looks)
        return scale(self.first.frame.direction(best.normal), -1.0)


def _bounds(part: Part) -> tuple[Plane, ...]:
    return (*part.walls, *part.seams, *part.hull)


def planes_inside(target: Placed, other: Placed, also: Sequence[Plane] = ()) -> list[Plane]:
    """The planes of ``other`` that carry area inside ``target``'s body, in the target's frame.

    ``also`` are further planes (target's frame) that bound the part looked at.
    """
    own = [p.squared() for p in target.body.planes()] + list(also)
    theirs = other.planes_in(target.frame)
    region = convex_region(own + theirs, BOUND_MM)
    if region is None or region.volume <= LEAST_VOLUME:
        return []
    return [theirs[i - len(own)] for i in region.indices if i >= len(own) and region.area(i) > LEAST_AREA]


@dataclass(frozen=True)
class Inside:
    """What one part of a body shows inside another, in the other's frame."""

    walls: tuple[Form, ...]
    """Its surfaces, plane and curved, that cut the other; normals out of it."""
    seams: tuple[Plane, ...]
    """Where it ends within another part of its body: an end of this part's cutter, which takes no clearance."""


def parts_inside(
    target: Placed,
    other: Placed,
    also: Sequence[Plane] = (),
    is_wall: Callable[[Form], bool] = lambda form: True,
) -> list[Inside]:
    """For each part of ``other`` that reaches into ``target``'s body, what it shows there.

    A turned body has a part for each run of its profile that bows outward, any other is one part. ``also`` are
    further planes (target's frame) that bound the part of the target looked at; ``is_wall`` leaves out surfaces
    that the cut runs through. A plane of the box that a curve lies within cuts nothing.
    """
    own = [p.squared() for p in target.body.planes()] + list(also)
    found = []
    for part in other.parts_in(target.frame):
        bounds = [*own, *part.walls, *part.seams, *part.hull]
        region = convex_region(bounds, BOUND_MM)
        if region is None or region.volume <= LEAST_VOLUME:
            continue
        shown = {i - len(own) for i in region.indices if region.area(i) > LEAST_AREA}
        curves = [c for c in part.curves if is_wall(c) and _crosses(c, region)]
        rounded = [c for c in curves if isinstance(c, Cylinder) and c.side == "post"]
        walls = [p for i, p in enumerate(part.walls) if i in shown and is_wall(p)]
        seams = tuple(p for i, p in enumerate(part.seams, len(part.walls)) if i in shown)
        walls = [p for p in walls if not any(_clears(p, c) for c in rounded)]
        found.append(Inside((*walls, *curves), seams))
    return found


def walls_inside(
    target: Placed,
    other: Placed,
    also: Sequence[Plane] = (),
    is_wall: Callable[[Form], bool] = lambda form: True,
) -> list[Form]:
    """As ``parts_inside``, where one part alone reaches in: its surfaces. Raises DesignError where several do."""
    found = parts_inside(target, other, also, is_wall)
    if len(found) > 1:
        text = (
            f'"{other.name}" is turned, and more than one part of it meets "{target.name}"; this joint takes '
            "one: let it enter by a plain tenon, or house it"
        )
        raise fail(other.body.place, "joint", text, other.name, target.name)
    return [f for inside in found for f in (*inside.walls, *inside.seams)]


def _clears(plane: Plane, post: Cylinder) -> bool:
    """Whether a plane along the post's axis only touches the post, or keeps clear of it."""
    along_it = abs(dot(plane.normal, post.axis)) < 1e-9
    return along_it and abs(plane.distance(post.point)) > post.radius - 1e-6


def _crosses(curve: Cylinder | Cone | Extruded, region: ConvexRegion) -> bool:
    """Whether some of the region lies on the curve's outer side."""
    if isinstance(curve, Extruded):
        return outside_loop([curve.flat(v) for v in region.vertices], curve.outline) > LEAST_AREA
    if curve.side == "post":
        return any(curve.distance(v) > 1e-6 for v in region.vertices)
    return any(curve.distance(p) > 1e-6 for _, polygon in region.faces for p in _edge_points(polygon))


def _edge_points(polygon: Sequence[Point]) -> list[Point]:
    found = []
    for a, b in zip(polygon, [*polygon[1:], polygon[0]], strict=True):
        for step in range(_STEPS):
            s = step / _STEPS
            found.append((a[0] + (b[0] - a[0]) * s, a[1] + (b[1] - a[1]) * s, a[2] + (b[2] - a[2]) * s))
    return found


def mating(form: Form, clearance: float = 0.0) -> Form:
    """The surface that a mate's surface leaves in the wood it enters, farther out by the clearance."""
    flipped = form.flipped()
    return flipped.shifted(-clearance) if clearance else flipped


def gap_between(first: Placed, second: Placed) -> float:
    """Least distance, millimetres, by which some face of one holds the other off; 0 where none does."""
    found = 0.0
    for a, b in ((first, second), (second, first)):
        corners = [b.frame.point(p) for p in b.body.corners()]
        for plane in a.body.planes():
            world = plane.placed(a.frame)
            found = max(found, min((world.distance(p) for p in corners), default=0.0))
    return found


def touches(first: Placed, second: Placed) -> bool:
    """The bodies stand within a thousandth of a millimetre of each other, face to face or overlapping."""
    if gap_between(first, second) >= TOUCH_MM:
        return False
    planes = first.planes_in(WORLD) + second.planes_in(WORLD)
    return convex_region([p.shifted(TOUCH_MM / 2) for p in planes], BOUND_MM) is not None


def standing_for(name: Name, scope: Scope, placed: Sequence[Placed]) -> list[Placed]:
    """The places that a name in a joint means: one instance, or every instance of a member."""
    body, standing = scope.body_of(str(name), name.place)
    every = [p for p in placed if p.body.name == body.name]
    if str(name) == body.name:
        return every
    return [p for p in every if p.name == standing.name]
