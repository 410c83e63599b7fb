"""views.dxf: the elevations at full size, in the design's own unit, with real dimensions.

Layers ``OUTLINE``, ``HIDDEN``, ``CENTRE``, ``DIM``, ``TEXT`` and ``TITLE`` carry line type and weight. Views
stand by the projection method, the front view's origin at 0, 0. Hidden lines are always there, but for the
axonometric view; their layer is off unless the design draws them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ezdxf.document import Drawing

from plangen import __version__
from plangen.drawing.both_units import in_both_units
from plangen.drawing.linework import LINES
from plangen.drawing.marks import LineUse
from plangen.drawing.placing_rule import Method
from plangen.drawing.scene_views import aligned_origins, projection_method
from plangen.drawing.view_on_paper import ProjectedView
from plangen.export.dxf_dimensions import (
    FIRST_LINE,
    LINE_PITCH,
    Laid,
    add_angular,
    add_linear,
    count_lines,
    lay_figures,
    set_dimension_style,
)
from plangen.export.dxf_file import document_bytes, fixed_metadata, new_document, set_extents
from plangen.export.dxf_pen import TEXT_STYLE, Pen
from plangen.facts import PlanFacts
from plangen.geometry.curves import Vec2
from plangen.geometry.hidden import visible_only
from plangen.tables.scales import SCALES

LETTERS = 3.5
"""Millimetres on paper at the scale the lettering is sized for."""
PAPER_WIDTH = 250.0
SMOOTH_WEIGHT = 25
"""Hundredths of a millimetre: tangent edges are drawn narrow."""
_FLAT = ("front", "left", "right", "plan")
_TITLES = {"front": "FRONT", "left": "LEFT SIDE", "right": "RIGHT SIDE", "plan": "PLAN",
           "axonometric": "AXONOMETRIC"}  # fmt: skip
LAYERS: dict[str, tuple[int, LineUse, int]] = {
    # name: (colour, whose line type, weight in 1/100 mm)
    "OUTLINE": (7, "outline", 50),
    "HIDDEN": (8, "hidden", 25),
    "CENTRE": (1, "centre", 25),
    "DIM": (5, "dimension", 25),
    "TEXT": (7, "narrow", 35),
    "TITLE": (7, "narrow", 50),
}


def views_dxf_bytes(facts: PlanFacts, views: Sequence[ProjectedView]) -> bytes:
    """The file; ``views`` are of the whole piece, a front view among them."""
    with fixed_metadata():
        document, pen = open_document(facts, views)
        draw_views(facts, views, pen)
        set_extents(document, *pen.extents())
        return document_bytes(document)


def open_document(facts: PlanFacts, views: Sequence[ProjectedView]) -> tuple[Drawing, Pen]:
    """A document with its layers and styles, and a pen in its model space."""
    unit = facts.style.length
    ratio = _scale_of(facts, views)
    document = new_document(unit)
    pen = Pen(document.modelspace(), unit, LETTERS / ratio)
    _set_layers(document, pen, bool(facts.design.drawing.hidden_lines))
    # patterns of the line types are millimetres of paper
    document.header["$LTSCALE"] = pen.size(1 / ratio)
    document.header["$PSLTSCALE"] = 0
    set_dimension_style(document, pen)
    return document, pen


def _scale_of(facts: PlanFacts, views: Sequence[ProjectedView]) -> float:
    """Paper over work, as on a sheet that holds the views at the largest standard scale."""
    width = sum(v.width for v in views if v.name in ("front", "left", "right"))
    scales = SCALES[facts.style.length]
    fitting = next((s for s in scales if width * float(s.ratio) <= PAPER_WIDTH), scales[-1])
    return float(fitting.ratio)


def line_type(document: Drawing, use: LineUse) -> str:
    """Name of the line type with a use's dashes, millimetres of paper; made where it is not there yet."""
    dashes = LINES[use].dashes
    if not dashes:
        return "CONTINUOUS"
    name = f"PLAN_{use.upper().replace(' ', '_')}"
    if name not in document.linetypes:
        pattern = [d if i % 2 == 0 else -d for i, d in enumerate(dashes)]
        document.linetypes.add(name, [sum(dashes), *pattern], description=f"{use}, ISO 128")
    return name


