"""What set-ups of round and free cuts leave, worked out a second time with numpy from their numbers alone.

The work's planes are looked up by the names that a set-up gives; nothing of the posture's or the recipes' own code is
used. Typical use::

    for setup in way.setups:
        for name, form in rebuilt(setup, work.planes()).items():
            assert apart(form, wanted[name], box) < 1e-6
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from pathlib import Path

import numpy as np
from worked_out import piece_of

from plangen.findings import Place
from plangen.geometry.solid import build_solid
from plangen.geometry.surfaces import Box, Cone, Cylinder, Extruded, Form, Plane, Surface
from plangen.joinery.model import Feature, Hole, Member, Stage
from plangen.machining.setup import Setup
from plangen.tables.stock import Stock

HERE = Path(__file__).parent.parent
FOLDERS = (HERE.parent / "designs", HERE / "designs", HERE / "designs" / "joints")
DESIGNS = sorted(path for folder in FOLDERS for path in folder.glob("*.yaml"))


def features_of(path: Path) -> Iterator[tuple[Member, Feature]]:
    """Every feature of a design with a round or free surface."""
    for member in piece_of(path).members:
        for feature in member.features:
            if not all(isinstance(s.form, Plane) for s in feature.surfaces):
                yield member, feature


def piece(size: tuple[float, float, float], *features: Feature) -> Member:
    """A plain board with these features."""
    blank = Box((0.0, 0.0, 0.0), size)
    cutters = [[_form(f, i) for i in c] for f in features for c in f.cutters]
    solid = build_solid(blank, cutters)
    surfaces = [Surface(i, p) for i, p in blank.planes().items()] + [s for f in features for s in f.surfaces]
    stock = Stock("ash", "planed", "ash", size[2], size[1], density=672)
    place = Place("test", 1, 1)
    return Member(
        "A", "board", "work", stock, blank, size, tuple(surfaces), features, solid, None, (), None, place
    )


def _form(feature: Feature, surface: str) -> Form:
    return next(s.form for s in feature.surfaces if s.id == surface)


def made_of(name: str, forms: list[Form], hole: Hole | None = None, stage: Stage = "square") -> Feature:
    """A feature of one cutter."""
    surfaces = tuple(Surface(f"{name}.{i}", f, name) for i, f in enumerate(forms, 1))
    cutters = (tuple(s.id for s in surfaces),)
    return Feature(name, "hole", stage, "worked", None, None, Place("test", 1, 1), surfaces, cutters, hole)


# --- the machine, a second time ----------------------------------------------------------------------------


def machine_axes(setup: Setup, planes: Mapping[str, Plane]) -> np.ndarray:
    """Rows x, y, z of the machine in the member, the work lying, at the fence, and turned by its tilt."""
    z = -np.array(planes[setup.surface_down].normal)
    g = np.array(planes[setup.surface_against].normal)
    y = g - z * (g @ z)
    y /= np.linalg.norm(y)
    rows = np.stack([np.cross(y, z), y, z])
    if setup.tilt is None:
        return rows
    a, c = setup.tilt.azimuth, math.cos(setup.tilt.angle)
    k = np.array([math.cos(a), math.sin(a), 0.0])
    cross = np.array([[0, -k[2], k[1]], [k[2], 0, -k[0]], [-k[1], k[0], 0]])
    return (np.eye(3) * c + math.sin(setup.tilt.angle) * cross + (1 - c) * np.outer(k, k)) @ rows


def rebuilt(setup: Setup, planes: Mapping[str, Plane]) -> dict[str, Form]:
    """The surfaces in ``makes`` from the numbers of the set-up."""
    match setup.operation:
        case "bore" | "ream":
            return _bored(setup, planes)
        case "turn":
            return _turned(setup)
        case "mould":
            return _moulded(setup, planes)
        case "saw to line" | "rout to template" | "bend":
            return _followed(setup, planes)
    raise AssertionError(setup.operation)


def _bored(setup: Setup, planes: Mapping[str, Plane]) -> dict[str, Form]:
    assert setup.tool is not None
    assert setup.tool.diameter is not None
    into = -machine_axes(setup, planes)[2]
    entry, radius = np.array(setup.path[0]), setup.tool.diameter / 2
    assert setup.depth_from is not None
    assert abs(planes[setup.depth_from].distance(setup.path[0])) < 1e-6, "the mark is on the surface entered"
    if not setup.makes:
        return {}
    axis, point = tuple(into), tuple(entry)
    wall: Form = Cylinder(point, axis, radius, "hole")
    if setup.tool.included is not None:
        wall = Cone(point, axis, radius, -math.tan(setup.tool.included / 2), "hole")
    found = {setup.makes[0]: wall}
    if len(setup.makes) == 2:
        at, depth = setup.depth_at[0]
        bottom = np.array(at) + into * depth
        found[setup.makes[1]] = Plane(tuple(-into), float(-into @ bottom))
    return found


def _turned(setup: Setup) -> dict[str, Form]:
    start, end = (np.array(p) for p in setup.path)
    axis = (end - start) / np.linalg.norm(end - start)
    (s0, d0), (s1, d1) = setup.profile
    slope = (d1 - d0) / 2 / (s1 - s0)
    point = tuple(start + axis * s0)
    round_ = Cylinder(point, tuple(axis), d0 / 2, "post")
    found: dict[str, Form] = {
        setup.makes[0]: round_ if abs(slope) < 1e-12 else Cone(point, tuple(axis), d0 / 2, slope, "post")
    }
    for name, at, way in zip(setup.makes[1:], (s0, s1), (axis, -axis), strict=False):
        found[name] = Plane(tuple(way), float(way @ (start + axis * at)))
    return found


def _moulded(setup: Setup, planes: Mapping[str, Plane]) -> dict[str, Form]:
    assert setup.stop is not None
    assert setup.tool is not None
    assert setup.tool.radius is not None
    a, b = (planes[i] for i in setup.stop.arris)
    n, m = np.array(a.normal), np.array(b.normal)
    axis = np.cross(n, m) / np.linalg.norm(np.cross(n, m))
    r = setup.tool.radius
    middle = np.linalg.solve(np.stack([n, m, axis]), np.array([a.offset - r, b.offset - r, 0.0]))
    out = (n + m) / np.linalg.norm(n + m)
    found: list[Form] = [
        Cylinder(tuple(middle), tuple(axis), r, "post"),
        Plane(tuple(out), float(out @ (middle + n * r))),
    ]
    if setup.run is not None:
        start, end = (np.array(p) for p in setup.run)
        way = (end - start) / np.linalg.norm(end - start)
        ends = [Plane(tuple(way), float(way @ start)), Plane(tuple(-way), float(-way @ end))]
        found += ends if len(setup.makes) == 4 else ends[: len(setup.makes) - 2]
    return dict(zip(setup.makes, found, strict=True))


def _followed(setup: Setup, planes: Mapping[str, Plane]) -> dict[str, Form]:
    assert setup.outline_frame is not None
    found: dict[str, Form] = {setup.makes[0]: Extruded(*setup.outline_frame, setup.outline)}
    if len(setup.makes) == 2:
        up = machine_axes(setup, planes)[2]
        at, depth = setup.depth_at[0]
        assert setup.depth_from is not None
        bottom = np.array(at) - np.array(planes[setup.depth_from].normal) * depth
        found[setup.makes[1]] = Plane(tuple(up), float(up @ bottom))
    return found


# --- comparing ---------------------------------------------------------------------------------------------


def apart(a: Form, b: Form, box: Box) -> float:
    """Most that two surfaces differ, mm, at random points in and about a box; of outlines, along their curves."""
    if isinstance(a, Extruded):
        return _outlines_apart(a, b, box)
    rng = np.random.default_rng(7)
    low, size = np.array(box.origin), np.array(box.size)
    points = low + size * (rng.random((40, 3)) * 2 - 0.5)
    return max(abs(a.distance(tuple(p)) - b.distance(tuple(p))) for p in points)


def _outlines_apart(made: Extruded, wanted: Form, box: Box) -> float:
    """Points of the made outline off the wanted surface, and how far its outward directions turn from it."""
    axis, worst = np.array(made.axis), 0.0
    for i, curve in enumerate(made.outline):
        for s in (0.1, 0.45, 0.9):
            here, ahead = (np.array(made.lift(*curve.at(x))) for x in (s, s + 1e-6))
            way = (ahead - here) / np.linalg.norm(ahead - here)
            out = np.cross(way, axis)
            worst = max(worst, *_off(wanted, here, out, i, s, len(made.outline)))
    if not isinstance(wanted, Plane):
        # walls that lean by so much part by that over the box
        turned = np.linalg.norm(np.cross(axis, wanted.axis))
        worst = max(worst, float(turned) * max(box.size))
    return worst


def _off(wanted: Form, p: np.ndarray, out: np.ndarray, i: int, s: float, count: int) -> tuple[float, float]:
    if not isinstance(wanted, Extruded):
        q, r = tuple(p), tuple(p + out * 1e-3)
        # a step outward goes outward
        return abs(wanted.distance(q)), abs(wanted.distance(r) - 1e-3)
    same_way = np.array(wanted.axis) @ np.cross(wanted.u, wanted.v) > 0
    assert same_way
    found = []
    for j, t in ((i, s), (count - 1 - i, 1 - s)):
        curve = wanted.outline[j]
        (x, y), (x2, y2) = curve.at(t), curve.at(t + 1e-6)
        fx, fy = wanted.flat(tuple(p))
        right = np.array(wanted.u) * (y2 - y) - np.array(wanted.v) * (x2 - x)
        right /= np.linalg.norm(right)
        found.append((math.hypot(fx - x, fy - y), max(0.0, float(np.linalg.norm(right - out)) - 1e-4)))
    return min(found)
