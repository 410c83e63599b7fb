"""Words beside joints: which member meets which cut."""

from __future__ import annotations

from pathlib import Path

import pytest
from worked_out import facts_of

from plangen.dimensioning.mates import mates_of
from plangen.facts import PlanFacts

ROOT = Path(__file__).parents[2]


@pytest.fixture(params=[ROOT / "designs/garden-gate.yaml"], ids=lambda p: p.stem)
def gate(request: pytest.FixtureRequest) -> PlanFacts:
    return facts_of(request.param)


def mates(facts: PlanFacts, name: str) -> dict[str, tuple[float, float, float]]:
    member = next(m for m in facts.model.members if m.instances[0].name == name)
    figures = next(f for f in facts.figures if f.mark == member.mark)
    return {m.text: m.at for m in mates_of(facts.model, member, figures.figures)}


def test_the_ends_of_a_rail_say_which_stile_each_goes_to(gate: PlanFacts) -> None:
    # end A is the left one: the hinges hang on the left post
    found = mates(gate, "bottom rail")
    assert found["TO A hinge stile"][0] < 100 < 700 < found["TO A latch stile"][0]


def test_a_mirrored_pair_of_stiles_names_the_rails_that_both_meet(gate: PlanFacts) -> None:
    found = mates(gate, "hinge stile")
    assert set(found) == {"TO B", "TO C"}
    assert found["TO B"][0] < found["TO C"][0]


def test_equal_boards_name_all_neighbours_of_each_edge(gate: PlanFacts) -> None:
    # the first board has the tongue that enters the second's groove, the last one only a groove
    assert set(mates(gate, "board 2")) == {"TO E, F", "TO F, G"}


def test_a_member_with_only_its_ends_cut_names_nothing(gate: PlanFacts) -> None:
    assert mates(gate, "brace") == {}


def test_pilot_holes_are_said_to_be_bored_on_the_work(gate: PlanFacts) -> None:
    # one bores through the board into the rail, never both apart (common practice)
    by_mark = {f.mark: " ".join(f.notes) for f in gate.figures}
    bored = {
        m.mark for m in gate.model.members if any(f.hole and f.hole.purpose == "pilot" for f in m.features)
    }
    assert bored
    assert all(("bore on the work" in by_mark[m]) == (m in bored) for m in by_mark)
