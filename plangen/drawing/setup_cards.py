"""Cards of the set-up sheets: cuts in the order of the work, those that are nearly alike on one card.

A card is the words of one cut in full, then of each further cut what differs, beside one picture.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from plangen.drawing.setup_names import Names, runs_text
from plangen.drawing.setup_scene import SetupScene, setup_scene
from plangen.drawing.setup_words import (
    Field,
    cut_fields,
    cut_title,
    differing,
    hand_cut_fields,
    hand_cut_title,
    like_title,
    shortened,
)
from plangen.drawing.sight_words import sight_text
from plangen.joinery.model import Member
from plangen.machining.setup import Machining, Setting, Setup
from plangen.machining.work import Bench, Work
from plangen.units import UnitStyle

_MOST_DIFFERENCES = 5
"""Fields in which a cut may differ from the one whose card it shares."""
_MOST_OF_OTHERS = 3
"""The same for a cut of another member."""
_MOST_ON_A_CARD = 12


@dataclass(frozen=True)
class Entry:
    """One cut on a card (by hand several alike): its title and its fields."""

    title: str
    fields: tuple[Field, ...]
    setups: tuple[Setup, ...]


@dataclass(frozen=True)
class Card:
    entries: tuple[Entry, ...]

    @property
    def members(self) -> tuple[str, ...]:
        """Marks of the members cut."""
        return tuple(dict.fromkeys(s.member for s in self.setups))

    @property
    def setups(self) -> tuple[Setup, ...]:
        return tuple(s for e in self.entries for s in e.setups)


@dataclass(frozen=True)
class Section:
    """Cuts that follow one another at one setting; None: by hand."""

    setting: Setting | None
    cards: tuple[Card, ...]


class CardMaker:
    """Makes the cards of a set; each state of each member is built once for its pictures."""

    def __init__(self, machining: Machining, members: Sequence[Member], style: UnitStyle) -> None:
        self._machining = machining
        self._members = {m.mark: m for m in members}
        self._benches = {m.mark: Bench(m) for m in members}
        self._style = style
        self._names = Names(machining.setups)
        self._setting_of = {i: s for s in machining.settings for i in s.setups}

    def sections(self, line_of: Callable[[Setup], str]) -> tuple[Section, ...]:
        """In the order of the work. ``line_of`` says where the line that a cut follows is drawn."""
        in_order = sorted(self._machining.setups, key=lambda s: s.index)
        runs = itertools.groupby(in_order, key=lambda s: self._setting_index(s))
        found = []
        for index, group in runs:
            cuts = list(group)
            setting = None if index is None else self._setting_of[cuts[0].index]
            cards = (
                self._hand_cards(cuts, line_of) if setting is None else self._cards(cuts, setting, line_of)
            )
            found.append(Section(setting, tuple(cards)))
        return tuple(found)

    def picture(self, card: Card) -> SetupScene | None:
        """Of the cuts on the card that are made on the same member and hand as the first."""
        first = card.setups[0]
        if first.by_hand == "fitted on the work":
            return None
        alike = [s for s in card.setups if (s.member, s.hand) == (first.member, first.hand)]
        return setup_scene(self._work(first), alike)

    def _setting_index(self, setup: Setup) -> int | None:
        setting = self._setting_of.get(setup.index)
        return None if setting is None or setup.machine == "hand" else setting.index

    def _cards(self, cuts: Sequence[Setup], setting: Setting, line_of: Callable[[Setup], str]) -> list[Card]:
        cards: list[Card] = []
        said: dict[str, int] = {}
        for cut in cuts:
            whole = self._fields(cut, setting, line_of(cut))
            caution = dict(whole).get("Caution", "")
            said.setdefault(caution, cut.index)
            fields = shortened(whole, said, cut.index)
            # on a card whose first cut says the same in full nothing differs
            same = cards and dict(cards[-1].entries[0].fields).get("Caution", "") == caution
            joined = self._joined(cards[-1], cut, whole if same else fields) if cards else None
            if joined is not None:
                cards[-1] = joined
                continue
            member = self._members[cut.member]
            cards.append(Card((Entry(cut_title(cut, member.name), tuple(fields), (cut,)),)))
        return cards

    def _joined(self, card: Card, cut: Setup, fields: Sequence[Field]) -> Card | None:
        """The card with the cut on it; None where it differs too much."""
        base = card.setups[0]
        lying = (base.surface_down, base.surface_against, base.operation, base.stage)
        if lying != (cut.surface_down, cut.surface_against, cut.operation, cut.stage):
            return None
        others = differing(fields, card.entries[0].fields)
        before = {f"after cut {s.index}" for s in card.setups}
        others = [f for f in others if f[0] != "State" or f[1] not in before]
        most = _MOST_DIFFERENCES if cut.member == base.member else _MOST_OF_OTHERS
        if len(others) > most or len(card.entries) >= _MOST_ON_A_CARD:
            return None
        title = like_title(cut, base, self._members[cut.member].name)
        entry = Entry(f"{title}, but" if others else f"{title}.", tuple(others), (cut,))
        return Card((*card.entries, entry))

    def _fields(self, cut: Setup, setting: Setting, line: str) -> list[Field]:
        earlier = [
            s.index
            for s in self._machining.setups
            if (s.member, s.hand) == (cut.member, cut.hand) and s.sequence < cut.sequence
        ]
        origin = self._members[cut.member].blank.origin
        fields = cut_fields(
            cut,
            setting,
            max(earlier, default=None),
            self._names,
            origin,
            line,
            self._style,
            self._wedge_for(cut),
        )
        drawn = self._drawn(cut)
        sight = "" if drawn is None else sight_text(drawn, origin, self._names, self._style)
        return [*fields, ("Sight", sight)] if sight else fields

    def _wedge_for(self, cut: Setup) -> list[int]:
        """The cuts on the same piece for which its waste is the wedge."""
        kept = {
            i
            for j in self._machining.jigs
            if (j.member, j.offcut) == (cut.member, cut.feature)
            for i in j.setups
        }
        return [s.index for s in self._machining.setups if s.index in kept and s.hand == cut.hand]

    def _drawn(self, cut: Setup) -> Setup | None:
        """The same cut on the hand that is drawn, whose places and names the records are in."""
        drawn = self._members[cut.member].drawn
        if cut.hand is None or cut.hand == drawn:
            return cut
        same = (cut.member, drawn, cut.feature, cut.operation, cut.makes)
        return next(
            (
                s
                for s in self._machining.setups
                if (s.member, s.hand, s.feature, s.operation, s.makes) == same
            ),
            None,
        )

    def _hand_cards(self, cuts: Sequence[Setup], line_of: Callable[[Setup], str]) -> list[Card]:
        """One entry for all cuts of a member and hand that are made by hand for one reason."""
        cards: list[Card] = []
        for (mark, *_), group in itertools.groupby(cuts, key=lambda s: (s.member, s.by_hand, s.stage)):
            member = self._members[mark]
            alike = list(group)
            entries = []
            for hand in dict.fromkeys(s.hand for s in alike):
                own = [s for s in alike if s.hand == hand]
                title = hand_cut_title(own, member.name, runs_text([s.index for s in own]))
                entries.append(
                    Entry(title, tuple(hand_cut_fields(own, self._names, line_of(own[0]))), tuple(own))
                )
            cards.append(Card(tuple(entries)))
        return cards

    def _work(self, cut: Setup) -> Work:
        """The work once the features are cut whose set-ups all come before."""
        later = {
            s.feature
            for s in self._machining.setups
            if (s.member, s.hand) == (cut.member, cut.hand) and s.sequence >= cut.sequence
        }
        bench = self._benches[cut.member]
        return bench.work(f.id for f in bench.member.features if f.id not in later)
