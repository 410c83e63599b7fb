"""Joints drawn large: one section for every different joint, through where it shows most of its sizes.

Nothing is measured here: a detail repeats figures of the part sheets, as they are printed there, in parentheses.
Joints are different where their kinds are, or the sizes that the part sheets state of them; of joints of which they
state none, where the parts lie on each other over other areas. The side and the letters of the parts make no
difference. A joint in which nothing is cut has no detail.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

from plangen.dimensioning.figures import Figure, MemberFigures
from plangen.geometry.clash import bounding_box
from plangen.geometry.contact import Touch
from plangen.geometry.section import Window, rough_area
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Point, Vec, add, cross, dot, length, neg, scale, sub, unit
from plangen.geometry.views import ABOVE, FRONT, LEFT, RIGHT, Projection
from plangen.joinery.model import Instance, Joint, Member, Model

Parts: TypeAlias = tuple[tuple[Member, Instance], tuple[Member, Instance]]
Lettered: TypeAlias = tuple[Joint, Sequence[Touch], str]
"""A joint, where its parts touch, and the letter that is written on both (``assembly_marks``)."""

_TRUE = 1e-6
"""Cosine by which a size may lie out of the section's plane."""
_ROUND = 0.02
"""The same for the axis of what a diameter is of."""
_SAME_AREA = 1.0
"""Square millimetres by which contacts of joints that are alike differ."""
_REACH = 3.0
"""Millimetres round the contact within which a figure's ends lie, where it is a size of this joint."""
_ONE_SIZE = 0.75
"""Millimetres: two parts' sizes whose ends lie as near as this are one size, fit and all."""
_AROUND, _LEAST_AROUND, _MOST_AROUND = 0.45, 12.0, 60.0
"""What is shown round the joint: a share of its greater extent, and at least and at most so many mm."""
_CANCELS = 0.05
"""Of the area in contact: less of it than this looks no way."""
_ALONG = 0.5
"""Sine of the angle by which a section may lie off the way in."""
_CLEAR_OF_FACES = 0.3
_OF_SIZE = 0.7
"""What a section of twice the extent must show more, in sizes."""
_MOST_LEVELS = 6
_UPRIGHT = math.cos(math.radians(35))
MOST_FIGURES = 8
"""In one detail: the rest stand on the part sheets."""


@dataclass(frozen=True)
class DetailFigure:
    """A figure of a part sheet as a detail repeats it, its points in the world."""

    mark: str
    """Of the part whose sheet owns it."""
    figure: Figure
    points: tuple[Point, ...]
    direction: Vec | None
    axis: Vec | None = None
    """Of what a diameter is of."""

    @property
    def printed(self) -> str:
        """In parentheses, once; of a note its first words."""
        own = self.figure.printed.split(", ")[0]
        own = f"{own})" if own.startswith("(") and not own.endswith(")") else own
        return own if own.startswith("(") and own.endswith(")") else f"({own})"


@dataclass(frozen=True)
class JointDetail:
    """One different joint, where it is cut and what is stated of it."""

    letter: str
    joint: Joint
    parts: Parts
    window: Window
    figures: tuple[DetailFigure, ...]
    alike: int
    """How many joints of the piece are like this one, itself counted."""


def _alike_contacts(model: Model, lettered: Iterable[Lettered]) -> list[list[Lettered]]:
    """The joints in which something is cut, those that touch alike together, in the model's order."""
    cut = {f.joint for m in model.members for f in m.features}
    groups: list[list[Lettered]] = []
    for joint, touches, letter in lettered:
        if not touches or joint.name not in cut:
            continue
        for group in groups:
            first, known, _ = group[0]
            if first.kind == joint.kind and _alike(known, touches):
                group.append((joint, touches, letter))
                break
        else:
            groups.append([(joint, touches, letter)])
    return groups


def _alike(a: Sequence[Touch], b: Sequence[Touch]) -> bool:
    one, other = (sorted(t.area for t in touches) for touches in (a, b))
    return len(one) == len(other) and all(
        abs(x - y) < max(_SAME_AREA, 0.005 * max(x, y)) for x, y in zip(one, other, strict=True)
    )


