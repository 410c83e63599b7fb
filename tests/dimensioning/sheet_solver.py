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
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

import numpy as np

from tests.dimensioning.sheet_looks import Looks
from tests.dimensioning.sheet_surfaces import A, Surface, across, dot, printed_value, surfaces_of

SIGHT = {
    "face": (0, 0, -1), "back": (0, 0, 1), "edge": (0, 1, 0), "back edge": (0, -1, 0), "end A": (1, 0, 0),
    "end B": (-1, 0, 0),
}  # fmt: skip
_STEP = 1e-5
_INDEPENDENT = 1e-3


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
    moves: dict[str, A]
    """Of each figure, by id, how the unknowns move as it grows by a millimetre, all else kept."""
    amplification: float
    """The most that a figure's growth moves any surface at its border."""

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
        self.looks = Looks(self.surfaces, self.zero)
        self.named = self.looks.named

    # --- points -------------------------------------------------------------------------------------------

    def holding(self, p: A, names: list[str]) -> list[tuple[Surface, A | None]]:
        """Up to three independent surfaces at a point; of a round one's centre line the two ways across it."""
        found: list[tuple[Surface, A | None]] = []
        normals: list[A] = []
        near = [s for n in names for s in self.named(n) if "#" not in s.name or self._passes(s, p)]
        for s in sorted(near, key=lambda s: s.kind != "plane"):
            holds: list[tuple[Surface, A | None]] = [(s, None)]
            if s.kind == "round" and s.is_axis_through(p):
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

    def _passes(self, s: Surface, p: A) -> bool:
        if s.kind == "round" and s.is_axis_through(p):
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
            found += [Equation(f, convention=i) for f in self.looks.said(c["kind"], c["surfaces"])]
        straight = [s for s in self._references() if s.kind == "plane" and np.abs(s.way).max() > 1 - 1e-12]
        found += [Equation(f) for f in self.looks.of_outlines(straight)]
        return found + [self._figure(d) for d in self.member["dimensions"] if not d["reference"]]

    def _references(self) -> list[Surface]:
        ids = self.member["references"]
        return [s for k in ("face", "edge", "end") if ids[k] for s in self.named(ids[k])]

    def _gauge(self) -> list[Any]:
        """Face side wholly, the face edge where it meets that, end A where lengths start; of a round piece its axis,
        and end A where that meets it. What is missing there is held by moving as little as may be."""
        ids = self.member["references"]
        face, edge, end = (
            (self.named(ids[k]) or [None])[0] if ids[k] else None for k in ("face", "edge", "end")
        )
        found: list[Any] = []
        if face is None and edge is None:
            return self._gauge_of_round(end)
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
            start = self._start_of_lengths(end, corner + way * t, face)
            found.append(lambda x: end.distance(x, np.repeat(start[None], len(x), 0))[0])
        return found

    def _start_of_lengths(self, end: Surface, corner: A, face: Surface) -> A:
        """The corner of references, or of the figured points of end A that are on the face side the lowest."""
        figured = [
            np.array(p)
            for d in self.member["dimensions"]
            for p, on in zip(d["points"], d["on"], strict=True)
            if end.name in on and abs(float(face.distance(self.zero, np.array(p)[None])[0][0])) < 1e-6
        ]
        return min(
            [*figured, corner], key=lambda p: (bool(figured) and p is corner, round(abs(p[1] - corner[1]), 6))
        )

    def _gauge_of_round(self, end: Surface | None) -> list[Any]:
        own = {f["id"] for f in self.member["features"] if f["kind"] in ("round", "turned")}
        made = {s["id"] for s in self.member["surfaces"] if s["feature"] in own}
        post = next((s for s in self.surfaces if s.name in made and s.side == "post"), None)
        if post is None:
            return []
        found: list[Any] = [lambda x, k=post.start + i: x[:, k] for i in range(4)]
        if end is not None:
            t = float(end.way @ (end.point - post.point)) / float(end.way @ post.way)
            middle = post.point + post.way * t
            found.append(lambda x: end.distance(x, np.repeat(middle[None], len(x), 0))[0])
        leaning = [s for s in self.surfaces if s.kind == "plane" and 0.5 < abs(s.way[0]) < 1 - 1e-12]
        if leaning:  # its long point stands where it is drawn, round the piece
            at = end if end in leaning else leaning[-1]
            aside = np.cross((1.0, 0.0, 0.0), at.way)
            found.append(lambda x: dot(at.at(x)[0], aside) * at.lever)
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
            return Equation(lambda x: sign * dot(b(x) - a(x), way) - size, d)
        if d["kind"] == "angular":
            return Equation(self._angle(d, p, size), d)
        there = [
            s for n in d["on"][-1] for s in self.named(n) if s.kind == "round" and self._passes(s, p[-1])
        ]
        # One about the centre the figure starts from; of a hole with its countersink the hole.
        centred = {s.name: d["kind"] == "diameter" or s.is_axis_through(p[0]) for s in there}
        round_ = max(there, key=lambda s: (centred[s.name], s.slope == 0))
        radius = size / 2 if d["kind"] == "diameter" else size
        at = p[-1]

        def grows(x: A) -> A:
            way, point, r, slope = round_.at(x)
            return r + slope * dot(way, at - point) - radius

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
            u, v = (w(x) - sight * dot(w(x), sight)[:, None] for w in arms)
            angle = np.arctan2(np.sqrt(dot(np.cross(u, v), np.cross(u, v))), dot(u, v))
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
                return lambda x, s=s: sign * (s.at(x)[0] - sight * dot(s.at(x)[0], sight)[:, None])
        return None

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
        inverse = np.linalg.pinv(everything)
        moves = {e.figure["id"]: inverse[:, i] for i, e in enumerate(equations) if e.figure is not None}
        return Solved(
            int((values > _INDEPENDENT / 10).sum()), self.unknowns, int(rows.sum()),
            int((_singular(held) > _INDEPENDENT / 10).sum()), x, self.surfaces,
            float(values[-1]) if len(values) == self.unknowns else 0.0,
            float(np.abs(_linearised(equations, x)[0]).max(initial=0.0)), needed, kept, moves,
            max((float(np.abs(m).max(initial=0.0)) for m in moves.values()), default=0.0),
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
    for way in (sight, np.cross(first, sight), *across(first)):
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
