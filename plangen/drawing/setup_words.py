"""The words of the set-up sheets: one fixed grammar, written for the maker and read back by the tests.

A sheet holds headings and cards. Each is a title and then fields ``Label: text``, in the order below; a line break
means no more than a space. Figures are those of ``machining/printed.py`` and of nothing else.

Heading: ``SETTING n: machine``, or ``BY HAND``
    ``Along``   the fence: the cut runs along it, no swing
    ``Swing``   ``x° left|right``: there goes the far end of the blade's line; of a mitre saw ``handle x° left|right``;
                of a mitre gauge ``gauge's left|right end x° forward``
    ``Taper``   ``x°, nearer the fence ahead|behind``: fed along the fence, out of line with it
    ``Tilt``    ``x° left|right``, fed ``toward|away from the fence``: where the top of the tool leans
    ``Fence``   at the jointer: ``x° in over the table|x° out|square``: where the top of the fence leans
    ``Raise``   ``x°, high side at y°``: the work lies tilted; bearings from the operator's right (0) over ahead (90)
    ``Jig``     name
    ``Tool``    ``blade|head|bit|drill[, kerf|wide x][, Ø x][, included x°][, radius x]``
    ``Near``    what it costs that near settings are made one
    ``Scale that reads 90``, ``Hand``, ``Test``: the same angles as other scales have them, by hand; the test in scrap

Card: ``CUT n: mark name[, left|right hand][, m pieces]``: one piece where no number stands
    ``For``     feature
    ``State``   ``square blank`` or ``after cut k``; then the stage where it is not at the bench
    ``Exactly`` this cut's own swing, taper, tilt or raise, where the setting has made near ones one
    ``Lay``     ``s down, s to fence``; ``Left`` the end at the left, fed ``Ahead`` the end that goes first
    ``Roll``    round work in a cradle: ``x° counter-clockwise|clockwise seen from end B, the hole leans y° to end A|B``
    ``Stop``    ``x from|beyond s on s/s[, long point|short point][, near wall|far wall]``: along the line of two
                surfaces, into the wood, or beyond s out of it
    ``Fence``   ``x``: from the surface at the fence to the middle of the tool
    ``Waste``   ``left|right|between``, fed ``toward|away from the fence``, at the jointer ``below``
    ``Leaves``  what the cut makes, where that is not one surface: ``wall, floor``; ``nothing yet``
    ``Wide``    ``x`` between the walls, square to them
    ``Deep``    ``x[ to y] from s[: x at place; x at place ...]``
    ``Hole``    ``at place[ on s][; out at place]``: the middle of its mouths, right through from s
    ``Touches`` ``wood at place, from there x deeper|right through``: where a drill's middle meets round or sawn wood
    ``Run``     ``place to place``; ``Turn`` ``place to place; Ø x at y; ...``: y along the axis
    ``Line``    where the line to saw or rout to is drawn
    ``On``      surfaces of earlier cuts that this cut carries on
    ``Waste free``  the cuts whose waste comes away together: ``cut 7 + cut 9 floor; ...``. The surfaces of a cut
                that no such field names make one piece of waste by themselves
    ``Passes``  how often, at the jointer ``n, each x deep``
    ``Keep``    ``the offcut, the wedge for cut k[, l]``: waste that is a jig already
    ``Left standing`` or ``Cut too far`` (a tool of real width), ``Block``,
    ``On edge`` (the other posture), ``Only by hand``, ``Caution``
                A caution may go by that of another cut of the setting: ``as cut k``
    ``Sight``   a slanting hole by hand, on the drawn hand: ``x° from s/s, aim at s, place; lean y°``

    ``CUT k: [[mark name, ][left|right hand, ]m pieces, ]as cut n, but`` has only the fields that differ from cut n's;
    ``none`` takes one away; ``as cut n.`` where nothing differs. By hand ``CUT k to m, n: ...`` are several cuts,
    ``For`` their features in order.

Surfaces: ``end A``, ``end B``, ``face edge``, ``back edge``, ``back``, ``face side``; ``cut n`` or ``cut n wall``,
``cut n floor``, ``cut n far wall``, ``cut n hole``, ``cut n side i``. Places: ``A x, edge y, back z``, counted from the
blank's end A, face edge and back; what a face of the blank that the place lies on settles is left out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TypeAlias

from plangen.drawing.setup_names import (
    BLANK_NAMES,
    TURNED,
    Names,
    Stance,
    canonical,
    place_text,
    stance,
    surface_parts,
)
from plangen.drawing.wording import plain_words
from plangen.geometry.vectors import Point
from plangen.joinery.model import Stage
from plangen.machining.printed import (
    Figure,
    angle_figure,
    printed_angle,
    printed_bearing,
    printed_figures,
    tool_style,
)
from plangen.machining.setup import End, Machine, Setting, Setup, Tilt, Tool
from plangen.units import UnitStyle, length_text, length_text_with_unit

Field: TypeAlias = tuple[str, str]
"""Label and text."""

_STAGE_WORDS: dict[Stage, str] = {
    "square": "", "shaped": "", "glued": ", on the glued assembly", "assembled": ", once assembled",
    "on the work": ", on the work",
}  # fmt: skip


def setting_title(setting: Setting) -> str:
    return f"SETTING {setting.index}: {setting.machine}"


def _tool_text(tool: Tool, style: UnitStyle) -> str:
    fine = tool_style(style)
    words: list[str] = [tool.shape]
    if tool.width is not None:
        words.append(f"{'kerf' if tool.shape == 'blade' else 'wide'} {length_text(tool.width, fine)}")
    if tool.diameter is not None:
        words.append(f"Ø {length_text(tool.diameter, fine)}")
    if tool.included is not None:
        words.append(f"included {_degrees(printed_angle(tool.included, style), style)}")
    if tool.radius is not None:
        words.append(f"radius {length_text(tool.radius, fine)}")
    return ", ".join(words)


def setting_fields(setting: Setting, style: UnitStyle) -> list[Field]:
    """What the operator sets; tests and hand ways stand apart."""
    miter, bevel = printed_angle(setting.miter, style), printed_angle(setting.bevel, style)
    fields = angle_fields(miter, bevel, setting.tilt, setting.machine, style)
    if setting.jig:
        fields.append(("Jig", _free(setting.jig)))
    if setting.tool is not None:
        fields.append(("Tool", _tool_text(setting.tool, style)))
    if setting.snap_error > 1e-6:
        cost = length_text_with_unit(setting.snap_error, tool_style(style))
        fields.append(("Near", f"settings made one; it moves the work by {cost} at most"))
    return fields


def angle_fields(
    miter: float, bevel: float, tilt: Tilt | None, machine: Machine, style: UnitStyle
) -> list[Field]:
    """Swing, tilt and raise of printed angles (degrees)."""
    if machine == "jointer":
        return [("Along", "the fence"), ("Fence", _fence_lean(tilt, style))]
    where = stance(machine, miter)
    miter, bevel, _ = canonical(miter, bevel, where)
    fields: list[Field] = []
    if where == "feeding":
        if miter == 90.0:
            fields.append(("Along", "the fence"))
        else:
            off = round(abs(90.0 - miter), 6)
            side = "ahead" if miter < 90.0 else "behind"
            fields.append(("Taper", f"{_degrees(off, style)}, nearer the fence {side}"))
        if bevel:
            side = "toward the fence" if bevel > 0.0 else "away from the fence"
            fields.append(("Tilt", f"{_degrees(abs(bevel), style)} {side}"))
    else:
        if miter:
            fields.append(("Swing", _swing(miter, machine == "mitre saw", where, style)))
        if bevel:
            side = "right" if (bevel > 0.0) != (where == "gauge") else "left"
            fields.append(("Tilt", f"{_degrees(abs(bevel), style)} {side}"))
    if tilt is not None:
        bearing = round((printed_bearing(tilt.azimuth) + 90.0 - TURNED[where]) % 360.0, 6)
        angle = _degrees(printed_angle(tilt.angle, style), style)
        fields.append(("Raise", f"{angle}, high side at {_degrees(bearing, style)}{_bearing_words(bearing)}"))
    return fields


def _swing(miter: float, handled: bool, where: Stance, style: UnitStyle) -> str:
    """What the hand moves: the far end of the line goes left where a mitre saw's handle goes right, and where the left
    end of a gauge comes forward."""
    side, other = ("left", "right") if miter > 0.0 else ("right", "left")
    angle = _degrees(abs(miter), style)
    if handled:
        return f"handle {angle} {other}"
    return f"gauge's {side} end {angle} forward" if where == "gauge" else f"{angle} {side}"


def _fence_lean(tilt: Tilt | None, style: UnitStyle) -> str:
    if tilt is None:
        return "square"
    side = "in over the table" if printed_bearing(tilt.azimuth) == 0.0 else "out"
    return f"{_degrees(printed_angle(tilt.angle, style), style)} {side}"


def other_scales(setting: Setting, style: UnitStyle) -> list[Field]:
    """The angles on scales that read 90 when the tool is square, the supplement, and what two such ends make."""
    miter, bevel = printed_angle(setting.miter, style), printed_angle(setting.bevel, style)
    where = stance(setting.machine, miter)
    miter, bevel, _ = canonical(miter, bevel, where)
    words = []
    if setting.machine == "jointer":
        if setting.tilt is None:
            return []
        bevel = printed_angle(setting.tilt.angle, style)
        cut, supplement = (_degrees(round(a, 6), style) for a in (90.0 - bevel, 90.0 + bevel))
        return [("Scale that reads 90", f"fence {cut}, supplement {supplement}")]
    if where != "feeding" and miter:
        rest = round(90.0 - abs(miter), 6)
        angles = (rest, 180.0 - rest, 2 * rest)
        cut, supplement, corner = (_degrees(a, style) for a in angles)
        words.append(f"swing {cut}, supplement {supplement}" + (f", corner of two {corner}" if rest else ""))
    if bevel:
        words.append(f"tilt {_degrees(round(90.0 - abs(bevel), 6), style)}")
    return [("Scale that reads 90", "; ".join(words))] if words else []


def _bearing_words(bearing: float) -> str:
    names = {0.0: "right", 90.0: "ahead", 180.0: "left", 270.0: "near you"}
    return f" ({names[bearing]})" if bearing in names else ""


def cut_title(setup: Setup, name: str) -> str:
    hand = f", {setup.hand} hand" if setup.hand else ""
    count = "" if setup.quantity == 1 else f", {_pieces(setup.quantity)}"
    return f"CUT {setup.index}: {setup.member} {name}{hand}{count}"


def like_title(setup: Setup, base: Setup, name: str) -> str:
    """Of a cut that is told by what differs from ``base``; ``, but`` and that follow, or nothing."""
    words = [f"CUT {setup.index}:"]
    if setup.member != base.member:
        return f"{cut_title(setup, name)}, as cut {base.index}"
    if (setup.hand, setup.quantity) != (base.hand, base.quantity):
        words.append(f"{setup.hand} hand, " if setup.hand else "")
        words.append(f"{_pieces(setup.quantity)}, ")
    return f"{words[0]} {''.join(words[1:])}as cut {base.index}"


def hand_cut_title(setups: Sequence[Setup], name: str, numbers: str) -> str:
    """``CUT 33 to 40: A beam, 2 pieces``."""
    return cut_title(setups[0], name).replace(f"CUT {setups[0].index}:", f"CUT {numbers}:", 1)


def hand_cut_fields(setups: Sequence[Setup], names: Names, line: str) -> list[Field]:
    """Of cuts of one member and hand that are left to hand tools for one reason, their features in order."""
    first = setups[0]
    features = ", ".join(s.feature for s in setups)
    stage = _STAGE_WORDS[first.stage].removeprefix(", ")
    cautions = "; ".join(dict.fromkeys(_free(c) for s in setups for c in s.cautions))
    freed = "; ".join(dict.fromkeys(group for s in setups for group in names.freed(s)))
    fields = [
        ("For", features), ("State", stage), ("Only by hand", _free(first.by_hand or "")), ("Line", line),
        ("Waste free", freed), ("Caution", cautions),
    ]  # fmt: skip
    return [(label, text) for label, text in fields if text]


def _pieces(count: int) -> str:
    return "1 piece" if count == 1 else f"{count} pieces"


def cut_fields(
    setup: Setup,
    setting: Setting,
    before: int | None,
    names: Names,
    origin: Point,
    line: str,
    style: UnitStyle,
    wedge_for: Sequence[int] = (),
) -> list[Field]:
    """The fields of one cut, none of them empty. ``before``: the cut after which the work comes to this one; ``origin``
    of the blank; ``line``: where a line to follow is drawn; ``wedge_for``: cuts whose wedge the waste is."""
    figures = printed_figures(setup, style, origin)
    where = stance(setup.machine, _number(figures["miter"]))
    fields = [
        ("For", setup.feature),
        ("State", ("square blank" if before is None else f"after cut {before}") + _STAGE_WORDS[setup.stage]),
        ("Exactly", _exactly(setup, setting, figures, style)),
        ("Lay", _lay(setup, names)),
        *_end_field(setup.end_left, where),
        ("Roll", _roll(figures, style)),
        ("Stop", _stop(setup, figures, names, style)),
        ("Fence", _length(figures["fence"], style)),
        ("Waste", _waste(setup, figures, where)),
        ("Leaves", "" if len(setup.makes) == 1 else ", ".join(surface_parts(setup)) or "nothing yet"),
        ("Wide", _length(figures["width"], tool_style(style))),
        ("Deep", _deep(setup, figures, names, style)),
        *_paths(setup, figures, names, style),
        ("Line", line if setup.outline else ""),
        ("On", ", ".join(names.surface(setup, s) for s in setup.goes_on)),
        ("Waste free", "; ".join(names.freed(setup))),
        ("Keep", f"the offcut, the wedge for cut {', '.join(map(str, wedge_for))}" if wedge_for else ""),
        *_remarks(setup, figures, names, style),
    ]
    return [(label, text) for label, text in fields if text]


def _exactly(setup: Setup, setting: Setting, figures: dict[str, Figure], style: UnitStyle) -> str:
    """The cut's own angles where the setting's are others."""

    def fields(miter: float, bevel: float, tilt: Tilt | None) -> list[Field]:
        return angle_fields(miter, bevel, tilt, setup.machine, style)

    own = fields(_number(figures["miter"]), _number(figures["bevel"]), setup.tilt)
    common = fields(printed_angle(setting.miter, style), printed_angle(setting.bevel, style), setting.tilt)
    if own == common:
        return ""
    return "; ".join(f"{label.lower()} {text.partition(' (')[0]}" for label, text in own) or "square"


def _lay(setup: Setup, names: Names) -> str:
    words = []
    if setup.surface_down:
        words.append(f"{names.surface(setup, setup.surface_down)} down")
    if setup.surface_against:
        words.append(f"{names.surface(setup, setup.surface_against)} to fence")
    return ", ".join(words)


def _roll(figures: dict[str, Figure], style: UnitStyle) -> str:
    """Of round work in a cradle."""
    angles = [a for a in _list(figures["rolled"]) if isinstance(a, float)]
    if not angles:
        return ""
    roll, lean = angles
    words = (
        f"{_degrees(abs(roll), style)} {'counter-clockwise' if roll >= 0.0 else 'clockwise'} seen from end B"
    )
    return f"{words}, the hole leans {_degrees(abs(lean), style)} to end {'B' if lean >= 0.0 else 'A'}"


def _end_field(left: End | None, where: Stance) -> list[Field]:
    """On a gauge the other end is at the operator's left; fed along the fence the left one goes ahead."""
    if left is None:
        return []
    if where == "feeding":
        return [("Ahead", f"end {left}")]
    if where == "gauge":
        left = "B" if left == "A" else "A"
    return [("Left", f"end {left}")]


