"""Jigs from what the work asks: their angle, length and height, and what they are made of."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from plangen.joinery.model import Model
from plangen.machining import jig_members as made
from plangen.machining.jig_needs import Need, radius_at, turned_in_plan, where_thick
from plangen.machining.settings import SNAP_ANGLE, SNAP_ERROR, Cut, Pose, moved
from plangen.machining.setup import JigKind, Tilt
from plangen.tables.stock import Stock
from plangen.units import STYLES, LengthUnit, length_text

_LONGEST = 400.0
"""Millimetres: longer work does not need a wedge under all of it."""
_HIGHEST = 230.0
"""Millimetres: no common board is wider."""
_ROUND_UP: dict[LengthUnit, float] = {"in": 6.35, "mm": 5.0}
"""To which the lengths of jigs are rounded up."""
_MARK: dict[LengthUnit, float] = {"in": 25.4 / 16, "mm": 1.0}
"""Marks of a rule: a wedge whose rise falls on one can be drawn without an error."""
_TRIED = 8
"""Lengths among which the one is taken whose rise falls nearest to a mark."""
_THINNER = 1e-6
_SAME = 1e-9
_PAIR = "Two are laid side by side, their thin ends in line, so that the tool passes between them."
_LINE = "Draw the line of the fence on its slope at the set-up's angle, and lay the work to it."


_OVER = "It is turned over where the fence stands on the other side of the blade."


@dataclass(frozen=True)
class Made:
    """A jig for some set-ups."""

    kind: JigKind
    angle: float
    rise: float
    length: float
    profile: made.Profile
    stock: Stock
    count: int
    notes: tuple[str, ...]
    needs: tuple[Need, ...]
    snap_error: float = 0.0
    beside: bool = False
    """It is used together with the one before it."""
    fence: Callable[[Need], float] | None = None
    """Distance from fence to blade that a set-up has with it."""

    def width(self) -> float:
        """Of a carrier or form across; of what stands on edge, its board's thickness."""
        flat = self.kind in ("taper carrier", "bending form")
        return self.profile.width if flat else self.stock.thickness or 0.0


def designed(model: Model, needs: Sequence[Need], units: LengthUnit) -> list[Made]:
    """The jigs, in the order of first use. Raises ValueError for a bend of what is no bent bar."""
    found: list[Made] = []
    for kind, design in (
        ("wedge", _wedges), ("angle block", _wedges), ("fence strip", _wedges), ("taper carrier", _carriers),
        ("cradle", _cradles), ("bending form", _forms),
    ):  # fmt: skip
        found += design(model, [n for n in needs if n.kind == kind], units)
    return sorted(found, key=lambda m: min(n.at for n in m.needs))


# --- near angles are one -------------------------------------------------------------------------------------


def _alike(
    needs: Sequence[Need], angle: Callable[[Need], float], pose: Callable[[Need, float], Pose]
) -> list[tuple[float, list[Need], float]]:
    """Angles, the needs that each serves, and the most that any point of the work is off for it."""
    groups: list[tuple[float, list[Need], float]] = []
    for need in needs:
        own = angle(need)
        for n, (shared, served, error) in enumerate(groups):
            off = _error(need, own, shared, pose)
            if off <= SNAP_ERROR:
                groups[n] = (shared, [*served, need], max(error, off))
                break
        else:
            groups.append((own, [need], 0.0))
    return groups


def _error(need: Need, own: float, shared: float, pose: Callable[[Need, float], Pose]) -> float:
    if abs(own - shared) < _SAME:
        return 0.0
    if abs(own - shared) > SNAP_ANGLE:
        return math.inf
    after = need.work.after(need.feature)
    return moved(Cut(need.setup, need.work, after, not need.other_hand), pose(need, shared))


# --- wedges --------------------------------------------------------------------------------------------------


