"""A member as the maker's rule meets it: the points of its skin, the surfaces they lie on, what is seen of them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from plangen.dimensioning.figures import SIGHT_OF, MemberView
from plangen.geometry.boundary import Straight
from plangen.geometry.patches import crosses, dots, patches_of, same_surface
from plangen.geometry.surfaces import Extruded, Form, Plane
from plangen.geometry.vectors import Point, Vec, add, along, cross, dot, length, scale, sub, unit
from plangen.joinery.model import Feature, Member

ON_SURFACE = 1e-6
"""Millimetres."""
FACET_SLACK = 0.02
"""Millimetres: facets of a curved surface lie this near to it."""
_NUDGE = 0.03
"""Millimetres: how far beside a point the line of sight passes when asking whether the point is seen."""
SHAPING = ("end", "trim", "bevel", "taper", "outline", "curve", "round", "mitre")
"""Kinds of feature that shape the outside of a member."""
ROUND = ("round", "turned")
"""Kinds of feature that make a member round about its own axis."""
ROUND_TENONS = ("round tenon", "taper tenon")
"""Kinds of feature that are turned on an end."""
EDGE_WORK = ("round-over", "chamfer")
"""Kinds of feature that ease its arrises."""
AXES: tuple[Vec, Vec, Vec] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


@dataclass(frozen=True)
class Spot:
    """A point a rule can be laid to, and the surfaces (indices into ``Solid.forms``) that hold it there.

    A cylinder whose axis, not whose skin, passes through the point holds it too: the centre of a hole.
    """

    point: Point
    forms: tuple[int, ...]


@dataclass(frozen=True)
class Arris:
    """A straight edge between two surfaces."""

    forms: tuple[int, int]
    start: Spot
    end: Spot

    @property
    def direction(self) -> Vec:
        return unit(sub(self.end.point, self.start.point))


class Workpiece:
    """The finished member, asked where a rule, a gauge or a square can touch it."""

    def __init__(self, member: Member) -> None:
        self.member = member
        self.solid = member.solid
        self.forms: tuple[Form, ...] = member.solid.forms
        self._x = np.asarray(member.solid.vertices, dtype=float)
        self._triangles = np.asarray(member.solid.triangles)
        self._triangle_form = np.asarray(member.solid.triangle_form)
        self.features: dict[str, Feature] = {f.id: f for f in member.features}
        self._ids: list[list[str]] = [[] for _ in self.forms]
        self._forms_of: dict[str, list[int]] = {}
        self._spots: dict[Point, Spot | None] = {}
        for surface in member.surfaces:
            for piece in patches_of(surface.form):
                for i, form in enumerate(self.forms):
                    if same_surface(piece, form) and surface.id not in self._ids[i]:
                        self._ids[i].append(surface.id)
                        self._forms_of.setdefault(surface.id, []).append(i)

    # --- surfaces -----------------------------------------------------------------------------------------

    def ids(self, forms: tuple[int, ...]) -> tuple[str, ...]:
        """Ids of the member's surfaces that the forms are."""
        return tuple(dict.fromkeys(i for f in forms for i in self._ids[f]))

    def name(self, form: int) -> str:
        """One id for a form: the first of those it carries."""
        return self._ids[form][0] if self._ids[form] else ""

    def names(self, form: int) -> tuple[str, ...]:
        return tuple(self._ids[form])

    def forms_named(self, surface_id: str) -> tuple[int, ...]:
        """The smooth pieces of a surface that remain; several for an outline."""
        return tuple(self._forms_of.get(surface_id, ()))

    def form_of(self, surface_id: str) -> int | None:
        """The one form of a surface; None where nothing remains of it, or where it is an outline of several."""
        forms = self.forms_named(surface_id)
        return forms[0] if len(forms) == 1 else None

    def forms_of(self, feature: Feature) -> tuple[int, ...]:
        """The forms that remain of a feature's surfaces, in its own order."""
        return tuple(dict.fromkeys(f for s in feature.surfaces for f in self.forms_named(s.id)))

    def feature_of(self, form: int) -> Feature | None:
        """The feature that made a form; None for the blank's own faces."""
        return self._feature_of[form]

    @cached_property
    def _feature_of(self) -> tuple[Feature | None, ...]:
        found: list[Feature | None] = [None] * len(self.forms)
        for surface in reversed(self.member.surfaces):
            if surface.feature is not None:
                for form in self._forms_of.get(surface.id, ()):
                    found[form] = self.features[surface.feature]
        return tuple(found)

    def is_blank(self, form: int) -> bool:
        """One of the six faces of the blank."""
        return any(i in ("A", "B", "edge", "back edge", "back", "face") for i in self._ids[form])

    def plane(self, form: int) -> Plane | None:
        p = self.forms[form]
        return p if isinstance(p, Plane) else None

    @cached_property
    def outer(self) -> tuple[int, ...]:
        """Planes of the shaped blank: its own faces, ends, bevels, tapers, straight sides of an outline."""
        found = []
        for form in range(len(self.forms)):
            if self.plane(form) is None:
                continue
            feature = self.feature_of(form)
            if self.is_blank(form) or (feature is not None and feature.kind in SHAPING):
                found.append(form)
        return tuple(found)

    @cached_property
    def smooth_pairs(self) -> frozenset[frozenset[int]]:
        """Pairs of forms that meet tangent in an edge."""
        faces = self.solid.faces
        return frozenset(
            frozenset((faces[e.left].surface, faces[e.right].surface)) for e in self.solid.edges if e.smooth
        )

    @cached_property
    def areas(self) -> tuple[float, ...]:
        total = [0.0] * len(self.forms)
        for face in self.solid.faces:
            total[face.surface] += face.area
        return tuple(total)

    # --- points -------------------------------------------------------------------------------------------

    @cached_property
    def corners(self) -> tuple[Spot, ...]:
        """Corners of the solid: points where three surfaces or more meet."""
        touching: list[set[int]] = [set() for _ in range(len(self._x))]
        for corner_row, form in zip(self._triangles.tolist(), self._triangle_form.tolist(), strict=True):
            for v in corner_row:
                touching[v].add(form)
        found = []
        for v, forms in enumerate(touching):
            if len(forms) >= 3:
                x, y, z = self._x[v].tolist()
                found.append(Spot((x + 0.0, y + 0.0, z + 0.0), tuple(sorted(forms))))
        return tuple(sorted(found, key=lambda s: tuple(round(c, 6) for c in s.point)))

    def corners_on(self, *forms: int) -> list[Spot]:
        return [s for s in self.corners if all(f in s.forms for f in forms)]

    @cached_property
    def arrises(self) -> tuple[Arris, ...]:
        """Straight edges whose ends are corners."""
        found = []
        for edge in self.solid.edges:
            if not isinstance(edge.curve, Straight):
                continue
            forms = (self.solid.faces[edge.left].surface, self.solid.faces[edge.right].surface)
            start, end = self._corner_at(edge.curve.start), self._corner_at(edge.curve.end)
            if start is not None and end is not None and forms[0] != forms[1]:
                found.append(Arris(forms, start, end))
        return tuple(found)

    def _corner_at(self, p: Point) -> Spot | None:
        for corner in self.corners:
            if length(sub(corner.point, p)) < ON_SURFACE:
                return corner
        return None

    def spot(self, p: Point) -> Spot | None:
        """The point with every surface it lies on; None where it is not on the skin."""
        if p not in self._spots:
            forms = [i for i in range(len(self.forms)) if self._carries(i, p)]
            self._spots[p] = Spot(p, tuple(forms)) if forms else None
        return self._spots[p]

    def spot_on(self, p: Point, forms: tuple[int, ...]) -> Spot | None:
        """The point where it lies on the skin of all ``forms``."""
        spot = self.spot(p)
        return spot if spot is not None and all(f in spot.forms for f in forms) else None

    def reaches(self, p: Point, forms: tuple[int, ...]) -> bool:
        """All forms pass through ``p`` and have skin there, as near as the facets of a round edge tell."""
        return all(
            self._passes(f, p) and self._facets[f].distance(p, FACET_SLACK) <= FACET_SLACK for f in forms
        )

    def _passes(self, form: int, p: Point) -> bool:
        surface = self.forms[form]
        return isinstance(surface, Extruded) or abs(surface.distance(p)) <= ON_SURFACE

    def _carries(self, form: int, p: Point) -> bool:
        """The form passes through ``p`` and the solid has skin of it there."""
        if not self._passes(form, p):
            return False
        slack = ON_SURFACE * 2 if isinstance(self.forms[form], Plane) else FACET_SLACK
        return self._facets[form].distance(p, slack) <= slack

    @cached_property
    def _facets(self) -> tuple[Facets, ...]:
        return tuple(
            Facets(self._x[self._triangles[self._triangle_form == i]]) for i in range(len(self.forms))
        )

    def centre(self, cylinder: int, entry: Point, face: int | None) -> Spot:
        """A hole's centre on the face it enters."""
        return Spot(entry, (cylinder,) if face is None else (cylinder, face))

    # --- sight --------------------------------------------------------------------------------------------

    def sees(self, view: MemberView, p: Point) -> bool:
        """A point of the skin is seen in a view: some line of sight beside it reaches it free of wood."""
        toward = scale(SIGHT_OF[view], -1.0)
        right = AXES[1] if abs(toward[0]) > 0.5 else AXES[0]
        up = cross(toward, right)
        starts = []
        for k in range(8):
            angle = math.pi * (2 * k + 1) / 8 + 0.07
            aside = add(scale(right, math.cos(angle) * _NUDGE), scale(up, math.sin(angle) * _NUDGE))
            starts.append(along(add(p, aside), toward, _NUDGE))
        return not _are_blocked(np.array(starts), np.array(toward), self._x[self._triangles]).all()


