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

    ``planes`` are all that exist when it is made, by id, each (normal, offset).
    """
    blade, _, floor = tool_axes(setup, planes)
    made = {}
    ids = list(setup.makes)
    at = None if setup.stop is None else np.asarray(setup.stop.at)
    if setup.waste in ("left", "right"):
        # the wood left of the blade is waste where the outer side of its plane is to the left
        n = -blade if setup.waste == "left" else blade
        if at is not None and ids:
            made[ids.pop(0)] = (n, n @ at)
    if setup.depth is not None and setup.operation != "kerf":
        n0, _ = planes[setup.depth_from]
        point, depth = setup.depth_at[0]
        on = np.asarray(point) - depth * np.asarray(n0)
        up = floor if floor @ np.asarray(n0) > 0 else -floor
        if setup.waste == "between":
            other = None
            if at is not None:
                near = _near_side(setup, blade, planes)
                made[ids[0]] = (near, near @ at)
                other = (-near, -near @ at + setup.width) if len(ids) > 2 else None
                ids = ids[1:]
            made[ids[0]] = (up, up @ on)
            if other is not None:
                made[ids[1]] = other
        elif ids:
            made[ids[0]] = (up, up @ on)
    return made


def _near_side(setup, blade, planes):
    """The outward normal of the wall at the stop: away from what the wall stands on, into the trench."""
    n_start, _ = planes[setup.stop.start]
    into = -np.asarray(n_start)
    return blade if blade @ into > 0 else -blade
