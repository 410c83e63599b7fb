"""Solids: a member's blank less its cutters, as exact faces and edges over a mesh.

The mesh kernel decides topology only. Vertices are then moved onto the surfaces they belong to, edges are
read as lines and conics, and volume, area and centroid are integrated over exact boundaries.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from plangen.geometry.boring import Bore, Ground, as_bore, bored_shell, keep_apart
from plangen.geometry.boundary import (
    Chain,
    Conic,
    Edge,
    EdgeCurve,
    Shell,
    Straight,
    shell_of,
)
from plangen.geometry.cutting import GeometryError, NothingLeft, cut_mesh
from plangen.geometry.frames import WORLD, Frame
from plangen.geometry.measures import measure
from plangen.geometry.patches import patches_of, same_surface
from plangen.geometry.proof import Cutter, prove
from plangen.geometry.skin import WrongCut, fit_skin
from plangen.geometry.surfaces import Box, Form
from plangen.geometry.vectors import Point, add, neg, scale

__all__ = [
    "Chain",
    "Conic",
    "Edge",
    "EdgeCurve",
    "Face",
    "GeometryError",
    "NothingLeft",
    "Solid",
    "Straight",
    "build_solid",
    "count_pieces",
    "form_areas",
    "posed",
    "seen_from",
]


@dataclass(frozen=True)
class Face:
    """A connected piece of one surface; ``surface`` is an index into ``Solid.forms``."""

    surface: int
    triangles: tuple[int, ...]
    area: float = 0.0
    """Square millimetres, exact."""


@dataclass(frozen=True, eq=False)
class Solid:
    """A solid in its own frame. Arrays are read-only."""

    forms: tuple[Form, ...]
    """Distinct surfaces that carry area, coplanar ones merged. An extruded outline stands here as its pieces:
    planes, cylinders, and for each free curve an ``Extruded`` of that one curve (see ``form_areas``)."""
    vertices: np.ndarray
    """(n, 3) float64, each on the surfaces it belongs to; not all are corners: facets of round surfaces have
    theirs, and a few lie inside a plane face (ends of ``edges`` are the corners)."""
    triangles: np.ndarray
    """(m, 3) int, counter-clockwise seen from outside."""
    triangle_form: np.ndarray
    """(m,) index into ``forms``."""
    faces: tuple[Face, ...]
    edges: tuple[Edge, ...]
    volume: float
    area: float
    centroid: Point


def seen_from(solid: Solid, origin: Point) -> Solid:
    """The same solid in a frame that starts at ``origin``, not turned."""
    return posed(solid, replace(WORLD, origin=neg(origin)))


def posed(solid: Solid, pose: Frame) -> Solid:
    """A solid of the frame ``pose``, told where that frame stands. Of a mirrored one the left of an edge is still
    called left."""
    x = solid.vertices
    rows = pose.matrix()[:3]
    vertices = np.column_stack([x[:, 0] * r[0] + x[:, 1] * r[1] + x[:, 2] * r[2] + r[3] for r in rows])
    vertices.setflags(write=False)
    return replace(
        solid,
        forms=tuple(f.placed(pose) for f in solid.forms),
        vertices=vertices,
        edges=tuple(replace(e, curve=_posed_curve(e.curve, pose)) for e in solid.edges),
        centroid=pose.point(solid.centroid),
    )


def _posed_curve(curve: EdgeCurve, pose: Frame) -> EdgeCurve:
    match curve:
        case Straight():
            return Straight(pose.point(curve.start), pose.point(curve.end))
        case Conic():
            return replace(
                curve,
                centre=pose.point(curve.centre),
                major=pose.direction(curve.major),
                minor=pose.direction(curve.minor),
            )
        case Chain():
            return Chain(tuple(pose.point(p) for p in curve.points))


def _turned(a: float, b: float, origin: Point) -> Frame:
    """A pose askew to every plane a design is likely to hold."""
    ca, sa, cb, sb = math.cos(a), math.sin(a), math.cos(b), math.sin(b)
    return Frame(origin, (ca, sa, 0.0), (-sa * cb, ca * cb, sb), (sa * sb, -ca * sb, cb))


_POSES = (WORLD, _turned(0.7391, 0.4317, (3.7, -1.9, 5.3)), _turned(2.1173, 1.2931, (-11.3, 7.7, 2.9)))


def build_solid(blank: Box, cutters: Sequence[Sequence[Form]]) -> Solid:
    """The blank less the union of ``cutters``, each the set of points on the outer side of all its forms.

    Raises NothingLeft where the cutters take all, GeometryError where no cut could be made that fits the
    surfaces.
    """
    forms, numbered = _numbered(blank, cutters)
    middle = add(blank.origin, scale(blank.size, 0.5))
    for pose in _POSES:
        try:
            return _solid(_shell(blank, forms, numbered, pose), middle)
        except WrongCut as wrong:
            reason = wrong
    raise GeometryError(f"the cuts could not be made true to their surfaces ({reason})")


def _numbered(blank: Box, cutters: Sequence[Sequence[Form]]) -> tuple[list[Form], list[Cutter]]:
    """All patches, each once, the blank's six first; and the cutters by the numbers of their patches."""
    distinct: list[Form] = list(blank.planes().values())

    def number(patch: Form) -> int:
        for i, known in enumerate(distinct):
            if same_surface(patch, known):
                return i
        distinct.append(patch)
        return len(distinct) - 1

    numbered = [
        Cutter(tuple(cutter), tuple(tuple(number(p) for p in patches_of(form)) for form in cutter))
        for cutter in cutters
    ]
    return distinct, numbered


