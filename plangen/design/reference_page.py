"""designs/REFERENCE.md: every key of a design file, told from the records, the rules and the examples."""

from __future__ import annotations

from typing import get_args

from plangen.design import design as d
from plangen.design import shop as s
from plangen.design import template_settings as t
from plangen.design import yard as y
from plangen.design.arithmetic import FUNCTIONS
from plangen.design.examples import examples_of
from plangen.design.joint_words import JOINTS_TOLD
from plangen.design.kinds import (
    DIRECTION_WORDS,
    FASTENER_MEANINGS,
    JOINT_OPTIONS,
    JOINT_SYNONYMS,
)
from plangen.design.records import Entry, key_of, kind_of
from plangen.design.rules import rules_of
from plangen.design.schema import SIZES, default_text
from plangen.design.shapes import Fixed, Forms, ListOf, Shape, Table, Word, field_shape, fields_of
from plangen.tables.cut_files import LAYERS
from plangen.units import Kind


def layers_told() -> str:
    """The scheme of layers, as a table."""
    rows = [
        f"| {operation} | `{layer.name}` | {layer.colour} | {layer.meaning} |"
        for operation, layer in LAYERS.items()
    ]
    head = [
        "Layers say what happens there: `{depth}` and `{diameter}` stand for figures in hundredths of a millimetre, or "
        "in files in inches for thousandths of an inch with `TH` after them.\n",
        "| operation | layer | colour | what it is |",
        "|---|---|---|---|",
    ]
    return "\n".join([*head, *rows])


CHAPTERS: tuple[tuple[str, str, tuple[type[Entry], ...]], ...] = (
    ("The design", "The keys at the left margin of the file.", (d.Design, d.Drawing, d.Stock)),
    (
        "Members",
        "What a piece is made of, where it goes, what cuts it.",
        (
            d.Member,
            d.Placing,
            d.Relation,
            d.Trim,
            d.Taper,
            d.Curve,
            d.Outline,
            d.Opening,
            d.BoredHole,
            d.EdgeWork,
            d.Copies,
            d.Repeat,
            d.Around,
        ),
    ),
    (
        "Planes",
        "A plane is named by a word (`leg wall`, `beam.top`, `floor`, `centre plane`, `depth plane`) or said in "
        "one of these forms. The first key of each tells which form it is.",
        (
            d.ShiftedPlane,
            d.LevelPlane,
            d.PlaneThroughLine,
            d.PlaneThroughPoint,
            d.PlaneThroughPoints,
            d.HalfwayPlane,
            d.Lean,
            d.Turn,
        ),
    ),
    (
        "Lines",
        "A line is named by a word (`leg line`, `leg.axis`) or said in a form.",
        (d.MeetingLine, d.LineFrom),
    ),
    (
        "Points",
        "A point is named by a word, by three figures `[right, rear, up]` from the middle of the floor, or said "
        "in a form.",
        (d.MeetingPoint, d.PointOnLine, d.HalfwayPoint, d.ShiftedPoint, d.MemberPoint),
    ),
    ("Joints", "", (d.Joint,)),
    ("Fasteners and bought parts", "", (d.Fastener, d.Counterbore, d.Bought)),
    (
        "The shop",
        "Which machines there are, how far they reach and which cutters they have, so that every cut is planned on "
        "what stands in the workshop. A machine that is not named is not there; what is not said of one is as in a "
        "small shop. Without a `shop` the piece is planned for a small shop that has them all. The same keys, with "
        "`units` beside them, may stand in a file beside the designs that share it: `shop: workshop.yml`. Its sizes "
        "are figures alone, since it has no named values.",
        (
            s.Workshop,
            s.MitreSaw,
            s.TableSaw,
            s.TrenchingHead,
            s.Router,
            s.Bandsaw,
            s.Jointer,
            s.DrillPress,
            s.Lathe,
        ),
    ),
    (
        "Templates: cut files and full-size paper",
        "Every shaped part has a file that a router or laser follows, and the same outline at full size on paper. "
        "Without a `templates` section files are DXF R2000 in millimetres at true size, arcs as bulges, and the paper "
        "is that of the drawings. All parts of one sheet stock also lie on its sheets by their outlines, in "
        "`templates/nested`, a file a sheet: along the grain, spaced by the cutter, small ones in the openings of "
        "large ones where they fit. The same keys, with `units` beside them, may stand in a file beside the designs "
        "that share it: `templates: router.yml`.\n\n" + layers_told(),
        (
            t.Templates,
            t.CutLayers,
            t.CutLayer,
            t.FitPlay,
            t.Tabs,
            t.HoldDown,
            t.Nesting,
            t.MeasuredSheet,
            t.PaperTemplates,
        ),
    ),
    (
        "What to buy, and from whom",
        "Without any of these the lists ask for the trade's own sizes and lengths, with the usual allowances and "
        "without prices. A yard's list says what it sells, in which lengths, for how much; what lies in the shop "
        "already is cut first. Its lines name a stock in the same words as the members, or as `ask for` of a stock "
        "that the design names. The same keys, with `units` beside them, may stand in a file beside the designs that "
        "share it: `yard: mill-lane.yml`.",
        (y.YardList, y.Sale, y.InShop, y.Roughing, y.Coat, y.Climate),
    ),
    ("Assemblies, critical dimensions, revisions", "", (d.Assembly, d.AssemblyCut, d.Critical, d.Revision)),
)