def _stop(setup: Setup, figures: dict[str, Figure], names: Names, style: UnitStyle) -> str:
    stop = setup.stop
    if stop is None:
        return ""
    one, two = (names.surface(setup, s) for s in stop.arris)
    way = "beyond" if _number(figures["distance"]) < 0 else "from"
    distance = length_text(abs(_number(figures["distance"])), style)
    words = f"{distance} {way} {names.surface(setup, stop.start)} on {one}/{two}"
    words += f", {stop.point} point" if stop.point else ""
    return words + (f", {stop.wall} wall" if stop.wall else "")


def _waste(setup: Setup, figures: dict[str, Figure], where: Stance) -> str:
    if setup.waste is None or setup.waste == "between":
        return setup.waste or ""
    if setup.machine == "jointer":
        return "below"
    turned = canonical(_number(figures["miter"]), 0.0, where)[2]
    along_normal = (setup.waste == "right") != turned
    if where == "feeding":
        return "toward the fence" if along_normal else "away from the fence"
    return "right" if along_normal != (where == "gauge") else "left"


def _deep(setup: Setup, figures: dict[str, Figure], names: Names, style: UnitStyle) -> str:
    depth = figures["depth"]
    if not isinstance(depth, list) or not depth or setup.depth_from is None:
        return ""
    least, most = (_length(d, style) for d in depth)
    words = least if least == most else f"{least} to {most}"
    words += f" from {names.surface(setup, setup.depth_from)}"
    rows = _rows(figures["depth_at"])
    ends = {least, most} if rows else set()
    shown = rows[:1]
    for row in rows:
        # the first settles the floor; with it one where it is as much otherwise as it gets
        if _length(row[3], style) in ends - {_length(shown[0][3], style)} and len(shown) == 1:
            shown.append(row)
    rows = shown
    if len(rows) == 1 and [rows[0][:3]] == _rows(figures["path"]):
        return words
    at = [f"{_length(row[3], style)} at {place_text(row[:3], setup.depth_from, style)}" for row in rows]
    return words + (f": {'; '.join(at)}" if at else "")


