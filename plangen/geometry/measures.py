"""Volume, area and centroid from exact edges.

Every integral over a face is turned into one round its edges (Green): a plane's from the foot of the
perpendicular, a cone's along its rulings from its tip, another round face's in arc length along its
cross-section and distance along its axis. The solid is the sum of the cones from one
point over its faces: volume is a third of the sum of (p - o).n dA, first moment a quarter of the sum of
(p - o) (p - o).n dA.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from plangen.geometry.boundary import Chain, Conic, Edge, Straight
from plangen.geometry.cutting import NothingLeft
from plangen.geometry.patches import Array, PatchSet, crosses, dots
from plangen.geometry.skin import WrongCut
from plangen.geometry.surfaces import Cone, Form
from plangen.geometry.vectors import LENGTH_TOLERANCE, Point, add


@dataclass(frozen=True)
class Measures:
    """Cubic and square millimetres."""

    volume: float
    area: float
    centroid: Point
    face_areas: tuple[float, ...]


def gauss_legendre(count: int) -> tuple[list[float], list[float]]:
    """Nodes and weights on 0 ... 1, by Newton's method on the Legendre polynomial."""
    nodes, weights = [], []
    for i in range(count):
        z = math.cos(math.pi * (i + 0.75) / (count + 0.5))
        for _ in range(8):
            p, before = z, 1.0
            for k in range(2, count + 1):
                p, before = ((2 * k - 1) * z * p - (k - 1) * before) / k, p
            slope = count * (z * p - before) / (z * z - 1)
            z -= p / slope
        nodes.append((1 - z) / 2)
        weights.append(1 / ((1 - z * z) * slope * slope))
    return nodes, weights


_LINE = gauss_legendre(2)
_CONIC = gauss_legendre(32)
_STEP = gauss_legendre(5)
ON_EDGE = 1e-9
"""Millimetres from a surface at which a point of an edge still lies on it."""
ASTRAY = 1e-7
"""Share of a chord by which the steps along the curve over it may miss its end."""
OPEN = 1e-6
"""Share of the volume that may depend on the point it is measured from."""
HALVINGS = 4
"""How often a chord may be halved to keep to that."""


def measure(edges: Sequence[Edge], faces: Sequence[int], patches: PatchSet, origin: Point) -> Measures:
    """``faces`` gives the patch of each face; ``origin`` is a point near the solid.

    Raises NothingLeft where the solid has no thickness, WrongCut where its faces do not close round it.
    """
    x, dx, edge = _samples(edges, faces, patches)
    left = np.array([e.left for e in edges])[edge]
    right = np.array([e.right for e in edges])[edge]
    face = np.concatenate([left, right])
    x = np.concatenate([x, x]) - np.array(origin)
    dx = np.concatenate([dx, -dx])
    order = np.argsort(face, kind="stable")
    face, x, dx = face[order], x[order], dx[order]
    patch = np.array(faces)[face]
    area, volume, moment, outward = _integrands(x, dx, patch, patches, np.array(origin))
    bounds = np.searchsorted(face, np.arange(len(faces) + 1)).tolist()
    per_face = area.tolist()
    areas = tuple(math.fsum(per_face[a:b]) for a, b in pairwise(bounds))
    total = math.fsum(volume.tolist()) / 3
    if total <= LENGTH_TOLERANCE * math.fsum(areas):
        raise NothingLeft("the cuts leave nothing thicker than a hair")
    # Areas with their directions cancel on a closed skin, else the volume would depend on the origin.
    open_area = float(np.abs(outward.sum(axis=0)).max())
    if open_area * float(np.abs(x).max()) > OPEN * 3 * total:
        raise WrongCut("the faces do not close")
    centre = [math.fsum(moment[:, i].tolist()) / (4 * total) for i in range(3)]
    centroid = (origin[0] + centre[0], origin[1] + centre[1], origin[2] + centre[2])
    return Measures(total, math.fsum(areas), centroid, areas)


