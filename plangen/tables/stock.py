"""What a member is made of, as resolved from the designer's words."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, TypeAlias

from plangen.findings import did_you_mean
from plangen.tables.hardwood import SURFACED_TWO_SIDES
from plangen.tables.panels import PANELS, PS1_LIMITS, SHEET_INCH, SHEET_METRIC, Panel
from plangen.tables.softwood import SAWN_METRIC, dressed_size, planed_size
from plangen.tables.woods import SPELLINGS, Wood, find_wood
from plangen.units import MM_PER_INCH, LengthUnit, as_length, inches, mixed_text, read_quantity

StockKind: TypeAlias = Literal["dimension", "board", "quarter", "planed", "sheet", "round", "bought"]


@dataclass(frozen=True)
class Stock:
    """A resolved stock. Sizes in millimetres; None where the stock leaves the size open."""

    name: str
    """As the yard is asked: ``2x4 douglas fir``, ``8/4 white oak``, ``1/2 plywood exterior``."""
    kind: StockKind
    species: str
    thickness: float | None
    width: float | None
    nominal: str = ""
    """``2x4``, ``8/4``, ``1/2``: empty for stock named by its own sizes."""
    density: float | None = None
    """Kilograms a cubic metre at 12 % moisture."""
    sheet: tuple[float, float] | None = None
    """Length and width of a bought sheet."""


# --- from the designer's words ------------------------------------------------------------------------------

_FIGURE = r"(?:\d+[ -]\d+/\d+|\d+/\d+|\d+(?:\.\d+)?|\.\d+)"
_SIDE = rf"({_FIGURE}) ?(mm|cm|in\b|inch|inches|\")?"
_SIZE = re.compile(rf"{_SIDE}(?: ?x ?{_SIDE})?(?= |$)", re.ASCII)
_SHEET = re.compile(rf"\bsheet {_SIDE} ?x ?{_SIDE} ?(ft|feet)?$", re.ASCII)
_QUARTER = re.compile(r"\d+/4", re.ASCII)
_ROUND_WORDS = ("dowel", "dowels", "round", "rounds", "pole")
_BAR_WORDS = ("flat bar", "bar")
_ROD_WORDS = ("round bar", "rod", "rods")
_TUBE_WORDS = ("tube", "tubes", "pipe")
_GREEN, _SAWN = "green", "sawn"
_METALS = {"steel": 7850.0, "galvanized steel": 7850.0, "stainless steel": 8000.0, "aluminium": 2700.0,
           "aluminum": 2700.0, "brass": 8500.0}  # fmt: skip
"""Kilograms a cubic metre. ``common practice``"""
_QUALIFYING_WORDS = (
    "treated pressure pressure-treated exterior interior structural clear select common no.1 no.2 rough "
    "planed s4s s2s kd dry kiln-dried air-dried air dried kiln reclaimed quartersawn quarter-sawn rift "
    "rift-sawn plain-sawn ac bc cdx acx a-c b-c c-d hardwood-faced prefinished sanded"
)
_QUALIFIERS = frozenset(_QUALIFYING_WORDS.split())
_EXAMPLES = "2x4 douglas fir, 8/4 white oak, 1/2 plywood exterior, 45 x 95 mm larch or 1 dowel birch"
_EX = "ex "
"""The trade's word for the sawn section that a planed one was."""
_LARGEST_NOMINAL = 16
_THICKEST_METRIC_NOMINAL = 4
_THICKEST = Fraction(600)
_THICKEST_SHEET = 3 * MM_PER_INCH


@dataclass(frozen=True)
class _Words:
    """The designer's text, taken apart."""

    text: str
    units: LengthUnit
    sizes: tuple[Fraction, ...]
    """One or two, as figured."""
    unit: LengthUnit
    """The unit the sizes are named in: as written, else the design's."""
    marked: bool
    """A unit is written: the sizes are actual, never nominal."""
    millimetres: tuple[Fraction, ...]
    first: str
    """The first figure as written: tells ``8/4`` from ``2``."""
    rest: str
    """What follows the size, lower case."""


