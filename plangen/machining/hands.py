"""The other hand's set-ups, and how many pieces each set-up is for.

The other hand is the drawn piece's mirror image in its length, the same faces down and against: the machine sees it
mirrored left to right. Points and surface ids stay those of the drawn piece, read in the other hand's own frame
(left-handed, from its end A).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from plangen.joinery.model import Hand, Member
from plangen.machining.posture import LEVEL
from plangen.machining.setup import Setup, Tilt

_ALONG = ("rip", "taper", "plane")
"""Cuts in which the work runs along the fence past the blade."""


def setups_of_hands(setups: Sequence[Setup], member: Member) -> tuple[Setup, ...]:
    """The drawn piece's set-ups in order, with their number of pieces; the other hand's after them."""
    if member.drawn is None:
        return tuple(replace(s, hand=None, quantity=member.quantity) for s in setups)
    other: Hand = "left" if member.drawn == "right" else "right"
    found: list[Setup] = []
    for hand in (member.drawn, other):
        count = sum(i.hand == hand for i in member.instances)
        if count:
            of_hand = setups if hand == member.drawn else [mirrored(s) for s in setups]
            found += (replace(s, hand=hand, quantity=count) for s in of_hand)
    return tuple(found)


def mirrored(setup: Setup) -> Setup:
    """The same cut on the mirror image of the work.

    The machine's x changes sign. The blade's normal (cos m cos b, sin m cos b, -sin b) is then that of -m and -b
    turned round, so that left and right of it change over; along the fence it is that of 180 - m and b itself.
    """
    along_fence = setup.operation in _ALONG and abs(setup.miter) > math.pi / 4
    if along_fence or abs(math.cos(setup.miter)) < LEVEL:
        miter, bevel, waste = _turn(math.pi - setup.miter), setup.bevel, setup.waste
    else:
        miter, bevel, waste = _turn(-setup.miter), -setup.bevel + 0.0, _swapped(setup.waste)
    return replace(
        setup,
        miter=miter,
        bevel=bevel,
        waste=waste,
        tilt=None if setup.tilt is None else Tilt(setup.tilt.angle, _turn(-setup.tilt.azimuth)),
        end_left={"A": "B", "B": "A", None: None}[setup.end_left],
        rolled=None if setup.rolled is None else (-setup.rolled[0] + 0.0, setup.rolled[1]),
        alternative=None if setup.alternative is None else (-setup.alternative[0], -setup.alternative[1]),
    )


def _turn(angle: float) -> float:
    """The same direction, above -180 and up to +180 degrees; no -0."""
    if angle > math.pi:
        angle -= 2.0 * math.pi
    elif angle <= -math.pi:
        angle += 2.0 * math.pi
    return angle + 0.0


def _swapped(waste: Literal["left", "right", "between"] | None) -> Literal["left", "right", "between"] | None:
    return "right" if waste == "left" else "left" if waste == "right" else waste
