"""The search's inner loop: compiled if the optional library is there and the work is worth it, else as it stands."""

from __future__ import annotations

import hashlib
import importlib.util
import inspect
import sys
from collections.abc import Callable
from functools import lru_cache
from types import FunctionType, ModuleType
from typing import Any

from plangen.stock.sheets.trees import Trees

_WORTH_IT = 200_000
"""Moves times parts below which plain Python is done before the compiled loop is loaded."""

_PLAIN = {"squeeze", "settle", "reckon", "_narrow", "_join"}
"""What is done once in a while, and never compiled."""

_OPTIONS = {"cache": True, "_nrt": False}
"""Compiled code allocates nothing; without the counting of references, which each call would do for each of the
arrays that it is handed, a move takes half the time."""


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

    # What is kept on disk goes by a function's name and its own file; it must not outlive a change of another.
    sources = "".join(inspect.getsource(m) for m in (trees, ruin, sys.modules[__name__]))
    version = hashlib.sha256(sources.encode()).hexdigest()[:12]
    made: dict[str, Any] = {}
    for module in (trees, ruin):
        names = dict(vars(module)) | made
        for name, thing in (_own(module) | {"keep": _keep}).items():
            if name not in made and name not in _PLAIN:
                plain = FunctionType(thing.__code__, names, name, thing.__defaults__)
                plain.__qualname__ = f"{name}_{version}"
                made[name] = names[name] = numba.njit(**_OPTIONS)(plain)
    return made["search"]


def _own(module: ModuleType) -> dict[str, FunctionType]:
    """The functions that a module defines."""
    return {
        name: thing
        for name, thing in vars(module).items()
        if isinstance(thing, FunctionType) and thing.__module__ == module.__name__
    }


@lru_cache(maxsize=1)
def compiled_filling() -> Callable[..., Any] | None:
    """``guillotine.fill`` compiled; None if the optional library is not there."""
    if importlib.util.find_spec("numba") is None:
        return None
    import numba

    from plangen.stock.sheets import guillotine

    return numba.njit(cache=True)(guillotine.fill)


def _keep(a: Trees, b: Trees) -> None:
    """``trees.keep`` in loops, which compiled are faster than slices; only what stands is copied."""
    for k in range(len(a.spare)):
        a.spare[k] = b.spare[k]
    for k in range(b.count[0]):
        a.alive[k] = b.alive[k]
        a.place[b.alive[k]] = k
    for i in range(len(a.par)):
        a.par[i] = b.par[i]
        a.dir[i] = b.dir[i]
        a.lev[i] = b.lev[i]
        a.len[i] = b.len[i]
        a.wid[i] = b.wid[i]
        a.rest[i] = b.rest[i]
        a.kids[i] = b.kids[i]
        a.sheet[i] = b.sheet[i]
        a.origin[i] = b.origin[i]
        a.worth[i] = b.worth[i]
    for s in range(len(a.root)):
        a.root[s] = b.root[s]
        a.kind[s] = b.kind[s]
        a.held[s] = b.held[s]
    for g in range(len(a.left)):
        a.left[g] = b.left[g]
    for k in range(3):
        a.count[k] = b.count[k]
    a.spent[0] = b.spent[0]


def as_arrays(record: Any) -> Any:
    """The same record with its lists as arrays of 64 bit."""
    import numpy as np

    kept = []
    for name, value in record._asdict().items():
        real = name in ("area", "cost", "spent", "worth", "past")
        kept.append(np.array(value, np.float64 if real else np.int64) if isinstance(value, list) else value)
    return type(record)(*kept)


def as_list_arrays(*lists: list[Any]) -> tuple[Any, ...]:
    """Lists of whole or real numbers as arrays."""
    import numpy as np

    return tuple(np.array(v, np.float64 if isinstance(v[0], float) else np.int64) for v in lists)
