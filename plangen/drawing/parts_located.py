"""Where the parts are: the picture of the piece with an item reference for every part, for pieces of so many
parts that the elevations have no room for them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from plangen.drawing.balloons import Anchor, place_balloons
from plangen.drawing.draft import Draft, SheetStyle, free_field, larger_papers
from plangen.drawing.lettering import Box2
from plangen.drawing.mark_geometry import extents, moved
from plangen.drawing.marks import Mark
from plangen.drawing.occupied import Occupied
from plangen.drawing.view_on_paper import lay_view
from plangen.drawing.whole_piece import WholeViews
from plangen.geometry.sightings import Sighting
from plangen.joinery.model import Member
from plangen.tables.scales import Scale

_MARGIN = 4.0
_SHRINK = 0.93
_SMALLEST = 0.25
"""Of the largest picture the sheet holds."""


def located_draft(whole: WholeViews, style: SheetStyle) -> Draft:
    """The sheet, on the smallest paper that has room. Raises ValueError where none has."""
    for name in larger_papers(style.small):
        paper = f"{name} landscape"
        x0, y0, x1, y1 = free_field(paper)
        room = (x0 + _MARGIN, y0 + _MARGIN, x1 - _MARGIN, y1 - _MARGIN)
        marks = _picture(whole, room)
        if marks is not None:
            return Draft(
                key="parts located",
                title="Where the parts are",
                purpose="Item references of all parts; not to scale"
                + inside(whole.members, whole.picture_sightings()),
                document_type="Item references",
                kind="notes",
                paper=paper,
                marks=marks,
                alt="A picture of the piece with a reference to every part",
            )
    raise ValueError("more parts than any sheet has room to refer to")


def _picture(whole: WholeViews, room: Box2) -> tuple[Mark, ...] | None:
    """The largest picture that fits the room together with its references."""
    seen = best_by_mark(whole.members, whole.picture_sightings())
    for k in _factors(whole, room):
        scale = Scale(Fraction(k).limit_denominator(10**6), "not to scale")
        paper = lay_view(whole.picture, scale, hidden=False, outline="fine outline")
        occupied = Occupied()
        occupied.add(paper.marks)
        anchors = [Anchor(m, (s.at[0] * paper.factor, s.at[1] * paper.factor)) for m, s in seen]
        balloons = place_balloons(anchors, paper.box, occupied)
        if balloons is None:
            continue
        marks = (*paper.marks, *balloons)
        x0, y0, x1, y1 = extents(marks)
        if x1 - x0 <= room[2] - room[0] and y1 - y0 <= room[3] - room[1]:
            by = ((room[0] + room[2] - x0 - x1) / 2, (room[1] + room[3] - y0 - y1) / 2)
            return tuple(moved(m, by) for m in marks)
    return None


def _factors(whole: WholeViews, room: Box2) -> Iterator[float]:
    view = whole.picture
    largest = min((room[2] - room[0]) / view.width, (room[3] - room[1]) / view.height)
    k = largest
    while k > _SMALLEST * largest:
        yield k
        k *= _SHRINK


def inside(members: Sequence[Member], *views: Sequence[Sighting]) -> str:
    """``; inside, not seen: D, E``: the marks that no view shows, as the end of a sheet's purpose; else empty."""
    seen = {m.mark for sightings in views for m, s in zip(members, sightings, strict=True) if s.clearance > 0}
    marks = [mark for mark in dict.fromkeys(m.mark for m in members) if mark not in seen]
    return f"; inside, not seen: {', '.join(marks)}" if marks else ""


def best_by_mark(members: Sequence[Member], sightings: Sequence[Sighting]) -> list[tuple[str, Sighting]]:
    """For each mark that is seen at all the sighting of the instance that is seen best."""
    best: dict[str, Sighting] = {}
    for member, sighting in zip(members, sightings, strict=True):
        known = best.get(member.mark)
        if sighting.clearance > 0 and (known is None or round(sighting.clearance - known.clearance, 6) > 0):
            best[member.mark] = sighting
    return list(best.items())
