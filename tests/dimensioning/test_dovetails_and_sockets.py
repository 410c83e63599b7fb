"""Part sheets of dovetails and of round and tapered tenons: complete, and figured as the maker marks them."""

from __future__ import annotations

from pathlib import Path

import pytest

from plangen.dimensioning.proof import prove
from plangen.units import STYLES

JOINTS = Path(__file__).parents[1] / "designs" / "joints"
KINDS = ["through-dovetail", "half-blind-dovetail", "sliding-dovetail", "round-tenon", "taper-tenon"]


def sheets(sheets_of, kind):
    return sheets_of((JOINTS / f"{kind}.yaml").read_text(encoding="utf-8"))


def printed(sheets_of, kind, name):
    (figures,) = [f for m, f in sheets(sheets_of, kind) if m.name == name]
    return {f.id: f.printed for f in figures.figures}


@pytest.mark.parametrize("kind", KINDS)
def test_the_sheets_of_both_members_are_complete_and_say_nothing_twice(sheets_of, kind):
    for member, figures in sheets(sheets_of, kind):
        proof = prove(member, figures, STYLES["mm"])
        assert proof.undetermined == (), member.name
        assert proof.redundant == (), member.name


def test_tails_are_marked_across_the_end_from_the_face_edge(sheets_of):
    front = printed(sheets_of, "through-dovetail", "front")
    assert [text for name, text in front.items() if "tail from face edge" in name] == ["8", "48", "64", "104"]


def test_a_leaning_socket_has_its_resultant_and_sight_line(sheets_of):
    seat = printed(sheets_of, "taper-tenon", "seat")
    (note,) = [text for name, text in seat.items() if name.endswith("note")]
    # Splay 10 and rake 12: tan resultant = sqrt(tan2 10 + tan2 12), from the length tan = tan 12 / tan 10
    # (chair-making practice).
    assert note == "Ø 25 REAMED 6° THRU, LEANS 15.4° TOWARD END A AND FACE EDGE, SIGHT LINE 50.3°"


def test_a_blind_socket_in_a_round_leg_has_its_place_lean_and_depth(sheets_of):
    leg = printed(sheets_of, "round-tenon", "leg")
    assert leg["socket 1 centre from end A"] == "110"
    assert leg["socket 1 note"] == "Ø 23 x 23 DEEP, LEANS 5.9° TOWARD END B"
