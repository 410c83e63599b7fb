"""Which figures and conventions fix a member's surfaces: rank, as in Hillyard & Braid 1978 and Light & Gossard 1982.

The unknowns are the surfaces in the member's frame: three numbers a plane, five a cylinder, six a turned cone, each
scaled to the movement in millimetres it gives at the surface's own border. A conical hole has five: its slope is that
of the countersink or reamer, which its note names. One row is one equation.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from plangen.dimensioning.columns import steady_columns
from plangen.dimensioning.figures import SIGHT_OF, FigureKind, MemberView
from plangen.dimensioning.workpiece import AXES, ROUND, Spot, Workpiece
from plangen.geometry.patches import frame_about
from plangen.geometry.surfaces import Cone, Cylinder, Extruded, Form, Plane
from plangen.geometry.vectors import Point, Vec, cross, dot, length, scale, sub, unit

Row = np.ndarray
RAISES = 0.02
"""Least share of a row that must be new: less, and a rounding in it would be multiplied some fifty times."""
RAISES_LAST = 1e-4
"""The same for the figures taken when nothing better fixes a surface."""
_ZERO = 1e-9


class Freedom:
    """The unknowns of a workpiece, and the equations said of them so far."""

    def __init__(self, work: Workpiece) -> None:
        self.work = work
        self._start: list[int] = []
        self._centre: list[Point] = []
        self._lever: list[float] = []
        n = 0
        for i, form in enumerate(work.forms):
            self._start.append(n)
            n += unknowns_of(form)
            centre, lever = _middle(work, i)
            self._centre.append(centre)
            self._lever.append(lever)
        self.unknowns = n
        self._turned = tuple(
            None if isinstance(f, Extruded) else frame_about(f.normal if isinstance(f, Plane) else f.axis)
            for f in work.forms
        )
        self._basis = np.zeros((0, n))
        self._moves: dict[tuple[Spot, Vec, MemberView], Row] = {}
        self.said: list[Row] = []
        """The equations taken, as they were given."""

    # --- the system ---------------------------------------------------------------------------------------

    @property
    def rank(self) -> int:
        return len(self._basis)

    def take(self, row: Row, least: float = RAISES) -> bool:
        """Add an equation; False, and nothing is added, where it follows from those already there."""
        size = float(np.sqrt((row * row).sum()))
        if size < _ZERO:
            return False
        rest = row / size
        for _ in range(2):
            share = (self._basis * rest[None, :]).sum(1)
            rest = rest - (self._basis * share[:, None]).sum(0)
        left = float(np.sqrt((rest * rest).sum()))
        if left < least:
            return False
        self._basis = np.vstack([self._basis, rest / left])
        self.said.append(row)
        return True

    def follows(self, row: Row, least: float = RAISES) -> bool:
        """The equation follows from those already there."""
        basis, said = self._basis, list(self.said)
        new = self.take(row, least)
        self._basis, self.said = basis, said
        return not new

    def free_forms(self, least: float = 1e-3) -> list[int]:
        """Forms some of whose numbers are still open."""
        found = []
        for i, start in enumerate(self._start):
            for k in range(self._count(i)):
                e = np.zeros(self.unknowns)
                e[start + k] = 1.0
                if not self.follows(e, least):
                    found.append(i)
                    break
        return found

    def copy(self) -> Freedom:
        """The same system, to be taken further on its own."""
        other = object.__new__(Freedom)
        other.__dict__.update(self.__dict__)
        other.said = list(self.said)
        return other

    def drift(self, figures: Sequence[tuple[Row, float]]) -> float:
        """The farthest, in millimetres, that a corner can move along an axis when each figure is off by as much
        as stands beside its row: the sum over the figures of how far each moves it. ``figures`` are the
        equations taken last."""
        if not figures or not self.work.corners:
            return 0.0
        said = self.said[: len(self.said) - len(figures)]
        equations = np.vstack([*said, *(row for row, _ in figures)])
        square = len(equations) == self.unknowns
        inverse = np.linalg.inv(equations) if square else np.linalg.pinv(equations, rcond=1e-9)
        changes = inverse[:, -len(figures) :] * np.array([off for _, off in figures])[None, :]
        moves = np.vstack([self.spot_moves(s, axis, "face") for s in self.work.corners for axis in AXES])
        return float(np.abs((moves[:, :, None] * changes[None]).sum(1)).sum(1).max())

    def _count(self, form: int) -> int:
        return unknowns_of(self.work.forms[form])

    # --- how surfaces move --------------------------------------------------------------------------------

    def _row(self) -> Row:
        return np.zeros(self.unknowns)

    def _turns(self, form: int) -> tuple[Vec, Vec]:
        turned = self._turned[form]
        assert turned is not None
        return turned

    def plane_moves(self, form: int, p: Point) -> Row:
        """How far a plane moves outward at ``p``."""
        row, k = self._row(), self._start[form]
        u, v = self._turns(form)
        d, lever = sub(p, self._centre[form]), self._lever[form]
        row[k : k + 3] = (1.0, dot(u, d) / lever, dot(v, d) / lever)
        return row

    def direction_turns(self, form: int, toward: Vec) -> Row:
        """How a plane's normal, or a cylinder's axis, turns toward a direction (radians)."""
        row, k = self._row(), self._start[form]
        u, v = self._turns(form)
        lever = self._lever[form]
        if isinstance(self.work.forms[form], Plane):
            # A plane that moves out by more toward u leans its normal away from u.
            row[k + 1], row[k + 2] = -dot(u, toward) / lever, -dot(v, toward) / lever
        else:
            row[k + 1], row[k + 3] = dot(u, toward) / lever, dot(v, toward) / lever
        return row

    def axis_moves(self, form: int, p: Point, toward: Vec) -> Row:
        """How far a cylinder's axis moves along ``toward`` beside ``p``."""
        row, k = self._row(), self._start[form]
        u, v = self._turns(form)
        cylinder = self.work.forms[form]
        assert isinstance(cylinder, Cylinder | Cone)
        s = dot(cylinder.axis, sub(p, self._centre[form])) / self._lever[form]
        row[k : k + 4] = (dot(u, toward), s * dot(u, toward), dot(v, toward), s * dot(v, toward))
        return row

    def radius_grows(self, form: int, p: Point | None = None) -> Row:
        """How the radius grows; of a cone abreast of ``p``, or at its middle."""
        row, k, round_ = self._row(), self._start[form], self.work.forms[form]
        row[k + 4] = 1.0
        if p is not None and isinstance(round_, Cone) and self._count(form) == 6:
            row[k + 5] = dot(sub(p, self._centre[form]), round_.axis) / self._lever[form]
        return row

    # --- figures ------------------------------------------------------------------------------------------

    def spot_moves(self, spot: Spot, direction: Vec, view: MemberView) -> Row:
        """How far a point moves along ``direction`` when the surfaces that hold it move.

        A point on fewer than three surfaces keeps its station: it may move along ``direction``, then along
        the line of sight, then square to both, as far as its surfaces ask. Not to be written into.
        """
        key = (spot, direction, view)
        if key not in self._moves:
            self._moves[key] = self._spot_moves(spot, direction, view)
        return self._moves[key]

    def _spot_moves(self, spot: Spot, direction: Vec, view: MemberView) -> Row:
        normals, rows = self._holds(spot)
        if not normals:
            return self._row()
        sight = SIGHT_OF[view]
        ways = [direction]
        for way in (sight, cross(direction, sight), *frame_about(direction)):
            rest = way
            for w in ways:
                rest = sub(rest, scale(w, dot(rest, w)))
            if length(rest) > 1e-6 and len(ways) < 3:
                ways.append(unit(rest))
        matrix = [[dot(n, w) for w in ways] for n in normals]
        chosen = steady_columns(matrix)
        if chosen is None or 0 not in chosen:
            return self._row()
        # Only the share of the movement along ``direction`` is asked for: one row of the inverse.
        square = np.array([[row[c] for row in matrix] for c in chosen])
        wanted = np.array([1.0 if c == 0 else 0.0 for c in chosen])
        weights = np.linalg.solve(square, wanted).tolist()
        total = self._row()
        for w, r in zip(weights, rows, strict=True):
            total = total + w * r
        return total

    def _holds(self, spot: Spot) -> tuple[list[Vec], list[Row]]:
        """Up to three independent surfaces at a point: their normals, and how far each moves there."""
        normals: list[Vec] = []
        rows: list[Row] = []
        square: list[Vec] = []

        def hold(normal: Vec, row: Row) -> None:
            rest = normal
            for s in square:
                rest = sub(rest, scale(s, dot(rest, s)))
            if len(square) < 3 and length(rest) > 1e-3:
                square.append(unit(rest))
                normals.append(normal)
                rows.append(row)

        outer = self.work.outer

        def firmness(f: int) -> tuple[bool, bool, int]:
            return (isinstance(self.work.forms[f], Cylinder | Cone), f not in outer, f)

        for i in sorted(spot.forms, key=firmness):
            form = self.work.forms[i]
            if isinstance(form, Plane):
                hold(form.normal, self.plane_moves(i, spot.point))
            elif isinstance(form, Cylinder | Cone):
                d = sub(spot.point, form.point)
                radial = sub(d, scale(form.axis, dot(d, form.axis)))
                if length(radial) < 1e-5:
                    for e in self._turns(i):
                        hold(e, self.axis_moves(i, spot.point, e))
                else:
                    out = unit(radial)
                    moves = self.axis_moves(i, spot.point, out) + self.radius_grows(i, spot.point)
                    slope = form.slope if isinstance(form, Cone) else 0.0
                    lean = 1.0 / math.sqrt(1.0 + slope * slope)
                    hold(scale(sub(out, scale(form.axis, slope)), lean), moves * lean)
        return normals, rows

    def figure_row(
        self, kind: FigureKind, spots: Sequence[Spot], direction: Vec | None, view: MemberView
    ) -> Row:
        """The equation of a figure."""
        if kind in ("linear", "depth"):
            assert direction is not None
            a, b = spots
            return self.spot_moves(b, direction, view) - self.spot_moves(a, direction, view)
        if kind == "angular":
            return self._angle_row(spots, view)
        of = Cone if kind == "diameter" and self._is_on_cone(spots) else Cylinder
        rounds = [(f, s.point) for s in spots for f in s.forms if isinstance(self.work.forms[f], of)]
        return self.radius_grows(*rounds[-1]) if rounds else self._row()

    def _is_on_cone(self, spots: Sequence[Spot]) -> bool:
        """Both points stand on one cone, and on no cylinder."""
        shared = set(spots[0].forms) & set(spots[-1].forms)
        kinds = [type(self.work.forms[f]) for f in shared]
        return Cone in kinds and Cylinder not in kinds

    def _angle_row(self, spots: Sequence[Spot], view: MemberView) -> Row:
        apex, first, second = spots
        sight = SIGHT_OF[view]
        total = self._row()
        reach = 0.0
        for arm, sign in ((first, 1.0), (second, -1.0)):
            d = sub(arm.point, apex.point)
            d = sub(d, scale(sight, dot(d, sight)))
            size = length(d)
            if size < 1e-6:
                return self._row()
            aside = unit(cross(sight, d))
            swing = self._lean_turns(arm, d, aside, sight)
            if swing is None:
                swing = self.spot_moves(arm, aside, view) - self.spot_moves(apex, aside, view)
            total = total + swing * (sign / size)
            reach = size if sign > 0 else reach
        return total * reach

    def _lean_turns(self, arm: Spot, d: Vec, aside: Vec, sight: Vec) -> Row | None:
        """How far the long or short point of a round's end goes round the axis, which one looks along; None for any
        other point."""
        forms = [(f, self.work.forms[f]) for f in arm.forms]
        rounds = [s for _, s in forms if isinstance(s, Cylinder | Cone) and s.side == "post"]
        if not any(abs(dot(r.axis, sight)) > 1 - 1e-12 for r in rounds):
            return None
        for f, plane in forms:
            if isinstance(plane, Plane):
                lean = sub(plane.normal, scale(sight, dot(plane.normal, sight)))
                size = length(lean)
                if size > 1e-9 and length(cross(lean, d)) < 1e-6 * size * length(d):
                    way = 1.0 if dot(lean, d) > 0 else -1.0
                    return self.direction_turns(f, aside) * (way * length(d) / size)
        return None

    # --- references and conventions -----------------------------------------------------------------------

    def hold_plane(self, form: int) -> None:
        """The plane is where positions are measured from."""
        for k in range(3):
            row = self._row()
            row[self._start[form] + k] = 1.0
            self.take(row, 1e-9)

    def hold_round(self, end: int | None) -> None:
        """The axis of a round member, the middle of its end A, and the way that end leans, are where all else is
        measured from; what else is about that axis, the conventions say."""
        for i, form in enumerate(self.work.forms):
            feature = self.work.feature_of(i)
            if not isinstance(form, Cylinder | Cone) or feature is None or feature.kind not in ROUND:
                continue
            for k in range(4):
                row = self._row()
                row[self._start[i] + k] = 1.0
                self.take(row, 1e-9)
            if end is not None:
                normal = self._normal(end)
                on = _offset_along(normal, self.work.forms[end], normal, form.point) / dot(normal, form.axis)
                self.take(self.plane_moves(end, _moved(form.point, form.axis, on)), 1e-9)
                self.take(self.direction_turns(end, cross(form.axis, normal)), 1e-9)
            return

    def convention_rows(self, kind: str, forms: Sequence[int]) -> list[Row]:
        """The equations that a convention says of two forms, or of a form and its mirror image."""
        if kind == "symmetric":
            return self._symmetric(forms)
        if kind == "same as":
            return self._same_as(forms)
        if kind == "in line" and len(forms) == 3:
            return self._rim_at_end(*forms)
        found: list[Row] = []
        for other in forms[1:]:
            found += self._pair(kind, forms[0], other)
        return found

    def _pair(self, kind: str, a: int, b: int) -> list[Row]:
        fa, fb = self.work.forms[a], self.work.forms[b]
        if isinstance(fa, Cylinder | Cone) and isinstance(fb, Plane):
            a, b, fa, fb = b, a, fb, fa
        da = fa.normal if isinstance(fa, Plane) else fa.axis
        db = fb.normal if isinstance(fb, Plane) else fb.axis
        scale_by = min(self._lever[a], self._lever[b])
        like = isinstance(fa, Plane) == isinstance(fb, Plane)
        lies_along = kind in ("parallel", "in line", "concentric") if like else kind == "square"
        rows: list[Row] = []
        if kind == "tangent":
            return self._tangent(a, b)
        if kind == "in line" and not like:
            return self._axis_in_plane(a, b)
        if kind == "in line" and not isinstance(fa, Plane):
            return self._axes_meet(a, b)
        if kind == "in line" and length(cross(da, db)) > 1e-6:
            return self._lean_one_way(a, b)
        if lies_along:
            sign = 1.0 if dot(da, db) > 0 else -1.0
            for e in frame_about(da):
                rows.append((self.direction_turns(a, e) - sign * self.direction_turns(b, e)) * scale_by)
        else:
            rows.append((self.direction_turns(a, db) + self.direction_turns(b, da)) * scale_by)
        if kind == "in line":
            rows.append(self.plane_moves(a, self._centre[a]) - sign * self.plane_moves(b, self._centre[a]))
        if kind == "concentric":
            for e in frame_about(da):
                rows.append(self.axis_moves(a, self._centre[a], e) - self.axis_moves(b, self._centre[a], e))
        return rows

    def _axis_in_plane(self, plane: int, round_: int) -> list[Row]:
        """An axis lies in a plane; one that leans to it meets the plane where it is drawn to."""
        p, c = self.work.forms[plane], self.work.forms[round_]
        assert isinstance(p, Plane)
        assert isinstance(c, Cylinder)
        slope = dot(p.normal, c.axis)
        if abs(slope) > 1e-9:
            at = _moved(c.point, c.axis, -p.distance(c.point) / slope)
            return [self.axis_moves(round_, at, p.normal) - self.plane_moves(plane, at)]
        ends = [_moved(self._centre[round_], c.axis, s * self._lever[round_]) for s in (-0.5, 0.5)]
        return [self.axis_moves(round_, e, p.normal) - self.plane_moves(plane, e) for e in ends]

    def _axes_meet(self, a: int, b: int) -> list[Row]:
        """Two axes that are not parallel cross where they are drawn to."""
        fa, fb = self.work.forms[a], self.work.forms[b]
        assert isinstance(fa, Cylinder | Cone)
        assert isinstance(fb, Cylinder | Cone)
        across = unit(cross(fa.axis, fb.axis))
        square = cross(fb.axis, across)
        at = _moved(fa.point, fa.axis, dot(sub(fb.point, fa.point), square) / dot(fa.axis, square))
        return [self.axis_moves(a, at, across) - self.axis_moves(b, at, across)]

    def _lean_one_way(self, a: int, b: int) -> list[Row]:
        """Two ends of a round piece that lean in one plane through its axis."""
        leans = [(0.0, n[1], n[2]) for n in (self._normal(a), self._normal(b))]
        aside = unit(cross(AXES[0], leans[0]))
        sign = 1.0 if dot(leans[0], leans[1]) > 0 else -1.0
        first, second = (
            self.direction_turns(f, aside) / length(v) for f, v in zip((a, b), leans, strict=True)
        )
        return [(first - sign * second) * min(self._lever[a], self._lever[b])]

    def _rim_at_end(self, a: int, b: int, end: int) -> list[Row]:
        """Two rounds about one axis meet where that axis comes to an end."""
        fa, fb, plane = (self.work.forms[f] for f in (a, b, end))
        assert isinstance(fa, Cylinder | Cone)
        assert isinstance(fb, Cylinder | Cone)
        assert isinstance(plane, Plane)
        facing = dot(plane.normal, fa.axis)
        at = _moved(fa.point, fa.axis, -plane.distance(fa.point) / facing)
        slopes = [
            0.0 if isinstance(f, Cylinder) else f.slope * (1.0 if dot(f.axis, fa.axis) > 0 else -1.0)
            for f in (fa, fb)
        ]
        apart = self.radius_grows(b, at) - self.radius_grows(a, at)
        return [apart - (slopes[0] - slopes[1]) / facing * self.plane_moves(end, at)]

    def _tangent(self, a: int, b: int) -> list[Row]:
        fa, fb = self.work.forms[a], self.work.forms[b]
        if isinstance(fa, Plane) and isinstance(fb, Cylinder):
            side = 1.0 if dot(fa.normal, fb.point) - fa.offset < 0 else -1.0
            n = fa.normal
            middle = self._centre[b]
            row = self.axis_moves(b, middle, n) - self.plane_moves(a, middle) + side * self.radius_grows(b)
            return [row]
        if isinstance(fa, Cylinder) and isinstance(fb, Cylinder):
            between = sub(fb.point, fa.point)
            between = sub(between, scale(fa.axis, dot(between, fa.axis)))
            apart = length(between)
            out = unit(between)
            p = self._centre[a]
            row = self.axis_moves(b, p, out) - self.axis_moves(a, p, out)
            if abs(apart - fa.radius - fb.radius) < 1e-6:
                return [row - self.radius_grows(a) - self.radius_grows(b)]
            sign = 1.0 if fa.radius > fb.radius else -1.0
            return [row - sign * (self.radius_grows(a) - self.radius_grows(b))]
        return []

    def _symmetric(self, forms: Sequence[int]) -> list[Row]:
        """a and b are mirror images about the middle of planes c and d; with three forms, a about that middle."""
        a, b = forms[0], forms[1] if len(forms) == 4 else forms[0]
        c, d = forms[-2:]
        pc, pd = self.work.forms[c], self.work.forms[d]
        assert isinstance(pc, Plane)
        assert isinstance(pd, Plane)
        m = pd.normal
        h = (pd.offset - pc.offset) / 2
        fa = self.work.forms[a]

        def mirrored(p: Point) -> Point:
            return sub(p, scale(m, 2 * (dot(m, p) - h)))

        def middle_moves(p: Point) -> Row:
            return (self.plane_moves(d, p) - self.plane_moves(c, p)) / 2

        centre = self._centre[a]
        if isinstance(fa, Plane):
            u, v = self._turns(a)
            lever = self._lever[a]
            stations = [centre, _moved(centre, u, lever), _moved(centre, v, lever)]
            rows = []
            for p in stations:
                q = mirrored(p)
                normal = self._normal(b)
                rows.append(
                    self.plane_moves(b, q) - self.plane_moves(a, p) - 2 * dot(normal, m) * middle_moves(p)
                )
            return rows
        assert isinstance(fa, Cylinder | Cone)
        rows = []
        stations = [_moved(centre, fa.axis, -self._lever[a] / 2), _moved(centre, fa.axis, self._lever[a] / 2)]
        for p in stations:
            q = mirrored(p)
            for e in frame_about(fa.axis):
                f = sub(e, scale(m, 2 * dot(m, e)))
                rows.append(
                    self.axis_moves(b, q, f) - self.axis_moves(a, p, e) - 2 * dot(f, m) * middle_moves(p)
                )
        if a != b:
            rows += [self.radius_grows(b, mirrored(p)) - self.radius_grows(a, p) for p in stations]
        return rows

    def _normal(self, form: int) -> Vec:
        f = self.work.forms[form]
        assert isinstance(f, Plane)
        return f.normal

    def _same_as(self, forms: Sequence[int]) -> list[Row]:
        first = self.work.forms[forms[0]]
        if isinstance(first, Cylinder | Cone):
            return [self.radius_grows(f) - self.radius_grows(forms[0]) for f in forms[1:]]
        a, b, c, d = forms
        gap = self._gap(c, d) - self._gap(a, b)
        return [gap]

    def _gap(self, a: int, b: int) -> Row:
        """How the distance grows from a plane, square to it, to a parallel plane (at the middle of the first)
        or to a cylinder's axis (at the middle of that)."""
        n = self._normal(a)
        round_ = self.work.forms[b]
        if isinstance(round_, Cylinder):
            p = self._centre[b]
            away = 1.0 if _offset_along(n, self.work.forms[a], n, p) < 0 else -1.0
            return away * (self.axis_moves(b, p, n) - self.plane_moves(a, p))
        sign = 1.0 if dot(n, self._normal(b)) > 0 else -1.0
        p = self._centre[a]
        away = 1.0 if _offset_along(self._normal(b), self.work.forms[b], n, p) > 0 else -1.0
        return away * (sign * self.plane_moves(b, p) - self.plane_moves(a, p))