def resolve_stock(text: str, units: LengthUnit) -> Stock:
    """What ``text`` asks of the yard: ``2x4 doug fir``, ``8/4 white oak``, ``9 mm birch plywood``.

    - A pair such as ``2x4``, ``1x6`` or ``5/4 x 6`` is a nominal size: it resolves to the dressed, dry
      thickness and width of PS 20. Boards of hardwood sold surfaced on four sides follow the same sizes
      (``common practice``): ``1x4 oak`` is 3/4 x 3 1/2. A pair with a unit (``1 1/2" x 3 1/2"``), or one
      that is no nominal size, is the actual planed section; the smaller side is the thickness. In a
      millimetre design only pairs up to 4 thick and 16 wide count as nominal.
    - ``4/4`` and up are quarter sizes: the thickness surfaced on two sides, no width.
    - Sheet goods keep the stated thickness as the worked size. PS 1 lets a sheet of category 1/2 measure
      0.469 to 0.531 in, so ``stock_notes`` says *measure the sheet first* and gives those limits. A sheet is
      96 x 48 in or 2440 x 1220 mm unless the text ends in ``sheet 2500 x 1250``.
    - ``1 dowel birch`` and ``25 mm dowel`` are round; ``1/8 x 1 flat bar steel`` is bought metal.
    - ``2x4 green douglas fir`` has the green size of PS 20, which dries to the dry one. ``12 mm rod steel`` and
      ``25 x 2 mm tube steel`` are metal by the length; a tube is named by its outside and its wall.
    - ``ex 50 x 100 larch`` is planed from that sawn section: 47 x 97 mm. ``50 x 100 sawn larch`` is worked as sawn.
    - One thickness and a wood is a planed board of any width; with ``sawn`` it is a rough board whose planed
      thickness the design must give.

    Raises ValueError with one sentence, naming the nearest known spelling of an unknown word.
    """
    plain = " ".join(
        text.translate({ord("×"): "x", ord(","): " ", ord("″"): '"', ord("”"): '"'}).lower().split()
    )
    sheet, plain = _sheet_size(text, plain, units)
    if plain.startswith(_EX):
        return _planed_from(_taken_apart(text, plain.removeprefix(_EX), units))
    words = _taken_apart(text, plain, units)
    panel = _panel(words)
    if panel:
        return _sheet_stock(words, *panel, sheet)
    if sheet:
        raise ValueError(f'"{text}" gives the size of a sheet but names no plywood or other sheet goods')
    for found, builder in (
        (_found(words, _TUBE_WORDS), _tube_stock),
        (_found(words, _ROD_WORDS), _rod_stock),
        (_found(words, _ROUND_WORDS), _round_stock),
        (_found(words, _BAR_WORDS), _bar_stock),
    ):
        if found:
            return builder(words, found)
    return _pair_stock(words) if len(words.sizes) == 2 else _single_stock(words)


def is_metal(stock: Stock) -> bool:
    """Bar, rod or tube: sawn to length, and as it comes otherwise."""
    return stock.species in _METALS


def stock_notes(stock: Stock) -> tuple[str, ...]:
    """What the buyer should know about this stock, one sentence each."""
    if stock.kind == "sheet":
        limits = PS1_LIMITS.get(inches(stock.nominal)) if re.fullmatch(_FIGURE, stock.nominal) else None
        if limits and stock.species in {panel.name for panel in PANELS if panel.limits}:
            return (
                f"Measure the sheet first: a {stock.nominal} in panel may be {limits[0].rstrip('0')} to "
                f"{limits[1].rstrip('0')} in thick (PS 1).",
            )
        return ("Measure the sheet first: its thickness varies from its name.",)
    if _GREEN in stock.name.split() and stock.nominal and stock.kind in ("dimension", "board"):
        return (
            "Green: it dries about 2.35 % thinner and 2.8 % narrower (PS 20-70, to 15 %). Let it dry first.",
        )
    if stock.nominal.startswith(_EX) and stock.thickness and stock.width:
        return (f"Planed from the sawn section to {stock.thickness:g} x {stock.width:g} mm.",)
    if stock.width and _SAWN in stock.name.split():
        return ("Sawn: may be 1 mm under to 3 mm over, a side over 100 mm 2 under to 4 over (EN 336).",)
    if stock.kind == "round" and stock.name.endswith(" tube"):
        return ("A tube: drawn solid, weighed hollow.",)
    if stock.kind == "quarter":
        return (f"{stock.nominal} is the rough thickness; worked here to the surfaced thickness.",)
    return ()


