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
        self.centre: list[Point] = []
        """Middle of each form's skin, on the form or its axis."""
        self.lever: list[float] = []
        """Millimetres from there to the farthest of its border, at least 1."""
        n = 0
        for i, form in enumerate(work.forms):
            self._start.append(n)
            n += unknowns_of(form)
            centre, lever = _middle(work, i)
            self.centre.append(centre)
            self.lever.append(lever)
        self.unknowns = n
        self._turned = tuple(
            None if isinstance(f, Extruded) else frame_about(f.normal if isinstance(f, Plane) else f.axis)
            for f in work.forms
        )
        self._basis = np.zeros((0, n))
        self._gauge = (self._basis, 0)
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

    def gauged(self) -> None:
        """What has been said so far is what the member is measured from."""
        self._gauge = (self._basis, len(self.said))

    def gauge_alone(self) -> Freedom:
        """The system with nothing said but where the references are."""
        other = self.copy()
        other._basis = self._gauge[0]
        other.said = self.said[: self._gauge[1]]
        return other

    def _count(self, form: int) -> int:
        return unknowns_of(self.work.forms[form])

    # --- how surfaces move --------------------------------------------------------------------------------

    def _row(self) -> Row:
        return np.zeros(self.unknowns)

    def turns(self, form: int) -> tuple[Vec, Vec]:
        turned = self._turned[form]
        assert turned is not None
        return turned

    def plane_moves(self, form: int, p: Point) -> Row:
        """How far a plane moves outward at ``p``."""
        row, k = self._row(), self._start[form]
        u, v = self.turns(form)
        d, lever = sub(p, self.centre[form]), self.lever[form]
        row[k : k + 3] = (1.0, dot(u, d) / lever, dot(v, d) / lever)
        return row

    def direction_turns(self, form: int, toward: Vec) -> Row:
        """How a plane's normal, or a cylinder's axis, turns toward a direction (radians)."""
        row, k = self._row(), self._start[form]
        u, v = self.turns(form)
        lever = self.lever[form]
        if isinstance(self.work.forms[form], Plane):
            # A plane that moves out by more toward u leans its normal away from u.
            row[k + 1], row[k + 2] = -dot(u, toward) / lever, -dot(v, toward) / lever
        else:
            row[k + 1], row[k + 3] = dot(u, toward) / lever, dot(v, toward) / lever
        return row

    def axis_moves(self, form: int, p: Point, toward: Vec) -> Row:
        """How far a cylinder's axis moves along ``toward`` beside ``p``."""
        row, k = self._row(), self._start[form]
        u, v = self.turns(form)
        cylinder = self.work.forms[form]
        assert isinstance(cylinder, Cylinder | Cone)
        s = dot(cylinder.axis, sub(p, self.centre[form])) / self.lever[form]
        row[k : k + 4] = (dot(u, toward), s * dot(u, toward), dot(v, toward), s * dot(v, toward))
        return row

    def radius_grows(self, form: int, p: Point | None = None) -> Row:
        """How the radius grows; of a cone abreast of ``p``, or at its middle."""
        row, k, round_ = self._row(), self._start[form], self.work.forms[form]
        row[k + 4] = 1.0
        if p is not None and isinstance(round_, Cone) and self._count(form) == 6:
            row[k + 5] = dot(sub(p, self.centre[form]), round_.axis) / self.lever[form]
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
        normals, rows = self.holds(spot)
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

    def holds(self, spot: Spot) -> tuple[list[Vec], list[Row]]:
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
                    for e in self.turns(i):
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
        """The equation of a figure: how it grows."""
        if kind in ("linear", "depth"):
            assert direction is not None
            a, b = spots
            if dot(sub(b.point, a.point), direction) < 0:
                a, b = b, a
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
        arms = [sub(arm.point, apex.point) for arm in (first, second)]
        opens = dot(cross(arms[1], arms[0]), sight)
        return total * (length(arms[0]) if opens > 0 else -length(arms[0]))

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

    # --- references -----------------------------------------------------------------------------------

    def hold_plane(self, form: int) -> None:
        """The plane is where positions are measured from."""
        for k in range(3):
            row = self._row()
            row[self._start[form] + k] = 1.0
            self.take(row, 1e-9)

    def hold_round(self, end: int | None) -> None:
        """The axis of a round member and the middle of its end A are where all else is measured from; what else is
        about that axis, the conventions say."""
        for i, form in enumerate(self.work.forms):
            feature = self.work.feature_of(i)
            if not isinstance(form, Cylinder | Cone) or feature is None or feature.kind not in ROUND:
                continue
            for k in range(4):
                row = self._row()
                row[self._start[i] + k] = 1.0
                self.take(row, 1e-9)
            if end is not None:
                normal = self.normal(end)
                on = offset_along(normal, self.work.forms[end], normal, form.point) / dot(normal, form.axis)
                self.take(self.plane_moves(end, moved(form.point, form.axis, on)), 1e-9)
            return

    def hold_turn(self, form: int) -> None:
        """A round member does not turn about its length: what looks across it there is held."""
        surface = self.work.forms[form]
        assert not isinstance(surface, Extruded)
        way = surface.normal if isinstance(surface, Plane) else surface.axis
        self.take(self.direction_turns(form, unit(cross(AXES[0], way))), 1e-9)

    def normal(self, form: int) -> Vec:
        """Of a plane, out of the wood."""
        f = self.work.forms[form]
        assert isinstance(f, Plane)
        return f.normal


def unknowns_of(form: Form) -> int:
    """How many numbers say where a surface is; none of a free curve's, which a template says."""
    if isinstance(form, Cone):
        return 5 if form.side == "hole" else 6
    return 3 if isinstance(form, Plane) else 5 if isinstance(form, Cylinder) else 0


def offset_along(normal: Vec, form: object, n: Vec, p: Point) -> float:
    """How far along ``n`` from ``p`` the foot of a plane of that normal lies."""
    assert isinstance(form, Plane)
    foot = scale(normal, form.offset)
    return dot(n, sub(foot, p))


def moved(p: Point, way: Vec, by: float) -> Point:
    """A point ``by`` mm along a direction."""
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
        middle = moved(surface.point, surface.axis, dot(d, surface.axis))
    lever = max(math.dist(middle, row) for row in x.tolist())
    return middle, max(lever, 1.0)
