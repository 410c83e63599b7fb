"""Members built here against the same members built in an exact boundary kernel."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence

import numpy as np
import pytest
from brep_kernel import kernel_solid
from hypothesis import given, settings
from hypothesis import strategies as st
from OCP.BRepGProp import BRepGProp
from OCP.GProp import GProp_GProps

from plangen.geometry import cutting
from plangen.geometry import solid as solids
from plangen.geometry.boundary import outward_normal
from plangen.geometry.curves import Arc, Bezier, Curve, EllipseArc, Line
from plangen.geometry.cutting import GeometryError, NothingLeft
from plangen.geometry.frames import WORLD, Frame
from plangen.geometry.patches import PatchSet, same_surface
from plangen.geometry.solid import (
    Chain,
    Conic,
    Solid,
    Straight,
    build_solid,
    count_pieces,
    form_areas,
    seen_from,
)
from plangen.geometry.surfaces import Box, Cone, Cylinder, Extruded, Form, Plane
from plangen.geometry.vectors import Point, Vec, along, cross, dot, length, sub, unit

Cutters = Sequence[Sequence[Form]]
QUADRATURE = 1e-10
"""Relative; at its default the kernel measures round surfaces that cross to 1e-5 only."""
LEG = Box((0.0, 0.0, 0.0), (700.0, 90.0, 38.0))


def through(normal: Vec, point: Point) -> Plane:
    n = unit(normal)
    return Plane(n, dot(n, point))


def hole(point: Point, axis: Vec, diameter: float) -> Cylinder:
    return Cylinder(point, unit(axis), diameter / 2, "hole")


def slot(x: float, w: float, long: float, radius: float) -> Extruded:
    """A round-ended slot along l, walked clockwise: an opening."""
    walk: tuple[Curve, ...] = (
        Line((x, w + radius), (x + long, w + radius)),
        Arc((x + long, w), radius, math.pi / 2, -math.pi / 2),
        Line((x + long, w - radius), (x, w - radius)),
        Arc((x, w), radius, 3 * math.pi / 2, math.pi / 2),
    )
    return Extruded((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), walk)


def on_edge(*curves: Curve) -> Extruded:
    """An outline drawn on the face (l to the right, w up); wood on the left of its walk."""
    return Extruded((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), curves)


COMPOUND_ENDS: Cutters = [
    [through((-math.cos(0.2), 0.3, 0.21), (40.0, 0.0, 0.0))],
    [through((math.cos(0.2), 0.3, -0.17), (650.0, 45.0, 19.0))],
]
SLOPING_NOTCH: Cutters = [
    [through((1.0, 0.05, 0.0), (300.0, 0.0, 0.0)), through((-1.0, 0.08, 0.0), (345.0, 0.0, 0.0)),
     through((0.04, 0.07, 1.0), (320.0, 45.0, 20.0))],
]  # fmt: skip
TENON: Cutters = [
    [through((1.0, 0.12, 0.06), (640.0, 0.0, 0.0)), through((0.0, 0.0, 1.0), (0.0, 0.0, 25.0))],
    [through((1.0, 0.12, 0.06), (640.0, 0.0, 0.0)), through((0.0, 0.0, -1.0), (0.0, 0.0, 13.0))],
    [through((1.0, 0.12, 0.06), (640.0, 0.0, 0.0)), through((0.0, 1.0, 0.0), (0.0, 75.0, 0.0))],
    [through((1.0, 0.12, 0.06), (640.0, 0.0, 0.0)), through((0.0, -1.0, 0.0), (0.0, 12.0, 0.0))],
]
TAPER: Cutters = [
    [through((0.06, 1.0, 0.0), (350.0, 80.0, 0.0))],
    [through((-0.1, -1.0, 0.0), (700.0, 20.0, 0.0))],
]
HALF_LAP: Cutters = [
    [through((1.0, 0.1, 0.0), (500.0, 0.0, 0.0)), through((-1.0, -0.1, 0.0), (590.0, 0.0, 0.0)),
     Plane((0.0, 0.0, 1.0), 19.0)],
]  # fmt: skip
PLANAR = {
    "compound angled ends": COMPOUND_ENDS,
    "notch with a sloping floor": SLOPING_NOTCH,
    "tenon with a compound shoulder": TENON,
    "two tapers": TAPER,
    "half lap": HALF_LAP,
    "all of these": [*COMPOUND_ENDS, *SLOPING_NOTCH, *HALF_LAP, *TAPER],
    "flush with everything": [
        [Plane((1.0, 0.0, 0.0), 650.0), Plane((0.0, 1.0, 0.0), 0.0), Plane((0.0, 0.0, 1.0), 19.0)],
        [Plane((-1.0, 0.0, 0.0), -650.0), Plane((1.0, 0.0, 0.0), 600.0), Plane((0.0, 0.0, 1.0), 19.0)],
        [Plane((1.0, 0.0, 0.0), 650.0), Plane((0.0, 0.0, -1.0), -38.0), Plane((0.0, -1.0, 0.0), -45.0)],
    ],
}
CURVED = {
    "holes, one tilted": [
        [hole((100.0, 40.0, 0.0), (0.0, 0.0, 1.0), 12.0)],
        [hole((200.0, 40.0, 0.0), (0.3, 0.2, 1.0), 10.0)],
        [hole((0.0, 45.0, 19.0), (1.0, 0.0, 0.0), 8.0), Plane((-1.0, 0.0, 0.0), -70.0)],
    ],
    "counterbored hole": [
        [hole((100.0, 40.0, 0.0), (0.0, 0.0, 1.0), 12.0)],
        [hole((100.0, 40.0, 0.0), (0.0, 0.0, 1.0), 25.0), Plane((0.0, 0.0, 1.0), 28.0)],
    ],
    "blind hole that touches an edge, and another": [
        [hole((500.0, 60.0, 0.0), (0.0, 0.0, 1.0), 8.0)],
        [hole((300.0, 82.0, 38.0), (0.2, 0.0, 1.0), 16.0), Plane((0.0, 0.0, 1.0), 20.0)],
    ],
    "notches that touch at a corner, and a hole": [
        [hole((500.0, 60.0, 0.0), (0.0, 0.0, 1.0), 8.0)],
        [Plane((1.0, 0.0, 0.0), 300.0), Plane((-1.0, 0.0, 0.0), -340.0), Plane((0.0, -1.0, 0.0), -45.0)],
        [Plane((1.0, 0.0, 0.0), 260.0), Plane((-1.0, 0.0, 0.0), -300.0), Plane((0.0, 1.0, 0.0), 45.0),
         Plane((0.0, 0.0, 1.0), 10.0)],
    ],
    "half-round seat": [[hole((350.0, 0.0, 38.0), (0.0, 1.0, 0.0), 30.0)]],
    "seat across a slope": [
        [hole((350.0, 0.0, 38.0), (0.2, 1.0, 0.1), 30.0)],
        [through((0.1, 0.2, 1.0), (350.0, 45.0, 34.0))],
    ],
    "round-over, tangent to two faces": [
        [Cylinder((0.0, 6.0, 32.0), (1.0, 0.0, 0.0), 6.0, "post"), Plane((0.0, -1.0, 0.0), -6.0),
         Plane((0.0, 0.0, 1.0), 32.0)],
    ],
    "round tenon": [
        [Cylinder((0.0, 45.0, 19.0), (1.0, 0.0, 0.0), 12.5, "post"), Plane((1.0, 0.0, 0.0), 650.0)],
    ],
    "round-ended slot": [[slot(300.0, 45.0, 60.0, 9.0)]],
    "stopped slot": [[slot(300.0, 45.0, 60.0, 9.0), Plane((0.0, 0.0, 1.0), 18.0)]],
    "edge swept by an arc": [[on_edge(
        Line((700.0, 85.0), (500.0, 85.0)),
        Arc((500.0, 185.0), 100.0, -math.pi / 2, -math.pi / 2 - 0.5),
    )]],
    "edge of lines and two tangent arcs": [[on_edge(
        Arc((150.0, 150.0), 100.0, -math.pi / 2 + 0.6, -math.pi / 2),
        Line((150.0, 50.0), (60.0, 50.0)),
        Arc((60.0, 30.0), 20.0, math.pi / 2, math.pi),
    )]],
    "tilted hole breaking into a notch": [[hole((310.0, 40.0, 0.0), (0.3, 0.0, 1.0), 10.0)], *SLOPING_NOTCH],
    "hole cut by an end": [[hole((40.0, 45.0, 0.0), (0.0, 0.0, 1.0), 20.0)], *COMPOUND_ENDS],
    "large arc under a long edge": [[Cylinder((350.0, -2900.0, 0.0), (0.0, 0.0, 1.0), 2930.0, "hole")]],
    "two holes that cross": [
        [hole((350.0, 0.0, 19.0), (0.0, 1.0, 0.0), 16.0)],
        [hole((352.0, 45.0, 0.0), (0.1, 0.0, 1.0), 10.0)],
    ],
}  # fmt: skip


FREE = {
    "edge of one free curve": [
        [on_edge(Bezier(((700.0, 80.0), (450.0, 120.0), (350.0, 20.0), (0.0, 70.0))))],
    ],
    "end rounded by part of an ellipse": [
        [on_edge(EllipseArc((600.0, 45.0), (0.0, -110.0), (70.0, 0.0), 1.1, math.pi - 1.1))],
    ],
    "free edge and a sloping end": [
        [on_edge(Bezier(((700.0, 80.0), (450.0, 120.0), (350.0, 20.0), (0.0, 70.0))))],
        *COMPOUND_ENDS,
    ],
    "lines eased into a free curve": [
        [on_edge(
            Line((700.0, 70.0), (500.0, 70.0)),
            Bezier(((500.0, 70.0), (430.0, 70.0), (370.0, 50.0), (300.0, 50.0))),
            Line((300.0, 50.0), (100.0, 50.0)),
        )],
    ],
    "hole through a free edge": [
        [on_edge(Bezier(((700.0, 80.0), (450.0, 120.0), (350.0, 20.0), (0.0, 70.0))))],
        [hole((500.0, 75.0, 0.0), (0.0, 0.1, 1.0), 12.0)],
        [hole((300.0, 0.0, 19.0), (0.0, 1.0, 0.0), 12.0)],
    ],
    "holes clear of a free edge": [
        [on_edge(Bezier(((700.0, 80.0), (450.0, 120.0), (350.0, 20.0), (0.0, 70.0))))],
        [hole((500.0, 40.0, 0.0), (0.0, 0.1, 1.0), 12.0)],
        [hole((100.0, 30.0, 0.0), (0.0, 0.0, 1.0), 8.0), Plane((0.0, 0.0, 1.0), 20.0)],
    ],
}  # fmt: skip


OVAL: Cutters = [[on_edge(EllipseArc((350.0, 45.0), (40.0, 0.0), (0.0, 20.0), 2 * math.pi, 0.0))]]


def difference(cutters: Cutters) -> tuple[float, float, float]:
    """How far our member is from the kernel's: volume and area relative, centroid in millimetres."""
    ours, theirs = build_solid(LEG, cutters), kernel_solid(LEG, cutters)
    volume, surface = GProp_GProps(), GProp_GProps()
    BRepGProp.VolumeProperties_s(theirs, volume, QUADRATURE)
    BRepGProp.SurfaceProperties_s(theirs, surface, QUADRATURE)
    centre = volume.CentreOfMass()
    apart = length(sub(ours.centroid, (centre.X(), centre.Y(), centre.Z())))
    return abs(ours.volume / volume.Mass() - 1), abs(ours.area / surface.Mass() - 1), apart


