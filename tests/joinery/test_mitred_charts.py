"""Printed saw settings against members that a mitre joint has cut: nothing here but the joint chooses the angle.

The designs say where two boards stand and ``mitre``; mitre and bevel are read off the surfaces of the cut member.
"""

import math

import pytest
from saw_charts import CROWN, corner, printed_chart, ring
from workshop import build

from plangen.geometry.surfaces import Plane


def settings_of(built, name):
    """Mitre on the face and tilt of the blade, degrees from square, of the one plane the joint cut."""
    feature = built.feature(name, "mitre")
    (plane,) = [s.form for s in feature.surfaces if isinstance(s.form, Plane)]
    along, across, out = plane.normal
    return abs(math.degrees(math.atan(across / along))), abs(math.degrees(math.asin(out)))


@pytest.mark.parametrize(("spring", "angle", "mitre", "bevel"), CROWN)
def test_a_crown_cut_flat_has_the_settings_of_the_trades_charts(spring, angle, mitre, bevel):
    """Lying on its back, a moulding that leans ``spring`` from the wall is a board at pitch 90 - spring."""
    built = build(corner(90 - spring, angle))
    for name in ("left board", "right board"):
        found = settings_of(built, name)
        assert found[0] == pytest.approx(mitre, abs=0.006)
        assert found[1] == pytest.approx(bevel, abs=0.014)


@pytest.mark.parametrize(
    ("sides", "pitch"), [key for key in printed_chart() if 0 < key[1] < 90 and key[0] in (4, 5, 6, 8, 10)]
)
def test_a_ring_of_mitred_sides_is_cut_as_the_printed_chart_says(sides, pitch):
    """One side written, the ring and the mitres asked for in a word each (a mitre-saw manual's chart, p. 24, read)."""
    built = build(ring(sides, pitch))
    (member,) = built.model.members
    assert member.quantity == sides
    planes = {s.id: s.form for f in member.features if f.kind == "mitre" for s in f.surfaces}
    assert len(planes) == 2
    for plane in planes.values():
        along, across, out = plane.normal
        found = {
            "mitre": abs(math.degrees(math.atan(across / along))),
            "bevel": abs(math.degrees(math.asin(out))),
        }
        for setting, degrees in printed_chart()[sides, pitch].items():
            assert found[setting] == pytest.approx(degrees, abs=0.006)
