"""How a design's templates are made: its ``templates`` section, or the file beside it, to ``tables.cut_files``."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from typing import Any

from plangen.design import template_settings as t
from plangen.design.design import Design
from plangen.design.expressions import Expression, Lookup
from plangen.design.files_beside import Beside, FiguresAlone, nothing_beside, read_beside
from plangen.design.sizes import Sizes
from plangen.findings import DesignError, Finding, error, in_order
from plangen.tables.cut_files import (
    DEFAULT,
    LAYERS,
    LONGEST_LAYER,
    CutFiles,
    FitPlay,
    FullSizePaper,
    HoldDown,
    Layer,
    Nesting,
    Operation,
    Tabs,
)

_PAPERS = {"A4": "A4", "letter": "Letter", "universal": "universal", None: ""}
_TAKES: dict[str, frozenset[Operation]] = {
    "depth": frozenset({"pocket", "bore", "tabs"}),
    "diameter": frozenset({"bore"}),
}
_HELD = re.compile(r"\{([^{}]*)\}")
_FIGURES = 6
"""Characters that a depth or diameter takes at most in a layer's name."""
_LEAST_STRETCH, _MOST_STRETCH = 0.95, 1.05
_ROLL, _OVERLAP, _BLANK_EDGE = (250.0, 1650.0), (4.0, 40.0), (0.0, 25.0)
"""Millimetres: rolls from the narrowest that cards have room on to 64 in; crosses have room in the overlap; a small
sheet still takes rulers each way."""


@dataclass(frozen=True)
class ChosenTemplates:
    """How templates are made, and the file that says it."""

    cut: CutFiles = DEFAULT
    source: str | None = None
    """Base name of the templates file; None: said in the design, or not at all."""
    sha256: str | None = None


def choose_templates(design: Design, file: str, beside: Beside = nothing_beside) -> ChosenTemplates:
    """How the design wants its templates; as usual where it does not say.

    ``file`` is the design's name as the user gave it. Raises DesignError with all that is wrong, at its place in the
    file that says it.
    """
    said = design.templates
    if said is None:
        return ChosenTemplates()
    if isinstance(said, t.Templates):
        return ChosenTemplates(_cut_files(said, Sizes(design).lookup))
    found, sha256 = read_beside(
        said, file, beside, "templates file", t.TemplatesFile, "units and what is said of templates"
    )
    return ChosenTemplates(_cut_files(found, FiguresAlone("templates file").lookup), str(said), sha256)


def _cut_files(said: t.Templates, lookup: Lookup) -> CutFiles:
    """The settings of sound records."""
    if wrong := in_order(
        [
            *_wrong_together(said),
            *_too_near(said, lookup),
            *_wrong_layers(said.layers, lookup),
            *_wrong_paper(said, lookup),
        ]
    ):
        raise DesignError(wrong)
    return CutFiles(
        version=said.version,
        unit=said.unit,
        curves=said.curves,
        circles=said.circles,
        tolerance=_length(said.within, lookup) or DEFAULT.tolerance,
        origin=said.origin,
        cutter=_length(said.cutter, lookup),
        compensated=said.compensated,
        relief="none" if said.inside_corners == "sharp" else said.inside_corners,
        fit=_figures(FitPlay(), said.fit, lookup),
        tabs=_tabs(said.tabs, lookup),
        lead_in=_length(said.lead_in, lookup),
        hold_down=_hold_down(said.hold_down, lookup),
        measured=tuple((str(m.stock), _length(m.thickness, lookup) or 0.0) for m in said.measured),
        nested=_nesting(said.nested, lookup),
        leave_ends=said.fitted_ends == "left long",
        layers=_layers(said.layers, lookup),
        paper=_paper(said.on_paper, lookup),
    )


# --- what cannot go together -----------------------------------------------------------------------------


def _wrong_together(said: t.Templates) -> Iterator[Finding]:
    needs = (
        (said.compensated, "compensated: yes"),
        (said.inside_corners != "sharp", f"inside corners: {said.inside_corners}"),
        (bool(said.hold_down), "hold down"),
    )
    for asked, word in needs:
        if asked and said.cutter is None:
            yield error(said.source, "templates", f'"{word}" needs the "cutter" that is used')
    if said.compensated and said.curves == "splines":
        text = 'the middle of the cutter runs in arcs: "compensated: yes" does not go with "curves: splines"'
        yield error(said.source, "templates", text)
    if said.curves == "splines" and said.version == "R12":
        yield error(
            said.source, "templates", 'DXF R12 has no splines; say "version: R2000" or take other curves'
        )
    gaps = isinstance(said.tabs, t.Tabs) and said.tabs.left_as == "gaps"
    if gaps and said.curves == "splines":
        yield error(said.source, "templates", 'gaps are left in arcs and lines, not in "curves: splines"')


def _too_near(said: t.Templates, lookup: Lookup) -> Iterator[Finding]:
    if not isinstance(said.nested, t.Nesting) or said.nested.spacing is None:
        return
    cutter, spacing = _length(said.cutter, lookup), _length(said.nested.spacing, lookup)
    if cutter is not None and spacing is not None and spacing < cutter:
        text = (
            f'"spacing" is "{said.nested.spacing}"; a cutter of {cutter:g} mm does not pass between the parts'
        )
        yield error(said.nested.spacing.place, "templates", text)