def _set_layers(document: Drawing, pen: Pen, hidden: bool) -> None:
    document.styles.new(TEXT_STYLE, dxfattribs={"font": "txt"})
    document.header["$TEXTSTYLE"] = TEXT_STYLE
    document.header["$TEXTSIZE"] = pen.size(pen.letters)
    for name, (colour, use, weight) in LAYERS.items():
        layer = document.layers.add(name, color=colour, linetype=line_type(document, use), lineweight=weight)
        if name == "HIDDEN" and not hidden:
            layer.off()


def draw_views(facts: PlanFacts, views: Sequence[ProjectedView], pen: Pen) -> None:
    """The views with their dimensions and names, and the title under them."""
    facts = in_both_units(facts)
    figures = {v.name: [f for f in facts.elevation_figures if f.view == v.name] for v in views}
    laid = {v.name: lay_figures(figures[v.name], v, pen.letters) for v in views}
    method = projection_method(facts)
    origins = aligned_origins(views, method, _gap(laid, pen))
    for view in views:
        origin = origins[view.name]
        for stroke in view.strokes if view.name in _FLAT else visible_only(view.strokes):
            weight = SMOOTH_WEIGHT if stroke.visible and stroke.kind == "smooth" else None
            pen.stroke(stroke.curve, "OUTLINE" if stroke.visible else "HIDDEN", origin, weight)
        for item in laid[view.name]:
            add_linear(pen, item, view, origin)
        for figure in figures[view.name]:
            if figure.kind == "angular":
                add_angular(pen, figure, view, origin)
        _name_view(pen, view, origin, laid[view.name])
    _write_title(facts, pen, method)


def views_gap(facts: PlanFacts, views: Sequence[ProjectedView], pen: Pen) -> Vec2:
    """Room between the views in model space, across and up, millimetres of the work."""
    every = in_both_units(facts).elevation_figures
    return _gap(
        {v.name: lay_figures([f for f in every if f.view == v.name], v, pen.letters) for v in views}, pen
    )


def _gap(laid: Mapping[str, Sequence[Laid]], pen: Pen) -> Vec2:
    """Dimension lines of two neighbours may meet between them; across, a view's own name takes no room."""
    every = [item for items in laid.values() for item in items]
    return (
        _room(count_lines(every, "left", "right"), 2.0, pen),
        _room(count_lines(every, "below", "above"), 5.0, pen),
    )


def _room(lines: int, more: float, pen: Pen) -> float:
    """Millimetres that hold so many dimension lines on both sides, and ``more`` heights of lettering."""
    return (2 * (FIRST_LINE + LINE_PITCH * lines) + more) * pen.letters


def _name_view(pen: Pen, view: ProjectedView, origin: Vec2, laid: Sequence[Laid]) -> None:
    x0, y0, x1, _ = view.box
    below = pen.letters * (FIRST_LINE + LINE_PITCH * count_lines(laid, "below"))
    title = _TITLES.get(view.name, view.name.upper())
    pen.write(title, (origin[0] + (x0 + x1) / 2, origin[1] + y0 - below), "TEXT", centred=True)


def _write_title(facts: PlanFacts, pen: Pen, method: Method) -> None:
    (x0, y0), _ = pen.extents()
    x, y = x0 / pen.factor, y0 / pen.factor - 4 * pen.letters
    design = facts.design
    unit = "INCHES" if facts.style.length == "in" else "MILLIMETRES"
    words = [f"FULL SIZE, 1 UNIT = 1 {'INCH' if facts.style.length == 'in' else 'MM'}; DIMENSIONS IN {unit}"]
    words.append(f"{'THIRD' if method == 'third' else 'FIRST'}-ANGLE PROJECTION")
    for label, value in (("DRAWING", design.number), ("DATE", design.date), ("OWNER", design.owner)):
        if value is not None:
            words.append(f"{label} {value}")
    words.append(f"plangen {__version__}, {facts.source}, SHA-256 {facts.sha256[:16]}")
    pen.write(str(design.title), (x, y), "TITLE", 1.4)
    for i, line in enumerate(words):
        pen.write(line, (x, y - (2.6 + 1.6 * i) * pen.letters), "TITLE")
