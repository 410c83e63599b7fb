"""What a set-up's picture shows, in millimetres at the machine: the work as it stands, its waste, the tool's lines.

The other hand's work is the mirror image of the drawn one; it is projected as the drawn one is and the picture turned
left to right, so that no solid is mirrored.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

from plangen.drawing.setup_names import Stance, stance
from plangen.drawing.view_on_paper import mirrored_curve
from plangen.geometry.curves import Vec2
from plangen.geometry.frames import WORLD
from plangen.geometry.hidden import draw_merged, prepare
from plangen.geometry.seats import corners_on
from plangen.geometry.silhouette import covered, on_silhouette
from plangen.geometry.solid import GeometryError, Solid, build_solid
from plangen.geometry.surfaces import Form, Plane
from plangen.geometry.vectors import Point, Vec, cross, dot, neg
from plangen.geometry.views import Projection, Stroke
from plangen.joinery.building import cutters_of
from plangen.machining.posture import Posture, lying
from plangen.machining.setup import Setup
from plangen.machining.work import Work

Seen: TypeAlias = Literal["above", "front", "side"]
"""From above, from where the operator stands, from the operator's right."""
_ROOM = 0.75
"""Of the larger side of the section, that the work is shown past the cut to either side."""
_LEAST_ROOM = 20.0
_RIGHT: dict[Stance, Vec] = {"facing": (1.0, 0.0, 0.0), "gauge": (-1.0, 0.0, 0.0), "feeding": (0.0, 1.0, 0.0)}
_AHEAD: dict[Stance, Vec] = {
    "facing": (0.0, 1.0, 0.0),
    "gauge": (0.0, -1.0, 0.0),
    "feeding": (-1.0, 0.0, 0.0),
}
_UP: Vec = (0.0, 0.0, 1.0)
_LEVEL = math.radians(0.05)


@dataclass(frozen=True)
class SetupScene:
    """Everything flat, as the eye has it: x to the right, y up."""

    seen: Seen
    strokes: tuple[tuple[Stroke, bool], ...]
    """Seen edges, and whether each runs along the outline."""
    waste: tuple[tuple[tuple[Vec2, ...], ...], ...]
    """Regions, each its outline and its holes; they may run past the work."""
    covered: tuple[tuple[Vec2, ...], ...]
    """Outlines and holes of what the work covers."""
    corners: tuple[Vec2, ...]
    """Of the work shown."""
    breaks: tuple[tuple[Vec2, Vec2], ...]
    """Where the work goes on and is broken off."""
    toward_b: Vec2
    """Where end B lies from end A; of no length where it lies along the line of sight."""
    near_end: Literal["A", "B"] | None
    """The end that looks at the eye, where the length runs along the line of sight."""
    lines: tuple[tuple[Vec2, Vec2], ...]
    """Lines of the blade and middles of holes, as a point and a direction."""
    table: tuple[Vec2, Vec2] | None
    """Point and direction of the table's line; None from above."""
    wedge: tuple[Vec2, Vec2] | None
    """The two ends of the underside of work that stands clear of a level table."""
    fence: tuple[Vec2, Vec2] | None
    """Point on the fence's line and the unit direction from the work into the fence."""
    face: tuple[Vec2, Vec2] | None
    """Where the face side looks at the eye: the middle of its face edge, and the direction into the face."""


