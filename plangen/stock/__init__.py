"""Lists of what to buy, and how to cut it.

``cut_lengths``, ``cut_sheets`` and their records are a small library of their own; they are loaded when they are
first asked for, since the search brings libraries along that a drawing does not need.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from plangen.stock.lengths_layout import LengthLayout, LengthPart, LengthStock
    from plangen.stock.lengths_solve import cut_lengths
    from plangen.stock.sheets.layout import NoLayout, SheetLayout, SheetPart, SheetStock
    from plangen.stock.sheets.solve import cut_sheets

_HOME = {
    "cut_lengths": "lengths_solve",
    "LengthLayout": "lengths_layout",
    "LengthPart": "lengths_layout",
    "LengthStock": "lengths_layout",
    "NoLayout": "sheets.layout",
    "SheetLayout": "sheets.layout",
    "SheetPart": "sheets.layout",
    "SheetStock": "sheets.layout",
    "cut_sheets": "sheets.solve",
}

__all__ = [
    "LengthLayout",
    "LengthPart",
    "LengthStock",
    "NoLayout",
    "SheetLayout",
    "SheetPart",
    "SheetStock",
    "cut_lengths",
    "cut_sheets",
]


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