def joint_details(
    model: Model, bench: Model, figures: Iterable[MemberFigures], lettered: Iterable[Lettered]
) -> tuple[JointDetail, ...]:
    """A detail for every different joint, in the model's order, under the letter that its parts bear."""
    sheets = {f.mark: f for f in figures}
    found: dict[tuple[str, ...], JointDetail] = {}
    for group in _alike_contacts(model, lettered):
        drawn = (g for g in group if _own_features(model, g[0]) == 2)
        joint, touches, letter = next(drawn, None) or max(group, key=lambda g: _own_features(model, g[0]))
        parts = _parts(model, joint)
        corners = _within_both(parts, [c for t in touches for c in t.corners])
        sizes = list(_figures_of(_parts(bench, joint), sheets, bench, joint))
        window, shown = _best_section(parts, corners, _way(parts, touches), sizes)
        stated = sorted({f.printed for n in _normals(parts) for f in _shown(n, parts, corners, sizes)})
        key = (joint.kind, *stated) if stated else (joint.kind, joint.name, letter)
        if key in found:
            found[key] = replace(found[key], alike=found[key].alike + len(group))
        else:
            found[key] = JointDetail(letter, joint, parts, window, shown, len(group))
    return tuple(found.values())


def _within_both(parts: Parts, corners: Sequence[Point]) -> list[Point]:
    """The corners moved into the boxes of both parts: of two faces in contact the larger may run far beyond."""
    boxes = [bounding_box(m.solid, i.frame) for m, i in parts]
    low = [max(b[0][k] for b in boxes) for k in range(3)]
    high = [max(low[k], min(b[1][k] for b in boxes)) for k in range(3)]
    return [
        (
            min(max(x, low[0]), high[0]),
            min(max(y, low[1]), high[1]),
            min(max(z, low[2]), high[2]),
        )
        for x, y, z in corners
    ]


def _parts(model: Model, joint: Joint) -> Parts:
    return model.instance(joint.members[0]), model.instance(joint.members[1])


def _own_features(model: Model, joint: Joint) -> int:
    """Of the parts of a joint, how many have what it cuts named after it: figures are of these."""
    return sum(any(f.joint == joint.name for f in m.features) for m, _ in _parts(model, joint))


# --- the sizes --------------------------------------------------------------------------------------------


def _figures_of(
    parts: Parts, sheets: Mapping[str, MemberFigures], bench: Model, joint: Joint
) -> Iterator[DetailFigure]:
    """Figures of what the joint cuts in the parts; in a part that is drawn where another joint of the kind is, of what
    that one cuts."""
    kinds = {j.name: j.kind for j in bench.joints}
    for member, instance in parts:
        own = {f.id for f in member.features if f.joint == joint.name}
        cut = own or {f.id for f in member.features if kinds.get(f.joint or "") == joint.kind}
        sheet = sheets.get(member.mark)
        for figure in sheet.figures if sheet else ():
            if figure.feature in cut and not figure.said_by:
                points = tuple(instance.frame.point(p) for p in figure.points)
                way = None if figure.direction is None else instance.frame.direction(figure.direction)
                axis = None
                if figure.kind == "diameter":
                    axis = instance.frame.direction(_axis(member, figure.feature))
                yield DetailFigure(member.mark, figure, points, way, axis)


def _is_here(figure: DetailFigure, projection: Projection, corners: Sequence[Point]) -> bool:
    """Whether both its ends lie at the joint as the section shows it: along the line of sight what a joint cuts may
    run on, as a groove does, and be figured at its end."""
    flat = [projection.flat(c) for c in corners]
    low, high = ([pick(q[k] for q in flat) for k in (0, 1)] for pick in (min, max))
    ends = [projection.flat(p) for p in figure.points]
    return all(low[k] - _REACH <= q[k] <= high[k] + _REACH for q in ends for k in (0, 1))


