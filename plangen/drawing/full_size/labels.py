"""Labels to tape on the parts: which it is, which way it stands, and the letters of its joints."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from plangen.dimensioning.assembly_marks import AssemblyMark
from plangen.drawing.block import Block
from plangen.drawing.lettering import wrap
from plangen.drawing.mark_geometry import rectangle
from plangen.drawing.marks import Lettering, Mark, Stroke
from plangen.drawing.title_block import fitted
from plangen.geometry.vectors import Vec
from plangen.joinery.model import Instance, Member, Model

WIDTH, HEIGHT = 84.0, 34.0
_MARK, _LETTERS, _SMALL = 10.0, 3.5, 2.5
_WAYS: tuple[tuple[Vec, str], ...] = (
    ((0.0, 0.0, 1.0), "up"), ((0.0, 0.0, -1.0), "down"), ((0.0, -1.0, 0.0), "front"),
    ((0.0, 1.0, 0.0), "rear"), ((-1.0, 0.0, 0.0), "left"), ((1.0, 0.0, 0.0), "right"),
)  # fmt: skip
"""As the viewer of the front elevation has them."""
_SIDE_WORDS = {
    "face": "face side", "back": "back", "edge": "face edge", "back edge": "back edge", "end A": "end A",
    "end B": "end B",
}  # fmt: skip


def label_blocks(model: Model, joints: Sequence[AssemblyMark]) -> list[Block]:
    """One for each piece of work that is made, in the order of the parts."""
    letters: dict[str, list[str]] = {}
    for joint in joints:
        for part in joint.parts:
            letters.setdefault(part.instance, []).append(f"{joint.letter} {_SIDE_WORDS[part.side]}")
    return [
        _label(member, instance, i + 1, letters.get(instance.name, []))
        for member in model.members
        if member.role == "work"
        for i, instance in enumerate(member.instances)
    ]


def _label(member: Member, instance: Instance, number: int, letters: Sequence[str]) -> Block:
    left = 24.0
    count = f"{number} of {member.quantity}" if member.quantity > 1 else ""
    mark, size = fitted(member.mark, left - 4.0, (_MARK, 7.0, 5.0))
    lines = [
        (instance.name, _LETTERS),
        (", ".join(t for t in (f"{instance.hand} hand" if instance.hand else "", count) if t), _SMALL),
        (_stands(member, instance), _SMALL),
    ]
    marks: list[Mark] = [
        Stroke(rectangle((0.0, -HEIGHT, WIDTH, 0.0)), "narrow", True),
        Lettering(mark, (left / 2, -HEIGHT / 2 - size / 2), size, "middle", weight="bold"),
    ]
    y = -2.0
    for text, height in lines:
        if text:
            y -= height + 2.0
            shown, h = fitted(text, WIDTH - left - 2.0, (height, _SMALL))
            marks.append(Lettering(shown, (left, y), h, fractions=False))
    for line in _joint_lines(letters, WIDTH - left - 2.0, int((HEIGHT + y - 1.0) / (_SMALL + 1.5))):
        y -= _SMALL + 1.5
        marks.append(Lettering(line, (left, y), _SMALL))
    return Block("label", tuple(marks), WIDTH, HEIGHT)


def _joint_lines(letters: Sequence[str], width: float, most: int) -> Iterator[str]:
    """All of them where there is room, the letters alone where there is not."""
    if not letters:
        return
    lines = wrap(f"Joints: {', '.join(letters)}", width, _SMALL)
    if len(lines) > most:
        lines = wrap(f"Joints: {', '.join(t.split()[0] for t in letters)}", width, _SMALL)
    yield from lines[:most]


def _stands(member: Member, instance: Instance) -> str:
    """Which way its length and its face side look, as nearly as the room's ways tell it."""
    end = f"end B: {_way(instance.frame.l)}"
    return end if member.is_round else f"{end}; face side: {_way(instance.frame.t)}"


def _way(direction: Vec) -> str:
    reach = [(round(sum(a * b for a, b in zip(direction, way, strict=True)), 6), word) for way, word in _WAYS]
    return max(reach, key=lambda r: r[0])[1]
