"""The set-up sheets of every design: what a maker reads there is what plan.json has, and all of it is there."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import pytest
from cut_plans import SHOPS, plan_of_file
from paper_cuts import FACES, forms_from_paper
from setup_paper import SetupPaper
from simulated_machine import setups_of as setups_of_member
from simulated_proof import apart, printed_forms
from worked_out import PROJECT, facts_of, given, sheets_of

from plangen.drawing.draft import free_field
from plangen.drawing.lettering import LEAST_FIGURE
from plangen.drawing.mark_geometry import drawn, extents
from plangen.drawing.marks import Group, Lettering, Mark, Sheet
from plangen.drawing.overlaps import overlaps

every_design = pytest.mark.parametrize("path", [*PROJECT, *SHOPS], ids=lambda p: p.stem)


@lru_cache(maxsize=2)
def setups_of(path: Path) -> SetupPaper:
    return SetupPaper.of(facts_of(path), tuple(s for s in sheets_of(path) if s.kind == "set-ups"))


def inside_frame(sheet: Sheet) -> list[Mark]:
    return [m for m in sheet.marks if not (isinstance(m, Group) and m.name in ("frame", "title block"))]


@every_design
def test_every_cut_stands_on_the_set_up_sheets(path: Path) -> None:
    assert sorted(setups_of(path).text.cuts) == sorted(s.index for s in facts_of(path).machining.setups)


@every_design
def test_the_text_of_the_set_up_sheets_gives_every_printed_number_of_every_cut(path: Path) -> None:
    assert setups_of(path).wrong_numbers() == {}


@every_design
def test_the_text_of_the_set_up_sheets_says_which_cuts_free_each_piece_of_waste(path: Path) -> None:
    assert setups_of(path).untold_waste() == []


@every_design
def test_each_card_of_the_set_up_sheets_has_its_picture(path: Path) -> None:
    assert setups_of(path).cards_without_picture() == 0


@every_design
def test_every_angled_setting_has_its_test_in_scrap(path: Path) -> None:
    assert setups_of(path).untested_settings() == []


@every_design
def test_no_lettering_of_the_set_up_sheets_is_small_or_stands_on_ink(path: Path) -> None:
    for sheet in setups_of(path).sheets:
        marks = inside_frame(sheet)
        letters = [m for m in drawn(marks) if isinstance(m, Lettering)]
        assert min(m.height for m in letters) >= LEAST_FIGURE
        found = {(o.text.text, getattr(o.other, "text", type(o.other).__name__)) for o in overlaps(marks)}
        assert found == set(), sheet.title


@every_design
def test_cards_stay_within_the_field_of_the_sheet(path: Path) -> None:
    for sheet in setups_of(path).sheets:
        left, foot, right, top = free_field(sheet.paper)
        # what stands over the field is the sheet's head
        cards = [m for m in drawn(inside_frame(sheet)) if extents([m])[1] < top - 0.5]
        x0, y0, x1, y1 = extents(cards)
        assert min(x0 - left, y0 - foot, right - x1, top - y1) >= 0.5, sheet.title


@every_design
def test_a_machine_that_only_reads_the_sheets_makes_what_the_printed_figures_say(path: Path) -> None:
    """PDF to words to cuts: every surface of every member and hand. That these figures move no corner farther than
    their steps can is proven of each design beside the simulated machine."""
    paper, plan = setups_of(path), plan_of_file(path)
    records = {s["index"]: s for s in plan.setups}
    for member in plan.made():
        for hand in plan.hands(member):
            made = forms_from_paper(member, hand, paper.cuts, records)
            printed = printed_forms(member, hand, plan.setups)
            names = paper.names(member["mark"], hand)
            sawn = [s for s in setups_of_member(plan.setups, member["mark"], hand) if not s["by_hand"]]
            for surface in (i for s in sawn for i in s["makes"]):
                own = made[FACES.get(names[surface], names[surface])]
                assert apart(own, printed[surface], member["blank"]) < 1e-5, (member["mark"], surface)


@given("three-leg-stool")
def test_a_leaning_legs_socket_is_told_by_its_sight_line_and_its_resultant_from_the_tilted_seat(
    path: Path,
) -> None:
    """Rake 10 and splay 12 from the floor on a seat tilted by 3 degrees are 59.8 and 13.7 from the seat: tan of the
    sight line is the ratio of the tangents of both slopes, tan of the resultant their root of squares (by hand)."""
    told = {words["fields"].get("Sight", "") for words in setups_of(path).text.cuts.values()}
    assert sum("59.8°" in t and "lean 13.7°" in t for t in told) == 2
    assert any("lean 21°" in t for t in told)
