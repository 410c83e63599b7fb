"""The order of cuts: what comes first by the trade, what is cheaper first, and what an order spares."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
import worked_out
from hypothesis import given, settings
from hypothesis import strategies as st
from machining.round_rebuilding import piece
from worked_out import PROJECT, facts_of, piece_of

from plangen.findings import Place
from plangen.geometry.solid import GeometryError
from plangen.geometry.surfaces import Form, Plane, Surface
from plangen.joinery.model import Feature, FeatureKind, Member, Stage
from plangen.machining import order as order_module
from plangen.machining.order import Binding, CutOrder, Trials, keep_heaviest, order_cuts, used_surfaces
from plangen.machining.planning import plan_cuts, plan_member
from plangen.machining.posture import levelling, lying
from plangen.machining.setup import Machining, Operation, Setup, Tilt, Way
from plangen.machining.spared import spared_by_offcuts, spared_by_order
from plangen.machining.work import Work
from plangen.tables.machines import SMALL_SHOP, Shop

BOARD = (600.0, 90.0, 40.0)
SLOPE = math.radians(3.0)


def feature(name: str, kind: FeatureKind, *forms: Form, stage: Stage = "shaped") -> Feature:
    """One cutter of the given forms."""
    surfaces = tuple(Surface(f"{name}.{n}", form, name) for n, form in enumerate(forms, 1))
    cutters = (tuple(s.id for s in surfaces),)
    return Feature(name, kind, stage, "worked", None, None, Place("test", 1, 1), surfaces, cutters)


def taper() -> Feature:
    """Off the face edge, 3 degrees, nothing at end A."""
    return feature("taper 1", "taper", Plane((math.sin(SLOPE), -math.cos(SLOPE), 0.0), 0.0))


def notch(stage: Stage = "shaped") -> Feature:
    """A trench in the face edge, its floor parallel to the back edge."""
    floor = Plane((0.0, -1.0, 0.0), -50.0)
    return feature(
        "notch 1", "notch", Plane((1.0, 0.0, 0.0), 300.0), floor, Plane((-1.0, 0.0, 0.0), -340.0), stage=stage
    )


def trench_ways(work: Work, of: Feature, shop: Shop) -> tuple[Way, ...]:
    """A trench lies on the edge opposite, which must not slope: else a wedge goes under it. A taper costs the same
    at any time."""
    if of.kind != "notch":
        return (Way((setup_of(work.member, of, "taper", "back"),), 1.0),)
    planes = work.planes()
    if "taper 1" not in work.done:
        return (Way((setup_of(work.member, of, "trench", "edge"),), 1.0),)
    down = planes["taper 1.1"]
    tilt = levelling(lying(down, planes["back"]), planes["edge"].normal)
    return (Way((setup_of(work.member, of, "trench", "taper 1.1", tilt),), 2.5),)


def setup_of(member: Member, of: Feature, operation: Operation, down: str, tilt: Tilt | None = None) -> Setup:
    return Setup(
        member.mark, of.id, of.stage, operation, "trenching head",
        tuple(s.id for s in of.surfaces), of.cutters, surface_down=down, surface_against="back",
        tilt=tilt, jig=None if tilt is None else "wedge",
    )  # fmt: skip


def ordered(monkeypatch: pytest.MonkeyPatch, *features: Feature) -> tuple[Trials, CutOrder]:
    monkeypatch.setattr(order_module, "ways_to_make", trench_ways)
    trials = Trials(piece(BOARD, *features), SMALL_SHOP)
    return trials, order_cuts(trials)


def names(order: CutOrder) -> list[str]:
    return [s.feature.id for s in order.steps]


class TestOrderByCost:
    def test_a_trench_is_cut_while_the_leg_still_lies_flat(self, monkeypatch: pytest.MonkeyPatch) -> None:
        trials, order = ordered(monkeypatch, taper(), notch())
        assert names(order) == ["notch 1", "taper 1"]
        assert Binding("notch 1", "taper 1", 1.5) in order.bindings
        (spared,) = spared_by_order(trials, order)
        assert (spared.feature, spared.before) == ("notch 1", "taper 1")
        assert spared.text == "notch 1 before taper 1: the board still lies flat, no wedge"
        assert all(s.jig is None for step in order.steps if step.way for s in step.way.setups)

    def test_the_offcut_of_the_taper_is_the_wedge_where_the_stage_is_later(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        trials, order = ordered(monkeypatch, taper(), notch("on the work"))
        assert names(order) == ["taper 1", "notch 1"]
        (spared,), bindings = spared_by_offcuts(trials, order)
        assert (spared.feature, spared.before) == ("notch 1", "taper 1")
        assert (
            spared.text == "keep the offcut of taper 1: it is the wedge for notch 1, laid back in its place"
        )
        assert bindings == (Binding("taper 1", "notch 1", math.inf),)

    def test_stages_outweigh_any_saving(self, monkeypatch: pytest.MonkeyPatch) -> None:
        late = notch("assembled")
        _, order = ordered(monkeypatch, late, taper())
        assert names(order) == ["taper 1", "notch 1"]

    def test_what_lies_far_apart_is_left_free(self, monkeypatch: pytest.MonkeyPatch) -> None:
        a = feature("end 1", "end", Plane((-1.0, 0.0, 0.0), -10.0))
        b = feature("end 2", "end", Plane((1.0, 0.0, 0.0), 590.0))
        _, order = ordered(monkeypatch, a, b)
        assert order.bindings == ()

    def test_a_cut_that_the_shop_cannot_make_is_told_and_the_rest_is_planned(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(
            order_module,
            "ways_to_make",
            lambda work, of, shop: () if of.kind == "taper" else trench_ways(work, of, shop),
        )
        trials = Trials(piece(BOARD, taper(), notch()), SMALL_SHOP)
        plan = plan_member(trials, order_cuts(trials))
        assert [s.feature for s in plan.setups] == ["notch 1"]
        assert plan.beyond == ("board: a small shop has no way to make taper 1",)

    @worked_out.given("garden-gate")
    def test_a_plan_that_fails_is_told_and_never_raised(
        self, path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def broken(work: Work, of: Feature, shop: Shop) -> tuple[Way, ...]:
            raise ZeroDivisionError("a plane without a direction")

        monkeypatch.setattr(order_module, "ways_to_make", broken)
        planned = plan_cuts(piece_of(path), SMALL_SHOP)
        assert planned.setups == ()
        assert "brace: its cuts could not be planned (a plane without a direction)" in planned.beyond

    def test_a_state_that_cannot_be_built_is_no_way(self, monkeypatch: pytest.MonkeyPatch) -> None:
        def unbuildable(work: Work, of: Feature, shop: Shop) -> tuple[Way, ...]:
            raise GeometryError("no solid")

        monkeypatch.setattr(order_module, "ways_to_make", unbuildable)
        trials = Trials(piece(BOARD, taper()), SMALL_SHOP)
        assert trials.best(trials.member.features[0], ()) is None


@st.composite
def wishes(draw: st.DrawFn) -> tuple[list[str], list[Binding]]:
    ids = [f"cut {n}" for n in range(draw(st.integers(2, 6)))]
    pairs = st.tuples(st.sampled_from(ids), st.sampled_from(ids)).filter(lambda p: p[0] != p[1])
    row = draw(st.lists(st.tuples(pairs, st.sampled_from([0.1, 0.5, 1.0, 2.0, math.inf])), max_size=12))
    return ids, [Binding(a, b, w) for (a, b), w in row]


@settings(max_examples=60, deadline=None)
@given(wishes())
def test_what_is_given_up_contradicts_nothing_lighter(wish: tuple[list[str], list[Binding]]) -> None:
    """Everything kept can be obeyed at once; what is not kept follows from, or contradicts, what weighs as much."""
    ids, bindings = wish
    kept = keep_heaviest(ids, bindings)
    assert follows(ids, kept) is not None
    for b in bindings:
        heavy = follows(ids, [k for k in kept if k.saves >= b.saves])
        assert heavy is not None
        assert b.later in heavy[b.earlier] or b.earlier in heavy[b.later]


def follows(ids: list[str], bindings: list[Binding]) -> dict[str, set[str]] | None:
    """All that comes after each, by Warshall's closure; None where something comes after itself."""
    after = {i: {b.later for b in bindings if b.earlier == i} for i in ids}
    for k in ids:
        for i in ids:
            if k in after[i]:
                after[i] |= after[k]
    return None if any(i in after[i] for i in ids) else after


