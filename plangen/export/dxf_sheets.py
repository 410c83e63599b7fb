"""sheets.dxf: the views of views.dxf in model space, and in paper space every sheet that has views, as the PDF has it.

A layout a sheet, millimetres of paper, drawn from the sheet's own marks. The elevations are not drawn again: viewports
show them in model space at the sheet's scale, with the model's own dimensions and words frozen. A dimension is a
DIMENSION whose style has the scale, so that it measures the work; its block is the figure as the sheet draws it.
Layers ``SHEET_...`` are by the use of the line, with its type and weight.

Dashes: patterns are millimetres of paper (ISO 128, see ``drawing/linework.py``). ``$LTSCALE`` makes them so at the
scale of the elevations, in model space and through a viewport alike (``$PSLTSCALE`` 0); what stands in paper space
takes that back by its own factor.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ezdxf.document import Drawing
from ezdxf.enums import TextEntityAlignment
from ezdxf.layouts import BaseLayout, Paperspace

from plangen.drawing.dimension_marks import expand
from plangen.drawing.lettering import set_text, turn_of
from plangen.drawing.linework import LINES
from plangen.drawing.mark_geometry import curves_box
from plangen.drawing.marks import (
    AngularDimension,
    Fill,
    Group,
    Leader,
    Lettering,
    LinearDimension,
    LineUse,
    Link,
    Mark,
    Sheet,
    Stroke,
    ViewOnSheet,
)
from plangen.drawing.scene_views import aligned_origins, projection_method
from plangen.drawing.view_on_paper import ProjectedView
from plangen.export.dxf import draw_views, line_type, open_document, views_gap
from plangen.export.dxf_file import document_bytes, fixed_metadata, set_extents
from plangen.export.dxf_pen import TEXT_STYLE, Pen
from plangen.export.dxf_sheet_dimensions import angular_dimension, linear_dimension, set_sheet_styles
from plangen.export.dxf_text import ascii_words, sheet_words
from plangen.facts import PlanFacts
from plangen.geometry.contour_faults import facets
from plangen.geometry.curves import Vec2

FROZEN = ("DIM", "TEXT", "TITLE", "CENTRE")
"""Layers of model space that a viewport does not show: the sheet has its own."""
TEXT_LAYER, DIM_LAYER, FILL_LAYER, VIEWPORT_LAYER = "SHEET_TEXT", "SHEET_DIM", "SHEET_FILL", "SHEET_VIEWPORT"
_GREY, _BLACK = 8, 7
_LONGEST_NAME = 60
"""Signs of the name of a layout: what fits its tab."""
_MARGIN = 1.0
"""Of a viewport round its view, mm of paper."""
_VISIBLE: frozenset[LineUse] = frozenset({"outline", "fine outline"})
_EDGES: frozenset[LineUse] = frozenset({"outline", "fine outline", "hidden", "context"})


def sheets_dxf_bytes(facts: PlanFacts, views: Sequence[ProjectedView], sheets: Sequence[Sheet]) -> bytes:
    """The file; ``views`` are of the whole piece, a front view among them, ``sheets`` the set."""
    with fixed_metadata():
        document, pen = open_document(facts, views)
        draw_views(facts, views, pen)
        set_extents(document, *pen.extents())
        _set_layers(document)
        drawn = [s for s in sheets if s.views]
        if elevations := next((s for s in drawn if s.kind == "elevations"), None):
            document.header["$LTSCALE"] = pen.size(1 / elevations.views[0].scale)
            uses = [m.use for m in elevations.marks if isinstance(m, Stroke) and m.use in _VISIBLE]
            width = max((LINES[use].width for use in uses), default=LINES["outline"].width)
            document.layers.get("OUTLINE").dxf.lineweight = round(width * 100)
        set_sheet_styles(document, facts.style.length, {v.scale for s in drawn for v in s.views})
        shown = _Shown(views, aligned_origins(views, projection_method(facts), views_gap(facts, views, pen)))
        for n, sheet in enumerate(drawn):
            layout = _layout(document, sheet, n)
            _SheetPen(document, layout, sheet, facts, pen, shown).draw()
        return document_bytes(document)


@dataclass(frozen=True)
class _Shown:
    """The views in model space and where their origins stand, millimetres of the work."""

    views: Sequence[ProjectedView]
    origins: dict[str, Vec2]


def sheet_layer(use: LineUse) -> str:
    return f"SHEET_{use.upper().replace(' ', '_')}"


def _set_layers(document: Drawing) -> None:
    for use, style in LINES.items():
        document.layers.add(
            sheet_layer(use),
            color=_GREY if style.grey else _BLACK,
            linetype=line_type(document, use),
            lineweight=round(style.width * 100),
        )
    for name in (TEXT_LAYER, DIM_LAYER, FILL_LAYER):
        document.layers.add(name, color=_BLACK, lineweight=25)
    document.layers.add(VIEWPORT_LAYER, color=_BLACK).dxf.plot = 0


def layout_name(sheet: Sheet) -> str:
    """Number and title, without the signs that a name may not have (DXF reference, symbol names)."""
    words = re.sub(r"[<>/\\\":;?*|=`,]+", " ", ascii_words(f"{sheet.number} {sheet.title}"))
    return " ".join(words.split())[:_LONGEST_NAME].strip()


def _layout(document: Drawing, sheet: Sheet, number: int) -> Paperspace:
    name = layout_name(sheet)
    if number == 0:
        document.layouts.rename("Layout1", name)
        layout = document.layouts.get(name)
    else:
        layout = document.layouts.new(name)
    assert isinstance(layout, Paperspace)
    layout.page_setup(size=(sheet.width, sheet.height), margins=(0, 0, 0, 0), units="mm")
    return layout


class _SheetPen:
    """Writes the marks of one sheet to its layout."""

    def __init__(
        self, document: Drawing, layout: Paperspace, sheet: Sheet, facts: PlanFacts, model: Pen, shown: _Shown
    ) -> None:
        self._document = document
        self._layout = layout
        self._sheet = sheet
        self._unit = facts.style.length
        self._model = model
        self._shown = shown
        self._line_scale = 1.0 / document.header["$LTSCALE"]
        self._pen = self._pen_on(layout)
        self._areas: list[tuple[float, float, float, float]] = []
        self._smooth: set[tuple[tuple[float, float], ...]] = set()
        """Ends on paper of the edges that viewports show narrow."""

    def _pen_on(self, space: BaseLayout) -> Pen:
        return Pen(space, "mm", 1.0, line_scale=self._line_scale)

    def draw(self) -> None:
        if self._sheet.kind == "elevations":
            for n, view in enumerate(self._sheet.views):
                self._viewport(view, n + 2)
        for mark in self._sheet.marks:
            if not (isinstance(mark, Stroke) and self._is_shown(mark)):
                self._mark(mark, self._pen)

    def _viewport(self, stand: ViewOnSheet, number: int) -> None:
        view = next(v for v in self._shown.views if v.name == stand.name)
        x0, y0, x1, y1 = view.box
        k, (px, py), (mx, my) = stand.scale, stand.origin, self._shown.origins[view.name]
        middle = ((x0 + x1) / 2, (y0 + y1) / 2)
        width, height = (x1 - x0) * k + 2 * _MARGIN, (y1 - y0) * k + 2 * _MARGIN
        centre = (px + middle[0] * k, py + middle[1] * k)
        viewport = self._layout.add_viewport(
            center=centre,
            size=(width, height),
            view_center_point=self._model.at((mx + middle[0], my + middle[1])),
            view_height=self._model.size(height / k),
            status=number,
            dxfattribs={"layer": VIEWPORT_LAYER},
        )
        viewport.dxf.id = number
        viewport.frozen_layers = list(FROZEN)
        for edge in view.strokes:
            if edge.kind == "smooth":
                ends = ((px + x * k, py + y * k) for x, y in (edge.curve.start, edge.curve.end))
                self._smooth.add(_ends(ends))
        self._areas.append(
            (centre[0] - width / 2, centre[1] - height / 2, centre[0] + width / 2, centre[1] + height / 2)
        )

    def _is_shown(self, stroke: Stroke) -> bool:
        """Whether a viewport shows it already: an edge of the piece, no circle or line drawn over it."""
        if stroke.use == "narrow":
            return all(_ends((c.start, c.end)) in self._smooth for c in stroke.curves)
        x0, y0, x1, y1 = curves_box(stroke.curves)
        return stroke.use in _EDGES and any(
            a <= x0 and b <= y0 and x1 <= c and y1 <= d for a, b, c, d in self._areas
        )

    def _mark(self, mark: Mark, pen: Pen) -> None:
        match mark:
            case Group():
                for inner in mark.marks:
                    self._mark(inner, pen)
            case Stroke():
                for curve in mark.curves:
                    pen.stroke(curve, sheet_layer(mark.use), (0.0, 0.0))
            case Fill():
                _fill(mark, pen.space)
            case Lettering():
                _letter(mark, pen.space, TEXT_LAYER)
            case Leader():
                for inner in expand(mark):
                    self._mark(inner, pen)
            case LinearDimension():
                block = self._block(expand(mark))
                linear_dimension(self._layout, mark, block, self._scale_of(mark), self._unit)
            case AngularDimension():
                angular_dimension(self._layout, mark, self._block(expand(mark)), self._sheet.views[0].scale)
            case Link():
                pass

    def _block(self, marks: Iterable[Mark]) -> str:
        """A block that draws the dimension as the sheet does."""
        block = self._document.blocks.new_anonymous_block(type_char="D")
        pen = self._pen_on(block)
        for mark in marks:
            self._mark(mark, pen)
        return str(block.name)

    def _scale_of(self, mark: LinearDimension) -> float:
        """Of the sheet's scales the one at which the feet stand so far apart on paper."""
        (ax, ay), (bx, by) = mark.feet
        apart = abs((bx - ax) * mark.direction[0] + (by - ay) * mark.direction[1])
        return min(sorted({v.scale for v in self._sheet.views}), key=lambda k: abs(apart - k * mark.value))


