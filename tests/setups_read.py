"""The planes that a set-up makes, worked out again from its numbers alone, sharing no code with the package.

Machine: x along the fence, y toward it, z up; the blade at rest is x = 0. First the tilt turns the work, then the
miter turns the blade, then the bevel leans it (plan.json, part B).
"""

from __future__ import annotations

import numpy as np


def _turn(axis, angle):
    """Rotation matrix about a unit axis by the right-hand rule, as a sum of its three parts."""
    a = np.asarray(axis, float)
    k = np.array([[0, -a[2], a[1]], [a[2], 0, -a[0]], [-a[1], a[0], 0]])
    return np.cos(angle) * np.eye(3) + np.sin(angle) * k + (1 - np.cos(angle)) * np.outer(a, a)


def work_turned(setup, planes):
    """The matrix that turns directions of the member into the machine's."""
    down, against = (np.asarray(planes[i][0]) for i in (setup.surface_down, setup.surface_against))
    z = -down
    y = against - (against @ z) * z
    y /= np.linalg.norm(y)
    turned = np.array([np.cross(y, z), y, z])
    if setup.tilt is None:
        return turned
    about = (np.cos(setup.tilt.azimuth), np.sin(setup.tilt.azimuth), 0.0)
    return _turn(about, setup.tilt.angle) @ turned


def tool_axes(setup, planes):
    """The blade's normal, the direction it runs in and the floor's normal, in the member's frame."""
    tool = _turn((0, 0, 1), setup.miter) @ _turn((0, 1, 0), setup.bevel)
    back = work_turned(setup, planes).T
    return [back @ tool[:, i] for i in range(3)]


def planes_made(setup, planes):
    """{surface id: (outward unit normal, offset)} of a set-up with a blade, a head or a straight bit.

    ``planes`` are all that exist when it is made, by id, each (normal, offset). One surface without a stop is the
    floor; two are wall and floor, but the two walls of a floor begun earlier where the waste is between; three are
    wall, floor, wall.
    """
    if not setup.makes:
        return {}
    blade, _, up = tool_axes(setup, planes)
    if setup.stop is None:
        (name,) = setup.makes
        return {name: _floor(setup, planes, up)}
    at = np.asarray(setup.stop.at)
    wall = _outward(setup, blade, planes)
    found = [(wall, wall @ at)]
    if len(setup.makes) == 3 or (len(setup.makes) == 2 and setup.waste != "between"):
        found.append(_floor(setup, planes, up))
    if len(setup.makes) > len(found):
        found.append((-wall, -wall @ at - setup.width))
    return dict(zip(setup.makes, found, strict=True))


def _outward(setup, blade, planes):
    """The blade's normal on the side of the waste."""
    if setup.waste != "between":
        return blade if setup.waste == "right" else -blade
    into = -np.asarray(planes[setup.stop.start][0])
    along = np.cross(planes[setup.stop.arris[0]][0], planes[setup.stop.arris[1]][0])
    along = along if along @ into > 0 else -along
    away = blade if blade @ along > 0 else -blade
    return away if setup.stop.wall == "near" else -away


def _floor(setup, planes, up):
    normal, _ = planes[setup.depth_from]
    point, depth = setup.depth_at[0]
    out = -up if setup.cut_from == "below" else up
    assert out @ np.asarray(normal) > 0
    return out, out @ (np.asarray(point) - depth * np.asarray(normal))
