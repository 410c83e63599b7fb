"""The model of a design: every joint and fastener cut, every piece told apart and named."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from plangen.design import design as d
from plangen.design.instances import in_ring
from plangen.design.records import Name
from plangen.findings import DesignError, Finding, error, warning
from plangen.geometry.vectors import LENGTH_TOLERANCE
from plangen.joinery.assembly_cuts import assemblies_of, cut_assemblies
from plangen.joinery.bores import bores_of_joints, bores_of_members, meeting_bores
from plangen.joinery.building import Piece, build_member, pieces_alike
from plangen.joinery.congruence import same_cutters
from plangen.joinery.fastening import fasten
from plangen.joinery.kinds import AGAINST, KINDS
from plangen.joinery.meeting import Cut, Meeting, Placed, gap_between, standing_for, touches
from plangen.joinery.model import Hardware, Joint, Member, Model
from plangen.joinery.sizing import Sizing, default_fit
from plangen.placing.body import Body
from plangen.placing.bought import has_place
from plangen.placing.scope import Scope


def build_model(design: d.Design, scope: Scope) -> Model:
    """Place every member, cut every joint, bore every hole, and tell the members apart.

    Raises DesignError with everything found wrong at the first stage that cannot go on.
    """
    placed = place_all(design, scope)
    collected = _Collector()
    collected.findings += _hanging(placed)
    collected.findings += dict.fromkeys(f for p in placed for f in p.body.findings)
    joined = _joints(design, scope, placed, collected)
    fastened = fasten(design, scope, placed, joined.cuts, collected.run)
    bores = [*bores_of_members(placed), *bores_of_joints(joined.cuts, placed), *fastened.bores]
    collected.findings += [*fastened.findings, *meeting_bores(bores, scope)]
    everything = [*placed, *joined.pieces]
    on_assemblies = cut_assemblies(design, scope, everything, joined.between, collected.run)
    collected.findings += on_assemblies.findings
    collected.stop_on_errors()
    cuts = [*joined.cuts, *fastened.cuts, *on_assemblies.cuts]
    pieces = [Piece(p, tuple(c for c in cuts if c.target == p.name)) for p in everything]
    members = _members(pieces, collected)
    collected.stop_on_errors()
    hardware = [*joined.hardware, *fastened.hardware, *_bought(design, scope)]
    return Model(
        tuple(members),
        tuple(j for _, j in joined.joints),
        tuple(hardware),
        assemblies_of(design, scope, everything, joined.between, members, on_assemblies.features),
        tuple(collected.findings),
        fastened.driven,
    )


def _hanging(placed: Sequence[Placed]) -> list[Finding]:
    """A piece most of which is under the floor while others stand on it: as a rule its line runs the other way."""
    heights = {p.name: [p.frame.point(c)[2] for c in p.body.corners()] for p in placed}
    if not any(min(z) + max(z) > 0 for z in heights.values() if z):
        return []
    found, told = [], set()
    for p in placed:
        z = heights[p.name]
        if z and min(z) + max(z) < -2 * LENGTH_TOLERANCE and p.body.name not in told:
            told.add(p.body.name)
            text = (
                f'"{p.name}" stands mostly under the floor; to have it above, run the line or length that '
                "places it the other way (going)"
            )
            found.append(warning(p.body.place, "floor", text, p.name))
    return found


class _Collector:
    """Runs steps that may find the design wrong and keeps what they find, so that all is told at once."""

    def __init__(self) -> None:
        self.findings: list[Finding] = []

    def run(self, step: Callable[[], None]) -> None:
        try:
            step()
        except DesignError as problem:
            self.findings += problem.findings

    def stop_on_errors(self) -> None:
        if any(f.level == "error" for f in self.findings):
            raise DesignError(self.findings)


def place_all(design: d.Design, scope: Scope) -> list[Placed]:
    """Every body at every place, in the design's order. Raises DesignError with all that is wrong."""
    collected = _Collector()
    bodies: list[Body] = []
    names = [*design.members, *(n for n, b in design.bought.items() if has_place(b))]
    for name in names:

        def place(name: Name = name) -> None:
            bodies.append(scope.body(str(name), name.place))

        collected.run(place)
    collected.stop_on_errors()
    return [Placed(body, standing) for body in bodies for standing in body.standings]


