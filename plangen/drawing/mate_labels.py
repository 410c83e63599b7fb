"""Beside each joint the member that meets it there: small words where a view has room for them."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence

from plangen.drawing.dimension_marks import expand
from plangen.drawing.lettering import Box2, text_box
from plangen.drawing.marks import Leader, Lettering, Mark
from plangen.drawing.occupied import Occupied, Role
from plangen.geometry.curves import Vec2

LETTERS = 3.5
_CLEAR, _GAP = 0.7, 1.0
"""About the words; between them and their leader, mm."""
_OFFSETS = (5.0, 7.0, 9.0, 12.0, 15.0, 19.0, 24.0, 30.0)
_NEVER_CROSSED: frozenset[Role] = frozenset({"text", "line", "fill"})


def mate_labels(
    places: Sequence[tuple[str, Vec2]], envelope: Box2, height: float, occupied: Occupied
) -> tuple[Mark, ...]:
    """The words at each place, or near it on a leader that ends in a dot there; nothing where they would stand
    on other ink or beyond the ``envelope``. ``height``: of the view's figures."""
    marks: list[Mark] = []
    for text, at in places:
        # a dot between extension lines can only be left over one of them, or two where they run out together
        for most, (path, words) in itertools.product((0, 1, 2), _candidates(text, at)):
            if _is_free(path, words, envelope, occupied, most):
                label = [*(expand(Leader(path, "dot", "", height)) if path else ()), words]
                occupied.add(label)
                marks += label
                break
    return tuple(marks)


def _candidates(text: str, at: Vec2) -> Iterator[tuple[tuple[Vec2, ...], Lettering]]:
    """The path of a leader, empty where none is needed, and the words."""
    x0, y0, x1, y1 = text_box(text, LETTERS)
    half, up = (x1 - x0) / 2, (y1 - y0) / 2
    yield (), _words(text, at, up)
    for off in _OFFSETS:
        for degrees in (45, 135, -45, -135, 25, 155, -25, -155, 65, 115, -65, -115):
            c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
            elbow = (at[0] + c * off, at[1] + s * off)
            middle = (elbow[0] + math.copysign(half + _GAP, c), elbow[1])
            yield (at, elbow), _words(text, middle, up)


def _words(text: str, middle: Vec2, up: float) -> Lettering:
    return Lettering(text, (middle[0], middle[1] - up), LETTERS, "middle", fractions=False)


def _is_free(path: Sequence[Vec2], words: Lettering, envelope: Box2, occupied: Occupied, most: int) -> bool:
    """Whether the words stand on nothing and within the envelope, and the leader crosses at most so many
    extension lines."""
    if path and occupied.crossings(path[0], path[1], _NEVER_CROSSED):
        return False
    if path and occupied.crossings(path[0], path[1], frozenset({"extension"})) > most:
        return False
    x0, y0, x1, y1 = text_box(words.text, words.height)
    half = (x1 - x0) / 2
    box = (words.at[0] - half, words.at[1] + y0, words.at[0] + half, words.at[1] + y1)
    inside = all(a <= b for a, b in zip(envelope[:2], box[:2], strict=True)) and all(
        a >= b for a, b in zip(envelope[2:], box[2:], strict=True)
    )
    return inside and occupied.text_is_free(words, _CLEAR)