def _paths(setup: Setup, figures: dict[str, Figure], names: Names, style: UnitStyle) -> list[Field]:
    run, path, profile = (_rows(figures[k]) for k in ("run", "path", "profile"))
    touch = [x for x in _list(figures["touches"]) if isinstance(x, float)]
    on = setup.depth_from if setup.depth_from in BLANK_NAMES else None
    fields: list[Field] = []
    if run:
        fields.append(("Run", " to ".join(place_text(p, None, style) for p in run)))
    if path and profile:
        along = " to ".join(place_text(p, None, style) for p in path)
        steps = [f"Ø {_length(d, style)} at {_length(x, style)}" for x, d in profile]
        fields.append(("Turn", "; ".join([along, *steps])))
    elif path:
        aslant = len(path) > 1 and setup.tilt is not None
        out = f"; out at {place_text(path[1], None, style)}" if aslant else ""
        through = setup.depth is None and setup.depth_from is not None
        start = f" on {names.surface(setup, setup.depth_from or '')}" if through else ""
        fields.append(("Hole", f"at {place_text(path[0], on, style)}{start}{out}"))
    if touch:
        deeper = f"{_length(touch[3], style)} deeper" if touch[3] else "right through"
        fields.append(("Touches", f"wood at {place_text(touch[:3], None, style)}, from there {deeper}"))
    return fields


