"""Templates as DXF: a file a part and hand, true size, a layer an operation and depth (``tables/cut_files.py``).

Contours are nominal unless the settings say otherwise, and then the layer and the file say so. Outer contours run
counter-clockwise and inner ones clockwise. A file that the lint finds fault with is not written.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from plangen import __version__
from plangen.export.cut_dxf import checked_file
from plangen.export.template_layers import LayerUse, layer_name, layers_of, template_name
from plangen.findings import Finding, warning
from plangen.geometry.contour_faults import curve_length, gap_faults
from plangen.geometry.curves import Vec2
from plangen.geometry.cutting import GeometryError
from plangen.geometry.outline_boxes import curve_box
from plangen.joinery.model import Member, Model
from plangen.machining.cut_contours import ReadyTemplate, make_ready
from plangen.machining.template import Template, make_template, templates_of_hands, wants_template
from plangen.tables.cut_files import DEFAULT, CutFiles

FOLLOWED = {
    "both sides": "face side and back alike",
    "face side": "face side; the back is smaller",
    "back": "back; the face side is smaller",
    "outside of both": "outside of face side and back",
}
"""Which outline is cut, in words."""
_BEVEL_TO = {"face side": "the back outline", "back": "the face outline", "outside of both": "both outlines"}
_OFF = 0.1
"""Millimetres by which a measured sheet may differ from the drawn one before its joints are spoken of."""


@dataclass(frozen=True)
class TemplateFile:
    """One file: the nominal template, and as it is written."""

    path: str
    nominal: Template
    ready: ReadyTemplate
    data: bytes

    @property
    def template(self) -> Template:
        return self.ready.template


@dataclass(frozen=True)
class TemplateSet:
    """Every template of a set, and what was found in making them."""

    nominal: tuple[Template, ...] = ()
    """Whether or not a file could be written of it."""
    files: tuple[TemplateFile, ...] = ()
    findings: tuple[Finding, ...] = ()


def template_set(model: Model, cut: CutFiles = DEFAULT) -> TemplateSet:
    """The templates of all members that want one, each hand by itself."""
    nominal: list[Template] = []
    files: list[TemplateFile] = []
    findings: list[Finding] = list(_unknown_sheets(model, cut))
    for member in model.members:
        if not wants_template(member):
            continue
        try:
            made = make_template(member)
        except (GeometryError, ValueError) as problem:
            findings.append(_no_template(member, (str(problem),)))
            continue
        for template in () if made is None else templates_of_hands(made):
            nominal.append(template)
            file, found = _file(template, cut, model)
            findings += found
            if file is not None:
                files.append(file)
    return TemplateSet(tuple(nominal), tuple(files), tuple(dict.fromkeys(findings)))


def template_files(model: Model, cut: CutFiles = DEFAULT) -> tuple[dict[str, bytes], tuple[Finding, ...]]:
    """Template files by their path in the plan set, and why a member that wants one has none."""
    made = template_set(model, cut)
    return {f.path: f.data for f in made.files}, made.findings


def _file(template: Template, cut: CutFiles, model: Model) -> tuple[TemplateFile | None, list[Finding]]:
    member = template.member
    try:
        ready = make_ready(template, cut, model)
    except ValueError as problem:
        return None, [_no_template(member, (str(problem),))]
    findings = [_told(member, text) for text in ready.told]
    data, faults = template_dxf(ready.template, cut)
    if faults:
        return None, [*findings, _no_template(member, faults)]
    return TemplateFile(f"templates/{template_name(template, cut)}.dxf", template, ready, data), findings


def _no_template(member: Member, faults: Sequence[str]) -> Finding:
    text = f'"{member.name}" ({member.mark}) gets no template: {"; ".join(faults[:3])}'
    return warning(member.place, "template", text, member.mark)


def _told(member: Member, text: str) -> Finding:
    return warning(member.place, "template", f'"{member.name}" ({member.mark}): {text}', member.mark)


def _unknown_sheets(model: Model, cut: CutFiles) -> Iterator[Finding]:
    """Sheets measured that differ so much from the drawn that joints do not fit."""
    for name, thick in cut.measured:
        for member in model.members:
            off = thick - member.finished[2]
            if member.stock.name == name and member.stock.kind == "sheet" and abs(off) > _OFF:
                text = (
                    f"its sheet measures {thick:g} mm and is drawn {member.finished[2]:g}: holes go through what was "
                    "measured, but joints fit the drawn; write the thickness under stock"
                )
                yield _told(member, text)


def template_dxf(template: Template, cut: CutFiles = DEFAULT) -> tuple[bytes, tuple[str, ...]]:
    """The file of a template made ready; or nothing, and what a machine could not follow."""
    # a polyline of starts alone would close over a gap unseen
    gaps = [
        f"{layer_name(c, cut)} {fault}"
        for c in template.contours
        for fault in (gap_faults([c.curves]) if c.closed else gap_faults((), [c.curves]))
    ]
    if gaps:
        return b"", tuple(gaps)
    return checked_file(template, cut, _remarks(template, cut))


def _remarks(template: Template, cut: CutFiles) -> list[str]:
    """What the file is of and which face lies up."""
    member = template.member
    nominal = (
        f"middle of a {cut.cutter:g} mm cutter" if cut.compensated else "nominal, the part's own outline"
    )
    return [
        f"plangen {__version__}",
        f"{member.mark} {member.name}, quantity {template.quantity}",
        *([f"{template.hand} hand"] if template.hand else []),
        "face side up",
        f"outline cut: {followed(template)}",
        f"contours: {nominal}",
        f"unit: {cut.unit}",
        *_fitted(member, cut),
        *(f"{use.name}: {use.operation}{_depth(use)}" for use in layers_of(template, cut).values()),
    ]


def followed(template: Template) -> str:
    """Which outline is cut, and what leads from it to the others."""
    words = FOLLOWED[template.follow]
    if template.follow == "both sides":
        return words
    if template.beveled:
        return f"{words}: cut square, then bevel to {_BEVEL_TO[template.follow]}"
    return f"{words} by what is sunk into it: no edge is beveled"


def _fitted(member: Member, cut: CutFiles) -> Iterator[str]:
    for end, left in zip("AB", member.allowance, strict=True):
        if left:
            how = "cut longer by the" if cut.leave_ends else "cut to the figure, without the"
            yield f"end {end} is fitted on the work: {how} {left:g} mm that the design leaves"


def _depth(use: LayerUse) -> str:
    depth = "" if use.depth is None else f", {use.depth:.2f} mm deep"
    return depth if use.diameter is None else f"{depth}, {use.diameter:.2f} mm wide"


def cut_length(template: Template) -> float:
    """Millimetres that a cutter runs along, round pockets once."""
    followed = ("through outside", "through inside", "pocket")
    return math.fsum(curve_length(c) for k in template.contours if k.operation in followed for c in k.curves)


def template_box(template: Template) -> tuple[Vec2, Vec2]:
    """Least and greatest x and y."""
    boxes = [curve_box(curve) for c in template.contours for curve in c.curves]
    return (min(b[0] for b in boxes), min(b[1] for b in boxes)), (
        max(b[2] for b in boxes),
        max(b[3] for b in boxes),
    )
