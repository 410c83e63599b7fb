"""Plan facts: every number that any output prints, computed once. The one flow from a design file to them.

    text -> Design -> bodies -> Model -> lists, findings, figures

Drawing and exporting start from here and compute no size of the work again.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from fractions import Fraction

from plangen.checks.findings import check_model
from plangen.design.design import Design
from plangen.design.reading import read_design_bytes
from plangen.design.values import evaluate_values
from plangen.dimensioning.elevations import dimension_elevations
from plangen.dimensioning.figures import ElevationFigure, MemberFigures
from plangen.dimensioning.members import dimension_members
from plangen.findings import DesignError, Finding, in_order
from plangen.joinery.model import Model
from plangen.joinery.modelling import build_model
from plangen.placing.building import place_member
from plangen.placing.scope import Scope
from plangen.stock.cutting import CuttingRow, cutting_list
from plangen.stock.hardware import HardwareRow, hardware_list
from plangen.stock.materials import MaterialRow, materials_list
from plangen.units import Quantity, UnitStyle, style_for


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
    style: UnitStyle
    model: Model
    cutting: tuple[CuttingRow, ...]
    materials: tuple[MaterialRow, ...]
    hardware: tuple[HardwareRow, ...]
    figures: tuple[MemberFigures, ...]
    elevation_figures: tuple[ElevationFigure, ...]
    findings: tuple[Finding, ...]