def project(*names: str) -> list[Path]:
    return [p for p in PROJECT if p.stem in names]


@pytest.fixture(params=project("potting-bench", "splayed-trestle"), ids=lambda p: p.stem)
def planned(request: pytest.FixtureRequest) -> tuple[dict[str, Member], Machining]:
    """Planned for the small workshop that is meant where a design names none."""
    return {m.mark: m for m in piece_of(request.param).members}, facts_of(request.param).machining


class TestWholeDesigns:
    def test_every_surface_is_made_once_for_each_hand(
        self, planned: tuple[dict[str, Member], Machining]
    ) -> None:
        members, machining = planned
        for member in members.values():
            wanted = sorted(s.id for f in member.features for s in f.surfaces)
            for hand in {i.hand for i in member.instances} if member.drawn else {None}:
                own = [s for s in machining.setups if (s.member, s.hand) == (member.mark, hand)]
                assert sorted(i for s in own for i in s.makes) == wanted, member.name
                assert [s.sequence for s in own] == list(range(1, len(own) + 1))

    def test_what_the_work_lies_on_is_there_at_that_moment(
        self, planned: tuple[dict[str, Member], Machining]
    ) -> None:
        members, machining = planned
        for member in members.values():
            bench, done = Trials(member, SMALL_SHOP).bench, set[str]()
            for setup in (s for s in machining.setups if (s.member, s.hand) == (member.mark, member.drawn)):
                work = bench.work(done)
                planes = work.planes()
                own = {s.id: s.form for f in member.features if f.id == setup.feature for s in f.surfaces}
                for used in used_surfaces(setup):
                    assert used in own or work.corners(planes[used]), (member.name, setup.feature, used)
                done.add(setup.feature)

    def test_settings_serve_every_machine_cut_once(
        self, planned: tuple[dict[str, Member], Machining]
    ) -> None:
        _, machining = planned
        served = [i for s in machining.settings for i in s.setups]
        by_machine = [s.index for s in machining.setups if s.machine != "hand"]
        assert sorted(served) == by_machine
        assert [s.index for s in machining.setups] == list(range(1, len(machining.setups) + 1))
        assert len(machining.settings) <= machining.least_changes <= machining.changes

    @worked_out.given("potting-bench")
    def test_the_wide_hole_comes_before_the_narrow_one_on_its_axis(self, path: Path) -> None:
        member = facts_of(path).model.instance("rail right")[0]
        order = order_cuts(Trials(member, SMALL_SHOP))
        assert names(order).index("spot-face 1") < names(order).index("hole 1")
        assert Binding("spot-face 1", "hole 1", math.inf) in order.bindings

    def test_nothing_of_an_assembly_is_cut_before_the_last_cut_at_the_bench(
        self, planned: tuple[dict[str, Member], Machining]
    ) -> None:
        stages = ["square", "shaped", "glued", "assembled", "on the work"]
        phases = [max(1, stages.index(s.stage)) for s in planned[1].setups]
        assert phases == sorted(phases)


