"""What layers and files of templates are called: operation, depth, diameter; part, hand, quantity, stock, unit."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from typing import Protocol

from plangen.machining.template import Contour, Template
from plangen.tables.cut_files import DEFAULT, LAYERS, CutFiles, Operation
from plangen.units import MM_PER_INCH

_LONGEST_NAME = 40
_OPEN: frozenset[Operation] = frozenset({"score", "mark", "tabs", "lead in"})
CUT_ROUND: frozenset[Operation] = frozenset({"through outside", "through inside", "pocket"})
"""What the cutter's middle runs round, where it is compensated."""


@dataclass(frozen=True)
class LayerUse:
    """A layer of one file: what happens there."""

    name: str
    colour: int
    operation: Operation
    depth: float | None
    diameter: float | None
    may_be_open: bool


class Contoured(Protocol):
    """A template, or a sheet with its parts."""

    @property
    def contours(self) -> tuple[Contour, ...]: ...


def layers_of(drawn: Contoured, cut: CutFiles) -> dict[str, LayerUse]:
    """The layers of a file by their names, in the order in which they come up."""
    gaps = cut.tabs is not None and cut.tabs.left == "gaps"
    found: dict[str, LayerUse] = {}
    for contour in drawn.contours:
        name = layer_name(contour, cut)
        if name not in found:
            circle = contour.circle
            found[name] = LayerUse(
                name,
                cut.layers[contour.operation].colour,
                contour.operation,
                contour.depth,
                2 * circle.radius if contour.operation == "bore" and circle is not None else None,
                contour.operation in _OPEN or (gaps and contour.operation == "through outside"),
            )
    return found


def layer_name(contour: Contour, cut: CutFiles = DEFAULT) -> str:
    """``POCKET_D635``: 6.35 mm deep. Of the usual names what is compensated ends in ``_C`` and the cutter's radius."""
    name = cut.layers[contour.operation].name
    if "{depth}" in name and contour.depth is not None:
        name = name.replace("{depth}", _figure(contour.depth, cut))
    circle = contour.circle
    if "{diameter}" in name and circle is not None:
        name = name.replace("{diameter}", _figure(2 * circle.radius, cut))
    usual = cut.layers[contour.operation].name == LAYERS[contour.operation].name
    if cut.compensated and cut.cutter is not None and usual and contour.operation in CUT_ROUND:
        name += f"_C{_figure(cut.cutter / 2, cut)}"
    return name


def _figure(mm: float, cut: CutFiles) -> str:
    return f"{round(mm * 100)}" if cut.unit == "mm" else f"{round(mm / float(MM_PER_INCH) * 1000)}TH"


def template_name(template: Template, cut: CutFiles = DEFAULT) -> str:
    """``B-leg-left-x2-2x4_douglas_fir-mm``: mark, name, hand, quantity, stock, unit; letters, digits, ``_``, ``-``.

    Before the unit stands the cutter, where the contours are the way of its middle.
    """
    member = template.member
    parts = [member.mark, member.name, template.hand or "", f"x{template.quantity}", member.stock.name]
    if cut.compensated and cut.cutter is not None:
        parts.append(f"middle of {cut.cutter:g} mm cutter")
    return "-".join(filter(None, (file_word(p) for p in [*parts, cut.unit])))


def file_word(text: str) -> str:
    """Letters and figures of a text, ``_`` between them."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    return re.sub(r"[^A-Za-z0-9]+", "_", plain)[:_LONGEST_NAME].strip("_")