def _integrands(
    x: Array, dx: Array, patch: Array, patches: PatchSet, origin: Array
) -> tuple[Array, Array, Array, Array]:
    """What each sample adds to its face's area, to thrice the volume, to four times the first moment and to the
    area with its direction."""
    off, normal = patches.evaluate(patch, x + origin)
    loose = np.flatnonzero(np.abs(off) > ON_EDGE)
    if len(loose):
        x, dx, middle, strip = _drawn_in(x, dx, off, normal, patch, patches, origin, loose)
    height = (x * normal).sum(1)
    fanned = patches.is_plane[patch]
    hub = normal * height[:, None]
    if patches.tapers:
        # A cone rolled out is a plane figure too, and its height above the origin is one along a ruling.
        tapered = patches.is_cone[patch]
        fanned = fanned | tapered
        hub[tapered] = (patches.tip[patch] - origin)[tapered]
    # A plane or a cone: triangles from the foot of the perpendicular or from the tip.
    arm = x - hub
    turn = (crosses(arm, dx) * normal).sum(1)
    fan_area = turn / 2
    fan_first = arm * (turn / 3)[:, None] + hub * fan_area[:, None]
    # Another round face: along its cross-section s and its axis z, p = q + z axis, dA = ds dz.
    axis = patches.normal[patch]
    z = (x * axis).sum(1)
    q = x - axis * z[:, None]
    ds = (crosses(axis, normal) * dx).sum(1)
    round_area = -z * ds
    round_first = (q * z[:, None] + axis * (z * z / 2)[:, None]) * -ds[:, None]
    area = np.where(fanned, fan_area, round_area)
    first = np.where(fanned[:, None], fan_first, round_first)
    volume, moment, outward = area * height, first * height[:, None], normal * area[:, None]
    if len(loose):
        held = dots(middle, strip)
        volume[loose] += held
        moment[loose] += middle * held[:, None]
        outward[loose] += strip
    return area, volume, moment, outward


def _drawn_in(
    x: Array,
    dx: Array,
    off: Array,
    normal: Array,
    patch: Array,
    patches: PatchSet,
    origin: Array,
    loose: Array,
) -> tuple[Array, Array, Array, Array]:
    """Samples laid on their face's surface, and the strips between there and the edge itself: middle and area.

    Surfaces that all but touch share edges that lie on them only nearly. With the strips the skin is closed, so
    that no volume depends on where the origin is.
    """
    c, n, at, step = off[loose, None], normal[loose], patch[loose], dx[loose]
    around = crosses(patches.normal[at], n)
    around /= np.maximum(np.sqrt(dots(around, around)), 1e-300)[:, None]
    from_axis = x[loose] + origin - patches.point[at]
    from_axis = from_axis - patches.normal[at] * dots(from_axis, patches.normal[at])[:, None]
    turn = dots(step, around) / np.maximum(np.sqrt(dots(from_axis, from_axis)), 1e-300)
    # The steps shrink with the distance from the axis.
    shrunk = np.where(patches.is_turned[at], patches.sign[at] * turn / patches.slant[at], 0.0)[:, None]
    laid, walked = x.copy(), dx.copy()
    laid[loose] -= n * c
    walked[loose] -= around * shrunk * c
    strip = crosses(n, (step + walked[loose]) / 2) * c
    return laid, walked, (x[loose] + laid[loose]) / 2, strip


def _samples(edges: Sequence[Edge], faces: Sequence[int], patches: PatchSet) -> tuple[Array, Array, Array]:
    """Points on the edges, the weighted step along the edge at each, and the edge's number."""
    straight = [i for i, e in enumerate(edges) if isinstance(e.curve, Straight)]
    conics = [i for i, e in enumerate(edges) if isinstance(e.curve, Conic)]
    parts = []
    if straight:
        parts.append(_line_samples(edges, straight))
    if conics:
        parts.append(_conic_samples(edges, conics, faces, patches))
    for i, e in enumerate(edges):
        if isinstance(e.curve, Chain):
            pair = (faces[e.left], faces[e.right])
            parts.append(_chain_samples(e.curve, i, pair, patches))
    x, dx, owner = (np.concatenate([part[k] for part in parts]) for k in range(3))
    return x, dx, owner


def _line_samples(edges: Sequence[Edge], which: list[int]) -> tuple[Array, Array, Array]:
    lines = [edges[i].curve for i in which]
    a = np.array([c.start for c in lines if isinstance(c, Straight)])
    b = np.array([c.end for c in lines if isinstance(c, Straight)])
    return _between(a, b, np.array(which), _LINE)


def _between(
    a: Array, b: Array, which: Array, rule: tuple[list[float], list[float]]
) -> tuple[Array, Array, Array]:
    nodes, weights = np.array(rule[0])[None, :, None], np.array(rule[1])[None, :, None]
    d = (b - a)[:, None, :]
    x = a[:, None, :] + d * nodes
    return x.reshape(-1, 3), (d * weights).reshape(-1, 3), np.repeat(which, len(rule[0]))


