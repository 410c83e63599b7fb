"""Views laid on paper: the strokes of a projection at a scale, as marks.

A view knows its strokes in millimetres of the work; paper = origin + scale x view coordinates.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from plangen.drawing.close_lines import without_close_lines
from plangen.drawing.lettering import Box2
from plangen.drawing.mark_geometry import curves_box, moved
from plangen.drawing.marks import LineUse, Mark, Stroke, ViewOnSheet
from plangen.geometry import views
from plangen.geometry.curves import Arc, Bezier, Curve, EllipseArc, Line, Vec2
from plangen.geometry.hidden import draw_view
from plangen.geometry.merge import merged
from plangen.geometry.scene import Scene
from plangen.geometry.vectors import Point
from plangen.geometry.views import Projection
from plangen.tables.scales import Scale

SHORTEST = 0.05
"""Millimetres on paper: shorter strokes are not drawn."""
SMOOTH_GAP = 1.5
"""Millimetres a smooth edge stops short of its ends (from memory of ISO 128)."""
FINE_BELOW = 1 / 9
"""At smaller scales outlines are drawn 0.35 instead of 0.5."""


@dataclass(frozen=True)
class ProjectedView:
    """What is seen along one direction, in millimetres of the work."""

    name: str
    projection: Projection
    strokes: tuple[views.Stroke, ...]
    box: Box2
    """Of the strokes that are seen."""

    @property
    def width(self) -> float:
        return self.box[2] - self.box[0]

    @property
    def height(self) -> float:
        return self.box[3] - self.box[1]


def project_scene(scene: Scene, projection: Projection, name: str) -> ProjectedView:
    """The merged strokes of the scene. Raises ValueError for a scene of which nothing is seen."""
    strokes = merged(draw_view(scene, projection))
    box = curves_box(s.curve for s in strokes if s.visible)
    return ProjectedView(name, projection, strokes, box)


@dataclass(frozen=True)
class PaperView:
    """A projected view at a scale; its own origin is the projection's origin, so views of one scene that
    share a coordinate line up when their origins do."""

    view: ProjectedView
    scale: Scale
    marks: tuple[Mark, ...]

    @property
    def factor(self) -> float:
        return float(self.scale.ratio)

    @property
    def box(self) -> Box2:
        """Of the outline, paper millimetres about the view's origin."""
        x0, y0, x1, y1 = self.view.box
        k = self.factor
        return (x0 * k, y0 * k, x1 * k, y1 * k)

    def at(self, p: Point) -> Vec2:
        """Paper position of a point of the work, about the view's origin."""
        x, y = self.view.projection.flat(p)
        return (x * self.factor, y * self.factor)

    def placed(self, origin: Vec2) -> tuple[tuple[Mark, ...], ViewOnSheet]:
        """The marks with the view's origin at ``origin`` on the sheet, and where the view stands."""
        where = ViewOnSheet(self.view.name, self.factor, self.scale.ratio_text, origin)
        return tuple(moved(m, origin) for m in self.marks), where


def lay_view(view: ProjectedView, scale: Scale, hidden: bool, outline: LineUse | None = None) -> PaperView:
    """The view as marks at ``scale``; ``hidden``: hidden edges dashed. Of edges that would run together one stays."""
    k = float(scale.ratio)
    use = outline or ("fine outline" if k < FINE_BELOW else "outline")
    marks = [m for stroke in view.strokes if (m := _stroke_mark(stroke, k, use, hidden))]
    x0, y0, x1, y1 = view.box
    return PaperView(view, scale, without_close_lines(marks, (x0 * k, y0 * k, x1 * k, y1 * k)))


def _stroke_mark(stroke: views.Stroke, k: float, outline: LineUse, hidden: bool) -> Stroke | None:
    curve = scaled_curve(stroke.curve, k)
    size = curve_span(curve)
    if size < SHORTEST or (not stroke.visible and (not hidden or stroke.kind == "smooth")):
        return None
    if not stroke.visible:
        return Stroke((curve,), "hidden")
    if stroke.kind == "smooth":
        short = _shortened(curve, SMOOTH_GAP)
        return Stroke((short,), "narrow") if short else None
    return Stroke((curve,), outline)


def curve_span(curve: Curve) -> float:
    """Longer side of the box of a curve, mm."""
    x0, y0, x1, y1 = curves_box((curve,))
    return max(x1 - x0, y1 - y0)


