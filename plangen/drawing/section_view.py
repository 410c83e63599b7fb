"""A section on paper: what the plane cuts, hatched so that parts and kinds of stuff are told apart, and what is seen
behind it.

End grain at 45 degrees or so; long grain in few lines along the fibre, unevenly; sheet goods in lines along the plies;
metal in close pairs. Parts that touch differ in angle or in pitch. What only holds parts together (screws, bolts,
dowels, wedges, loose tenons) stays white when it is cut lengthwise. Where a part runs on, it ends in a break line.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

from plangen.dimensioning.joint_details import JointDetail
from plangen.drawing.lettering import Box2, text_box
from plangen.drawing.mark_geometry import curves_box, drawn, extent, polyline
from plangen.drawing.marks import Lettering, Mark, Stroke
from plangen.drawing.occupied import Occupied
from plangen.drawing.view_on_paper import PaperView, ProjectedView, curve_span, lay_view, scaled_curve
from plangen.geometry.clash import bounding_box
from plangen.geometry.curves import Curve, Line, Vec2
from plangen.geometry.hatching import hatch, in_bands, is_inside, loop_points, lowest, off_rings
from plangen.geometry.hidden import draw_merged, prepare
from plangen.geometry.section import Cut, Window, cut_by
from plangen.geometry.slices import Loop
from plangen.geometry.vectors import Vec, cross, dot
from plangen.geometry.views import Stroke as Seen
from plangen.joinery.building import cutters_of
from plangen.joinery.model import Driven, Instance, Member, Model
from plangen.tables.scales import Scale

Stuff: TypeAlias = Literal["end grain", "long grain", "sheet", "metal", "not hatched"]

LETTERS = 3.5
_ON = 1e-3
"""Millimetres of the work: a stroke as near as this to a line lies on it."""
_TOUCHING = 0.5
_ANGLES = (45.0, 135.0, 30.0, 120.0, 60.0, 150.0)
_PITCHES = (1.0, 1.5, 2.0, 2.6)
"""By which touching parts differ, and by how much where the fibre gives the angle."""
_END, _LONG, _PLY, _METAL = (2.0,), (1.7, 2.6, 1.4, 3.1, 2.1), (1.3,), (0.8, 1.6)
"""Millimetres on paper from line to line."""
_STRAIGHT_IN = math.cos(math.radians(45))
_LETTER_ROOM = 1.2
"""Millimetres on paper between a letter and the lines round it."""
_ZIGZAG, _LEAST_BROKEN = 1.5, 8.0
_LENGTHWISE = 0.3
"""Sine of the angle to the plane within which something is cut lengthwise."""


@dataclass(frozen=True)
class HatchStyle:
    """How a cut face is hatched: what of, at which angle on paper (degrees, 0 to 180), with which gaps, mm."""

    stuff: Stuff
    degrees: float
    gaps: tuple[float, ...]


@dataclass(frozen=True)
class CutPart:
    """A part as a section cuts it."""

    member: Member
    instance: Instance
    cut: Cut
    style: HatchStyle


@dataclass(frozen=True)
class SectionView:
    """A detail's section in millimetres of the work."""

    detail: JointDetail
    parts: tuple[CutPart, ...]
    """What the plane cuts, the parts of the joint first."""
    view: ProjectedView
    """The edges behind the plane; its box is that of all that is shown."""
    axes: tuple[Line, ...]
    """Of fasteners that lie in the plane."""


def section_view(model: Model, detail: JointDetail) -> SectionView:
    window = detail.window
    found = list(_cut_parts(model, detail))
    styles = _styles(found, window)
    parts = tuple(CutPart(m, i, c, s) for (m, i, c), s in zip(found, styles, strict=True))
    edges = _edges_behind([c for _, _, c in found], window)
    curves = [*(s.curve for s in edges), *(c for p in parts for loop in p.cut.loops for c in loop.curves)]
    view = ProjectedView(f"section {detail.letter}", window.projection, edges, curves_box(curves))
    return SectionView(detail, parts, view, tuple(_fastener_axes(model.driven, window)))


def _cut_parts(model: Model, detail: JointDetail) -> Iterator[tuple[Member, Instance, Cut]]:
    """What stands in the window and is cut by its plane, the parts of the joint first."""
    window, own = detail.window, set(detail.joint.members)
    shown = _window_box(window)
    standing = [(m, i) for m in model.members if m.role != "jig" for i in m.instances]
    for member, instance in sorted(standing, key=lambda s: s[1].name not in own):
        low, high = bounding_box(member.solid, instance.frame)
        if any(low[k] > shown[1][k] or high[k] < shown[0][k] for k in range(3)):
            continue
        cut = cut_by(member.blank, cutters_of(member.features), instance.frame, window)
        if cut is not None and cut.loops:
            yield member, instance, cut


def _window_box(window: Window) -> tuple[list[float], list[float]]:
    """In the world, about the window."""
    x0, y0, x1, y1 = window.box
    corners = [window.frame.point((x, y, t)) for x in (x0, x1) for y in (y0, y1) for t in (0.0, -window.deep)]
    return [min(c[k] for c in corners) for k in range(3)], [max(c[k] for c in corners) for k in range(3)]