INTRODUCTION = """# A design file, key by key

Made from the records that read the file; `plangen schema` gives the same to an editor.

A design is YAML, but every value is read as words: `1:8` is a slope, `010` is ten, `#8` needs quotes because
YAML takes `#` for a comment, and inside braces a comma ends a phrase. Keys and names have spaces. What is wrong
is answered with its line and column and the nearest known spelling.

## Sizes and reckoning

A bare number counts the design's `units`. Sizes: `3 1/2`, `1' 6 3/8"`, `90 mm`, `9 cm`. Angles say their unit:
`12 deg`, or a slope `1 in 8`, `1:8`. Anywhere a figure goes, so does arithmetic with `+ - * / ( )` over the named
values of `let` and the sizes of members: `front width / 2 + 3/4`, `leg.width`, `min(low, 9)`. Functions:
{functions}. A length times a length is an error, and so is an angle plus a length.

## Variants

A condition compares values: `sides = 6`, `tall <> 0`, `<`, `<=`, `>`, `>=`, joined by `and`, `or`, `not`. Over the
named values of `let` it chooses: `if(sides = 6, 30 deg, 45 deg)` is a value, and a member, bought part, joint,
fastener or assembly with `only if: sides = 6` is left out where that does not hold. What is left out is not checked
any further; planes, lines, points and values that hang on a member that is left out are left out with it, and
`floor touches` passes over it. To name any of them from what is left is an error.

## Placing: as a maker locates a piece

A piece has a *face side* and a *face edge*, the reference surfaces, and its grain runs from *end A* to *end B*.
A loose piece can slide three ways and turn three ways. Three relations hold it, as three, two and one stops
locate work in a jig:

1. a surface on a plane (`face: {{flush with: ...}}`, `back: {{against: ...}}`) leaves a slide two ways and one turn;
2. an arris on a line (`edge: {{along: leg line}}`) takes the turn and one slide; a direction (`length: right`)
   takes the turn only;
3. an end at a stop (`end A: {{against: post.right}}`), or its middle on a plane (`middle: centre plane`), takes
   the last.

What is still free is an error that says what can still move; what contradicts is an error with both lines; what
only repeats is accepted. A piece that runs from point to point says `from` and `to`: points of its centre line,
or, where a face or an edge is placed as well, points that only say how it runs beside that. A member may be
placed by the surfaces of others, as long as they do not come round to itself in a circle; two members may be cut
by each other's faces.

Surfaces are called by the piece's own names ({own}) or by where they look once it stands ({looks}).
`inner` and `outer` are the face or back toward the middle of the work or away from it; of a piece whose face
looks neither way (a stile seen from the front), the edge. Its centre line is `leg.axis`.

Face, edge and ends have an order: look at the face side with end A at your left, and the face edge is the lower
one, the back edge the upper one. So of `length: right`, `face: up` it is the edge toward the front; to have the
rear one, say `back edge`, or `length: left`.

Mirrored and repeated places have names of their own: `leg left`, `leg right` (mirrored left to right);
`leg front`, `leg rear` (front to back); `leg front left` and so on (both); `leg mirrored`; `leg turned`;
`slat 1` to `slat 7` (repeats, and those in a ring). `leg` alone is the drawn one where a surface is meant, and
all of them in joints and fasteners.

Directions: {directions}; `along LINE`, `against LINE`, `square to PLANE`, or three figures `[right, rear, up]`.
`left` and `right` are those of someone who looks at the front.

## Leans

The same lean is a different angle in an elevation, on the face and from plumb: legs that lean 10 deg in the front
elevation and 14 deg in the side elevation lean only 9.71 deg on their own faces. So a lean always says how it was
measured: `seen from` an elevation, or `measured: on the plane` or `from plumb`.

## Joints, stages, origins of sizes

Members are placed where they belong and may overlap; a joint says how the wood they share is divided. The cut
follows the other member's body, so no slope or depth is asked for that can be reckoned. A joint is written with
its kind as the key: `{{half lap: [leg, rail], floor: second}}`.

`when` says the stage at which a cut is made: `square` (while the blank is square), `shaped` (after tapers and
bevels), `glued` (on the glued assembly), `assembled`, `on the work`. Set-ups use only surfaces that exist then.

A figure is final, unless the work gives it: a trim with `fit: on the work` and `leave: 1` prints as a size to be
fitted with that much wood left on; bought parts are measured, not made.
"""