def _remarks(setup: Setup, figures: dict[str, Figure], names: Names, style: UnitStyle) -> list[Field]:
    residue = _number(figures["residue"])
    note = f" ({_free(setup.residue_note)})" if setup.residue_note else ""
    other = ""
    if setup.alternative is not None:
        angles = angle_fields(
            _number(figures["other_miter"]), _number(figures["other_bevel"]), None, setup.machine, style
        )
        other = "; ".join(f"{label.lower()} {text.partition(' (')[0]}" for label, text in angles)
    return [
        ("Passes", _passes(setup, figures, style)),
        (
            "Left standing",
            f"{_length(residue, style)}{note or ', clear it by chisel'}" if residue > 0.0 else "",
        ),
        ("Cut too far", f"{_length(-residue, style)}{note}" if residue < 0.0 else ""),
        ("Block", _blocks(setup, names, style)),
        ("On edge", other),
        ("Only by hand", _free(setup.by_hand or "")),
        ("Caution", "; ".join(_free(c) for c in setup.cautions)),
    ]


def _passes(setup: Setup, figures: dict[str, Figure], style: UnitStyle) -> str:
    if setup.pass_depth is not None:
        return f"{setup.passes}, each {_length(figures['pass_depth'], tool_style(style))} deep"
    return "" if setup.passes == 1 else str(setup.passes) if setup.passes else "0, it is so already"


