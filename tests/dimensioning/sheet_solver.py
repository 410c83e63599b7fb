"""A second way to the part: solved from what its sheet prints, with nothing of plangen's code.

Takes one member of plan.json. Used are: printed figures without parentheses, recorded conventions, the references,
and from the strokes only topology and side: which surfaces a point is on, which way along its direction it lies, which
way a surface looks. The drawn sizes are spoilt before the solver starts from them, so that nothing leaks. A size that
the work gives (made to a mate, fitted) counts as it is. Pieces of a drawn outline keep what its strokes show: one
axis, smooth joins, and lines along the member's own directions.
"""

from __future__ import annotations

import itertools
import math
import re
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

import numpy as np

A = np.ndarray
SIGHT = {
    "face": (0, 0, -1), "back": (0, 0, 1), "edge": (0, 1, 0), "back edge": (0, -1, 0), "end A": (1, 0, 0),
    "end B": (-1, 0, 0),
}  # fmt: skip
_NUMBER = re.compile(
    r"\(?(?:\d+ x )?(?:CBORE |SPOT FACE |CSK |CHAMFER )?(?:Ø |R)?(?P<n>\d+ \d+/\d+|\d+/\d+|\d+(?:\.\d+)?)(?P<deg>°)?"
)
_STEP = 1e-5
_INDEPENDENT = 1e-3


def printed_value(printed: str, unit_mm: Fraction) -> float | None:
    """Millimetres, or degrees; None where the figure is only said to be less than something."""
    match = _NUMBER.match(printed)
    if match is None:
        return None
    value = sum((Fraction(part) for part in match["n"].split()), Fraction(0))
    return float(value if match["deg"] else value * unit_mm)


def _dot(a: A, b: A) -> A:
    return (a * b).sum(-1)


def _unit(a: A) -> A:
    return a / np.sqrt(_dot(a, a))[..., None]


def _across(n: A) -> tuple[A, A]:
    e = np.eye(3)[int(np.argmin(np.abs(n)))]
    u = np.cross(n, e)
    u = u / math.sqrt(float(u @ u))
    return u, np.cross(n, u)


@dataclass
class Surface:
    """One plane, cylinder or cone, and where its unknowns stand."""

    name: str
    kind: str
    """plane, round."""
    way: A
    """Normal, or axis."""
    point: A
    radius: float = 0.0
    slope: float = 0.0
    side: str = ""
    count: int = 3
    start: int = 0
    lever: float = 50.0

    def __post_init__(self) -> None:
        self.u, self.v = _across(self.way)
        self._last: tuple[A, tuple[A, A, A, A]] | None = None

    def at(self, x: A) -> tuple[A, A, A, A]:
        """Way, point, radius, slope for a batch of unknowns."""
        if self._last is None or self._last[0] is not x:
            self._last = (x, self._at(x))
        return self._last[1]

    def _at(self, x: A) -> tuple[A, A, A, A]:
        k, lever = self.start, self.lever
        if self.kind == "plane":
            way = self.way + x[:, k + 1, None] / lever * self.u + x[:, k + 2, None] / lever * self.v
            return _unit(way), self.point + x[:, k, None] * self.way, x[:, k] * 0, x[:, k] * 0
        way = self.way + x[:, k + 1, None] / lever * self.u + x[:, k + 3, None] / lever * self.v
        point = self.point + x[:, k, None] * self.u + x[:, k + 2, None] * self.v
        slope = self.slope + (x[:, k + 5] / lever if self.count == 6 else x[:, k] * 0)
        return _unit(way), point, self.radius + x[:, k + 4], slope

    def distance(self, x: A, p: A) -> tuple[A, A]:
        """Of points from the skin, and its gradient."""
        way, point, radius, slope = self.at(x)
        d = p - point
        if self.kind == "plane":
            return _dot(way, d), way
        along = _dot(way, d)
        radial = d - along[:, None] * way
        size = np.sqrt(_dot(radial, radial))
        return size - radius - slope * along, radial / size[:, None] - slope[:, None] * way

    def from_axis(self, x: A, p: A, e: A) -> tuple[A, A]:
        """Of points from the axis along a direction across it."""
        way, point, _, _ = self.at(x)
        d = p - point
        radial = d - _dot(way, d)[:, None] * way
        return _dot(radial, e), e - _dot(way, e[None])[:, None] * way