def test_an_oval_opening_takes_the_area_of_its_ellipse_and_adds_its_girth() -> None:
    """Girth by Ramanujan's second formula (1914), good to 1e-9 at this shape; from memory."""
    solid = build_solid(LEG, OVAL)
    assert solid.volume == pytest.approx(38 * (700 * 90 - math.pi * 40 * 20), rel=1e-12)
    h = (20 / 60) ** 2
    girth = math.pi * 60 * (1 + 3 * h / (10 + math.sqrt(4 - 3 * h)))
    plain = 2 * (700 * 90 + 700 * 38 + 90 * 38)
    assert solid.area == pytest.approx(plain - 2 * math.pi * 800 + 38 * girth, rel=1e-8)


@pytest.mark.parametrize("name", [*PLANAR, *CURVED])
def test_members_agree_with_an_exact_kernel_to_1e_9(name: str) -> None:
    volume, area, apart = difference({**PLANAR, **CURVED}[name])
    assert volume < 1e-9
    assert area < 1e-9
    assert apart < 1e-6


@pytest.mark.parametrize("name", FREE)
def test_members_with_free_curves_agree_with_an_exact_kernel_to_1e_6(name: str) -> None:
    volume, area, apart = difference(FREE[name])
    assert volume < 1e-6
    assert area < 1e-6
    assert apart < 1e-3