def reference_markdown() -> str:
    """The page. Ends in one line feed."""
    sides: tuple[str, ...] = get_args(d.Side)
    parts = [
        INTRODUCTION.format(
            functions=", ".join(f"`{name}`" for name in FUNCTIONS),
            own=", ".join(f"`{side}`" for side in sides[:6]),
            looks=", ".join(f"`{side}`" for side in sides[6:] if side not in ("inner", "outer")),
            directions=", ".join(f"`{word}`" for word in DIRECTION_WORDS),
        )
    ]
    for title, words, records in CHAPTERS:
        parts.append(f"## {title}\n" + (f"\n{words}\n" if words else ""))
        if d.Joint in records:
            parts.append(_joint_kinds())
        if d.Fastener in records:
            parts.append(_fastener_kinds())
        parts += [_section(record) for record in records]
    return "\n".join(parts)


def _section(record: type[Entry]) -> str:
    noun = rules_of(record).noun
    lines = [f"### {noun[0].upper()}{noun[1:]}", ""]
    if record.__doc__:
        lines += [" ".join(record.__doc__.replace("``", "`").split()), ""]
    lines += [f"- {rule}" for rule in _rules(record)]
    if lines[-1]:
        lines.append("")
    lines += ["| key | meaning | value | default | example |", "|---|---|---|---|---|"]
    lines += [_row(record, key, name) for key, name in fields_of(record).items()]
    return "\n".join(lines) + "\n"


def _row(record: type[Entry], key: str, name: str) -> str:
    info = record.model_fields[name]
    value = value_words(field_shape(record, name), kind_of(record, name))
    default = "needed" if info.is_required() else default_text(record, name)
    cells = [f"`{key}`", str(info.description), value, default or "", f"`{examples_of(record)[key]}`"]
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def _rules(record: type[Entry]) -> list[str]:
    rules = rules_of(record)
    found = []
    if rules.one_of:
        found.append(f"Exactly one of {_keys(rules.one_of)} is given.")
    found += [f"At most one of {_keys(group)} is given." for group in rules.at_most_one_of]
    found += [f"`{key_of(name)}` goes with {_keys(others, 'or')}." for name, others in rules.needs]
    if rules.short:
        found.append(f"A lone word stands for `{{{key_of(rules.short)}: word}}`.")
    if record is d.Member:
        found.append("`place` and `stock` may come from the member that it is `like`.")
    return found


