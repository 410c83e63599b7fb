"""A simulated machine: cuts each member from the numbers of plan.json's set-ups alone, with an ideal tool.

Nothing of plangen is imported: the reading is that of the project's page on plan.json (parts A, B and F), worked out
here a second time with numpy; solids are cut with manifold3d. Read are a member's ``blank`` and its ``setups``, and
``surfaces`` only for what is cut by hand, which is counted.

At the machine: x along the fence to the right, y away from the operator to the fence, z up. ``surface_down`` looks
down, what is level of ``surface_against`` looks to the fence. The work is tilted, then the blade turned by miter and
bevel: its normal is Rz(miter) Ry(bevel) ex. The other hand's member is the mirror image in l, under the same names;
its points are told in the frame of the drawn one, and so are the results here.

Typical use (``simulated_proof`` compares, ``simulated_work`` is the wood)::

    made = make_member(member, setups, hand, Wood(member["blank"]))
    assert not made.problems
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from simulated_forms import Array, Flat, Form, Record, Round, Unclear, published_form, sawn, unit

TOLERANCE = 1e-6
"""Millimetres, of an ideal tool."""
WRITTEN = 2e-6
"""Two lengths of plan.json that are each rounded to 1e-6 may differ by this much where they say one thing."""
HAND_REASONS = (
    "undercut wall", "square inside corner", "dovetail", "scribed shoulder", "wedge slot", "free curve",
    "fitted on the work",
)  # fmt: skip
"""The closed list."""
THROUGH = ("crosscut", "rip", "taper", "plane")
"""Operations whose blade passes right through."""
OPPOSITE = {
    "A": "B", "B": "A", "edge": "back edge", "back edge": "edge", "back": "face", "face": "back",
}  # fmt: skip


# --- laying the work at the machine -------------------------------------------------------------------------


def _turn(axis: Array, degrees: float) -> Array:
    """Rotation by the right-hand rule about a unit axis."""
    a = math.radians(degrees)
    k = np.array([[0, -axis[2], axis[1]], [axis[2], 0, -axis[0]], [-axis[1], axis[0], 0]])
    return np.eye(3) + math.sin(a) * k + (1 - math.cos(a)) * (k @ k)


def _named(planes: Mapping[str, Form], name: str | None, use: str) -> Flat:
    if name is None:
        raise Unclear(f"no {use}")
    form = planes.get(name)
    if not isinstance(form, Flat):
        raise Unclear(f"{use} {name!r} is not there yet, or is no plane")
    return form


def laid(setup: Record, planes: Mapping[str, Form], other_hand: bool = False) -> Array:
    """Rows: the machine's x, y, z as directions of the (drawn) member, once the work lies, leans on the fence and is
    tilted. The determinant is -1 for the other hand, whose member is the mirror image."""
    down = _named(planes, setup["surface_down"], "surface down").normal
    against = _named(planes, setup["surface_against"], "surface against").normal
    z = -down
    y = unit(against - z * (against @ z))
    x = np.cross(y, z) * (-1.0 if other_hand else 1.0)
    flat = np.stack([x, y, z])
    tilt = setup.get("tilt")
    if tilt is None:
        return flat
    a = math.radians(tilt["azimuth"])
    return _turn(np.array([math.cos(a), math.sin(a), 0.0]), tilt["angle"]) @ flat


def blade_axes(setup: Record, machine: Array) -> tuple[Array, Array]:
    """The blade's normal (to the right at rest) and the upward normal of the floor that a flat head leaves."""
    turned = _turn(np.array([0.0, 0.0, 1.0]), setup["miter"]) @ _turn(
        np.array([0.0, 1.0, 0.0]), setup["bevel"]
    )
    return machine.T @ turned[:, 0], machine.T @ turned[:, 2]


def stop_point(stop: Record, planes: Mapping[str, Form]) -> tuple[Array, Array]:
    """Where the tool's plane meets the arris, and the arris's direction into the wood."""
    a, b = (_named(planes, name, "arris") for name in stop["arris"])
    start = _named(planes, stop["from"], "stop from")
    along = unit(np.cross(a.normal, b.normal))
    fall = float(along @ start.normal)
    if abs(fall) < 1e-9:
        raise Unclear("the stop's arris runs along the plane that the distance starts at")
    along = along if fall < 0 else -along
    corner = np.linalg.solve(
        np.stack([a.normal, b.normal, start.normal]), np.array([a.offset, b.offset, start.offset])
    )
    return corner + along * stop["distance"], along


# --- the cuts -----------------------------------------------------------------------------------------------


