"""From a mesh to exact surfaces: which patch each triangle lies on, and where each corner truly is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from plangen.geometry.cutting import GeometryError, NothingLeft
from plangen.geometry.patches import (
    FACET_SAG,
    Array,
    PatchSet,
    coaxial,
    crosses,
    crossing_planes,
    dots,
    tangent_plane_through_axis,
)
from plangen.geometry.region import three_planes
from plangen.geometry.surfaces import Cone, Cylinder, Form, Plane
from plangen.geometry.vectors import LENGTH_TOLERANCE
from plangen.geometry.wedges import part_wedges

ON_PLANE = 1e-6
ON_ROUND = 1.05 * FACET_SAG + 1e-6
FAR = 50 * FACET_SAG
"""Millimetres: from a corner of the mesh, facets crossing at more than a degree, to their surfaces' corner."""
AT_REST = 1e-10
"""Millimetres: the last step of a corner that has come to rest on its surfaces."""
NEEDLE = 1e-6
"""Millimetres: a triangle less high than this has no normal worth reading."""


class WrongCut(GeometryError):
    """The mesh kernel's answer does not fit the surfaces it was made from."""


@dataclass(frozen=True, eq=False)
class Skin:
    """A closed mesh whose triangles know their patch and whose half-edges know their partner."""

    patches: PatchSet
    vertices: Array
    triangles: Array
    patch: Array
    """(m,) index into ``patches.forms``."""
    twin: Array
    """(3m,) the half-edge that runs the other way; half-edge 3t + i leaves corner i of triangle t."""


def fit_skin(x: Array, triangles: Array, forms: Sequence[Form]) -> Skin:
    """Lay a mesh on the surfaces ``forms`` (patches, each once). Raises WrongCut where it does not fit,
    NothingLeft where it has no thickness."""
    patches = PatchSet(forms)
    patch = match_triangles(x, triangles, patches)
    x = move_to_surfaces(x, triangles, patch, patches)
    x, triangles, patch = _drop_needles(x, triangles, patch)
    if len(triangles) == 0:
        raise NothingLeft("the cuts leave nothing thicker than a hair")

    def onto(p: Array, columns: Array) -> Array:
        moved, solved = _newton(p[None], columns[None], patches)
        return moved[0] if solved[0] else p

    x, triangles, patch = part_wedges(x, triangles, patch, patches, onto)
    return Skin(patches, x, triangles, patch, half_edge_twins(triangles, len(x)))


def match_triangles(x: Array, triangles: Array, patches: PatchSet) -> Array:
    """(m,) the patch each triangle lies on: all three corners on it, and facing as it faces."""
    off = np.abs(patches.distances(x))
    near = off <= np.where(patches.is_plane, ON_PLANE, ON_ROUND)
    candidates = near[triangles[:, 0]] & near[triangles[:, 1]] & near[triangles[:, 2]]
    rows, columns = np.nonzero(candidates)
    a, b, c = (x[triangles[:, i]] for i in range(3))
    normal = crosses(b - a, c - a)
    twice = np.sqrt((normal * normal).sum(1))
    longest = np.sqrt(np.max([((p - q) ** 2).sum(1) for p, q in ((a, b), (b, c), (c, a))], axis=0))
    needle = twice <= NEEDLE * np.maximum(longest, NEEDLE)
    normal /= np.maximum(twice, 1e-300)[:, None]
    middle = (a + b + c) / 3
    outward = patches.evaluate(columns, middle[rows])[1]
    score = (outward * normal[rows]).sum(1)
    plane = patches.is_plane[columns]
    good = (score > np.where(plane, 1 - 1e-6, 0.9)) & ~needle[rows]
    rows, columns, score = rows[good], columns[good], score[good] + plane[good]
    order = np.lexsort((-columns, score, rows))
    found = np.full(len(triangles), -1)
    found[rows[order]] = columns[order]
    curved = ~plane[good]
    if np.bincount(rows[curved], minlength=1).max() > 1:
        _tell_coaxial_apart(found, rows[curved], columns[curved], score[curved], off[triangles], patches)
    if (found < 0).any():
        _settle_needles(found, needle, candidates, triangles, len(x))
    return found


