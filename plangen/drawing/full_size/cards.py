"""Cards to cut out: what a hole is sighted by, what a bevel gauge is set to, what a bent bar is offered up to, sticks.

Angles, lines and shapes are those of the set-ups' hand layout, of the marking-out, and of the formed bar.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from plangen.dimensioning.bent import BentBar
from plangen.dimensioning.marking import BevelSetting, StoryStick
from plangen.drawing.full_size.drawing import FullSize, cross
from plangen.drawing.lettering import text_width
from plangen.drawing.mark_geometry import polyline, rectangle
from plangen.drawing.marks import Lettering, Mark, Stroke
from plangen.drawing.setup_names import Names
from plangen.drawing.sight_words import sight_text
from plangen.geometry.curves import Arc, Line, Vec2
from plangen.geometry.surfaces import Extruded
from plangen.geometry.unfolding import Panel, edges_on, side_plane
from plangen.geometry.vectors import cross as square_to
from plangen.joinery.model import Member
from plangen.machining.layout_records import SightLine
from plangen.machining.printed import angle_figure
from plangen.machining.setup import Setup
from plangen.units import UnitStyle

_LETTERS, _SMALL = 3.5, 2.5
_RAY = 65.0
"""Height of a card that a drill is sighted by, mm."""
_FOOT = 12.0
_STICK = 22.0
"""Height of a story stick, mm."""
_LEAST_LEAN = math.radians(0.5)


def _card(
    mark: str, title: str, marks: Sequence[Mark], says: Sequence[str] = (), spots: Sequence[Vec2] = ()
) -> FullSize:
    lines = tuple(c for m in marks if isinstance(m, Stroke) for c in m.curves)
    return FullSize(mark, title, tuple(marks), lines, tuple(spots), says=tuple(says))


# --- sight lines ------------------------------------------------------------------------------------------------


def sight_cards(
    setups: Sequence[Setup], members: Sequence[Member], names: Names, style: UnitStyle
) -> Iterator[FullSize]:
    """One card for each way that legs lean into a part; sockets alike have one."""
    known = {m.mark: m for m in members}
    sockets = {(m.mark, f.id) for m in members for f in m.features if f.kind == "socket"}
    done: set[tuple[str, str, float, float]] = set()
    for setup in setups:
        sight = None if setup.layout is None else setup.layout.sight
        if sight is None or sight.resultant < _LEAST_LEAN or (setup.member, setup.feature) not in sockets:
            continue
        angles = (round(math.degrees(sight.resultant), 2), round(math.degrees(sight.sight_line), 2))
        key = (setup.member, sight.surface, *angles)
        if key not in done:
            done.add(key)
            yield _sight_card(setup, sight, known[setup.member], names, style)


def _sight_card(setup: Setup, sight: SightLine, member: Member, names: Names, style: UnitStyle) -> FullSize:
    """Left the line on the face, from its arris; right the lean, over a foot that is folded back."""
    lean = angle_figure(math.degrees(sight.resultant), style)
    turn = angle_figure(math.degrees(sight.sight_line), style)
    a = sight.sight_line
    apex = (20.0, 0.0)
    ray = (apex[0] + 60 * math.cos(a), 60 * math.sin(a))
    left = [
        Stroke(polyline((0.0, 0.0), (80.0, 0.0)), "outline"),
        Stroke(polyline(apex, ray), "outline"),
        Stroke((Arc(apex, 25.0, 0.0, a),), "narrow"),
        cross(apex),
    ]
    arris = "the arris"
    if sight.arris is not None:
        one, two = (names.surface(setup, s) for s in sight.arris)
        arris = f"arris of {one} and {two}"
    foot = (130.0, 0.0)
    tip = (foot[0] + _RAY * math.tan(sight.resultant), _RAY)
    base = [(110.0, 0.0), foot, tip, (110.0, _RAY), (110.0, 0.0)]
    right = [
        Stroke(polyline(*base), "outline"),
        Stroke(polyline((110.0, 0.0), (110.0, -_FOOT), (foot[0], -_FOOT), foot), "narrow"),
        Stroke(polyline((110.0, 0.0), foot), "phantom"),
    ]
    words = [
        Lettering(f"{turn} from the {arris}", (0.0, -5.0), _SMALL),
        Lettering(turn, (apex[0] + 28 * math.cos(a / 2), 28 * math.sin(a / 2)), _LETTERS),
        Lettering(f"lean {lean}", (112.0, _RAY - 6.0), _SMALL),
        Lettering("FOLD", (112.0, -_SMALL - 2), _SMALL),
    ]
    how = sight_text(setup, member.blank.origin, names, style)
    return _card(
        member.mark,
        f"{member.name}: sight line, {setup.feature}",
        [*left, *right, *words],
        (
            f"Bore from {names.surface(setup, sight.surface)}: {how}. Stand the card on its foot along the line, its "
            "slanting edge at the middle, and sight the drill by it. For a mirror image turn the card over.",
        ),
        (apex,),
    )


# --- bevels -----------------------------------------------------------------------------------------------------


def bevel_cards(bevels: Sequence[BevelSetting]) -> Iterator[FullSize]:
    """For each setting a line to lay the stock of the gauge along, and a line to set the blade by."""
    for bevel in bevels:
        angle = math.radians(min(bevel.value, 180 - bevel.value))
        start, size = (24.0, 0.0), min(52.0, 42.0 / max(math.sin(angle), 0.1))
        end = (start[0] + size * math.cos(angle), size * math.sin(angle))
        marks: list[Mark] = [
            Stroke(polyline((0.0, 0.0), (80.0, 0.0)), "outline"),
            Stroke(polyline(start, end), "outline"),
        ]
        text = "Bevel gauge " + " / ".join(bevel.printed)
        yield _card("", text, marks, (f"Stock along the long line. Parts: {', '.join(bevel.parts)}.",))


# --- bent bars --------------------------------------------------------------------------------------------------


def bend_cards(bars: Sequence[BentBar]) -> Iterator[FullSize]:
    """The formed bar seen from its edge, to hold it against as it is bent."""
    for bar in bars:
        panel = _profile_side(bar.formed)
        lines = [] if panel is None else list(edges_on(bar.formed.solid, panel))
        if not lines:
            continue
        yield _card(
            bar.formed.mark,
            f"{bar.formed.name}: bend card",
            [Stroke((c,), "outline") for c in lines],
            ("Bend cold; hold the bar on the card after each bend. The last hole is marked from the work.",),
        )


def _profile_side(formed: Member) -> Panel | None:
    """The side of a bent bar that shows its profile; None where no bend is known."""
    shape = next((s.form for f in formed.features for s in f.surfaces if isinstance(s.form, Extruded)), None)
    if shape is None:
        return None
    side = side_plane(formed.solid, square_to(shape.u, shape.v))
    if side is None:
        return None
    return Panel(side, shape.origin, shape.u, shape.v, (0.0, 0.0), (1.0, 0.0), (0.0, 1.0))


# --- story sticks -----------------------------------------------------------------------------------------------


def story_sticks(sticks: Sequence[StoryStick]) -> FullSize | None:
    """Every stick under the other, each from one line at its left end; taped on a batten it is the stick itself."""
    if not sticks:
        return None
    marks: list[Mark] = []
    for i, stick in enumerate(sticks):
        y = -i * (_STICK + 4.0)
        end = max(line.value for line in stick.lines)
        marks.append(Stroke(rectangle((0.0, y, end + 8.0, y + _STICK)), "narrow", True))
        marks.append(Stroke((Line((0.0, y), (0.0, y + _STICK)),), "outline"))
        uses = ", ".join(f"{mark} {kind}" for mark, kind in stick.uses)
        start = {"length": "end A", "width": "face edge", "thickness": "face side"}[stick.axis]
        marks += _stick_words(f"STICK {i + 1} from {start}: {uses}", y, stick, end)
    return _card(
        "",
        "Story sticks",
        marks,
        ("Glue the strip on a straight batten, its left line flush with the batten's end.",),
    )


def _stick_words(title: str, y: float, stick: StoryStick, end: float) -> Iterator[Mark]:
    room = max(end + 4.0, 20.0)
    shown = title
    while text_width(shown, _SMALL) > room and len(shown) > 8:
        shown = shown[:-2]
    yield Lettering(shown, (2.0, y + _STICK - 4.0), _SMALL)
    last = -math.inf
    for line in stick.lines:
        x = line.value
        yield Stroke((Line((x, y), (x, y + _STICK - 6.0)),), "outline")
        text = ", then ".join((line.printed, *line.then))
        if text_width(text, _SMALL) > _STICK - 7.0:
            text = line.printed
        at = max(x + 1.0 + _SMALL, last + _SMALL + 1.0)
        last = at
        yield Lettering(text, (at, y + 1.0), _SMALL, "left", 90.0)
