"""Templates as DXF: a file a part, true size in millimetres, a layer an operation and depth.

``CUT_THROUGH`` is the outline of the face side and what is cut through it; ``POCKET_D635`` is sunk 6.35 mm
from the face side; ``DRILL_D1270`` is bored 12.70 mm deep; ``MARK_BACK`` is the outline on the back where it
differs; ``ENGRAVE`` is the label and what is only marked. Geometry is nominal. Contours are closed
polylines with arcs as bulges, or circles, outer ones counter-clockwise and inner ones clockwise; only
``ENGRAVE`` holds open lines. The least corner stands at 0, 0.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Sequence

from ezdxf.layouts import Modelspace

from plangen.export.dxf_file import document_bytes, fixed_metadata, new_document, set_extents, tidy
from plangen.findings import Finding, warning
from plangen.geometry.biarcs import to_arcs
from plangen.geometry.contour_faults import contour_faults, nesting_faults, placing_faults
from plangen.geometry.curves import Arc, Curve, Line, Vec2
from plangen.geometry.cutting import GeometryError
from plangen.joinery.model import Member, Model
from plangen.machining.template import Contour, Template, make_template, wants_template

_LAYERS = {"through": "CUT_THROUGH", "back": "MARK_BACK", "engrave": "ENGRAVE"}
_DEPTH_LAYERS = {"pocket": "POCKET_D", "drill": "DRILL_D"}
_COLOURS = {"CUT_THROUGH": 1, "MARK_BACK": 8, "ENGRAVE": 3, "POCKET": 5, "DRILL": 6}
_LONGEST_NAME = 40
_WIDEST = math.pi * 0.9
"""Radians: a wider arc is halved, since its bulge grows without bound toward a full turn."""


def template_files(model: Model) -> tuple[dict[str, bytes], tuple[Finding, ...]]:
    """Template files by their path in the plan set, and why a member that wants one has none."""
    files: dict[str, bytes] = {}
    findings: list[Finding] = []
    for member in model.members:
        if not wants_template(member):
            continue
        try:
            template = make_template(member)
            template = None if template is None else arcs_only(template)
        except (GeometryError, ValueError) as problem:
            findings.append(_no_template(member, (str(problem),)))
            continue
        if template is None:
            continue
        if faults := template_faults(template):
            findings.append(_no_template(member, faults))
        else:
            files[f"templates/{template_name(member)}.dxf"] = template_dxf_bytes(template)
    return files, tuple(findings)


def _no_template(member: Member, faults: Sequence[str]) -> Finding:
    text = f'"{member.name}" ({member.mark}) gets no template: {"; ".join(faults[:3])}'
    return warning(member.place, "template", text, member.mark)


def template_name(member: Member) -> str:
    """``B-leg-x4-2x4_douglas_fir-mm``: mark, name, quantity, stock, unit; letters, digits, ``_`` and ``-``."""
    parts = [member.mark, member.name, f"x{member.quantity}", member.stock.name, "mm"]
    return "-".join(filter(None, (_file_word(p) for p in parts)))


def _file_word(text: str) -> str:
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    return re.sub(r"[^A-Za-z0-9]+", "_", plain)[:_LONGEST_NAME].strip("_")


def layer_name(contour: Contour) -> str:
    if contour.operation in _DEPTH_LAYERS:
        assert contour.depth is not None
        return f"{_DEPTH_LAYERS[contour.operation]}{round(contour.depth * 100)}"
    return _LAYERS[contour.operation]


def arcs_only(template: Template) -> Template:
    """The template with free curves as arcs within the tolerance, its least corner at 0, 0."""
    contours = []
    for c in template.contours:
        curves = tuple(piece for curve in c.curves for piece in to_arcs(curve))
        contours.append(Contour(c.operation, curves, c.closed, c.depth))
    boxes = [curve_box(curve) for c in contours for curve in c.curves]
    shift = (-min(b[0] for b in boxes), -min(b[1] for b in boxes))
    moved = [
        Contour(c.operation, tuple(_moved(curve, shift) for curve in c.curves), c.closed, c.depth)
        for c in contours
    ]
    return Template(template.member, tuple(moved))


def curve_box(curve: Curve) -> tuple[float, float, float, float]:
    """Least and greatest x and y of a line or arc, exact."""
    points = [curve.start, curve.end]
    if isinstance(curve, Arc):
        low, high = sorted((curve.first, curve.last))
        quarter = math.pi / 2
        for k in range(math.ceil(low / quarter), math.floor(high / quarter) + 1):
            c, s = ((1, 0), (0, 1), (-1, 0), (0, -1))[k % 4]
            points.append((curve.centre[0] + curve.radius * c, curve.centre[1] + curve.radius * s))
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return (min(xs), min(ys), max(xs), max(ys))


def _moved(curve: Curve, by: Vec2) -> Curve:
    def move(p: Vec2) -> Vec2:
        return (p[0] + by[0], p[1] + by[1])

    if isinstance(curve, Arc):
        return Arc(move(curve.centre), curve.radius, curve.first, curve.last)
    return Line(move(curve.start), move(curve.end))


def template_faults(template: Template) -> tuple[str, ...]:
    """Why a machine could not follow the template, in words; empty for a sound one."""
    layers: dict[str, list[Contour]] = {}
    for contour in template.contours:
        layers.setdefault(layer_name(contour), []).append(contour)
    faults = []
    for name, contours in layers.items():
        closed = [c.curves for c in contours if c.closed]
        lines = [c.curves for c in contours if not c.closed]
        faults += [f"{name} {fault}" for fault in contour_faults(closed, lines)]
    if faults:
        return tuple(faults)
    through = [c.curves for c in template.contours if c.operation == "through"]
    bounds = through + [c.curves for c in template.contours if c.operation == "back"]
    sunk = [c.curves for c in template.contours if c.operation in _DEPTH_LAYERS]
    faults += [f"CUT_THROUGH {fault}" for fault in nesting_faults(through)]
    faults += placing_faults(sunk, bounds)
    return tuple(faults)


def template_dxf_bytes(template: Template) -> bytes:
    """The file of a sound template whose curves are lines and arcs."""
    with fixed_metadata():
        document = new_document("mm")
        space = document.modelspace()
        for name in dict.fromkeys(layer_name(c) for c in template.contours):
            document.layers.add(name, color=_COLOURS[name.split("_D")[0]])
        for contour in template.contours:
            _add(space, contour)
        boxes = [curve_box(curve) for c in template.contours for curve in c.curves]
        set_extents(document, (0.0, 0.0), (tidy(max(b[2] for b in boxes)), tidy(max(b[3] for b in boxes))))
        return document_bytes(document)


def _add(space: Modelspace, contour: Contour) -> None:
    attributes = {"layer": layer_name(contour)}
    only = contour.curves[0]
    if isinstance(only, Arc) and only.is_full:
        space.add_circle(
            (tidy(only.centre[0]), tidy(only.centre[1])), tidy(only.radius), dxfattribs=attributes
        )
        return
    rows = polyline_rows(contour)
    space.add_lwpolyline(rows, format="xyb", close=contour.closed, dxfattribs=attributes)


def polyline_rows(contour: Contour) -> list[tuple[float, float, float]]:
    """Vertices x, y and the bulge of the piece that starts there; the first vertex is not repeated."""
    rows = []
    for curve in contour.curves:
        pieces = [curve]
        if isinstance(curve, Arc):
            n = math.ceil(abs(curve.last - curve.first) / _WIDEST)
            step = (curve.last - curve.first) / n
            pieces = [
                Arc(curve.centre, curve.radius, curve.first + step * i, curve.first + step * (i + 1))
                for i in range(n)
            ]
        for piece in pieces:
            bulge = math.tan((piece.last - piece.first) / 4) if isinstance(piece, Arc) else 0.0
            rows.append((tidy(piece.start[0]), tidy(piece.start[1]), round(bulge, 12) + 0.0))
    if not contour.closed:
        end = contour.curves[-1].end
        rows.append((tidy(end[0]), tidy(end[1]), 0.0))
    return rows
