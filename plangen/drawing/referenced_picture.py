"""A picture with item references about it, as large as its room allows."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from plangen.drawing.balloons import Anchor, place_balloons
from plangen.drawing.lettering import Box2
from plangen.drawing.mark_geometry import extents, moved
from plangen.drawing.marks import Mark
from plangen.drawing.occupied import Occupied
from plangen.drawing.view_on_paper import PaperView, ProjectedView, lay_view
from plangen.geometry.sightings import Sighting
from plangen.joinery.model import Member
from plangen.tables.scales import Scale

_SHRINK = 0.93
_SMALLEST = 0.25
"""Of the largest picture the room holds."""

Inked = Callable[[PaperView], Sequence[Mark]]


@dataclass(frozen=True)
class Referenced:
    """Which member is referred to, the point of the view (mm of the work) where it is seen best, and the clearance
    there."""

    mark: str
    at: tuple[float, float]
    clearance: float

    def anchor(self, k: float) -> Anchor:
        """On paper, at ``k`` paper over work."""
        return Anchor(self.mark, (self.at[0] * k, self.at[1] * k), self.clearance * k)


def plain_ink(paper: PaperView) -> Sequence[Mark]:
    """The view's own strokes."""
    return paper.marks


def referenced_picture(
    view: ProjectedView, seen: Sequence[Referenced], room: Box2, ink: Inked = plain_ink
) -> tuple[Mark, ...] | None:
    """Marks on the sheet in the middle of ``room``; None where there is no room for all references at any size.

    ``ink`` makes the marks of the view at a scale, about the view's origin.
    """
    for k in _factors(view, room):
        scale = Scale(Fraction(k).limit_denominator(10**6), "not to scale")
        paper = lay_view(view, scale, hidden=False, outline="fine outline")
        drawn = ink(paper)
        occupied = Occupied()
        occupied.add(drawn)
        anchors = [r.anchor(paper.factor) for r in seen]
        x0, y0, x1, y1 = extents(drawn)
        balloons = place_balloons(anchors, (x0, y0, x1, y1), occupied)
        if balloons is None:
            continue
        marks = (*drawn, *balloons)
        x0, y0, x1, y1 = extents(marks)
        if x1 - x0 <= room[2] - room[0] and y1 - y0 <= room[3] - room[1]:
            by = ((room[0] + room[2] - x0 - x1) / 2, (room[1] + room[3] - y0 - y1) / 2)
            return tuple(moved(m, by) for m in marks)
    return None


def _factors(view: ProjectedView, room: Box2) -> Iterator[float]:
    largest = min((room[2] - room[0]) / view.width, (room[3] - room[1]) / view.height)
    k = largest
    while k > _SMALLEST * largest:
        yield k
        k *= _SHRINK


def best_by_mark(members: Sequence[Member], sightings: Sequence[Sighting]) -> list[Referenced]:
    """For each mark that is seen at all, where the instance that is seen best is seen."""
    best: dict[str, Sighting] = {}
    for member, sighting in zip(members, sightings, strict=True):
        known = best.get(member.mark)
        if sighting.clearance > 0 and (known is None or round(sighting.clearance - known.clearance, 6) > 0):
            best[member.mark] = sighting
    return [Referenced(mark, s.at, s.clearance) for mark, s in best.items()]
