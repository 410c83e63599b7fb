"""What a shop asks of its cut files and of its full-size paper. A design's ``templates`` names others.

Lengths mm. The scheme of layers is ours: the word says what happens there, a figure after ``D`` how deep it goes and
after ``DIA`` how wide a bore is, in hundredths of a millimetre (files in inches: thousandths of an inch, and ``TH``
after them, since no layer's name holds a point).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, TypeAlias

Operation: TypeAlias = Literal[
    "through outside",
    "through inside",
    "pocket",
    "bore",
    "score",
    "mark",
    "face outline",
    "back outline",
    "tabs",
    "lead in",
    "hold down",
    "keep out",
    "sheet",
]
DxfVersion: TypeAlias = Literal["R12", "R2000", "R2010"]
CurveMode: TypeAlias = Literal["bulges", "lines and arcs", "facets", "splines"]
Relief: TypeAlias = Literal["none", "dog-bone", "T-bone"]
Origin: TypeAlias = Literal["corner", "keep", "middle"]


@dataclass(frozen=True)
class Layer:
    """Name (``{depth}`` and ``{diameter}`` stand for figures) and colour number of a layer."""

    name: str
    colour: int
    meaning: str = ""


LAYERS: dict[Operation, Layer] = {
    "through outside": Layer("CUT_THROUGH_OUTSIDE", 1, "the outline, cut right through; last"),
    "through inside": Layer("CUT_THROUGH_INSIDE", 30, "openings, cut right through, before the outline"),
    "pocket": Layer("POCKET_D{depth}", 5, "sunk from the face side to this depth"),
    "bore": Layer("DRILL_D{depth}_DIA{diameter}", 6, "bored from the face side, this deep, this wide"),
    "score": Layer("ENGRAVE_SCORE", 4, "mouths of what is cut aslant: score them, then cut by hand"),
    "mark": Layer("ENGRAVE", 3, "label and grain arrow"),
    "face outline": Layer("MARK_FACE", 9, "the wood's outline on the face side, where it is not the cut one"),
    "back outline": Layer("MARK_BACK", 8, "the wood's outline on the back, where it is not the cut one"),
    "tabs": Layer("TABS_D{depth}", 2, "across the outline, where a tab is left this thick"),
    "lead in": Layer("LEAD_IN", 140, "from the waste to where a contour starts"),
    "hold down": Layer("HOLD_DOWN", 40, "where a screw may hold the sheet down"),
    "keep out": Layer("KEEP_OUT", 10, "round a screw, where no cutter goes"),
    "sheet": Layer("SHEET", 7, "a sheet's own outline, where all parts of one stock lie on it; not cut"),
}
LONGEST_LAYER = 31
"""Characters of a layer's name (R12, DXF reference)."""


@dataclass(frozen=True)
class Tabs:
    """Bridges that hold a part in the sheet until it is cut free."""

    width: float = 8.0
    height: float = 3.0
    spacing: float = 250.0
    """At most, along the outline."""
    left: Literal["marks", "gaps"] = "marks"


@dataclass(frozen=True)
class HoldDown:
    """Screws in the waste beside a part."""

    diameter: float = 4.0
    keep_out: float = 12.0
    """Radius about each that no cutter enters."""
    spacing: float = 300.0


@dataclass(frozen=True)
class FitPlay:
    """Room over both sides of a joint, beside what the design gives it."""

    fingers: float = 0.0
    housings: float = 0.0
    tenons: float = 0.0

    @property
    def any(self) -> bool:
        return any((self.fingers, self.housings, self.tenons))


@dataclass(frozen=True)
class Nesting:
    """How all parts of one sheet stock are laid on its sheets."""

    spacing: float | None = None
    """Between parts; None: the cutter's width, without one the saw's kerf."""
    margin: float | None = None
    """From the sheet's edge; None: as between parts."""


@dataclass(frozen=True)
class FullSizePaper:
    """The paper that templates are printed on at full size."""

    paper: str = ""
    """A sheet of ``tables/paper.py``; empty: that of the drawings."""
    roll: float | None = None
    """Width of a roll; then no tiles."""
    overlap: float = 10.0
    edge: float = 10.0
    """What the printer leaves blank at each edge."""
    stretch: tuple[float, float] = (1.0, 1.0)
    """Across and up the page: what a known printer needs to print true."""


@dataclass(frozen=True)
class CutFiles:
    """How templates are written."""

    version: DxfVersion = "R2000"
    unit: Literal["mm", "in"] = "mm"
    curves: CurveMode = "bulges"
    circles: Literal["circles", "polylines"] = "circles"
    tolerance: float = 0.01
    """That arcs for free curves, and facets, keep to."""
    origin: Origin = "corner"
    cutter: float | None = None
    """Diameter; of a laser the kerf."""
    compensated: bool = False
    """Contours are the way of the cutter's middle; else they are the part's own."""
    relief: Relief = "none"
    fit: FitPlay = FitPlay()
    tabs: Tabs | None = None
    lead_in: float | None = None
    hold_down: HoldDown | None = None
    measured: tuple[tuple[str, float], ...] = ()
    """Thickness of sheets as they are, by the name of their stock."""
    leave_ends: bool = False
    """Ends that are fitted on the work are cut as much longer as the design says."""
    nested: Nesting | None = Nesting()
    """None: no sheets with all their parts, only a file for each."""
    layers: dict[Operation, Layer] = field(default_factory=lambda: dict(LAYERS))
    paper: FullSizePaper = FullSizePaper()

    def thickness_of(self, stock: str) -> float | None:
        return dict(self.measured).get(stock)


DEFAULT = CutFiles()
