"""Plan facts: every number that any output prints, computed once. The one flow from a design file to them.

    text -> Design -> bodies -> Model -> lists, findings, figures

Drawing and exporting start from here and compute no size of the work again.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import PurePath

from plangen.assembling.steps import Assembling, plan_assembling
from plangen.checks.model import check_model
from plangen.checks.moving import check_moving, check_panels
from plangen.checks.removing import leaving_groups
from plangen.checks.supply import check_planing, check_supply
from plangen.design.design import Design
from plangen.design.files_beside import Beside, nothing_beside
from plangen.design.reading import read_design_bytes
from plangen.design.shop_reading import ChosenShop, choose_shop
from plangen.design.sizes import evaluate_values
from plangen.design.template_reading import ChosenTemplates, choose_templates
from plangen.design.yard_reading import Supplied, choose_supply
from plangen.dimensioning.assemblies import dimension_assemblies
from plangen.dimensioning.assembly_marks import AssemblyMark, assembly_marks
from plangen.dimensioning.bent import BentBar, dimension_bent
from plangen.dimensioning.elevations import dimension_elevations
from plangen.dimensioning.figures import AssemblyFigures, ElevationFigure, MemberFigures
from plangen.dimensioning.marking import MarkingOut, marking_out
from plangen.dimensioning.members import dimension_members
from plangen.dimensioning.overall import finished_as_stated
from plangen.dimensioning.ownership import sizes_by_part, told_once
from plangen.dimensioning.proof import rounding_findings, sheet_findings
from plangen.findings import DesignError, Finding, in_order, note
from plangen.joinery.model import Model
from plangen.joinery.modelling import build_model
from plangen.joinery.stages import bench_model
from plangen.machining.planning import plan_cuts
from plangen.machining.setup import Machining
from plangen.placing.building import place_member
from plangen.placing.scope import Scope
from plangen.stock.balance import Balance, balance
from plangen.stock.coating import CoatingRow, bare_surface, coating_rows, glue_row
from plangen.stock.contacts import JointContact, joint_contacts
from plangen.stock.cutting_list import CuttingRow, cutting_list
from plangen.stock.hardware_list import HardwareRow, hardware_list
from plangen.stock.materials_list import MaterialRow, listed
from plangen.stock.movement import MovingPart, forced_parts, moving_parts, swing_of
from plangen.stock.panel_room import tight_panels
from plangen.units import STYLES, Quantity, UnitStyle, as_angle, as_length


@dataclass(frozen=True)
class PlanFacts:
    """A design, worked out."""

    design: Design
    name: str
    """The design file's base name without its ending: the folder of its outputs."""
    source: str
    """The design file's base name."""
    sha256: str
    """Of the design file's bytes."""
    values: dict[str, Quantity]
    shop: ChosenShop
    """The workshop that it is planned for."""
    templates: ChosenTemplates
    """How its cut files and full-size paper are made."""
    supply: Supplied
    """The yard, the allowances, the air it will live in."""
    style: UnitStyle
    model: Model
    """The piece as it is when all is done."""
    bench: Model
    """The same with every member as it leaves the bench: what part sheets, templates and the cutting list show."""
    cutting: tuple[CuttingRow, ...]
    materials: tuple[MaterialRow, ...]
    hardware: tuple[HardwareRow, ...]
    coating: tuple[CoatingRow, ...]
    """Finishes, then glue."""
    balance: Balance | None
    moving: tuple[MovingPart, ...]
    """Wide parts and how far they move across their grain."""
    figures: tuple[MemberFigures, ...]
    bent: tuple[BentBar, ...]
    """The flats of bent bars, and their shapes."""
    elevation_figures: tuple[ElevationFigure, ...]
    assembly_figures: tuple[AssemblyFigures, ...]
    """Of the assemblies on which something is cut once they are together."""
    marking: MarkingOut
    """How the parts are marked out from the figures of their sheets."""
    joint_marks: tuple[AssemblyMark, ...]
    """The letter on both parts of each joint."""
    contacts: tuple[JointContact, ...]
    """Where the parts of each joint lie on each other."""
    machining: Machining
    """Every cut: set-ups, settings, jigs. Planned on the piece as it is when all is done."""
    assembling: Assembling
    """How the piece goes together, step by step."""
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class _Given:
    """What the design and the files beside it say."""

    design: Design
    values: dict[str, Quantity]
    shop: ChosenShop
    templates: ChosenTemplates
    supply: Supplied
    scope: Scope

    @property
    def style(self) -> UnitStyle:
        """How this design's figures are printed."""
        style, drawing = STYLES[self.design.units], self.design.drawing
        if drawing.sizes is not None:
            style = replace(style, step=as_length(self.scope.quantity(drawing.sizes), self.design.units))
        if drawing.angles is not None:
            style = replace(style, angle_step=as_angle(self.scope.quantity(drawing.angles)))
        return style


@dataclass(frozen=True)
class _Planned:
    """How the piece is made and put together; the models with the jigs for it."""

    model: Model
    bench: Model
    contacts: tuple[JointContact, ...]
    machining: Machining
    assembling: Assembling
    figures: tuple[MemberFigures, ...]
    findings: tuple[Finding, ...]


