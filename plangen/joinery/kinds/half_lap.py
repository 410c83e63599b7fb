"""Half lap, at a corner, a tee or a crossing: each member gives up half where the two share wood.

The floor is parallel to the face of the member named second unless ``floor`` says otherwise, at half of the wood
at the middle of the shared region; ``depth`` is the depth of the cut in the second member instead. The walls are
the other member's placed sides.
"""

from __future__ import annotations

import math

from plangen.design import design as d
from plangen.findings import Finding, note
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import Vec, add, dot, neg, unit
from plangen.joinery.kinds.lapping import crossing_axis, depth_advice, divide, lapped, outward, proud
from plangen.joinery.made import Made
from plangen.joinery.meeting import Cut, Meeting
from plangen.joinery.sizing import Sizing

LEAST_SQUARER = math.radians(0.5)
"""A floor that brings the walls no nearer to square than this is not worth a remark."""
UP: Vec = (0.0, 0.0, 1.0)


def make(meeting: Meeting, spec: d.Joint, sizing: Sizing) -> Made:
    """The cuts, and what the maker should know: wood that stands proud of the lap, a floor easier to saw."""
    normal = floor_normal(meeting, spec.floor)
    cuts = _cuts(meeting, spec, sizing, normal)
    found = [f for cut in cuts for f in proud(meeting, sizing, cut, "half lap")]
    found += depth_advice(
        meeting, spec, sizing, divide(meeting, spec, sizing, normal, "half lap"), "half lap"
    )
    if spec.floor is None:
        found += _squarer(meeting, spec, sizing, cuts)
    return Made(cuts, findings=tuple(found))


def _cuts(meeting: Meeting, spec: d.Joint, sizing: Sizing, normal: Vec) -> tuple[Cut, ...]:
    division = divide(meeting, spec, sizing, normal, "half lap")
    return (
        lapped(meeting, meeting.first, meeting.second, division.first_loses, "half lap"),
        lapped(meeting, meeting.second, meeting.first, division.second_loses, "half lap"),
    )


def floor_normal(meeting: Meeting, floor: str | None, kind: str = "half lap") -> Vec:
    """World direction square to the floor, toward the side that counts as over: up, else the viewer's."""
    if floor == "level":
        return UP
    first, second = (m.frame.axes[crossing_axis(meeting, m, kind)] for m in (meeting.first, meeting.second))
    if dot(first, second) < 0:
        first = neg(first)
    normal = {"first": first, "between": unit(add(first, second))}.get(floor or "second", second)
    return outward(normal)


def _squarer(meeting: Meeting, spec: d.Joint, sizing: Sizing, made: tuple[Cut, ...]) -> list[Finding]:
    """The default floor, where a floor along the first's face would leave the walls nearer to square."""
    ours = _worst_wall(made)
    theirs = _worst_wall(_cuts(meeting, spec, sizing, floor_normal(meeting, "first")))
    if theirs > ours - LEAST_SQUARER:
        return []
    text = (
        f'half lap: with "floor: first" the walls would lean {math.degrees(theirs):.1f} degrees from square '
        f"to the floor instead of {math.degrees(ours):.1f}"
    )
    return [note(meeting.place, "floor", text, meeting.first.name, meeting.second.name)]


def _worst_wall(made: tuple[Cut, ...]) -> float:
    """Radians by which the walls lean from square to their floor, the most of any."""
    leans = [0.0]
    for cut in made:
        floor, *walls = [f for f in cut.cutters[0] if isinstance(f, Plane)]
        leans += [abs(math.asin(max(-1.0, min(1.0, dot(floor.normal, w.normal))))) for w in walls]
    return max(leans)