def _tell_coaxial_apart(
    found: Array, rows: Array, columns: Array, score: Array, off: Array, patches: PatchSet
) -> None:
    """Turned surfaces about one axis may lie nearer to each other than a facet to its surface: a facet is then
    that one's on which more of its corners lie. ``off`` (m, 3, k) are the corners' distances from the patches."""
    turned = [int(k) for k in np.unique(columns) if patches.is_turned[k]]
    scores = np.full((len(found), len(patches.forms)), -1.0)
    scores[rows, columns] = score
    for i, j in combinations(turned, 2):
        alike = (np.minimum(scores[:, i], scores[:, j]) > 0) & (np.abs(scores[:, i] - scores[:, j]) < 1e-3)
        if not alike.any():
            continue
        a, b = patches.forms[i], patches.forms[j]
        if not (isinstance(a, Cylinder | Cone) and isinstance(b, Cylinder | Cone) and coaxial(a, b)):
            continue
        on_a, on_b = ((off[:, :, k] <= LENGTH_TOLERANCE).sum(1) for k in (i, j))
        found[alike & (found == i) & (on_b > on_a)] = j
        found[alike & (found == j) & (on_a > on_b)] = i


def _settle_needles(found: Array, needle: Array, candidates: Array, triangles: Array, n: int) -> None:
    """Give each triangle of no height the patch of a neighbour on which it lies too."""
    if (needle < (found < 0)).any():
        raise WrongCut("a facet lies on none of the surfaces")
    twin = half_edge_twins(triangles, n)
    pending = [int(t) for t in np.flatnonzero(found < 0)]
    while pending:
        left = []
        for t in pending:
            near = [int(found[twin[3 * t + i] // 3]) for i in range(3)]
            fits = [p for p in near if p >= 0 and candidates[t, p]]
            if fits:
                found[t] = max(fits, key=lambda p: (fits.count(p), -p))
            else:
                left.append(t)
        if len(left) == len(pending):
            raise WrongCut("a facet of no height lies on none of its neighbours' surfaces")
        pending = left


def half_edge_twins(triangles: Array, n: int) -> Array:
    """Partner of each half-edge. Raises WrongCut where the mesh is not closed."""
    start, end = triangles.ravel(), triangles[:, (1, 2, 0)].ravel()
    key, back = start * n + end, end * n + start
    order = np.argsort(key)
    ordered = key[order]
    at = np.minimum(np.searchsorted(ordered, back), len(key) - 1)
    if (ordered[at] != back).any() or (ordered[1:] == ordered[:-1]).any():
        raise WrongCut("the cut surface is not closed")
    return order[at]


def move_to_surfaces(x: Array, triangles: Array, patch: Array, patches: PatchSet) -> Array:
    """Each vertex moved, as little as may be, onto all the patches that meet in it."""
    member = np.zeros((len(x), len(patches.forms)), dtype=bool)
    member[triangles.ravel(), np.repeat(patch, 3)] = True
    count = member.sum(1)
    tangent = _tangent_pairs(member, patches)
    special = count > 3
    for i, j, _ in tangent:
        special |= member[:, i] & member[:, j]
    x = x.copy()
    if patches.tapers:
        at_tip, tips = _tips(x, member & (count == 1)[:, None], patches)
        x[at_tip], count[at_tip] = tips, 0
    crossing, wide = _crossing_pairs(member, patches)
    for k in (1, 2, 3):
        rows = np.flatnonzero((count == k) & ~special)
        if len(rows):
            columns = np.nonzero(member[rows])[1].reshape(-1, k)
            _cross_in_planes(x[rows], columns, crossing, wide)
            moved, solved = _newton(x[rows], columns, wide)
            special[rows[~solved]] = True
            for i in _lost(x[rows], moved, columns, wide) if k > 1 else ():
                fewer = _most_square(x[rows[i]], columns[i], wide)
                moved[i] = _newton(x[rows[i]][None], fewer[None], wide)[0][0]
            x[rows] = moved
    for v in np.flatnonzero(special):
        x[v] = _move_one(x[v], [int(i) for i in np.flatnonzero(member[v])], tangent, patches)
    return x


def _crossing_pairs(member: Array, patches: PatchSet) -> tuple[list[tuple[int, int, int, int]], PatchSet]:
    """Pairs of like cylinders that cross, each with the numbers of its two planes; the patches with those added."""
    pairs: list[tuple[int, int, int, int]] = []
    if patches.is_cylinder.sum() < 2:
        return pairs, patches
    forms = list(patches.forms)
    for i, j in combinations(np.flatnonzero(patches.is_cylinder).tolist(), 2):
        if (member[:, i] & member[:, j]).any():
            planes = crossing_planes(forms[i], forms[j])
            if planes is not None:
                pairs.append((i, j, len(forms), len(forms) + 1))
                forms += planes
    return pairs, PatchSet(forms) if pairs else patches


def _cross_in_planes(
    x: Array, columns: Array, pairs: list[tuple[int, int, int, int]], wide: PatchSet
) -> None:
    """In place: of two like cylinders that cross, the second made the nearer of the planes they cross in."""
    for i, j, first, second in pairs:
        rows = np.flatnonzero((columns == i).any(axis=1) & (columns == j).any(axis=1))
        off = [np.abs(wide.evaluate(np.full(len(rows), p), x[rows])[0]) for p in (first, second)]
        nearer = np.where(off[1] < off[0], second, first)
        columns[rows] = np.where(columns[rows] == j, nearer[:, None], columns[rows])


def _lost(x: Array, moved: Array, columns: Array, patches: PatchSet) -> list[int]:
    """Rows whose patches all but touch: they meet nowhere near, or have no place of meeting to speak of."""
    curved = ~patches.is_plane[columns]
    if not curved.any():
        return []
    off = np.abs([patches.evaluate(columns[:, i], moved)[0] for i in range(columns.shape[1])]).max(0)
    far = (curved.sum(1) > 1) & (((moved - x) ** 2).sum(1) > FAR**2)
    return [int(i) for i in np.flatnonzero((off > LENGTH_TOLERANCE) | far)]


def _most_square(p: Array, columns: Array, patches: PatchSet) -> Array:
    """One patch fewer: of three the two that meet most nearly square, of two the plane."""
    if len(columns) == 2:
        return columns[:1] if patches.is_plane[columns[0]] else columns[1:]
    best = _best_subset(p[None], PatchSet([patches.forms[i] for i in columns]), 2)
    return columns[list(best or (0, 1))]


def _tips(x: Array, member: Array, patches: PatchSet) -> tuple[Array, Array]:
    """Vertices that can only be the tip of the one cone they lie on, and where the tips are."""
    rows, columns = np.nonzero(member & patches.is_cone)
    d = x[rows] - patches.point[columns]
    off = d - patches.normal[columns] * dots(d, patches.normal[columns])[:, None]
    near = dots(off, off) <= LENGTH_TOLERANCE**2
    return rows[near], patches.tip[columns[near]]


def _tangent_pairs(member: Array, patches: PatchSet) -> list[tuple[int, int, Plane]]:
    """Pairs of patches, at least one round, that meet in a vertex and are tangent, with the plane to use."""
    if patches.is_plane.all():
        return []
    pairs = []
    for i in np.flatnonzero(~patches.is_plane):
        meets = member[member[:, i]].any(axis=0)
        for j in np.flatnonzero(meets):
            if i != j and (patches.is_plane[j] or i < j):
                plane = tangent_plane_through_axis(patches.forms[i], patches.forms[j])
                if plane is not None:
                    pairs.append((int(i), int(j), plane))
    return pairs


def _newton(x: Array, columns: Array, patches: PatchSet) -> tuple[Array, Array]:
    """Points moved onto their k patches, k = 1, 2 or 3, and which of them came to rest there."""
    x = x.copy()
    curved = ~patches.is_plane[columns].all()
    solved = np.ones(len(x), dtype=bool)
    rest = np.zeros(len(x), dtype=bool)
    for turn in range(40 if curved else 2):
        rows = np.flatnonzero(~rest) if turn >= 5 else np.arange(len(x))
        if len(rows) == 0:
            break
        parts = [patches.evaluate(columns[rows, i], x[rows]) for i in range(columns.shape[1])]
        step, regular = _least_step([c for c, _ in parts], [g for _, g in parts])
        solved[rows] &= regular
        x[rows] -= np.where(regular[:, None], step, 0.0)
        # Surfaces that meet at a hair's angle need many more than five steps.
        rest[rows] = ~regular | ((step * step).sum(1) < AT_REST**2)
    return x, solved


def _least_step(c: list[Array], g: list[Array]) -> tuple[Array, Array]:
    """The shortest step that takes linear heights ``c`` over gradients ``g`` to zero; where it is defined."""
    if len(c) == 1:
        return g[0] * c[0][:, None], np.ones(len(c[0]), dtype=bool)
    if len(c) == 2:
        cosine = (g[0] * g[1]).sum(1)
        sine = 1.0 - cosine * cosine
        regular = sine > 1e-12
        sine = np.where(regular, sine, 1.0)
        first, second = (c[0] - cosine * c[1]) / sine, (c[1] - cosine * c[0]) / sine
        return g[0] * first[:, None] + g[1] * second[:, None], regular
    crossed = [crosses(g[1], g[2]), crosses(g[2], g[0]), crosses(g[0], g[1])]
    volume = (g[0] * crossed[0]).sum(1)
    regular = np.abs(volume) > 1e-6
    total = crossed[0] * c[0][:, None] + crossed[1] * c[1][:, None] + crossed[2] * c[2][:, None]
    return total / np.where(regular, volume, 1.0)[:, None], regular


def _move_one(
    p: Array, columns: list[int], tangent: list[tuple[int, int, Plane]], patches: PatchSet
) -> Array:
    """One vertex with more than three patches, or with two that are tangent there."""
    chosen: list[Form] = []
    dropped: set[int] = set()
    for i, j, plane in tangent:
        if i in columns and j in columns and i not in dropped:
            dropped.add(i)
            chosen.append(plane)
    forms = [patches.forms[c] for c in columns if c not in dropped] + chosen
    forms.sort(key=lambda f: not isinstance(f, Plane))
    local = PatchSet(forms)
    x = p[None]
    for k in (3, 2, 1):
        best = _best_subset(x, local, min(k, len(forms)))
        if best is not None:
            flat = [forms[i] for i in best]
            if len(flat) == 3 and all(isinstance(f, Plane) for f in flat):
                return np.array(three_planes(*(f for f in flat if isinstance(f, Plane))))
            return _newton(x, np.array([best]), local)[0][0]
    return p


def _best_subset(x: Array, local: PatchSet, k: int) -> tuple[int, ...] | None:
    """The k patches that meet most nearly square at a point, planes before curved; None if none meet."""
    n = len(local.forms)
    gradients = local.evaluate(np.arange(n), np.repeat(x, n, axis=0))[1]
    best, chosen = 1e-4, None
    for group in combinations(range(n), k):
        g = [gradients[i] for i in group]
        size = 1.0
        if k == 2:
            size = float(np.sqrt((crosses(g[0], g[1]) ** 2).sum()))
        elif k == 3:
            size = abs(float((g[0] * crosses(g[1], g[2])).sum()))
        if size > best * 1.01:
            best, chosen = size, group
    return chosen


def _drop_needles(x: Array, triangles: Array, patch: Array) -> tuple[Array, Array, Array]:
    """Vertices closer than the length tolerance made one, and what has vanished with that taken out."""
    start, end = triangles.ravel(), triangles[:, (1, 2, 0)].ravel()
    d = x[start] - x[end]
    short = (d * d).sum(1) <= LENGTH_TOLERANCE**2
    if not short.any():
        return compact(x, triangles, patch)
    into = np.arange(len(x))
    for a, b in zip(start[short].tolist(), end[short].tolist(), strict=True):
        low, high = sorted((int(into[a]), int(into[b])))
        into[into == high] = low
    triangles = into[triangles]
    a, b, c = triangles.T
    kept = (a != b) & (b != c) & (c != a)
    triangles, patch = triangles[kept], patch[kept]
    seen: dict[tuple[int, ...], list[int]] = {}
    for t, corners in enumerate(np.sort(triangles, axis=1).tolist()):
        seen.setdefault(tuple(corners), []).append(t)
    doubled = [t for group in seen.values() if len(group) == 2 for t in group]
    if doubled:
        whole = np.ones(len(triangles), dtype=bool)
        whole[doubled] = False
        triangles, patch = triangles[whole], patch[whole]
    return compact(x, triangles, patch)


def compact(x: Array, triangles: Array, patch: Array) -> tuple[Array, Array, Array]:
    """The same mesh without vertices that no triangle uses."""
    used = np.zeros(len(x), dtype=bool)
    used[triangles.ravel()] = True
    number = np.cumsum(used) - 1
    return x[used], number[triangles], patch
