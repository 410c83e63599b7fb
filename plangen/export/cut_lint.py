"""The last look at a cut file before it is written: what a machine could not follow, told with its layer and place.

It reads the document's own entities again, whatever kinds of curve they were written as, and trusts nothing that made
them. Places are in the file's unit.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from ezdxf.document import Drawing

from plangen.export.template_layers import LayerUse
from plangen.geometry.contour_faults import contour_faults, crossing_faults, nesting_faults, placing_faults
from plangen.geometry.curves import Arc, Bezier, Curve, Line, Vec2
from plangen.tables.cut_files import CutFiles
from plangen.units import MM_PER_INCH

_PLANE = 1e-9
CLOSED = 1e-9
"""Millimetres between the end of a contour and its start."""
_KINDS = {
    "bulges": ("LWPOLYLINE", "CIRCLE"),
    "facets": ("LWPOLYLINE", "CIRCLE"),
    "lines and arcs": ("LWPOLYLINE", "CIRCLE", "LINE", "ARC"),
    "splines": ("LWPOLYLINE", "CIRCLE", "LINE", "ARC", "SPLINE"),
}
_Read = tuple[tuple[Curve, ...], bool]
"""The curves of a contour, and whether it is closed."""


def document_faults(document: Drawing, layers: Mapping[str, LayerUse], cut: CutFiles) -> tuple[str, ...]:
    """Why a machine could not follow the file, in words; empty for a sound one."""
    allowed = tuple(
        "POLYLINE" if cut.version == "R12" and k == "LWPOLYLINE" else k for k in _KINDS[cut.curves]
    )
    k = 1.0 if cut.unit == "mm" else float(MM_PER_INCH)
    faults: list[str] = []
    read: dict[str, list[_Read]] = {}
    loose: dict[str, list[Curve]] = {}
    for entity in document.modelspace():
        kind, layer = entity.dxftype(), entity.dxf.layer
        if kind not in allowed:
            faults.append(f"{layer} holds a {kind}, which a cut file does not")
        elif layer not in layers or layer not in document.layers:
            faults.append(f"{layer} is no layer of this file")
        elif lifted := _off_plane(entity):
            faults.append(f"{layer} {lifted}")
        elif kind in ("LINE", "ARC", "SPLINE"):
            loose.setdefault(layer, []).extend(_pieces(entity, k))
        else:
            read.setdefault(layer, []).append(_contour(entity, k))
    if faults:
        return tuple(faults)
    for layer, curves in loose.items():
        read.setdefault(layer, []).extend(_chains(curves))
    return _contour_faults(read, layers, _spare(cut))


def _spare(cut: CutFiles) -> float:
    """Millimetres that a pocket may run past the outline: where that gives way for the play of a joint, into a corner
    that is relieved, or with the cutter's middle where the pocket is open."""
    play = max(cut.fit.fingers, cut.fit.housings, cut.fit.tenons)
    if cut.cutter is None or (cut.relief == "none" and not cut.compensated):
        return play
    return play + cut.cutter + 0.2


def _contour_faults(
    read: Mapping[str, Sequence[_Read]], layers: Mapping[str, LayerUse], spare: float
) -> tuple[str, ...]:
    """Of each contour, then of each layer, then of all that is cut through: the first of them that has any."""
    faults: list[str] = []
    for layer, contours in read.items():
        found = [fault for c in contours for fault in _ends_faults(c, layers[layer])]
        if not found and not faults:
            found += contour_faults(
                [c for c, closed in contours if closed], [c for c, closed in contours if not closed]
            )
        faults += [f"{layer} {fault}" for fault in found]
    return tuple(faults) or _through_faults(read, layers, spare)


def _ends_faults(contour: _Read, use: LayerUse) -> Iterator[str]:
    curves, closed = contour
    if not all(math.isfinite(v) for c in curves for p in (c.start, c.end) for v in p):
        yield "has a point that is no place"
        return
    if not closed and not use.may_be_open:
        yield f"open {_at(curves[0].start)}"
    gap = math.dist(curves[-1].end, curves[0].start)
    if closed and gap > CLOSED:
        yield f"open by {gap:.3g} {_at(curves[0].start)}"


def _through_faults(
    read: Mapping[str, Sequence[_Read]], layers: Mapping[str, LayerUse], spare: float
) -> tuple[str, ...]:
    """Of what is cut through, and of what is sunk within it."""

    def on(*operations: str) -> list[_Read]:
        return [
            c for layer, contours in read.items() if layers[layer].operation in operations for c in contours
        ]

    def closed_on(*operations: str) -> list[tuple[Curve, ...]]:
        return [curves for curves, closed in on(*operations) if closed]

    # with tabs left as gaps the outline is open, and holds nothing
    if not all(closed for _, closed in on("through outside")):
        return ()
    through = closed_on("through outside", "through inside")
    sheet = closed_on("sheet")
    nested = (
        crossing_faults(closed_on("through outside"), closed_on("through inside"), sheet[0])
        if sheet
        else nesting_faults(through)
    )
    bounds = [*through, *closed_on("face outline", "back outline")]
    return (
        *(f"through {fault}" for fault in (*contour_faults(through), *nested)),
        *placing_faults(closed_on("pocket", "bore"), bounds, spare),
    )


