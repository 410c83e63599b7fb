"""What the records ask beyond the types of their fields, and what they are called in a sentence."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from plangen.design import design as d
from plangen.design import shop
from plangen.design import template_settings as t
from plangen.design import yard as y
from plangen.design.records import Entry


@dataclass(frozen=True)
class Rules:
    """Rules over the fields of one record."""

    noun: str = ""
    one_of: tuple[str, ...] = ()
    """Exactly one of these is given."""
    at_most_one_of: tuple[tuple[str, ...], ...] = ()
    needs: tuple[tuple[str, tuple[str, ...]], ...] = ()
    """A field, and the fields of which it needs one beside it."""
    why: str = ""
    """Added where none of ``one_of`` is given."""
    short: str = ""
    """The field that a lone word stands for."""
    positive: tuple[str, ...] = ()
    """Figures greater than zero."""
    not_negative: tuple[str, ...] = ()
    counts: tuple[str, ...] = ()
    """Whole numbers from 1."""
    acute: tuple[str, ...] = ()
    """Angles between -90 and 90 degrees."""


RULES: dict[type[Entry], Rules] = {
    d.Design: Rules("a design"),
    d.Lean: Rules(
        "a lean",
        one_of=("seen_from", "measured"),
        why="the same lean is a different angle in an elevation, on the plane and from plumb",
        acute=("by",),
    ),
    d.Turn: Rules("a turn", acute=("by",)),
    d.ShiftedPlane: Rules("a shifted plane"),
    d.PlaneThroughPoints: Rules("a plane through points"),
    d.PlaneThroughLine: Rules("a plane through a line", one_of=("lean", "along", "and_line")),
    d.PlaneThroughPoint: Rules(
        "a plane through a point", one_of=("square_to", "parallel_to"), needs=(("turned", ("square_to",)),)
    ),
    d.HalfwayPlane: Rules("a plane halfway between two"),
    d.MeetingLine: Rules("a line where planes meet"),
    d.LineFrom: Rules(
        "a line from a point",
        one_of=("to", "going", "lean", "leans"),
        needs=(("lean", ("in_",)), ("in_", ("lean",))),
    ),
    d.MeetingPoint: Rules("a point where planes meet"),
    d.PointOnLine: Rules("a point on a line", one_of=("meets", "height", "at"), needs=(("from_", ("at",)),)),
    d.HalfwayPoint: Rules("a point halfway between two"),
    d.ShiftedPoint: Rules(
        "a shifted point", at_most_one_of=(("right", "left"), ("front", "rear"), ("up", "down"))
    ),
    d.MemberPoint: Rules("a point of a member"),
    d.Relation: Rules(
        "a relation",
        one_of=("against", "flush_with", "at", "along", "toward"),
        needs=(("off", ("against", "flush_with", "at", "along")),),
        short="toward",
    ),
    d.Placing: Rules("a place", needs=(("from_", ("to", "length")), ("to", ("from_",)))),
    d.Opening: Rules(
        "an opening",
        one_of=("slot", "round", "outline"),
        needs=(("curved", ("slot",)),),
        positive=("slot", "round"),
    ),
    d.Member: Rules(
        "a member",
        at_most_one_of=(
            ("diameter", "thickness"),
            ("diameter", "width"),
            ("turned", "diameter"),
            ("turned", "width"),
            ("turned", "thickness"),
            ("turned", "outline"),
            ("turned", "taper"),
            ("turned", "curve"),
            ("outline", "taper"),
            ("outline", "curve"),
        ),
        needs=(
            ("removed_with", ("removable",)),
            ("undone", ("removable",)),
            ("clear", ("removable",)),
        ),
        positive=("thickness", "width", "length", "diameter"),
        not_negative=("clear",),
        counts=("boards",),
    ),
    d.Bought: Rules(
        "a bought part",
        at_most_one_of=(("box", "round", "bent"), ("bent", "place"), ("bent", "quantity")),
        needs=(
            ("bent", ("bar",)),
            ("bar", ("bent",)),
            ("inside_radius", ("bent",)),
            ("k_factor", ("bent",)),
            ("place", ("box", "round")),
            ("copies", ("place", "bent")),
        ),
        positive=("box", "round", "bar", "inside_radius", "k_factor"),
        counts=("quantity",),
    ),
    d.Copies: Rules("copies", at_most_one_of=(("mirror", "turned", "around"), ("repeat", "around"))),
    d.Around: Rules("a ring", counts=("count",)),
    d.BoredHole: Rules(
        "a bored hole",
        at_most_one_of=(("counterbore", "countersink", "spot_face"), ("half_round", "counterbore")),
        positive=("diameter", "depth", "countersink", "spot_face"),
    ),
    d.EdgeWork: Rules(
        "worked arrises",
        one_of=("round_over", "chamfer"),
        positive=("round_over", "chamfer"),
        not_negative=("from_end_a", "from_end_b"),
    ),
    d.Repeat: Rules("a repeat", positive=("spacing",), counts=("count",)),
    d.Trim: Rules("a trim", not_negative=("leave",)),
    d.Taper: Rules("a taper", positive=("at_end_a", "at_end_b")),
    d.Curve: Rules("a curve", positive=("rise",)),
    d.Outline: Rules("an outline", not_negative=("round",)),
    d.Joint: Rules(
        "a joint",
        needs=(
            ("drawbore", ("peg",)),
            ("pegs", ("peg",)),
            ("haunch_width", ("haunch",)),
            ("short", ("short_of",)),
        ),
        positive=(
            *("depth", "thickness", "width", "length", "finger", "slope", "lap", "haunch", "haunch_width"),
            *("spline", "spline_width", "diameter", "included", "peg"),
        ),
        not_negative=("set_back", "from_edge", "gap", "nib", "proud", "drawbore", "inset", "short"),
        counts=("tails", "wedges", "pegs", "count"),
    ),
    d.Counterbore: Rules("a counterbore", positive=("diameter", "depth")),
    d.Fastener: Rules(
        "a fastener",
        at_most_one_of=(("at", "inset"), ("counterbore", "spot_face", "countersink")),
        positive=("spot_face", "countersink"),
        not_negative=("inset",),
        counts=("count",),
    ),
    d.AssemblyCut: Rules(
        "a cut on an assembly",
        one_of=("rebate", "trim"),
        needs=(("rebate", ("sunk_from",)), ("sunk_from", ("rebate",)), ("corners", ("rebate",))),
        positive=("width", "depth", "corners"),
    ),
    d.Drawing: Rules("the drawing", positive=("sizes", "angles")),
    d.Critical: Rules("a critical dimension"),
    d.Stock: Rules("a stock", positive=("thickness", "width", "sheet")),
    shop.Workshop: Rules("a workshop"),
    shop.ShopFile: Rules("a shop file"),
    shop.MitreSaw: Rules(
        "a mitre saw",
        positive=("deepest", "deepest_at_45", "widest", "shortest", "kerf", "blade"),
        not_negative=("mitre", "bevel"),
        acute=("mitre", "bevel"),
    ),
    shop.TableSaw: Rules(
        "a table saw",
        positive=("deepest", "deepest_at_45", "rip", "shortest", "kerf", "blade"),
        not_negative=("mitre", "bevel"),
        acute=("mitre", "bevel"),
    ),
    shop.TrenchingHead: Rules(
        "a trenching head", positive=("narrowest", "widest", "deepest", "diameter", "shortest")
    ),
    shop.Router: Rules("a router", positive=("deepest", "straight_bits", "round_over_bits")),
    shop.Bandsaw: Rules(
        "a bandsaw",
        positive=("deepest", "throat", "kerf"),
        not_negative=("table_tilts",),
        acute=("table_tilts",),
    ),
    shop.Jointer: Rules(
        "a jointer",
        positive=("widest", "deepest", "shortest"),
        not_negative=("fence_tilts",),
        acute=("fence_tilts",),
    ),
    shop.DrillPress: Rules(
        "a drill press", positive=("stroke", "drills"), not_negative=("table_tilts",), acute=("table_tilts",)
    ),
    shop.Lathe: Rules("a lathe", positive=("swing", "between_centres")),
    y.YardList: Rules("a yard's list"),
    y.YardFile: Rules("a yard list"),
    y.Sale: Rules(
        "a line of a yard's list",
        positive=("lengths", "widths", "sheet", "measured"),
        not_negative=("price",),
        counts=("count",),
    ),
    y.InShop: Rules(
        "a piece in the shop", positive=("length", "sheet"), not_negative=("knots",), counts=("count",)
    ),
    y.Roughing: Rules(
        "roughing",
        positive=("kerf",),
        not_negative=("length", "width", "thickness", "glued", "turning", "scrap", "ends", "over"),
        counts=("spare",),
    ),
    y.Coat: Rules("a coat", positive=("covers",), counts=("coats",)),
    y.Climate: Rules("a climate", not_negative=("driest", "dampest")),
    t.Templates: Rules("the templates", positive=("within", "cutter", "lead_in")),
    t.TemplatesFile: Rules("a templates file", positive=("within", "cutter", "lead_in")),
    t.CutLayers: Rules("the layers"),
    t.CutLayer: Rules("a layer", short="name"),
    t.Tabs: Rules("the tabs", positive=("width", "height", "spacing")),
    t.HoldDown: Rules("the screws", positive=("diameter", "keep_out", "spacing")),
    t.FitPlay: Rules("the play of a fit"),
    t.MeasuredSheet: Rules("a measured sheet", positive=("thickness",)),
    t.PaperTemplates: Rules(
        "templates on paper",
        at_most_one_of=(("paper", "roll"),),
        positive=("roll", "stretch"),
        not_negative=("overlap", "blank_edge"),
    ),
}


def rules_of(record: type[Entry]) -> Rules:
    """The rules of a record; one that has none of its own is called by its class."""
    rules = RULES.get(record, Rules())
    if rules.noun:
        return rules
    words = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", record.__name__).lower()
    article = "an" if words[0] in "aeiou" else "a"
    return replace(rules, noun=f"{article} {words}")