# --- joints -----------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Joined:
    """All joints made: the joints in place, their cuts, the loose pieces they add, and what they need bought."""

    joints: list[tuple[Meeting, Joint]]
    cuts: list[Cut]
    pieces: list[Placed]
    hardware: list[Hardware]
    between: dict[str, tuple[str, str]]
    """The two members that each loose piece joins."""


def _joints(design: d.Design, scope: Scope, placed: Sequence[Placed], collected: _Collector) -> _Joined:
    sizing = Sizing(scope)
    joints: list[tuple[Meeting, Joint]] = []
    cuts: list[Cut] = []
    pieces: list[Placed] = []
    hardware: list[Hardware] = []
    between: dict[str, tuple[str, str]] = {}
    for spec in _in_order(design.joints):

        def make(spec: d.Joint = spec) -> None:
            for meeting in _meetings(spec, scope, placed, sizing):
                if spec.after is not None:
                    done = tuple(
                        c for c in cuts if c.joint == str(spec.after) and c.target == meeting.first.name
                    )
                    meeting = replace(meeting, earlier=done)
                made = KINDS[str(spec.kind)](meeting, spec, sizing)
                cuts.extend(c for c in made.cuts if not _is_made(c, cuts))
                pieces.extend(made.pieces)
                between.update((p.name, (meeting.first.name, meeting.second.name)) for p in made.pieces)
                hardware.extend(made.hardware)
                collected.findings += [f for f in made.findings if not _is_told(f, collected.findings)]
                joint = Joint(
                    meeting.name,
                    str(spec.kind),
                    (meeting.first.name, meeting.second.name),
                    spec.fit or default_fit(str(spec.kind)),
                    max(meeting.clearance, sizing.or_rule(spec.gap, 0.0)),
                    spec.place,
                    spec.sprung,
                )
                joints.append((meeting, joint))

        collected.run(make)
    return _Joined(joints, cuts, pieces, hardware, between)


def _is_told(finding: Finding, told: Sequence[Finding]) -> bool:
    """What holds alike of every place of one joint is told of the first."""
    same = (f for f in told if (f.place, f.rule, f.level) == (finding.place, finding.rule, finding.level))
    return any(_nameless(f) == _nameless(finding) for f in same)


def _nameless(finding: Finding) -> str:
    text = finding.text
    for name in finding.members:
        text = text.replace(f'"{name}"', '""')
    return text


def _is_made(cut: Cut, cuts: Sequence[Cut]) -> bool:
    """One run of a rebate serves every board that lies in it."""
    return any(
        c.target == cut.target and c.kind == cut.kind and same_cutters(c.cutters, cut.cutters) for c in cuts
    )


def _in_order(joints: Sequence[d.Joint]) -> list[d.Joint]:
    """Joints that come ``after`` another behind it, otherwise as written (the reader refuses circles)."""
    ordered: list[d.Joint] = []
    waiting = list(joints)
    while waiting:
        done = {str(j.name) for j in ordered if j.name is not None}
        ready = [j for j in waiting if j.after is None or str(j.after) in done] or waiting[:1]
        ordered += ready
        waiting = [j for j in waiting if j not in ready]
    return ordered


