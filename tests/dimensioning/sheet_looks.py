"""Conventions as equations: square, parallel, in line, symmetric, tangent, the same, of the surfaces of one part.

Each function found takes a batch of unknowns and is nought where the convention holds.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import Any

import numpy as np

from tests.dimensioning.sheet_surfaces import A, Surface, dot, is_same, unit


class Looks:
    def __init__(self, surfaces: Sequence[Surface], zero: A) -> None:
        self.surfaces = surfaces
        self._zero = zero
        """The unknowns of the part as drawn."""

    def named(self, name: str) -> list[Surface]:
        """The surface, or the pieces of the outline."""
        return [s for s in self.surfaces if s.name == name or s.name.startswith(f"{name}#")]

    def said(self, kind: str, ids: Sequence[str]) -> list[Any]:
        """What a recorded convention says; nothing of surfaces that do not show."""
        groups = [self.named(i) for i in ids]
        if any(not g for g in groups):
            return []
        if any(len(g) > 1 or "#" in g[0].name for g in groups):
            return self._of_pieces(kind, groups)
        return self._of_surfaces(kind, [g[0] for g in groups])

    def _of_pieces(self, kind: str, groups: list[list[Surface]]) -> list[Any]:
        """What is said of an outline is said of those of its pieces of which it is true."""
        found: list[Any] = []
        if kind == "symmetric":
            c, d = groups[-2][0], groups[-1][0]
            for a in groups[0]:
                for b in groups[1] if len(groups) == 4 else groups[0]:
                    rows = self._symmetric(a, b, c, d)
                    if all(abs(float(f(self._zero)[0])) < 1e-6 for f in rows):
                        found += rows
        elif kind == "in line":
            for a, b in itertools.product(*groups[:2]):
                if a.kind == b.kind == "plane" and is_same(a, b):
                    found += self._of_surfaces(kind, [a, b])
        return found

    def of_outlines(self, references: Sequence[Surface]) -> list[Any]:
        """Pieces of one outline: about one axis, tangent where they run into each other, and along the member where
        they are drawn so, but where a piece is one with an end or edge: of that the recorded conventions speak."""
        found: list[Any] = []
        pieces = [s for s in self.surfaces if "#" in s.name]
        whole = [s for s in self.surfaces if "#" not in s.name and s.kind == "plane"]
        told = {s.name for s in pieces if any(s.kind == "plane" and is_same(s, w) for w in whole)}
        for s in pieces:
            for r in references if s.name not in told else ():
                if s is not r and r.kind == "plane" and np.abs(r.way).max() > 1 - 1e-12:
                    found += self._true(s, r)
        for a, b in itertools.combinations(pieces, 2):
            if a.name.split("#")[0] == b.name.split("#")[0]:
                found += self._true(a, b) if not told & {a.name, b.name} else []
                if a.kind == b.kind == "round" and a.is_axis_through(b.point):
                    found += self._of_surfaces("concentric", [a, b])
                rows = self._tangent(a, b)
                if rows and abs(float(rows[0](self._zero)[0])) < 1e-6:
                    found += rows
        return found

    def _true(self, a: Surface, b: Surface) -> list[Any]:
        across = abs(float(a.way @ b.way))
        like = a.kind == b.kind
        if across > 1 - 1e-12:
            return self._of_surfaces("parallel" if like else "square", [a, b])
        if across < 1e-9:
            return self._of_surfaces("square" if like else "parallel", [a, b])
        return []

    def _of_surfaces(self, kind: str, s: list[Surface]) -> list[Any]:
        a, others = s[0], s[1:]
        if kind == "symmetric":
            return self._symmetric(a, s[1] if len(s) == 4 else a, *s[-2:])
        if kind == "same as":
            if a.kind == "round":
                return [lambda x, b=b: a.at(x)[2] - b.at(x)[2] for b in others]
            return [lambda x: self._gap(x, s[0], s[1]) - self._gap(x, s[2], s[3])]
        if kind == "tangent":
            return [f for b in others for f in self._tangent(a, b)]
        if kind == "in line" and a.kind == "round" and len(s) == 3:
            return self._about_axis(a, s[1], s[2])
        found: list[Any] = []
        for b in others:
            found += self._pair(kind, a, b)
        return found

    def _pair(self, kind: str, a: Surface, b: Surface) -> list[Any]:
        like = a.kind == b.kind
        lie_along = abs(float(a.way @ b.way)) > 0.999999
        lever = min(a.lever, b.lever)
        if kind == "in line" and not like:
            plane, axis = (a, b) if a.kind == "plane" else (b, a)
            return self._axis_in_plane(plane, axis)
        one = kind == "in line" and a.kind == "round" and is_same(a, b)  # cut twice, one surface
        if kind == "in line" and not lie_along:
            return [self._axes_meet(a, b)] if a.kind == "round" else [self._lean_alike(a, b)]
        if (kind == "square" and like) or (kind == "parallel" and not like):
            return [lambda x: dot(a.at(x)[0], b.at(x)[0]) * lever]
        sign = 1.0 if float(a.way @ b.way) > 0 else -1.0
        rows = [lambda x, e=e: dot(a.at(x)[0] - sign * b.at(x)[0], e) * lever for e in (a.u, a.v)]
        if kind == "in line" and a.kind == "plane":
            rows.append(lambda x: b.distance(x, a.at(x)[1])[0])
        if one:
            rows.append(lambda x: a.at(x)[2] - b.at(x)[2])
        if kind == "concentric" or one:
            rows += [lambda x, e=e: b.from_axis(x, a.at(x)[1], e)[0] for e in (a.u, a.v)]
        return rows

    def _axis_in_plane(self, plane: Surface, axis: Surface) -> list[Any]:
        facing = float(plane.way @ axis.way)
        stations = (-50.0, 50.0)
        if abs(facing) > 1e-9:
            stations = (float(plane.way @ (plane.point - axis.point)) / facing,)

        def off(x: A, t: float) -> A:
            way, point, _, _ = axis.at(x)
            p = point + t * axis.way + (way - axis.way) * t
            return plane.distance(x, p)[0]

        return [lambda x, t=t: off(x, t) for t in stations]

    def _axes_meet(self, a: Surface, b: Surface) -> Any:
        def apart(x: A) -> A:
            (da, pa, _, _), (db, pb, _, _) = a.at(x), b.at(x)
            return dot(pb - pa, unit(np.cross(da, db)))

        return apart

    def _lean_alike(self, a: Surface, b: Surface) -> Any:
        def apart(x: A) -> A:
            u, v = (s.at(x)[0] * np.array([0.0, 1.0, 1.0]) for s in (a, b))
            return np.cross(unit(u), unit(v))[:, 0] * a.lever

        return apart

    def _about_axis(self, axis: Surface, b: Surface, c: Surface) -> list[Any]:
        if b.kind == "plane":
            return [lambda x: b.distance(x, axis.at(x)[1])[0] - c.distance(x, axis.at(x)[1])[0]]
        if b.side == "hole":

            def turned(x: A) -> A:
                own, n, hole = axis.at(x)[0], c.at(x)[0], b.at(x)[0]
                return dot(unit(np.cross(own, n)), np.cross(own, unit(np.cross(own, hole)))) * b.lever

            return [turned]

        def meet(x: A) -> A:
            own, point, r, slope = axis.at(x)
            way, other, r2, slope2 = b.at(x)
            n, q = c.at(x)[:2]
            p = point + own * (dot(n, q - point) / dot(n, own))[:, None]
            return r + slope * dot(own, p - point) - r2 - slope2 * dot(way, p - other)

        return [meet]

    def _tangent(self, a: Surface, b: Surface) -> list[Any]:
        if a.kind == "round" and b.kind == "plane":
            a, b = b, a
        if a.kind == "plane" and b.kind == "round":
            if abs(float(a.way @ b.way)) > 1e-9:
                return []
            side = 1.0 if float(a.distance(self._zero, b.point[None])[0][0]) > 0 else -1.0
            return [lambda x: side * a.distance(x, b.at(x)[1])[0] - b.at(x)[2]]
        if a.kind == "plane":
            return []

        def apart(x: A) -> A:
            way, point, _, _ = a.at(x)
            d = b.at(x)[1] - point
            d = d - dot(d, way)[:, None] * way
            return np.sqrt(dot(d, d) + 1e-18)

        now = float(apart(self._zero)[0])
        if now < 1e-3:
            return []
        if abs(now - a.radius - b.radius) < 1e-6:
            return [lambda x: apart(x) - a.at(x)[2] - b.at(x)[2]]
        if abs(now - abs(a.radius - b.radius)) < 1e-6:
            sign = 1.0 if a.radius > b.radius else -1.0
            return [lambda x: apart(x) - sign * (a.at(x)[2] - b.at(x)[2])]
        return []

    def _symmetric(self, a: Surface, b: Surface, c: Surface, d: Surface) -> list[Any]:
        """b is the mirror image of a about the plane that halves the corner of c and d, midway where they face away
        from each other."""

        def mirror(x: A, p: A, n: A) -> tuple[A, A]:
            (far, q, _, _), (near, r, _, _) = d.at(x), c.at(x)
            way = far - near
            size = np.sqrt(dot(way, way))
            level = (dot(far, q) - dot(near, r)) / size
            way = way / size[:, None]
            return p - 2 * (dot(way, p) - level)[:, None] * way, n - 2 * dot(way, n)[:, None] * way

        sign = 1.0 if float(mirror(self._zero, a.point[None], a.way[None])[1][0] @ b.way) > 0 else -1.0

        def turned(x: A, e: A) -> A:
            way, point, _, _ = a.at(x)
            return dot(mirror(x, point, way)[1] * sign - b.at(x)[0], e) * a.lever

        def off(x: A, e: A | None) -> A:
            way, point, _, _ = a.at(x)
            q = mirror(x, point, way)[0]
            return b.distance(x, q)[0] if e is None else b.from_axis(x, q, e)[0]

        rows = [lambda x, e=e: turned(x, e) for e in (b.u, b.v)]
        if a.kind != b.kind:
            return [lambda x: np.ones(len(x))]
        if a.kind == "plane":
            return [*rows, lambda x: off(x, None)]

        def wide(x: A) -> A:
            _, point, radius, _ = a.at(x)
            way, at, there, slope = b.at(x)
            return there + slope * dot(way, mirror(x, point, way)[0] - at) - radius

        same = [] if a is b else [wide]
        if a is not b and a.count == b.count == 6:  # cones: as steep the other way
            same.append(lambda x: (sign * b.at(x)[3] - a.at(x)[3]) * a.lever)
        return [*rows, *(lambda x, e=e: off(x, e) for e in (b.u, b.v)), *same]

    def _gap(self, x: A, a: Surface, b: Surface) -> A:
        if b.kind == "round":
            return np.abs(a.distance(x, b.at(x)[1])[0])
        return np.abs(b.distance(x, a.at(x)[1])[0])
