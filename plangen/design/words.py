"""The closed lists of words that a design file chooses from."""

from __future__ import annotations

from typing import Literal

View = Literal["front", "rear", "left", "right", "above"]
Side = Literal[
    "end A", "end B", "edge", "back edge", "face", "back",
    "left", "right", "front", "rear", "top", "bottom",
    "inner", "outer", "upper end", "lower end", "left end", "right end", "front end", "rear end",
]  # fmt: skip
"""A surface of a member by its own name, or by where it looks once the member stands in place."""
Fit = Literal["press", "snug", "slide", "loose"]
When = Literal["square", "shaped", "glued", "assembled", "on the work"]
