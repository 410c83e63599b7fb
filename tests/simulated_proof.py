"""What the simulated machine made, held against what plan.json says of the member; and what a wrong figure would do.

Shares no code with plangen, as the machine itself.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np
from simulated_forms import (
    Array,
    Flat,
    Form,
    Record,
    Round,
    Unclear,
    Walls,
    curve_points,
    published_form,
    unit,
)
from simulated_machine import OPPOSITE, blank_forms, checks, cut_forms, laid, setups_of

# --- comparison ---------------------------------------------------------------------------------------------


def far_from(made: Form, published: Record, blank: Record) -> float:
    """Most that a surface as made lies off the published one over the blank, mm; infinite where it is another kind
    of surface or has its wood on the other side."""
    return apart(made, published_form(published), blank)


def apart(a: Form, b: Form, blank: Record) -> float:
    """Most that ``a`` lies off ``b`` over the blank, mm; infinite where their wood is on different sides."""
    if isinstance(a, Walls):
        return _walls_off(a, b, blank)
    if isinstance(b, Walls):
        return math.inf
    points, outward = _points_on(b, blank)
    if (np.einsum("ij,ij->i", np.array([_outward(a, p) for p in points]), outward) <= 0).any():
        return math.inf
    return float(np.abs(a.off(points)).max())


def _walls_off(walls: Walls, b: Form, blank: Record) -> float:
    """As ``apart``; of walls that are one plane or cylinder, over their own line only."""
    if isinstance(b, Walls):
        return _outlines_apart(walls, b)
    runs = [curve_points(c, walls.axis, 16) for c in walls.curves]
    ways = np.concatenate([np.diff(r, axis=0) for r in runs])
    points = np.concatenate([(r[1:] + r[:-1]) / 2 for r in runs])
    out = np.array([_outward(b, p) for p in points])
    # a chord's normal on its right is that of the surface at its middle
    if (np.einsum("ij,ij->i", np.cross(ways, walls.axis), out) <= 0).any():
        return math.inf
    depth = max(blank["length"], blank["width"], blank["thickness"])
    ends = np.concatenate([r + h * walls.axis for r in runs for h in (0.0, depth)])
    return float(np.abs(b.off(ends)).max())


def _outlines_apart(a: Walls, b: Walls) -> float:
    if len(a.curves) != len(b.curves) or abs(abs(float(a.axis @ b.axis)) - 1.0) > 1e-9:
        return math.inf
    one = [curve_points(c, a.axis, 16) for c in a.curves]
    two = [curve_points(c, b.axis, 16) for c in b.curves]
    if a.axis @ b.axis < 0:
        # seen from the other side the wood on the left is met by walking back
        one = [points[::-1] for points in reversed(one)]
    d = np.concatenate(one) - np.concatenate(two)
    return float(np.linalg.norm(d - np.outer(d @ b.axis, b.axis), axis=1).max())


def _corners(blank: Record) -> Array:
    low = np.array(blank["origin"], dtype=float)
    size = np.array([blank["length"], blank["width"], blank["thickness"]])
    return low + size * np.array([[i, j, k] for i in (0, 1) for j in (0, 1) for k in (0, 1)])


def _points_on(form: Flat | Round, blank: Record) -> tuple[Array, Array]:
    """Points of a surface about the blank, and its outward normals there."""
    corners = _corners(blank)
    if isinstance(form, Flat):
        points = corners - np.outer(form.off(corners), form.normal)
        return points, np.tile(form.normal, (len(points), 1))
    heights = (corners - form.point) @ form.axis
    low, high = float(heights.min()), float(heights.max())
    if form.slope:
        tip = -form.radius / form.slope
        low, high = (max(low, tip), high) if form.slope > 0 else (low, min(high, tip))
        low, high = low + 0.01 * (high - low), high - 0.01 * (high - low)
    across = np.eye(3)[int(np.argmin(np.abs(form.axis)))]
    u = unit(np.cross(form.axis, across))
    v = np.cross(form.axis, u)
    points, outward = [], []
    for h in (low, high):
        for a in np.linspace(0.0, 2 * math.pi, 8, endpoint=False):
            radial = math.cos(a) * u + math.sin(a) * v
            points.append(form.point + form.axis * h + radial * (form.radius + form.slope * h))
            outward.append(_outward(form, points[-1]))
    return np.array(points), np.array(outward)


def _outward(form: Form, p: Array) -> Array:
    assert not isinstance(form, Walls)
    if isinstance(form, Flat):
        return form.normal
    d = p - form.point
    radial = unit(d - form.axis * (d @ form.axis))
    out = unit(radial - form.slope * form.axis)
    return out if form.post else -out


# --- figures as printed -------------------------------------------------------------------------------------


def as_printed(setup: Record, origin: Sequence[float]) -> dict[str, Any]:
    """The set-up with the figures that stand on paper; places there count from the blank's least corner."""
    figures = setup["printed"]
    found = {**setup, "miter": figures["miter"], "bevel": figures["bevel"], "width": figures["width"]}
    if setup["tilt"] is not None:
        found["tilt"] = {"angle": figures["tilt"], "azimuth": figures["azimuth"]}
    if setup["stop"] is not None:
        found["stop"] = {**setup["stop"], "distance": figures["distance"]}
    if setup["tool"] is not None:
        sizes = {k: figures[f"tool_{k}"] for k in ("width", "diameter", "radius")}
        found["tool"] = {**setup["tool"], **sizes, "included": figures["included"]}
    for key in ("depth_at", "path"):
        rows = figures[key] or ()
        found[key] = [[*(x + o for x, o in zip(row, origin, strict=False)), *row[3:]] for row in rows]
    if setup["profile"]:
        found["profile"] = figures["profile"]
    return found


