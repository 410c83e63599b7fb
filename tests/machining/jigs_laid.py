"""Work placed on a jig, by the jig's own surfaces, and cut with an untilted tool.

Written out with matrices; nothing of ``plangen.machining`` but its records is asked.
"""

from __future__ import annotations

import math

import numpy as np

from plangen.geometry.surfaces import Plane

EXACT = 1e-6
"""Millimetres."""
UP = np.array([0.0, 0.0, 1.0])


def turned(axis, angle, v):
    """Rodrigues' formula, right-handed."""
    c, s = math.cos(angle), math.sin(angle)
    return c * v + s * np.cross(axis, v) + (1 - c) * axis * (axis @ v)


def plane_of(member, name):
    planes = {s.id: s.form for f in member.features for s in f.surfaces} | member.blank.planes()
    return planes[name]


def flat(setup, member):
    """Rows: the machine's right, to-the-fence and up in the drawn piece; of the other hand seen in a mirror."""
    z = -np.array(plane_of(member, setup.surface_down).normal)
    y = np.array(plane_of(member, setup.surface_against).normal)
    y = y - (y @ z) * z
    y /= np.linalg.norm(y)
    x = np.cross(y, z)
    return np.array([-x if setup.hand not in (None, member.drawn) else x, y, z])


def on_the_wedge(setup, member, jig, piece):
    """The machine's directions with the work lying on the jig's slope, the jig's edge on the table.

    The jig's length rises away from the axis at its azimuth; the line of that axis on the slope is the line to which
    the work is laid.
    """
    (slope,) = [s.form for f in piece.features for s in f.surfaces]
    axis = np.array([math.cos(jig.azimuth), math.sin(jig.azimuth), 0.0])
    rise = np.cross(UP, axis)
    outward = np.array(slope.normal) @ np.stack([rise, UP, axis])
    level = np.stack([axis, rise, UP])
    lying = np.stack([axis, np.cross(outward, axis), outward])
    return lying.T @ level @ flat(setup, member)


def blade(setup):
    m, b = setup.miter, setup.bevel
    return np.array([math.cos(m) * math.cos(b), math.sin(m) * math.cos(b), -math.sin(b)])


def floor(setup):
    m, b = setup.miter, setup.bevel
    return np.array([math.cos(m) * math.sin(b), math.sin(m) * math.sin(b), math.cos(b)])


def made_planes(setup, member, machine):
    """What an untilted tool makes, as normal and a point, by surface id; of a drilled hole its axis."""
    if setup.operation in ("bore", "ream"):
        return {setup.makes[0]: (-UP @ machine, np.array(setup.path[0]))} if setup.makes else {}
    names, found = list(setup.makes), {}
    if setup.stop is not None:
        found[names[0]] = (blade(setup) @ machine, np.array(setup.stop.at))
        if len(names) == 3:
            across = blade(setup) @ machine  # the first wall looks across the trench at the other
            across = math.copysign(setup.width, across @ plane_of(member, names[0]).normal) * across
            found[names[2]] = (across, np.array(setup.stop.at) + across)
        names = names[1:2]
    if names and setup.depth_at:
        start = np.array(plane_of(member, setup.depth_from).normal)
        point, depth = setup.depth_at[0]
        found[names[0]] = (floor(setup) @ machine, np.array(point) - depth * start)
    return found


def off(member, name, normal, point):
    """Greatest distance of the corners on a surface from a plane; of a hole how far its axis leans over its length."""
    form = next(s.form for f in member.features for s in f.surfaces if s.id == name)
    if not isinstance(form, Plane):
        return float(np.linalg.norm(np.cross(np.array(form.axis), normal))) * max(member.finished)
    solid = member.solid
    on = [i for i, f in enumerate(solid.forms) if isinstance(f, Plane) and abs(f.offset - form.offset) < 1e-7
          and np.dot(f.normal, form.normal) > 1 - 1e-12]  # fmt: skip
    corners = solid.vertices[np.unique(solid.triangles[np.isin(solid.triangle_form, on)])]
    if not len(corners):
        return 0.0
    return float(np.abs((corners - point) @ (normal / np.linalg.norm(normal))).max())


def on_the_carrier(setup, member, piece, work):
    """The machine's directions, and where the piece's origin comes to be: the fence is y = 0, the table z = 0."""
    surfaces = [s.form for f in piece.features for s in f.surfaces]
    slope, heel = sorted(surfaces, key=lambda f: -f.normal[1])
    # the carrier's edge along the fence, its heel behind the work as it is fed: to the left with the fence at the
    # operator's right, when the waste is left of the blade
    feed = -1.0 if setup.waste == "left" else 1.0
    board = np.array([[feed, 0.0], [0.0, -1.0]])
    out, push = board @ np.array(slope.normal[:2]), board @ np.array(heel.normal[:2])
    corner = board @ np.linalg.solve(
        np.array([slope.normal[:2], heel.normal[:2]]), np.array([slope.offset, heel.offset])
    )
    axes = flat(setup, member)
    corners = work.vertices @ axes.T
    trailing = corners[:, 0].max() if setup.waste == "left" else corners[:, 0].min()
    against = corners[:, 1].max()
    turn = np.array([[push[0] * feed, -out[0]], [push[1] * feed, -out[1]]])
    machine = np.eye(3)
    machine[:2, :2] = turn
    place = corner - turn @ np.array([trailing, against])
    return machine @ axes, np.array([place[0], place[1], -corners[:, 2].min()])