@pytest.mark.parametrize("name", [*PLANAR, *CURVED, *FREE, "oval"])
def test_the_skin_is_whole_and_lies_on_its_surfaces(name: str) -> None:
    check_skin(build_solid(LEG, {**PLANAR, **CURVED, **FREE, "oval": OVAL}[name]))


def check_skin(solid: Solid) -> None:
    patches = PatchSet(solid.forms)
    for corner in range(3):
        off, _ = patches.evaluate(solid.triangle_form, solid.vertices[solid.triangles[:, corner]])
        assert np.abs(off).max() < 1e-9
    halves = {(a, b) for t in solid.triangles.tolist() for a, b in zip(t, t[1:] + t[:1], strict=True)}
    assert len(halves) == 3 * len(solid.triangles)
    assert all((b, a) in halves for a, b in halves)
    characteristic = len(solid.vertices) - len(halves) // 2 + len(solid.triangles)
    assert characteristic % 2 == 0
    assert sum(len(f.triangles) for f in solid.faces) == len(solid.triangles)
    assert math.fsum(f.area for f in solid.faces) == pytest.approx(solid.area, rel=1e-12)
    for edge in solid.edges:
        assert edge.left != edge.right
        for face in (edge.left, edge.right):
            form = solid.forms[solid.faces[face].surface]
            for p in edge_points(edge.curve):
                off, _ = PatchSet([form]).evaluate(np.zeros(1, dtype=int), np.array([p]))
                assert abs(off[0]) < 1e-8


