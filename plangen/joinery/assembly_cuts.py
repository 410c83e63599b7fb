"""What is cut on an assembly once it is together, and which assembly everything that is cut then belongs to.

The cutter of a rebate or a trim is one, made in the world from planes of bodies, and the same for every member
that it meets; each takes it in its own frame.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from plangen.design import design as d
from plangen.findings import Finding, fail
from plangen.joinery.assembly_rebate import rebate
from plangen.joinery.assembly_work import Made, Work, place_of, volume_of, world_planes
from plangen.joinery.meeting import LEAST_VOLUME, Cut, Placed, standing_for
from plangen.joinery.model import Assembly, AssemblyFeature, Feature, Member
from plangen.placing.scope import Scope

Between = Mapping[str, tuple[str, str]]
"""The two members that each loose piece lies between, by instance."""


@dataclass(frozen=True)
class OnAssemblies:
    """All cuts on assemblies, and what their maker should know."""

    cuts: tuple[Cut, ...]
    features: dict[str, list[AssemblyFeature]]
    """By the name of the assembly, in order."""
    findings: tuple[Finding, ...]


def cut_assemblies(
    design: d.Design,
    scope: Scope,
    placed: Sequence[Placed],
    between: Between,
    run: Callable[[Callable[[], None]], None],
) -> OnAssemblies:
    """Every cut on every assembly, in the design's order. ``run`` keeps what a step finds wrong.

    ``placed`` are all bodies in place, loose pieces of joints among them.
    """
    cuts: list[Cut] = []
    findings: list[Finding] = []
    features: dict[str, list[AssemblyFeature]] = {}
    for name, assembly in design.assemblies.items():
        for spec in assembly.cuts:

            def make(
                name: str = str(name), assembly: d.Assembly = assembly, spec: d.AssemblyCut = spec
            ) -> None:
                targets = tuple(_targets(name, assembly, spec, scope, placed, between))
                work = Work(scope, name, spec, targets, frozenset(between))
                if spec.when not in LATER:
                    raise work.fails(
                        "stage", "what is cut on an assembly is cut when it is glued or assembled"
                    )
                made = rebate(work) if spec.rebate is not None else _trim(work)
                cuts.extend(made.cuts)
                findings.extend(made.findings)
                features.setdefault(name, []).append(made.feature)

            run(make)
    return OnAssemblies(tuple(cuts), features, tuple(findings))


def members_of(
    assembly: d.Assembly, scope: Scope, placed: Sequence[Placed], between: Between
) -> list[Placed]:
    """The bodies of an assembly where they stand, and the loose pieces between two of them."""
    named = [p for part in assembly.of for p in standing_for(part, scope, placed)]
    names = {p.name for p in named}
    return named + [p for p in placed if p.name in between and set(between[p.name]) <= names]


def _targets(
    name: str,
    assembly: d.Assembly,
    spec: d.AssemblyCut,
    scope: Scope,
    placed: Sequence[Placed],
    between: Between,
) -> list[Placed]:
    every = members_of(assembly, scope, placed, between)
    if not spec.of:
        return every
    chosen: set[str] = set()
    for part in spec.of:
        found = {p.name for p in standing_for(part, scope, placed)}
        if not found <= {p.name for p in every}:
            raise fail(part.place, "assembly", f'"{name}": "{part}" is no part of it', str(part))
        chosen |= found
    return [p for p in every if p.name in chosen]


WHOLE = "the whole piece"
"""Stands for an assembly where something is cut later on members that no assembly of the design holds."""
LATER = ("glued", "assembled")
"""Stages at which members are together: what is cut then is cut on an assembly."""


def assemblies_of(
    design: d.Design,
    scope: Scope,
    placed: Sequence[Placed],
    between: Between,
    members: Sequence[Member],
    features: Mapping[str, Sequence[AssemblyFeature]],
) -> tuple[Assembly, ...]:
    """The design's assemblies, each with what is cut on it once it is together.

    What a joint, a fastener or a member's own trim asks for at such a stage is cut on the smallest assembly that
    holds the member, and its mate where one does; on the whole piece where no assembly holds it.
    """
    held = {
        str(name): tuple(p.name for p in members_of(spec, scope, placed, between))
        for name, spec in design.assemblies.items()
    }
    cut: dict[str, list[tuple[str, str]]] = {name: [] for name in (*held, WHOLE)}
    for member in members:
        for feature in member.features:
            if feature.stage in LATER:
                cut[feature.assembly or _holding(member, feature, held)].append((member.mark, feature.id))
    found = [
        Assembly(
            str(name),
            held[str(name)],
            tuple(cut[str(name)]),
            str(spec.glue or ""),
            tuple(features.get(str(name), ())),
        )
        for name, spec in design.assemblies.items()
    ]
    if cut[WHOLE]:
        every = tuple(i.name for m in members if m.role != "jig" for i in m.instances)
        found.append(Assembly(WHOLE, every, tuple(cut[WHOLE])))
    return tuple(found)


def _holding(member: Member, feature: Feature, held: Mapping[str, tuple[str, ...]]) -> str:
    own = {i.name for i in member.instances}
    fitting = [n for n, names in held.items() if own & set(names)]
    both = [n for n in fitting if feature.mate in held[n]]
    return min(both or fitting, key=lambda n: len(held[n]), default=WHOLE)


# --- a plane ----------------------------------------------------------------------------------------------


def _trim(work: Work) -> Made:
    spec = work.spec
    assert spec.trim is not None
    plane = work.scope.plane(spec.trim)
    made = []
    for placed in work.placed:
        own = world_planes(placed)
        if volume_of([*own, plane.flipped()]) <= LEAST_VOLUME:
            continue
        if volume_of([*own, plane]) <= LEAST_VOLUME:
            text = (
                f'"{placed.name}" lies wholly beyond the plane of this trim: the waste is on the side that the '
                "plane faces; turn it round (facing), or leave the member out (of)"
            )
            raise work.fails("trim", text, placed.name, place=place_of(spec.trim))
        made.append(work.cut(placed, "trim", [[plane]], ""))
    if not made:
        raise work.fails("trim", "the plane of this trim meets no member", place=place_of(spec.trim))
    names = tuple(c.target for c in made)
    return Made(
        tuple(made), AssemblyFeature("trim", spec.when, spec.place, names, plane, str(spec.note or ""))
    )
