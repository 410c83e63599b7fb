"""Round tenons: sockets along the stretcher's axis, shoulders that touch, wedges across the grain, at any rake."""

import math
from dataclasses import dataclass

import pytest
from brep_kernel import kernel_volume
from hypothesis import given, settings
from hypothesis import strategies as st
from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
from soundness import assert_order_free, assert_sound
from workshop import build, common, findings_of, fused, half_space, kernel_bodies, less

from plangen.geometry.surfaces import Cylinder, Plane
from plangen.geometry.vectors import along, dot, scale

DEEPER = 25.4 / 16
"""1/16 in of room below the tenon (common practice)."""


@dataclass(frozen=True)
class Rung:
    """A rung into a post 60 x 50, or into a round one of 50; the rung's way by tangents to the right and up."""

    rear: float = 0.0
    up: float = 0.0
    rung: str = "diameter: 30"
    post: str = "square post"
    into: float = 30.0
    more: str = ", diameter: 20"
    taper: str = ""
    deep: float = 50.0

    def at(self, out: float) -> str:
        """A point of the rung's axis, which comes out of the post's right face 200 mm up."""
        return f"[{30 + out:.6f}, {out * self.rear:.6f}, {200 + out * self.up:.6f}]"

    @property
    def text(self) -> str:
        ends = [self.at(-self.into), self.at(200 - self.into)]
        size = "diameter: 50" if self.post == "round post" else f"thickness: {self.deep}"
        return f"""title: Rung
units: mm
stock:
  post wood: {{ask for: oak, species: oak, width: 60}}
  rung wood: {{ask for: ash, species: ash, thickness: 30}}
members:
  post:
    stock: post wood
    {size}
    length: 400
    place: {{from: [0, 0, 0], to: [0, 0, 400], face: front}}
{self.taper}  rung:
    stock: rung wood
    {self.rung}
    length: 250
    place:
      from: {ends[0]}
      to: {ends[1]}
joints:
  - {{round tenon: [rung, post]{self.more}}}
"""


def parts(built):
    return (next(p for p in built.placed if p.name == n) for n in ("rung", "post"))


def test_a_blind_socket_is_a_sixteenth_of_an_inch_deeper_than_the_tenon_is_long():
    built = build(Rung(into=25).text)
    assert built.findings == ()
    post, rung = built.member("post"), built.member("rung")
    assert rung.solid.volume == pytest.approx(225 * math.pi * 15**2 + 25 * math.pi * 10**2)
    assert 400 * 60 * 50 - post.solid.volume == pytest.approx((25 + DEEPER) * math.pi * 10**2)
    hole = built.feature("post", "socket").hole
    assert (hole.purpose, hole.diameter, hole.depth) == ("socket", 20.0, pytest.approx(25 + DEEPER))


def test_without_a_diameter_the_tenon_is_a_bit_of_half_to_three_fifths_of_the_leg():
    built = build(Rung(post="round post", into=25, more="").text)
    (post,) = [s.form for s in built.feature("rung", "round tenon").surfaces if isinstance(s.form, Cylinder)]
    assert 0.5 * 50 <= 2 * post.radius <= 0.6 * 50  # common practice
    assert 2 * post.radius == 27


def test_a_rung_no_thicker_than_its_tenon_goes_in_without_a_shoulder():
    built = build(Rung(rung="diameter: 20", into=25).text)
    assert built.findings == ()
    assert [f.kind for f in built.member("rung").features] == ["round"]


def test_a_square_rung_has_a_round_tenon_and_a_square_shoulder():
    built = build(Rung(rung="width: 30", into=25).text)
    assert built.findings == ()
    assert built.member("rung").solid.volume == pytest.approx(225 * 30 * 30 + 25 * math.pi * 100)


def test_a_flat_shoulder_on_a_leaning_face_stands_square_to_the_rung_where_it_first_touches():
    built = build(Rung(up=0.3, into=25).text)
    rung = built.instance("rung")[1].frame
    (shoulder,) = [
        f for f in built.world_surfaces("rung", built.feature("rung", "round tenon")) if isinstance(f, Plane)
    ]
    assert abs(dot(shoulder.normal, rung.l)) == pytest.approx(1.0, abs=1e-12)
    # On its axis the rung passes the post's face (x = 30) nearer to its end; the rim of 30 mm touches first.
    entry = (30, 0, 200)
    assert abs(shoulder.distance(entry)) == pytest.approx(15 * 0.3, abs=1e-9)


def test_a_scribed_shoulder_follows_the_round_of_the_post():
    flat, scribed = (
        build(Rung(post="round post", into=25, more=f", diameter: 20{more}").text)
        for more in ("", ", shoulder: scribed")
    )
    assert [str(f) for f in scribed.findings] == []
    assert scribed.member("rung").solid.volume > flat.member("rung").solid.volume
    forms = [s.form for s in scribed.feature("rung", "round tenon").surfaces]
    assert any(isinstance(f, Cylinder) and f.radius == pytest.approx(25) for f in forms)