def _wedges(model: Model, needs: Sequence[Need], units: LengthUnit) -> Iterator[Made]:
    for angle, served, error in _alike(needs, _tilt_angle, _tilted_pose):
        slopes = [_under(n, angle) for n in served]
        nose = max(s.nose for s in slopes)
        length = _on_a_mark(max(s.length for s in slopes), angle, units)
        most = (_HIGHEST - nose) / math.tan(angle)
        if length > most:
            length = max(_ROUND_UP[units], math.floor(most / _ROUND_UP[units]) * _ROUND_UP[units])
        profile = made.wedge(angle, length, nose)
        stock = made.board_for(model, profile.width, units)
        count = 2 if max(s.across for s in slopes) > 2.0 * (stock.thickness or 0.0) else 1
        skew = any(not _square(n.setup.tilt) for n in served)
        notes = (*((_PAIR,) if count == 2 else ()), *((_LINE,) if skew else ()))
        yield Made(
            served[0].kind, angle, length * math.tan(angle), length, profile, stock, count, notes,
            tuple(served), error,
        )  # fmt: skip


def _tilt_angle(need: Need) -> float:
    return 0.0 if need.setup.tilt is None else need.setup.tilt.angle


def _tilted_pose(need: Need, angle: float) -> Pose:
    s = need.setup
    return (s.miter, s.bevel, None if s.tilt is None else replace(s.tilt, angle=angle))


def _square(tilt: Tilt | None) -> bool:
    """The slope runs along the fence or straight to it."""
    return tilt is None or abs(math.sin(2.0 * tilt.azimuth)) < 1e-9


@dataclass(frozen=True)
class _Slope:
    length: float
    nose: float
    across: float


def _under(need: Need, angle: float) -> _Slope:
    """How long a wedge, how thick at its thin end, and over what width the work lies.

    The work turns about the axis at the tilt's azimuth, so it rises a quarter turn from that, counter-clockwise. The
    lowest corner of the seat stays as far over the table as the thin end of a wedge under all of it.
    """
    azimuth = 0.0 if need.setup.tilt is None else need.setup.tilt.azimuth
    c, s = math.cos(azimuth), math.sin(azimuth)
    rises = [p[1] * c - p[0] * s for p in need.seat()]
    along = [p[0] * c + p[1] * s for p in need.seat()]
    low, high = min(rises), max(rises)
    length, start = high - low, low
    if length > _LONGEST:
        here = need.anchor()
        length = _LONGEST
        start = min(max(here[1] * c - here[0] * s - length / 2.0, low), high - length)
    return _Slope(length, made.NOSE + (start - low) * math.tan(angle), max(along) - min(along))


def _rounded(length: float, units: LengthUnit) -> float:
    step = _ROUND_UP[units]
    return math.ceil(length / step - 1e-6) * step


def _on_a_mark(least: float, angle: float, units: LengthUnit) -> float:
    """A length, not much over ``least``, whose rise falls nearest to a mark of the rule."""
    start, mark = _rounded(least, units), _MARK[units]
    lengths = [start + n * _ROUND_UP[units] for n in range(_TRIED)]

    def error(length: float) -> float:
        rise = length * math.tan(angle)
        return round(abs(rise - round(rise / mark) * mark) / length, 9)

    return min(lengths, key=lambda length: (error(length), length))


# --- taper carriers ------------------------------------------------------------------------------------------


def _carriers(model: Model, needs: Sequence[Need], units: LengthUnit) -> Iterator[Made]:
    for angle, served, error in _alike(needs, carrier_angle, _turned_pose):
        spans = [[p[0] for p in n.everywhere()] for n in served]
        length = _rounded(max(max(s) - min(s) for s in spans), units)
        yield Made(
            "taper carrier", abs(angle), length * math.tan(abs(angle)), length, made.carrier(angle, length),
            made.sheet_for(model, units), 1, (_OVER,) if _both(served) else (),
            tuple(served), error, fence=_blade_from_fence(angle, length),
        )  # fmt: skip


def _both(needs: Sequence[Need]) -> bool:
    return len({n.setup.waste for n in needs}) > 1


def carrier_angle(need: Need) -> float:
    """By which the carrier's slope comes nearer to the fence away from its heel.

    The work is fed with the fence at the operator's right where the waste is left of the blade: its trailing end, at
    the heel, is then at the right.
    """
    turned = turned_in_plan(need.setup)
    return -turned if need.setup.waste == "left" else turned


def _turned_pose(need: Need, angle: float) -> Pose:
    s = need.setup
    turned = -angle if s.waste == "left" else angle
    return (math.copysign(math.pi / 2, s.miter) - turned, s.bevel, s.tilt)


