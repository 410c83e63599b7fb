"""Proof of a cut: points just inside and just outside every facet, judged by the surfaces themselves.

The mesh kernel's status says nothing. A closed skin each of whose facets has wood on its inner and none on
its outer side, which shows every cutter's work and every corner of the blank that no cutter takes, is the
skin of the blank less the cutters.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import shapely

from plangen.geometry.cutting import core_polygon, corners_of, cutter_meshes, mesh_of
from plangen.geometry.patches import FACET_SAG, Array, PatchSet, crosses, dots, flat_points, frame_about
from plangen.geometry.skin import Skin, WrongCut
from plangen.geometry.surfaces import Box, Cone, Cylinder, Extruded, Form, Plane
from plangen.geometry.turned import gathered
from plangen.geometry.vectors import Vec

STEP = 5e-6
"""Millimetres from a facet at which wood and air are asked for: more than coplanar surfaces may differ."""
LEAST_HEIGHT = 0.02
"""Millimetres: facets less high than this are not asked."""
LEAST_THICKNESS = 1e-3
LEAST_OF_ROUND = 1.5 * FACET_SAG
"""Millimetres that a cut may seem to have left: facets of two round surfaces that all but touch lie in each
other."""

Within: TypeAlias = Callable[[Array, Array, Array], Array]
"""(points, their distances from all patches, patch each lies on) -> which are on the form's outer side."""


@dataclass(frozen=True)
class Cutter:
    """A cutter with the patches of its forms; ``patches[i]`` are those of ``forms[i]``."""

    forms: tuple[Form, ...]
    patches: tuple[tuple[int, ...], ...]


def prove(skin: Skin, blank: Box, cutters: Sequence[Cutter]) -> None:
    """Raises WrongCut where the skin is not that of the blank less the cutters.

    Patches 0 to 5 are the blank's own.
    """
    x, normal, own = _samples(skin)
    tests = [_membership(c, skin, blank) for c in cutters]
    inner, outer = x - STEP * normal, x + STEP * normal
    wood, _ = _judge(skin, inner, own, tests)
    air, taken = _judge(skin, outer, own, tests)
    if not wood.all():
        raise WrongCut("a facet has no wood behind it")
    if air.any():
        raise WrongCut("a facet has wood before it")
    _no_facets_back_to_back(skin)
    _corners_kept(skin, blank, tests)
    idle = [i for i, t in enumerate(taken) if not t.any()]
    if idle:
        _nothing_left_to_cut(skin, blank, cutters, idle)


def _samples(skin: Skin) -> tuple[Array, Array, Array]:
    """A point of each facet, on its surface, the outward normal and the patch; doubtful ones left out."""
    flat = skin.patches.is_plane[skin.patch]
    backed: Array = np.asarray(skin.patches.backs.any(axis=1))
    some = flat | backed[skin.patch]
    some[np.flatnonzero(~flat)[::4]] = True
    corners = skin.vertices[skin.triangles[some]]
    own = skin.patch[some]
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    twice = np.sqrt((crosses(b - a, c - a) ** 2).sum(1))
    longest = np.sqrt(np.max([((p - q) ** 2).sum(1) for p, q in ((a, b), (b, c), (c, a))], axis=0))
    high = twice > LEAST_HEIGHT * longest
    x, own = ((a + b + c) / 3)[high], own[high]
    off, normal = skin.patches.evaluate(own, x)
    x = x - normal * off[:, None]
    clear = ~_doubtful(skin.patches, x, own)
    return x[clear], normal[clear], own[clear]


def _doubtful(patches: PatchSet, x: Array, own: Array) -> Array:
    """Points so near another surface that a step from the facet may cross it.

    Where either is round that is within the facets' chord; but the corners of turned surfaces about one axis, and
    with them the circles where one follows the other, stand on common rays: no facet reaches past its circle. A
    surface at the back of the facet's own is clear of a step to either side.
    """
    apart = np.abs(patches.distances(x))
    apart[np.arange(len(x)), own] = np.inf
    curved = ~patches.is_plane
    reach = np.full((len(curved), len(curved)), 4 * STEP)
    reach[curved] = reach[:, curved] = 2 * FACET_SAG
    if patches.tapers:
        for group in gathered([f for f in patches.forms if isinstance(f, Cylinder | Cone)]):
            if any(isinstance(f, Cone) for f in group):
                mates = [i for i, f in enumerate(patches.forms) if f in group]
                reach[np.ix_(mates, mates)] = 4 * STEP
    reach[patches.backs] = 0.0
    return np.asarray((apart < reach[own]).any(axis=1))


