"""Near settings made one: never more than is told, and what is told is how far the corners really move."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from machining.round_rebuilding import piece

from plangen.findings import Place
from plangen.geometry.surfaces import Cylinder, Form, Plane, Surface
from plangen.geometry.vectors import neg
from plangen.joinery.model import Feature, FeatureKind
from plangen.machining.hands import mirrored
from plangen.machining.posture import blade_normal, lying
from plangen.machining.settings import SNAP_ANGLE, SNAP_ERROR, Cut, moved, settings_of
from plangen.machining.setup import Machine, Setup, Stop, Tilt, Tool
from plangen.machining.work import Bench

LENGTH, WIDTH, THICK = 600.0, 90.0, 40.0
BLADE = Tool("blade", 2.6, diameter=254.0)
DRILL = Tool("drill", diameter=10.0)


def feature(name: str, kind: FeatureKind, *forms: Form) -> Feature:
    surfaces = tuple(Surface(f"{name}.{n}", form, name) for n, form in enumerate(forms, 1))
    cutters = (tuple(s.id for s in surfaces),)
    return Feature(name, kind, "shaped", "worked", None, None, Place("test", 1, 1), surfaces, cutters)


def end_cut(miter: float, bevel: float, width: float = WIDTH, machine: Machine = "mitre saw") -> Cut:
    """End B cut at these degrees, the back down, the edge at the fence, through a point of the near arris."""
    m, b = math.radians(miter), math.radians(bevel)
    bare = piece((LENGTH, width, THICK))
    planes = bare.blank.planes()
    normal = blade_normal(lying(planes["back"], planes["edge"]), m, b)
    at = (450.0, 0.0, THICK)
    outward = normal if normal[0] > 0 else neg(normal)
    end = feature("end 1", "end", Plane(outward, sum(p * q for p, q in zip(outward, at, strict=True))))
    stop = Stop("B", ("face", "edge"), 150.0, "B", at)
    setup = Setup(
        "A", "end 1", "shaped", "crosscut", machine, ("end 1.1",), (("end 1.1",),),
        tool=BLADE, surface_down="back", surface_against="edge", miter=m, bevel=b, stop=stop,
        waste="left" if normal[0] < 0 else "right",
    )  # fmt: skip
    work = Bench(piece((LENGTH, width, THICK), end)).work()
    return Cut(setup, work, work.after(end))


def bored(degrees: float, azimuth: float = 0.0) -> Cut:
    """A hole through the face, the work tilted on the drill press's table."""
    tilt = Tilt(math.radians(degrees), math.radians(azimuth)) if degrees else None
    planes = piece((LENGTH, WIDTH, THICK)).blank.planes()
    up = lying(planes["back"], planes["edge"], tilt).z
    entry = (300.0, 45.0, THICK)
    hole = feature("hole 1", "hole", Cylinder(entry, neg(up), 5.0, "hole"))
    setup = Setup(
        "A", "hole 1", "shaped", "bore", "drill press", ("hole 1.1",), (("hole 1.1",),), tool=DRILL,
        surface_down="back", surface_against="edge", tilt=tilt, depth_from="face", path=(entry,),
    )  # fmt: skip
    work = Bench(piece((LENGTH, WIDTH, THICK), hole)).work()
    return Cut(setup, work, work.after(hole))


def angles(cuts: Sequence[Cut]) -> list[tuple[float, float, int]]:
    """Of each setting: miter, bevel in degrees, and how many set-ups it serves."""
    found = settings_of(cuts)
    return [(round(math.degrees(s.miter), 6), round(math.degrees(s.bevel), 6), len(ids)) for s, ids in found]