def test_a_length_that_is_said_is_the_tenons_from_its_shoulder():
    built = build(Rung(into=40, more=", diameter: 20, length: 28").text)
    assert built.member("rung").solid.volume == pytest.approx(210 * math.pi * 225 + 28 * math.pi * 100)


def test_a_through_tenon_stands_proud_and_its_wedge_is_set_across_the_posts_grain():
    built = build(Rung(into=80, more=", diameter: 20, proud: 5, wedges: 1").text)
    assert built.findings == ()
    assert built.member("rung").finished[0] == pytest.approx(170 + 60 + 5)
    kerf = built.feature("rung", "kerf")
    walls = [f for f in built.world_surfaces("rung", kerf) if abs(dot(f.normal, (0, 0, 1))) > 0.5]
    # The kerf's sides look up and down the post: the wedge presses along its grain.
    assert len(walls) == 2
    assert all(abs(f.normal[2]) == pytest.approx(1.0) for f in walls)
    assert kerf.note.endswith("across the grain of post")
    assert [(h.name, h.quantity) for h in built.model.hardware] == [("wedge", 1)]
    assert built.feature("post", "socket").hole.depth is None


def test_a_through_socket_is_bored_from_the_side_that_is_named():
    near, far = (
        build(Rung(into=80, more=f", diameter: 20, bored from: {side}").text).feature("post", "socket").hole
        for side in ("right", "left")
    )
    assert dot(near.axis, far.axis) == pytest.approx(-1.0)
    assert math.dist(near.entry, far.entry) == pytest.approx(60.0)


def test_pegs_hold_a_round_tenon():
    built = build(Rung(into=40, more=", diameter: 20, peg: 6").text)
    assert [f.rule for f in built.findings if f.level != "warning"] == []
    assert built.feature("post", "peg hole").hole.diameter == 6
    assert built.feature("rung", "peg hole").hole.diameter == 6


# --- on random members --------------------------------------------------------------------------------------

tangents = st.integers(-70, 70).filter(lambda t: abs(t) > 1).map(lambda hundredths: hundredths / 100)


def rod(start, way, radius, far):
    return BRepPrimAPI_MakeCylinder(gp_Ax2(gp_Pnt(*start), gp_Dir(*way)), radius, far).Shape()


def bored(built, bodies, deep=None, room=0.0):
    """The post less its socket, from the rung's axis and the post's body alone."""
    rung, _ = parts(built)
    far = rung.frame.point((rung.body.size[0] + 50, 15, 15))
    into = scale(rung.frame.l, -1)
    hole = rod(far, into, 10 + room, 600)
    if deep is not None:
        end = rung.frame.point((0, 15, 15))
        floor = along(end, into, deep)
        hole = common(hole, half_space(Plane(into, dot(into, floor))))
    return less(bodies["post"], hole)


def turned(built, bodies):
    """The rung turned down to its tenon beyond the shoulder that the model has."""
    rung, _ = parts(built)
    shoulders = [
        f for f in built.world_surfaces("rung", built.feature("rung", "round tenon")) if isinstance(f, Plane)
    ]
    (shoulder,) = shoulders
    start = rung.frame.point((0, 15, 15))
    tenon = rod(along(start, rung.frame.l, -1), rung.frame.l, 10, 300)
    return fused(common(bodies["rung"], half_space(shoulder)), common(bodies["rung"], tenon))


@pytest.mark.parametrize("rung", ["diameter: 30", "width: 30"])
def test_round_tenons_are_sound_at_any_angle(tally, rung):
    @settings(max_examples=12, deadline=None)
    @given(
        tangents, tangents, st.sampled_from(["", "    taper: {at end A: 60, at end B: 40}\n"]), st.booleans()
    )
    def joined(rear, up, taper, through):
        built = tally.build(Rung(rear, up, rung, into=120 if through else 30, taper=taper, deep=130).text)
        if built is None:
            return
        bodies = kernel_bodies(built)
        deep = None if through else DEEPER
        second = {"post": bored(built, bodies, deep), "rung": turned(built, bodies)}
        assert_sound(built, tally, second)
        # The shoulder touches: a hair farther and rung and post would share wood.
        (shoulder,) = [
            f
            for f in built.world_surfaces("rung", built.feature("rung", "round tenon"))
            if isinstance(f, Plane)
        ]
        rung_, _ = parts(built)
        tenon = rod(rung_.frame.point((-60, 15, 15)), rung_.frame.l, 10 + 1e-6, 400)
        ring = less(common(bodies["rung"], half_space(shoulder.shifted(0.02))), tenon)
        assert kernel_volume(common(ring, bodies["post"])) > 0
        ring = less(common(bodies["rung"], half_space(shoulder.shifted(-1e-4))), tenon)
        assert kernel_volume(common(ring, bodies["post"])) < 1e-9

    joined()


def test_round_tenons_in_round_posts_are_sound_at_any_rake(tally):
    @settings(max_examples=12, deadline=None)
    @given(tangents, st.integers(-3, 3))
    def joined(up, off):
        text = Rung(0.0, up, post="round post", into=36).text.replace(
            "to: [0, 0, 400]", f"to: [0, {off}, 400]"
        )
        built = tally.build(text)
        if built is None:
            return
        bodies = kernel_bodies(built)
        second = {"post": bored(built, bodies, DEEPER), "rung": turned(built, bodies)}
        assert_sound(built, tally, second)

    joined()


