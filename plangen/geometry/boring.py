"""Holes that meet plane faces only, away from every edge, set into a finished skin without the mesh kernel.

Such a hole takes a closed curve out of each face it enters and adds a wall between them: exact, and far
cheaper than a cut. Whatever meets an edge or a round face is left to the kernel.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import manifold3d
import numpy as np

from plangen.geometry.cutting import circle_points
from plangen.geometry.patches import FACET_SAG, Array, PatchSet, dots, frame_about
from plangen.geometry.skin import Skin, WrongCut, half_edge_twins
from plangen.geometry.surfaces import Box, Cylinder, Form, Plane
from plangen.geometry.vectors import Vec, cross, dot, length, neg, sub

CLEAR = 4 * FACET_SAG
"""Millimetres a hole keeps from every edge to be set in here."""


@dataclass(frozen=True)
class Bore:
    """A hole to set in: its cylinder, and the plane of its flat bottom if it has one."""

    form: Cylinder
    floor: Plane | None
    """Its normal lies along the hole's axis."""
    patch: int
    floor_patch: int


@dataclass(frozen=True)
class Rim:
    """One end of a wall: a face of the skin (its face number), or the hole's own floor (None)."""

    face: int | None
    normal: Vec
    station: float
    """Along the axis, of the plane's crossing."""


@dataclass(frozen=True)
class Wall:
    bore: Bore
    low: Rim
    high: Rim


def as_bore(cutter: Sequence[Form], numbers: Sequence[int]) -> Bore | None:
    """The cutter as a plain hole, through or with a flat bottom; None for any other cutter.

    ``numbers`` are the patches of its forms.
    """
    rounds = [(f, k) for f, k in zip(cutter, numbers, strict=True) if isinstance(f, Cylinder)]
    planes = [(f, k) for f, k in zip(cutter, numbers, strict=True) if isinstance(f, Plane)]
    if len(rounds) != 1 or rounds[0][0].side != "hole" or len(planes) > 1:
        return None
    form, patch = rounds[0]
    if not planes:
        return Bore(form, None, patch, -1)
    floor, floor_patch = planes[0]
    if length(cross(floor.normal, form.axis)) > 1e-12:
        return None
    return Bore(form, floor, patch, floor_patch)


def keep_apart(a: Cylinder, b: Cylinder) -> bool:
    """The two cylinders, however long, do not come near each other."""
    across = cross(a.axis, b.axis)
    between = sub(b.point, a.point)
    sine = length(across)
    apart = length(cross(between, a.axis)) if sine < 1e-6 else abs(dot(between, across)) / sine
    return apart > a.radius + b.radius + CLEAR


class Ground:
    """A skin made ready for holes to be tried on it."""

    def __init__(self, skin: Skin, face: Array, patch_of_face: Array) -> None:
        self.skin, self.face, self.patch_of_face = skin, face, patch_of_face
        corners = skin.triangles.ravel()
        of_half = np.repeat(face, 3)
        rim = np.flatnonzero(of_half != face[skin.twin // 3])
        self.start, self.end = corners[rim], skin.triangles[:, (1, 2, 0)].ravel()[rim]
        self.owner = of_half[rim]
        self.round_triangles = skin.triangles[~skin.patches.is_plane[skin.patch]]

    def walls(self, bore: Bore) -> list[Wall] | None:
        """The walls the hole makes, none where it stays in the air; None where it is not for us."""
        form = bore.form
        e1, e2 = frame_about(form.axis)
        d = self.skin.vertices - np.array(form.point)
        flat = np.stack([dots(d, np.array(e1)), dots(d, np.array(e2))], axis=1)
        reach = form.radius + CLEAR
        if self.skin.patches.free or _near_segments(flat[self.start], flat[self.end], reach):
            return None
        for i, j in ((0, 1), (1, 2), (2, 0)):
            t = self.round_triangles
            if len(t) and _near_segments(flat[t[:, i]], flat[t[:, j]], reach):
                return None
        turns = self._turns_about_axis(flat)
        if len(self.round_triangles) and _covers_origin(flat[self.round_triangles]):
            return None
        rims = self._pierced(bore, turns)
        return None if rims is None else _pair_rims(bore, rims)

    def _turns_about_axis(self, flat: Array) -> Array:
        """How often each face's boundary goes round the axis."""
        a, b = flat[self.start], flat[self.end]
        angle = np.arctan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], (a * b).sum(1))
        turns = np.zeros(len(self.patch_of_face))
        np.add.at(turns, self.owner, angle / (2 * math.pi))
        return np.rint(turns)

    def _pierced(self, bore: Bore, turns: Array) -> list[Rim] | None:
        """The faces the axis goes through, along it; None where one is met too askew."""
        rims = []
        for f in np.flatnonzero(turns):
            plane = self.skin.patches.forms[int(self.patch_of_face[f])]
            if not isinstance(plane, Plane):
                return None
            slope = dot(plane.normal, bore.form.axis)
            if abs(slope) < 0.1:
                return None
            rims.append(Rim(int(f), plane.normal, -plane.distance(bore.form.point) / slope))
        return sorted(rims, key=lambda rim: rim.station)

    def loops(self, face: int) -> list[list[int]]:
        """The face's boundary, each loop with the face on its left seen from outside."""
        mine = self.owner == face
        following = dict(zip(self.start[mine].tolist(), self.end[mine].tolist(), strict=True))
        if len(following) != int(mine.sum()):
            raise WrongCut("a face touches itself in a corner")
        loops = []
        while following:
            start = min(following)
            loop = [start]
            while (after := following.pop(loop[-1])) != start:
                loop.append(after)
            loops.append(loop)
        return loops


