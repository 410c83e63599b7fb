"""The names by which the places of a member are called: ``leg front left``, ``leg mirrored``, ``slat 3``.

A member's own name means the drawn one where a surface is meant, and all of them in joints and fasteners.
Which of a mirrored pair stands where is known to ``placing``; here it is only known what they can be called.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from plangen.design.design import Bought, Copies, Design, Member
from plangen.design.records import Name
from plangen.findings import DesignError, Place, fail
from plangen.units import Quantity

MOST_COPIES = 1000
_ACROSS = ("left", "right")
_DEEP = ("front", "rear")
_BOTH = tuple(f"{deep} {across}" for deep in _DEEP for across in _ACROSS)


def parts_of(design: Design) -> dict[str, Member | Bought]:
    """Members and bought parts by name."""
    members: list[tuple[Name, Member | Bought]] = [*design.members.items()]
    return {str(name): part for name, part in (*members, *design.bought.items())}


def instance_names(
    name: str, member: Member | Bought, values: Mapping[str, Quantity] | None = None
) -> tuple[str, ...]:
    """Every name by which one place of the member can be called, its own first.

    ``values`` are the design's named values, for a number of repeats that hangs on them; repeats whose
    number is not known yet are left out.
    """
    copies = member.copies
    if copies is None:
        return (name,)
    starts = [name, *(f"{name} {word}" for word in _copy_words(copies))]
    numbers = range(1, repeat_count(copies, values or {}) + 1)
    return (*starts, *(f"{start} {number}" for start in starts for number in numbers))


def _copy_words(copies: Copies) -> tuple[str, ...]:
    if copies.turned:
        return ("turned",)
    if len(set(copies.mirror)) == 2:
        return (*_BOTH, "mirrored", "mirrored 2", "mirrored 3")
    if copies.mirror:
        return (*(_ACROSS if copies.mirror[0] == "left to right" else _DEEP), "mirrored")
    return ()


def repeat_count(copies: Copies, values: Mapping[str, Quantity]) -> int:
    """How many a repeat makes in all; 0 without a repeat or where its count is no whole number in reach."""
    if copies.repeat is None:
        return 0

    def lookup(name: str, place: Place) -> Quantity:
        if name not in values:
            raise fail(place, "name", f'unknown name "{name}"')
        return values[name]

    try:
        count = copies.repeat.count.number(lookup).value
    except DesignError:
        return 0
    return int(count) if count.denominator == 1 and 1 <= count <= MOST_COPIES else 0


def member_of(words: str, design: Design) -> tuple[str, str] | None:
    """The member or bought part that begins a name, and the words after it; None where there is none.

    Of two that fit, the longer: ``front leg left`` is of ``front leg``, not of ``front``.
    """
    fitting = [name for name in parts_of(design) if words == name or words.startswith(f"{name} ")]
    if not fitting:
        return None
    owner = max(fitting, key=len)
    return owner, words[len(owner) :].strip()


def is_instance(words: str, design: Design, values: Mapping[str, Quantity]) -> bool:
    """Whether ``words`` call a member, a bought part, or one of its places."""
    found = member_of(words, design)
    if found is None:
        return False
    owner, tail = found
    if not tail:
        return True
    if re.fullmatch(r"(?:.* )?\d{5,}", tail):
        return False
    return words in instance_names(owner, parts_of(design)[owner], values)