def nominal_sides(stock: Stock) -> tuple[Fraction, Fraction] | None:
    """Nominal thickness and width in inches of ``2x4`` or ``5/4 x 6``; None of a stock without them."""
    if stock.kind not in ("dimension", "board") or "x" not in stock.nominal:
        return None
    thickness, width = (side.strip() for side in stock.nominal.split("x"))
    return inches(thickness.replace(" ", "-")), inches(width.replace(" ", "-"))


def sawn_thickness(stock: Stock) -> float | None:
    """Millimetres of a board that is sold sawn, whatever it is planed to; None of other stock."""
    if stock.kind != "board" or _SAWN not in stock.name.split() or not stock.nominal:
        return None
    return float(as_length(read_quantity(stock.nominal, "mm"), "mm"))


def _sheet_size(text: str, plain: str, units: LengthUnit) -> tuple[tuple[float, float] | None, str]:
    found = _SHEET.search(plain)
    if not found:
        return None, plain
    sides = []
    for figure, unit in ((found[1], found[2]), (found[3], found[4])):
        worded = f"{figure} {found[5] or found[4] or unit or units}"
        sides.append(as_length(read_quantity(worded, units), units))
    if min(sides) <= 0:
        raise ValueError(f'"{text}" gives a sheet without size')
    return (float(max(sides)), float(min(sides))), plain[: found.start()].strip()


def _taken_apart(text: str, plain: str, units: LengthUnit) -> _Words:
    found = _SIZE.match(plain)
    if not found:
        raise ValueError(f'the stock "{text}" does not begin with a size; expected such as {_EXAMPLES}')
    figures = [figure for figure in (found[1], found[3]) if figure]
    written = found[4] or found[2]
    unit: LengthUnit = units if written is None else "mm" if written in {"mm", "cm"} else "in"
    words = _Words(
        text,
        units,
        tuple(read_quantity(figure, units).value for figure in figures),
        unit,
        written is not None,
        tuple(as_length(read_quantity(f"{figure} {written or units}", units), units) for figure in figures),
        found[1],
        plain[found.end() :].strip(),
    )
    if units == "in" and written is None and min(words.sizes) > _LARGEST_NOMINAL:
        raise ValueError(
            f'the stock "{text}" is no inch size; for millimetres write {" x ".join(figures)} mm'
        )
    if min(words.millimetres) <= 0 or min(words.millimetres) > _THICKEST:
        raise ValueError(f'the stock "{text}" has an impossible thickness; expected such as {_EXAMPLES}')
    return words


def _found(words: _Words, known: tuple[str, ...]) -> str | None:
    """The first of ``known`` that stands in the words after the size, longest spelling first."""
    for spelling in sorted(known, key=lambda s: (-len(s), s)):
        if re.search(rf"(?:^| ){re.escape(spelling)}(?: |$)", words.rest):
            return spelling
    return None


def _panel(words: _Words) -> tuple[Panel, str] | None:
    spellings = {spelling: panel for panel in PANELS for spelling in panel.words}
    found = _found(words, tuple(spellings))
    return (spellings[found], found) if found else None


def _without(rest: str, spelling: str) -> str:
    return " ".join(f" {rest} ".replace(f" {spelling} ", " ", 1).split())