def _blocks(setup: Setup, names: Names, style: UnitStyle) -> str:
    """With least sizes: along the hole's trace, across it, thick."""
    found = []
    for block in setup.blocks:
        sizes = " x ".join(length_text(x, style) for x in block.size)
        found.append(f"{block.kind} on {names.surface(setup, block.on)}, {sizes} at least")
    return "; ".join(found) or _free(setup.block)


def shortened(fields: Sequence[Field], said: Mapping[str, int], index: int) -> list[Field]:
    """The fields with a caution that an earlier cut of the setting has (``said``) by that cut's number."""
    return [
        (label, f"as cut {said[text]}" if label == "Caution" and said.get(text, index) != index else text)
        for label, text in fields
    ]


def differing(fields: Sequence[Field], base: Sequence[Field]) -> list[Field]:
    """The fields that are not as the base has them; ``none`` for what only the base has."""
    own, other = dict(fields), dict(base)
    gone = [(label, "none") for label in other if label not in own]
    return [(label, text) for label, text in fields if other.get(label) != text] + gone


def _free(text: str) -> str:
    """Words from elsewhere, without the signs that part fields."""
    return plain_words(text).replace(":", ",").rstrip(".")


def _degrees(value: float, style: UnitStyle) -> str:
    return angle_figure(value, style)


def _length(value: Figure, style: UnitStyle) -> str:
    return length_text(value, style) if isinstance(value, float) else ""


def _number(value: Figure) -> float:
    return value if isinstance(value, float) else 0.0


def _rows(value: Figure) -> list[list[float]]:
    return [row for row in _list(value) if isinstance(row, list)]


def _list(value: Figure) -> Sequence[float | list[float]]:
    return value if isinstance(value, list) else []
