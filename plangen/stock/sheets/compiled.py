"""The search's inner loop: compiled if the optional library is there and the work is worth it, else as it stands."""

from __future__ import annotations

import hashlib
import importlib.util
import inspect
from collections.abc import Callable
from functools import lru_cache
from types import FunctionType
from typing import Any

_WORTH_IT = 200_000
"""Moves times parts below which plain Python is done before the compiled loop is loaded."""

_PLAIN = {"squeeze", "settle", "_narrow", "_join"}
"""What is done once in a while, and never compiled."""


def worth_compiling(moves: int, parts: int) -> bool:
    """Whether to run compiled: says nothing about the result, which is the same."""
    if moves * parts <= _WORTH_IT and not compiled_search.cache_info().currsize:
        return False
    return importlib.util.find_spec("numba") is not None


@lru_cache(maxsize=1)
def compiled_search() -> Callable[..., Any]:
    """``ruin.search`` and all that it calls, compiled together and kept on disk beside the source."""
    import numba

    from plangen.stock.sheets import ruin, trees

    # What is kept on disk goes by a function's name and its own file; it must not outlive a change of the other.
    version = hashlib.sha256((inspect.getsource(trees) + inspect.getsource(ruin)).encode()).hexdigest()[:12]
    made: dict[str, Any] = {}
    for module in (trees, ruin):
        names = dict(vars(module)) | made
        for name, thing in vars(module).items():
            if name not in _PLAIN and isinstance(thing, FunctionType) and thing.__module__ == module.__name__:
                plain = FunctionType(thing.__code__, names, name, thing.__defaults__)
                plain.__qualname__ = f"{name}_{version}"
                made[name] = names[name] = numba.njit(cache=True)(plain)
    return made["search"]


def as_arrays(record: Any) -> Any:
    """The same record with its lists as arrays of 64 bit."""
    import numpy as np

    kept = []
    for name, value in record._asdict().items():
        real = name in ("area", "cost", "spent", "out", "key", "past")
        kept.append(np.array(value, np.float64 if real else np.int64) if isinstance(value, list) else value)
    return type(record)(*kept)


def as_list_arrays(*lists: list[Any]) -> tuple[Any, ...]:
    """Lists of whole or real numbers as arrays."""
    import numpy as np

    return tuple(np.array(v, np.float64 if isinstance(v[0], float) else np.int64) for v in lists)