def _meetings(spec: d.Joint, scope: Scope, placed: Sequence[Placed], sizing: Sizing) -> list[Meeting]:
    firsts = standing_for(spec.first, scope, placed)
    seconds = standing_for(spec.second, scope, placed)
    seen: set[tuple[str, ...]] = set()
    found = []
    title = str(spec.name) if spec.name is not None else f"{spec.first} to {spec.second} {spec.kind}"
    pairs = [(a, b) for a in firsts for b in seconds if a.name != b.name]
    if spec.first == spec.second and in_ring(scope.design, firsts[0].body.name):
        # The last one's next is the first: so each takes part alike, and all stay one member.
        number = {p.name: i for i, p in enumerate(firsts)}
        pairs.sort(key=lambda pair: (number[pair[1].name] - number[pair[0].name]) % len(firsts))
    for a, b in pairs:
        key = tuple(sorted((a.name, b.name))) if spec.first == spec.second else (a.name, b.name)
        if key in seen:
            continue
        meeting = Meeting(a, b, title, spec.place, spec.when, sizing.clearance(spec))
        meets = touches(a, b) if str(spec.kind) in AGAINST else meeting.shared() is not None
        if meets:
            seen.add(key)
            found.append(meeting)
    if not found:
        raise DesignError([_do_not_meet(scope, spec, pairs)])
    return found


def _do_not_meet(scope: Scope, spec: d.Joint, pairs: Sequence[tuple[Placed, Placed]]) -> Finding:
    apart = min((gap_between(a, b) for a, b in pairs), default=0.0)
    how = f"they stand {scope.said(apart)} apart" if apart > 1e-3 else "they only touch, and share no wood"
    text = f'{spec.kind}: "{spec.first}" and "{spec.second}" do not meet: {how}'
    return error(spec.place, "do not meet", text, str(spec.first), str(spec.second))


# --- members ----------------------------------------------------------------------------------------------


def _members(pieces: Sequence[Piece], collected: _Collector) -> list[Member]:
    groups = pieces_alike(pieces)
    marks = _Marks()
    names = _member_names([[p for p, _ in g.places] for g in groups])
    members: list[Member] = []
    for group, name in zip(groups, names, strict=True):
        bought = group.drawn.placed.body.role == "bought"
        mark = marks.bought() if bought else marks.made()

        def make() -> None:
            members.append(build_member(group, mark, name))  # noqa: B023 - run at once

        collected.run(make)
    return members


_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"


def item_letters(index: int) -> str:
    """A, B ... Z, AA for 0, 1 and on; no I or O."""
    base = len(_LETTERS)
    return _LETTERS[index] if index < base else _LETTERS[index // base - 1] + _LETTERS[index % base]


class _Marks:
    """Item references: letters for what is made; H1, H2 for what is bought."""

    def __init__(self) -> None:
        self._made = 0
        self._bought = 0

    def made(self) -> str:
        self._made += 1
        return item_letters(self._made - 1)

    def bought(self) -> str:
        self._bought += 1
        return f"H{self._bought}"


def _member_names(groups: Sequence[Sequence[Placed]]) -> list[str]:
    """What each group of like pieces is called, no name twice.

    As the designer calls it, or by all the entries that make it; where one entry makes several members, the
    one with most pieces keeps the entry's name and the others are called by their places.
    """
    called = [_joined(dict.fromkeys(p.body.name for p in group)) for group in groups]
    found = []
    for group, name in zip(groups, called, strict=True):
        largest = max((g for g, n in zip(groups, called, strict=True) if n == name), key=len)
        keeps = called.count(name) == 1 or (group is largest and len(group) > 1)
        found.append(name if keeps else _joined(p.name for p in group))
    return found


def _joined(names: Iterable[str]) -> str:
    """``stile``, ``stile and rail``, ``stile, rail and post``, ``stile, rail and 3 more``."""
    words = list(names)
    if len(words) > 3:
        words = [*words[:2], f"{len(words) - 2} more"]
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def _bought(design: d.Design, scope: Scope) -> list[Hardware]:
    found = []
    for name, part in design.bought.items():
        bent = None
        if has_place(part):
            body = scope.body(str(name), part.source)
            count, bent = len(body.standings), body.bent
        else:
            count = scope.count(part.quantity) if part.quantity is not None else 1
        use = str(part.use) if part.use is not None else ""
        developed = None if bent is None else bent.length
        found.append(Hardware(str(name), str(part.size), count, developed, use, part.source))
    return found
