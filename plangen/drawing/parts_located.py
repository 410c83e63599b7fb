"""Where the parts are: the picture of the piece with an item reference for every part, for pieces of so many
parts that the elevations have no room for them."""

from __future__ import annotations

from collections.abc import Sequence

from plangen.drawing.draft import Draft, SheetStyle, free_field, larger_papers
from plangen.drawing.referenced_picture import best_by_mark, referenced_picture
from plangen.drawing.whole_piece import WholeViews
from plangen.geometry.sightings import Sighting
from plangen.joinery.model import Member

_MARGIN = 4.0


def located_draft(whole: WholeViews, style: SheetStyle) -> Draft:
    """The sheet, on the smallest paper that has room. Raises ValueError where none has."""
    seen = best_by_mark(whole.members, whole.picture_sightings())
    for name in larger_papers(style.small):
        paper = f"{name} landscape"
        x0, y0, x1, y1 = free_field(paper)
        room = (x0 + _MARGIN, y0 + _MARGIN, x1 - _MARGIN, y1 - _MARGIN)
        marks = referenced_picture(whole.picture, seen, room)
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


def inside(members: Sequence[Member], *views: Sequence[Sighting]) -> str:
    """``; inside, not seen: D, E``: the marks that no view shows, as the end of a sheet's purpose; else empty."""
    seen = {m.mark for sightings in views for m, s in zip(members, sightings, strict=True) if s.clearance > 0}
    marks = [mark for mark in dict.fromkeys(m.mark for m in members) if mark not in seen]
    return f"; inside, not seen: {', '.join(marks)}" if marks else ""