def _judge(skin: Skin, x: Array, own: Array, tests: Sequence[Within]) -> tuple[Array, list[Array]]:
    """Which points are in the member, and for each cutter which are in it."""
    distances = skin.patches.distances(x)
    member: Array = np.asarray((distances[:, :6] <= 0).all(axis=1))
    taken = [test(x, distances, own) for test in tests]
    for t in taken:
        member &= ~t
    return member, taken


def _membership(cutter: Cutter, skin: Skin, blank: Box) -> Within:
    simple = [p[0] for f, p in zip(cutter.forms, cutter.patches, strict=True) if not isinstance(f, Extruded)]
    swept = [
        _swept_membership(f, p, skin, blank)
        for f, p in zip(cutter.forms, cutter.patches, strict=True)
        if isinstance(f, Extruded)
    ]

    def within(x: Array, distances: Array, own: Array) -> Array:
        inside: Array = np.asarray((distances[:, simple] >= 0).all(axis=1))
        for test in swept:
            inside &= test(x, distances, own)
        return inside

    return within


def _swept_membership(form: Extruded, patches: tuple[int, ...], skin: Skin, blank: Box) -> Within:
    polygon, is_core = core_polygon(form, corners_of(blank.grown(max(blank.size))))
    curved = [p for p in patches if not skin.patches.is_plane[p]]

    def within(x: Array, distances: Array, own: Array) -> Array:
        outside = _in_polygon(flat_points(form, x), np.array(polygon)) == is_core
        mine = np.isin(own, curved)
        outside[mine] = distances[mine, own[mine]] >= 0
        return outside

    return within


def _in_polygon(points: Array, polygon: Array) -> Array:
    """Even-odd rule."""
    a, b = polygon, np.roll(polygon, -1, axis=0)
    y = points[:, 1][:, None]
    across = (a[:, 1] > y) != (b[:, 1] > y)
    rise = np.where(a[:, 1] == b[:, 1], 1.0, b[:, 1] - a[:, 1])
    x = a[:, 0] + (y - a[:, 1]) * (b[:, 0] - a[:, 0]) / rise
    return np.asarray((across & (points[:, 0][:, None] < x)).sum(axis=1) % 2 == 1)


def _no_facets_back_to_back(skin: Skin) -> None:
    """Wood of no thickness: facets of planes that lie back to back cover the same area, if only in part."""
    for i, j in np.argwhere(np.triu(skin.patches.backs)).tolist():
        form = skin.patches.forms[i]
        if not isinstance(form, Plane) or not ((skin.patch == i).any() and (skin.patch == j).any()):
            continue
        e1, e2 = frame_about(form.normal)
        one, two = (_flat_facets(skin, k, e1, e2) for k in (i, j))
        near = shapely.STRtree(one).query(two)
        shared = shapely.intersection(one[near[1]], two[near[0]])
        if 2 * shapely.area(shared).sum() > LEAST_THICKNESS * shapely.length(shared).sum():
            raise WrongCut("wood of no thickness is left between two cuts")


def _flat_facets(skin: Skin, patch: int, e1: Vec, e2: Vec) -> Array:
    """The facets of a plane as polygons, those of no height left out."""
    x = skin.vertices[skin.triangles[skin.patch == patch]]
    found = shapely.polygons(np.stack([dots(x, np.array(e1)), dots(x, np.array(e2))], axis=2))
    return np.asarray(found[shapely.area(found) > LEAST_THICKNESS * shapely.length(found)])


def _corners_kept(skin: Skin, blank: Box, tests: Sequence[Within]) -> None:
    corners = np.array(corners_of(blank))
    distances = skin.patches.distances(corners) + 2 * STEP
    taken = np.zeros(len(corners), dtype=bool)
    for test in tests:
        taken |= test(corners, distances, np.full(len(corners), -1))
    apart = np.abs(skin.vertices[None] - corners[:, None]).max(axis=2).min(axis=1)
    if (apart[~taken] > STEP).any():
        raise WrongCut("a corner of the blank that no cut takes is missing")


def _nothing_left_to_cut(skin: Skin, blank: Box, cutters: Sequence[Cutter], idle: Sequence[int]) -> None:
    """Cutters that show no facet of their own must have nothing of the member left inside them."""
    member = mesh_of(skin.vertices, skin.triangles)
    flat = [i for i in idle if all(isinstance(f, Plane) for f in cutters[i].forms)]
    for numbers, least in ((flat, LEAST_THICKNESS), ([i for i in idle if i not in flat], LEAST_OF_ROUND)):
        for tool in cutter_meshes(blank, [c.forms for c in cutters], numbers) if numbers else ():
            left = member ^ tool
            if not left.is_empty() and 2 * left.volume() > least * left.surface_area():
                raise WrongCut("a cut was left out")