def setup_scene(work: Work, setups: Sequence[Setup]) -> SetupScene | None:
    """Of cuts of one member and hand made with the work lying alike, ``work`` as it stands before the first of them.

    None where the solid of that moment cannot be made.
    """
    first = setups[0]
    eye = _Eye.of(work, first)
    wastes = [solid for s in setups for solid in _waste(work, s)]
    try:
        shown, low, high = _shown(work, wastes)
    except GeometryError:
        return None
    length = eye.flat_direction((1.0, 0.0, 0.0))
    ends = [x for x in (low, high) if x is not None] if math.hypot(*length) > 1 - 1e-9 else []
    levels = [x * (1.0 if length[0] + length[1] > 0 else -1.0) for x in ends]
    along = length if length[0] + length[1] > 0 else (-length[0], -length[1])
    points = tuple(eye.flat((float(x), float(y), float(z))) for x, y, z in shown.vertices.tolist())
    breaks = tuple(found for x in levels if (found := _break_line(points, along, x)))
    sight = dot((1.0, 0.0, 0.0), eye.toward)
    # in a cradle, whose bed the work's own faces do not show
    rolled = first.rolled is not None
    return SetupScene(
        seen=eye.seen,
        strokes=tuple(_strokes(shown, eye, along, levels)),
        waste=tuple(region for solid in wastes for region in _regions(solid, eye)),
        covered=tuple(ring for region in _regions(shown, eye) for ring in region),
        corners=points,
        breaks=breaks,
        toward_b=length if math.hypot(*length) > 0.5 else (0.0, 0.0),
        near_end=None if math.hypot(*length) > 0.5 else ("B" if sight > 0 else "A"),
        lines=tuple(line for s in setups for line in _tool_lines(s, eye)),
        table=None if rolled else _table(work, first, eye),
        wedge=_wedge(work, first, eye, shown) if first.machine not in ("drill press", "jointer") else None,
        fence=None if rolled else _fence(work, first, eye, points),
        face=_face(work, eye),
    )


def _strokes(shown: Solid, eye: _Eye, along: Vec2, levels: Sequence[float]) -> Iterator[tuple[Stroke, bool]]:
    """What is seen, and whether it is the work's outline; not where the picture is broken off, at ``levels``."""
    visible = [s for s in draw_merged(prepare([(shown, WORLD)]), eye.projection) if s.visible]
    outer = on_silhouette(visible, [(shown, WORLD)], eye.projection)
    for stroke, is_outer in zip(visible, outer, strict=True):
        turned = replace(stroke, curve=mirrored_curve(stroke.curve)) if eye.mirrored else stroke
        a, b = (_dot2(p, along) for p in (turned.curve.start, turned.curve.end))
        if not any(abs(a - x) < 1e-4 and abs(b - x) < 1e-4 for x in levels):
            yield turned, is_outer


@dataclass(frozen=True)
class _Eye:
    """How the work lies and from where it is seen. ``projection`` is of the drawn hand's solid."""

    posture: Posture
    seen: Seen
    right: Vec
    up: Vec
    projection: Projection
    toward: Vec
    """To the eye, in the member's frame."""
    mirrored: bool

    @classmethod
    def of(cls, work: Work, setup: Setup) -> _Eye:
        posture = _posture(work, setup)
        mirrored = setup.hand is not None and setup.hand != work.member.drawn
        where = stance(setup.machine, math.degrees(setup.miter))
        seen = _best_side(setup, where)
        right, ahead = _RIGHT[where], _AHEAD[where]
        r, u = {"above": (right, ahead), "front": (right, _UP), "side": (ahead, _UP)}[seen]
        t = cross(r, u)
        flip = -1.0 if mirrored else 1.0

        def in_member(v: Vec) -> Vec:
            return posture.to_member((flip * v[0], v[1], v[2]))

        own = in_member(r)
        projection = Projection(neg(own) if mirrored else own, in_member(u), in_member(t))
        return cls(posture, seen, r, u, projection, in_member(t), mirrored)

    def machine(self, v: Vec) -> Vec:
        """A point or direction of the member, in its drawn coordinates, at the machine."""
        x, y, z = self.posture.to_machine(v)
        return (-x if self.mirrored else x, y, z)

    def on_paper(self, v: Vec) -> Vec2:
        """Of the machine."""
        return (dot(v, self.right), dot(v, self.up))

    def flat(self, p: Point) -> Vec2:
        return self.on_paper(self.machine(p))

    def flat_direction(self, v: Vec) -> Vec2:
        return self.on_paper(self.machine(v))

    @property
    def sight(self) -> Vec:
        """To the eye, at the machine."""
        return cross(self.right, self.up)