def _near_segments(a: Array, b: Array, reach: float) -> bool:
    """Some segment of the plane comes within ``reach`` of the origin."""
    d = b - a
    size = np.maximum((d * d).sum(1), 1e-300)
    share = np.clip(-(a * d).sum(1) / size, 0.0, 1.0)
    foot = a + d * share[:, None]
    return bool(((foot * foot).sum(1) < reach * reach).any())


def _covers_origin(triangles: Array) -> bool:
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    sides = [p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0] for p, q in ((a, b), (b, c), (c, a))]
    inside = np.logical_and.reduce([s > 0 for s in sides]) | np.logical_and.reduce([s < 0 for s in sides])
    return bool(inside.any())


def _pair_rims(bore: Bore, rims: list[Rim]) -> list[Wall] | None:
    """Walls through the wood between entering and leaving faces, stopped at the floor if there is one."""
    walls = []
    if len(rims) % 2:
        return None
    for low, high in zip(rims[::2], rims[1::2], strict=True):
        if dot(low.normal, bore.form.axis) >= 0 or dot(high.normal, bore.form.axis) <= 0:
            return None
        bottom, top = low.station + _half_range(bore, low), high.station - _half_range(bore, high)
        if top - bottom < CLEAR:
            return None
        if bore.floor is None:
            walls.append(Wall(bore, low, high))
            continue
        sign = 1.0 if dot(bore.floor.normal, bore.form.axis) > 0 else -1.0
        station = -bore.floor.distance(bore.form.point) * sign
        floor = Rim(None, neg(bore.floor.normal), station)
        if bottom + CLEAR < station < top - CLEAR:
            walls.append(Wall(bore, floor, high) if sign > 0 else Wall(bore, low, floor))
        elif station < low.station - _half_range(bore, low) - CLEAR:
            walls += [Wall(bore, low, high)] if sign > 0 else []
        elif station > high.station + _half_range(bore, high) + CLEAR:
            walls += [Wall(bore, low, high)] if sign < 0 else []
        else:
            return None
    return walls


def _half_range(bore: Bore, rim: Rim) -> float:
    slope = abs(dot(rim.normal, bore.form.axis))
    return bore.form.radius * math.sqrt(max(0.0, 1 - slope * slope)) / slope


def bored_skin(ground: Ground, walls: Sequence[Wall], around: Box) -> Skin:
    """The skin with the holes in it. Raises WrongCut where the result is not closed."""
    skin = ground.skin
    vertices, triangles, patches = [skin.vertices], [], []
    rims_of_face: dict[int, list[Array]] = {}
    count = len(skin.vertices)
    for wall in walls:
        flat = np.array(circle_points(wall.bore.form, around, ()))
        n = len(flat)
        rings = []
        for rim in (wall.low, wall.high):
            vertices.append(_rim_points(wall.bore.form, rim, flat))
            rings.append(np.arange(count, count + n))
            count += n
            if rim.face is None:
                turned = rings[-1] if dot(rim.normal, wall.bore.form.axis) < 0 else rings[-1][::-1]
                fan = np.stack([np.full(n - 2, turned[0]), turned[1:-1], turned[2:]], axis=1)
                triangles.append(fan)
                patches.append(np.full(n - 2, wall.bore.floor_patch))
            else:
                opening = rings[-1][::-1] if dot(rim.normal, wall.bore.form.axis) > 0 else rings[-1]
                rims_of_face.setdefault(rim.face, []).append(opening)
        low, high = rings
        low_next, high_next = np.roll(low, -1), np.roll(high, -1)
        triangles += [np.stack([low, high_next, low_next], 1), np.stack([low, high, high_next], 1)]
        patches.append(np.full(2 * n, wall.bore.patch))
    x = np.concatenate(vertices)
    kept = ~np.isin(ground.face, list(rims_of_face))
    triangles.append(skin.triangles[kept])
    patches.append(skin.patch[kept])
    for face, rims in sorted(rims_of_face.items()):
        fresh = _triangulate(x, ground, face, rims)
        triangles.append(fresh)
        patches.append(np.full(len(fresh), ground.patch_of_face[face]))
    all_triangles = np.concatenate(triangles)
    return Skin(
        skin.patches, x, all_triangles, np.concatenate(patches), half_edge_twins(all_triangles, len(x))
    )


def _rim_points(form: Cylinder, rim: Rim, flat: Array) -> Array:
    """The rim over each corner ``flat`` of the hole's cross-section."""
    e1, e2 = frame_about(form.axis)
    slope = dot(rim.normal, form.axis)
    station = rim.station - (flat[:, 0] * dot(rim.normal, e1) + flat[:, 1] * dot(rim.normal, e2)) / slope
    return (
        np.array(form.point)
        + flat[:, :1] * np.array(e1)
        + flat[:, 1:] * np.array(e2)
        + station[:, None] * np.array(form.axis)
    )


def _triangulate(x: Array, ground: Ground, face: int, rims: list[Array]) -> Array:
    """A plane face with more openings than it had, in triangles."""
    patches: PatchSet = ground.skin.patches
    e1, e2 = frame_about(tuple(patches.normal[ground.patch_of_face[face]].tolist()))
    loops = [np.array(loop) for loop in ground.loops(face)] + rims
    flat = []
    for loop in loops:
        p = x[loop]
        flat.append(np.stack([dots(p, np.array(e1)), dots(p, np.array(e2))], axis=1))
    corners = np.concatenate(loops)
    return corners[np.asarray(manifold3d.triangulate(flat), dtype=np.int64)]