def _shell(blank: Box, forms: list[Form], cutters: Sequence[Cutter], pose: Frame) -> Shell:
    """Holes clear of every edge are set into the shell that the other cutters leave."""
    bores: dict[int, Bore] = {}
    for i, cutter in enumerate(cutters):
        bore = as_bore(cutter.forms, [p[0] for p in cutter.patches])
        if bore is not None and all(keep_apart(bore.form, other.form) for other in bores.values()):
            bores[i] = bore
    while True:
        sawn = [c for i, c in enumerate(cutters) if i not in bores]
        skin = fit_skin(*cut_mesh(blank, [c.forms for c in sawn], pose), forms)
        prove(skin, blank, sawn)
        shell = shell_of(skin)
        if not bores:
            return shell
        ground = Ground(skin, shell)
        walls = {i: ground.walls(bore) for i, bore in bores.items()}
        if all(w is not None for w in walls.values()):
            return bored_shell(ground, [w for found in walls.values() for w in found or ()], blank)
        bores = {i: bore for i, bore in bores.items() if walls[i] is not None}


def _solid(shell: Shell, middle: Point) -> Solid:
    measures = measure(shell.edges, shell.patch_of_face.tolist(), shell.patches, middle)
    used, number = np.unique(shell.patch, return_inverse=True)
    order = np.argsort(shell.face, kind="stable")
    groups = np.split(order, np.cumsum(np.bincount(shell.face))[:-1])
    surface = np.searchsorted(used, shell.patch_of_face).tolist()
    faces = [
        Face(s, tuple(g.tolist()), a) for s, g, a in zip(surface, groups, measures.face_areas, strict=True)
    ]
    for array in (shell.vertices, shell.triangles, number):
        array.setflags(write=False)
    return Solid(
        forms=tuple(shell.patches.forms[i] for i in used),
        vertices=shell.vertices,
        triangles=shell.triangles,
        triangle_form=number,
        faces=tuple(faces),
        edges=shell.edges,
        volume=measures.volume,
        area=measures.area,
        centroid=measures.centroid,
    )


def form_areas(solid: Solid, forms: Sequence[Form]) -> tuple[float, ...]:
    """Area (mm2) that each of ``forms`` carries on the solid; an extruded outline sums its pieces."""
    carried = [0.0] * len(solid.forms)
    for face in solid.faces:
        carried[face.surface] += face.area
    totals = []
    for form in forms:
        pieces = patches_of(form)
        on = [i for i, known in enumerate(solid.forms) if any(same_surface(p, known) for p in pieces)]
        totals.append(math.fsum(carried[i] for i in on))
    return tuple(totals)


def count_pieces(solid: Solid) -> int:
    """Into how many pieces the cutters part the member."""
    label = np.arange(len(solid.vertices))
    a, b, c = solid.triangles.T
    while True:
        least = np.minimum(np.minimum(label[a], label[b]), label[c])
        after = label.copy()
        for corner in (a, b, c):
            np.minimum.at(after, corner, least)
            np.minimum.at(after, label[corner], least)
        after = after[after]
        if (after == label).all():
            return len(np.unique(label))
        label = after