def cut_forms(
    setup: Record, planes: Mapping[str, Form], member: Record, other_hand: bool = False
) -> dict[str, Form]:
    """The surfaces that one set-up makes, by id, in the drawn member's frame.

    ``planes`` are the surfaces that stand so far; of ``member`` the blank is read, and the surfaces that are cut by
    hand. Raises Unclear where the record does not say what to do.
    """
    if setup["by_hand"] is not None:
        if setup["by_hand"] not in HAND_REASONS:
            raise Unclear(f"by hand for no known reason: {setup['by_hand']}")
        given = {s["id"]: s for s in member["surfaces"]}
        return {i: published_form(given[i]) for i in setup["makes"]}
    match setup["operation"]:
        case "bore" | "ream":
            return _bored(setup, planes, other_hand)
        case "turn":
            return _turned(setup)
        case "mould":
            return _moulded(setup, planes)
        case "saw to line" | "rout to template" | "bend":
            return _followed(setup, planes, other_hand)
    return _sawn_flat(setup, planes, other_hand)


def _sawn_flat(setup: Record, planes: Mapping[str, Form], other_hand: bool) -> dict[str, Form]:
    """Blade, head or straight bit: [wall], [wall, floor], [wall, floor, other wall]; without a stop the floor alone;
    the two walls of a floor begun earlier where the waste is between them."""
    makes, stop = setup["makes"], setup["stop"]
    blade, up = blade_axes(setup, laid(setup, planes, other_hand))
    if (setup["depth"] is None) != (setup["operation"] in THROUGH):
        raise Unclear("a cut right through has no depth, any other has one")
    floor = _floor(setup, planes, up) if setup["depth_at"] else None
    if setup["depth"] not in (None, [0.0, 0.0]) and floor is None:
        raise Unclear("nothing says where it is how deep")
    if not makes:
        return {}
    if stop is None:
        if len(makes) != 1 or floor is None:
            raise Unclear("no stop: nothing says where the blade stands")
        return {makes[0]: floor}
    point, along = stop_point(stop, planes)
    wall = _wall(setup, blade, along, point)
    if floor is None and len(makes) > 1:
        raise Unclear("a cut right through makes one surface")
    forms: list[Form | None] = [wall]
    walls_only = len(makes) == 2 and setup["waste"] == "between"
    forms += [] if walls_only else [floor]
    if walls_only or len(makes) == 3:
        if setup["width"] is None:
            raise Unclear("two walls and no width")
        forms.append(Flat(-wall.normal, -wall.offset - setup["width"]))
    if len(makes) > 3:
        raise Unclear("more than three surfaces of one cut")
    return {i: f for i, f in zip(makes, forms, strict=False) if f is not None}


def _wall(setup: Record, blade: Array, along: Array, point: Array) -> Flat:
    """The plane of the blade, looking to the waste."""
    waste = setup["waste"]
    if waste in ("left", "right"):
        out = blade if waste == "right" else -blade
    else:
        side = setup["stop"]["wall"]
        if waste != "between" or side not in ("near", "far"):
            raise Unclear("nothing says on which side of the blade the waste is")
        away = blade if blade @ along > 0 else -blade
        out = away if side == "near" else -away
    return Flat(out, float(out @ point))


def _looks_up(setup: Record) -> bool:
    if setup["cut_from"] not in ("above", "below", "end"):
        raise Unclear("nothing says from where it is cut")
    return setup["cut_from"] != "below"


def _floor(setup: Record, planes: Mapping[str, Form], up: Array) -> Flat:
    """The floor through the first depth; the other depths must lie on it."""
    start = _named(planes, setup["depth_from"], "depth from")
    out = up if _looks_up(setup) else -up
    if out @ start.normal <= 0:
        raise Unclear("the depth is measured from a surface on the other side of the work")
    rows = np.array(setup["depth_at"], dtype=float)
    bottoms = rows[:, :3] - np.outer(rows[:, 3] + start.off(rows[:, :3]), start.normal)
    return Flat(out, float(out @ bottoms[0]))