def edge_points(curve: Straight | Conic | Chain) -> list[Point]:
    if isinstance(curve, Straight):
        return [curve.start, curve.end]
    if isinstance(curve, Chain):
        return list(curve.points)
    span = [curve.first + (curve.last - curve.first) * i / 7 for i in range(8)]
    return [along(along(curve.centre, curve.major, math.cos(p)), curve.minor, math.sin(p)) for p in span]


def test_an_empty_member_and_a_parted_one_are_told() -> None:
    with pytest.raises(NothingLeft, match="whole piece"):
        build_solid(LEG, [[Plane((1.0, 0.0, 0.0), 300.0)], [Plane((-1.0, 0.0, 0.0), -300.0)]])
    trench = [Plane((1.0, 0.0, 0.0), 300.0), Plane((-1.0, 0.0, 0.0), -310.0)]
    assert count_pieces(build_solid(LEG, [[*trench, Plane((0.0, 0.0, 1.0), 0.5)]])) == 1
    assert count_pieces(build_solid(LEG, [trench])) == 2


def test_a_circle_is_one_edge_and_outlines_are_told_from_hollows() -> None:
    solid = build_solid(LEG, [CURVED["counterbored hole"][0], CURVED["counterbored hole"][1], *HALF_LAP])
    circles = [e for e in solid.edges if isinstance(e.curve, Conic)]
    assert len(circles) == 4
    assert all(e.curve.last - e.curve.first == 2 * math.pi for e in circles)
    assert sum(not e.convex for e in circles) == 1, "only where the counterbore's wall meets its floor"
    straight = [e for e in solid.edges if isinstance(e.curve, Straight)]
    assert len(straight) == 24
    assert sum(not e.convex for e in straight) == 2, "where the lap's floor meets its walls"
    assert not any(e.smooth for e in solid.edges)


def test_a_round_over_starts_and_ends_smoothly() -> None:
    solid = build_solid(LEG, CURVED["round-over, tangent to two faces"])
    smooth = [e for e in solid.edges if e.smooth]
    assert len(smooth) == 2
    assert all(isinstance(e.curve, Straight) and e.convex for e in smooth)
    assert sum(isinstance(e.curve, Conic) for e in solid.edges) == 2


def test_edges_keep_their_left_face_on_the_left() -> None:
    """A step to the left of an edge, along the left face, stays on that face's inner side of all others."""
    solid = build_solid(LEG, PLANAR["all of these"])
    for edge in solid.edges:
        assert isinstance(edge.curve, Straight)
        start, end = edge.curve.start, edge.curve.end
        left, right = (solid.forms[solid.faces[f].surface] for f in (edge.left, edge.right))
        inward = cross(outward_normal(left, start), unit(sub(end, start)))
        side = dot(outward_normal(right, start), inward)
        assert side < 0 if edge.convex else side > 0