def test_the_order_of_joints_does_not_matter():
    text = Rung(up=0.2, into=40).text
    other = "  rung above:\n    like: rung\n    place: {from: [-10, 0, 300], to: [190, 0, 310]}\n"
    text = text.replace("joints:\n", other + "joints:\n")
    assert_order_free(text + "  - {round tenon: [rung above, post], diameter: 18}\n")


# --- what is refused, and advice ----------------------------------------------------------------------------


def errors(text):
    return [f.text for f in findings_of(text) if f.level == "error"]


@pytest.mark.parametrize(
    ("more", "into", "told"),
    [
        (", diameter: 34", 25, 'the round tenon: "rung" is thinner than its tenon of 34 mm'),
        (", diameter: 20", 57.5, 'the round tenon: its socket breaks out of "post" at the far side'),
        (", diameter: 20, length: 40", 25, 'the round tenon: "rung" ends 15 mm short of a tenon 40 mm long'),
        (", diameter: 20, proud: 3", 25, "the round tenon: only a through tenon stands proud"),
        (", diameter: 20, wedges: 1", 25, "the round tenon: only a through tenon is wedged"),
        (", diameter: 20, proud: 30", 80, 'the round tenon: "rung" ends 10 mm short of standing 30 mm proud'),
        (
            ", diameter: 20, bored from: top",
            80,
            'the round tenon: the socket does not come to the top of "post"',
        ),
        (
            ", diameter: 20, bored from: left",
            25,
            "the round tenon: a blind socket is bored from the side where the tenon enters",
        ),
    ],
)
def test_what_cannot_be_bored_is_refused_in_words(more, into, told):
    assert errors(Rung(more=more, into=into).text) == [told]


def test_a_socket_at_the_very_side_of_the_post_is_refused():
    text = Rung(into=25).text.replace("-0.0", "0.0").replace(", 0.000000,", ", 18,")
    assert errors(text) == ['the round tenon: its socket breaks out of "post" at the side']


def test_a_rung_that_enters_end_grain_cannot_be_wedged():
    text = Rung(into=60, more=", diameter: 20, wedges: 1").text
    text = text.replace("length: 400", "length: 40").replace(
        "[0, 0, 0], to: [0, 0, 400]", "[30, 0, 200], to: [-10, 0, 200]"
    )
    assert errors(text) == [
        'the round tenon: it enters the end grain of "post"; a wedge would split it whichever way it is set'
    ]


def test_a_tenon_of_more_than_three_fifths_of_the_leg_is_advised_against():
    (found,) = findings_of(Rung(into=25, more=", diameter: 30", deep=48).text)
    assert found.level == "warning"
    assert "its diameter is 0.62 of the width of the member it enters" in found.text


@pytest.mark.parametrize(
    ("more", "runs_on"), [(", length: 25", 25), ("", 40), (", wedges: 1", 60), (", proud: 4, wedges: 1", 64)]
)
def test_a_rung_trimmed_by_the_posts_face_runs_on_by_its_tenon(more, runs_on):
    text = Rung(into=25, more=f", diameter: 20{more}").text
    text = text.replace("    length: 250\n", "").replace(
        "joints:\n", "    trim: {left end: post.right}\njoints:\n"
    )
    built = build(text)
    assert [str(f) for f in built.findings] == []
    assert built.member("rung").finished[0] == pytest.approx(175 + runs_on)


BESIDE = """title: T
units: mm
stock:
  post wood: {{ask for: beech, species: beech, width: 70, thickness: 44}}
  rail wood: {{ask for: beech, species: beech, width: 84, thickness: 28}}
planes:
  post wall:
    through line: {{from: [0, 0, 0], going: rear}}
    lean: {{by: 9 deg, toward: left, going: up, measured: from plumb}}
members:
  post:
    stock: post wood
    place: {{face: {{toward: front}}, back edge: {{flush with: post wall}}, middle: [depth plane]}}
    trim: {{lower end: floor, upper end: {{level at: 260}}}}
  rail:
    stock: rail wood
    place:
      length: [cos(8 deg), sin(8 deg), 0]
      face: {{flush with: {{through point: [0, {side}, 0], square to: front, turned: {{by: 8 deg, toward: right}}}}}}
      edge: {{at: {{level at: 90}}}}
    trim: {{left end: post.right, right end: {{through point: [200, 0, 0], square to: right}}}}
joints:
  - {{round tenon: [rail, post], diameter: 10}}
"""


@pytest.mark.parametrize("side", [-14, -14.02, -13.9, -14.06, -10, -20])
def test_a_shoulder_stops_at_an_arris_that_hardly_stands_before_the_post(tally, side):
    """The rail's arris passes the post's by hundredths of a millimetre, or stands well before it."""
    assert_sound(build(BESIDE.format(side=side)), tally)
