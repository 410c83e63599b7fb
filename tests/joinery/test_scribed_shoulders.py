"""Shoulders on round, turned and curved posts: scribed they follow the post, flat they touch it and say so."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rounded import CURVED, STRAIGHT, TURNED, rounded
from soundness import assert_sound
from sticks import face, within
from workshop import build, common, findings_of, fused, kernel_bodies, less

from plangen.geometry.contact import contact_area
from plangen.geometry.surfaces import Plane
from plangen.geometry.vectors import dot, scale, sub, unit

DEEPER = 3.175
TURNS = st.integers(-120, 120).map(lambda tenths: tenths / 10)
LEANS = st.integers(-60, 60).map(float)


def parted(built, axis, end=0.0):
    """Rail and post from their bodies: the rail keeps its tenon, and what lies in front of the post."""
    bodies = kernel_bodies(built)
    placed = next(p for p in built.placed if p.name == "rail")
    sides = [face(built, "rail", s) for s in ("face", "back", "edge", "back edge")]
    prism = [p.shifted(-t) for p, t in zip(sides, (8.0, 8.0, 5.0, 5.0), strict=True)]
    point, way = axis
    into = scale(placed.frame.l, -1.0)
    into = unit(sub(into, scale(way, dot(into, way))))
    behind = Plane(into, dot(into, point)).flipped()
    rail = less(less(bodies["rail"], bodies["post"]), within(behind))
    rail = fused(rail, common(bodies["rail"], within(*prism)))
    floor = Plane((-1.0, 0.0, 0.0), -end + DEEPER)
    return {"rail": rail, "post": less(bodies["post"], within(*prism, floor))}


@pytest.mark.parametrize("post", ["straight", "turned"])
def test_a_scribed_rail_lies_against_its_round_whatever_the_angle(tally, post):
    made = {"straight": STRAIGHT, "turned": TURNED}[post]

    @settings(max_examples=6, deadline=None)
    @given(TURNS, LEANS, LEANS)
    def scribed(turn, lean, tilt):
        built = tally.build(rounded("width: 30", made, turn, lean=lean, tilt=tilt))
        if built is None:
            return
        top = (lean, tilt, 500.0)
        assert_sound(built, tally, parted(built, ((0.0, 0.0, 0.0), unit(top))))

    scribed()


def test_the_shoulder_touches_over_its_whole_face():
    """Beside the tenon: two strips of 8 mm at its cheeks and two of 5 mm at its edges, wrapped round 35 mm."""
    built = build(rounded("width: 30"))
    (rail, ir), (post, ip) = built.instance("rail"), built.instance("post")
    deep = math.sqrt(35**2 - 4**2)
    inside = 2 * 30 * deep + 2 * 2 * 35**2 * (math.asin(4 / 35) + 4 * deep / 35**2) / 2
    wrapped = 2 * 35 * math.asin(12 / 35)
    shoulder = wrapped * 40 - 2 * 35 * math.asin(4 / 35) * 30
    assert contact_area(rail.solid, ir.frame, post.solid, ip.frame, 1e-6) == pytest.approx(
        inside + shoulder, rel=1e-3
    )


@pytest.mark.parametrize("bows", ["in", "out"])
def test_the_shoulder_follows_a_curved_edge(bows):
    built = build(rounded("width: 30", CURVED, end=-5.0, bows=bows))
    (rail, ir), (post, ip) = built.instance("rail"), built.instance("post")
    radius = (500**2 / 4 + 24**2) / 48
    at_edge = radius - math.sqrt(radius**2 - 20**2)
    # Between the shoulder's middle and its arrises the curve falls away by as much.
    reach = [v[0] for v in (ir.frame.point(tuple(v)) for v in rail.solid.vertices.tolist()) if v[0] > -4]
    sagitta = 45 - 24 + at_edge if bows == "in" else 45 - at_edge
    assert min(reach) == pytest.approx(21 if bows == "in" else sagitta, abs=1.0)
    area = contact_area(rail.solid, ir.frame, post.solid, ip.frame, 1e-6)
    deep = (21 if bows == "in" else 45) + 5
    assert area == pytest.approx(2 * deep * 38 + 40 * 24 - 30 * 8, rel=0.02)


def test_a_flat_shoulder_touches_the_round_and_the_gap_is_told():
    """The gap is the sagitta of the rail's 24 mm on a radius of 35 mm: 35 - sqrt(35^2 - 12^2) = 2.12 mm."""
    built = build(rounded("width: 30, shoulder: flat"))
    (found,) = built.findings
    assert found.level == "note"
    assert 'stands off "post" by up to 2.121 mm' in found.text
    shoulder = [s.form for s in built.feature("rail", "tenon").surfaces if abs(s.form.normal[0]) > 0.9]
    (plane,) = {p.offset for p in shoulder}
    at = built.instance("rail")[1].frame.point((abs(plane), 0, 0))
    assert at[0] == pytest.approx(35.0)


def test_the_length_is_counted_from_where_the_round_is_touched():
    built = build(rounded("width: 30, length: 20"))
    assert built.member("rail").finished[0] == pytest.approx(300 - 35 + 20)


def test_a_rail_wider_than_the_round_cannot_be_scribed():
    (found,) = [f for f in findings_of(rounded("width: 30", thick=72)) if f.level == "error"]
    assert found.text.startswith('the shoulder of "rail" cannot be scribed to "post": it reaches 36 mm')