def _wrong_layers(said: t.CutLayers | None, lookup: Lookup) -> Iterator[Finding]:
    for operation, layer in _said_layers(said):
        if layer.name is not None and (why := _wrong_name(str(layer.name), operation)):
            yield error(layer.name.place, "layer", f'"{layer.name}" is no layer\'s name: {why}')
        if layer.colour is not None:
            value = layer.colour.number(lookup).value
            if value.denominator != 1 or not 1 <= value <= 255:
                text = f'"colour" is "{layer.colour}"; a whole number from 1 to 255 is expected'
                yield error(layer.colour.place, "layer", text)


def _wrong_name(name: str, operation: Operation) -> str:
    for word in _HELD.findall(name):
        if word not in _TAKES:
            return f'"{{{word}}}" stands for nothing; {{depth}} and {{diameter}} do'
        if operation not in _TAKES[word]:
            return f'{operation} has no {word} that "{{{word}}}" could stand for'
    plain = _HELD.sub("0" * _FIGURES, name)
    if not re.fullmatch(r"[A-Z0-9_-]+", plain):
        return "it takes capitals, figures, - and _ alone, as old machines read no others"
    if len(plain) > LONGEST_LAYER:
        return f"with its figures it is longer than {LONGEST_LAYER} characters"
    return ""


def _wrong_paper(said: t.Templates, lookup: Lookup) -> Iterator[Finding]:
    paper = said.on_paper
    if paper is None:
        return
    for name, said_length, least, most in (
        ("roll", paper.roll, *_ROLL),
        ("overlap", paper.overlap, *_OVERLAP),
        ("blank edge", paper.blank_edge, *_BLANK_EDGE),
    ):
        if said_length is not None and not least <= (mm := _length(said_length, lookup) or 0.0) <= most:
            text = f'"{name}" is "{said_length}", {mm:g} mm; {least:g} to {most:g} mm is expected'
            yield error(said_length.place, "templates", text)
    for figure in paper.stretch or ():
        if not _LEAST_STRETCH <= float(figure.number(lookup).value) <= _MOST_STRETCH:
            text = (
                f'"stretch" is "{figure}"; a printer that is {_LEAST_STRETCH} to {_MOST_STRETCH} of true size'
            )
            yield error(figure.place, "templates", text + " is corrected, no other")


# --- records to settings ---------------------------------------------------------------------------------


def _length(said: Expression | None, lookup: Lookup) -> float | None:
    return None if said is None else float(said.length(lookup).value)


def _figures(usual: Any, said: Any, lookup: Lookup) -> Any:
    """``usual`` with the lengths that the record says, by the names of its fields."""
    if said is None:
        return usual
    found = {f.name: _length(getattr(said, f.name, None), lookup) for f in fields(usual) if f.name != "left"}
    return replace(usual, **{name: value for name, value in found.items() if value is not None})


def _tabs(said: t.Tabs | bool, lookup: Lookup) -> Tabs | None:
    if isinstance(said, t.Tabs):
        return replace(_figures(Tabs(), said, lookup), left=said.left_as)
    return Tabs() if said else None


def _hold_down(said: t.HoldDown | bool, lookup: Lookup) -> HoldDown | None:
    if isinstance(said, t.HoldDown):
        found: HoldDown = _figures(HoldDown(), said, lookup)
        return found
    return HoldDown() if said else None


def _nesting(said: t.Nesting | bool, lookup: Lookup) -> Nesting | None:
    if isinstance(said, t.Nesting):
        return Nesting(_length(said.spacing, lookup), _length(said.margin, lookup))
    return Nesting() if said else None


def _said_layers(said: t.CutLayers | None) -> Iterator[tuple[Operation, t.CutLayer]]:
    for operation in LAYERS:
        layer = None if said is None else getattr(said, operation.replace(" ", "_"))
        if layer is not None:
            yield operation, layer


def _layers(said: t.CutLayers | None, lookup: Lookup) -> dict[Operation, Layer]:
    found = dict(LAYERS)
    for operation, layer in _said_layers(said):
        usual = LAYERS[operation]
        name = usual.name if layer.name is None else str(layer.name)
        colour = usual.colour if layer.colour is None else int(layer.colour.number(lookup).value)
        found[operation] = replace(usual, name=name, colour=colour)
    return found


def _paper(said: t.PaperTemplates | None, lookup: Lookup) -> FullSizePaper:
    usual = FullSizePaper()
    if said is None:
        return usual
    stretch = usual.stretch
    if said.stretch is not None:
        across, up = (float(f.number(lookup).value) for f in said.stretch)
        stretch = (across, up)
    overlap, edge = _length(said.overlap, lookup), _length(said.blank_edge, lookup)
    return FullSizePaper(
        paper=_PAPERS[said.paper],
        roll=_length(said.roll, lookup),
        overlap=usual.overlap if overlap is None else overlap,
        edge=usual.edge if edge is None else edge,
        stretch=stretch,
    )
