"""Shapes a body takes beyond its trims: taper, round section, curved edge, outline."""

from __future__ import annotations

import math
from typing import Literal

from plangen.design import design as d
from plangen.findings import fail
from plangen.geometry.surfaces import Box, Cylinder, Plane
from plangen.geometry.vectors import LENGTH_TOLERANCE, Vec, dot
from plangen.placing.body import Shaping
from plangen.placing.outlines import outline_forms
from plangen.placing.scope import Scope
from plangen.tables.stock import Stock


def taper_plane(scope: Scope, name: str, member: d.Member, box: Box) -> Plane | None:
    taper = member.taper
    if taper is None:
        return None
    at_a, at_b = scope.length(taper.at_end_a), scope.length(taper.at_end_b)
    axis = 1 if "edge" in taper.on else 2
    size, length = box.size[axis], box.size[0]
    for value, expression in ((at_a, taper.at_end_a), (at_b, taper.at_end_b)):
        if value > size + LENGTH_TOLERANCE or value <= 0:
            raise fail(
                expression.place,
                "taper",
                f'"{name}": the taper\'s size must lie between 0 and {scope.said(size)}',
                name,
            )
    rise = (at_b - at_a) / length
    n = math.sqrt(1 + rise * rise)
    high = taper.on in ("back edge", "face")
    normal = [-rise / n, 0.0, 0.0]
    normal[axis] = (1.0 if high else -1.0) / n
    start = list(box.origin)
    start[axis] = box.origin[axis] + at_a if high else box.most[axis] - at_a
    plane_normal: Vec = (normal[0], normal[1], normal[2])
    return Plane(plane_normal, dot(plane_normal, (start[0], start[1], start[2])))


def curved_shapings(scope: Scope, name: str, member: d.Member, stock: Stock, box: Box) -> list[Shaping]:
    found = []
    if stock.kind == "round" or member.diameter is not None:
        r = box.size[1] / 2
        form = Cylinder((0.0, r, r), (1.0, 0.0, 0.0), r, "post")
        found.append(Shaping("round", "edge", form, member.source))
    if member.curve is not None:
        found.append(_curved_edge(scope, name, member.curve, box))
    if member.outline is not None:
        found += [
            Shaping("outline", "edge", form, member.outline.place)
            for form in outline_forms(scope, name, member.outline)
        ]
    return found


def _curved_edge(scope: Scope, name: str, curve: d.Curve, box: Box) -> Shaping:
    rise, (length, width, _) = scope.length(curve.rise), box.size
    if not 0 < rise < width:
        raise fail(
            curve.rise.place, "curve", f'"{name}": the curve\'s rise must be less than its width', name
        )
    if rise > length / 2:
        raise fail(curve.rise.place, "curve", f'"{name}": the curve rises more than half its length', name)
    radius = (length * length / 4 + rise * rise) / (2 * rise)
    out = curve.bows == "out"
    if out and width > 2 * radius - rise + LENGTH_TOLERANCE:
        raise fail(
            curve.rise.place,
            "curve",
            f'"{name}": so round a curve would come back in below its ends and cut the other edge; '
            "a smaller rise, or an outline",
            name,
        )
    high = curve.on == "back edge"
    # The centre for the back edge; for the edge it is the same, seen from the other side.
    from_edge = width - radius if out else width - rise + radius
    centre = from_edge if high else width - from_edge
    side: Literal["post", "hole"] = "post" if out else "hole"
    form = Cylinder((length / 2, centre, 0.0), (0.0, 0.0, 1.0), radius, side)
    return Shaping("curve", curve.on, form, curve.place)
