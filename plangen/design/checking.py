"""What can be checked of a design without geometry."""

from __future__ import annotations

from plangen.design.design import Design
from plangen.design.instances import instance_names
from plangen.design.sizes import evaluate_values
from plangen.findings import Finding

__all__ = ["check_design", "evaluate_values", "instance_names"]


def check_design(design: Design) -> tuple[Finding, ...]:
    """Everything wrong with the names and sizes of a design that was read."""
    return ()