def _conic_samples(
    edges: Sequence[Edge], which: list[int], faces: Sequence[int], patches: PatchSet
) -> tuple[Array, Array, Array]:
    conics = [c for c in (edges[i].curve for i in which) if isinstance(c, Conic)]
    if patches.tapers:
        cones = [[patches.forms[faces[f]] for f in (edges[i].left, edges[i].right)] for i in which]
        parts = [_even_parts(c, forms) for c, forms in zip(conics, cones, strict=True)]
        which = [i for i, split in zip(which, parts, strict=True) for _ in split]
        conics = [c for split in parts for c in split]
    centre, major, minor = (
        np.array([getattr(c, name) for c in conics])[:, None, :] for name in ("centre", "major", "minor")
    )
    first = np.array([c.first for c in conics])[:, None]
    span = np.array([c.last - c.first for c in conics])[:, None]
    p = first + span * np.array(_CONIC[0])[None]
    c, s = np.cos(p)[:, :, None], np.sin(p)[:, :, None]
    weight = (span * np.array(_CONIC[1])[None])[:, :, None]
    x = centre + major * c + minor * s
    dx = (minor * c - major * s) * weight
    return x.reshape(-1, 3), dx.reshape(-1, 3), np.repeat(np.array(which), len(_CONIC[0]))


def _even_parts(conic: Conic, forms: Sequence[Form]) -> list[Conic]:
    """An ellipse on a cone in parts along which the cone's radius at most doubles.

    The integrands there have the radius, ``middle + swing cos p``, as their divisor.
    """
    cone = next((f for f in forms if isinstance(f, Cone)), None)
    if cone is None:
        return [conic]
    middle = cone.radius_at(conic.centre)
    swing = cone.radius_at(add(conic.centre, conic.major)) - middle
    if abs(swing) <= LENGTH_TOLERANCE:
        return [conic]

    def parted(first: float, last: float) -> list[Conic]:
        turns = [k * math.pi for k in range(math.ceil(first / math.pi), math.floor(last / math.pi) + 1)]
        radii = [middle + swing * math.cos(p) for p in (first, last, *turns)]
        if last - first < 1e-3 or (last - first < 0.8 and max(radii) <= 2 * min(radii)):
            return [Conic(conic.centre, conic.major, conic.minor, first, last)]
        half = (first + last) / 2
        return parted(first, half) + parted(half, last)

    return parted(conic.first, conic.last)


def _chain_samples(
    chain: Chain, which: int, pair: tuple[int, int], patches: PatchSet
) -> tuple[Array, Array, Array]:
    """Points of the true curve, the weighted steps between them, and the edge's number, over a chain's chords.

    A chord whose steps do not end where it does is halved. Where the surfaces all but touch and the curve is not
    found over a chord, the chord itself is walked; little then lies between the two.
    """
    points = np.array(chain.points)
    for halving in range(HALVINGS + 1):
        on_chord, step, x, walked = _walk_over(points, pair, patches)
        chord = points[1:] - points[:-1]
        amiss = chord - walked.sum(1)
        size = dots(chord, chord)
        lost = dots(amiss, amiss) > ASTRAY * ASTRAY * size
        middle = len(_STEP[0]) // 2
        off = x[:, middle] - on_chord[:, middle]
        halved = np.flatnonzero(lost & (dots(off, off) < size / 16))
        if len(halved) == 0 or halving == HALVINGS:
            break
        points = np.insert(points, halved + 1, x[halved, middle], axis=0)
    # What is amiss still is shared out, so that a face's boundary closes.
    walked = walked + amiss[:, None] * np.array(_STEP[1])[None, :, None]
    x, walked = (np.where(lost[:, None, None], a, b) for a, b in ((on_chord, x), (step, walked)))
    return x.reshape(-1, 3), walked.reshape(-1, 3), np.full(x.size // 3, which)


def _walk_over(points: Array, pair: tuple[int, int], patches: PatchSet) -> tuple[Array, Array, Array, Array]:
    """Nodes on each chord and their steps, and those of the curve in planes square to the chord: each (n, 5, 3).

    A point's step follows from the curve's tangent there: its part along the chord is the chord's own.
    """
    a, b = points[:-1], points[1:]
    nodes, step, _ = _between(a, b, np.zeros(len(a), dtype=np.int64), _STEP)
    x = nodes
    chord = np.repeat(b - a, len(_STEP[0]), axis=0)
    size = np.sqrt((chord * chord).sum(1))
    ahead = chord / size[:, None]
    left, right = (np.full(len(x), k) for k in pair)
    for _ in range(4):
        (c0, g0), (c1, g1) = patches.evaluate(left, x), patches.evaluate(right, x)
        tangent = crosses(g0, g1)
        volume = (tangent * ahead).sum(1)
        safe = np.abs(volume) > 1e-6
        move = crosses(g1, ahead) * c0[:, None] + crosses(ahead, g0) * c1[:, None]
        x = x - np.where(safe[:, None], move / np.where(safe, volume, 1.0)[:, None], 0.0)
    along_chord = (step * ahead).sum(1)
    curved = tangent * (along_chord / np.where(safe, volume, 1.0))[:, None]
    walked = np.where(safe[:, None], curved, step)
    shape = (len(a), len(_STEP[0]), 3)
    return nodes.reshape(shape), step.reshape(shape), x.reshape(shape), walked.reshape(shape)