def _species(words: _Words, rest: str) -> tuple[str, Wood | None, str]:
    """The wood named in ``rest``, as printed and as known, and the qualifying words beside it."""
    plain = " ".join(word for word in rest.split() if word not in _QUALIFIERS)
    # green is how wet it is, but for a wood that is called so
    called = _QUALIFIERS if find_wood(plain, words.units) else _QUALIFIERS | {_GREEN}
    qualifiers = " ".join(word for word in rest.split() if word in called)
    named = " ".join(word for word in rest.split() if word not in called)
    if not named or named.startswith("other "):
        return named.removeprefix("other "), None, qualifiers
    found = find_wood(named, words.units)
    if found is None:
        known = [*SPELLINGS, *(spelling for panel in PANELS for spelling in panel.words), *_ROUND_WORDS]
        raise ValueError(
            f'the stock "{words.text}" names an unknown wood "{named}"{did_you_mean(named, known)} '
            f'(for a wood not listed write "other {named}")'
        )
    return *found, qualifiers


def _density(wood: Wood | None) -> float | None:
    return wood.density if wood else None


def _named(*parts: str) -> str:
    return " ".join(part for part in parts if part)


def _size_name(words: _Words) -> str:
    """The actual size as the yard is asked for it, thickness first, with its unit."""
    unit = words.unit
    factor = MM_PER_INCH if unit == "in" else Fraction(1)
    sides = sorted(size / factor for size in words.millimetres)
    if unit == "in":
        return " x ".join(mixed_text(side) for side in sides) + " in"
    return " x ".join(f"{float(side):g}" for side in sides) + " mm"


def _sheet_stock(words: _Words, panel: Panel, spelling: str, sheet: tuple[float, float] | None) -> Stock:
    if len(words.sizes) == 2:
        raise ValueError(f'the stock "{words.text}" gives two sizes; a sheet is named by its thickness alone')
    fraction_of_inch = not words.marked and "/" in words.first
    thickness = words.sizes[0] * MM_PER_INCH if fraction_of_inch else words.millimetres[0]
    inch_sheet = fraction_of_inch or words.unit == "in"
    if inch_sheet and thickness > _THICKEST_SHEET:
        raise ValueError(
            f'the stock "{words.text}" is too thick for a sheet; for millimetres write {words.first} mm'
        )
    name = mixed_text(thickness / MM_PER_INCH) if inch_sheet else f"{float(thickness):g} mm"
    species, _, qualifiers = _species(words, _without(words.rest, spelling))
    kind = _named(species, panel.name)
    return Stock(
        _named(name, kind, qualifiers),
        "sheet",
        kind,
        float(thickness),
        None,
        name,
        panel.density,
        sheet or (SHEET_INCH if inch_sheet else SHEET_METRIC),
    )


def _round_stock(words: _Words, spelling: str) -> Stock:
    if len(words.sizes) == 2:
        raise ValueError(f'the stock "{words.text}" gives two sizes; round stock is named by its diameter')
    species, wood, qualifiers = _species(words, _without(words.rest, spelling))
    diameter = float(words.millimetres[0])
    name = _named(_size_name(words), species, "dowel", qualifiers)
    return Stock(name, "round", species, diameter, diameter, _size_name(words), _density(wood))


def _metal(words: _Words, spelling: str, sizes: int, example: str) -> str:
    """The metal that is named beside ``spelling``; steel where none is."""
    metal = _without(words.rest, spelling) or "steel"
    metal = {"galvanized": "galvanized steel", "stainless": "stainless steel"}.get(metal, metal)
    if metal not in _METALS or len(words.sizes) != sizes:
        kind = "flat bar" if spelling in _BAR_WORDS else spelling
        raise ValueError(
            f'the stock "{words.text}" is no {kind}; expected such as {example}'
            f"{did_you_mean(metal, _METALS) if metal not in _METALS else ''}"
        )
    return metal


def _rod_stock(words: _Words, spelling: str) -> Stock:
    metal = _metal(words, spelling, 1, "1/2 rod steel")
    diameter = float(words.millimetres[0])
    size = _size_name(words)
    return Stock(_named(size, metal, "rod"), "round", metal, diameter, diameter, size, _METALS[metal])