def _keys(names: tuple[str, ...], joiner: str = "") -> str:
    words = [f"`{key_of(name)}`" for name in names]
    return f" {joiner} ".join(words) if joiner else ", ".join(words)


def value_words(shape: Shape, kind: Kind | None) -> str:
    """The kind of value that a key takes, in words."""
    ways = []
    if shape.scalar:
        ways.append(_word(shape.scalar, kind, shape))
    if isinstance(shape.items, ListOf):
        ways.append(f"list of: {value_words(shape.items.item, kind)}")
    if isinstance(shape.mapping, Forms) and d.MeetingPoint in shape.mapping.records:
        kind = "length"
    if isinstance(shape.items, Fixed) and not (shape.scalar and shape.scalar.sort == "direction"):
        items = [value_words(item, kind) for item in shape.items.items]
        same = len(set(items)) == 1
        ways.append(f"[{len(items)} × {items[0]}]" if same else f"[{', '.join(items)}]")
    if isinstance(shape.mapping, Table):
        key = "side" if shape.mapping.key.sort == "choice" else "name"
        ways.append(f"{key}s, each with: {value_words(shape.mapping.value, kind)}")
    if isinstance(shape.mapping, Forms):
        ways += _forms(shape.mapping)
    return " or ".join(ways)


def _forms(forms: Forms) -> list[str]:
    kinds = {d.ShiftedPlane: "plane", d.MeetingLine: "line", d.MeetingPoint: "point"}
    named = [word for record, word in kinds.items() if record in forms.records]
    others = [r for r in forms.records if len(forms.records) == 1 or r is d.Trim]
    return [f"form of a {word}" for word in named] + [f"[{rules_of(r).noun}](#{_anchor(r)})" for r in others]


def _anchor(record: type[Entry]) -> str:
    return rules_of(record).noun.replace(" ", "-")


def _word(word: Word, kind: Kind | None, shape: Shape) -> str:
    if word.sort == "choice":
        return " / ".join(f"`{choice}`" for choice in word.choices)
    if word.sort == "expression":
        return {"length": "length", "angle": "angle", "number": "number", None: "figure"}[kind]
    if word.sort == "reference":
        return "name"
    if word.sort == "file":
        return "name of a file"
    return word.sort


def _joint_kinds() -> str:
    """The kinds of joint, each a paragraph, its entry as it would be written, and its picture."""
    told = [
        "A joint is written with its kind as the key and its two members in brackets. In the pictures the first "
        "member, shaded, is moved out of the second; a loose piece is half way between.\n"
    ]
    for kind, (paragraph, entry) in JOINTS_TOLD.items():
        others = [f"`{word}`" for word, of in JOINT_SYNONYMS.items() if of == kind]
        takes = ", ".join(f"`{key_of(name)}`" for name in JOINT_OPTIONS[kind])
        told += [
            f"### {kind[0].upper()}{kind[1:]}\n",
            f"{paragraph}\n",
            f"![{kind}, drawn apart](pictures/joints/{kind.replace(' ', '-')}.svg)\n",
            f"```yaml\n- {entry}\n```\n",
            f"Written {', '.join([f'`{kind}`', *others])}. Takes {takes}.\n",
        ]
    return "\n".join(told)


def _fastener_kinds() -> str:
    lines = [
        "A fastener is written with its kind as the key.",
        "",
        "| kind | meaning | example |",
        "|---|---|---|",
    ]
    for kind, meaning in FASTENER_MEANINGS.items():
        into = ", into: leg" if kind == "screw" else ""
        lines.append(f"| `{kind}` | {meaning} | `{{{kind}: {SIZES[kind]}, through: rail{into}}}` |")
    return "\n".join(lines) + "\n"