def _ends(points: Iterable[Vec2]) -> tuple[tuple[float, float], ...]:
    """Rounded to be compared, in order of place."""
    return tuple(sorted((round(x, 3) + 0.0, round(y, 3) + 0.0) for x, y in points))


def _fill(mark: Fill, space: BaseLayout) -> None:
    attributes = {"layer": FILL_LAYER, "color": _GREY if mark.grey >= 0.3 else _BLACK}
    hatch = space.add_hatch(dxfattribs=attributes)
    for part in _loops(mark):
        hatch.paths.add_polyline_path(part, is_closed=True)


def _loops(mark: Fill) -> list[list[Vec2]]:
    """Closed chains of points; a curve that does not begin where the one before it ended begins a new one."""
    loops: list[list[Vec2]] = []
    for curve in mark.curves:
        points = [(round(x, 6) + 0.0, round(y, 6) + 0.0) for x, y in facets([curve])]
        if loops and loops[-1][-1] == points[0]:
            loops[-1] += points[1:]
        else:
            loops.append(points)
    return [[p for p, q in itertools.pairwise([*loop, loop[0]]) if p != q] for loop in loops]


def _letter(mark: Lettering, space: BaseLayout, layer: str) -> None:
    """One line of plain words, fitted to the length that it has on the sheet whatever typeface a reader takes."""
    line = set_text(mark)
    words = sheet_words(mark.text)
    if not line.pieces or not words.strip():
        return
    left = line.pieces[0].x
    c, s = turn_of(mark.rotation)

    def turned(x: float) -> Vec2:
        dx = x - mark.at[0]
        return (round(mark.at[0] + dx * c, 6) + 0.0, round(mark.at[1] + dx * s, 6) + 0.0)

    text = space.add_text(words, height=mark.height, dxfattribs={"layer": layer, "style": TEXT_STYLE})
    text.set_placement(turned(left), turned(left + line.width), TextEntityAlignment.FIT)
    text.dxf.rotation = round(mark.rotation % 360, 9)