def plan_facts(
    data: bytes, file: str, beside: Beside = nothing_beside
) -> tuple[PlanFacts | None, tuple[Finding, ...]]:
    """Everything an output needs, and all findings in the order of the file.

    ``data`` are the design file's bytes, ``file`` its name as the user gave it (for messages), ``beside`` reads a
    file that stands beside it. None where a finding is an error. Never raises for anything the files may hold.
    """
    design, findings = read_design_bytes(data, file)
    if design is None:
        return None, findings
    try:
        given = _given(design, file, beside)
        model = build_model(design, given.scope)
        bench = bench_model(model)
        found = (*findings, *model.findings, *check_model(design, given.scope, model))
    except DesignError as problem:
        return None, in_order((*findings, *problem.findings))
    if _is_wrong(found):
        return None, in_order(found)
    planned = _planned(given, model, bench)
    found = (*found, *planned.findings)
    if _is_wrong(found):
        return None, in_order(found)
    facts = _listed(given, planned, PurePath(file), hashlib.sha256(data).hexdigest(), in_order(found))
    return facts, facts.findings


def _is_wrong(found: Iterable[Finding]) -> bool:
    return any(f.level == "error" for f in found)


def _given(design: Design, file: str, beside: Beside) -> _Given:
    """Raises DesignError for what a file beside the design holds."""
    values = evaluate_values(design)
    shop = choose_shop(design, file, beside)
    templates = choose_templates(design, file, beside)
    supply = choose_supply(design, file, beside)
    return _Given(design, values, shop, templates, supply, Scope(design, values, place_member))


def _planned(given: _Given, model: Model, bench: Model) -> _Planned:
    design, supply, style = given.design, given.supply, given.style
    contacts = joint_contacts(model)
    forced = forced_parts(model, contacts, design.units, supply.air)
    assembling = plan_assembling(model, leaving_groups(design, given.scope))
    machining = plan_cuts(model, given.shop.shop, design.units)
    if machining.members:
        model = replace(model, members=(*model.members, *machining.members))
        bench = replace(bench, members=(*bench.members, *machining.members))
    figures = dimension_members(bench, style)
    findings = (
        *check_supply(design, model, supply.yard),
        *check_planing(design, bench, supply.allowances),
        *check_moving(forced, swing_of(supply.air), design.units),
        *check_panels(tight_panels(model, design.units, supply.air), swing_of(supply.air), design.units),
        *sheet_findings(bench, figures),
        *rounding_findings(bench, figures, style),
        *_beyond_the_shop(machining, model),
        *_not_straight(assembling, model),
    )
    return _Planned(model, bench, contacts, machining, assembling, figures, findings)


def _listed(
    given: _Given, planned: _Planned, file: PurePath, sha256: str, findings: tuple[Finding, ...]
) -> PlanFacts:
    """The facts: what is planned, and every list and figure that follows from it."""
    design, supply, style = given.design, given.supply, given.style
    model, bench, figures, contacts = planned.model, planned.bench, planned.figures, planned.contacts
    told, assemblies = sizes_by_part(bench, figures), dimension_assemblies(model, bench, figures, style)
    finished = finished_as_stated(bench, figures)
    cutting = cutting_list(bench, design.units, supply.allowances, supply.yard, finished)
    coats = coating_rows(bare_surface(model, contacts), supply.coats, map(str, design.finish), design.units)
    glue = glue_row(contacts, cutting, design.units)
    return PlanFacts(
        design=design,
        name=file.stem,
        source=file.name,
        sha256=sha256,
        values=given.values,
        shop=given.shop,
        templates=given.templates,
        supply=supply,
        style=style,
        model=model,
        bench=bench,
        cutting=cutting,
        materials=listed(cutting, design.units, supply.allowances, supply.yard),
        hardware=hardware_list(model),
        coating=(*coats, *([glue] if glue else [])),
        balance=balance(model),
        moving=moving_parts(bench, design.units, supply.air),
        figures=figures,
        bent=dimension_bent(bench, style),
        elevation_figures=tuple(told_once(dimension_elevations(model, style), told, assemblies, style)),
        assembly_figures=assemblies,
        marking=marking_out(bench, figures),
        joint_marks=assembly_marks(model, [c.touches for c in contacts]),
        contacts=contacts,
        machining=planned.machining,
        assembling=planned.assembling,
        findings=findings,
    )


def _beyond_the_shop(machining: Machining, model: Model) -> Iterator[Finding]:
    """What the shop's machines cannot make, at the line of the member that it is told of."""
    for text in machining.beyond:
        member = next((m for m in model.members if text.startswith((f"{m.name}:", f"{m.name},"))), None)
        if member is not None:
            yield note(member.place, "shop", text, member.name)


def _not_straight(assembling: Assembling, model: Model) -> Iterator[Finding]:
    """What no straight move brings together, told at the line of its last member."""
    if assembling.stuck:
        member, _ = model.instance(assembling.stuck[-1])
        names = ", ".join(f'"{n}"' for n in assembling.stuck)
        text = f"no straight moves bring {names} together: say sprung: yes at the joint that is sprung in"
        yield note(member.place, "assembling", text, *assembling.stuck)


def check_text(text: str, file: str) -> tuple[Finding, ...]:
    """The findings of a design given as text."""
    return plan_facts(text.encode(), file)[1]
