"""A set-up as read from paper, held against its record's printed numbers."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

BLANK = {
    "A": "end A", "B": "end B", "edge": "face edge", "back edge": "back edge", "back": "back", "face": "face side",
}  # fmt: skip
PLAIN = ("tilt", "fence", "width", "tool_width", "tool_diameter", "tool_radius", "included", "pass_depth")
PLACE = ("A", "edge", "back")


def same_plane(
    miter: float, bevel: float, waste: str | None, feeding: bool
) -> tuple[float, float, str | None]:
    """Miter, bevel and waste side for the blade's normal turned so that the miter is above -90 and up to 90 degrees,
    fed along a fence from 0 to below 180: the same plane has two normals (plan.json, part B: the waste at the left is
    on the side its normal points away from)."""
    low = -1e-9 if feeding else -90.0 + 1e-9
    turned = False
    while miter >= low + 180.0:
        miter, turned = miter - 180.0, not turned
    while miter < low:
        miter, turned = miter + 180.0, not turned
    if not turned:
        return miter, bevel, waste
    return miter, -bevel, {"left": "right", "right": "left"}.get(waste or "", waste)


def differences(record: Mapping[str, Any], read: Mapping[str, Any], name: Callable[[str], str]) -> list[str]:
    """Of a machine's set-up of plan.json and what paper says of it; ``name``: what paper calls a surface."""
    printed = record["printed"]
    found: list[str] = []

    def hold(what: str, paper: Any, own: Any) -> None:
        same = _near(paper, own) if isinstance(own, int | float) and paper is not None else paper == own
        if not same:
            found.append(f"{what}: paper {paper}, record {own}")

    for key in ("member", "hand", "quantity", "feature", "machine", "end_left", "by_hand"):
        hold(key, read.get(key), record[key])
    hold("passes", read["passes"], record["passes"])
    feeding = read["stance"] == "feeding"
    miter, bevel, waste = same_plane(printed["miter"], printed["bevel"], record["waste"], feeding)
    hold("miter", read["miter"], miter)
    hold("bevel", read["bevel"], bevel)
    hold("waste", read["waste"], waste)
    for key in PLAIN:
        hold(key, read[key], printed[key])
    if printed["tilt"] is not None:
        off = (read["azimuth"] - printed["azimuth"] + 180.0) % 360.0 - 180.0
        hold("azimuth", off, 0.0)
    hold("rolled", len(read["rolled"]), len(printed["rolled"]))
    for paper, own in zip(read["rolled"], printed["rolled"], strict=False):
        hold("rolled", paper, own)
    hold("residue", read["residue"], printed["residue"])
    hold("tool", read["tool"], None if record["tool"] is None else record["tool"]["shape"])
    for key in ("surface_down", "surface_against", "depth_from"):
        if key != "depth_from" or printed["depth"] or (printed["path"] and not printed["profile"]):
            hold(key, read[key], None if record[key] is None else name(record[key]))
    found += _stop(record, read, name)
    found += _places("run", read["run"], printed["run"])
    found += _places("path", read["path"], printed["path"][: max(1, len(read["path"]))])
    hold("depth", len(read["depth"]), len(printed["depth"]))
    for paper, own in zip(read["depth"], printed["depth"], strict=False):
        hold("depth", paper, own)
    for row in read["depth_at"]:
        rows = [r for r in printed["depth_at"] if not _places("", [row[0]], [r]) and _near(row[1], r[3])]
        if not rows:
            found.append(f"depth at {row}: not in the record")
    if printed["depth_at"]:
        first = read["depth_at"][0] if read["depth_at"] else (read["path"][0], read["depth"][0])
        found += _places("floor", [first[0]], [printed["depth_at"][0]])
        hold("floor", first[1], printed["depth_at"][0][3])
    hold("profile", len(read["profile"]), len(printed["profile"]))
    for paper, own in zip(read["profile"], printed["profile"], strict=False):
        hold("profile", paper[0], own[0])
        hold("profile", paper[1], own[1])
    if printed["touches"]:
        found += _places("touches", [read["touches"][0]], [printed["touches"]])
        hold("touches", read["touches"][1], printed["touches"][3])
    hold("leaves", len(read["leaves"]), len(record["makes"]))
    hold("on", list(read["on"]), [name(s) for s in record["goes_on"]])
    return found


def _stop(record: Mapping[str, Any], read: Mapping[str, Any], name: Callable[[str], str]) -> list[str]:
    own, paper = record["stop"], read["stop"]
    if own is None or paper is None:
        return [] if own is paper else [f"stop: paper {paper}, record {own}"]
    found = []
    if not _near(paper["distance"], record["printed"]["distance"]):
        found.append(f"stop: paper {paper['distance']}, record {record['printed']['distance']}")
    names = {
        "from": name(own["from"]),
        "arris": [name(s) for s in own["arris"]],
        "point": own["point"],
        "wall": own["wall"],
    }
    return found + [f"stop {k}: paper {paper[k]}, record {v}" for k, v in names.items() if paper[k] != v]


def _places(what: str, paper: Sequence[Mapping[str, float]], own: Sequence[Sequence[float]]) -> list[str]:
    """What paper leaves out of a place is settled by the surface it lies on."""
    if len(paper) != len(own):
        return [f"{what}: paper {paper}, record {own}"]
    return [
        f"{what} {axis}: paper {p[axis]}, record {q[i]}"
        for p, q in zip(paper, own, strict=True)
        for i, axis in enumerate(PLACE)
        if axis in p and not _near(p[axis], q[i])
    ]


def _near(a: float | None, b: float) -> bool:
    return a is not None and math.isclose(a, b, rel_tol=0.0, abs_tol=1e-5)
