"""A template made ready for a machine: free curves as arcs, room in its joints, corners relieved, tabs, the way of the
cutter. What was asked for and cannot be done is told in words, and the contour stays as it was.

The order is that of the work: ends left long, play, relief, then the cutter's own width.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from plangen.geometry.biarcs import to_arcs
from plangen.geometry.curve_meetings import distance_to
from plangen.geometry.curves import Arc, Curve, Line, Vec2, moved
from plangen.geometry.cutter_fit import thin_walls, too_narrow, unreached
from plangen.geometry.edge_moves import moved_edges
from plangen.geometry.offsets import offset_contour
from plangen.geometry.outline_boxes import curve_box
from plangen.geometry.patches import end_direction
from plangen.joinery.model import Feature, Member, Model
from plangen.machining.corner_relief import relieve
from plangen.machining.holding_parts import held_parts
from plangen.machining.template import Contour, Template
from plangen.machining.template_edges import Neighbours
from plangen.tables.cut_files import CutFiles, FitPlay

_FACING = 1e-6
_SAME = 1e-6
_FINGERS = frozenset({"fingers", "tails", "pins"})
_HOUSINGS = frozenset({"housing", "groove", "notch", "half lap", "rebate", "socket", "seat"})
_TENONS = frozenset({"tenon", "mortise", "tongue", "bridle", "haunch"})


@dataclass(frozen=True)
class ReadyTemplate:
    """A template as it is written; ``told`` is what it was not given, and what the cutter does not reach."""

    template: Template
    told: tuple[str, ...] = ()
    shift: Vec2 = (0.0, 0.0)
    """What was added to l and w."""


def make_ready(template: Template, cut: CutFiles, model: Model | None = None) -> ReadyTemplate:
    """The template as the settings want it. ``model`` is asked what lies beside the part; None: nothing.

    Raises ValueError where a free curve turns too sharply for arcs, or a cutter's way does not close.
    """
    ready = template if cut.curves == "splines" else arcs_only(template, cut.tolerance)
    told: list[str] = []
    beside = _neighbours(ready, model) if cut.relief != "none" or cut.tabs is not None else None
    contours = []
    for contour in ready.contours:
        made = _at_thickness(contour, ready.member, cut)
        if contour.closed and contour.made_by:
            made, why = _with_moves(made, ready.member, cut)
            told += why
            if cut.relief != "none" and cut.cutter is not None:
                made, why = relieve(made, ready, cut, beside)
                told += why
        contours.append(made)
    ready = replace(ready, contours=tuple(contours))
    if cut.cutter is not None:
        told += _unfit(ready, cut.cutter)
    if cut.compensated and cut.cutter is not None:
        through = [c.curves for c in ready.contours if c.operation.startswith("through")]
        contours = [_run_out(c, through, cut.cutter) for c in ready.contours]
        ready = replace(ready, contours=tuple(_compensated(c, cut.cutter / 2) for c in contours))
    held, why = held_parts(ready, cut, beside)
    told += why
    return _placed(held, cut, tuple(dict.fromkeys(told)))


def arcs_only(template: Template, tolerance: float) -> Template:
    """The template with free curves as arcs within the tolerance."""
    contours = []
    for c in template.contours:
        pieces = [to_arcs(curve, tolerance) for curve in c.curves]
        made_by = (
            tuple(name for name, of in zip(c.made_by, pieces, strict=True) for _ in of) if c.made_by else ()
        )
        contours.append(replace(c, curves=tuple(p for of in pieces for p in of), made_by=made_by))
    return replace(template, contours=tuple(contours))


def _neighbours(template: Template, model: Model | None) -> Neighbours | None:
    """Of the first place where a piece of this hand stands."""
    standing = next((i for i in template.member.instances if i.hand == template.hand), None)
    if model is None or standing is None:
        return None
    return Neighbours(model, template.member, standing, template.hand != template.member.drawn)


# --- sizes ------------------------------------------------------------------------------------------------


def _at_thickness(contour: Contour, member: Member, cut: CutFiles) -> Contour:
    """What is bored right through goes as deep as the sheet is thick when measured."""
    thick = cut.thickness_of(member.stock.name)
    if thick is None or contour.operation != "bore" or contour.depth is None:
        return contour
    through = abs(contour.depth - member.finished[2]) < _SAME
    return replace(contour, depth=thick) if through else contour


def _with_moves(contour: Contour, member: Member, cut: CutFiles) -> tuple[Contour, list[str]]:
    """With ends left long and room in joints."""
    features = {f.id: f for f in member.features}
    into_air = -1.0 if contour.operation == "pocket" else 1.0
    moves: dict[int, float] = {}
    if cut.leave_ends and contour.operation == "through outside":
        moves |= dict(_ends_left(contour, member, features))
    if cut.fit.any:
        moves |= {i: -into_air * by for i, by in _plays(contour, features, cut.fit)}
    try:
        curves, was = moved_edges(contour.curves, moves)
    except ValueError as problem:
        return contour, [str(problem)]
    made_by = tuple("" if i < 0 else contour.made_by[i] for i in was)
    return replace(contour, curves=curves, made_by=made_by), []


def _ends_left(contour: Contour, member: Member, features: dict[str, Feature]) -> Iterator[tuple[int, float]]:
    for i, name in enumerate(contour.made_by):
        feature = features.get(name)
        if feature is None or feature.kind != "end" or feature.origin != "fitted":
            continue
        left = member.allowance[0 if feature.note == "A" else 1]
        if left and isinstance(contour.curves[i], Line):
            yield i, left


def _plays(contour: Contour, features: dict[str, Feature], fit: FitPlay) -> Iterator[tuple[int, float]]:
    """For each edge of a joint that another of the same cut looks away from or at: how far it gives way.

    Fingers give way on both parts, on two sides each; of a housing or mortise the walls, of a tenon the cheeks.
    """
    lines = [
        (i, features[name], end_direction(c, 0.0))
        for i, (c, name) in enumerate(zip(contour.curves, contour.made_by, strict=True))
        if isinstance(c, Line) and name in features and features[name].joint is not None
    ]
    for i, feature, u in lines:
        facing = any(
            other.id == feature.id and u[0] * v[0] + u[1] * v[1] < _FACING - 1.0 for _, other, v in lines
        )
        if not facing:
            continue
        if feature.kind in _FINGERS and fit.fingers:
            yield i, fit.fingers / 4
        elif feature.kind in _HOUSINGS and fit.housings:
            yield i, fit.housings / 2
        elif feature.kind in _TENONS and fit.tenons:
            yield i, fit.tenons / 4


# --- the cutter -------------------------------------------------------------------------------------------


def _unfit(template: Template, diameter: float) -> Iterator[str]:
    """Where the cutter does not reach, and walls that it may break."""
    insides = [c for c in template.contours if c.operation == "through inside"]
    for contour in (*insides, *(c for c in template.contours if c.operation == "pocket")):
        if (at := too_narrow(contour.curves, diameter)) is not None:
            yield f"a cutter of {diameter:g} mm does not go all the way through the {_word(contour)} {_place(at)}"
        yield from _too_round(contour, diameter)
    outline = template.outline
    for at in unreached(outline.curves, diameter):
        yield f"a cutter of {diameter:g} mm does not enter the slot in the outline {_place(at)}"
    yield from _too_round(outline, diameter)
    for thick, at in thin_walls(outline.curves, [c.curves for c in insides], diameter):
        yield f"a wall of {thick:.2f} mm, thinner than the cutter, is left {_place(at)}"


def _word(contour: Contour) -> str:
    return "pocket" if contour.operation == "pocket" else "opening"


def _too_round(contour: Contour, diameter: float) -> Iterator[str]:
    """Hollow arcs of a smaller radius than the cutter's."""
    wood_left = contour.operation != "pocket"
    small = [
        c
        for c in contour.curves
        if isinstance(c, Arc) and (c.last < c.first) == wood_left and c.radius < diameter / 2 - _SAME
    ]
    if small:
        least = min(small, key=lambda c: round(c.radius, 6))
        yield (
            f"the least inside radius is {least.radius:.2f} mm {_place(least.at(0.5))}; a cutter of "
            f"{diameter:g} mm leaves {diameter / 2:g} mm"
        )


