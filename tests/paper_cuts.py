"""What a maker does with the set-up sheets alone: words read back from the PDF become cuts of the simulated machine.

Surfaces go by the names that paper has for them (``cut 7 floor``, the faces of the blank). From elsewhere come only a
blank, which the part sheet and the cutting list have, and what paper refers to: the line that a cut follows, drawn
full size, and what is shaped by hand to the part sheet.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
from setup_compared import BLANK, PLACE
from simulated_forms import Array, Flat, Form, Record, published_form
from simulated_machine import blank_forms, cut_forms

FACES = {words: name for name, words in BLANK.items()}


def forms_from_paper(
    member: Record, hand: str | None, cuts: Mapping[int, Record], records: Mapping[int, Record]
) -> dict[str, Form]:
    """Every surface of a member of one hand by its name on paper, cut after cut.

    ``cuts`` are those read from paper by their numbers; of ``records``, those of plan.json, are taken the line of a
    cut that follows one, and the surfaces of work by hand.
    """
    other = hand is not None and hand != member["drawn"]
    forms = blank_forms(member["blank"])
    for index in sorted(cuts):
        read = cuts[index]
        if (read["member"], read["hand"]) not in ((member["mark"], hand), (member["mark"], None)):
            continue
        if read["by_hand"] is not None:
            forms |= _by_hand(member, index, records[index])
            continue
        forms |= cut_forms(
            _record(read, forms, member["blank"]["origin"], records[index]), forms, member, other
        )
    return forms


def _by_hand(member: Record, index: int, record: Record) -> dict[str, Form]:
    given = {s["id"]: s for s in member["surfaces"]}
    parts = [f" side {i}" for i in range(1, len(record["makes"]) + 1)] if len(record["makes"]) > 1 else [""]
    return {
        f"cut {index}{part}": published_form(given[s]) for s, part in zip(record["makes"], parts, strict=True)
    }


def _record(
    read: Record, forms: Mapping[str, Form], origin: Sequence[float], drawn: Record
) -> dict[str, Any]:
    """A cut of paper with the keys of a set-up."""
    start = None if read["depth_from"] is None else _id(read["depth_from"])
    place = _placing(forms, origin, start)
    path = [place(p) for p in read["path"]]
    deep = [[*place(p), d] for p, d in read["depth_at"]]
    if read["depth"] and not deep and path:
        deep = [[*path[0], read["depth"][0]]]
    stop = read["stop"]
    down = None if read["surface_down"] is None else _id(read["surface_down"])
    return {
        "by_hand": None,
        "makes": [f"cut {read['index']} {part}".rstrip() for part in read["leaves"]],
        "operation": _operation(read, drawn),
        "surface_down": down,
        "surface_against": None if read["surface_against"] is None else _id(read["surface_against"]),
        "miter": read["miter"],
        "bevel": read["bevel"],
        "tilt": None if read["tilt"] is None else {"angle": read["tilt"], "azimuth": read["azimuth"]},
        "stop": None
        if stop is None
        else {**stop, "from": _id(stop["from"]), "arris": [_id(a) for a in stop["arris"]]},
        "waste": read["waste"],
        "width": read["width"],
        "depth": read["depth"] or None,
        "depth_from": start,
        "depth_at": deep if read["depth"] else [],
        "path": path,
        "profile": read["profile"],
        "run": [place(p) for p in read["run"]] or None,
        "tool": {k: read[f"tool_{k}"] for k in ("width", "diameter", "radius")}
        | {"included": read["included"]},
        "cut_from": _cut_from(forms, start, down),
        "outline": drawn["outline"],
    }


def _id(name: str) -> str:
    return FACES.get(name, name)


def _operation(read: Record, drawn: Record) -> str:
    """What the words show: a hole, a turning, a line to follow, a rounded arris, else a blade or flat cutter."""
    if drawn["outline"] is not None:
        return "bend" if drawn["operation"] == "bend" else "saw to line"
    if read["profile"]:
        return "turn"
    if read["tool"] == "drill" or read["included"] is not None or (read["machine"] == "drill press"):
        return "bore"
    if read["tool_radius"] is not None:
        return "mould"
    return "trench" if read["depth"] else "crosscut"


def _cut_from(forms: Mapping[str, Form], start: str | None, down: str | None) -> str:
    """From the side that depths are measured from; right through it makes no difference."""
    top, table = forms.get(start or ""), forms.get(down or "")
    if not isinstance(top, Flat) or not isinstance(table, Flat):
        return "above"
    return "below" if top.normal @ table.normal > 0.0 else "above"


def _placing(
    forms: Mapping[str, Form], origin: Sequence[float], on: str | None
) -> Callable[[Mapping[str, float]], list[float]]:
    """Places of paper as points: what they leave out is settled by the surface that they lie on."""

    def point(place: Mapping[str, float]) -> list[float]:
        found: Array = np.array([place.get(name, 0.0) + o for name, o in zip(PLACE, origin, strict=True)])
        missing = [i for i, name in enumerate(PLACE) if name not in place]
        if missing:
            (axis,) = missing
            flat = forms[on or ""]
            assert isinstance(flat, Flat)
            found[axis] = 0.0
            found[axis] = (flat.offset - flat.normal @ found) / flat.normal[axis]
        return [float(x) for x in found]

    return point