def unknowns_of(form: Form) -> int:
    """How many numbers say where a surface is; none of a free curve's, which a template says."""
    if isinstance(form, Cone):
        return 5 if form.side == "hole" else 6
    return 3 if isinstance(form, Plane) else 5 if isinstance(form, Cylinder) else 0


def _offset_along(normal: Vec, form: object, n: Vec, p: Point) -> float:
    assert isinstance(form, Plane)
    foot = scale(normal, form.offset)
    return dot(n, sub(foot, p))


def _moved(p: Point, way: Vec, by: float) -> Point:
    return (p[0] + way[0] * by, p[1] + way[1] * by, p[2] + way[2] * by)


def _middle(work: Workpiece, form: int) -> tuple[Point, float]:
    """Middle of a form's skin, and the distance of its border from there (at least 1 mm)."""
    rows = np.unique(work.solid.triangles[np.asarray(work.solid.triangle_form) == form])
    x = np.asarray(work.solid.vertices, dtype=float)[rows]
    low, high = x.min(0).tolist(), x.max(0).tolist()
    centre = tuple((a + b) / 2 for a, b in zip(low, high, strict=True))
    middle: Point = (centre[0], centre[1], centre[2])
    surface = work.forms[form]
    if isinstance(surface, Plane):
        middle = sub(middle, scale(surface.normal, surface.distance(middle)))
    elif isinstance(surface, Cylinder | Cone):
        d = sub(middle, surface.point)
        middle = _moved(surface.point, surface.axis, dot(d, surface.axis))
    lever = max(math.dist(middle, row) for row in x.tolist())
    return middle, max(lever, 1.0)
