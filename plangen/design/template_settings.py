"""How templates are cut and printed, as a design's ``templates`` section or a file of its own says it.

What is not said is as in ``tables/cut_files.py``.
"""

from __future__ import annotations

from typing import Literal

from plangen.design.records import Expression, Record, Text, keyed


class CutLayer(Record):
    name: Text | None = keyed(
        "its name: capitals, figures, - and _; {depth} and {diameter} stand for figures", default=None
    )
    colour: Expression | None = keyed("its colour number, 1 to 255", default=None, kind="number")


class CutLayers(Record):
    """What the machine at hand wants layers to be called: an operation, then its layer."""

    through_outside: CutLayer | None = keyed("the outline, cut right through", default=None)
    through_inside: CutLayer | None = keyed("openings, cut right through", default=None)
    pocket: CutLayer | None = keyed("sunk from the face side", default=None)
    bore: CutLayer | None = keyed("bored from the face side", default=None)
    score: CutLayer | None = keyed("mouths of what is cut aslant by hand", default=None)
    mark: CutLayer | None = keyed("label and grain arrow", default=None)
    face_outline: CutLayer | None = keyed("the wood's outline on the face side, for reference", default=None)
    back_outline: CutLayer | None = keyed("the wood's outline on the back, for reference", default=None)
    tabs: CutLayer | None = keyed("where tabs are left", default=None)
    lead_in: CutLayer | None = keyed("from the waste to where a contour starts", default=None)
    hold_down: CutLayer | None = keyed("screws that hold the sheet down", default=None)
    keep_out: CutLayer | None = keyed("where no cutter goes, round those screws", default=None)
    sheet: CutLayer | None = keyed("outline of a sheet with its parts, for reference", default=None)


class Tabs(Record):
    """Bridges that hold a part in its sheet; never on an edge that another part touches."""

    width: Expression | None = keyed("along the outline; default: 8 mm", default=None, kind="length")
    height: Expression | None = keyed("how thick they are left; default: 3 mm", default=None, kind="length")
    spacing: Expression | None = keyed(
        "at most, along the outline; default: 250 mm", default=None, kind="length"
    )
    left_as: Literal["marks", "gaps"] = keyed("marks across the outline, or gaps in it", default="marks")


class HoldDown(Record):
    """Screws in the waste, clear of all that is cut."""

    diameter: Expression | None = keyed("of the screw; default: 4 mm", default=None, kind="length")
    keep_out: Expression | None = keyed(
        "radius about it that no cutter enters; default: 12 mm", default=None, kind="length"
    )
    spacing: Expression | None = keyed("from one to the next; default: 300 mm", default=None, kind="length")


class FitPlay(Record):
    """Room over both sides of a joint, beside what the design gives it; nothing where not said."""

    fingers: Expression | None = keyed("in the fingers of a corner", default=None, kind="length")
    housings: Expression | None = keyed("in housings, grooves and notches", default=None, kind="length")
    tenons: Expression | None = keyed("in mortises and tenons", default=None, kind="length")


class Nesting(Record):
    """All parts of one sheet stock laid on its sheets by their outlines."""

    spacing: Expression | None = keyed(
        "between parts; default: the cutter's diameter, without one the saw's kerf",
        default=None,
        kind="length",
    )
    margin: Expression | None = keyed(
        "from the sheet's edge; default: as between parts, and none where that would cost a sheet",
        default=None,
        kind="length",
    )


class MeasuredSheet(Record):
    stock: Text = keyed("the stock, as members name it")
    thickness: Expression = keyed("as measured on the sheet itself", kind="length")


class PaperTemplates(Record):
    """The same outlines on paper, at full size."""

    paper: Literal["A4", "letter", "universal"] | None = keyed(
        "sheets of the home printer; universal fits A4 and letter; default: as the drawings", default=None
    )
    roll: Expression | None = keyed("width of a roll, instead of sheets", default=None, kind="length")
    overlap: Expression | None = keyed("of neighbouring sheets; default: 10 mm", default=None, kind="length")
    blank_edge: Expression | None = keyed(
        "what the printer leaves blank at each edge; default: 10 mm", default=None, kind="length"
    )
    stretch: tuple[Expression, Expression] | None = keyed(
        "what the printer needs across and up the page to print true, 0.98 to 1.02",
        default=None,
        kind="number",
    )


class Templates(Record):
    """Cut files and full-size paper, one of each shaped part."""

    version: Literal["R12", "R2000", "R2010"] = keyed("of DXF", default="R2000")
    unit: Literal["mm", "in"] = keyed("of the cut files", default="mm")
    curves: Literal["bulges", "lines and arcs", "facets", "splines"] = keyed(
        "how curves are written: arcs as bulges of a polyline, single lines and arcs, chords, or splines",
        default="bulges",
    )
    circles: Literal["circles", "polylines"] = keyed("how full circles are written", default="circles")
    within: Expression | None = keyed(
        "that arcs for free curves, and chords, keep to; default: 0.01 mm", default=None, kind="length"
    )
    origin: Literal["corner", "keep", "middle"] = keyed(
        "what stands at 0, 0: the least corner, end A at the face edge, or the middle", default="corner"
    )
    cutter: Expression | None = keyed(
        "diameter of the cutter, or a laser's kerf", default=None, kind="length"
    )
    compensated: bool = keyed("contours for the middle of the cutter", default=False)
    inside_corners: Literal["sharp", "dog-bone", "T-bone"] = keyed(
        "relief where a square part must enter", default="sharp"
    )
    fit: FitPlay | None = keyed("more room in joints", default=None)
    tabs: Tabs | bool = keyed("bridges that hold the part", default=False)
    lead_in: Expression | None = keyed("length of the way in from the waste", default=None, kind="length")
    hold_down: HoldDown | bool = keyed("screws that hold the sheet", default=False)
    measured: tuple[MeasuredSheet, ...] = keyed("thickness of sheets as they are", default=())
    nested: Nesting | bool = keyed("all parts of one sheet stock in one file a sheet", default=True)
    fitted_ends: Literal["left long", "to the figure"] = keyed(
        "ends that are fitted on the work: longer by what the design leaves, or not", default="to the figure"
    )
    layers: CutLayers | None = keyed("names and colours of layers", default=None)
    on_paper: PaperTemplates | None = keyed("how they are printed", default=None)


class TemplatesFile(Templates):
    """A file that says how templates are cut, for all designs beside it."""

    units: Literal["in", "mm"] = keyed("the unit of bare numbers in this file")
