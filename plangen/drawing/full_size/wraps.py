"""Strips of paper that are folded over arrises: round a leg that a slanting notch cuts, over the end of a dovetail.

Lines on the strip are the edges of the finished cut on each side of the piece, folds its arrises; each hand that the
piece has gets its own strip. Only where a line on some side runs neither along the piece nor square across it: what is
square is squared round.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from plangen.drawing.full_size.drawing import FullSize
from plangen.drawing.lettering import text_width
from plangen.drawing.mark_geometry import polyline
from plangen.drawing.marks import Lettering, Mark, Stroke
from plangen.geometry.curve_windows import turned_curve
from plangen.geometry.curves import Curve, Vec2, mirrored
from plangen.geometry.surfaces import Extruded, Form, Plane
from plangen.geometry.unfolding import (
    Fold,
    Panel,
    at_height,
    edges_on,
    is_square,
    side_plane,
    span_along,
    unfolded,
)
from plangen.geometry.vectors import Point, Vec
from plangen.joinery.model import Feature, Hand, Member
from plangen.machining.template_edges import cutters_of
from plangen.units import MM_PER_INCH, UnitStyle, length_text_with_unit

_UP: Vec = (1.0, 0.0, 0.0)
_ROUND_IT: tuple[tuple[str, Vec], ...] = (
    ("BACK EDGE", (0.0, 1.0, 0.0)),
    ("FACE SIDE", (0.0, 0.0, 1.0)),
    ("FACE EDGE", (0.0, -1.0, 0.0)),
    ("BACK", (0.0, 0.0, -1.0)),
)
"""The sides from left to right as they are seen from outside with end B up."""
_NOTCHED = ("notch", "half lap", "housing", "birdsmouth", "edge lap")
_TAILED = ("tails", "pins", "dovetail", "dovetail lap")
_WIDEST = 130.0
"""Millimetres: a wider piece is a board, marked with a rule."""
_STOUT = 0.4
"""Thickness over width: a thinner piece is a board."""
_ON = 1e-3
_BEYOND = 12.0
"""Of the strip over and under what is marked."""
_FLAP = 12.0
_APART = 3.0
"""Cuts that run into one another along the piece, or nearly, are on one strip."""
_LETTERS = 2.5


@dataclass(frozen=True)
class _Cut:
    """What is drawn on the strip for features that lie together."""

    features: tuple[Feature, ...]
    lines: tuple[tuple[Curve, ...], ...]
    """For each side."""
    low: float
    high: float


def wraps(members: Sequence[Member], style: UnitStyle) -> Iterator[FullSize]:
    """Every strip that goes round a piece, then every block that goes over an end."""
    for member in members:
        if member.role == "work" and not member.is_round and _is_leg(member):
            yield from _round(member, style)
    for member in members:
        if member.role == "work" and not member.is_round:
            yield from _over_ends(member)


def _is_leg(member: Member) -> bool:
    _, wide, thick = member.finished
    return max(wide, thick) <= _WIDEST and min(wide, thick) >= _STOUT * max(wide, thick)


def _round(member: Member, style: UnitStyle) -> Iterator[FullSize]:
    features = [f for f in member.features if f.kind in _NOTCHED]
    found = [side_plane(member.solid, way) for _, way in _ROUND_IT]
    planes = [p for p in found if p is not None]
    if not features or len(planes) < len(_ROUND_IT):
        return
    panels, _ = unfolded(planes, _UP)
    for cut in _together([c for f in features if (c := _cut(member, (f,), panels)) is not None]):
        if sum(bool(lines) for lines in cut.lines) > 1 and not all(
            is_square(c) for lines in cut.lines for c in lines
        ):
            for hand in _hands(member):
                yield _strip(member, cut, planes, hand, style)


def _hands(member: Member) -> list[Hand | None]:
    """The drawn hand first."""
    hands = {i.hand for i in member.instances}
    return [member.drawn, *sorted(h for h in hands if h is not None and h != member.drawn)]


def _cut(member: Member, features: tuple[Feature, ...], panels: Sequence[Panel]) -> _Cut | None:
    forms: list[Form] = [s.form for f in features for s in f.surfaces]
    cutters = [c for f in features for c in cutters_of(member, f)]
    lines = tuple(
        tuple(edges_on(member.solid, p, forms, lambda at: any(_bounds(c, at) for c in cutters)))
        for p in panels
    )
    every = [c for side in lines for c in side]
    return _Cut(features, lines, *span_along(every)) if every else None


def _bounds(cutter: Sequence[Form], at: Point) -> bool:
    """Whether a point lies in a cutter or on it."""
    return all(isinstance(form, Extruded) or form.distance(at) > -_ON for form in cutter)


def _together(cuts: Sequence[_Cut]) -> list[_Cut]:
    """Cuts that lie near one another along the piece as one."""
    found: list[_Cut] = []
    for cut in sorted(cuts, key=lambda c: (round(c.low, 6), round(c.high, 6))):
        if found and cut.low - found[-1].high < _APART:
            last = found.pop()
            lines = tuple((*a, *b) for a, b in zip(last.lines, cut.lines, strict=True))
            cut = _Cut((*last.features, *cut.features), lines, last.low, max(last.high, cut.high))
        found.append(cut)
    return found


def _strip(
    member: Member, cut: _Cut, planes: Sequence[Plane], hand: Hand | None, style: UnitStyle
) -> FullSize:
    step = 10.0 if style.length == "mm" else float(MM_PER_INCH) / 2
    low = max(0.0, math.floor((cut.low - _BEYOND) / step) * step)
    high = min(member.finished[0], cut.high + _BEYOND)
    sides = _run([bool(lines) for lines in cut.lines])
    panels, folds = unfolded([planes[i] for i in sides], _UP)
    again = _cut(member, cut.features, panels)
    assert again is not None
    borders = _borders(panels, folds, planes, sides, (low, high))
    ring = [*(b[0] for b in borders), *(b[1] for b in reversed(borders)), borders[0][0]]
    strokes = [
        Stroke(polyline(*ring), "narrow"),
        *(Stroke(polyline(*b), "phantom") for b in borders[1:-1]),
        *(Stroke((c,), "outline") for side in again.lines for c in side),
    ]
    names = [_ROUND_IT[i][0] for i in sides]
    glued = len(sides) == len(planes)
    mirror = hand != member.drawn
    if mirror:
        strokes = [Stroke(tuple(mirrored(c, 0.0) for c in s.curves), s.use) for s in strokes]
    kinds = " and ".join(dict.fromkeys(f.kind for f in cut.features))
    at = "at end A" if low == 0.0 else f"{length_text_with_unit(low, style)} from end A"
    hand_text = f", {hand} hand" if hand else ""
    return FullSize(
        mark=member.mark,
        title=f"{member.name}{hand_text}: {kinds}, to wrap round",
        marks=(*strokes, *_words(borders, (*names, *(["GLUE"] if glued else [])), mirror)),
        lines=tuple(c for s in strokes for c in s.curves),
        says=(
            f"Fold outward on the chain lines, each fold on its arris, lower edge {at}, end B up; tape, knife heavy "
            "lines.",
        ),
    )


def _run(has: Sequence[bool]) -> list[int]:
    """The shortest run of sides round the piece, in order, that has all sides with lines."""
    n = len(has)
    runs = [[(i + k) % n for k in range(size)] for size in range(2, n + 1) for i in range(n)]
    return next(r for r in runs if all(i in r for i in range(n) if has[i]))


def _borders(
    panels: Sequence[Panel], folds: Sequence[Fold], planes: Sequence[Plane], sides: Sequence[int], span: Vec2
) -> list[tuple[Vec2, Vec2]]:
    """Upright lines of the strip from its lower to its upper edge: its left end, the folds, its right end; where it
    goes all the way round, a flap after that."""
    n = len(planes)

    def line(panel: Panel, fold: Fold) -> tuple[Vec2, Vec2]:
        a, b = (panel.flat(at_height(fold, h, _UP)) for h in span)
        return a, b

    _, before = unfolded([planes[(sides[0] - 1) % n], planes[sides[0]]], _UP)
    _, after = unfolded([planes[sides[-1]], planes[(sides[-1] + 1) % n]], _UP)
    lines = [
        line(panels[0], before[0]),
        *(line(p, f) for p, f in zip(panels, folds, strict=False)),
        line(panels[-1], after[0]),
    ]
    if len(sides) == n:
        (x0, y0), (x1, y1) = lines[-1]
        lines.append(((x0 + _FLAP, y0), (x1 + _FLAP, y1)))
    return lines


def _words(borders: Sequence[tuple[Vec2, Vec2]], names: Sequence[str], mirror: bool) -> Iterator[Mark]:
    """The name of each side near its lower edge."""
    for (a, _), (b, _), name in zip(borders, borders[1:], names, strict=False):
        room = abs(b[0] - a[0])
        x = (a[0] + b[0]) / 2
        x = -x if mirror else x
        y = max(a[1], b[1])
        if text_width(name, _LETTERS) < room - 2:
            yield Lettering(name, (x, y + 1.5), _LETTERS, "middle")
        else:
            yield Lettering(name, (x + _LETTERS / 2, y + 2.0), _LETTERS, "left", 90.0)


# --- over an end ------------------------------------------------------------------------------------------------


def _over_ends(member: Member) -> Iterator[FullSize]:
    """A block for each end that has tails or pins; ends alike get one."""
    seen: set[tuple[tuple[float, ...], ...]] = set()
    for end, way in (("A", -1.0), ("B", 1.0)):
        found = [side_plane(member.solid, w) for w in ((0.0, 0.0, 1.0), (way, 0.0, 0.0), (0.0, 0.0, -1.0))]
        planes = [p for p in found if p is not None]
        if len(planes) < len(found):
            continue
        # the piece's width runs up: toward the back edge at end A, toward the face edge at end B
        panels, folds = unfolded(planes, (0.0, -way, 0.0))
        features = tuple(
            f
            for f in member.features
            if f.kind in _TAILED and _is_near(_cut(member, (f,), panels), folds, member.finished[0] / 2)
        )
        cut = _cut(member, features, panels) if features else None
        if cut is None:
            continue
        key = tuple(
            sorted(
                tuple(round(v, 3) + 0.0 for p in sorted((c.start, c.end)) for v in p)
                for side in cut.lines
                for c in side
            )
        )
        if key not in seen:
            seen.add(key)
            yield _block(member, cut, folds, end)


def _is_near(cut: _Cut | None, folds: Sequence[Fold], reach: float) -> bool:
    """Whether all that is cut lies within ``reach`` of an end, across whose panel the folds stand."""
    if cut is None:
        return False
    xs = [p[0] for side in cut.lines for c in side for p in (c.start, c.end)]
    return min(xs) > folds[0].at[0] - reach and max(xs) < folds[-1].at[0] + reach


def _block(member: Member, cut: _Cut, folds: Sequence[Fold], end: str) -> FullSize:
    lines = [c for side in cut.lines for c in side]
    xs = [p[0] for c in lines for p in (c.start, c.end)]
    low, high = (0.0, member.finished[1]) if end == "A" else (-member.finished[1], 0.0)
    left, right = min(xs) - _BEYOND, max(xs) + _BEYOND
    ring = [(left, low), (right, low), (right, high), (left, high), (left, low)]
    quarter = (0.0, 1.0)
    marks: list[Stroke] = [
        Stroke(polyline(*ring), "narrow"),
        *(Stroke(polyline((f.at[0], low), (f.at[0], high)), "phantom") for f in folds),
        *(Stroke((c,), "outline") for c in lines),
    ]
    turned = [Stroke(tuple(turned_curve(c, quarter) for c in m.curves), m.use) for m in marks]
    middle = (low + high) / 2
    names = (
        ("FACE SIDE", left + 1.5),
        ("END", (folds[0].at[0] + folds[1].at[0]) / 2 - _LETTERS / 2),
        ("BACK", right - 1.5 - _LETTERS),
    )
    words = [Lettering(n, (-middle, x), _LETTERS, "middle") for n, x in names]
    kinds = " and ".join(dict.fromkeys(f.kind for f in cut.features))
    return FullSize(
        mark=member.mark,
        title=f"{member.name}: block for the {kinds}, end {end}",
        marks=(*turned, *words),
        lines=tuple(c for s in turned for c in s.curves),
        says=(
            "Cut out, fold on the chain lines, lay the folds on the arrises of the end; knife the heavy lines, saw on "
            "the waste side.",
        ),
    )
