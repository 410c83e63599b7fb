"""Mortises that run into each other in a corner post, or into a bored hole, are found; mitred tenons may meet."""

from corner_post import corner
from workshop import findings_of

SIZES = "length: {}, width: 48, thickness: 8"


def met(**said):
    return [f for f in findings_of(corner(**said)) if f.rule == "mortises meet"]


def test_two_mortises_of_one_height_that_meet_are_told_with_both_tenons_names():
    """Tenons of 24 end 6 mm from the middle, their mortises 3.175 mm deeper: they share a corner 48 mm high."""
    (found,) = met(sizes=SIZES.format(24))
    assert found.level == "warning"
    side = 4 - (6 - 3.175)
    assert f"both cut {side * side * 48:.3g} mm3 of it" in found.text
    assert all(name in found.text for name in ('"side rail"', '"back rail"', '"post"'))


def test_where_the_tenons_too_meet_it_is_a_clash():
    found = findings_of(corner(sizes=SIZES.format(30)))
    assert {f.rule for f in found if f.level == "error"} == {"clash"}
    assert [f.rule for f in found if f.level == "warning"] == ["mortises meet"]


def test_shorter_tenons_or_one_set_higher_keep_apart():
    assert met(sizes=SIZES.format(20)) == []
    assert met(sizes=SIZES.format(30), level=440) == []


def test_tenons_mitred_to_each_other_may_meet():
    mitre = "{through point: [0, 0, 0], square to: [1, -1, 0]}"
    found = findings_of(corner(sizes="width: 48, thickness: 8", end=mitre, back=mitre))
    assert [str(f) for f in found] == []


def test_a_hole_that_runs_into_another_joints_mortise_is_an_error():
    """The side rail's tenon of 50 is pegged 23.5 from its shoulder, where the back rail's mortise stands."""
    text = corner(sizes=SIZES.format(20))
    text = text.replace("[side rail, post], length: 20", "[side rail, post], peg: 8, length: 50")
    (found,) = [f for f in findings_of(text) if f.level == "error"]
    assert found.text.startswith(
        'the peg hole of side rail to post mortise and tenon runs into the mortise for "back'
    )


def test_a_tenons_own_peg_is_no_such_hole():
    assert met(sizes=SIZES.format(20) + ", peg: 6", level=460) == []