class TestMerging:
    def test_near_settings_become_the_round_figure_between_them(self) -> None:
        cuts = [end_cut(9.98, 0.0), end_cut(10.03, 0.0)]
        assert angles(cuts) == [(10.0, 0.0, 2)]

    def test_the_angle_that_most_set_ups_have_is_taken_where_no_round_one_serves(self) -> None:
        cuts = [end_cut(11.73, 0.0), end_cut(11.70, 0.0), end_cut(11.70, 0.0)]
        ((setting, served),) = settings_of(cuts)
        assert served == (0, 1, 2)
        assert math.isclose(math.degrees(setting.miter), 11.70)

    def test_a_wide_board_keeps_its_own_setting_where_a_narrow_one_would_not(self) -> None:
        """0.1 degree is 0.16 mm across 90 mm, 0.05 mm across 30 mm."""
        assert len(angles([end_cut(20.25, 0.0), end_cut(20.35, 0.0)])) == 2
        assert len(angles([end_cut(20.25, 0.0, 30.0), end_cut(20.35, 0.0, 30.0)])) == 1

    def test_a_setting_for_one_angle_keeps_that_angle(self) -> None:
        ((setting, _),) = settings_of([end_cut(9.99, 3.01)])
        assert (setting.miter, setting.bevel, setting.snap_error) == (
            math.radians(9.99), math.radians(3.01), 0.0,
        )  # fmt: skip

    def test_machines_and_tools_are_never_one_setting(self) -> None:
        cuts = [end_cut(10.0, 0.0), end_cut(10.0, 0.0, machine="table saw")]
        assert len(settings_of(cuts)) == 2
        wide = replace(cuts[0], setup=replace(cuts[0].setup, tool=Tool("blade", 3.2, diameter=254.0)))
        assert len(settings_of([cuts[0], wide])) == 2

    def test_heads_of_one_width_but_for_rounding_are_one_tool(self) -> None:
        cut = end_cut(10.0, 0.0)
        wide = [replace(cut.setup, tool=Tool("head", 17.19285714285714 + off)) for off in (0.0, 7e-15)]
        assert len(settings_of([replace(cut, setup=s) for s in wide])) == 1

    def test_work_by_hand_needs_no_setting(self) -> None:
        cut = end_cut(10.0, 0.0)
        by_hand = replace(cut.setup, machine="hand", operation="by hand", by_hand="scribed shoulder")
        assert settings_of([replace(cut, setup=by_hand)]) == ()

    def test_tilts_are_near_only_where_they_point_the_same_way(self) -> None:
        assert len(settings_of([bored(10.0, 45.0), bored(10.02, 45.0)])) == 1
        assert len(settings_of([bored(10.0, 45.0), bored(10.0, 50.0)])) == 2


@settings(max_examples=20, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(-40, 40), st.sampled_from([-0.04, 0.0, 0.03, 0.12])), min_size=1, max_size=6
    ),
    st.sampled_from([0.0, 5.0]),
)
def test_no_setting_moves_its_work_farther_than_it_tells(rows: list[tuple[int, float]], bevel: float) -> None:
    cuts = [end_cut(round(m / 4) + off, bevel) for m, off in rows]
    found = settings_of(cuts)
    assert sorted(i for _, served in found for i in served) == list(range(len(cuts)))
    for setting, served in found:
        for i in served:
            off = moved(cuts[i], (setting.miter, setting.bevel, setting.tilt))
            assert off <= setting.snap_error + 1e-9 <= SNAP_ERROR + 2e-9
            assert abs(cuts[i].setup.miter - setting.miter) <= SNAP_ANGLE


@settings(max_examples=30, deadline=None)
@given(st.floats(-40, 40), st.floats(-30, 30), st.floats(-0.2, 0.2), st.floats(-0.2, 0.2))
def test_a_corner_moves_to_where_its_three_planes_meet(
    miter: float, bevel: float, more_miter: float, more_bevel: float
) -> None:
    """The four long arrises of the board meet the turned end: each corner solved from its planes with numpy."""
    cut = end_cut(miter, bevel)
    pose = (cut.setup.miter + math.radians(more_miter), cut.setup.bevel + math.radians(more_bevel), None)
    planes = cut.work.planes()
    at = np.array(cut.setup.stop.at) if cut.setup.stop else np.zeros(3)
    most = 0.0
    for flat in ("edge", "back edge"):
        for level in ("face", "back"):
            corners = []
            for m, b in ((cut.setup.miter, cut.setup.bevel), pose[:2]):
                # the fence along l, the back down: x of the machine is -l, y is -w, z is t
                n = np.array([-math.cos(m) * math.cos(b), -math.sin(m) * math.cos(b), -math.sin(b)])
                rows = [n, planes[flat].normal, planes[level].normal]
                corners.append(np.linalg.solve(rows, [n @ at, planes[flat].offset, planes[level].offset]))
            most = max(most, float(np.linalg.norm(corners[1] - corners[0])))
    assert abs(moved(cut, pose) - most) < 1e-6 + 1e-3 * most


@settings(max_examples=20, deadline=None)
@given(st.floats(-40, 40), st.floats(-30, 30), st.floats(-0.2, 0.2), st.floats(-0.2, 0.2))
def test_the_other_hand_is_off_by_as_much(miter: float, bevel: float, more: float, lean: float) -> None:
    drawn = end_cut(miter, bevel)
    other = replace(drawn, setup=mirrored(drawn.setup), drawn=False)
    a = moved(drawn, (drawn.setup.miter + math.radians(more), drawn.setup.bevel + math.radians(lean), None))
    b = moved(other, (other.setup.miter - math.radians(more), other.setup.bevel - math.radians(lean), None))
    assert abs(a - b) < 1e-9


def test_a_hole_is_off_at_its_far_end_by_the_depth_times_the_turn() -> None:
    cut = bored(0.0)
    off = moved(cut, (0.0, 0.0, Tilt(math.radians(0.1), 0.0)))
    assert abs(off - 2 * THICK * math.sin(math.radians(0.05))) < 1e-9


def test_what_cannot_be_told_is_never_merged() -> None:
    cut = end_cut(10.0, 0.0)
    odd = replace(cut.setup, operation="mould")
    assert moved(replace(cut, setup=odd), (0.17, 0.0, None)) == math.inf
