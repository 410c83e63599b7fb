"""Strokes and words in a DXF space, from millimetres of the work to the drawing's unit."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, field

from ezdxf.enums import TextEntityAlignment
from ezdxf.layouts import BaseLayout

from plangen.export.dxf_text import ascii_words
from plangen.geometry.arcs_through import arcs_through
from plangen.geometry.contour_faults import facets
from plangen.geometry.curves import Arc, Curve, Line, Vec2
from plangen.units import MM_PER_INCH, LengthUnit

TEXT_STYLE = "PLAN"
SIGN_WIDTH = 0.9
"""Width of a sign over its height, about, in the plain fonts that readers substitute."""
_SHORTEST = 0.01
"""Millimetres of the work: shorter strokes are not written."""


@dataclass
class Pen:
    """Writes millimetres of the work, each stroke once."""

    space: BaseLayout
    unit: LengthUnit
    letters: float
    """Height of lettering, millimetres of the work."""
    line_scale: float | None = None
    """Of each stroke's own dashes; None: as the document has them."""
    _written: set[tuple[object, ...]] = field(default_factory=set)
    _low: Vec2 = (math.inf, math.inf)
    _high: Vec2 = (-math.inf, -math.inf)

    @property
    def factor(self) -> float:
        """Drawing units in a millimetre."""
        return 1.0 if self.unit == "mm" else 1.0 / float(MM_PER_INCH)

    def size(self, mm: float) -> float:
        """Rounded to 1e-6 mm at least, never -0."""
        return round(mm * self.factor, 6 if self.unit == "mm" else 8) + 0.0

    def at(self, p: Vec2) -> Vec2:
        return (self.size(p[0]), self.size(p[1]))

    def reach_to(self, *points: Vec2) -> None:
        """Counts places of the drawing, millimetres, to its extents."""
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        self._low = (min(self._low[0], *xs), min(self._low[1], *ys))
        self._high = (max(self._high[0], *xs), max(self._high[1], *ys))

    def extents(self) -> tuple[Vec2, Vec2]:
        """Least and greatest x and y, drawing units."""
        return self.at(self._low), self.at(self._high)

    def stroke(self, curve: Curve, layer: str, origin: Vec2, weight: int | None = None) -> None:
        """A curve as lines, arcs and circles, moved to ``origin``; free curves within 0.01 mm."""
        for piece in _pieces(curve):
            self._piece(piece, layer, origin, weight)

    def _piece(self, piece: Line | Arc, layer: str, origin: Vec2, weight: int | None) -> None:
        attributes: dict[str, object] = {"layer": layer}
        if weight is not None:
            attributes["lineweight"] = weight
        if self.line_scale is not None:
            attributes["ltscale"] = round(self.line_scale, 9)
        start, end = _moved(piece.start, origin), _moved(piece.end, origin)
        if isinstance(piece, Line):
            if math.dist(start, end) < _SHORTEST or not self._is_new("line", *sorted((start, end))):
                return
            self.space.add_line(self.at(start), self.at(end), dxfattribs=attributes)
        else:
            low, high = sorted((piece.first, piece.last))
            centre = _moved(piece.centre, origin)
            if piece.radius * (high - low) < _SHORTEST or not self._is_new(
                "arc", centre, start, end, (low, high)
            ):
                return
            self._arc(piece, centre, low, high, attributes)
        self.reach_to(*(_moved(p, origin) for p in facets([piece])))

    def _arc(self, piece: Arc, centre: Vec2, low: float, high: float, attributes: dict[str, object]) -> None:
        if piece.is_full:
            self.space.add_circle(self.at(centre), self.size(piece.radius), dxfattribs=attributes)
            return
        first, last = (round(math.degrees(a) % 360, 10) % 360 for a in (low, high))
        self.space.add_arc(self.at(centre), self.size(piece.radius), first, last, dxfattribs=attributes)

    def _is_new(self, kind: str, *points: Vec2) -> bool:
        key = (kind, *((round(x, 4) + 0.0, round(y, 4) + 0.0) for x, y in points))
        new = key not in self._written
        self._written.add(key)
        return new

    def write(self, text: str, at: Vec2, layer: str, size: float = 1.0, centred: bool = False) -> None:
        """A line of words, its top at ``at``; ``size`` in heights of lettering."""
        height = self.letters * size
        align = TextEntityAlignment.TOP_CENTER if centred else TextEntityAlignment.TOP_LEFT
        words = ascii_words(text)
        entity = self.space.add_text(
            words, height=self.size(height), dxfattribs={"layer": layer, "style": TEXT_STYLE}
        )
        entity.set_placement(self.at(at), align=align)
        width = len(words) * height * SIGN_WIDTH
        left = at[0] - (width / 2 if centred else 0.0)
        self.reach_to((left, at[1] - height), (left + width, at[1]))


def _moved(p: Vec2, origin: Vec2) -> Vec2:
    return (p[0] + origin[0], p[1] + origin[1])


def _pieces(curve: Curve) -> tuple[Line | Arc, ...]:
    """A curve that no arcs follow is drawn by chords within 1e-3 mm."""
    try:
        return arcs_through(curve)
    except ValueError:
        points = facets([curve])
        return tuple(Line(a, b) for a, b in itertools.pairwise(points))