def _run_out(contour: Contour, through: Sequence[Sequence[Curve]], by: float) -> Contour:
    """A pocket whose open sides, on edges that are cut through, run on into the waste: else its corners there would
    stay round."""
    if contour.operation != "pocket":
        return contour
    edges = [c for curves in through for c in curves if isinstance(c, Line | Arc)]
    open_ = [
        i
        for i, c in enumerate(contour.curves)
        if isinstance(c, Line) and all(_is_on(edges, c.at(s)) for s in (0.02, 0.35, 0.65, 0.98))
    ]
    try:
        curves, _ = moved_edges(contour.curves, dict.fromkeys(open_, by))
    except ValueError:
        return contour
    return replace(contour, curves=curves, made_by=())


def _is_on(edges: Sequence[Line | Arc], p: Vec2) -> bool:
    return any(distance_to(e, p) < _SAME for e in edges)


def _compensated(contour: Contour, radius: float) -> Contour:
    """The way of the cutter's middle, on the side that goes to waste."""
    if not contour.closed or not contour.operation.startswith(("through", "pocket")):
        return contour
    pieces = [c for c in contour.curves if isinstance(c, Line | Arc)]
    way = -radius if contour.operation == "pocket" and _is_left_turning(contour.curves) else radius
    loops = offset_contour(pieces, way)
    if len(loops) != 1:
        start = contour.curves[0].start
        raise ValueError(f"a cutter of {2 * radius:g} mm does not go all round the contour {_place(start)}")
    return replace(contour, curves=loops[0], made_by=())


def _is_left_turning(curves: Sequence[Curve]) -> bool:
    points = [c.at(s) for c in curves for s in (0.0, 0.5)]
    following = [*points[1:], points[0]]
    return math.fsum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, following, strict=True)) > 0


def _place(at: Vec2) -> str:
    return f"at {at[0]:.1f}, {at[1]:.1f}"


# --- where it stands --------------------------------------------------------------------------------------


def _placed(template: Template, cut: CutFiles, told: tuple[str, ...]) -> ReadyTemplate:
    boxes = [curve_box(curve) for c in template.contours for curve in c.curves]
    low = (min(b[0] for b in boxes), min(b[1] for b in boxes))
    high = (max(b[2] for b in boxes), max(b[3] for b in boxes))
    shift = (0.0, 0.0)
    if cut.origin == "corner":
        shift = (-low[0], -low[1])
    elif cut.origin == "middle":
        shift = (-(low[0] + high[0]) / 2, -(low[1] + high[1]) / 2)
    contours = [
        replace(c, curves=tuple(moved(curve, shift) for curve in c.curves)) for c in template.contours
    ]
    return ReadyTemplate(replace(template, contours=tuple(contours)), told, shift)