def printed_forms(member: Record, hand: str | None, setups: Sequence[Record]) -> dict[str, Form]:
    """Every surface of a member of one hand, each cut made by its figures as printed on what those before it left."""
    forms: dict[str, Form] = blank_forms(member["blank"])
    for setup in setups_of(setups, member["mark"], hand):
        own = setup if setup["by_hand"] else as_printed(setup, member["blank"]["origin"])
        forms |= cut_forms(own, forms, member, hand is not None and hand != member["drawn"])
    return forms


_STEPS = {
    ("miter",): 0.1, ("bevel",): 0.1, ("tilt", "angle"): 0.1, ("tilt", "azimuth"): 0.1, ("tool", "included"): 0.1,
    ("stop", "distance"): None, ("width",): None, ("tool", "diameter"): None, ("tool", "radius"): None,
    ("depth_at",): None, ("path",): None, ("profile",): None,
}  # fmt: skip
"""Every figure that says where a surface lies: degrees of a printed angle; None: the design's step of lengths."""


def figures_off(setup: Record, step: float) -> Iterator[dict[str, Any]]:
    """The set-up with one figure more by half its step, for each of its figures."""
    for keys, size in _STEPS.items():
        half = (step if size is None else size) / 2
        value: Any = setup
        for key in keys:
            value = None if value is None else value[key]
        if isinstance(value, int | float):
            yield _with(setup, keys, value + half)
            continue
        # of depths only the first is set, the others agree with it
        rows = value or []
        for i, row in enumerate(rows[:1] if keys == ("depth_at",) else rows):
            for j, number in enumerate(row):
                more = [*row[:j], number + half, *row[j + 1 :]]
                yield _with(setup, keys, [*rows[:i], more, *rows[i + 1 :]])


def _with(setup: Record, keys: Sequence[str], value: Any) -> dict[str, Any]:
    if len(keys) == 1:
        return {**setup, keys[0]: value}
    return {**setup, keys[0]: {**setup[keys[0]], keys[1]: value}}


def rests_on(setup: Record) -> set[str]:
    """Ids of the surfaces that a set-up lies on, stands at or is measured from."""
    stop = setup["stop"]
    names = [setup["surface_down"], setup["surface_against"], setup["depth_from"]]
    return {n for n in (*names, *((stop["from"], *stop["arris"]) if stop else ())) if n is not None}


def replayed(
    setups: Sequence[Record],
    forms: Mapping[str, Form],
    member: Record,
    changed: Mapping[int, Record],
    other: bool,
) -> dict[str, Form]:
    """All surfaces once some set-ups (by their place in the row) are changed, and all that rest on them."""
    found = dict(forms)
    moved: set[str] = set()
    for i, setup in enumerate(setups):
        if i in changed or rests_on(setup) & moved:
            made = cut_forms(changed.get(i, setup), found, member, other)
            found.update(made)
            moved |= set(made)
    return found


