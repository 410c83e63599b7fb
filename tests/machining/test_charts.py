"""Printed saw settings against the set-ups of a modelled box: what the plan tells the maker is what the trade prints.

Each design says where boards stand and how they meet; mitre and bevel are those of ``setups`` in plan.json, the board
lying on its face or back. Scales here read 0 when square.
"""

import functools
import math

import pytest
from cut_plans import plan_of
from saw_charts import CROWN, corner, printed_chart, ring

# A table saw's quarter-degree table for sloping sides (from memory): tilt from plumb, then blade tilt and gauge (90 is
# square) of a four-sided butt, and of mitres of four, six and eight sides. No value is farther from vectors than 0.59.
QUARTER_DEGREES = """
 5   0.50 85.00   44.75 85.00   29.75 87.50   22.25 88.00
10   1.50 80.25   44.25 80.25   29.50 84.50   22.00 86.00
15   3.75 75.50   43.25 75.50   29.00 81.75   21.50 84.00
20   6.25 71.25   41.75 71.25   28.25 79.00   21.00 82.00
25  10.00 67.00   40.00 67.00   27.25 76.50   20.25 80.00
30  14.50 63.50   37.75 63.50   26.00 74.00   19.50 78.25
35  19.50 60.25   35.50 60.25   24.50 71.75   18.25 76.75
40  24.50 57.25   32.50 57.25   22.75 69.75   17.00 75.00
45  30.00 54.75   30.00 54.75   21.00 67.75   15.75 73.75
50  36.00 52.50   27.00 52.50   19.00 66.25   14.25 72.50
55  42.00 50.75   24.00 50.75   16.75 64.75   12.50 71.25
60  48.00 49.00   21.00 49.00   14.50 63.50   11.00 70.25
"""
WITHIN = 0.6
COLUMNS = [("butt", 4), ("mitre", 4), ("mitre", 6), ("mitre", 8)]

# Three bevels of a square hopper's squared board by its tilt from plumb: face, mitre on the edge, butt on the edge,
# worked out from the drawing steps of a trades pocketbook of about 1900 (steps read, arithmetic ours).
HOPPER = [
    (5, 4.9811, 44.8908, 0.4369),
    (10, 9.8511, 44.5615, 1.7538),
    (20, 18.8817, 43.2192, 7.0960),
    (30, 26.5651, 40.8934, 16.1021),
    (45, 35.2644, 35.2644, 35.2644),
    (50, 37.4537, 32.7324, 42.3941),
]

# A manual's worked example, printed to the whole degree, and its angles for equal sides, upright or flat (read)
EQUAL = [(4, 45.0), (5, 36.0), (6, 30.0), (7, 25.7), (8, 22.5), (9, 20.0), (10, 18.0)]


@functools.cache
def settings_of(text):
    """Mitre and bevel, degrees without their signs, of every end that meets another board, lying flat; and the same
    of the board on edge where that is told."""
    plan = plan_of(text)
    kind = {(m["mark"], f["id"]): f["kind"] for m in plan.members for f in m["features"]}
    cuts = [s for s in plan.setups if kind[s["member"], s["feature"]] in ("mitre", "end", "trim")]
    assert cuts
    for cut in cuts:
        assert cut["by_hand"] is None
        assert cut["operation"] == "crosscut"
        assert cut["surface_down"] in ("face", "back")
        assert cut["printed"]["miter"] == pytest.approx(cut["miter"], abs=0.05 + 1e-9)
        assert cut["printed"]["bevel"] == pytest.approx(cut["bevel"], abs=0.05 + 1e-9)
    on_edge = [c["alternative"] for c in cuts if c["alternative"] is not None]
    return [(abs(c["miter"]), abs(c["bevel"])) for c in cuts], [
        (abs(c["miter"]), abs(c["bevel"])) for c in on_edge
    ]


def inside_angle(sides):
    return 180 - 360 / sides


SLOPING = [key for key in printed_chart() if 0 < key[1] < 90]
BY_PITCH = {pitch: [key for key in SLOPING if key[1] == pitch] for _, pitch in SLOPING}
SAMPLE = [keys[i % len(keys)] for i, keys in enumerate(BY_PITCH.values())]
"""One number of sides at each pitch of the chart, in turn."""


