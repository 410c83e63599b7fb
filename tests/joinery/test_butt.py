"""Butt: nothing is cut, and the faces must lie against one another."""

from crossing import Crossing
from hypothesis import given, settings
from hypothesis import strategies as st
from soundness import assert_sound
from workshop import findings_of

degrees = st.integers(-350, 350).map(lambda tenths: tenths / 10)
flares = st.integers(-200, 200).map(lambda tenths: tenths / 10)


def test_a_leg_against_a_rails_face_is_sound_at_any_lean(tally):
    @settings(max_examples=12, deadline=None)
    @given(degrees, flares)
    def butted(lean, flare):
        built = tally.build(Crossing(lean=lean, flare=flare, off=38, joint="{butt: [leg, rail]}").text)
        if built is not None:
            assert_sound(built, tally)

    butted()


def test_a_leg_held_off_its_rail_is_no_joint():
    (found,) = [
        f for f in findings_of(Crossing(off=40, joint="{butt: [leg, rail]}").text) if f.level == "error"
    ]
    assert found.text.startswith('butt: "leg" and "rail" do not meet: they stand 2 mm apart')