def corners_of(points: Array, forms: Mapping[str, Form]) -> list[tuple[str, str, str]]:
    """Of each corner of the wood where three planes and more meet, the three that cross most squarely."""
    flats = {i: f for i, f in forms.items() if isinstance(f, Flat)}
    names = list(flats)
    normals = np.array([flats[i].normal for i in names])
    offsets = np.array([flats[i].offset for i in names])
    found = set()
    for p in points:
        on = [int(i) for i in np.flatnonzero(np.abs(normals @ p - offsets) < 1e-5)]
        best, most = None, 1e-3
        for a, i in enumerate(on):
            for b, j in enumerate(on[a + 1 :], a + 1):
                for k in on[b + 1 :]:
                    size = abs(float(np.linalg.det(normals[[i, j, k]])))
                    if size > most + 1e-9:
                        best, most = (names[i], names[j], names[k]), size
        if best is not None:
            found.add(best)
    return sorted(found)


def corner_points(corners: Sequence[tuple[str, str, str]], forms: Mapping[str, Form]) -> Array:
    """The points of ``corners_of``: all of them of planes."""
    flats = {i: f for i, f in forms.items() if isinstance(f, Flat)}
    normals = np.array([[flats[i].normal for i in c] for c in corners])
    offsets = np.array([[flats[i].offset for i in c] for c in corners])
    return np.linalg.solve(normals, offsets[..., None])[..., 0]


def drift(
    setups: Sequence[Record], forms: Mapping[str, Form], member: Record, step: float,
    corners: Sequence[tuple[str, str, str]], other: bool,
) -> Array:  # fmt: skip
    """How far each corner can be off when every printed figure is off by half its step: the sum over the figures."""
    exact = corner_points(corners, forms)
    total = np.zeros(len(corners))
    for i, setup in enumerate(setups):
        if setup["by_hand"] is not None:
            continue
        for off in figures_off(setup, step):
            there = corner_points(corners, replayed(setups, forms, member, {i: off}, other))
            total += np.linalg.norm(there - exact, axis=1)
    return total


# --- tools of real width ------------------------------------------------------------------------------------


def widths_leave(setup: Record, forms: Mapping[str, Form], member: Record) -> tuple[float, float]:
    """Least (negative: cut too deep) and most that a tool as wide as it is can leave of a cut, mm.

    A round bit leaves (1 / sin(half the corner) - 1) of its radius; corners sharper than 40 degrees are not routed.
    ``forms`` are all surfaces of the member.
    """
    tool = setup["tool"]
    match setup["operation"]:
        case "kerf":
            return _kerf_leaves(setup, forms, member)
        case "trench":
            # a saw's teeth leave ridges of some tenths (common practice); a head leaves its floor flat
            return 0.0, 0.2 if setup["machine"] == "table saw" else 0.0
        case "rout" | "rout to template":
            return 0.0, (tool["diameter"] or tool["width"]) / 2 * (1 / math.sin(math.radians(20.0)) - 1)
        case "mould":
            return 0.0, tool["radius"]
    return 0.0, 0.0


def _kerf_leaves(setup: Record, forms: Mapping[str, Form], member: Record) -> tuple[float, float]:
    """From the angle between the kerf's wall and what it meets at its foot, in each piece of waste.

    Where that is more than square the kerf's far side dips below by its width times the tangent of what is more;
    where it is less, a wedge as high as the kerf stays under the wall; a foot that rises along the cut leaves wood
    over the whole run of the blade through the member.
    """
    blank = member["blank"]
    up = laid(setup, forms)[2]
    deep = max(setup["depth"]) / math.cos(math.radians(setup["bevel"]))
    least = most = 0.0
    for wall in (*setup["makes"], *setup["goes_on"]):
        others = {i for c in setup["frees"] if wall in c for i in c} - {wall}
        for foot in (forms[i] for i in others):
            if not (isinstance(foot, Flat) and isinstance(plane := forms[wall], Flat)):
                continue
            more = float(plane.normal @ foot.normal)
            if abs(more) > 0.95:  # the wall across
                continue
            tangent = more / math.sqrt(1.0 - more * more)
            least = min(least, -setup["tool"]["width"] * tangent)
            rise = math.tan(math.acos(min(1.0, abs(float(foot.normal @ up)))))
            run = max(blank["width"], blank["thickness"]) if rise < 1.0 else 0.0
            most = max(most, -deep * tangent, run * rise)
    return least, most


