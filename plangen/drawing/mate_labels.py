"""Beside each joint the member that meets it there: small words where a view has room for them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import TypeAlias

from plangen.drawing.dimension_marks import expand
from plangen.drawing.lettering import Box2, text_box
from plangen.drawing.marks import Leader, Lettering, Mark
from plangen.drawing.occupied import Occupied, Role
from plangen.geometry.curves import Vec2

LETTERS = 3.5
_CLEAR, _GAP = 0.7, 1.0
"""About the words; between them and their leader, mm."""
_OFFSETS = (5.0, 7.0, 9.0, 12.0, 15.0, 19.0, 24.0, 30.0)
_MOST_CROSSED = 2
_EXTENSIONS: frozenset[Role] = frozenset({"extension"})
_NEVER_CROSSED: frozenset[Role] = frozenset({"text", "line", "fill"})


def mate_labels(
    places: Sequence[tuple[str, Vec2]], envelope: Box2, height: float, occupied: Occupied
) -> tuple[Mark, ...]:
    """The words at each place, or near it on a leader that ends in a dot there; nothing where they would stand
    on other ink or beyond the ``envelope``. ``height``: of the view's figures."""
    marks: list[Mark] = []
    for text, at in places:
        found = _clearest(_candidates(text, at), envelope, occupied)
        if found is not None:
            path, words = found
            label = [*(expand(Leader(path, "dot", "", height)) if path else ()), words]
            occupied.add(label)
            marks += label
    return tuple(marks)


Candidate: TypeAlias = tuple[tuple[Vec2, ...], Lettering]


def _clearest(candidates: Iterable[Candidate], envelope: Box2, occupied: Occupied) -> Candidate | None:
    """Of those that are free the first whose leader crosses fewest extension lines: a dot between two of them
    can only be left over one."""
    best: tuple[int, Candidate] | None = None
    for path, words in candidates:
        if not _is_free(path, words, envelope, occupied):
            continue
        over = occupied.crossings(path[0], path[1], _EXTENSIONS) if path else 0
        if over == 0:
            return path, words
        if over <= _MOST_CROSSED and (best is None or over < best[0]):
            best = (over, (path, words))
    return best[1] if best else None


def _candidates(text: str, at: Vec2) -> Iterator[Candidate]:
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


def _is_free(path: Sequence[Vec2], words: Lettering, envelope: Box2, occupied: Occupied) -> bool:
    """Whether the words stand on nothing and within the envelope, and the leader runs through nothing."""
    x0, y0, x1, y1 = text_box(words.text, words.height)
    half = (x1 - x0) / 2
    if words.at[0] - half < envelope[0] or words.at[0] + half > envelope[2]:
        return False
    if words.at[1] + y0 < envelope[1] or words.at[1] + y1 > envelope[3]:
        return False
    if not occupied.text_is_free(words, _CLEAR):
        return False
    return not path or not occupied.crossings(path[0], path[1], _NEVER_CROSSED)
