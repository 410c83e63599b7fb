"""Waste with a floor: trenches, tenons, slots and pockets come back from the numbers of their set-ups."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from cut_boards import assert_makes, cuts_of
from workshop import build_file

from plangen.machining.plane_ways import plane_ways
from plangen.tables.machines import SMALL_SHOP

ROOT = Path(__file__).parents[2]
DESIGNS = sorted(
    p
    for folder in ("designs", "tests/designs", "tests/designs/joints")
    for p in (ROOT / folder).glob("*.yaml")
)


@cache
def pieces():
    """(design, work, feature, ways) of every feature of several planes in every design."""
    found = []
    for path in DESIGNS:
        for member in build_file(path).model.members:
            for work, feature in cuts_of(member):
                if len(feature.surfaces) > 1:
                    found.append((path.stem, work, feature, plane_ways(work, feature, SMALL_SHOP)))
    return found


def test_every_piece_of_waste_in_every_design_comes_back_from_the_numbers():
    assert len(pieces()) > 100
    for _, work, feature, ways in pieces():
        for way in ways:
            assert_makes(work, feature, way)
