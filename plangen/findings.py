"""Findings: what is wrong or worth knowing, each with its place in the design file.

A finding is data, never an exception; ``DesignError`` carries findings out of a stage that cannot go on.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Literal, TypeAlias

Level: TypeAlias = Literal["error", "warning", "note"]
_MOST_COMPARED = 2000
"""Spellings looked through for the nearest: more would make a file of wrong names slow to refuse."""
_RANK = {"error": 0, "warning": 1, "note": 2}


@dataclass(frozen=True, order=True)
class Place:
    """A place in a design file; line and column count from 1."""

    file: str = ""
    line: int = 1
    column: int = 1

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


@dataclass(frozen=True)
class Finding:
    """One problem or remark. ``rule`` is a short stable name for it, ``text`` one line for a person."""

    level: Level
    rule: str
    text: str
    place: Place
    members: tuple[str, ...] = ()

    def __str__(self) -> str:
        return f"{self.place}: {self.level}: {self.text}"


class DesignError(Exception):
    """The design cannot be read or built; ``findings`` (at least one error) say why."""

    def __init__(self, findings: Iterable[Finding]) -> None:
        self.findings = tuple(findings)
        super().__init__("\n".join(str(f) for f in self.findings))


def error(place: Place, rule: str, text: str, *members: str) -> Finding:
    return Finding("error", rule, text, place, members)


def warning(place: Place, rule: str, text: str, *members: str) -> Finding:
    return Finding("warning", rule, text, place, members)


def note(place: Place, rule: str, text: str, *members: str) -> Finding:
    return Finding("note", rule, text, place, members)


def fail(place: Place, rule: str, text: str, *members: str) -> DesignError:
    """A DesignError of one error, ready to raise."""
    return DesignError([error(place, rule, text, *members)])


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """``; did you mean "leg"?`` for the nearest known spelling, or the whole list when it is short."""
    names = sorted(set(known))
    if len(names) > _MOST_COMPARED:
        return ""
    near = get_close_matches(word, names, n=1, cutoff=0.6)
    if near:
        return f'; did you mean "{near[0]}"?'
    if names and len(names) <= 13:
        return "; known: " + ", ".join(names)
    return ""


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Sorted by file, line and column, errors before warnings before notes at one place; repeats dropped."""
    return tuple(sorted(dict.fromkeys(findings), key=lambda f: (f.place, _RANK[f.level], f.rule, f.text)))
