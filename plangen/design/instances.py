"""The names by which the places of a member are called: ``leg front left``, ``leg mirrored``, ``slat 3``.

A member's own name means the drawn one where a surface is meant, and all of them in joints and fasteners.
Which of a mirrored pair stands where is known to ``placing``; here it is only known what they can be called.
"""

from __future__ import annotations

import re
from collections.abc import Container, Mapping
from typing import TypeAlias

from plangen.design.design import Bought, Copies, Design, Member
from plangen.findings import DesignError, Place, fail
from plangen.units import Quantity

Parts: TypeAlias = Mapping[str, Member | Bought]
"""Members and bought parts by name."""

MOST_COPIES = 1000
_ACROSS = ("left", "right")
_DEEP = ("front", "rear")
_BOTH = tuple(f"{deep} {across}" for deep in _DEEP for across in _ACROSS)


def parts_of(design: Design) -> dict[str, Member | Bought]:
    """Members and bought parts by name."""
    members: list[tuple[str, Member | Bought]] = [*design.members.items()]
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


def is_instance(words: str, parts: Parts, values: Mapping[str, Quantity]) -> bool:
    """Whether ``words`` call a member, a bought part, or one of its places."""
    found = member_of(words, parts)
    return found is not None and _calls_a_place(parts[found[0]], found[1], values)


def member_of(words: str, parts: Container[str]) -> tuple[str, str] | None:
    """The member or bought part that begins a name, and the words after it; None where there is none.

    Of two that fit, the longer: ``front leg left`` is of ``front leg``, not of ``front``.
    """
    owner = words
    while owner and owner not in parts:
        owner = owner.rpartition(" ")[0]
    return (owner, words[len(owner) :].strip()) if owner else None


def owner_of_place(name: str, parts: Parts, values: Mapping[str, Quantity]) -> str:
    """The other member of whose places one is called ``name``; empty where there is none."""
    found = member_of(name.rpartition(" ")[0], parts)
    while found is not None:
        owner = found[0]
        if _calls_a_place(parts[owner], name[len(owner) :].strip(), values):
            return owner
        found = member_of(owner.rpartition(" ")[0], parts)
    return ""


def repeat_count(copies: Copies, values: Mapping[str, Quantity]) -> int:
    """How many a repeat or ring makes in all; 0 without one or where its count is no whole number in reach."""
    series = copies.repeat or copies.around
    if series is None:
        return 0

    def lookup(name: str, place: Place) -> Quantity:
        if name not in values:
            raise fail(place, "name", f'unknown name "{name}"')
        return values[name]

    try:
        count = series.count.number(lookup).value
    except DesignError:
        return 0
    return int(count) if count.denominator == 1 and 1 <= count <= MOST_COPIES else 0


def in_ring(design: Design, name: str) -> bool:
    """Whether the places of a member or bought part stand round a line."""
    copies = parts_of(design)[name].copies
    return copies is not None and copies.around is not None


def _copy_words(copies: Copies) -> tuple[str, ...]:
    if copies.turned:
        return ("turned",)
    if len(set(copies.mirror)) == 2:
        return (*_BOTH, "mirrored", "mirrored 2", "mirrored 3")
    if copies.mirror:
        return (*(_ACROSS if copies.mirror[0] == "left to right" else _DEEP), "mirrored")
    return ()


def _calls_a_place(part: Member | Bought, tail: str, values: Mapping[str, Quantity]) -> bool:
    """Whether the words after a member's name call one of its places, without listing them all."""
    if not tail or part.copies is None:
        return not tail
    words = ("", *_copy_words(part.copies))
    if tail in words:
        return True
    numbered = re.fullmatch(r"(?:(.*) )?([1-9]\d{0,3})", tail, re.ASCII)
    if numbered is None or (numbered[1] or "") not in words:
        return False
    return int(numbered[2]) <= repeat_count(part.copies, values)