def _axis(member: Member, feature: str | None) -> Vec:
    """Of a hole, else of the round part itself."""
    hole = next((f.hole for f in member.features if f.id == feature), None)
    return (1.0, 0.0, 0.0) if hole is None else hole.axis


def _is_true(figure: DetailFigure, normal: Vec) -> bool:
    """Whether a section square to ``normal`` shows the size as it is."""
    points = figure.points
    match figure.figure.kind:
        case "linear" | "depth":
            return figure.direction is not None and abs(dot(figure.direction, normal)) < _TRUE
        case "diameter":
            return figure.axis is not None and abs(dot(figure.axis, normal)) < _ROUND
        case "radius":
            across = sub(points[1], points[0])
            return abs(dot(across, normal)) < _TRUE * length(across)
        case "angular":
            return False  # has no room at a joint: the part sheet has it


def _once(figures: Sequence[DetailFigure]) -> tuple[DetailFigure, ...]:
    """Each size once, though both parts' sheets state it: the first part's."""
    kept: list[DetailFigure] = []
    for figure in figures:
        if not any(_one_size(figure, k) for k in kept):
            kept.append(figure)
    return tuple(kept[:MOST_FIGURES])


def _one_size(a: DetailFigure, b: DetailFigure) -> bool:
    if a.direction is None or b.direction is None:
        return a.figure.kind == b.figure.kind and a.printed == b.printed
    if abs(dot(a.direction, b.direction)) < 1 - _TRUE:
        return False
    ends = [sorted(dot(a.direction, p) for p in f.points[:2]) for f in (a, b)]
    return all(abs(x - y) < _ONE_SIZE for x, y in zip(*ends, strict=True))


# --- the section ------------------------------------------------------------------------------------------


def _way(parts: Parts, touches: Sequence[Touch]) -> Vec:
    """The way one part enters the other: what the faces in contact look along, by their areas, in which the cheeks of
    a tenon cancel; the first part's length where all does."""
    out: Vec = (0.0, 0.0, 0.0)
    for t in touches:
        if len(t.ways_off) == 1:
            out = add(out, scale(t.ways_off[0], t.area))
    area = math.fsum(t.area for t in touches)
    return unit(out) if length(out) > _CANCELS * area else parts[0][1].frame.l


def _best_section(
    parts: Parts, corners: Sequence[Point], way: Vec, figures: Sequence[DetailFigure]
) -> tuple[Window, tuple[DetailFigure, ...]]:
    """Of planes square to the axes of the parts, and along the way in, the one that shows most sizes for its extent,
    then one that is seen edge-on in an elevation."""
    seen: list[tuple[Window, tuple[DetailFigure, ...], Vec]] = []
    for normal in _normals(parts):
        window = _window(_projection(normal, parts), parts, corners)
        seen.append((window, _shown(normal, parts, corners, figures), normal))
    sizes = [max(w.box[2] - w.box[0], w.box[3] - w.box[1]) for w, _, _ in seen]

    def cost(n: int) -> tuple[float, ...]:
        _, shown, normal = seen[n]
        worth = len(shown) - _OF_SIZE * math.log2(sizes[n] / min(sizes))
        across = float(abs(dot(normal, way)) > _ALONG)
        return (across, -round(worth, 3), -float(_in_a_view(normal)), round(sizes[n], 3), float(n))

    window, shown, _ = seen[min(range(len(seen)), key=cost)]
    return window, shown


def _shown(
    normal: Vec, parts: Parts, corners: Sequence[Point], figures: Sequence[DetailFigure]
) -> tuple[DetailFigure, ...]:
    """The sizes of the joint that a section square to ``normal`` shows."""
    projection = _projection(normal, parts)
    return _once([f for f in figures if _is_true(f, normal) and _is_here(f, projection, corners)])


def _normals(parts: Parts) -> list[Vec]:
    """Directions of the parts' axes and square to both their lengths, each once."""
    one, two = (i.frame for _, i in parts)
    ways = [*one.axes, *two.axes]
    if length(c := cross(one.l, two.l)) > 1e-3:
        ways.append(unit(c))
    found: list[Vec] = []
    for way in ways:
        if all(abs(dot(way, known)) < 1 - 1e-6 for known in found):
            found.append(way)
    return found


