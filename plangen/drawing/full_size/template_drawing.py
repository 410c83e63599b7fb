"""A member's template as a drawing at full size: what is traced, pricked through and marked, face side up.

The outline that is cut is heavy. Of a beveled edge both outlines stand there, with which to follow; pockets are
dashed, with their depth; holes are crosses with their size. Centre lines stand where the outline is its own mirror
image.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from plangen.dimensioning.rounding import exact_style
from plangen.drawing.face_marks import face_edge_mark, face_side_mark
from plangen.drawing.full_size.drawing import FullSize, cross
from plangen.drawing.marks import Lettering, LineUse, Mark, Stroke
from plangen.geometry.curves import Curve, Line, Vec2
from plangen.geometry.outline_boxes import curve_box
from plangen.geometry.surfaces import Plane
from plangen.machining.template import SHAPINGS, Contour, Follow, Template
from plangen.units import UnitStyle, length_text, length_text_with_unit

FOLLOWED: dict[Follow, str] = {
    "both sides": "",
    "face side": "Follow the heavy line, on the face side{then}; dashed is the outline on the back.",
    "back": "Follow the heavy line, the back's{then}; dashed is the outline on the face side.",
    "outside of both": "Follow the heavy line, outside of both faces{then}; dashed is the outline on the face side, "
    "chain the one on the back.",
}
"""Which of two outlines is cut, and what the other is."""
_BEVEL = ": cut square through, then bevel to the other"
_LINES: dict[str, LineUse] = {
    "through outside": "outline",
    "through inside": "outline",
    "face outline": "hidden",
    "back outline": "phantom",
    "pocket": "hidden",
    "score": "narrow",
    "mark": "narrow",
}
_NOT_CUT = ("face outline", "back outline")
_LEANS = 1e-3
_LETTERS = 2.5
_SAME = 1e-3
_LEAST_EDGE = 30.0
"""Millimetres of straight face edge that the marks of faces stand on."""


def is_traced(template: Template) -> bool:
    """More than a rule and a bevel draw: curves, or more than four sides."""
    cut = [c for c in template.contours if c.operation in ("through outside", "through inside")]
    curved = any(not isinstance(curve, Line) for contour in cut for curve in contour.curves)
    return curved or len(template.outline.curves) > 4


def template_drawing(template: Template, style: UnitStyle) -> FullSize:
    """The template of one hand."""
    member = template.member
    hand = f", {template.hand} hand" if template.hand else ""
    count = "" if template.quantity == 1 else f", make {template.quantity}"
    lines = tuple(c for k in template.contours if k.operation in _LINES for c in k.curves)
    bored = [k for k in template.contours if k.operation == "bore" and k.circle is not None]
    says = [_followed(template), *_left_on(template, style)]
    return FullSize(
        mark=member.mark,
        title=f"{member.name}{hand}{count}",
        marks=(
            *_outlines(template),
            *(m for k in bored for m in _hole(k, member.finished[2], style)),
            *_depths(template, style),
            *_centre_lines(template.outline.curves),
            *_face_marks(template.outline.curves),
        ),
        lines=(*lines, *(k.curves[0] for k in bored)),
        spots=tuple(k.circle.centre for k in bored if k.circle is not None),
        face="FACE SIDE UP",
        says=tuple(s for s in says if s),
    )


def _outlines(template: Template) -> Iterator[Mark]:
    for contour in template.contours:
        use = _LINES.get(contour.operation)
        if use is None:
            continue
        if template.follow == "face side" and contour.operation == "back outline":
            use = "hidden"
        yield Stroke(contour.curves, use, contour.closed)


def _followed(template: Template) -> str:
    """Beveled only where a side leans; else the outlines differ by what is sunk from one face."""
    if not _other_outlines(template):
        return ""
    leans = any(
        isinstance(s.form, Plane) and _LEANS < abs(s.form.normal[2]) < 1 - _LEANS
        for f in template.member.features
        if f.kind in SHAPINGS or f.kind == "mitre"
        for s in f.surfaces
    )
    return FOLLOWED[template.follow].format(then=_BEVEL if leans else "")


def _other_outlines(template: Template) -> list[Contour]:
    """Outlines of face side and back that are not the cut one: openings that differ do not count."""
    cut = _box(template.outline.curves), len(template.outline.curves)
    found = []
    for operation in _NOT_CUT:
        loops = [c for c in template.contours if c.operation == operation]
        if loops:
            outer = max(loops, key=lambda c: _area(_box(c.curves)))
            box, sides = _box(outer.curves), len(outer.curves)
            if sides != cut[1] or max(abs(a - b) for a, b in zip(box, cut[0], strict=True)) > _SAME:
                found.append(outer)
    return found


def _area(box: tuple[float, float, float, float]) -> float:
    return (box[2] - box[0]) * (box[3] - box[1])


def _left_on(template: Template, style: UnitStyle) -> Iterator[str]:
    for end, left in zip("AB", template.member.allowance, strict=True):
        if left:
            yield f"End {end} is fitted on the work: leave {length_text_with_unit(left, style)} on."


def _hole(contour: Contour, thick: float, style: UnitStyle) -> Iterator[Mark]:
    circle = contour.circle
    assert circle is not None
    assert contour.depth is not None
    deep = "" if contour.depth > thick - _SAME else f", {length_text(contour.depth, style)} deep"
    (x, y), r = circle.centre, circle.radius
    yield cross(circle.centre, max(r + 2, 4.0))
    yield Stroke((circle,), "narrow", True)
    bore = length_text(2 * r, exact_style(2 * r, style))
    yield Lettering(f"Ø {bore}{deep}", (x + r + 1.0, y + 1.0), _LETTERS)


def _depths(template: Template, style: UnitStyle) -> Iterator[Mark]:
    for contour in template.contours:
        if contour.operation == "pocket" and contour.depth is not None:
            x0, y0, x1, y1 = _box(contour.curves)
            text = f"{length_text(contour.depth, style)} deep"
            turn = 90.0 if y1 - y0 > x1 - x0 else 0.0
            off = _LETTERS / 2
            at = ((x0 + x1) / 2 + (off if turn else 0), (y0 + y1) / 2 - (0 if turn else off))
            yield Lettering(text, at, _LETTERS, "middle", turn)


def _box(curves: Sequence[Curve]) -> tuple[float, float, float, float]:
    boxes = [curve_box(c) for c in curves]
    return (
        min(b[0] for b in boxes),
        min(b[1] for b in boxes),
        max(b[2] for b in boxes),
        max(b[3] for b in boxes),
    )


def _centre_lines(curves: Sequence[Curve]) -> Iterator[Mark]:
    """Across the middle of length and width, each where the outline is the same on both sides of it."""
    x0, y0, x1, y1 = _box(curves)
    over = 4.0
    for axis, line in (
        (0, Line(((x0 + x1) / 2, y0 - over), ((x0 + x1) / 2, y1 + over))),
        (1, Line((x0 - over, (y0 + y1) / 2), (x1 + over, (y0 + y1) / 2))),
    ):
        if _is_mirrored(curves, axis, (x0 + x1, y0 + y1)[axis]):
            yield Stroke((line,), "centre")


def _is_mirrored(curves: Sequence[Curve], axis: int, twice: float) -> bool:
    points = [p for c in curves for p in (c.start, c.at(0.5))]

    def key(p: Vec2) -> tuple[float, float]:
        return (round(p[0], 3) + 0.0, round(p[1], 3) + 0.0)

    other = [(twice - x, y) if axis == 0 else (x, twice - y) for x, y in points]
    return all(any(abs(a - p[0]) < 2e-3 and abs(b - p[1]) < 2e-3 for p in points) for a, b in map(key, other))


def _face_marks(curves: Sequence[Curve]) -> Iterator[Mark]:
    """On the longest straight stretch of the face edge: the loop of the face side, the V of the face edge."""
    edges = [
        (round(abs(c.end[0] - c.start[0]), 6), (c.start[0] + c.end[0]) / 2)
        for c in curves
        if isinstance(c, Line) and max(abs(c.start[1]), abs(c.end[1])) < _SAME
    ]
    if edges and max(edges)[0] >= _LEAST_EDGE:
        x = max(edges)[1] + 8.0
        yield face_side_mark((x, 0.0), (0.0, 1.0))
        yield face_edge_mark((x, 0.0), (0.0, -1.0))
