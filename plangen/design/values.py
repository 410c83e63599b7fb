"""Words, lists and mappings of a file to the values of records, by the shape that the schema expects.

Every problem becomes a finding at its own place, and reading goes on; a value that cannot be read is None.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from pydantic import ValidationError

from plangen.design.design import MeetingLine, ShiftedPlane
from plangen.design.expressions import read_expression
from plangen.design.kinds import DIRECTION_WORDS, PLANE_SYNONYMS, WORD_SYNONYMS
from plangen.design.nodes import Items, Mapping, Node, Scalar
from plangen.design.records import Direction, Entry, Expression, FileName, Name, Text, key_of, kind_of
from plangen.design.rules import rules_of
from plangen.design.shapes import (
    Fixed,
    Forms,
    ListOf,
    Shape,
    Table,
    Word,
    field_shape,
    fields_of,
    first_key,
    short_field,
)
from plangen.findings import Finding, Place, did_you_mean, error
from plangen.units import Kind, LengthUnit

LONGEST_NAME = 60
MOST_HINTS = 100
NAME_PATTERN = r"[^\W\d_]\w*(?: \w+)*"
_NAME = re.compile(NAME_PATTERN)
_FILE = re.compile(r"[^\W_][\w -]*(?:\.[\w-]+)*\.ya?ml")
_REFERENCE = re.compile(r"[^\W\d_]\w*(?: \w+)*(?:\.[^\W\d_]\w*(?: \w+)*)?")
FLAGS = {"yes": True, "true": True, "on": True, "no": False, "false": False, "off": False}
_EXAMPLES: dict[Kind | None, str] = {
    "length": "a length such as 3 1/2",
    "angle": "an angle such as 12 deg or 1 in 8",
    "number": "a number",
    None: "a size or a number",
}
_METRIC_LENGTH = "a length such as 90 or 9 cm"


class ValueReader:
    """Reads values, collecting ``findings``. ``units`` is what a bare number counts beside a length."""

    def __init__(self, units: LengthUnit) -> None:
        self.units: LengthUnit = units
        self.findings: list[Finding] = []

    def report(self, place: Place, rule: str, text: str) -> None:
        self.findings.append(error(place, rule, text))

    def hint(self, word: str, known: Iterable[str]) -> str:
        """The nearest known spelling, sought only as long as there are few problems: a file of nothing else
        must end too."""
        return did_you_mean(word, known) if len(self.findings) < MOST_HINTS else ""

    # --- shapes ---

    def value(self, node: Node, shape: Shape, what: str, kind: Kind | None = None) -> object | None:
        """The value of ``node`` read by ``shape``; ``what`` is its key, for the words of an error."""
        if isinstance(node, Scalar) and node.trouble:
            self.report(node.place, "empty", f'"{what}" {node.trouble}')
            return None
        if isinstance(node, Scalar) and shape.scalar:
            return self.word(node, shape.scalar, what, kind, self.expected(shape, kind))
        if isinstance(node, Items) and isinstance(shape.items, Fixed):
            if shape.scalar and shape.scalar.sort == "direction":
                return self._vector(node, shape.items, what)
            return self._fixed(node, shape.items, what, kind)
        if isinstance(node, Mapping) and isinstance(shape.mapping, Forms):
            return self._form(node, shape.mapping, what)
        if isinstance(node, Mapping) and isinstance(shape.mapping, Table):
            return self.table(node, shape.mapping, what)
        if isinstance(shape.items, ListOf) and (isinstance(node, Items) or _fits(node, shape.items.item)):
            nodes = node.items if isinstance(node, Items) else (node,)
            found = [self.value(item, shape.items.item, what, kind) for item in nodes]
            return None if any(item is None for item in found) else tuple(found)
        if (
            isinstance(node, Scalar)
            and isinstance(shape.mapping, Forms)
            and (short := short_field(shape.mapping))
        ):
            record, name = short
            value = self.value(node, field_shape(record, name), what)
            return None if value is None else self.build(record, {name: value}, node.place)
        self.report(node.place, "shape", f"{self.found(node, what)}; expected {self.expected(shape, kind)}")
        return None

    def expected(self, shape: Shape, kind: Kind | None) -> str:
        """What a shape expects, in words."""
        ways = []
        if shape.scalar:
            ways.append(self._expected_word(shape.scalar, kind))
        if isinstance(shape.items, Fixed):
            ways.append(f"a list of {len(shape.items.items)} in brackets")
        if isinstance(shape.items, ListOf):
            ways.append("a list")
        if isinstance(shape.mapping, Forms):
            records = shape.mapping.records
            if len(records) == 1:
                short = list(fields_of(records[0]))[:4]
                ways.append(f"keys such as {', '.join(short)}")
            else:
                ways.append("one of the keys " + ", ".join(dict.fromkeys(first_key(r) for r in records)))
        if isinstance(shape.mapping, Table):
            ways.append(
                "sides, each with its plane" if shape.mapping.key.choices else "names, each with its value"
            )
        return ", or ".join(ways)

    def _expected_word(self, word: Word, kind: Kind | None) -> str:
        if word.sort == "expression":
            return _METRIC_LENGTH if kind == "length" and self.units == "mm" else _EXAMPLES[kind]
        if word.sort == "choice":
            return " or ".join(word.choices) if len(word.choices) < 3 else "one of " + ", ".join(word.choices)
        words = {"text": "text", "name": "a name", "reference": "a name", "yes or no": "yes or no"}
        words["file"] = "the name of a file beside the design, such as workshop.yml"
        return words.get(word.sort, "a direction such as right, along leg line or square to beam.top")

    def found(self, node: Node, what: str) -> str:
        """What stands where something else is expected, in words."""
        if isinstance(node, Scalar):
            return f'"{what}" is the text "{_shortened(node.text)}"'
        return f'"{what}" is a list' if isinstance(node, Items) else f'"{what}" has keys of its own'

    def _fixed(self, node: Items, fixed: Fixed, what: str, kind: Kind | None) -> object | None:
        if len(node.items) != len(fixed.items):
            count = len(fixed.items)
            self.report(
                node.place, "shape", f'"{what}" takes {count} items in brackets, not {len(node.items)}'
            )
            return None
        found = [self.value(item, s, what, kind) for item, s in zip(node.items, fixed.items, strict=True)]
        if any(item is None for item in found):
            return None
        return tuple(found)

    def _vector(self, node: Items, fixed: Fixed, what: str) -> Direction | None:
        """A direction by three figures."""
        found = self._fixed(node, fixed, what, None)
        if not isinstance(found, tuple):
            return None
        text = Text("[" + ", ".join(str(figure) for figure in found) + "]", node.place)
        return Direction(node.place, text, "vector", vector=found)

    def table(self, node: Mapping, table: Table, what: str) -> dict[object, object] | None:
        """A mapping from names to values; None where any of them cannot be read."""
        found: dict[object, object] = {}
        for key, item in node.entries:
            name = self._side(key, table.key) if table.key.sort == "choice" else self.name(key)
            value = self.value(item, table.value, key.text)
            if name is not None and value is not None:
                found[name] = value
        return found if len(found) == len(node.entries) else None

    def _side(self, key: Scalar, word: Word) -> str | None:
        text = " ".join(key.text.split())
        if text in word.choices:
            return text
        hint = self.hint(text, word.choices) or f"; known: {', '.join(word.choices)}"
        self.report(key.place, "choice", f'"{_shortened(text)}" is no side of a member{hint}')
        return None

    # --- records ---

    def _form(self, node: Mapping, forms: Forms, what: str) -> Entry | None:
        record = self._chosen(node, forms, what)
        return self.entry(node, record) if record else None

    def _chosen(self, node: Mapping, forms: Forms, what: str) -> type[Entry] | None:
        """The form that a mapping is: the one with its first key, and of several that knows most keys."""
        if len(forms.records) == 1:
            return forms.records[0]
        keys = [key.text for key, _ in node.entries]
        fitting = [r for r in forms.records if first_key(r) in keys]
        if fitting:
            return max(fitting, key=lambda r: sum(key in fields_of(r) for key in keys))
        firsts = sorted(dict.fromkeys(first_key(r) for r in forms.records), key=lambda key: key == "by")
        noun = (
            "plane" if ShiftedPlane in forms.records else "line" if MeetingLine in forms.records else "point"
        )
        for key, _ in node.entries:
            if (near := self.hint(key.text, firsts)).startswith("; did"):
                self.report(key.place, "form", f'"{_shortened(key.text)}" says no {noun}{near}')
                return None
        known = ", ".join(firsts)
        self.report(node.place, "form", f'"{what}" says no {noun}; expected one of the keys {known}')
        return None

    def entry(self, node: Mapping, record: type[Entry]) -> Entry | None:
        """The record that a mapping says, or None with findings."""
        before = len(self.findings)
        values, given = self.fields(node, record)
        self.check_rules(record, given, node)
        return self.build(record, values, node.place) if len(self.findings) == before else None

    def fields(
        self, node: Mapping, record: type[Entry], skipped: tuple[str, ...] = ()
    ) -> tuple[dict[str, object], set[str]]:
        """Values of the fields that a mapping gives, and which it gives, readable or not.

        Keys that are no field are reported, those in ``skipped`` passed over.
        """
        known = fields_of(record)
        values: dict[str, object] = {}
        given: set[str] = set()
        for key, item in node.entries:
            word = " ".join(key.text.split())
            if word in skipped:
                continue
            name = known.get(word)
            if name is None and isinstance(item, Scalar) and item.trouble:
                self.report(item.place, "empty", f'"{_shortened(word)}" {item.trouble}')
                continue
            if name is None:
                noun = rules_of(record).noun
                self.report(
                    key.place, "key", f'"{_shortened(word)}" is no key of {noun}{self.hint(word, known)}'
                )
                continue
            given.add(name)
            value = self.value(item, field_shape(record, name), word, kind_of(record, name))
            if value is not None:
                values[name] = value
        return values, given

    def build(self, record: type[Entry], values: dict[str, object], place: Place) -> Entry | None:
        """The record of values that were all read."""
        try:
            return record.model_validate({**values, "source": place})
        except ValidationError as problem:
            self.report(place, "schema", f"{rules_of(record).noun}: {problem.errors()[0]['msg']}")
            return None

    def check_rules(self, record: type[Entry], given: set[str], node: Mapping, called: str = "") -> None:
        """Reports what the record's rules ask and the given fields do not hold.

        ``called`` is what the record is called, where it has a name of its own.
        """
        rules = rules_of(record)
        noun = called or rules.noun
        unknown = [key.text for key, _ in node.entries if key.text not in fields_of(record)]
        for key, name in fields_of(record).items():
            info = record.model_fields[name]
            misspelt = self.hint(key, unknown).startswith("; did you")
            if info.is_required() and name not in given and not misspelt:
                self.report(node.place, "rule", f'{noun} lacks "{key}": {info.description}')
        for group in (rules.one_of, *rules.at_most_one_of):
            if len(both := [name for name in group if name in given]) > 1:
                self.report(node.place, "rule", f"{noun} takes only one of {_listed(both)}")
        if rules.one_of and not given.intersection(rules.one_of) and not unknown:
            why = f": {rules.why}" if rules.why else ""
            self.report(node.place, "rule", f"{noun} lacks one of {_listed(rules.one_of)}{why}")
        for name, others in rules.needs:
            if name in given and not given.intersection(others):
                need = _listed(others, "or")
                self.report(node.place, "rule", f'"{key_of(name)}" of {noun} has meaning only beside {need}')

    # --- words ---

    def word(
        self, node: Scalar, word: Word, what: str, kind: Kind | None, expected: str = "yes or no"
    ) -> object | None:
        """A scalar read as one sort of word; ``expected`` is what may stand in its place."""
        text = " ".join(node.text.split())
        if not text:
            self.report(node.place, "empty", f'"{what}" is empty')
            return None
        if word.sort == "text":
            return Text(node.text.strip(), node.place)
        if word.sort == "name":
            return self.name(node)
        if word.sort == "reference":
            return self._reference(node, text)
        if word.sort == "file":
            return self._file_name(node)
        if word.sort == "expression":
            return self.expression(node, kind)
        if word.sort == "direction":
            return self._direction(node, text)
        if word.sort == "yes or no":
            if text.lower() not in FLAGS:
                self.report(node.place, "choice", f'"{what}" is "{_shortened(text)}"; expected {expected}')
            return FLAGS.get(text.lower())
        if text not in word.choices:
            hint = self.hint(text, word.choices) or f"; expected {self._expected_word(word, None)}"
            self.report(node.place, "choice", f'"{what}" cannot be "{_shortened(text)}"{hint}')
            return None
        return text

    def name(self, node: Scalar) -> Name | None:
        """A name: letters and figures in words, single spaces between."""
        text = " ".join(node.text.split())
        if len(text) <= LONGEST_NAME and _NAME.fullmatch(text):
            return Name(text, node.place)
        shown = _shortened(text)
        if len(text) > LONGEST_NAME:
            why = f"it is longer than {LONGEST_NAME} characters"
        elif re.search(r"[/\\]|\.\.", text):
            why = "it looks like a path"
        elif text[:1].isdigit():
            why = "a name starts with a letter"
        else:
            why = "a name is words of letters and figures, with spaces between"
        self.report(node.place, "name", f'"{shown}" is no name: {why}')
        return None

    def _file_name(self, node: Scalar) -> FileName | None:
        """The bare name of a YAML file: nothing that leads into another folder."""
        text = " ".join(node.text.split())
        if len(text) <= LONGEST_NAME and _FILE.fullmatch(text):
            return FileName(text, node.place)
        if len(text) > LONGEST_NAME:
            why = f"it is longer than {LONGEST_NAME} characters"
        elif re.search(r"[/\\:]|\.\.", text):
            why = "it leads elsewhere; the file stands beside the design and is called by its name alone"
        else:
            why = "a name ends in .yaml or .yml, such as workshop.yml"
        self.report(node.place, "file", f'"{_shortened(text)}" is no file beside the design: {why}')
        return None

    def _reference(self, node: Scalar, text: str) -> Text | None:
        if _REFERENCE.fullmatch(text):
            return Text(PLANE_SYNONYMS.get(text, text), node.place)
        self.report(
            node.place,
            "name",
            f'"{_shortened(text)}" names nothing; expected a name, or member.surface such as beam.top',
        )
        return None

    def expression(self, node: Scalar, kind: Kind | None) -> Expression | None:
        """A scalar read as arithmetic."""
        try:
            return read_expression(node.text, node.place, self.units, node.inset)
        except ValueError as wrong:
            self.report(node.place, "expression", str(wrong))
            return None

    def _direction(self, node: Scalar, text: str) -> Direction | None:
        word = WORD_SYNONYMS.get(text, text)
        if word in DIRECTION_WORDS:
            return Direction(node.place, Text(word, node.place))
        for kind in ("along", "against", "square to"):
            if text.startswith(kind + " "):
                target = Text(text.removeprefix(kind + " "), node.place)
                break
        else:
            kind, target = "along", Text(text, node.place)
        if not _REFERENCE.fullmatch(target):
            self.report(
                node.place,
                "direction",
                f'"{_shortened(text)}" is no direction; expected {", ".join(DIRECTION_WORDS)}, '
                "along LINE, against LINE or square to PLANE",
            )
            return None
        target = Text(PLANE_SYNONYMS.get(target, target), node.place)
        if kind == "against":
            return Direction(node.place, Text(text, node.place), "against", target)
        return Direction(
            node.place, Text(text, node.place), "along" if kind == "along" else "square to", target
        )


def _fits(node: Node, shape: Shape) -> bool:
    """Whether a value that is no list can stand for a list of one."""
    if isinstance(node, Scalar):
        return shape.scalar is not None
    return isinstance(node, Mapping) and shape.mapping is not None


def _shortened(text: str) -> str:
    return text if len(text) <= 40 else text[:37] + "..."


def _listed(names: tuple[str, ...] | list[str], joiner: str = "") -> str:
    """``"lean", "along"``, or with a joiner ``"lean" or "along"``."""
    words = [f'"{key_of(name)}"' for name in names]
    return f" {joiner} ".join(words) if joiner else ", ".join(words)
