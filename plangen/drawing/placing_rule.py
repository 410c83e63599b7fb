"""Where a view stands beside the front view: the one rule for sheets and for the projection symbol.

Third angle: a view stands on the side it is seen from. First angle: on the opposite side (ISO 5456-2, from
memory; ASME Y14.3 names third angle as usual in North America, from memory).
"""

from __future__ import annotations

from typing import Literal, TypeAlias

Method: TypeAlias = Literal["first", "third"]
Side: TypeAlias = Literal["left", "right", "above", "below"]

_SEEN_FROM: dict[Side, tuple[int, int]] = {
    "left": (-1, 0),
    "right": (1, 0),
    "above": (0, 1),
    "below": (0, -1),
}


def side_view_offset(method: Method, side: Side) -> tuple[int, int]:
    """Unit step on paper, x right and y up, from the front view to the view seen from ``side``."""
    x, y = _SEEN_FROM[side]
    return (x, y) if method == "third" else (-x, -y)