def surfaces_of(member: dict[str, Any]) -> list[Surface]:
    """Every surface that a figure or convention can be of; an outline as its pieces, ``id#1``, ``id#2``."""
    found: list[Surface] = []
    for s in member["surfaces"]:
        if s["kind"] == "plane":
            n = np.array(s["normal"])
            found.append(Surface(s["id"], "plane", n, n * s["offset"]))
        elif s["kind"] in ("cylinder", "cone"):
            slope = s.get("slope", 0.0)
            count = 6 if s["kind"] == "cone" and s["side"] == "post" else 5
            found.append(
                Surface(
                    s["id"],
                    "round",
                    np.array(s["axis"]),
                    np.array(s["point"]),
                    s["radius"],
                    slope,
                    s["side"],
                    count,
                )
            )
        else:
            found += _pieces(s)
    return found


def _pieces(s: dict[str, Any]) -> list[Surface]:
    axis, found = np.array(s["axis"]), []
    for k, piece in enumerate(s["outline"]):
        p = np.array(piece.get("points", ()))
        name = f"{s['id']}#{k}"
        if piece["kind"] == "line":
            n = np.cross(p[1] - p[0], axis)
            n /= math.sqrt(float(n @ n))
            found.append(Surface(name, "plane", n, (p[0] + p[1]) / 2))
        elif piece["kind"] == "arc":
            a, b = p[1] - p[0], p[2] - p[0]
            m = np.vstack([a, b, axis])
            centre = p[0] + np.linalg.solve(m, [a @ a / 2, b @ b / 2, 0.0])
            r = p[0] - centre
            wood_inside = float(np.cross(a, b) @ axis) > 0
            side = "post" if wood_inside else "hole"
            found.append(Surface(name, "round", axis, centre, math.sqrt(float(r @ r)), 0.0, side, 5))
    kept: list[Surface] = []
    for s2 in found:  # two halves of one arc, two lengths of one line
        same = [t for t in kept if _is_same(s2, t)]
        if not same:
            kept.append(s2)
    return kept


def _is_same(a: Surface, b: Surface) -> bool:
    if a.kind != b.kind or np.abs(np.cross(a.way, b.way)).max() > 1e-9:
        return False
    if a.kind == "plane":
        return abs(float((a.point - b.point) @ a.way)) < 1e-6
    d = a.point - b.point
    return abs(a.radius - b.radius) < 1e-6 and np.abs(d - a.way * (d @ a.way)).max() < 1e-6


@dataclass
class Equation:
    """``of(x)`` is nought where the equation holds. ``figure`` is the dimension it comes of, None of others."""

    of: Any
    figure: dict[str, Any] | None = None
    convention: int | None = None


@dataclass
class Solved:
    rank: int
    unknowns: int
    figures: int
    convention_rank: int
    x: A
    surfaces: list[Surface]
    smallest: float
    """Smallest singular value of the rows, each of size 1."""
    residual: float
    needed: dict[str, bool]
    """Of each figure, by id, whether something is left open without it."""
    kept: list[bool]
    """Of each recorded convention the same."""

    @property
    def is_complete(self) -> bool:
        return self.rank == self.unknowns

    @property
    def redundant(self) -> int:
        return self.convention_rank + self.figures - self.rank