# --- entities read back ----------------------------------------------------------------------------------


def _off_plane(entity: Any) -> str:
    """Where an entity leaves the plane; empty where it lies in it."""
    extrusion = entity.dxf.get("extrusion", (0, 0, 1))
    if math.dist(tuple(extrusion), (0.0, 0.0, 1.0)) > _PLANE:
        return "is turned out of the plane"
    kind = entity.dxftype()
    if kind == "LWPOLYLINE":
        heights = [(entity.dxf.elevation, _vertices(entity)[0])]
    elif kind == "POLYLINE":
        base = entity.dxf.get("elevation", (0, 0, 0))[2]
        heights = [(v.dxf.location.z + base, (v.dxf.location.x, v.dxf.location.y)) for v in entity.vertices]
    elif kind == "LINE":
        heights = [(p.z, (p.x, p.y)) for p in (entity.dxf.start, entity.dxf.end)]
    elif kind == "SPLINE":
        heights = [(float(p[2]), (float(p[0]), float(p[1]))) for p in entity.control_points]
    else:
        centre = entity.dxf.center
        heights = [(centre.z, (centre.x, centre.y))]
    lifted = [at for z, at in heights if not abs(z) <= _PLANE]
    return f"leaves the plane {_at(lifted[0])}" if lifted else ""


def _vertices(entity: Any) -> list[Vec2]:
    return [(x, y) for x, y, _ in _rows(entity)]


def _rows(entity: Any, k: float = 1.0) -> list[tuple[float, float, float]]:
    if entity.dxftype() == "LWPOLYLINE":
        return [(x * k, y * k, b) for x, y, b in entity.get_points("xyb")]
    at = [(v.dxf.location, v.dxf.get("bulge", 0.0)) for v in entity.vertices]
    return [(p.x * k, p.y * k, bulge) for p, bulge in at]


def _contour(entity: Any, k: float) -> _Read:
    if entity.dxftype() == "CIRCLE":
        centre = entity.dxf.center
        return (Arc((centre.x * k, centre.y * k), entity.dxf.radius * k, 0.0, 2 * math.pi),), True
    rows = _rows(entity, k)
    closed = bool(entity.closed if entity.dxftype() == "LWPOLYLINE" else entity.is_closed)
    following = [*rows[1:], rows[0]] if closed else rows[1:]
    curves = tuple(_bulged((x, y), (u, v), b) for (x, y, b), (u, v, _) in zip(rows, following, strict=False))
    return curves, closed


def _bulged(a: Vec2, b: Vec2, bulge: float) -> Curve:
    """A piece of a polyline: its bulge is the tangent of a quarter of the angle (DXF reference)."""
    chord = math.dist(a, b)
    if bulge == 0.0 or chord == 0.0:
        return Line(a, b)
    sweep = 4 * math.atan(bulge)
    radius = chord / (2 * math.sin(sweep / 2))
    rise = radius * math.cos(sweep / 2) / chord
    centre = ((a[0] + b[0]) / 2 - (b[1] - a[1]) * rise, (a[1] + b[1]) / 2 + (b[0] - a[0]) * rise)
    first = math.atan2(a[1] - centre[1], a[0] - centre[0])
    return Arc(centre, abs(radius), first, first + sweep)


def _pieces(entity: Any, k: float) -> list[Curve]:
    """Of a spline its cubics, which meet in every third control point."""
    if entity.dxftype() == "LINE":
        a, b = entity.dxf.start, entity.dxf.end
        return [Line((a.x * k, a.y * k), (b.x * k, b.y * k))]
    if entity.dxftype() == "ARC":
        centre = entity.dxf.center
        first = math.radians(entity.dxf.start_angle)
        sweep = math.radians((entity.dxf.end_angle - entity.dxf.start_angle) % 360)
        return [Arc((centre.x * k, centre.y * k), entity.dxf.radius * k, first, first + sweep)]
    points = [(float(p[0]) * k, float(p[1]) * k) for p in entity.control_points]
    return [Bezier(tuple(points[i : i + 4])) for i in range(0, len(points) - 1, 3)]


def _chains(curves: Sequence[Curve]) -> list[_Read]:
    """Loose pieces head to tail, turned where they must be; a chain that comes back to its start is closed."""
    rest = list(curves)
    found: list[_Read] = []
    while rest:
        chain = [rest.pop(0)]
        while rest and not _meets(chain[-1].end, chain[0].start):
            at = chain[-1].end
            i = min(
                range(len(rest)), key=lambda k: min(math.dist(rest[k].start, at), math.dist(rest[k].end, at))
            )
            piece = (
                rest[i] if math.dist(rest[i].start, at) <= math.dist(rest[i].end, at) else rest[i].reversed()
            )
            if math.dist(piece.start, at) > 1e-3:
                break
            chain.append(piece)
            rest.pop(i)
        found.append((tuple(chain), _meets(chain[-1].end, chain[0].start)))
    return found


def _meets(a: Vec2, b: Vec2) -> bool:
    return math.dist(a, b) < 1e-6


def _at(p: Vec2) -> str:
    return f"at {round(p[0], 3) + 0.0:g}, {round(p[1], 3) + 0.0:g}"
