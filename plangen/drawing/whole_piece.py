"""The whole piece, projected once for all sheets: elevations, plan and the picture of the cover."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from plangen.dimensioning.figures import ElevationFigure
from plangen.drawing.placing_rule import Method, side_view_offset
from plangen.drawing.view_on_paper import ProjectedView, project_scene
from plangen.geometry.frames import Frame
from plangen.geometry.hidden import prepare
from plangen.geometry.sightings import Sighting, best_sightings
from plangen.geometry.solid import Solid
from plangen.geometry.vectors import cross
from plangen.geometry.views import ABOVE, FRONT, LEFT, RIGHT, Projection
from plangen.joinery.model import Member, Model

Elevation: TypeAlias = Literal["front", "right", "left", "plan"]
PROJECTIONS: dict[Elevation, Projection] = {"front": FRONT, "right": RIGHT, "left": LEFT, "plan": ABOVE}
_AZIMUTH, _RISE = math.radians(32), math.radians(22)
"""The eye stands right of the front viewer and above the piece."""


def picture_projection() -> Projection:
    """An axonometric projection in which the front of the piece is the widest of its sides."""
    ca, sa, ce, se = math.cos(_AZIMUTH), math.sin(_AZIMUTH), math.cos(_RISE), math.sin(_RISE)
    toward = (sa * ce, -ca * ce, se)
    right = (ca, sa, 0.0)
    return Projection(right, cross(toward, right), toward)


@dataclass(frozen=True)
class WholeViews:
    """The piece projected from three sides and as a picture, and where each member is seen best in each side."""

    side: Elevation
    """Which side view there is."""

    views: dict[Elevation, ProjectedView]
    sightings: dict[Elevation, tuple[Sighting, ...]]
    members: tuple[Member, ...]
    """The member of each instance, in the order of the sightings."""
    picture: ProjectedView
    solids: tuple[tuple[Solid, Frame], ...]

    def picture_sightings(self) -> tuple[Sighting, ...]:
        """Where each member is seen best in the picture, in the order of ``members``."""
        return best_sightings(self.solids, picture_projection())


def placed_solids(model: Model) -> tuple[list[tuple[Solid, Frame]], tuple[Member, ...]]:
    """Every instance of the work and of bought parts where it stands, and its member."""
    pairs = [(m, i) for m in model.members if m.role != "jig" for i in m.instances]
    return [(m.solid, i.frame) for m, i in pairs], tuple(m for m, _ in pairs)


def side_of(figures: Sequence[ElevationFigure], method: Method) -> Elevation:
    """The side view to draw: the one that has figures, else the one that stands right of the front view."""
    for side in ("right", "left"):
        if any(f.view == side for f in figures):
            return "right" if side == "right" else "left"
    return "right" if side_view_offset(method, "right")[0] > 0 else "left"


def project_whole(model: Model, side: Elevation) -> WholeViews:
    solids, members = placed_solids(model)
    scene = prepare(solids)
    names: tuple[Elevation, ...] = ("front", side, "plan")
    return WholeViews(
        side,
        {n: project_scene(scene, PROJECTIONS[n], n) for n in names},
        {n: best_sightings(solids, PROJECTIONS[n]) for n in names},
        members,
        project_scene(scene, picture_projection(), "axonometric"),
        tuple(solids),
    )
