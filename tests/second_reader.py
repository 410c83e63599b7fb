"""Cut files read by the DXF reader of a mesh library (trimesh), which shares no code with ezdxf or GDAL.

It gives lines of points, arcs by three points, full circles and splines by control points and knots. Of
polylines with bulges it forgets the layer, and of R12, which has no unit, it takes one for granted. Pieces are put
together here by their ends alone; lengths and areas are worked out of its own points, in the file's unit.
"""

from __future__ import annotations

import io
import itertools
import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from dxf_reading import area
from trimesh.path.exchange.dxf import load_dxf

from plangen.geometry.contour_faults import curve_length
from plangen.geometry.curves import Arc, Line
from plangen.machining.template import Template
from plangen.tables.cut_files import CutFiles

FINE = 2000
"""Chords of a spline."""


@dataclass(frozen=True)
class ReadContour:
    """A contour as the reader gives it: its length, its signed area, and whether it comes back to its start."""

    length: float
    area: float
    closed: bool
    arcs: int
    pieces: int


@dataclass(frozen=True)
class _Piece:
    points: np.ndarray
    length: float
    beside: float
    """Area between the piece and the chords of its points."""
    arcs: int


def unit_of(data: bytes) -> str | None:
    """The unit that the reader finds in the header: None where it finds none."""
    found: str | None = load_dxf(io.BytesIO(data))["metadata"].get("units")
    return found


def read_again(data: bytes) -> dict[str, list[ReadContour]]:
    """All contours of a file by layer."""
    found = load_dxf(io.BytesIO(data))
    at = np.asarray(found["vertices"], dtype=float)
    pieces: dict[str, list[_Piece]] = {}
    for entity in found["entities"]:
        pieces.setdefault(entity.layer, []).append(_piece(entity, at))
    return {layer: _chained(mine) for layer, mine in pieces.items()}


def _piece(entity: Any, at: np.ndarray) -> _Piece:
    points = at[entity.points]
    kind = type(entity).__name__
    if kind == "Arc":
        return _arc(points, bool(entity.closed))
    if kind == "BSpline":
        points = entity.discrete(at, count=FINE)
    steps = np.diff(points, axis=0)
    return _Piece(points, float(np.hypot(*steps.T).sum()), 0.0, 0)


def _arc(points: np.ndarray, full: bool) -> _Piece:
    """By the circle through three points; the middle one says which way round."""
    (ax, ay), (bx, by), (cx, cy) = points
    d = 2 * (ax * (by - cy) + bx * (cy - ay) + cx * (ay - by))
    squares = (ax * ax + ay * ay, bx * bx + by * by, cx * cx + cy * cy)
    x = (squares[0] * (by - cy) + squares[1] * (cy - ay) + squares[2] * (ay - by)) / d
    y = (squares[0] * (cx - bx) + squares[1] * (ax - cx) + squares[2] * (bx - ax)) / d
    radius = math.dist((x, y), (ax, ay))
    if full:
        return _Piece(points[[0, 0]], 2 * math.pi * radius, math.pi * radius**2, 1)
    angles = [math.atan2(q - y, p - x) for p, q in points]
    way = 1.0 if d > 0 else -1.0
    sweep = sum((way * (b - a)) % (2 * math.pi) for a, b in itertools.pairwise(angles)) * way
    return _Piece(points[[0, 2]], radius * abs(sweep), radius**2 * (sweep - math.sin(sweep)) / 2, 1)


def _chained(pieces: list[_Piece], near: float = 1e-6) -> list[ReadContour]:
    """Pieces put end to end, turned where they must be."""
    rest, found = list(pieces), []
    while rest:
        chain = [rest.pop(0)]
        while math.dist(chain[-1].points[-1], chain[0].points[0]) > near:
            end = chain[-1].points[-1]
            hit = next(
                (i for i, p in enumerate(rest) if min(math.dist(p.points[k], end) for k in (0, -1)) <= near),
                None,
            )
            if hit is None:
                break
            piece = rest.pop(hit)
            if math.dist(piece.points[0], end) > near:
                piece = _Piece(piece.points[::-1], piece.length, -piece.beside, piece.arcs)
            chain.append(piece)
        points = np.concatenate([p.points for p in chain])
        x, y = (points - points[0]).T
        chords = float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum() / 2)
        found.append(
            ReadContour(
                math.fsum(p.length for p in chain),
                chords + math.fsum(p.beside for p in chain),
                math.dist(points[0], points[-1]) <= near,
                sum(p.arcs for p in chain),
                len(chain),
            )
        )
    return found


def read_as_drawn(data: bytes, template: Template, cut: CutFiles) -> bool:
    """The reader finds the same closed contours, each as long and as large, and as much line in all.

    To the rounding of coordinates (1e-6 of the unit); of facets and splines to the tolerance along what is curved.
    """
    k = 1.0 if cut.unit == "mm" else 25.4
    by_layer = read_again(data)
    found = [c for contours in by_layer.values() for c in contours]
    # single lines to be scored may well end where others start: no contour
    scored = [c for layer, cs in by_layer.items() if layer == "ENGRAVE_SCORE" for c in cs if c.pieces > 1]
    mine = [c for c in template.contours if math.dist(c.curves[-1].end, c.curves[0].start) < 1e-6]
    # by length where areas are alike, as of letters of a label
    theirs = sorted(
        (c for c in found if c.closed and c not in scored),
        key=lambda c: (round(abs(c.area) * k * k), c.length),
    )
    mine.sort(key=lambda c: (round(abs(area(c.curves))), math.fsum(map(curve_length, c.curves))))
    if len(mine) != len(theirs):
        return False
    exact = cut.curves in ("bulges", "lines and arcs")
    for ours, read in zip(mine, theirs, strict=True):
        curved = math.fsum(curve_length(c) for c in ours.curves if not isinstance(c, Line))
        whole = math.fsum(map(curve_length, ours.curves))
        spare = 0.0 if exact else cut.tolerance
        if abs(read.length * k - whole) > 1e-4 + spare * 0.1 * math.ceil(curved):
            return False
        if abs(abs(read.area) * k * k - abs(area(ours.curves))) > 2e-6 * k * whole + spare * curved:
            return False
        arcs = sum(isinstance(c, Arc) for c in ours.curves)
        if cut.curves == "facets":
            if read.arcs:
                return False
        elif read.arcs < arcs:
            return False
    drawn = math.fsum(curve_length(c) for contour in template.contours for c in contour.curves)
    read_in_all = math.fsum(c.length for c in found) * k
    return abs(read_in_all - drawn) < 1e-3 + (0.0 if exact else 2e-4 * drawn)