def _bored(setup: Record, planes: Mapping[str, Form], other_hand: bool) -> dict[str, Form]:
    tool, makes = setup["tool"], setup["makes"]
    if not _looks_up(setup):
        raise Unclear("a drill comes from above")
    machine = laid(setup, planes, other_hand)
    axis = -machine[2]
    if not setup["path"]:
        raise Unclear("nothing says where the hole is")
    entry = np.array(setup["path"][0], dtype=float)
    start = _named(planes, setup["depth_from"], "depth from")
    if axis @ start.normal >= 0:
        raise Unclear("the hole is bored from the side that lies down")
    if not makes:  # bored first, for a taper that is reamed afterwards
        return {}
    slope = 0.0 if not tool["included"] else -math.tan(math.radians(tool["included"]) / 2)
    found: dict[str, Form] = {makes[0]: Round(entry, axis, tool["diameter"] / 2, slope, False)}
    if len(makes) == 2:
        if not setup["depth_at"]:
            raise Unclear("no depth")
        bottom = entry + axis * setup["depth_at"][0][3]
        found[makes[1]] = Flat(-axis, float(-axis @ bottom))
    elif len(makes) > 2 or (setup["depth"] is None) == (len(makes) == 2):
        raise Unclear("a hole right through has one surface, a blind one two")
    return found


def _turned(setup: Record) -> dict[str, Form]:
    """A stretch: its round surface, then the plane where it begins, which looks along it, and the one where it ends."""
    if not setup["path"] or not setup["profile"] or len(setup["path"]) != 2 or len(setup["profile"]) != 2:
        raise Unclear("a stretch is turned between two places of one axis")
    first, last = (np.array(p, dtype=float) for p in setup["path"])
    axis = unit(last - first)
    (s0, d0), (s1, d1) = setup["profile"]
    if s1 <= s0:
        raise Unclear("a profile runs from the first point of its axis to the second")
    forms: list[Form] = [
        Round(first + axis * s0, axis, d0 / 2, (d1 - d0) / 2 / (s1 - s0), True),
        Flat(axis, float(axis @ (first + axis * s0))),
        Flat(-axis, float(-axis @ (first + axis * s1))),
    ]
    return dict(zip(setup["makes"], forms, strict=False))


def _moulded(setup: Record, planes: Mapping[str, Form]) -> dict[str, Form]:
    """A quarter round, or what is left of it, that touches both planes of an arris; its chord; where its run stops."""
    if setup["stop"] is None:
        raise Unclear("nothing says which arris")
    a, b = (_named(planes, name, "arris") for name in setup["stop"]["arris"])
    radius = setup["tool"]["radius"]
    axis = unit(np.cross(a.normal, b.normal))
    middle = np.linalg.solve(
        np.stack([a.normal, b.normal, axis]), np.array([a.offset - radius, b.offset - radius, 0.0])
    )
    out = unit(a.normal + b.normal)
    forms: list[Form] = [
        Round(middle, axis, radius, 0.0, True),
        Flat(out, float(out @ (middle + radius * a.normal))),
    ]
    if len(setup["makes"]) > 2:
        if setup["run"] is None:
            raise Unclear("nothing says where the run stops")
        start, end = (np.array(p, dtype=float) for p in setup["run"])
        way = axis if axis @ (end - start) > 0 else -axis
        forms += [Flat(way, float(way @ start)), Flat(-way, float(-way @ end))]
    return dict(zip(setup["makes"], forms, strict=False))


def _followed(setup: Record, planes: Mapping[str, Form], other_hand: bool) -> dict[str, Form]:
    """Sawn or routed to a line, the walls upright at the machine; where there is a depth, its floor too. Bent: the
    line of the bar."""
    outline = setup["outline"]
    if outline is None:
        raise Unclear("no line to follow")
    axis = unit(np.cross(np.array(outline["u"]), np.array(outline["v"])))
    found: dict[str, Form] = {setup["makes"][0]: sawn(axis, outline["curves"])}
    if setup["operation"] == "bend":
        return found
    up = laid(setup, planes, other_hand)[2]
    if setup["depth"] is not None:
        floor = _floor(setup, planes, up)
        found |= dict.fromkeys(setup["makes"][1:], floor)
    elif len(setup["makes"]) > 1:
        raise Unclear("a floor and no depth")
    return found


# --- one member, cut after cut ------------------------------------------------------------------------------


@dataclass
class Made:
    """A member of one hand as the machine made it."""

    forms: dict[str, Form]
    """Every surface that was made, and the faces of the blank."""
    frees: list[tuple[str, ...]]
    """The pieces of waste that fell, each by the ids of its surfaces."""
    by_hand: list[tuple[str, str]]
    """Feature and reason of each cut that was left to hand tools."""
    problems: list[str] = field(default_factory=list)


def blank_forms(blank: Record) -> dict[str, Form]:
    """The six faces of the blank by their ids."""
    low = np.array(blank["origin"], dtype=float)
    high = low + np.array([blank["length"], blank["width"], blank["thickness"]])
    axes = np.eye(3)
    found: dict[str, Form] = {}
    for i, (least, most) in enumerate((("A", "B"), ("edge", "back edge"), ("back", "face"))):
        found[least] = Flat(-axes[i], -float(low[i]))
        found[most] = Flat(axes[i], float(high[i]))
    return found


