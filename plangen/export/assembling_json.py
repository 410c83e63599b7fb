"""The order of assembling as plan.json has it: each step with what goes in, which way, and what to measure."""

from __future__ import annotations

from typing import Any

from plangen.assembling.checking import Apart, distances
from plangen.assembling.steps import Assembling, Move, Step
from plangen.export.json_numbers import plain, plain_all, unit_all
from plangen.joinery.model import Model


def assembling_facts(assembling: Assembling, model: Model) -> dict[str, Any]:
    """``steps`` in order; ``stuck``: names that no straight moves bring together."""
    return {
        "steps": [_step(s, n + 1, model) for n, s in enumerate(assembling.steps)],
        "stuck": list(assembling.stuck),
    }


def _step(step: Step, number: int, model: Model) -> dict[str, Any]:
    return {
        "index": number,
        "assembly": step.unit or None,
        "at_once": step.at_once,
        "moves": [_move(m) for m in step.moves],
        "standing": list(step.standing),
        "fasteners": [
            {"name": d.name, "kind": d.kind, "members": list(d.members), "head": plain_all(d.head)}
            for d in step.fasteners
        ],
        "checks": [_apart(a) for a in distances(step, model)],
    }


def _move(move: Move) -> dict[str, Any]:
    """``direction`` is the way in, unit, in the world; ``engaged`` how far the parts are in one another along it."""
    return {
        "instances": list(move.names),
        "direction": unit_all(move.way),
        "beside": move.beside or None,
        "engaged": plain(move.engaged),
    }


def _apart(apart: Apart) -> dict[str, Any]:
    return {
        "member": apart.member,
        "corner": apart.corner,
        "sides": plain_all(apart.sides),
        "over_both": apart.over,
        "diagonals": None if apart.diagonals is None else plain(apart.diagonals),
    }