@pytest.fixture(params=project("three-leg-stool"), ids=lambda p: p.stem)
def stool(request: pytest.FixtureRequest) -> Machining:
    return facts_of(request.param).machining


class TestTurnedWork:
    def test_holes_are_bored_while_the_blank_has_flats(self, stool: Machining) -> None:
        for mark in "CD":
            own = [s for s in stool.setups if s.member == mark and s.hand != "left"]
            bored = max(s.sequence for s in own if s.feature == "socket 1")
            assert bored < min(s.sequence for s in own if s.machine == "lathe")
            assert all(s.jig is None for s in own if s.feature == "socket 1")
        texts = [s.text for s in stool.spared if s.member == "C"]
        assert texts == ["socket 1 before turned 1: the rear leg still has a flat to lie on, no cradle"]

    def test_a_hole_that_would_start_over_an_arris_waits_for_the_lathe(self, stool: Machining) -> None:
        """The front legs' sockets stand 42 degrees off the nearest face of the square blank: the drill would skid."""
        own = [s for s in stool.setups if (s.member, s.hand) == ("B", "right")]
        bored = [s for s in own if s.feature == "socket 1"]
        assert min(s.sequence for s in bored) > max(s.sequence for s in own if s.machine == "lathe")
        assert all((s.jig or "").startswith("cradle") for s in bored)

    def test_all_is_turned_in_one_mounting_with_the_ends_square(self, stool: Machining) -> None:
        for mark in "BCDE":
            own = [s for s in stool.setups if s.member == mark and s.hand != "left"]
            places = [s.sequence for s in own if s.machine == "lathe"]
            assert places == list(range(places[0], places[-1] + 1))
            aslant = [s.sequence for s in own if s.operation == "crosscut" and (s.miter or s.bevel)]
            assert all(p > places[-1] for p in aslant)