def setups_of(setups: Sequence[Record], mark: str, hand: str | None) -> list[Record]:
    """The set-ups of one member and hand in the order of its cuts."""
    own = [s for s in setups if s["member"] == mark and s["hand"] in (None, hand)]
    return sorted(own, key=lambda s: s["sequence"])


def make_member(
    member: Record, setups: Sequence[Record], hand: str | None = None, work: WorkSeen | None = None
) -> Made:
    """Cut a member from its blank by the set-ups of ``hand`` (None: a member that has no hands).

    ``work`` is told of each piece that falls and asked what can lie down; without it only surfaces are made.
    """
    other = hand is not None and hand != member["drawn"]
    made = Made(blank_forms(member["blank"]), [], [])
    for setup in setups_of(setups, member["mark"], hand):
        place = f"{member['mark']} {setup['feature']} (cut {setup['sequence']}, {setup['operation']})"
        try:
            found = cut_forms(setup, made.forms, member, other)
            made.problems += [f"{place}: {text}" for text in checks(setup, made.forms, found, other, work)]
        except (Unclear, np.linalg.LinAlgError) as problem:
            made.problems.append(f"{place}: {problem}")
            continue
        again = sorted(i for i in found if i in made.forms)
        if again:
            made.problems.append(f"{place}: {again} made twice")
        strange = sorted(i for i in setup["goes_on"] if i not in made.forms)
        if strange:
            made.problems.append(f"{place}: goes on with {strange}, which nobody began")
        if setup["by_hand"] is not None:
            made.by_hand.append((setup["feature"], setup["by_hand"]))
        made.forms.update(found)
        for ids in (tuple(c) for c in setup["frees"]):
            if ids not in made.frees and all(i in made.forms for i in ids):
                made.frees.append(ids)
                if work is not None:
                    work.part([made.forms[i] for i in ids])
    return made


class WorkSeen:
    """What a machine asks of the work as it stands; ``simulated_work`` has one of solid wood."""

    def part(self, forms: Sequence[Form]) -> None:
        """A piece falls: the points on the outer side of all ``forms``."""

    def seat(self, flat: Flat) -> tuple[float, bool]:
        """Area of wood left on a plane, and whether the work stands steady on it."""
        return math.inf, True

    def above(self, flat: Flat) -> float:
        """Most that wood stands out of a plane, mm."""
        return 0.0


def checks(
    setup: Record,
    planes: Mapping[str, Form],
    found: Mapping[str, Form],
    other_hand: bool,
    work: WorkSeen | None,
) -> list[str]:
    """What contradicts in a record, or what its surfaces do not bear at that moment."""
    if setup["by_hand"] is not None:
        return []
    wrong = [*_stop_checks(setup, planes, found), *_depth_checks(setup, planes, other_hand)]
    if setup["operation"] in ("saw to line", "rout to template"):
        wrong += _line_checks(setup, planes, other_hand)
    if setup["fence"] is not None and setup["path"]:
        against = _named(planes, setup["surface_against"], "surface against")
        gap = setup["fence"] + float(against.off(np.array(setup["path"][0], dtype=float)))
        if abs(gap) > WRITTEN:
            wrong.append(f"the middle lies {gap:.6f} mm off its distance from the fence")
    if setup["surface_down"] is not None:
        wrong += _posture_checks(setup, planes, other_hand)
        if work is not None and "cradle" not in (setup["jig"] or ""):
            wrong += _seat_checks(setup, planes, work)
    if setup["machine"] == "jointer":
        wrong += _jointer_checks(setup, planes, found, other_hand, work)
    return wrong


def _jointer_checks(
    setup: Record,
    planes: Mapping[str, Form],
    found: Mapping[str, Form],
    other_hand: bool,
    work: WorkSeen | None,
) -> list[str]:
    """The cutters lie level with the table, the fence leans about its own length, the grain runs along it, and the
    passes together take off what stands below the cut."""
    wrong = []
    machine = laid(setup, planes, other_hand)
    level = [f for f in found.values() if isinstance(f, Flat) and f.normal @ machine[2] < 1e-9 - 1.0]
    if len(level) != len(found):
        wrong.append("what a jointer leaves is level with its table")
    if setup["tilt"] is not None and setup["tilt"]["azimuth"] % 180.0:
        wrong.append("a fence leans about its own length")
    if abs(machine[0][0]) < 1.0 - 1e-9:
        wrong.append("end grain runs over the cutters")
    deep = 0.0 if work is None else max((work.above(f) for f in level), default=0.0)
    if work is not None and abs(setup["passes"] * setup["pass_depth"] - deep) > 1e-5:
        wrong.append(f"{setup['passes']} passes of {setup['pass_depth']} mm take off {deep:.6f} mm")
    return wrong