@dataclass
class Sheet:
    """One member as its sheet shows it."""

    member: dict[str, Any]
    unit_mm: Fraction
    surfaces: list[Surface] = field(default_factory=list)

    def __post_init__(self) -> None:
        mentioned = {i for d in self.member["dimensions"] for ids in d["on"] for i in ids}
        mentioned |= {i for c in self.member["conventions"] for i in c["surfaces"]}
        remains = {s["id"] for s in self.member["surfaces"] if s["remains"]}
        size = self.member["finished"]
        middle = np.array([size["length"], size["width"], size["thickness"]]) / 2
        later = {f["id"] for f in self.member["features"] if f["stage"] in ("glued", "assembled")}
        remains -= {s["id"] for s in self.member["surfaces"] if s["feature"] in later}
        start = 0
        self.surfaces = []
        for s in surfaces_of(self.member):
            if s.name.split("#")[0] not in mentioned | remains:
                continue
            if s.kind == "plane":
                s.point = middle - s.way * float(s.way @ (middle - s.point))
            else:
                along = float(s.way @ (middle - s.point))
                s.point, s.radius = s.point + s.way * along, s.radius + s.slope * along
            s.lever = _reach(self.member, s.name.split("#")[0])
            s.start, start = start, start + s.count
            self.surfaces.append(s)
        self.unknowns = start
        kinds = {c["kind"] for s in self.member["surfaces"] for c in s.get("outline", ())}
        self.has_template = bool(kinds - {"line", "arc"})
        """A free curve stands where its template says."""
        self.zero = np.zeros((1, start))

    # --- points -------------------------------------------------------------------------------------------

    def named(self, name: str) -> list[Surface]:
        return [s for s in self.surfaces if s.name == name or s.name.startswith(f"{name}#")]

    def holding(self, p: A, names: list[str]) -> list[tuple[Surface, A | None]]:
        """Up to three independent surfaces at a point; of a round one's centre line the two ways across it."""
        found: list[tuple[Surface, A | None]] = []
        normals: list[A] = []
        near = [s for n in names for s in self.named(n) if "#" not in s.name or self._passes(s, p)]
        for s in sorted(near, key=lambda s: s.kind != "plane"):
            holds: list[tuple[Surface, A | None]] = [(s, None)]
            if s.kind == "round" and self._is_on_axis(s, p):
                holds = [(s, s.u), (s, s.v)]
            for surface, e in holds:
                n = (s.distance(self.zero, p[None]) if e is None else s.from_axis(self.zero, p[None], e))[1][
                    0
                ]
                n = n / math.sqrt(float(n @ n))
                rest = n
                for m in normals:
                    rest = rest - m * float(m @ rest)
                if len(normals) < 3 and float(rest @ rest) > 1e-6:
                    normals.append(rest / math.sqrt(float(rest @ rest)))
                    found.append((surface, e))
        return found

    def _is_on_axis(self, s: Surface, p: A) -> bool:
        d = np.cross(p - s.point, s.way)
        return float(d @ d) < 1e-10

    def _passes(self, s: Surface, p: A) -> bool:
        if s.kind == "round" and self._is_on_axis(s, p):
            return True
        return abs(float(s.distance(self.zero, p[None])[0][0])) < 1e-5

    def point(self, p: A, names: list[str], ways: list[A]) -> Any:
        """Where a point goes as its surfaces move: along the first way if they let it, then along the next, as many
        ways as surfaces hold it."""
        holds = self.holding(p, names)
        gradients = [
            (s.distance(self.zero, p[None]) if e is None else s.from_axis(self.zero, p[None], e))[1][0]
            for s, e in holds
        ]
        chosen = _steady([[float(g @ w) for w in ways] for g in gradients])
        steps = 1 if all(s.kind == "plane" for s, _ in holds) else 4
        if chosen is None:
            return lambda x: np.repeat(p[None], len(x), 0)
        along = np.array([ways[c] for c in chosen])
        last: list[tuple[A, A]] = []

        def moved(x: A) -> A:
            if not last or last[0][0] is not x:
                last[:] = [(x, found(x))]
            return last[0][1]

        def found(x: A) -> A:
            q = np.repeat(p[None], len(x), 0)
            for _ in range(steps):
                off, slopes = [], []
                for s, e in holds:
                    f, g = s.distance(x, q) if e is None else s.from_axis(x, q, e)
                    off.append(f)
                    slopes.append((g[:, None, :] * along[None]).sum(-1))
                t = np.linalg.solve(np.stack(slopes, 1), np.stack(off, 1)[..., None])[..., 0]
                q = q - (t[:, :, None] * along[None]).sum(1)
            return q

        return moved

    # --- equations ----------------------------------------------------------------------------------------

    def equations(self) -> list[Equation]:
        found = [Equation(f) for f in self._gauge()]
        for i, c in enumerate(self.member["conventions"]):
            found += [Equation(f, convention=i) for f in self._convention(c)]
        found += [Equation(f) for f in self._outlines()]
        return found + [self._figure(d) for d in self.member["dimensions"] if not d["reference"]]

    def _gauge(self) -> list[Any]:
        """Face side wholly, the face edge where it meets that, end A where it meets both; what is missing there is
        held by moving as little as may be."""
        ids = self.member["references"]
        face, edge, end = (
            (self.named(ids[k]) or [None])[0] if ids[k] else None for k in ("face", "edge", "end")
        )
        found: list[Any] = []
        if face is not None:
            found += [lambda x, k=face.start + i: x[:, k] for i in range(3)]
        if face is None or edge is None:
            return found
        way = np.cross(face.way, edge.way)
        way /= math.sqrt(float(way @ way))
        m = np.vstack([face.way, edge.way, way])
        corner = np.linalg.solve(m, [face.way @ face.point, edge.way @ edge.point, 0.0])
        for t in (0.0, self.member["finished"]["length"]):
            found.append(lambda x, p=corner + way * t: edge.distance(x, np.repeat(p[None], len(x), 0))[0])
        if end is not None:
            t = float(end.way @ (end.point - corner)) / float(end.way @ way)
            found.append(lambda x, p=corner + way * t: end.distance(x, np.repeat(p[None], len(x), 0))[0])
        return found

    def _figure(self, d: dict[str, Any]) -> Equation:
        given = d["origin"] not in ("worked", "bought")
        size = None if given else printed_value(d["printed"], self.unit_mm)
        size = d["value"] if size is None else size
        p = [np.array(q) for q in d["points"]]
        if d["kind"] in ("linear", "depth"):
            way = np.array(d["direction"])
            sight = np.array(SIGHT[d["view"]], dtype=float)
            ways = _ways(way, sight)
            a, b = (self.point(q, on, ways) for q, on in zip(p, d["on"], strict=True))
            sign = 1.0 if float((p[1] - p[0]) @ way) > 0 else -1.0
            return Equation(lambda x: sign * _dot(b(x) - a(x), way) - size, d)
        if d["kind"] == "angular":
            return Equation(self._angle(d, p, size), d)
        there = [
            s for n in d["on"][-1] for s in self.named(n) if s.kind == "round" and self._passes(s, p[-1])
        ]
        # One about the centre the figure starts from; of a hole with its countersink the hole.
        centred = {s.name: d["kind"] == "diameter" or self._is_on_axis(s, p[0]) for s in there}
        round_ = max(there, key=lambda s: (centred[s.name], s.slope == 0))
        radius = size / 2 if d["kind"] == "diameter" else size
        at = p[-1]

        def grows(x: A) -> A:
            way, point, r, slope = round_.at(x)
            return r + slope * _dot(way, at - point) - radius

        return Equation(grows, d)

    def _angle(self, d: dict[str, Any], p: list[A], degrees: float) -> Any:
        sight = np.array(SIGHT[d["view"]], dtype=float)
        arms = []
        for q, on in zip(p[1:], d["on"][1:], strict=True):
            flat = (q - p[0]) - sight * float(sight @ (q - p[0]))
            reach = math.sqrt(float(flat @ flat))
            lean = self._lean(q, on, sight, flat)
            if lean is not None:
                arms.append(lean)
                continue
            aside = np.cross(sight, flat / reach)
            ways = _ways(aside, sight)
            apex, arm = self.point(p[0], d["on"][0], ways), self.point(q, on, ways)
            arms.append(lambda x, apex=apex, arm=arm: arm(x) - apex(x))
        arm_length = math.sqrt(float((p[1] - p[0]) @ (p[1] - p[0])))

        def turn(x: A) -> A:
            u, v = (w(x) - sight * _dot(w(x), sight)[:, None] for w in arms)
            angle = np.arctan2(np.sqrt(_dot(np.cross(u, v), np.cross(u, v))), _dot(u, v))
            return (angle - math.radians(degrees)) * arm_length

        return turn

    def _lean(self, q: A, on: list[str], sight: A, flat: A) -> Any:
        """The long or short point of a round's sloping end, seen along its axis: it goes round as the end leans."""
        holds = [s for s, e in self.holding(q, on) if e is None]
        if not any(s.kind == "round" and abs(float(s.way @ sight)) > 1 - 1e-12 for s in holds):
            return None
        for s in holds:
            lean = s.way - sight * float(s.way @ sight)
            leans = s.kind == "plane" and float(lean @ lean) > 1e-12
            if leans and np.abs(np.cross(lean, flat)).max() < 1e-6:
                sign = 1.0 if float(lean @ flat) > 0 else -1.0
                return lambda x, s=s: sign * (s.at(x)[0] - sight * _dot(s.at(x)[0], sight)[:, None])
        return None

    # --- conventions --------------------------------------------------------------------------------------

    def _convention(self, c: dict[str, Any]) -> list[Any]:
        groups = [self.named(i) for i in c["surfaces"]]
        if any(not g for g in groups):
            return []
        kind = c["kind"]
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
                    if all(abs(float(f(self.zero)[0])) < 1e-6 for f in rows):
                        found += rows
        elif kind == "in line":
            for a, b in itertools.product(*groups[:2]):
                if a.kind == b.kind == "plane" and _is_same(a, b):
                    found += self._of_surfaces(kind, [a, b])
        return found

    def _outlines(self) -> list[Any]:
        """Pieces of one outline: about one axis, tangent where they run into each other, and along the member where
        they are drawn so."""
        found: list[Any] = []
        plane_refs = [
            r for k in ("face", "edge", "end") if (i := self.member["references"][k]) for r in self.named(i)
        ]
        pieces = [s for s in self.surfaces if "#" in s.name]
        for s in pieces:
            for r in plane_refs:
                if s is not r and r.kind == "plane" and np.abs(r.way).max() > 1 - 1e-12:
                    found += self._true(s, r)
        for a, b in itertools.combinations(pieces, 2):
            if a.name.split("#")[0] == b.name.split("#")[0]:
                found += self._true(a, b)
                if a.kind == b.kind == "round" and self._is_on_axis(a, b.point):
                    found += self._of_surfaces("concentric", [a, b])
                rows = self._tangent(a, b)
                if rows and abs(float(rows[0](self.zero)[0])) < 1e-6:
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
        one = kind == "in line" and a.kind == "round" and _is_same(a, b)  # cut twice, one surface
        if kind == "in line" and not lie_along:
            return [self._axes_meet(a, b)] if a.kind == "round" else [self._lean_alike(a, b)]
        if (kind == "square" and like) or (kind == "parallel" and not like):
            return [lambda x: _dot(a.at(x)[0], b.at(x)[0]) * lever]
        sign = 1.0 if float(a.way @ b.way) > 0 else -1.0
        rows = [lambda x, e=e: _dot(a.at(x)[0] - sign * b.at(x)[0], e) * lever for e in (a.u, a.v)]
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
            return _dot(pb - pa, _unit(np.cross(da, db)))

        return apart

    def _lean_alike(self, a: Surface, b: Surface) -> Any:
        def apart(x: A) -> A:
            u, v = (s.at(x)[0] * np.array([0.0, 1.0, 1.0]) for s in (a, b))
            return np.cross(_unit(u), _unit(v))[:, 0] * a.lever

        return apart

    def _about_axis(self, axis: Surface, b: Surface, c: Surface) -> list[Any]:
        if b.kind == "plane":
            return [lambda x: b.distance(x, axis.at(x)[1])[0] - c.distance(x, axis.at(x)[1])[0]]
        if b.side == "hole":

            def turned(x: A) -> A:
                own, n, hole = axis.at(x)[0], c.at(x)[0], b.at(x)[0]
                return _dot(_unit(np.cross(own, n)), np.cross(own, _unit(np.cross(own, hole)))) * b.lever

            return [turned]

        def meet(x: A) -> A:
            own, point, r, slope = axis.at(x)
            way, other, r2, slope2 = b.at(x)
            n, q = c.at(x)[:2]
            p = point + own * (_dot(n, q - point) / _dot(n, own))[:, None]
            return r + slope * _dot(own, p - point) - r2 - slope2 * _dot(way, p - other)

        return [meet]

    def _tangent(self, a: Surface, b: Surface) -> list[Any]:
        if a.kind == "round" and b.kind == "plane":
            a, b = b, a
        if a.kind == "plane" and b.kind == "round":
            if abs(float(a.way @ b.way)) > 1e-9:
                return []
            side = 1.0 if float(a.distance(self.zero, b.point[None])[0][0]) > 0 else -1.0
            return [lambda x: side * a.distance(x, b.at(x)[1])[0] - b.at(x)[2]]
        if a.kind == "plane":
            return []

        def apart(x: A) -> A:
            way, point, _, _ = a.at(x)
            d = b.at(x)[1] - point
            d = d - _dot(d, way)[:, None] * way
            return np.sqrt(_dot(d, d) + 1e-18)

        now = float(apart(self.zero)[0])
        if now < 1e-3:
            return []
        if abs(now - a.radius - b.radius) < 1e-6:
            return [lambda x: apart(x) - a.at(x)[2] - b.at(x)[2]]
        if abs(now - abs(a.radius - b.radius)) < 1e-6:
            sign = 1.0 if a.radius > b.radius else -1.0
            return [lambda x: apart(x) - sign * (a.at(x)[2] - b.at(x)[2])]
        return []

    def _symmetric(self, a: Surface, b: Surface, c: Surface, d: Surface) -> list[Any]:
        """b is the mirror image of a about the plane midway between c and d."""

        def mirror(x: A, p: A, n: A) -> tuple[A, A]:
            way, q, _, _ = d.at(x)
            middle = (q + c.at(x)[1]) / 2
            return p - 2 * _dot(way, p - middle)[:, None] * way, n - 2 * _dot(way, n)[:, None] * way

        sign = 1.0 if float(mirror(self.zero, a.point[None], a.way[None])[1][0] @ b.way) > 0 else -1.0

        def turned(x: A, e: A) -> A:
            way, point, _, _ = a.at(x)
            return _dot(mirror(x, point, way)[1] * sign - b.at(x)[0], e) * a.lever

        def off(x: A, e: A | None) -> A:
            way, point, _, _ = a.at(x)
            q = mirror(x, point, way)[0]
            return b.distance(x, q)[0] if e is None else b.from_axis(x, q, e)[0]

        rows = [lambda x, e=e: turned(x, e) for e in (b.u, b.v)]
        if a.kind != b.kind:
            return [lambda x: np.ones(len(x))]
        if a.kind == "plane":
            return [*rows, lambda x: off(x, None)]
        same = [] if a is b else [lambda x: a.at(x)[2] - b.at(x)[2]]
        return [*rows, *(lambda x, e=e: off(x, e) for e in (b.u, b.v)), *same]

    def _gap(self, x: A, a: Surface, b: Surface) -> A:
        if b.kind == "round":
            return np.abs(a.distance(x, b.at(x)[1])[0])
        return np.abs(b.distance(x, a.at(x)[1])[0])

    # --- solving ------------------------------------------------------------------------------------------

    def solve(self, seed: int = 1) -> Solved:
        """Newton's method from a sketch that is spoilt by a millimetre or so everywhere."""
        equations = self.equations()
        x = np.random.default_rng(seed).normal(scale=0.7, size=self.unknowns)
        for s in self.surfaces:
            turns = [1, 2] if s.kind == "plane" else [1, 3, 5][: s.count - 3]
            x[[s.start + k for k in turns]] *= min(1.0, s.lever / 100.0)
        for step in range(25):
            residual, jacobian = _linearised(equations, x)
            motions = self._free_motions(jacobian, equations)
            full = np.vstack([jacobian, motions])
            off = np.concatenate([-residual, -motions @ x])
            normal = full.T @ full
            change = np.linalg.solve(
                normal + 1e-10 * np.eye(len(x)) * np.trace(normal) / len(x), full.T @ off
            )
            size = float(np.abs(change).max(initial=0.0))
            x = x + change * min(1.0, 3.0 / max(size, 1e-12))
            if step > 1 and size < 1e-6:
                break
        rows = np.array([e.figure is not None for e in equations], dtype=bool)
        held = np.vstack([jacobian[~rows], motions])
        everything = np.vstack([jacobian, motions])
        values = _singular(everything)
        needed, kept = self._needs(everything, equations)
        return Solved(
            int((values > _INDEPENDENT / 10).sum()), self.unknowns, int(rows.sum()),
            int((_singular(held) > _INDEPENDENT / 10).sum()), x, self.surfaces,
            float(values[-1]) if len(values) == self.unknowns else 0.0,
            float(np.abs(_linearised(equations, x)[0]).max(initial=0.0)), needed, kept,
        )  # fmt: skip

    def _needs(self, rows: A, equations: list[Equation]) -> tuple[dict[str, bool], list[bool]]:
        """Rows that no others can stand for: where the projection on all rows, cut down to these, has the value 1."""
        size = np.sqrt((rows * rows).sum(1))
        u, s, _ = np.linalg.svd(rows / np.maximum(size, 1e-9)[:, None], full_matrices=False)
        u = u[:, s > _INDEPENDENT / 10]

        def is_needed(chosen: list[int]) -> bool:
            if not chosen:
                return True
            return bool(np.linalg.eigvalsh(u[chosen] @ u[chosen].T)[-1] > 1 - 1e-5)

        figures = {e.figure["id"]: is_needed([i]) for i, e in enumerate(equations) if e.figure is not None}
        kept = [
            is_needed([i for i, e in enumerate(equations) if e.convention == k])
            for k in range(len(self.member["conventions"]))
        ]
        return figures, kept

    def corner(self, solved: Solved, p: A, names: list[str]) -> A:
        """How far a corner comes out from where it is drawn, along each axis; where surfaces run into each other
        without an arris, how far they do."""
        if len(self.holding(p, names)) == 3:
            return self.point(p, names, list(np.eye(3)))(solved.x[None])[0] - p
        holds = self.holding(p, names)
        return np.array(
            [
                float(
                    (
                        s.distance(solved.x[None], p[None])
                        if e is None
                        else s.from_axis(solved.x[None], p[None], e)
                    )[0][0]
                )
                for s, e in holds
            ]
            or [0.0]
        )

    def _free_motions(self, jacobian: A, equations: list[Equation]) -> A:
        """Rows that hold those movements of the whole piece which the references do not."""
        ids = self.member["references"]
        if all(ids.values()) or self.has_template:
            return np.zeros((0, self.unknowns))
        moves = []
        for k in range(6):
            row = np.zeros(self.unknowns)
            e = np.eye(3)[k % 3]
            for s in self.surfaces:
                shift = e if k < 3 else np.cross(e, s.point)
                turn = np.zeros(3) if k < 3 else np.cross(e, s.way)
                own = row[s.start : s.start + s.count]
                if s.kind == "plane":
                    own[:3] = (shift @ s.way, turn @ s.u * s.lever, turn @ s.v * s.lever)
                else:
                    own[:4] = (shift @ s.u, turn @ s.u * s.lever, shift @ s.v, turn @ s.v * s.lever)
            moves.append(row)
        stack = np.array(moves)
        gauge = jacobian[: len(self._gauge())]
        if len(gauge):
            loose = np.linalg.svd(gauge @ stack.T)
            rank = int((loose[1] > 1e-6).sum())
            stack = loose[2][rank:] @ stack
        _, s, v = np.linalg.svd(stack, full_matrices=False)
        return v[s > 1e-6 * max(1.0, float(s[0]) if len(s) else 1.0)]