def _shortened(curve: Curve, by: float) -> Curve | None:
    """The curve less ``by`` mm at either end, None where too little is left; closed curves stay whole."""
    if isinstance(curve, Bezier) or math.dist(curve.start, curve.end) < 1e-9:
        return curve
    length = _length(curve)
    if length < 3 * by:
        return None
    return curve_part(curve, by / length, 1 - by / length)


def _length(curve: Curve) -> float:
    points = [curve.at(i / 16) for i in range(17)]
    return math.fsum(math.dist(p, q) for p, q in itertools.pairwise(points))


def curve_part(curve: Line | Arc | EllipseArc, low: float, high: float) -> Curve:
    """The part of a curve between two of its parameters, both from 0 to 1."""
    if isinstance(curve, Line):
        return Line(curve.at(low), curve.at(high))
    first = curve.first + (curve.last - curve.first) * low
    last = curve.first + (curve.last - curve.first) * high
    return replace(curve, first=first, last=last)


def scaled_curve(curve: Curve, k: float) -> Curve:
    """The curve ``k`` times as large about the origin."""

    def scaled(p: Vec2) -> Vec2:
        return (p[0] * k, p[1] * k)

    match curve:
        case Line():
            return Line(scaled(curve.start), scaled(curve.end))
        case Arc():
            return replace(curve, centre=scaled(curve.centre), radius=curve.radius * k)
        case EllipseArc():
            return replace(
                curve, centre=scaled(curve.centre), major=scaled(curve.major), minor=scaled(curve.minor)
            )
        case Bezier():
            return Bezier(tuple(scaled(p) for p in curve.points))


def mirrored_curve(curve: Curve) -> Curve:
    """The curve mirrored left to right about the upright through the origin."""

    def across(p: Vec2) -> Vec2:
        return (-p[0], p[1])

    match curve:
        case Line():
            return Line(across(curve.start), across(curve.end))
        case Arc():
            return replace(
                curve, centre=across(curve.centre), first=math.pi - curve.first, last=math.pi - curve.last
            )
        case EllipseArc():
            return replace(
                curve, centre=across(curve.centre), major=across(curve.major), minor=across(curve.minor)
            )
        case Bezier():
            return Bezier(tuple(across(p) for p in curve.points))


def clipped_to_circle(
    strokes: Iterable[views.Stroke], centre: Vec2, radius: float
) -> tuple[views.Stroke, ...]:
    """The parts of the strokes within a circle, all in millimetres of the work."""
    found: list[views.Stroke] = []
    for stroke in strokes:
        curve = stroke.curve
        if isinstance(curve, Bezier):
            if all(math.dist(p, centre) <= radius for p in curve.points):
                found.append(stroke)
            continue
        cuts = [0.0, *_cuts(curve, centre, radius), 1.0]
        for low, high in itertools.pairwise(cuts):
            if high - low > 1e-9 and math.dist(curve.at((low + high) / 2), centre) < radius:
                found.append(replace(stroke, curve=curve_part(curve, low, high)))
    return tuple(found)


def _cuts(curve: Line | Arc | EllipseArc, centre: Vec2, radius: float) -> list[float]:
    """Parameters where a curve meets the circle, ascending."""
    if isinstance(curve, Line):
        (x, y), (ex, ey) = curve.start, curve.end
        dx, dy = ex - x, ey - y
        a = dx * dx + dy * dy
        b = (x - centre[0]) * dx + (y - centre[1]) * dy
        c = (x - centre[0]) ** 2 + (y - centre[1]) ** 2 - radius * radius
        under = b * b - a * c
        if a == 0 or under <= 0:
            return []
        root = math.sqrt(under)
        return [s for s in ((-b - root) / a, (-b + root) / a) if 0 < s < 1]

    reach = curve.radius if isinstance(curve, Arc) else math.hypot(*curve.major) + math.hypot(*curve.minor)
    apart = math.dist(curve.centre, centre)
    if apart > radius + reach or apart + reach < radius:
        return []

    def is_out(s: float) -> bool:
        return math.dist(curve.at(s), centre) >= radius

    found: list[float] = []
    out = [is_out(i / 64) for i in range(65)]
    for i in range(64):
        if out[i] == out[i + 1]:
            continue
        low, high = i / 64, (i + 1) / 64
        for _ in range(50):
            middle = (low + high) / 2
            if is_out(middle) == out[i]:
                low = middle
            else:
                high = middle
        found.append(low)
    return found
