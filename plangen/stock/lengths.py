"""A purchase of equal pieces."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Purchase:
    """``count`` pieces of one length, millimetres."""

    length: float
    count: int
    width: float | None = None
    """Of a sheet."""