def _reach(member: dict[str, Any], name: str) -> float:
    """How far the figured points of a surface lie apart, about."""
    points = [
        p for d in member["dimensions"] for p, on in zip(d["points"], d["on"], strict=True) if name in on
    ]
    if len(points) < 2:
        return 25.0
    return max(5.0, float((np.max(points, 0) - np.min(points, 0)).max()) / 2)


def _linearised(equations: list[Equation], x: A) -> tuple[A, A]:
    batch = np.vstack([x, x + _STEP * np.eye(len(x))])
    values = np.array([e.of(batch) for e in equations])
    return values[:, 0], (values[:, 1:] - values[:, :1]) / _STEP


def _singular(rows: A) -> A:
    size = np.sqrt((rows * rows).sum(1))
    rows = rows[size > 1e-7] / size[size > 1e-7, None]
    return np.linalg.svd(rows, compute_uv=False) if len(rows) else np.zeros(0)


def _ways(first: A, sight: A) -> list[A]:
    found = [first]
    for way in (sight, np.cross(first, sight), *_across(first)):
        rest = way
        for w in found:
            rest = rest - w * float(w @ rest)
        size = math.sqrt(float(rest @ rest))
        if size > 1e-6 and len(found) < 3:
            found.append(rest / size)
    return found


def _steady(matrix: list[list[float]]) -> tuple[int, ...] | None:
    """The first ways along which the surfaces hold the point well, else those along which they do so best."""
    best: tuple[float, tuple[int, ...]] | None = None
    for chosen in itertools.combinations(range(3), len(matrix)):
        size = (
            abs(float(np.linalg.det(np.array([[row[c] for c in chosen] for row in matrix]))))
            if matrix
            else 0.0
        )
        if size > 0.05:
            return chosen
        if best is None or size > best[0] * (1 + 1e-9):
            best = (size, chosen)
    return best[1] if best is not None and best[0] > 1e-6 else None
