"""Cut files: contours as DXF entities, in the version, unit and kinds of curve that the machine reads.

Only what is declared is written: closed polylines and circles; in ``lines and arcs`` lines and arcs instead of
polylines with curves in them; in ``splines`` splines for free curves beside these. Every point lies in the plane
z = 0.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from ezdxf.document import Drawing
from ezdxf.layouts import Modelspace

from plangen.export.cut_lint import document_faults
from plangen.export.dxf_file import document_bytes, fixed_metadata, new_document, set_extents
from plangen.export.dxf_text import ascii_words
from plangen.export.template_layers import Contoured, layer_name, layers_of
from plangen.geometry.biarcs import to_arcs
from plangen.geometry.cubics import Cubic, to_cubics
from plangen.geometry.curves import Arc, Bezier, Curve, EllipseArc, Line, Vec2
from plangen.geometry.outline_boxes import curve_box
from plangen.machining.template import Contour
from plangen.tables.cut_files import CutFiles
from plangen.units import MM_PER_INCH

_WIDEST = math.pi * 0.9
"""Radians: a wider arc is halved, since its bulge grows without bound toward a full turn."""
_FINE = 12
"""Decimals of lines and arcs that must end in one point within 1e-9, as polylines do by themselves."""


def checked_file(drawn: Contoured, cut: CutFiles, head: Sequence[str]) -> tuple[bytes, tuple[str, ...]]:
    """A cut file with the lines at its head, which readers pass over (group 999); or nothing, and what a machine could
    not follow."""
    with fixed_metadata():
        document = cut_document(drawn, cut)
        faults = document_faults(document, layers_of(drawn, cut), cut)
        if faults:
            return b"", faults
        remarks = "".join(f"999\n{ascii_words(line)}\n" for line in head)
        return remarks.encode("ascii") + document_bytes(document), ()


def cut_document(drawn: Contoured, cut: CutFiles) -> Drawing:
    """The document of a template made ready, or of a sheet with its parts.

    Inside ``fixed_metadata`` it is the same every time."""
    document = new_document(cut.unit, version=cut.version)
    space = document.modelspace()
    for use in layers_of(drawn, cut).values():
        document.layers.add(use.name, color=use.colour)
    pen = _Pen(space, cut)
    for contour in drawn.contours:
        pen.draw(contour)
    boxes = [curve_box(curve) for c in drawn.contours for curve in c.curves]
    low = (min(b[0] for b in boxes), min(b[1] for b in boxes))
    high = (max(b[2] for b in boxes), max(b[3] for b in boxes))
    set_extents(document, pen.at(low), pen.at(high))
    return document


class _Pen:
    def __init__(self, space: Modelspace, cut: CutFiles) -> None:
        self._space = space
        self._cut = cut
        self._factor = 1.0 if cut.unit == "mm" else 1.0 / float(MM_PER_INCH)
        self._decimals = 6 if cut.unit == "mm" else 8

    def size(self, mm: float) -> float:
        return round(mm * self._factor, self._decimals) + 0.0

    def at(self, p: Vec2) -> Vec2:
        return (self.size(p[0]), self.size(p[1]))

    def draw(self, contour: Contour) -> None:
        attributes = {"layer": layer_name(contour, self._cut)}
        circle = contour.circle
        if circle is not None and self._cut.circles == "circles":
            self._space.add_circle(self.at(circle.centre), self.size(circle.radius), dxfattribs=attributes)
            return
        mode = self._cut.curves
        plain = all(isinstance(c, Line) for c in contour.curves)
        if mode == "facets" and not plain:
            self._polyline(_faceted(contour, self._cut.tolerance), contour.closed, attributes)
        elif (mode == "lines and arcs" and not plain) or any(
            isinstance(c, EllipseArc | Bezier) for c in contour.curves
        ):
            self._chain(contour.curves, attributes)
        else:
            self._polyline(polyline_rows(contour), contour.closed, attributes)

    def _polyline(
        self, rows: Sequence[tuple[float, float, float]], closed: bool, attributes: dict[str, str]
    ) -> None:
        points = [(*self.at((x, y)), bulge) for x, y, bulge in rows]
        if self._cut.version == "R12":
            self._space.add_polyline2d(points, format="xyb", close=closed, dxfattribs=attributes)
        else:
            self._space.add_lwpolyline(points, format="xyb", close=closed, dxfattribs=attributes)

    def _chain(self, curves: Sequence[Curve], attributes: dict[str, str]) -> None:
        for curve in curves:
            if isinstance(curve, Line):
                start, end = self._fine(curve.start), self._fine(curve.end)
                self._space.add_line(start, end, dxfattribs=attributes)
            elif isinstance(curve, Arc):
                low, high = sorted((curve.first, curve.last))
                first, last = (math.degrees(a) % 360 for a in (low, high))
                radius = round(curve.radius * self._factor, _FINE)
                self._space.add_arc(self._fine(curve.centre), radius, first, last, dxfattribs=attributes)
            else:
                self._spline(curve, attributes)

    def _spline(self, curve: EllipseArc | Bezier, attributes: dict[str, str]) -> None:
        """One cubic spline through the ends of its cubics, each knot three times: exact where the curve is cubic."""
        cubics: tuple[Cubic, ...] = to_cubics(curve, self._cut.tolerance)
        points = [cubics[0][0], *(p for cubic in cubics for p in cubic[1:])]
        inner = [float(i) for i in range(1, len(cubics)) for _ in range(3)]
        knots = [*[0.0] * 4, *inner, *[float(len(cubics))] * 4]
        self._space.add_open_spline(
            [(*self._fine(p), 0.0) for p in points], degree=3, knots=knots, dxfattribs=attributes
        )

    def _fine(self, p: Vec2) -> Vec2:
        return (round(p[0] * self._factor, _FINE) + 0.0, round(p[1] * self._factor, _FINE) + 0.0)


def _is_free(contour: Contour) -> bool:
    return any(isinstance(c, EllipseArc | Bezier) for c in contour.curves)


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
            rows.append((piece.start[0], piece.start[1], round(bulge, 12) + 0.0))
    if not contour.closed:
        end = contour.curves[-1].end
        rows.append((end[0], end[1], 0.0))
    return rows


def _faceted(contour: Contour, tolerance: float) -> list[tuple[float, float, float]]:
    """Vertices with every chord within the tolerance of its arc."""
    rows = []
    for piece in _lines_and_arcs(contour.curves, tolerance):
        n = 1
        if isinstance(piece, Arc):
            widest = 2 * math.acos(max(0.0, 1 - tolerance / max(piece.radius, tolerance)))
            n = max(2 if piece.is_full else 1, math.ceil(abs(piece.last - piece.first) / widest))
        rows += [(*piece.at(i / n), 0.0) for i in range(n)]
    if not contour.closed:
        rows.append((*contour.curves[-1].end, 0.0))
    return rows


def _lines_and_arcs(curves: Sequence[Curve], tolerance: float) -> Iterator[Line | Arc]:
    for curve in curves:
        yield from to_arcs(curve, tolerance)