def _blade_from_fence(angle: float, length: float) -> Callable[[Need], float]:
    """Where the blade's line on the table runs, from the fence, with the work on the carrier against its heel."""
    corner = made.carrier_corner(angle, length)

    def distance(need: Need) -> float:
        s, points = need.setup, need.everywhere()
        assert s.stop is not None
        x, y, z = need.anchor()
        # down the blade to the table: it leans about its own trace, whose normal in plan is (cos m, sin m)
        down = (min(p[2] for p in points) - z) * math.tan(s.bevel)
        x, y = x + down * math.cos(s.miter), y + down * math.sin(s.miter)
        ends = [p[0] for p in points]
        along = max(ends) - x if s.waste == "left" else x - min(ends)
        out = max(p[1] for p in points) - y
        return corner[1] - along * math.sin(angle) + out * math.cos(angle)

    return distance


# --- cradles and forms ---------------------------------------------------------------------------------------


def _cradles(model: Model, needs: Sequence[Need], units: LengthUnit) -> Iterator[Made]:
    """Two under the work near its ends, of two heights where it tapers; other work lies in them where it is as thick.

    A V touches a tapering leg along its edge on the thicker side: the radius is the leg's there.
    """
    groups: dict[tuple[float, float], list[Need]] = {}
    for need in needs:
        thick, thin = next((g for g in groups if _lies_in(need, *g)), _thicknesses(need))
        groups.setdefault((thick, thin), []).append(need)
    style = STYLES[units]
    for (thick, thin), served in groups.items():
        height = made.cradle_height(thick)
        pair = thick - thin > _THINNER
        for radius in (thick, thin)[: 2 if pair else 1]:
            profile = made.cradle(radius, height)
            stock = made.board_for(model, profile.width, units)
            notes = (f"Stands under the work where that is {length_text(2.0 * radius, style)} thick.",)
            yield Made(
                "cradle", 0.0, 0.0, profile.length, profile, stock, 1 if pair else 2, notes, tuple(served),
                beside=radius < thick,
            )  # fmt: skip


def _thicknesses(need: Need) -> tuple[float, float]:
    """Greater and lesser radius of the work a fifth of its round part's length from each end of that."""
    runs, long = need.round_runs(), need.work.member.finished[0]
    half = need.work.member.finished[2] / 2.0
    start = max(0.0, min((low for low, _, _ in runs), default=0.0))
    end = min(long, max((high for _, high, _ in runs), default=long))
    radii = [radius_at(runs, start + (end - start) * part) or half for part in (0.2, 0.8)]
    thick, thin = round(max(radii), 6), round(min(radii), 6)
    return (thick, thin) if thick - thin > _THINNER else (thick, thick)


def _lies_in(need: Need, thick: float, thin: float) -> bool:
    """The work has both radii, far enough apart to lie steadily."""
    runs, long = need.round_runs(), need.work.member.finished[0]
    if abs(thick - thin) < _THINNER:
        return _thicknesses(need) == (thick, thin)
    places = [where_thick(runs, r, 0.05 * long, 0.95 * long) for r in (thick, thin)]
    return any(abs(a - b) > 0.3 * long for a in places[0] for b in places[1])


def _forms(model: Model, needs: Sequence[Need], units: LengthUnit) -> Iterator[Made]:
    groups: dict[float, list[Need]] = {}
    for need in needs:
        groups.setdefault(round(_bend_radius(need), 6), []).append(need)
    for radius, served in groups.items():
        profile = made.form(radius)
        stock = made.board_for(model, profile.width, units)
        wide = max(n.work.member.bent.width if n.work.member.bent else 0.0 for n in served)
        count = max(1, math.ceil(wide / (stock.thickness or wide) - 1e-9))
        notes = ("Screw them together face to face.",) if count > 1 else ()
        yield Made("bending form", 0.0, 0.0, profile.length, profile, stock, count, notes, tuple(served))


def _bend_radius(need: Need) -> float:
    member = need.work.member
    if member.bent is None:
        raise ValueError(f"{member.name} is no bent bar")
    bends = [f.id for f in member.features if f.kind == "bend"]
    at = bends.index(need.feature.id) if need.feature.id in bends else 0
    return member.bent.bends[min(at, len(member.bent.bends) - 1)].inside_radius