# --- hatching ---------------------------------------------------------------------------------------------


def _styles(parts: Sequence[tuple[Member, Instance, Cut]], window: Window) -> list[HatchStyle]:
    """For each part the first style that no part before it has that it touches."""
    rings = [[loop_points(loop) for loop in cut.loops] for _, _, cut in parts]
    styles: list[HatchStyle] = []
    for n, (member, instance, _) in enumerate(parts):
        taken = [s for k, s in enumerate(styles) if _touch(rings[k], rings[n])]
        choices = list(_choices(member, instance, window))
        styles.append(next((c for c in choices if not any(share_a_hatch(c, t) for t in taken)), choices[0]))
    return styles


def share_a_hatch(a: HatchStyle, b: HatchStyle) -> bool:
    """Whether two cut faces look as if they were of one piece: lines at one angle and pitch."""
    if "not hatched" in (a.stuff, b.stuff):
        return False
    turn = abs(a.degrees - b.degrees) % 180
    pitch = (sum(s.gaps) / len(s.gaps) for s in (a, b))
    one, other = sorted(pitch)
    return min(turn, 180 - turn) < 14 and other < 1.3 * one


def _touch(a: Sequence[Sequence[Vec2]], b: Sequence[Sequence[Vec2]]) -> bool:
    return any(off_rings(b, p) < _TOUCHING for ring in a for p in _close_points(ring)) or any(
        off_rings(a, p) < _TOUCHING for ring in b for p in _close_points(ring)
    )


def _close_points(ring: Sequence[Vec2]) -> Iterator[Vec2]:
    """Corners and points between them."""
    for (ax, ay), (bx, by) in zip(ring, [*ring[1:], ring[0]], strict=True):
        yield from ((ax + (bx - ax) * k / 4, ay + (by - ay) * k / 4) for k in range(4))


def _choices(member: Member, instance: Instance, window: Window) -> Iterator[HatchStyle]:
    stuff, along = stuff_cut(member, instance, window.projection.toward)
    p = window.projection
    degrees = math.degrees(math.atan2(dot(p.up, along), dot(p.right, along))) % 180
    match stuff:
        case "end grain":
            for k, angle in itertools.product(_PITCHES, _ANGLES):
                yield HatchStyle(stuff, angle, tuple(g * k for g in _END))
        case "metal":
            yield from (HatchStyle(stuff, angle, _METAL) for angle in _ANGLES)
        case "not hatched":
            yield HatchStyle(stuff, 0.0, ())
        case _:
            gaps = _PLY if stuff == "sheet" else _LONG
            yield from (HatchStyle(stuff, degrees, tuple(g * k for g in gaps)) for k in _PITCHES)


def stuff_cut(member: Member, instance: Instance, normal: Vec) -> tuple[Stuff, Vec]:
    """What a plane square to ``normal`` cuts of a part, and a direction in the world that its lines follow."""
    frame = instance.frame
    if member.role == "bought":
        return "metal", frame.l
    if member.name.startswith("loose tenon") and abs(dot(frame.l, normal)) < _LENGTHWISE:
        return "not hatched", frame.l
    if member.stock.kind == "sheet" and abs(dot(frame.t, normal)) < _STRAIGHT_IN:
        return "sheet", cross(frame.t, normal)
    grain = frame.l if member.grain == "length" else frame.w
    if abs(dot(grain, normal)) > _STRAIGHT_IN:
        return "end grain", grain
    return "long grain", grain


# --- lines ------------------------------------------------------------------------------------------------


def _edges_behind(cuts: Sequence[Cut], window: Window) -> tuple[Seen, ...]:
    """Edges that are seen, but for those of the cut faces and of the window's own sides."""
    strokes = draw_merged(prepare([(c.solid, c.frame) for c in cuts]), window.projection)
    rings = [loop_points(loop) for c in cuts for loop in c.loops]
    return tuple(
        s
        for s in strokes
        if s.visible and not _on_border(s.curve, window.box) and not _on_rings(s.curve, rings)
    )


def _on_border(curve: Curve, box: Box2) -> bool:
    points = [curve.at(k / 4) for k in range(5)]
    return any(
        all(abs(p[axis] - at) < _ON for p in points) for at, axis in zip(box, (0, 1, 0, 1), strict=True)
    )


def _on_rings(curve: Curve, rings: Sequence[Sequence[Vec2]]) -> bool:
    near = 0.05 if not isinstance(curve, Line) else 10 * _ON
    return bool(rings) and all(off_rings(rings, curve.at(k / 4)) < near for k in range(5))


