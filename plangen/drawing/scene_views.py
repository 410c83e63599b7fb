"""The elevations of the whole piece: which views there are, and how they stand to one another."""

from __future__ import annotations

import math
from typing import Literal, TypeAlias

from plangen.drawing.view_on_paper import ProjectedView, project_scene
from plangen.facts import PlanFacts
from plangen.geometry.curves import Vec2
from plangen.geometry.hidden import prepare
from plangen.geometry.views import ABOVE, FRONT, LEFT, RIGHT, Projection

Method: TypeAlias = Literal["first", "third"]

_TILT = math.asin(math.tan(math.radians(30.0)))
_S, _C = math.sin(_TILT), math.cos(_TILT)
_D = math.sqrt(0.5)
ISOMETRIC = Projection((_D, _D, 0.0), (-_D * _S, _D * _S, _C), (_D * _C, -_D * _C, _S))
"""From the front right, all three axes shortened alike (ISO 5456-3)."""


def projection_method(facts: PlanFacts) -> Method:
    """As the design says, else third-angle for inches and first-angle for millimetres."""
    return facts.design.drawing.projection or ("third" if facts.style.length == "in" else "first")


def elevation_views(facts: PlanFacts) -> tuple[ProjectedView, ...]:
    """Front, side, plan and axonometric of everything that stands in its place.

    The side is the one that the figures are of; without figures the one that stands right of the front.
    """
    placed = [(m.solid, i.frame) for m in facts.model.members if m.role != "jig" for i in m.instances]
    scene = prepare(placed)
    figured = {f.view for f in facts.elevation_figures}
    side: Literal["left", "right"] = "left" if projection_method(facts) == "first" else "right"
    if "left" in figured or "right" in figured:
        side = "left" if "left" in figured else "right"
    sideways = LEFT if side == "left" else RIGHT
    wanted = (("front", FRONT), (side, sideways), ("plan", ABOVE), ("axonometric", ISOMETRIC))
    return tuple(project_scene(scene, projection, name) for name, projection in wanted)


def aligned_origins(views: tuple[ProjectedView, ...], method: Method, gap: float) -> dict[str, Vec2]:
    """Where the origin of each view stands so that views line up by the method, millimetres of the work.

    The front view's origin is 0, 0. Third angle: right side on the right, plan above. First angle: left side
    on the right, plan below. The axonometric view stands in the free corner on the right.
    """
    by_name = {v.name: v for v in views}
    front = by_name["front"].box
    origins: dict[str, Vec2] = {"front": (0.0, 0.0)}
    right_edge = front[2]
    for name in ("left", "right"):
        if name not in by_name:
            continue
        x0, _, x1, _ = by_name[name].box
        if (name == "right") == (method == "third"):
            origins[name] = (front[2] + gap - x0, 0.0)
            right_edge = front[2] + gap + x1 - x0
        else:
            origins[name] = (front[0] - gap - x1, 0.0)
    if "plan" in by_name:
        _, y0, _, y1 = by_name["plan"].box
        above = method == "third"
        origins["plan"] = (0.0, front[3] + gap - y0 if above else front[1] - gap - y1)
    if "axonometric" in by_name:
        x0, y0, _, y1 = by_name["axonometric"].box
        plan = by_name["plan"].box if "plan" in by_name else front
        level = origins["plan"][1] + (plan[1] + plan[3]) / 2 if "plan" in origins else front[3] + gap
        half = (y1 - y0) / 2
        middle = max(level, front[3] + gap + half) if method == "third" else min(level, front[1] - gap - half)
        left = right_edge + gap if right_edge == front[2] else front[2] + gap
        origins["axonometric"] = (max(left, plan[2] + gap) - x0, middle - (y0 + y1) / 2)
    return origins
