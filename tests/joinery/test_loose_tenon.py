"""Loose tenons: equal mortises in both members, the tenons members of their own, square to the contact."""

import pytest
from butted import butted
from hypothesis import given, settings
from hypothesis import strategies as st
from soundness import assert_sound
from sticks import DEGREES, TAPERS, face, within
from workshop import build, findings_of, kernel_bodies, less

from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import cross, dot, neg, unit

ROOM = 25.4 / 16
TILTS = st.integers(-120, 120).map(lambda tenths: tenths / 10)


def loose(built):
    return [(m, i) for m in built.model.members for i in m.instances if m.name == "loose tenon"]


def round_about(member, instance, room):
    """World planes round a placed box, larger by the room at its sides."""
    found = []
    for axis, size, more in zip(instance.frame.axes, member.finished, (ROOM, room, room), strict=True):
        low = dot(axis, instance.frame.origin)
        found += [Plane(neg(axis), -low + more), Plane(axis, low + size + more)]
    return found


def test_each_member_is_its_body_less_the_tenons_and_their_room(tally):
    @settings(max_examples=10, deadline=None)
    @given(DEGREES, TILTS, TAPERS, st.sampled_from(["snug", "slide"]), st.integers(1, 2))
    def parted(lean, tilt, taper, fit, count):
        said = f"thickness: 9, width: 20, depth: 20, count: {count}, fit: {fit}"
        built = tally.build(butted(f"{{loose tenon: [rail, post], {said}}}", lean, tilt, taper))
        if built is None:
            return
        tenons, contact = loose(built), face(built, "post", "back edge")
        assert len(tenons) == count
        second = kernel_bodies(built)
        for member, instance in tenons:
            assert member.finished == pytest.approx((40, 20, 9))
            assert abs(dot(instance.frame.l, contact.normal)) == pytest.approx(1.0)
            assert abs(contact.distance(instance.frame.point((20, 10, 4.5)))) < 1e-6
            room = {"snug": 0.0, "slide": 0.2}[fit]
            void = within(*round_about(member, instance, room))
            second = {name: less(shape, void) for name, shape in second.items()}
        assert_sound(built, tally, {n: s for n, s in second.items() if n in ("rail", "post")})

    parted()


def test_it_lies_along_the_long_way_of_the_contact():
    built = build(butted("{loose tenon: [rail, post]}", lean=20))
    ((_, instance),) = loose(built)
    contact = face(built, "post", "back edge")
    long_way = unit(cross(contact.normal, built.instance("rail")[1].frame.t))
    assert abs(dot(instance.frame.w, long_way)) == pytest.approx(1.0)


def test_by_rule_it_is_a_third_as_thick_as_the_rail_and_no_wider_than_six_times_that():
    built = build(butted("{loose tenon: [rail, post]}"))
    assert [str(f) for f in built.findings] == []
    ((member, _),) = loose(built)
    assert member.finished[1:] == pytest.approx((60, 10))


def test_loose_tenons_alike_are_one_member():
    built = build(butted("{loose tenon: [rail, post], thickness: 9, width: 26, count: 2}"))
    (member,) = [m for m in built.model.members if m.name == "loose tenon"]
    assert member.quantity == 2
    assert member.is_plain


REFUSED = {
    "depth: 95": 'deep, leaves 0 mm of "post" beside or below it',
    "width: 90": "no room for 1 of 90 mm in 80 mm",
    "count: 4, width: 20": "no room for 4 of 20 mm in 80 mm",
    "set back: 0": 'leaves 0 mm of "rail" beside or below it',
}


@pytest.mark.parametrize("options", REFUSED)
def test_what_breaks_out_is_refused(options):
    text = butted(f"{{loose tenon: [rail, post], {options}}}")
    (found,) = [f for f in findings_of(text) if f.level == "error"]
    assert found.text.startswith('the loose tenons of "rail" and "post": ')
    assert REFUSED[options] in found.text


def test_a_thin_one_is_told():
    found = [
        f.text for f in findings_of(butted("{loose tenon: [rail, post], thickness: 5, width: 30, depth: 15}"))
    ]
    assert len(found) == 1
    assert "loose tenon: the thickness is 0.17 of the stock's thickness" in found[0]