def _fastener_axes(driven: Sequence[Driven], window: Window) -> Iterator[Line]:
    """From head to point of what lies in the plane, as far as the window shows it."""
    p = window.projection
    x0, y0, x1, y1 = window.box
    for d in driven:
        off = abs(p.depth(d.head) - p.depth(window.at))
        if abs(dot(d.into, p.toward)) > _LENGTHWISE or off > d.radius:
            continue
        a, b = p.flat(d.head), p.flat(d.far)
        if all(x0 < q[0] < x1 and y0 < q[1] < y1 for q in (a, b)):
            yield Line(a, b)


# --- on paper ---------------------------------------------------------------------------------------------


def lay_section(section: SectionView, scale: Scale) -> PaperView:
    """The lines of the section at a scale, without letters and hatching: edges behind, cut outlines, axes."""
    k = float(scale.ratio)
    behind = lay_view(section.view, scale, hidden=False, outline="outline")
    outlines = [m for p in section.parts for m in _cut_outline(p.cut.loops, section.detail.window.box, k)]
    axes = [Stroke((scaled_curve(a, k),), "centre") for a in section.axes]
    return replace(behind, marks=(*behind.marks, *outlines, *axes))


def hatching(section: SectionView, k: float, written: Sequence[Mark]) -> tuple[Stroke, ...]:
    """Of all cut faces, paper over work ``k``; it stops round what is written."""
    off = [_room(m) for m in drawn(written) if isinstance(m, Lettering)]
    lines = [line for p in section.parts for line in hatch_lines(paper_rings(p, k), p.style, off)]
    return tuple(Stroke((line,), "narrow") for line in lines)


def hatch_lines(rings: Sequence[Sequence[Vec2]], style: HatchStyle, off: Sequence[Box2]) -> Iterator[Line]:
    """The lines of a style over what the rings bound; of sheet goods every second ply is hatched too."""
    if not style.gaps:
        return
    yield from hatch(rings, style.degrees, style.gaps, off)
    if style.stuff == "sheet":
        start, gap = lowest(rings, style.degrees), style.gaps[0]
        for line in hatch(rings, style.degrees + 45.0, (1.4 * gap,), off):
            yield from in_bands(line, style.degrees, start, gap)


def paper_rings(part: CutPart, k: float) -> list[list[Vec2]]:
    return [[(x * k, y * k) for x, y in loop_points(loop)] for loop in part.cut.loops]


def part_letters(section: SectionView, k: float, occupied: Occupied) -> list[Lettering]:
    """The letter of each part, once, where one of its cut faces has most room for it."""
    best: dict[str, tuple[float, Lettering]] = {}
    for part in section.parts:
        mark = part.member.mark
        found = _letter(mark, paper_rings(part, k), occupied)
        if found is not None and (mark not in best or found[0] > best[mark][0]):
            best[mark] = found
    return [letter for _, letter in best.values()]


def _letter(mark: str, rings: Sequence[Sequence[Vec2]], occupied: Occupied) -> tuple[float, Lettering] | None:
    """The letter as far as can be from the sides of the cut face, clear of all lines, and how far; None where it has
    no room."""
    x0, y0, x1, y1 = text_box(mark, LETTERS)
    half = math.hypot(x1 - x0, y1 - y0) / 2 + _LETTER_ROOM
    xs, ys = zip(*(p for ring in rings for p in ring), strict=True)
    steps = [(i + 0.5) / 12 for i in range(12)]
    spots = [
        (min(xs) + (max(xs) - min(xs)) * a, min(ys) + (max(ys) - min(ys)) * b) for a in steps for b in steps
    ]
    inside = [(round(off_rings(rings, p), 3), p) for p in spots if is_inside(rings, p)]
    for room, (x, y) in sorted(inside, reverse=True):
        letter = Lettering(mark, (x, y - (y0 + y1) / 2), LETTERS, "middle", fractions=False)
        if room >= half and occupied.text_is_free(letter, _LETTER_ROOM):
            return room, letter
    return None


def _room(text: Lettering) -> Box2:
    x0, y0, x1, y1 = extent(text)
    by = _LETTER_ROOM
    return (x0 - by, y0 - by, x1 + by, y1 + by)


def _cut_outline(loops: Sequence[Loop], box: Box2, k: float) -> Iterator[Mark]:
    for curve in (c for loop in loops for c in loop.curves):
        line = scaled_curve(curve, k)
        if curve_span(line) < 0.05:
            continue
        if _on_border(curve, box) and isinstance(line, Line):
            yield Stroke(_broken(line), "narrow")
        else:
            yield Stroke((line,), "cut outline")


def _broken(line: Line) -> tuple[Line, ...]:
    """A break line: narrow, with a zigzag in its middle where it is long enough."""
    size = math.dist(line.start, line.end)
    if size < _LEAST_BROKEN:
        return (line,)
    ux, uy = (line.end[0] - line.start[0]) / size, (line.end[1] - line.start[1]) / size
    z = _ZIGZAG

    def at(along: float, across: float) -> Vec2:
        return (line.start[0] + ux * along - uy * across, line.start[1] + uy * along + ux * across)

    m = size / 2
    return polyline(line.start, at(m - z, 0.0), at(m - z / 2, z), at(m + z / 2, -z), at(m + z, 0.0), line.end)
