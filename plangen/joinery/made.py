"""What making one joint in place comes to: cuts, loose pieces, things to buy, and what the maker should know."""

from __future__ import annotations

from dataclasses import dataclass

from plangen.findings import Finding
from plangen.joinery.meeting import Cut, Placed
from plangen.joinery.model import Hardware


@dataclass(frozen=True)
class Made:
    """One joint, made."""

    cuts: tuple[Cut, ...] = ()
    pieces: tuple[Placed, ...] = ()
    """Loose pieces that the joint adds (splines, loose tenons), each a body in its place: they become members."""
    hardware: tuple[Hardware, ...] = ()
    """What is bought or split from scrap and not drawn as a member: dowels, pegs, wedges."""
    findings: tuple[Finding, ...] = ()
    """Notes, and warnings where the joint lies outside a rule of thumb."""
