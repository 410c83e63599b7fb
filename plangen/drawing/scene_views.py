"""The views of the whole piece at full size: the elevations as the sheets draw them, and the cover's picture."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from plangen.drawing.composition import sheet_style
from plangen.drawing.placing_rule import Method, side_view_offset
from plangen.drawing.view_on_paper import ProjectedView, project_scene
from plangen.drawing.whole_piece import PROJECTIONS, picture_projection, placed_solids, side_of
from plangen.geometry.curves import Vec2
from plangen.geometry.hidden import prepare

if TYPE_CHECKING:
    from plangen.facts import PlanFacts


def projection_method(facts: PlanFacts) -> Method:
    return sheet_style(facts).method


def elevation_views(facts: PlanFacts) -> tuple[ProjectedView, ...]:
    """``front``, ``left`` or ``right``, ``plan`` and ``axonometric`` of everything that stands in its place."""
    scene = prepare(placed_solids(facts.model)[0])
    side = side_of(facts.elevation_figures, projection_method(facts))
    flat = tuple(project_scene(scene, PROJECTIONS[name], name) for name in ("front", side, "plan"))
    return (*flat, project_scene(scene, picture_projection(), "axonometric"))


def aligned_origins(views: Sequence[ProjectedView], method: Method, gap: Vec2) -> dict[str, Vec2]:
    """Where the origin of each view stands, the front view's at 0, 0, millimetres of the work.

    Side and plan line up with the front view on the side that the method gives them; the axonometric view
    stands in the corner between them and to the right. ``gap``: room between views, across and up.
    """
    box = {v.name: v.box for v in views}
    x0, y0, x1, y1 = box["front"]
    origins: dict[str, Vec2] = {"front": (0.0, 0.0)}
    for name in ("left", "right"):
        if name in box:
            right = side_view_offset(method, "left" if name == "left" else "right")[0] > 0
            origins[name] = (x1 + gap[0] - box[name][0] if right else x0 - gap[0] - box[name][2], 0.0)
    up = side_view_offset(method, "above")[1] > 0
    if "plan" in box:
        origins["plan"] = (0.0, y1 + gap[1] - box["plan"][1] if up else y0 - gap[1] - box["plan"][3])
    if "axonometric" in box:
        ax0, ay0, _, ay1 = box["axonometric"]
        left = max(x1, box["plan"][2] if "plan" in box else x1) + gap[0] - ax0
        origins["axonometric"] = (left, y1 + gap[1] - ay0 if up else y0 - gap[1] - ay1)
    return origins