def test_area_is_reported_for_each_surface_given() -> None:
    solid = build_solid(LEG, CURVED["round-ended slot"])
    opening = CURVED["round-ended slot"][0][0]
    away = Plane((0.0, 0.0, 1.0), 12.0)
    areas = form_areas(solid, [opening, away, *LEG.planes().values()])
    assert areas[0] == pytest.approx(38 * (2 * 60 + 2 * math.pi * 9), rel=1e-12)
    assert areas[1] == 0.0
    assert math.fsum(areas) == pytest.approx(solid.area, rel=1e-12)


@pytest.mark.parametrize("name", ["holes, one tilted", "counterbored hole", "hole cut by an end"])
def test_a_hole_set_in_equals_a_hole_cut_by_the_mesh_kernel(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    set_in = build_solid(LEG, CURVED[name])
    monkeypatch.setattr(solids, "as_bore", lambda cutter, numbers: None)
    sawn = build_solid(LEG, CURVED[name])
    assert set_in.volume == pytest.approx(sawn.volume, rel=1e-13)
    assert set_in.area == pytest.approx(sawn.area, rel=1e-13)
    assert set_in.centroid == pytest.approx(sawn.centroid, rel=1e-13)
    assert len(set_in.edges) == len(sawn.edges)
    assert sorted(map(repr, set_in.forms)) == sorted(map(repr, sawn.forms))


def test_when_the_mesh_kernel_leaves_a_cut_out_it_is_made_again(monkeypatch: pytest.MonkeyPatch) -> None:
    cut = cutting.cut_mesh

    def forgetful(blank: Box, cutters: Cutters, turned: Frame) -> tuple[np.ndarray, np.ndarray]:
        return cut(blank, cutters[1:] if turned == WORLD else cutters, turned)

    honest = build_solid(LEG, PLANAR["all of these"])
    monkeypatch.setattr(solids, "cut_mesh", forgetful)
    assert build_solid(LEG, PLANAR["all of these"]).volume == pytest.approx(honest.volume, rel=1e-14)


@pytest.mark.parametrize("lie", ["a cut left out", "a cut too many", "a piece lost", "a shifted wall"])
def test_a_wrong_cut_is_never_believed(lie: str, monkeypatch: pytest.MonkeyPatch) -> None:
    cut = cutting.cut_mesh
    trench = [Plane((1.0, 0.0, 0.0), 100.0), Plane((-1.0, 0.0, 0.0), -120.0)]
    cutters = [trench, *HALF_LAP]

    def lying(blank: Box, asked: Cutters, turned: Frame) -> tuple[np.ndarray, np.ndarray]:
        false = {
            "a cut left out": [trench],
            "a cut too many": [*asked, [Plane((1.0, 0.0, 0.0), 590.0)]],
            "a piece lost": [*asked, [Plane((-1.0, 0.0, 0.0), -110.0)]],
            "a shifted wall": [trench, [HALF_LAP[0][0], HALF_LAP[0][1].shifted(-0.01), HALF_LAP[0][2]]],
        }
        return cut(blank, false[lie], turned)

    monkeypatch.setattr(solids, "cut_mesh", lying)
    with pytest.raises(GeometryError, match="true to their surfaces"):
        build_solid(LEG, cutters)


tilts = st.integers(-5000, 5000).map(lambda n: n / 1e4)
stations = st.integers(6000, 64000).map(lambda n: n / 100)


@st.composite
def cutters_of_planes(draw: st.DrawFn) -> list[Plane]:
    """A trench, a notch or an end cut, its planes tilted, or square and flush as most joints are."""
    x = draw(st.one_of(stations, st.sampled_from([0.0, 100.0, 300.0, 600.0])))
    tilt = draw(st.one_of(tilts, st.just(0.0)))
    slope = draw(st.one_of(tilts, st.just(0.0)))
    near, far = (
        through((1.0, tilt, 0.0), (x, 45.0, 0.0)),
        through((-1.0, -tilt, slope), (x + 60.0, 45.0, 19.0)),
    )
    floor = through((0.0, slope * 0.2, 1.0), (x, 45.0, draw(st.sampled_from([12.0, 19.0, 25.0, 38.0, 0.0]))))
    flank = through((0.0, 1.0, tilt), (x, draw(st.sampled_from([0.0, 45.0, 60.0, 90.0])), 0.0))
    return draw(
        st.sampled_from([[near], [near, far], [near, far, floor], [near, far, flank], [near, floor, flank]])
    )


def _volume(cutters: Cutters) -> float:
    try:
        return build_solid(LEG, cutters).volume
    except NothingLeft:
        return 0.0


@settings(max_examples=12, deadline=None, derandomize=True)
@given(cutters_of_planes())
def test_a_member_and_what_was_cut_away_make_up_the_blank(cutter: list[Plane]) -> None:
    member = _volume([cutter])
    cut_away = _volume([[plane.flipped()] for plane in cutter])
    assert member + cut_away == pytest.approx(700 * 90 * 38, rel=1e-12)


@settings(max_examples=12, deadline=None, derandomize=True)
@given(st.lists(cutters_of_planes(), min_size=2, max_size=4), st.randoms(use_true_random=False))
def test_the_order_of_cuts_does_not_matter(cutters: list[list[Plane]], turn: random.Random) -> None:
    other = cutters.copy()
    turn.shuffle(other)
    try:
        first, second = build_solid(LEG, cutters), build_solid(LEG, other)
    except NothingLeft:
        assert _volume(cutters) == _volume(other) == 0.0
        return
    assert first.volume == pytest.approx(second.volume, rel=1e-12)
    assert first.area == pytest.approx(second.area, rel=1e-12)
    check_skin(first)

    def corners(solid: Solid) -> set[tuple[float, ...]]:
        ends = [p for e in solid.edges for p in (e.curve.start, e.curve.end)]
        return {tuple(round(c, 5) + 0.0 for c in p) for p in ends}

    assert corners(first) == corners(second)


@settings(max_examples=12, deadline=None, derandomize=True)
@given(
    st.integers(30, 140).map(lambda n: n / 10), stations, st.integers(-100, 1000).map(lambda n: n / 10), tilts,
    tilts,
    st.one_of(st.none(), st.sampled_from([8.0, 19.0, 30.0])),
)  # fmt: skip
def test_a_hole_anywhere_and_what_it_takes_out_make_up_the_blank(
    radius: float, x: float, w: float, a: float, b: float, depth: float | None
) -> None:
    bore = Cylinder((x, w, 0.0), unit((a, b, 1.0)), radius, "hole")
    cutter: list[Cylinder | Plane] = [bore]
    if depth is not None:
        cutter.append(Plane(bore.axis, dot(bore.axis, bore.point) + depth))
    solid = build_solid(LEG, [cutter])
    check_skin(solid)
    core = _volume([[form.flipped()] for form in cutter])
    assert solid.volume + core == pytest.approx(700 * 90 * 38, rel=1e-10)


def test_a_solid_seen_from_another_corner_is_the_one_cut_there():
    origin = (7.25, -3.5, 11.0)
    frame = Frame(origin, (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    blank = Box((0.0, 0.0, 0.0), (120.0, 60.0, 40.0))
    slope = unit((1.0, 0.3, 0.2))
    cutters = [
        [Plane(slope, dot(slope, (100.0, 20.0, 10.0)))],
        [Cylinder((40.0, 30.0, 0.0), unit((0.2, 0.1, 1.0)), 9.0, "hole")],
        [Cone((70.0, 30.0, 40.0), (0.0, 0.0, 1.0), 8.0, 0.5, "hole")],
    ]
    moved = seen_from(build_solid(blank, cutters), origin)
    there = Box((-7.25, 3.5, -11.0), blank.size)
    cut = build_solid(there, [[form.local_to(frame) for form in cutter] for cutter in cutters])
    assert moved.volume == pytest.approx(cut.volume, rel=1e-12)
    assert moved.centroid == pytest.approx(cut.centroid, abs=1e-9)
    assert sorted(f.area for f in moved.faces) == pytest.approx(sorted(f.area for f in cut.faces), rel=1e-9)
    for form in moved.forms:
        assert any(same_surface(form, other) for other in cut.forms)
    for edge in moved.edges:
        ends = (edge.curve.start, edge.curve.end) if isinstance(edge.curve, Straight) else ()
        for p in ends:
            assert abs(moved.forms[moved.faces[edge.left].surface].distance(p)) < 1e-9
            assert abs(moved.forms[moved.faces[edge.right].surface].distance(p)) < 1e-9
        if isinstance(edge.curve, Conic):
            assert any(
                isinstance(other.curve, Conic) and math.dist(other.curve.centre, edge.curve.centre) < 1e-9
                for other in cut.edges
            )