@pytest.mark.parametrize(("sides", "pitch"), SAMPLE)
def test_a_mitred_side_is_set_as_the_printed_chart_says(sides, pitch):
    """A mitre-saw manual's chart, p. 24 (read). On edge, the side is one whose pitch is counted from plumb."""
    chart = printed_chart()
    flat, on_edge = settings_of(corner(pitch, inside_angle(sides)))
    for found, at in ((flat, pitch), (on_edge, 90 - pitch)):
        for setting, degrees in chart.get((sides, at), {}).items():
            for angles in found:
                assert angles[setting == "bevel"] == pytest.approx(degrees, abs=0.006)


@pytest.mark.parametrize(("sides", "pitch"), [(6, 25.0), (10, 45.0)])
def test_a_ring_of_copies_is_set_alike_at_both_ends(sides, pitch):
    flat, _ = settings_of(ring(sides, pitch))
    chart = printed_chart()[sides, pitch]
    assert len(flat) == 2
    for mitre, bevel in flat:
        assert mitre == pytest.approx(chart["mitre"], abs=0.006)
        assert bevel == pytest.approx(chart["bevel"], abs=0.006)


@pytest.mark.parametrize(("spring", "angle", "mitre", "bevel"), CROWN)
def test_a_crown_lying_flat_is_set_as_the_trades_charts_say(spring, angle, mitre, bevel):
    flat, _ = settings_of(corner(90 - spring, angle))
    assert len(flat) == 2
    for found in flat:
        assert found[0] == pytest.approx(mitre, abs=0.006)
        assert found[1] == pytest.approx(bevel, abs=0.014)


def quarter_degrees():
    """One column of the table at each tilt, in turn."""
    for i, line in enumerate(QUARTER_DEGREES.split("\n")[1:-1]):
        tilt, *values = (float(v) for v in line.split())
        joint, sides = COLUMNS[i % 4]
        yield tilt, joint, sides, values[2 * (i % 4)], values[2 * (i % 4) + 1]


@pytest.mark.parametrize(("tilt", "joint", "sides", "blade", "gauge"), list(quarter_degrees()))
def test_a_sloping_side_is_set_as_a_table_saws_quarter_degrees_say(tilt, joint, sides, blade, gauge):
    flat, _ = settings_of(corner(90 - tilt, inside_angle(sides), joint))
    for mitre, bevel in flat:
        assert 90 - mitre == pytest.approx(gauge, abs=WITHIN)
        assert bevel == pytest.approx(blade, abs=WITHIN)


@pytest.mark.parametrize(("tilt", "face", "mitre_edge", "butt_edge"), HOPPER)
def test_a_hoppers_boards_show_the_bevels_of_the_old_construction(tilt, face, mitre_edge, butt_edge):
    """What the saw leaves on the squared edge is a line square to the board's length but for atan(tan B / cos M)."""
    for joint, edge in (("mitre", mitre_edge), ("butt", butt_edge)):
        flat, _ = settings_of(corner(90 - tilt, 90, joint))
        for mitre, bevel in flat:
            assert mitre == pytest.approx(face, abs=1e-4)
            trace = math.atan(math.tan(math.radians(bevel)) / math.cos(math.radians(mitre)))
            assert math.degrees(trace) == pytest.approx(edge, abs=1e-4)


def test_a_box_with_an_outside_slope_of_26_degrees_is_the_manuals_worked_example():
    """Printed to the whole degree: mitre 42, bevel 18 (read)."""
    flat, _ = settings_of(corner(26, 90))
    for mitre, bevel in flat:
        assert (round(mitre), round(bevel)) == (42, 18)


@pytest.mark.parametrize(("sides", "printed"), EQUAL[::3])
@pytest.mark.parametrize("pitch", [0, 90])
def test_equal_sides_flat_or_upright_are_cut_at_half_their_turn(sides, printed, pitch):
    flat, _ = settings_of(corner(pitch, inside_angle(sides)))
    for mitre, bevel in flat:
        wanted = (printed, 0.0) if pitch == 0 else (0.0, printed)
        assert (mitre, bevel) == pytest.approx(wanted, abs=0.05)