# --- mutations ----------------------------------------------------------------------------------------------


def _is_same_both_ways(setup: Record) -> bool:
    """A square trench, or a floor alone: it does not matter from which side it is looked at."""
    square = setup["miter"] % 90.0 == 0.0 and setup["bevel"] == 0.0 and setup["tilt"] is None
    return square and setup["depth"] is not None and (setup["waste"] == "between" or setup["stop"] is None)


def mutations(setup: Record) -> Iterator[tuple[str, dict[str, Any], str | None]]:
    """Wrong readings of a set-up: what is wrong, the set-up so read, and why it may make no difference (or None)."""
    tilt, stop = setup["tilt"], setup["stop"]
    both_ways = "a square trench is one from either side" if _is_same_both_ways(setup) else None
    lathe = setup["operation"] in ("turn", "bend")
    drilled = setup["operation"] in ("bore", "ream")
    line = "the line says it" if setup["operation"] in ("saw to line", "rout to template") else None
    if not (lathe or drilled or setup["operation"] == "mould"):
        square = "the blade stands square" if setup["miter"] in (0.0, 180.0) else None
        floor = (
            "a level floor is one whichever way it is cut" if stop is None and not setup["bevel"] else None
        )
        level = "cutters that lie level are the same both ways" if setup["operation"] == "plane" else None
        yield (
            "sign of miter",
            {**setup, "miter": -setup["miter"]},
            square or both_ways or floor or line or level,
        )
        upright = "the blade stands upright" if setup["bevel"] == 0.0 else None
        yield "sign of bevel", {**setup, "bevel": -setup["bevel"]}, upright or line
    if tilt is not None:
        along = "the axis runs along the fence" if tilt["azimuth"] % 180.0 == 0.0 else None
        yield "sign of azimuth", _with(setup, ("tilt", "azimuth"), -tilt["azimuth"]), along
        yield "way of the tilt", _with(setup, ("tilt", "azimuth"), tilt["azimuth"] + 180.0), None
        yield "no tilt", {**setup, "tilt": None}, None
    for key in ("surface_down", "surface_against"):
        if setup[key] in OPPOSITE:
            turned = {**setup, key: OPPOSITE[setup[key]]}
            yield key, turned, (both_ways if key == "surface_against" else None)
    if setup["waste"] in ("left", "right"):
        yield "waste", {**setup, "waste": "left" if setup["waste"] == "right" else "right"}, line
    if setup["depth"] is not None:
        yield "cut from", {**setup, "cut_from": "below" if setup["cut_from"] == "above" else "above"}, None
        if setup["depth_at"]:
            wall = line if len(setup["makes"]) == 1 else None
            yield "no depth", {**setup, "depth": None, "depth_at": []}, wall
    if drilled:
        yield "no path", {**setup, "path": []}, None
    elif stop is not None:
        yield "no stop", {**setup, "stop": None}, line
    if stop is not None:
        for i in (0, 1):
            if stop["arris"][i] in OPPOSITE:
                swapped = [OPPOSITE[n] if j == i else n for j, n in enumerate(stop["arris"])]
                yield "arris", _with(setup, ("stop", "arris"), swapped), None
        if stop["wall"] is not None:
            yield "wall", _with(setup, ("stop", "wall"), "far" if stop["wall"] == "near" else "near"), None


def told_apart(
    setup: Record, wrong: Record, planes: Mapping[str, Form], member: Record, other: bool
) -> str | None:
    """``moved`` where a wrong reading cuts elsewhere, ``refused`` where the record contradicts it; None: neither."""
    right = cut_forms(setup, planes, member, other)
    try:
        found = cut_forms(wrong, planes, member, other)
    except (Unclear, np.linalg.LinAlgError):
        return "refused"
    if max((apart(found[i], right[i], member["blank"]) for i in right), default=math.inf) > 1e-3:
        return "moved"
    return "refused" if checks(wrong, planes, found, other, None) else None
