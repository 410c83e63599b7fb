"""Sheets with all their parts as cut files: one for each sheet, in the order in which a machine cuts it.

The sheet's lower left corner is 0, 0 and its length runs along x, as the grain does where it has one. Layers are those
of the parts' own files, and ``SHEET`` for the sheet's outline.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from plangen import __version__
from plangen.export.cut_dxf import checked_file
from plangen.export.json_numbers import plain
from plangen.export.template_layers import file_word, layers_of
from plangen.export.templates import TemplateSet
from plangen.facts import PlanFacts
from plangen.findings import Finding, warning
from plangen.geometry.slices import Loop
from plangen.nesting.nested_sheets import NestedSheet, NestedStock, nested_stock
from plangen.tables.cut_files import CutFiles


@dataclass(frozen=True)
class NestedFiles:
    """Files by their path in the set, what plan.json tells of them, and what was found."""

    files: dict[str, bytes]
    told: list[dict[str, Any]]
    findings: tuple[Finding, ...] = ()


def nested_files(facts: PlanFacts, templates: TemplateSet) -> NestedFiles:
    """A file for each sheet of every sheet stock that has templates."""
    cut = facts.templates.cut
    files: dict[str, bytes] = {}
    told: list[dict[str, Any]] = []
    findings: list[Finding] = []
    parts = [(f.path, f.nominal, f.ready) for f in templates.files]
    for row in facts.materials if cut.nested is not None else ():
        of_stock = any(nominal.member.stock.name == row.stock.name for _, nominal, _ in parts)
        if row.breakdown is None or row.stock.kind != "sheet" or not of_stock:
            continue
        found = nested_stock(row.breakdown, parts, cut, facts.bench)
        if found is None:
            findings += _not_laid(facts, row.stock.name)
            continue
        written = {_path(found, n, cut): sheet for n, sheet in enumerate(found.sheets, 1)}
        faults: list[str] = []
        for path, sheet in written.items():
            data, wrong = checked_file(sheet, cut, _remarks(found, sheet, cut))
            files[path] = data
            faults += wrong
        if faults:
            files = {path: data for path, data in files.items() if path not in written}
            findings += _not_laid(facts, row.stock.name, "; ".join(faults[:3]))
        else:
            told.append(_told(found, written))
    return NestedFiles(files, told, tuple(findings))


def _path(found: NestedStock, number: int, cut: CutFiles) -> str:
    return f"templates/nested/{file_word(found.stock.name)}-{number}_of_{len(found.sheets)}-{cut.unit}.dxf"


def _not_laid(
    facts: PlanFacts, stock: str, why: str = "its parts find no place on a sheet"
) -> Iterator[Finding]:
    member = next((m for m in facts.bench.members if m.stock.name == stock), None)
    if member is not None:
        text = f"{stock} gets no file with all its parts: {why}"
        yield warning(member.place, "nested sheet", text, member.mark)


def _remarks(found: NestedStock, sheet: NestedSheet, cut: CutFiles) -> list[str]:
    """Of what stock and which parts the sheet is, and how it lies."""
    counts = Counter(part.path.removeprefix("templates/").removesuffix(".dxf") for part in sheet.parts)
    grain = {"along": "grain along x", "across": "grain along y"}.get(found.grain, "no grain")
    return [
        f"plangen {__version__}",
        f"{found.stock.name}, {sheet.length:g} x {sheet.width:g} mm{', from the shop' if sheet.shop else ''}, {grain}",
        "sheet's lower left corner at 0, 0; face side up",
        f"{found.spacing:g} mm between parts, {found.margin:g} mm to the sheet's edge",
        f"contours: {'middle of the cutter' if cut.compensated else 'nominal'}",
        f"unit: {cut.unit}",
        *(f"{count} x {name}" for name, count in sorted(counts.items())),
        *(f"{use.name}: {use.operation}" for use in layers_of(sheet, cut).values()),
    ]


def _told(found: NestedStock, written: dict[str, NestedSheet]) -> dict[str, Any]:
    """Lengths mm, areas mm2. ``reach``: how far along the last sheet parts go; ``bound``: sheets by area alone.
    A part's points are turned about 0, 0 by ``quarters`` of a turn, then moved by ``at``."""
    count, cost, reach = found.rectangles
    return {
        "stock": found.stock.name,
        "spacing": plain(found.spacing),
        "margin": plain(found.margin),
        "grain": found.grain,
        "cost": plain(found.cost),
        "reach": plain(found.reach),
        "bound": plain(found.bound),
        "rectangles": {"sheets": count, "cost": plain(cost), "reach": plain(reach)},
        "sheets": [
            {
                "path": path,
                "length": plain(sheet.length),
                "width": plain(sheet.width),
                "shop": sheet.shop,
                "used": plain(_used(sheet)),
                "parts": [
                    {
                        "file": part.path,
                        "member": part.template.member.mark,
                        "hand": part.template.hand,
                        "quarters": part.quarters,
                        "at": [plain(v) for v in part.at],
                    }
                    for part in sheet.parts
                ],
            }
            for path, sheet in written.items()
        ],
    }


def _used(sheet: NestedSheet) -> float:
    """Area of what is cut through on a sheet, openings less."""
    return sum(Loop(c.curves).area for c in sheet.contours if c.closed and c.operation.startswith("through"))
