"""Screws, bolts, washers and nuts: published sizes, and the fastener a designer's words name.

Each table says where its figures come from. Inch tables hold inches as printed; ``Fastener`` holds
millimetres.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal, TypeAlias

from plangen.findings import did_you_mean
from plangen.units import MM_PER_INCH, inches, mixed_text, read_quantity

FastenerKind: TypeAlias = Literal["wood screw", "lag screw", "carriage bolt", "hex bolt", "threaded rod"]
Family: TypeAlias = Literal["screw", "bolt", "rod"]

SCREW_GAUGES = (4, 5, 6, 7, 8, 9, 10, 12, 14, 16, 18)

SCREW_ROOT = {6: 0.113, 7: 0.122, 8: 0.131, 9: 0.142, 10: 0.152, 12: 0.171, 14: 0.196, 16: 0.209, 18: 0.232}
"""Root diameter by gauge, inches. NDS appendix L, from memory."""

SCREW_HOLES: dict[int, tuple[str, str, str]] = {
    4: ("5/64", "1/16", "1/8"),
    5: ("5/64", "1/16", "1/8"),
    6: ("3/32", "5/64", "9/64"),
    7: ("3/32", "5/64", "5/32"),
    8: ("7/64", "3/32", "11/64"),
    9: ("7/64", "3/32", "3/16"),
    10: ("1/8", "7/64", "13/64"),
    12: ("9/64", "1/8", "7/32"),
    14: ("5/32", "9/64", "1/4"),
    16: ("3/16", "9/64", "9/32"),
    18: ("13/64", "9/64", "19/64"),
}
"""Pilot in hardwood, pilot in softwood, clearance for the shank, inches. Common shop chart (``common
practice``); 7 and 9 clearances and row 18 from a boat-building plate (read). Charts differ by 1/64: advice.
Three printed cells are not followed because the shank would not pass: 7/64 for gauge 4, 3/16 for 10 and
17/64 for 16."""

METRIC_SCREWS: dict[str, tuple[float, float, float]] = {
    "3": (2.0, 1.5, 3.5),
    "3.5": (2.5, 2.0, 4.0),
    "4": (2.5, 2.0, 4.5),
    "4.5": (3.0, 2.5, 5.0),
    "5": (3.5, 3.0, 5.5),
    "6": (4.0, 3.5, 6.5),
    "8": (5.5, 5.0, 8.5),
}
"""Diameter: pilot in hardwood, pilot in softwood, clearance, millimetres. ``common practice``: about 0.7 and
0.6 of the thread, clearance half a millimetre over."""

CARRIAGE_HEADS_INCH: dict[str, tuple[float, float, float, float]] = {
    "#10": (0.469, 0.114, 0.199, 0.125),
    "1/4": (0.594, 0.145, 0.260, 0.156),
    "5/16": (0.719, 0.176, 0.324, 0.187),
    "3/8": (0.844, 0.208, 0.388, 0.219),
    "7/16": (0.969, 0.239, 0.452, 0.250),
    "1/2": (1.094, 0.270, 0.515, 0.281),
    "5/8": (1.344, 0.344, 0.642, 0.344),
    "3/4": (1.594, 0.406, 0.768, 0.406),
}
"""Most head diameter, head height, square width, square depth, inches. ASME B18.5 round-head square-neck
bolts (three dealers' copies agree, read)."""

CARRIAGE_HEADS_METRIC: dict[str, tuple[float, float, float, float]] = {
    "M5": (13.55, 3.30, 5.48, 4.10),
    "M6": (16.55, 3.88, 6.48, 4.60),
    "M8": (20.65, 4.88, 8.58, 5.60),
    "M10": (24.65, 5.38, 10.58, 6.60),
    "M12": (30.65, 6.95, 12.70, 8.75),
    "M16": (38.80, 8.95, 16.70, 12.90),
    "M20": (46.80, 11.05, 20.84, 15.90),
}
"""The same in millimetres. DIN 603 / ISO 8677 (two copies, read)."""

HEX_INCH: dict[str, tuple[str, str, str]] = {
    "1/4": ("7/16", "5/32", "7/32"),
    "5/16": ("1/2", "13/64", "17/64"),
    "3/8": ("9/16", "15/64", "21/64"),
    "7/16": ("5/8", "9/32", "3/8"),
    "1/2": ("3/4", "5/16", "7/16"),
    "5/8": ("15/16", "25/64", "35/64"),
    "3/4": ("1-1/8", "15/32", "41/64"),
}
"""Across flats, head height, nut height, inches. ASME B18.2.1 and B18.2.2, from memory."""

HEX_METRIC: dict[str, tuple[float, float, float]] = {
    "M5": (8, 3.5, 4.7),
    "M6": (10, 4.0, 5.2),
    "M8": (13, 5.3, 6.8),
    "M10": (16, 6.4, 8.4),
    "M12": (18, 7.5, 10.8),
    "M16": (24, 10.0, 14.8),
    "M20": (30, 12.5, 18.0),
}
"""Across flats, head height, nut height, millimetres. ISO 4014 and ISO 4032, from memory."""

THREADS_INCH: dict[str, tuple[int, int]] = {
    "#10": (24, 32),
    "1/4": (20, 28),
    "5/16": (18, 24),
    "3/8": (16, 24),
    "7/16": (14, 20),
    "1/2": (13, 20),
    "5/8": (11, 18),
    "3/4": (10, 16),
}
"""Threads to the inch, coarse and fine. ASME B1.1, from memory."""

THREADS_METRIC: dict[str, float] = {
    "M5": 0.8,
    "M6": 1,
    "M8": 1.25,
    "M10": 1.5,
    "M12": 1.75,
    "M16": 2,
    "M20": 2.5,
}
"""Coarse pitch, millimetres (DIN 603 table, read)."""

WASHERS_INCH: dict[str, tuple[float, float, float]] = {
    "#10": (0.219, 0.500, 0.049),
    "1/4": (0.312, 0.734, 0.065),
    "5/16": (0.375, 0.875, 0.083),
    "3/8": (0.438, 1.000, 0.083),
    "7/16": (0.500, 1.250, 0.083),
    "1/2": (0.562, 1.375, 0.109),
    "5/8": (0.688, 1.750, 0.134),
    "3/4": (0.812, 2.000, 0.148),
}
"""Hole, outside diameter, thickness, inches: type A plain washers, wide, which wood wants. ASME B18.21.1;
1/4, 3/8, 1/2, 5/8, 3/4 read in a copy, 5/16 and 7/16 from memory, #10 from the SAE sheet (read)."""

WASHERS_METRIC: dict[str, tuple[float, float, float]] = {
    "M5": (5.3, 10, 1.0),
    "M6": (6.4, 12, 1.6),
    "M8": (8.4, 16, 1.6),
    "M10": (10.5, 20, 2.0),
    "M12": (13, 24, 2.5),
    "M16": (17, 30, 3.0),
    "M20": (21, 37, 3.0),
}
"""ISO 7089, from memory."""

BOLT_HOLE_OVER_INCH = inches("1/32")
"""Bolt holes in wood: 1/32 to 1/16 in over the bolt (NDS, read as quoted)."""
BOLT_HOLE_OVER_METRIC = 1.0
"""Millimetres: not more than 1 mm over the bolt (EN 1995-1-1, 10.4.3, from memory)."""

LAG_LEAD_HARD = 0.70
LAG_LEAD_SOFT = 0.60
"""Lead hole of a lag screw as a share of its shank: 65-85 % in dense wood, 40-70 % in light (NDS 12.1.4, from
memory)."""


EDGE_DISTANCE: dict[Family, tuple[float, str]] = {
    "bolt": (1.5, "NDS 2018 table 12.5.1C, from memory"),
    "rod": (1.5, "NDS 2018 table 12.5.1C, from memory"),
    "screw": (1.0, "common practice for pre-bored holes"),
}
"""Diameters from the middle of a fastener to an edge, least: load along the grain, or an edge not loaded."""
END_DISTANCE: dict[Family, tuple[float, str]] = {
    "bolt": (4.0, "NDS 2018 table 12.5.1A, from memory: 4 for full strength in compression, never under 2"),
    "rod": (4.0, "NDS 2018 table 12.5.1A, from memory: 4 for full strength in compression, never under 2"),
    "screw": (1.5, "common practice for pre-bored holes"),
}
"""Diameters from the middle of a fastener to the end of the wood, least."""


@dataclass(frozen=True)
class Fastener:
    """A fastener as bought, millimetres."""

    name: str
    """As the counter is asked: ``#8 x 1 1/4 wood screw, stainless``."""
    kind: FastenerKind
    size: str
    """``#8``, ``5/16``, ``M8``, or the diameter of a metric wood screw."""
    diameter: float
    """Of shank and thread."""
    length: float | None
    """Under the head (flat heads: overall); None: cut to suit."""
    head_diameter: float | None
    """Greatest width of the head: across the corners of a hexagon; None: a rod has none."""
    head_height: float | None
    clearance: float
    """Hole it passes through freely."""
    pilot_softwood: float | None
    """Hole its thread bites in; None for bolts and rods."""
    pilot_hardwood: float | None
    washers: int
    washer_diameter: float | None
    washer_thickness: float | None
    nuts: int
    nut_height: float | None
    square_depth: float | None = None
    """Of a carriage bolt's neck: wood it needs to bite in."""
    metric: bool = False
    note: str = ""
    """``stainless``, ``galvanized``."""

    @property
    def family(self) -> Family:
        return "screw" if self.kind.endswith("screw") else "rod" if self.kind.endswith("rod") else "bolt"


_KIND_WORDS: dict[str, FastenerKind] = {
    "wood screw": "wood screw",
    "deck screw": "wood screw",
    "screw": "wood screw",
    "lag screw": "lag screw",
    "lag bolt": "lag screw",
    "lag": "lag screw",
    "coach screw": "lag screw",
    "carriage bolt": "carriage bolt",
    "carriage": "carriage bolt",
    "coach bolt": "carriage bolt",
    "hex bolt": "hex bolt",
    "machine bolt": "hex bolt",
    "bolt": "hex bolt",
    "threaded rod": "threaded rod",
    "rod": "threaded rod",
}
_KIND_OF_FAMILY: dict[Family, FastenerKind] = {
    "screw": "wood screw",
    "bolt": "hex bolt",
    "rod": "threaded rod",
}
_METRIC_NAMES: dict[FastenerKind, str] = {"carriage bolt": "coach bolt", "lag screw": "coach screw"}
_NOTES = (
    "stainless galvanized galvanised zinc plated zinc-plated brass bronze silicon steel exterior coated "
    "black hot-dipped flat round pan oval head heads hardened"
)
_NOTE_WORDS = frozenset(_NOTES.split())
_FIGURE = r"(?:\d+[ -]\d+/\d+|\d+/\d+|\d+(?:\.\d+)?)"
_SIZE = re.compile(
    rf"(?P<size>#\d+|no\.? ?\d+|m\d+(?:\.\d+)?|\d+/\d+|\d+(?:\.\d+)?)(?:-(?P<tpi>\d+))?"
    rf"(?: ?x ?(?P<pitch>\d+(?:\.\d+)?)(?= ?x))?(?: ?x ?(?P<length>{_FIGURE}) ?(?P<unit>mm|in\b|\")?)?"
    r"(?: (?P<words>.*))?",
    re.ASCII,
)
_EXAMPLES = "#8 x 1 1/4, 1/4 x 3 carriage bolt, M8 x 60 coach bolt or 5 x 60 screw"


def screw_diameter(gauge: int) -> Fraction:
    """Major diameter of a wood screw, inches: 0.060 + 0.013 a gauge (ASME B18.6.1 list, read)."""
    return Fraction(60 + 13 * gauge, 1000)


def read_fastener(text: str, family: Family | None = None) -> Fastener:
    """The fastener that ``text`` names, such as ``#10 x 2 1/2 stainless`` or ``M8 x 60 coach bolt``.

    ``family`` says what a text without a kind is (``1/4 x 2`` under a key ``bolt``); with a kind it must
    agree. ``#`` is always a screw gauge unless a bolt is named. Raises ValueError with one sentence.
    """
    plain = " ".join(text.translate({ord("×"): "x", ord(","): " ", ord("”"): '"'}).lower().split())
    found = _SIZE.fullmatch(plain)
    if not found:
        raise ValueError(f'the fastener "{text}" is not understood; expected such as {_EXAMPLES}')
    size = re.sub(r"^no\.? ?", "#", found["size"]).upper()
    kind, note = _kind_and_note(text, size, found["words"] or "", family)
    if kind == "wood screw":
        made = _wood_screw(text, size, note)
    elif kind == "lag screw":
        made = _lag_screw(text, size, note)
    else:
        made = _bolt(text, size, kind, note)
    _check_thread(text, made, found["tpi"], found["pitch"])
    return _with_length(text, made, found["length"], found["unit"], found["tpi"])


def _kind_and_note(text: str, size: str, words: str, family: Family | None) -> tuple[FastenerKind, str]:
    named: FastenerKind | None = None
    rest = words
    for spelling in sorted(_KIND_WORDS, key=lambda s: (-len(s), s)):
        if re.search(rf"(?:^| ){spelling}s?(?: |$)", rest):
            named = _KIND_WORDS[spelling]
            rest = " ".join(re.sub(rf"(?:^| ){spelling}s?(?: |$)", " ", rest, count=1).split())
            break
    unknown = [word for word in rest.split() if word not in _NOTE_WORDS]
    if unknown:
        near = did_you_mean(" ".join(unknown), [*_KIND_WORDS, *_NOTE_WORDS])
        raise ValueError(f'the fastener "{text}" has the unknown word "{" ".join(unknown)}"{near}')
    if named is None:
        named = _KIND_OF_FAMILY[family] if family else "wood screw" if size.startswith("#") else None
    if named is None:
        raise ValueError(f'the fastener "{text}" does not say what it is; expected such as {_EXAMPLES}')
    of_family = "screw" if "screw" in named else "rod" if "rod" in named else "bolt"
    if family and of_family != family:
        raise ValueError(f'the fastener "{text}" is a {named} where a {family} is expected')
    return named, rest


def _known(text: str, size: str, *tables: dict[str, object]) -> None:
    for table in tables:
        if size not in table:
            raise ValueError(f'the fastener "{text}" has no known size "{size}"; known: {", ".join(table)}')


def _wood_screw(text: str, size: str, note: str) -> Fastener:
    if size.startswith("#"):
        gauge = int(size[1:])
        if gauge not in SCREW_HOLES:
            known = ", ".join(f"#{g}" for g in SCREW_HOLES)
            raise ValueError(f'the fastener "{text}" has no known gauge; known: {known}')
        hard, soft, clear = (float(inches(f) * MM_PER_INCH) for f in SCREW_HOLES[gauge])
        diameter = float(screw_diameter(gauge) * MM_PER_INCH)
    else:
        _known(text, size, dict(METRIC_SCREWS))
        hard, soft, clear = METRIC_SCREWS[size]
        diameter = float(size)
    # A flat head is twice the shank across and half the shank deep (common practice).
    return Fastener(
        "", "wood screw", size, diameter, None, 2 * diameter, diameter / 2, clear, soft, hard,
        0, None, None, 0, None, None, not size.startswith("#"), note,
    )  # fmt: skip


def _lag_screw(text: str, size: str, note: str) -> Fastener:
    bolt = _bolt(text, size, "hex bolt", note)
    d = bolt.diameter
    return Fastener(
        "", "lag screw", size, d, None, bolt.head_diameter, bolt.head_height, d, LAG_LEAD_SOFT * d,
        LAG_LEAD_HARD * d, 1, bolt.washer_diameter, bolt.washer_thickness, 0, None, None, bolt.metric, note,
    )  # fmt: skip


def _bolt(text: str, size: str, kind: FastenerKind, note: str) -> Fastener:
    metric = size.startswith("M")
    mm = 1.0 if metric else float(MM_PER_INCH)
    carriage = kind == "carriage bolt"
    heads = CARRIAGE_HEADS_METRIC if metric else CARRIAGE_HEADS_INCH
    hexes = HEX_METRIC if metric else {k: tuple(float(inches(f)) for f in v) for k, v in HEX_INCH.items()}
    _known(text, size, dict(heads if carriage else hexes))
    diameter = float(size[1:]) if metric else float(
        (screw_diameter(int(size[1:])) if size.startswith("#") else inches(size)) * MM_PER_INCH
    )  # fmt: skip
    _, washer, washer_thick = (WASHERS_METRIC if metric else WASHERS_INCH)[size]
    over = BOLT_HOLE_OVER_METRIC if metric else float(BOLT_HOLE_OVER_INCH * MM_PER_INCH)
    across, hex_height, nut = hexes.get(size, (None, None, None))
    head: tuple[float | None, float | None, float | None] = (None, None, None)
    if carriage:
        head = (heads[size][0] * mm, heads[size][1] * mm, heads[size][3] * mm)
    elif kind == "hex bolt" and across and hex_height:
        head = (across * mm * 2 / 3**0.5, hex_height * mm, None)
    return Fastener(
        "", kind, size, diameter, None, head[0], head[1], diameter + over, None, None,
        1 if carriage else 2, washer * mm, washer_thick * mm,
        2 if kind == "threaded rod" else 1, nut * mm if nut else None, head[2], metric, note,
    )  # fmt: skip


def _check_thread(text: str, made: Fastener, tpi: str | None, pitch: str | None) -> None:
    if tpi and (made.size not in THREADS_INCH or int(tpi) not in THREADS_INCH[made.size]):
        known = " or ".join(map(str, THREADS_INCH.get(made.size, ()))) or "none"
        raise ValueError(
            f'the fastener "{text}" has {tpi} threads to the inch; known for {made.size}: {known}'
        )
    if pitch and THREADS_METRIC.get(made.size) != float(pitch):
        raise ValueError(
            f'the fastener "{text}" has a pitch of {pitch} mm; known: {THREADS_METRIC.get(made.size, "none")}'
        )


def _with_length(
    text: str, made: Fastener, figure: str | None, unit: str | None, tpi: str | None
) -> Fastener:
    """``made`` at its length and with the name the counter is asked for."""
    length: Fraction | None = None
    if figure:
        mm = unit == "mm" or (unit is None and made.metric)
        length = read_quantity(figure, "in").value * (1 if mm else MM_PER_INCH)
        if length <= 0 or length > 3000:
            raise ValueError(f'the fastener "{text}" has an impossible length')
    elif made.kind != "threaded rod":
        raise ValueError(f'the fastener "{text}" has no length; expected such as {_EXAMPLES}')
    size = f"{made.size}-{tpi}" if tpi else made.size
    sized = size if length is None else f"{size} x {_length_name(length, made, unit)}"
    kind = _METRIC_NAMES.get(made.kind, made.kind) if made.metric else made.kind
    name = f"{sized} {kind}" + (f", {made.note}" if made.note else "")
    return replace(made, name=name, length=None if length is None else float(length))


def _length_name(length: Fraction, made: Fastener, unit: str | None) -> str:
    """Millimetres after a metric size are understood; after an inch size they are said."""
    if made.metric:
        return f"{float(length):g}"
    return f"{float(length):g} mm" if unit == "mm" else mixed_text(length / MM_PER_INCH)
