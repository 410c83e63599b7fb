"""The other hand's set-ups: what they cut from the mirrored work is the mirror image of what the drawn ones cut."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from workshop import build

from plangen.machining.hands import mirrored, setups_of_hands
from plangen.machining.setup import Setup, Tilt

MIRROR = np.diag([-1.0, 1.0, 1.0])
"""In the member's length."""
ANGLES = st.floats(-1.2, 1.2)
TRESTLE = (Path(__file__).parents[2] / "designs" / "splayed-trestle.yaml").read_text(encoding="utf-8")


def turn(axis: np.ndarray, angle: float) -> np.ndarray:
    """Right-handed, by Rodrigues' formula."""
    x, y, z = axis
    k = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    return np.eye(3) + math.sin(angle) * k + (1 - math.cos(angle)) * k @ k


def waste_side(setup: Setup, down: np.ndarray, against: np.ndarray) -> np.ndarray:
    """Of the blade's plane, the normal toward the waste, seen from work that lies on ``down``, at the fence with
    ``against``. Rows of ``lies`` are the machine's axes; a tilt turns the work, so it comes before them."""
    y = against - (against @ down) * down
    y /= np.linalg.norm(y)
    lies = np.array([np.cross(y, -down), y, -down])
    if setup.tilt is not None:
        a = setup.tilt.azimuth
        lies = turn(np.array([math.cos(a), math.sin(a), 0.0]), setup.tilt.angle) @ lies
    blade = turn(np.array([0.0, 0.0, 1.0]), setup.miter) @ turn(np.array([0.0, 1.0, 0.0]), setup.bevel)
    side = {"left": -1.0, "right": 1.0}[setup.waste or ""]
    return side * (blade[:, 0] @ lies)


@st.composite
def directions(draw: st.DrawFn) -> np.ndarray:
    v = np.array([draw(st.floats(-1, 1)) for _ in range(3)])
    assume(np.linalg.norm(v) > 0.1)
    return v / np.linalg.norm(v)


@st.composite
def cuts(draw: st.DrawFn) -> Setup:
    along_fence = draw(st.booleans())
    miter = (
        draw(st.sampled_from([math.pi / 2, -math.pi / 2, 1.4, -1.4, 1.5])) if along_fence else draw(ANGLES)
    )
    tilt = Tilt(draw(st.floats(0.01, 1.0)), draw(st.floats(-3.1, 3.1))) if draw(st.booleans()) else None
    return Setup(
        "A", "end 1", "shaped", "rip" if along_fence else "crosscut", "table saw", ("end 1.1",), (("end 1.1",),),
        surface_down="back", surface_against="edge", end_left=draw(st.sampled_from(["A", "B"])),
        miter=miter, bevel=draw(ANGLES), tilt=tilt, waste=draw(st.sampled_from(["left", "right"])),
    )  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(cuts(), directions(), directions())
def test_mirrored_work_in_the_mirrored_set_up_is_cut_to_the_mirror_image(
    setup: Setup, down: np.ndarray, against: np.ndarray
) -> None:
    assume(abs(down @ against) < 0.9)
    drawn = waste_side(setup, down, against)
    other = waste_side(mirrored(setup), MIRROR @ down, MIRROR @ against)
    np.testing.assert_allclose(other, MIRROR @ drawn, atol=1e-12)


@settings(max_examples=30, deadline=None)
@given(cuts())
def test_the_mirror_image_of_a_mirror_image_is_the_cut_itself(setup: Setup) -> None:
    back = mirrored(mirrored(setup))
    assert (back.waste, back.end_left) == (setup.waste, setup.end_left)
    assert abs(back.miter - setup.miter) < 1e-12
    assert back.bevel == setup.bevel


def test_a_rip_stays_a_rip_for_the_other_hand() -> None:
    rip = Setup(
        "A", "bevel 1", "shaped", "rip", "table saw", ("bevel 1.1",), (("bevel 1.1",),),
        end_left="A", miter=math.pi / 2, bevel=0.1, waste="left",
    )  # fmt: skip
    other = mirrored(rip)
    assert (other.miter, other.bevel, other.waste, other.end_left) == (math.pi / 2, 0.1, "left", "B")


def test_each_hand_counts_its_own_pieces() -> None:
    leg = next(m for m in build(TRESTLE).model.members if m.name == "leg")
    one = Setup(
        leg.mark, "end 1", "shaped", "crosscut", "mitre saw", ("end 1.1",), (("end 1.1",),), miter=0.2
    )
    left, right = setups_of_hands([one], leg)
    assert (left.hand, left.quantity, left.miter) == (leg.drawn, 2, 0.2)
    assert (right.hand, right.quantity, right.miter) == ("right" if leg.drawn == "left" else "left", 2, -0.2)


def test_a_piece_that_is_its_own_mirror_image_has_no_hand() -> None:
    gusset = next(m for m in build(TRESTLE).model.members if m.name == "gusset")
    one = Setup(gusset.mark, "end 1", "shaped", "crosscut", "mitre saw", ("end 1.1",), (("end 1.1",),))
    (alone,) = setups_of_hands([one], gusset)
    assert (alone.hand, alone.quantity) == (None, 2)