def _tube_stock(words: _Words, spelling: str) -> Stock:
    """By its outside and its wall. It is a round bar here, as heavy as what is left of one that is bored out."""
    metal = _metal(words, spelling, 2, "1 x 1/8 tube steel")
    wall, diameter = sorted(words.millimetres)
    if 2 * wall >= diameter:
        raise ValueError(f'the stock "{words.text}" is a tube without a bore: its walls meet')
    thin, unit = _size_name(words).split(" x ")[0], " in" if words.unit == "in" else " mm"
    size = f"{_size_name(words).split(' x ')[1].removesuffix(unit)} x {thin}{unit}"
    share = float(1 - ((diameter - 2 * wall) / diameter) ** 2)
    return Stock(
        _named(size, metal, "tube"),
        "round",
        metal,
        float(diameter),
        float(diameter),
        size,
        _METALS[metal] * share,
    )


def _bar_stock(words: _Words, spelling: str) -> Stock:
    metal = _metal(words, spelling, 2, "1/8 x 1 flat bar steel")
    thickness, width = sorted(words.millimetres)
    name = _named(_size_name(words), metal, "flat bar")
    return Stock(name, "bought", metal, float(thickness), float(width), _size_name(words), _METALS[metal])


def _pair_stock(words: _Words) -> Stock:
    sawn = _SAWN in words.rest.split()
    species, wood, qualifiers = _species(words, _without(words.rest, _SAWN))
    thickness, width = sorted(words.sizes)
    quarter = _QUARTER.fullmatch(words.first)
    if quarter and words.sizes[0] >= 1 and wood and wood.hard:
        raise ValueError(
            f'the stock "{words.text}": hardwood by the quarter comes in random widths; '
            f"write {words.first} {species} and give the member its width"
        )
    nominal = words.units == "in" or (thickness <= _THICKEST_METRIC_NOMINAL and width <= _LARGEST_NOMINAL)
    green = _GREEN in qualifiers.split()
    dressed = dressed_size(thickness, width, green) if not words.marked and nominal else None
    if dressed:
        figure = (
            f"{words.first} x {mixed_text(width)}"
            if quarter
            else f"{mixed_text(thickness)}x{mixed_text(width)}"
        )
        kind: StockKind = "board" if thickness < 2 else "dimension"
        t, w = (float(side * MM_PER_INCH) for side in dressed)
        return Stock(_named(figure, species, qualifiers), kind, species, t, w, figure, _density(wood))
    t, w = sorted(map(float, words.millimetres))
    return Stock(
        _named(_size_name(words), _SAWN if sawn else "", species, qualifiers),
        "planed",
        species,
        t,
        w,
        "",
        _density(wood),
    )


def _planed_from(words: _Words) -> Stock:
    species, wood, qualifiers = _species(words, words.rest)
    planed = planed_size(*sorted(words.millimetres)) if len(words.sizes) == 2 else None
    if planed is None or words.unit == "in":
        known = ", ".join(map(str, SAWN_METRIC))
        raise ValueError(
            f'the stock "{words.text}" names no customary sawn section; its sides in mm are two of {known}'
        )
    size = f"{_EX}{_size_name(words)}"
    t, w = map(float, planed)
    return Stock(_named(size, species, qualifiers), "planed", species, t, w, size, _density(wood))


def _single_stock(words: _Words) -> Stock:
    sawn = _SAWN in words.rest.split()
    species, wood, qualifiers = _species(words, _without(words.rest, _SAWN))
    if not words.marked and _QUARTER.fullmatch(words.first) and words.sizes[0] >= 1:
        if words.first not in SURFACED_TWO_SIDES:
            raise ValueError(
                f'the stock "{words.text}" has an unusual quarter size; known: '
                + ", ".join(SURFACED_TWO_SIDES)
            )
        surfaced = float(SURFACED_TWO_SIDES[words.first] * MM_PER_INCH)
        name = _named(words.first, species, qualifiers)
        return Stock(name, "quarter", species, surfaced, None, words.first, _density(wood))
    if not species:
        raise ValueError(
            f'the stock "{words.text}" names no wood and no sheet goods; expected such as {_EXAMPLES}'
        )
    size = _size_name(words)
    if sawn:
        name = _named(size, _SAWN, species, qualifiers)
        return Stock(name, "board", species, None, None, size, _density(wood))
    thickness = float(words.millimetres[0])
    return Stock(_named(size, species, qualifiers), "planed", species, thickness, None, "", _density(wood))
