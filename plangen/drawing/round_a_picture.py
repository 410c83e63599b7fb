"""Paragraphs beside a picture, and on under it over the whole width."""

from __future__ import annotations

from collections.abc import Sequence

from plangen.drawing.block import Block
from plangen.drawing.lettering import DESCENT, LINE_PITCH, wrap
from plangen.drawing.marks import Lettering, Mark


def round_a_picture(
    texts: Sequence[str], width: float, letters: float, picture: tuple[float, float], gap: float
) -> Block:
    """The texts one under the other, ``gap`` mm apart; right of a picture of that width and height at the upper left
    corner, whose room is left free, as long as they stand beside it."""
    across, high = picture
    marks: list[Mark] = []
    down = 0.0
    for text in texts:
        down += gap if marks else 0.0
        rest = text
        while rest:
            left = across if down < high else 0.0
            lines = wrap(rest, width - left, letters, fractions=False)
            # as many as start beside the picture; what is left is wrapped anew to the whole width
            count = len(lines)
            if left:
                count = next((n for n in range(1, count) if down + n * LINE_PITCH * letters >= high), count)
            for line in lines[:count]:
                marks.append(Lettering(line, (left, -down - letters), letters, fractions=False))
                down += LINE_PITCH * letters
            rest = " ".join(lines[count:])
        down += (1.0 + DESCENT - LINE_PITCH) * letters
    return Block("words", tuple(marks), width, max(down, high))
