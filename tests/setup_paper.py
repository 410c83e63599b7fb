"""The set-up sheets of a plan as their text comes back from a PDF, held against the records of its cuts."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from setup_compared import BLANK, differences
from setup_text import Reader, SetupText, read_text, set_up_pages

from plangen.drawing.mark_geometry import drawn
from plangen.drawing.marks import Group, Lettering, Mark, Sheet
from plangen.export.machining_json import setup_facts
from plangen.export.pdf import DocumentInfo, pdf_bytes
from plangen.facts import PlanFacts

INFO = DocumentInfo("Piece", "Plan set", "Garden", "plangen")
TESTED = {"crosscut", "rip", "taper", "kerf", "trench", "bore", "plane"}
"""Operations whose angles a test in scrap shows."""


@dataclass(frozen=True, eq=False)
class SetupPaper:
    """The set-up sheets of a plan."""

    facts: PlanFacts
    sheets: tuple[Sheet, ...]

    @classmethod
    def of(cls, facts: PlanFacts, sheets: Iterable[Sheet]) -> SetupPaper:
        return cls(facts, tuple(s for s in sheets if s.kind == "set-ups"))

    @cached_property
    def text(self) -> SetupText:
        return read_text(set_up_pages(pdf_bytes(self.sheets, INFO)))

    @cached_property
    def records(self) -> tuple[dict[str, Any], ...]:
        members = {m.mark: m for m in self.facts.model.members}
        setups = self.facts.machining.setups
        return tuple(setup_facts(s, members[s.member].blank.origin, self.facts.style) for s in setups)

    @cached_property
    def cuts(self) -> dict[int, dict[str, Any]]:
        reader = Reader(self.text, 25.4 if self.facts.style.length == "in" else 1.0)
        return {i: reader.cut(i) for i in self.text.cuts}

    def names(self, member: str, hand: str | None) -> dict[str, str]:
        """What paper calls each surface of a piece; what is cut by hand is taken as it is, all of it together."""
        names = dict(BLANK)
        for other in self.records:
            if other["member"] == member and other["hand"] in (None, hand):
                leaves = self.cuts[other["index"]]["leaves"]
                if other["by_hand"] is not None:
                    leaves = [""] * len(other["makes"])
                for surface, part in zip(other["makes"], leaves, strict=True):
                    names[surface] = f"cut {other['index']} {part}".rstrip()
        return names

    def wrong_numbers(self) -> dict[int, list[str]]:
        """Of each cut what paper says otherwise than its record."""
        wrong = {}
        for record in self.records:
            read = self.cuts[record["index"]]
            names = self.names(record["member"], record["hand"])
            if record["by_hand"] is not None:
                said = ("member", "hand", "quantity", "feature", "by_hand")
                found = [key for key in said if read[key] != record[key]]
            else:
                found = differences(record, read, lambda s, names=names: names.get(s, s))
            if found:
                wrong[record["index"]] = found
        return wrong

    def untold_waste(self) -> list[list[str]]:
        """Pieces of waste, each by the surfaces that part it, that the words do not give."""
        missing = []
        for member, hand in dict.fromkeys((r["member"], r["hand"]) for r in self.records):
            names = self.names(member, hand)
            own = [
                r for r in self.records if (r["member"], r["hand"]) == (member, hand) and r["by_hand"] is None
            ]
            groups = {
                frozenset(names[s] for s in g) for r in own for g in r["frees"] if set(g) & set(r["makes"])
            }
            missing += [sorted(g) for g in groups - self._waste(member, hand)]
        return missing

    def _waste(self, member: str, hand: str | None) -> set[frozenset[str]]:
        """By the rule of the grammar: what is named together, and the surfaces of each cut that is never named."""
        cuts = [c for c in self.cuts.values() if (c["member"], c["hand"]) == (member, hand)]
        made = {
            f"cut {c['index']}": [f"cut {c['index']} {part}".rstrip() for part in c["leaves"]] for c in cuts
        }
        found, told = set(), set()
        for group in (g for c in cuts for g in c["freed"]):
            told |= {" ".join(word.split()[:2]) for word in group}
            found.add(frozenset(n for word in group for n in made.get(re.sub(r" side .*", "", word), [word])))
        return found | {frozenset(names) for cut, names in made.items() if cut not in told}

    def untested_settings(self) -> list[int]:
        """Angled settings for which no test in scrap is told."""
        operation = {r["index"]: r["operation"] for r in self.records}
        angled = ("Swing", "Taper", "Tilt", "Raise")
        return [
            s.index
            for s in self.facts.machining.settings
            if operation[s.setups[0]] in TESTED
            and (
                any(label in self.text.settings[s.index] for label in angled)
                or self.text.settings[s.index].get("Fence", "square") != "square"
            )
            and "Test" not in self.text.settings[s.index]
        ]

    def cards_without_picture(self) -> int:
        """Cards are counted by their titles; what is fitted on the work has none."""
        titles = [
            m.text
            for sheet in self.sheets
            for m in drawn(sheet.marks)
            if isinstance(m, Lettering) and m.weight == "bold" and m.text.startswith("CUT ")
        ]
        fitted = [t for t in titles if self._first(t)["by_hand"] == "fitted on the work"]
        return len(titles) - len(fitted) - sum(_pictures(s.marks) for s in self.sheets)

    def _first(self, title: str) -> dict[str, Any]:
        found = re.match(r"CUT (\d+)", title)
        assert found, title
        return self.cuts[int(found[1])]


def _pictures(marks: Sequence[Mark]) -> int:
    groups = [m for m in marks if isinstance(m, Group)]
    return sum((g.name == "set-up picture") + _pictures(g.marks) for g in groups)