def _posture(work: Work, setup: Setup) -> Posture:
    """As the drawn hand would lie; a piece that lies on nothing known is seen from its face side."""
    surfaces = {s.id: s.form for f in work.member.features for s in f.surfaces}
    known = {**{i: p for i, p in surfaces.items() if isinstance(p, Plane)}, **work.planes()}
    down, against = (known.get(i or "") for i in (setup.surface_down, setup.surface_against))
    tilt = setup.tilt
    if tilt is not None and setup.hand not in (None, work.member.drawn):
        tilt = replace(tilt, azimuth=-tilt.azimuth)
    if down is not None:
        for other in (against, *work.member.blank.planes().values()):
            try:
                if other is not None:
                    return lying(down, other, tilt)
            except ValueError:
                continue
    return Posture((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def _best_side(setup: Setup, where: Stance) -> Seen:
    """The side from which the cut tells most."""
    if setup.surface_down is None:
        return "above"
    if setup.tilt is not None:
        upright = abs(math.cos(setup.tilt.azimuth)) < math.sqrt(0.5)
        return "front" if upright != (where == "feeding") else "side"
    if where == "feeding":
        return "above" if setup.operation == "taper" else "front"
    if setup.operation in ("crosscut", "kerf", "trench") and abs(math.sin(setup.miter)) < _LEVEL:
        return "front"
    return "above"


def _shown_between(low: float | None, high: float | None) -> list[list[Form]]:
    """Cutters that take off what lies past the stretch that is shown."""
    planes: list[list[Form]] = [] if low is None else [[Plane((-1.0, 0.0, 0.0), -low)]]
    return planes + ([] if high is None else [[Plane((1.0, 0.0, 0.0), high)]])


def _shown(work: Work, wastes: Sequence[Solid]) -> tuple[Solid, float | None, float | None]:
    """The work near the waste, and where along the member it is broken off (None: it ends there)."""
    whole = work.solid
    reach: list[float] = [x for solid in wastes for x in solid.vertices[:, 0].tolist()]
    if not reach:
        return whole, None, None
    blank = work.member.blank
    room = max(_LEAST_ROOM, _ROOM * min(max(blank.size[1:]), 2.5 * min(blank.size[1:]) + 20.0))
    low, high = min(reach) - room, max(reach) + room
    start = low if low - float(whole.vertices[:, 0].min()) > 0.5 * room else None
    stop = high if float(whole.vertices[:, 0].max()) - high > 0.5 * room else None
    if start is None and stop is None:
        return whole, None, None
    kept = [f for f in work.member.features if f.id in work.done]
    return build_solid(blank, [*cutters_of(kept), *_shown_between(start, stop)]), start, stop


def _waste(work: Work, setup: Setup) -> list[Solid]:
    """What of the blank each cutter that the cut has a part in takes away."""
    forms: dict[str, Form] = {s.id: s.form for f in work.member.features for s in f.surfaces}
    forms |= work.member.blank.planes()
    found = []
    for group in setup.frees:
        if set(setup.makes) & set(group) and all(i in forms for i in group):
            try:
                found.append(build_solid(work.member.blank, [[forms[i].flipped()] for i in group]))
            except GeometryError:
                continue
    return found


def _regions(solid: Solid, eye: _Eye) -> list[tuple[tuple[Vec2, ...], ...]]:
    flip = -1.0 if eye.mirrored else 1.0
    return [
        tuple(tuple((flip * x, y) for x, y in ring) for ring in region)
        for region in covered(solid, WORLD, eye.projection)
    ]


def _break_line(points: Sequence[Vec2], along: Vec2, level: float) -> tuple[Vec2, Vec2] | None:
    """The stretch across the work where it is broken off."""
    on = [p for p in points if abs(_dot2(p, along) - level) < 1e-4]
    if len(on) < 2:
        return None
    across = (-along[1], along[0])
    on.sort(key=lambda p: round(_dot2(p, across), 6))
    return on[0], on[-1]


def _tool_lines(setup: Setup, eye: _Eye) -> list[tuple[Vec2, Vec2]]:
    if setup.operation in ("bore", "ream"):
        return [line for p in setup.path[:1] for line in _cross_hairs(eye, p)]
    if setup.stop is None or setup.operation in ("by hand", "turn", "bend", "mould"):
        return []
    cm, sm, cb, sb = (
        math.cos(setup.miter),
        math.sin(setup.miter),
        math.cos(setup.bevel),
        math.sin(setup.bevel),
    )
    normal: Vec = (cm * cb, sm * cb, -sb)
    at = eye.flat(setup.stop.at)
    on_end = dot(normal, eye.sight)
    if abs(on_end) < 0.02:
        x, y = eye.on_paper(normal)
        return [(at, _unit2((-y, x)))]
    return [(at, _unit2(eye.on_paper((-sm, cm, 0.0))))] if eye.seen == "above" else []


def _cross_hairs(eye: _Eye, entry: Point) -> list[tuple[Vec2, Vec2]]:
    at = eye.flat(entry)
    return [(at, (1.0, 0.0)), (at, (0.0, 1.0))] if eye.seen == "above" else [(at, (0.0, 1.0))]


def _table(work: Work, setup: Setup, eye: _Eye) -> tuple[Vec2, Vec2] | None:
    """The line of the table; a drill press's tilts with the work."""
    if eye.seen == "above" or setup.surface_down is None:
        return None
    points = [eye.flat((float(x), float(y), float(z))) for x, y, z in work.solid.vertices.tolist()]
    lowest = min(points, key=lambda p: (round(p[1], 6), p[0]))
    surfaces = work.planes()
    down = surfaces.get(setup.surface_down)
    if setup.tilt is None or setup.machine != "drill press" or down is None:
        return lowest, (1.0, 0.0)
    x, y = eye.flat_direction(down.normal)
    return lowest, _unit2((-y, x))


def _wedge(work: Work, setup: Setup, eye: _Eye, shown: Solid) -> tuple[Vec2, Vec2] | None:
    down = work.planes().get(setup.surface_down or "")
    if setup.tilt is None or down is None or eye.seen == "above":
        return None
    on = [eye.flat(p) for p in corners_on(shown, down)]
    on.sort(key=lambda p: (round(p[0], 6), round(p[1], 6)))
    return (on[0], on[-1]) if len(on) > 1 else None


def _fence(work: Work, setup: Setup, eye: _Eye, points: Sequence[Vec2]) -> tuple[Vec2, Vec2] | None:
    """Seen from above, or where it stands beside the work; a jointer's leans with the work."""
    if setup.surface_against is None:
        return None
    into = eye.on_paper((0.0, 1.0, 0.0))
    if setup.machine == "jointer":
        into = eye.flat_direction(work.planes()[setup.surface_against].normal)
    if math.hypot(*into) < 0.5:
        return None
    into = _unit2(into)
    return max(points, key=lambda p: round(_dot2(p, into), 6)), into


def _face(work: Work, eye: _Eye) -> tuple[Vec2, Vec2] | None:
    if work.member.is_round or dot((0.0, 0.0, 1.0), eye.toward) < 0.5:
        return None
    box = work.member.blank
    into = eye.flat_direction((0.0, 1.0, 0.0))
    middle = (box.origin[0] + box.size[0] / 2, box.origin[1], box.most[2])
    return eye.flat(middle), _unit2(into)


def _dot2(a: Vec2, b: Vec2) -> float:
    return a[0] * b[0] + a[1] * b[1]


def _unit2(v: Vec2) -> Vec2:
    size = math.hypot(*v)
    return (v[0] / size, v[1] / size)