def _in_a_view(normal: Vec) -> int:
    """2: square to an elevation or the plan, or along one; 0 for a section that no view shows as a line."""
    return 2 if any(abs(dot(normal, v.toward)) < _TRUE for v in (FRONT, RIGHT, ABOVE)) else 0


def _projection(normal: Vec, parts: Parts) -> Projection:
    """Looking along the normal from the front, the right or above; up the paper whatever of the parts is nearest to
    upright, or the elevation's own up where the section is seen in it."""
    for view in (FRONT, RIGHT, LEFT, ABOVE):
        if dot(normal, view.toward) > 1 - _TRUE:
            return view
        if view is not LEFT and dot(normal, view.toward) < -1 + _TRUE:
            return view
    toward = normal if dot(normal, unit((0.45, -0.8, 0.4))) > 0 else neg(normal)
    level = abs(toward[2]) > _UPRIGHT
    up_world: Vec = (0.0, 1.0, 0.0) if level else (0.0, 0.0, 1.0)
    axes = [w for _, i in parts for a in i.frame.axes for w in (a, neg(a)) if abs(dot(a, toward)) < _TRUE]
    up = max(axes, key=lambda a: round(dot(a, up_world), 6), default=up_world)
    if dot(up, up_world) < _UPRIGHT:
        up = unit(sub(up_world, scale(toward, dot(up_world, toward))))
    return Projection(cross(up, toward), up, toward)


def _window(projection: Projection, parts: Parts, corners: Sequence[Point]) -> Window:
    xs, ys = zip(*(projection.flat(c) for c in corners), strict=True)
    joint = (min(xs), min(ys), max(xs), max(ys))
    round_it = min(max(_AROUND * max(joint[2] - joint[0], joint[3] - joint[1]), _LEAST_AROUND), _MOST_AROUND)
    box = (joint[0] - round_it, joint[1] - round_it, joint[2] + round_it, joint[3] + round_it)
    deep = max(box[2] - box[0], box[3] - box[1])
    flat = add(
        scale(projection.right, (joint[0] + joint[2]) / 2), scale(projection.up, (joint[1] + joint[3]) / 2)
    )
    windows = [
        Window(projection, add(flat, scale(projection.toward, level)), box, deep)
        for level in _levels(projection, parts, corners)
    ]
    # where both parts are cut within the joint itself, a tenon within its mortise; the first of levels as good
    within = [min(rough_area(m.solid, i.frame, w, joint) for m, i in parts) for w in windows]
    return windows[max(range(len(windows)), key=lambda n: (round(within[n] / max(1.0, *within), 1), -n))]


def _levels(projection: Projection, parts: Parts, corners: Sequence[Point]) -> list[float]:
    """Where along the line of sight the plane may lie: in the middle of the joint, else in the middle between faces
    that lie across it, the widest room first."""
    depths = [projection.depth(c) for c in corners]
    low, high = min(depths), max(depths)
    faces = sorted(
        plane.offset * dot(plane.normal, projection.toward)
        for member, instance in parts
        for form in member.solid.forms
        if isinstance(form, Plane)
        for plane in (form.placed(instance.frame),)
        if abs(dot(plane.normal, projection.toward)) > 1 - 1e-3
    )
    within = [low, *(f for f in faces if low < f < high), high]
    middle = (low + high) / 2
    gaps = [(a, b) for a, b in itertools.pairwise(within) if b - a > 2 * _CLEAR_OF_FACES]
    # of two as wide the upper or nearer one
    gaps.sort(key=lambda g: (round(g[0] - g[1], 3), -g[0]))
    clear = [middle] if all(abs(f - middle) > _CLEAR_OF_FACES for f in faces) else []
    return [*clear, *((a + b) / 2 for a, b in gaps[:_MOST_LEVELS])] or [middle + _CLEAR_OF_FACES]