def _stop_checks(setup: Record, planes: Mapping[str, Form], found: Mapping[str, Form]) -> list[str]:
    stop = setup["stop"]
    if stop is None:
        return []
    point, _ = stop_point(stop, planes)
    at = np.array(stop["at"], dtype=float)
    gap = float(np.linalg.norm(point - at))
    wrong = [f"the mark lies {gap:.6f} mm from where its distance is"] if gap > WRITTEN else []
    first = found.get(setup["makes"][0]) if setup["makes"] else None
    if isinstance(first, Flat) and abs(off := float(first.off(at))) > WRITTEN:
        wrong.append(f"the mark lies {off:.6f} mm off the cut")
    return wrong


def _depth_checks(setup: Record, planes: Mapping[str, Form], other_hand: bool) -> list[str]:
    if not setup["depth_at"]:
        return []
    start = _named(planes, setup["depth_from"], "depth from")
    rows = np.array(setup["depth_at"], dtype=float)
    wrong = []
    if (off := float(np.abs(start.off(rows[:, :3])).max())) > WRITTEN:
        wrong.append(f"a depth starts {off:.6f} mm off its surface")
    least, most = setup["depth"] or (-math.inf, math.inf)
    if rows[:, 3].min() < least - WRITTEN or rows[:, 3].max() > most + WRITTEN:
        wrong.append("a depth lies beyond the least and most")
    if setup["operation"] not in ("bore", "ream"):
        floor = _floor(setup, planes, blade_axes(setup, laid(setup, planes, other_hand))[1])
        bottoms = rows[:, :3] - np.outer(rows[:, 3], start.normal)
        if (off := float(np.abs(floor.off(bottoms)).max())) > 2 * WRITTEN:
            wrong.append(f"the depths lie {off:.6f} mm off one floor")
    return wrong


def _line_checks(setup: Record, planes: Mapping[str, Form], other_hand: bool) -> list[str]:
    """The blade leans from upright by the bevel, square to the line that it follows."""
    outline = setup["outline"]
    axis = unit(np.cross(np.array(outline["u"]), np.array(outline["v"])))
    up = laid(setup, planes, other_hand)[2]
    wrong = []
    if abs(abs(float(up @ axis)) - math.cos(math.radians(setup["bevel"]))) > 1e-9:
        wrong.append("the walls do not run along the blade")
    way = np.subtract(outline["curves"][0]["points"][-1], outline["curves"][0]["points"][0])
    if setup["bevel"] and abs(float(way @ axis)) > WRITTEN:
        wrong.append("the blade leans along the line that it follows")
    return wrong


def _posture_checks(setup: Record, planes: Mapping[str, Form], other_hand: bool) -> list[str]:
    machine = laid({**setup, "tilt": None}, planes, other_hand)
    wrong = []
    along = float(machine[0][0])
    if abs(along) > 0.5:
        left = "A" if along > 0 else "B"
        if setup["end_left"] != left:
            wrong.append(f"end {left} lies left, not {setup['end_left']}")
    if not -180.0 < setup["miter"] <= 180.0 or abs(setup["bevel"]) > 90.0:
        wrong.append("angles out of range")
    if setup["tilt"] is not None and not 0.0 < setup["tilt"]["angle"] < 90.0:
        wrong.append("a tilt is more than nothing and less than upright")
    return wrong


def _seat_checks(setup: Record, planes: Mapping[str, Form], work: WorkSeen) -> list[str]:
    wrong = []
    down, against = (_named(planes, setup[k], k) for k in ("surface_down", "surface_against"))
    area, steady = work.seat(down)
    if area <= 0.0:
        wrong.append(f"nothing is left of {setup['surface_down']} to lie on")
    elif not steady:
        wrong.append(f"the work tips on {setup['surface_down']}")
    if work.seat(against)[0] <= 0.0:
        wrong.append(f"nothing is left of {setup['surface_against']} to stand at the fence")
    if setup["stop"] is not None and work.seat(_named(planes, setup["stop"]["from"], "from"))[0] <= 0.0:
        wrong.append(f"nothing is left of {setup['stop']['from']} to measure from")
    return wrong