class Facets:
    """The triangles of one form, for the distance of points."""

    def __init__(self, corners: np.ndarray) -> None:
        flat = corners.reshape(-1, 3)
        self._low, self._high = flat.min(0).tolist(), flat.max(0).tolist()
        self._corners = [corners[:, i] for i in range(3)]
        self._sides = [corners[:, (i + 1) % 3] - corners[:, i] for i in range(3)]
        n = crosses(self._sides[0], self._sides[1])
        size = np.sqrt((n * n).sum(1))
        self._solid = size > 1e-12
        self._normal = n / np.where(self._solid, size, 1.0)[:, None]

    def distance(self, p: Point, slack: float) -> float:
        """Least distance of a point; infinite where it lies outside their box by more than ``slack``."""
        for c, low, high in zip(p, self._low, self._high, strict=True):
            if c < low - slack or c > high + slack:
                return math.inf
        q = np.array(p)
        best = math.inf
        inside = self._solid.copy()
        off = ((q - self._corners[0]) * self._normal).sum(1)
        foot = q - off[:, None] * self._normal
        for corner, side in zip(self._corners, self._sides, strict=True):
            inside &= (crosses(side, foot - corner) * self._normal).sum(1) >= 0
            share = np.clip(((q - corner) * side).sum(1) / np.maximum((side * side).sum(1), 1e-300), 0.0, 1.0)
            gap = q - (corner + share[:, None] * side)
            best = min(best, float(np.sqrt((gap * gap).sum(1)).min()))
        if inside.any():
            best = min(best, float(np.abs(off[inside]).min()))
        return best


def _are_blocked(starts: np.ndarray, way: np.ndarray, corners: np.ndarray) -> np.ndarray:
    """Which rays from ``starts`` (n, 3) meet a triangle (m, 3, 3). The rule of Moller and Trumbore, 1997."""
    a = corners[:, 0]
    e1, e2 = corners[:, 1] - a, corners[:, 2] - a
    h = crosses(np.broadcast_to(way, e2.shape), e2)
    det = dots(e1, h)
    ok = np.abs(det) > 1e-12
    inv = 1.0 / np.where(ok, det, 1.0)
    s = starts[:, None] - a
    u = dots(s, h) * inv
    q = crosses(s, e1)
    v = dots(q, way) * inv
    t = dots(e2, q) * inv
    return (ok & (u >= 0) & (v >= 0) & (u + v <= 1) & (t > 1e-9)).any(axis=1)


def dominant_axis(normal: Vec) -> int:
    """The member's axis (0 length, 1 width, 2 thickness) that a direction is nearest to."""
    return max(range(3), key=lambda i: (round(abs(normal[i]), 6), -i))


def across(view: MemberView, direction: Vec) -> bool:
    """The direction is shown in true length in the view."""
    return abs(dot(SIGHT_OF[view], direction)) < 1e-9
