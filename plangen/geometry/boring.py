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

from plangen.geometry.boundary import Edge, Shell, whole_conic
from plangen.geometry.cutting import circle_points
from plangen.geometry.patches import FACET_SAG, Array, dots, frame_about
from plangen.geometry.skin import Skin, compact
from plangen.geometry.surfaces import Box, Cylinder, Form, Plane
from plangen.geometry.vectors import Vec, along, cross, dot, length, sub

CLEAR = 4 * FACET_SAG
"""Millimetres a hole and its collars keep from every edge to be set in here."""
COLLAR = 1.15
"""Reach of a collar's corners over the hole's radius: an octagon's sides then clear the hole by 6 %."""


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
    if len(rounds) + len(planes) != len(cutter):
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
    return apart > (a.radius + b.radius) * COLLAR + CLEAR


class Ground:
    """A shell made ready for holes to be tried on it."""

    def __init__(self, skin: Skin, shell: Shell) -> None:
        self.shell = shell
        self.twin = skin.twin
        of_half = np.repeat(shell.face, 3)
        rim = np.flatnonzero(of_half != shell.face[skin.twin // 3])
        self.rim = rim
        self.start, self.end = skin.triangles.ravel()[rim], skin.triangles[:, (1, 2, 0)].ravel()[rim]
        self.owner = of_half[rim]
        self.round_triangles = skin.triangles[~skin.patches.is_plane[skin.patch]]

    def walls(self, bore: Bore) -> list[Wall] | None:
        """The walls the hole makes, none where it stays in the air; None where it is not for us."""
        form = bore.form
        e1, e2 = frame_about(form.axis)
        d = self.shell.vertices - np.array(form.point)
        flat = np.stack([dots(d, np.array(e1)), dots(d, np.array(e2))], axis=1)
        reach = form.radius * COLLAR + CLEAR
        if _near_segments(flat[self.start], flat[self.end], reach):
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
        turns = np.zeros(len(self.shell.patch_of_face))
        np.add.at(turns, self.owner, angle / (2 * math.pi))
        return np.rint(turns)

    def _pierced(self, bore: Bore, turns: Array) -> list[Rim] | None:
        """The faces the axis goes through, along it; None where one is met too askew."""
        rims = []
        for f in np.flatnonzero(turns):
            plane = self.shell.patches.forms[int(self.shell.patch_of_face[f])]
            if not isinstance(plane, Plane):
                return None
            slope = dot(plane.normal, bore.form.axis)
            if abs(slope) < 0.1:
                return None
            rims.append(Rim(int(f), plane.normal, -plane.distance(bore.form.point) / slope))
        return sorted(rims, key=lambda rim: rim.station)

    def loops(self, face: int) -> list[list[int]]:
        """The face's boundary, each loop with the face on its left seen from outside."""
        corner = self.shell.triangles.ravel()
        following = {half: self._after(half) for half in self.rim[self.owner == face].tolist()}
        loops = []
        while following:
            half = min(following)
            loop = []
            while half in following:
                loop.append(int(corner[half]))
                half = following.pop(half)
            loops.append(loop)
        return loops

    def _after(self, half: int) -> int:
        """The half-edge that goes on along the face's boundary: round the corner through the face itself, which may
        touch itself there."""
        after = half - half % 3 + (half + 1) % 3
        while self.shell.face[(twin := int(self.twin[after])) // 3] == self.shell.face[after // 3]:
            after = twin - twin % 3 + (twin + 1) % 3
        return after


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
        floor = Rim(None, bore.floor.normal, station)
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


class _Mesh:
    """A shell's arrays being added to."""

    def __init__(self, shell: Shell) -> None:
        self.count = len(shell.vertices)
        self.faces = len(shell.patch_of_face)
        self.vertices = [shell.vertices]
        self.triangles: list[Array] = []
        self.owners: list[Array] = []
        self.patch_of_face = [shell.patch_of_face]
        self.edges = list(shell.edges)

    def add_vertices(self, x: Array) -> int:
        """The number of the first."""
        self.vertices.append(x)
        self.count += len(x)
        return self.count - len(x)

    def add_face(self, patch: int) -> int:
        self.patch_of_face.append(np.array([patch]))
        self.faces += 1
        return self.faces - 1

    def add_triangles(self, triangles: Array, face: int) -> None:
        self.triangles.append(triangles)
        self.owners.append(np.full(len(triangles), face))


def bored_shell(ground: Ground, walls: Sequence[Wall], around: Box) -> Shell:
    """The shell with the holes in it."""
    shell = ground.shell
    mesh = _Mesh(shell)
    openings: dict[int, list[Array]] = {}
    for wall in walls:
        _add_wall(mesh, wall, np.array(circle_points(wall.bore.form, around, ())), openings)
    kept = ~np.isin(shell.face, list(openings))
    for face, loops in sorted(openings.items()):
        number = int(shell.patch_of_face[face])
        normal = tuple(shell.patches.normal[number].tolist())
        mesh.add_triangles(
            _triangulate(np.concatenate(mesh.vertices), [*ground.loops(face), *loops], normal), face
        )
    triangles = np.concatenate([shell.triangles[kept], *mesh.triangles])
    face_of = np.concatenate([shell.face[kept], *mesh.owners])
    patch_of_face = np.concatenate(mesh.patch_of_face)
    x, triangles, patch = compact(np.concatenate(mesh.vertices), triangles, patch_of_face[face_of])
    return Shell(shell.patches, x, triangles, patch, face_of, patch_of_face, tuple(mesh.edges))


def _add_wall(mesh: _Mesh, wall: Wall, flat: Array, openings: dict[int, list[Array]]) -> None:
    """A wall with its two rims, its floor, and collars round its mouths; ``openings`` take the collars."""
    form = wall.bore.form
    own = mesh.add_face(wall.bore.patch)
    count = len(flat)
    section, belt = np.concatenate([flat, _collar(form.radius)]), _belt(flat)
    firsts = []
    for rim in (wall.low, wall.high):
        forward = dot(rim.normal, form.axis) > 0
        first = mesh.add_vertices(_rim_points(form, rim, flat if rim.face is None else section))
        firsts.append(first)
        if rim.face is None:
            face = mesh.add_face(wall.bore.floor_patch)
            fan = np.arange(first + 1, first + count - 1)
            fan = np.stack([np.full(len(fan), first), fan, fan + 1], 1)
            mesh.add_triangles(fan if forward else fan[:, ::-1], face)
        else:
            face = rim.face
            mesh.add_triangles((belt if forward else belt[:, ::-1]) + first, face)
            collar = np.arange(first + count, first + len(section))
            openings.setdefault(face, []).append(collar[::-1] if forward else collar)
        plane = Plane(rim.normal, dot(rim.normal, along(form.point, form.axis, rim.station)))
        conic = whole_conic(plane, form, counter_clockwise=rim.face is None)
        mesh.edges.append(Edge(conic, face, own, convex=rim.face is not None, smooth=False))
    low, high = firsts
    here = np.arange(count)
    after = np.append(here[1:], 0)
    sides = [[low + here, high + after, low + after], [low + here, high + here, high + after]]
    mesh.add_triangles(np.array(sides).transpose(0, 2, 1).reshape(-1, 3), own)


def _collar(radius: float) -> Array:
    """An octagon clear round a hole: what is left of the face outside it has few corners to triangulate."""
    return _OCTAGON * (radius * COLLAR)


_OCTAGON = np.array([(math.cos(a), math.sin(a)) for a in (math.pi * (i + 0.5) / 4 for i in range(8))])


def _belt(flat: Array) -> Array:
    """Triangles between a rim and its collar, counter-clockwise about the axis as both are.

    The rim's corners are numbered from 0, the collar's after them.
    """
    count = len(flat)
    following = np.append(np.arange(1, count), 0)
    middle = flat + flat[following]
    turn = np.arctan2(middle[:, 1], middle[:, 0]) / (2 * math.pi) % 1.0
    # The eight corners of the collar stand at the middles of eight equal sectors.
    near = count + np.floor(turn * 8 + 1e-9).astype(np.int64) % 8
    after = near[following]
    sides = np.stack([np.arange(count), near, following], axis=1)
    turns = np.flatnonzero(near != after)
    return np.concatenate([sides, np.stack([following[turns], near[turns], after[turns]], axis=1)])


def _rim_points(form: Cylinder, rim: Rim, flat: Array) -> Array:
    """The points of the rim's plane over each corner ``flat`` of a cross-section of the hole."""
    slope = dot(rim.normal, form.axis)
    across = [along(e, form.axis, -dot(rim.normal, e) / slope) for e in frame_about(form.axis)]
    foot = along(form.point, form.axis, rim.station)
    return np.array(foot) + flat[:, :1] * np.array(across[0]) + flat[:, 1:] * np.array(across[1])


def _triangulate(x: Array, loops: Sequence[Sequence[int] | Array], normal: Vec) -> Array:
    """A plane region in triangles; outer loops counter-clockwise, openings clockwise seen from outside."""
    e1, e2 = frame_about(normal)
    rings = [np.array(loop) for loop in loops]
    flat = [np.stack([dots(x[r], np.array(e1)), dots(x[r], np.array(e2))], axis=1) for r in rings]
    return np.concatenate(rings)[np.asarray(manifold3d.triangulate(flat), dtype=np.int64)]
