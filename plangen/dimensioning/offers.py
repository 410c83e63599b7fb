"""Offers: figures that could be stated of a member, before it is known which of them are needed.

An offer of a feature touches only that feature and the reference surfaces (the locality rule).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

from plangen.dimensioning.figures import SIGHT_OF, FigureKind, MemberView, Tier
from plangen.dimensioning.workpiece import AXES, Spot, Workpiece, across
from plangen.geometry.vectors import Vec, dot, length, scale, sub
from plangen.joinery.model import Origin

Side: TypeAlias = Literal["below", "above", "left", "right", "in place"]

VIEWS: tuple[MemberView, ...] = ("face", "edge", "end A", "end B", "back", "back edge")
PAPER: dict[MemberView, tuple[Vec, Vec]] = {
    "face": (AXES[0], AXES[1]),
    "edge": (AXES[0], AXES[2]),
    "back": (AXES[0], (0.0, -1.0, 0.0)),
    "back edge": (AXES[0], (0.0, 0.0, -1.0)),
    "end A": (AXES[2], AXES[1]),
    "end B": ((0.0, 0.0, -1.0), AXES[1]),
}
"""Member directions that run right and up on paper: each view keeps its line of sight and is not mirrored."""


@dataclass(frozen=True)
class Offer:
    """A figure before it is chosen and printed. ``spots`` are ``Figure.points`` with what holds them."""

    label: str
    """What it is of, in words: the tail of the figure's id."""
    kind: FigureKind
    spots: tuple[Spot, ...]
    direction: Vec | None
    view: MemberView
    feature: str | None = None
    tier: Tier = "size"
    origin: Origin = "worked"
    held: bool = False
    stated: bool = False
    """Stated in parentheses where it follows from others."""
    told: bool = False
    """The same, but it may give way to others: the depth of a cut whose walls stand aslant."""
    prefix: str = ""
    suffix: str = ""
    firm: bool = False
    """A size of the member itself: taken wherever it is new, whatever is tried with the others."""
    angle: Offer | None = None
    """The same slope as an angle; one of the two stands in parentheses."""
    span: float = 0.0
    """Millimetres over which the slope runs."""
    said_by: str = ""
    """Label of the offer whose note says this one."""
    mute: bool = False
    """That note's own words say it: ``4 x``, ``x 45°``."""
    degrees: float = 0.0
    """Value of an angular offer."""
    beside: Side | None = None
    """Which side of the view it stands on, where that is not told by where its points lie."""

    @property
    def value(self) -> float:
        """Millimetres, or degrees."""
        if self.kind == "angular":
            return self.degrees
        a, b = self.spots[0].point, self.spots[1].point
        if self.kind in ("linear", "depth"):
            assert self.direction is not None
            return abs(dot(sub(b, a), self.direction))
        return length(sub(b, a))


class Layout:
    """Chooses views and sides for offers on one workpiece."""

    def __init__(self, work: Workpiece) -> None:
        self.work = work
        self._seen: dict[tuple[MemberView, tuple[float, ...]], bool] = {}

    def sees(self, view: MemberView, spot: Spot, direction: Vec) -> bool:
        """A distance along ``direction`` can be read at the point in the view."""
        if not self._may_face(view, spot, direction):
            return False
        key = (view, tuple(round(c, 6) for c in spot.point))
        if key not in self._seen:
            self._seen[key] = self.work.sees(view, spot.point)
        return self._seen[key]

    def view(
        self, direction: Vec, spots: Sequence[Spot], preferred: Sequence[MemberView] = ()
    ) -> tuple[MemberView, bool]:
        """The view that shows a distance in true length with both ends in sight, and whether one does."""
        straight = [v for v in VIEWS if all(self._faces(v, s) for s in spots)]
        order = [v for v in dict.fromkeys((*preferred, *straight, *VIEWS)) if across(v, direction)]
        for view in order:
            if all(self.sees(view, s, direction) for s in spots):
                return view, True
        return (order[0] if order else "face"), False

    def _may_face(self, view: MemberView, spot: Spot, direction: Vec) -> bool:
        """A point of a cut is seen only where some surface there looks toward the eye, be it aslant, or is the
        very line one measures to; one of the outside may stand on the outline."""
        sight = SIGHT_OF[view]
        planes = [self.work.plane(f) for f in spot.forms]
        if all(f in self.work.outer for f, p in zip(spot.forms, planes, strict=True) if p is not None):
            return True
        return any(
            p is None or dot(p.normal, sight) < -1e-6 or abs(dot(p.normal, direction)) > 0.99 for p in planes
        )

    def _faces(self, view: MemberView, spot: Spot) -> bool:
        """The point lies on a plane that looks toward the eye."""
        sight = SIGHT_OF[view]
        planes = [self.work.plane(f) for f in spot.forms]
        return any(p is not None and dot(p.normal, sight) < -0.5 for p in planes)

    def side(self, offer: Offer) -> Side:
        """Which side of the view the dimension line stands on."""
        if offer.beside is not None:
            return offer.beside
        if offer.kind not in ("linear", "depth") or offer.direction is None:
            return "in place"
        right, up = PAPER[offer.view]
        x, y = abs(dot(offer.direction, right)), abs(dot(offer.direction, up))
        if min(x, y) > 1e-6 or max(x, y) < 1e-6:
            return "in place"
        level = x > y
        axis = up if level else right
        size = self.work.member.finished
        middle = dot(axis, scale(size, 0.5))
        at = sum(dot(axis, s.point) for s in offer.spots) / len(offer.spots)
        low = at <= middle + 1e-6
        if level:
            return "below" if low else "above"
        return "left" if low else "right"


def linear(
    layout: Layout,
    label: str,
    a: Spot,
    b: Spot,
    direction: Vec,
    preferred: Sequence[MemberView] = (),
) -> Offer:
    """A distance; as a depth where no view shows both its ends."""
    view, shown = layout.view(direction, (a, b), preferred)
    offer = Offer(label, "linear", (a, b), direction, view)
    if not shown:
        view = _mouth_view(layout, a, direction)
        offer = replace(offer, kind="depth", view=view, suffix=" DEEP")
    return offer


def _mouth_view(layout: Layout, mouth: Spot, direction: Vec) -> MemberView:
    """For a depth no view shows: the view that looks into the mouth."""
    looking = [v for v in VIEWS if not across(v, direction)]
    for view in looking:
        if layout.sees(view, mouth, direction):
            return view
    return looking[0]
