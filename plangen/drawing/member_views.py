"""The six views of a member in its own frame, and where each stands on paper by the projection method.

The face view has its length to the right, end A left, the face edge down. The others unfold from it: the
views of the edges and the back roll over the face edge (or the back edge) and keep the length level, the views
of the ends stand beside it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from plangen.dimensioning.figures import SIGHT_OF, MemberView
from plangen.drawing.placing_rule import Method, side_view_offset
from plangen.drawing.view_on_paper import ProjectedView, project_scene
from plangen.geometry.frames import WORLD
from plangen.geometry.hidden import prepare
from plangen.geometry.vectors import Vec, cross, neg
from plangen.geometry.views import Projection
from plangen.joinery.model import Member

_UP: dict[MemberView, Vec] = {
    "face": (0.0, 1.0, 0.0),
    "edge": (0.0, 0.0, 1.0),
    "back": (0.0, -1.0, 0.0),
    "back edge": (0.0, 0.0, -1.0),
    "end A": (0.0, 1.0, 0.0),
    "end B": (0.0, 1.0, 0.0),
}
TITLES: dict[MemberView, str] = {
    "face": "FACE SIDE",
    "edge": "FACE EDGE",
    "back": "BACK",
    "back edge": "BACK EDGE",
    "end A": "END A",
    "end B": "END B",
}


_ROUND_TITLES: dict[MemberView, str] = {
    "face": "SIDE",
    "edge": "FROM BELOW",
    "back": "FROM BEHIND",
    "back edge": "FROM ABOVE",
    "end A": "END A",
    "end B": "END B",
}
"""Of a round piece, which has no face side."""


def view_title(view: MemberView, member: Member) -> str:
    """What is written under a view; a bent bar is drawn flat."""
    if member.bent is not None and view == "face":
        return "FLAT"
    return (_ROUND_TITLES if member.is_round else TITLES)[view]


def view_words(view: MemberView, member: Member) -> str:
    """A view as a sentence names it: ``face side``, ``end A``."""
    return view if view in ("end A", "end B") else view_title(view, member).lower()


def member_projection(view: MemberView) -> Projection:
    """The projection of a view of a member, in its own frame."""
    toward = neg(SIGHT_OF[view])
    up = _UP[view]
    return Projection(cross(up, toward), up, toward)


@dataclass(frozen=True)
class MemberViews:
    """A member's views, projected once."""

    member: Member
    views: dict[MemberView, ProjectedView]


def project_member(member: Member, views: Sequence[MemberView]) -> MemberViews:
    scene = prepare([(member.solid, WORLD)])
    return MemberViews(member, {name: project_scene(scene, member_projection(name), name) for name in views})


def column_order(views: Sequence[MemberView], method: Method) -> tuple[MemberView, ...]:
    """Views that keep the length level, from the top of the sheet down. The face edge is the lower side of
    the face view, so its view is the one seen from below; the back is seen by rolling on."""
    rolled: tuple[MemberView, ...] = ("back edge", "face", "edge", "back")
    if side_view_offset(method, "below")[1] > 0:
        rolled = rolled[::-1]
    return tuple(v for v in rolled if v in views)


def end_side(view: MemberView, method: Method) -> int:
    """-1 where the view of an end stands left of the face view, 1 where it stands right of it."""
    return side_view_offset(method, "left" if view == "end A" else "right")[0]
