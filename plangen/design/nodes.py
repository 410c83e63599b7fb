"""YAML text to a tree of words with places. Nothing is typed here: ``010``, ``on`` and ``1:6`` stay words.

The tree is built from the parser's events, one at a time, so that a file that is too long, too deep or that
multiplies itself by aliases is refused before it is built. Tags, directives, merge keys and further documents
have no meaning in a design and are refused in words.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, TypeAlias

import yaml

from plangen.findings import DesignError, Finding, Place, error, fail

LONGEST_FILE = 1_000_000
LONGEST_SCALAR = 4_000
MOST_NODES = 100_000
DEEPEST = 40
FileKind: TypeAlias = Literal["design", "shop file", "templates file", "yard list"]
_STARTS: dict[FileKind, tuple[str, str]] = {
    "design": ("title", "Garden bench"),
    "shop file": ("units", "in"),
    "templates file": ("units", "mm"),
    "yard list": ("units", "mm"),
}
"""The first key of a file, with a value."""
NO_VALUE = "has no value"


@dataclass(frozen=True)
class Scalar:
    """A word or phrase as written, without its quotes."""

    text: str
    place: Place
    inset: int | None = 0
    """Columns from the place to the first character; None where they cannot be told."""
    trouble: str = ""
    """Why there is no value here, in words; empty where there is one."""
    size: int = 1


@dataclass(frozen=True)
class Items:
    """A list."""

    items: tuple[Node, ...]
    place: Place
    size: int


@dataclass(frozen=True)
class Mapping:
    """Keys and values in the order written; keys are distinct."""

    entries: tuple[tuple[Scalar, Node], ...]
    place: Place
    size: int


Node: TypeAlias = Scalar | Items | Mapping


def decode(data: bytes, file: str) -> tuple[str | None, tuple[Finding, ...]]:
    """The text of a design file, or an error at the first byte that is no UTF-8."""
    if len(data) > 4 * LONGEST_FILE:
        return None, (_too_long(file),)
    try:
        return data.decode("utf-8-sig"), ()
    except UnicodeDecodeError as wrong:
        before = data[: wrong.start]
        line = before.count(b"\n") + 1
        column = wrong.start - (before.rfind(b"\n") + 1) + 1
        text = f"byte {data[wrong.start]:#04x} is no UTF-8 text; save the file as UTF-8"
        return None, (error(Place(file, line, column), "encoding", text),)


def read_nodes(text: str, file: str, of: FileKind = "design") -> tuple[Mapping | None, tuple[Finding, ...]]:
    """The tree of a file's text, and what is wrong with it as YAML. None where nothing can be read."""
    text = text.removeprefix("\ufeff")
    if len(text) > LONGEST_FILE:
        return None, (_too_long(file),)
    if strange := tuple(_strange_signs(text, file)):
        return None, strange
    composer = _Composer(text, file, of)
    try:
        root = composer.document()
    except DesignError as wrong:
        return None, (*composer.findings, *wrong.findings)
    return root, tuple(composer.findings)


def _too_long(file: str) -> Finding:
    return error(Place(file), "size", f"the file is longer than {LONGEST_FILE:,} characters")


_STRANGE = re.compile("[^\n\r\x20-\x7e\xa0-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]"
                      "|[\u2028\u2029\u202a-\u202e\u2066-\u2069]")  # fmt: skip
_COMMENT = re.compile(r"(?:^|\s)#")


def _strange_signs(text: str, file: str) -> Iterator[Finding]:
    """Tabs outside comments, control characters, and signs that make text look other than it reads."""
    for number, line in enumerate(text.split("\n"), start=1):
        line = line.removesuffix("\r")
        found = _STRANGE.search(line) or re.search("\r", line)
        while found and found[0] == "\t" and _COMMENT.search(line, 0, found.start()):
            found = _STRANGE.search(line, found.end())
        if found:
            place = Place(file, number, found.start() + 1)
            if found[0] == "\t":
                yield error(place, "tab", "a tab; indent and align with spaces")
            else:
                yield error(place, "sign", f"the invisible sign U+{ord(found[0]):04X}; remove it")
                return


class _Composer:
    """Events to nodes, with bounds. ``findings`` collects what need not stop the reading."""

    def __init__(self, text: str, file: str, of: FileKind) -> None:
        self.findings: list[Finding] = []
        self._file = file
        self._of = of
        self._lines = text.split("\n")
        self._text = text
        self._anchors: dict[str, Node] = {}
        self._open: set[str] = set()
        self._built = 0
        self._events: Iterator[yaml.Event] = iter(())

    def document(self) -> Mapping | None:
        """The one document's mapping. Raises DesignError where the text is no YAML or is hostile."""
        self._events = self._parsed()
        event = next(self._events)
        while not isinstance(event, yaml.DocumentStartEvent):
            if isinstance(event, yaml.StreamEndEvent):
                text = f"the file says nothing; a {self._of} starts with its {_STARTS[self._of][0]}"
                raise fail(Place(self._file), "empty", text)
            event = next(self._events)
        if event.version or event.tags:
            text = f"a % directive has no meaning in a {self._of}; remove it"
            raise fail(self._place(event), "directive", text)
        root = self._node(next(self._events), 1)
        next(self._events)
        following = next(self._events)
        if isinstance(following, yaml.DocumentStartEvent):
            text = f"a second document starts here; a file holds one {self._of}"
            raise fail(self._place(following), "documents", text)
        if not isinstance(root, Mapping):
            example = ": ".join(_STARTS[self._of])
            raise fail(root.place, "yaml", f'a {self._of} is keys and values, such as "{example}"')
        return root

    def _parsed(self) -> Iterator[yaml.Event]:
        """The parser's events; its own complaints in plain words.

        The parser in C is tried first, for speed; the words of an error come from the one in Python, so that
        they are the same with and without it. A few broken files are broken to one of them only.
        """
        loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
        try:
            yield from yaml.parse(self._text, Loader=loader)
        except yaml.YAMLError as first:
            raise self._complaint(first) from None

    def _complaint(self, first: yaml.YAMLError) -> DesignError:
        wrong = first
        depth = 0
        try:
            for event in yaml.parse(self._text, Loader=yaml.SafeLoader):
                depth += isinstance(event, yaml.CollectionStartEvent)
                depth -= isinstance(event, yaml.CollectionEndEvent)
                if depth > DEEPEST:
                    return self._too_deep(self._place(event))
        except yaml.YAMLError as second:
            wrong = second
        return _in_plain_words(wrong, self._file, self._lines)

    def _too_deep(self, place: Place) -> DesignError:
        return fail(place, "depth", f"nested more than {DEEPEST} deep")

    def _place(self, event: yaml.Event) -> Place:
        mark = event.start_mark
        return Place(self._file, mark.line + 1, mark.column + 1) if mark else Place(self._file)

    def _node(self, event: yaml.Event, depth: int) -> Node:
        place = self._place(event)
        if isinstance(event, yaml.AliasEvent):
            return self._aliased(str(event.anchor), place)
        if depth > DEEPEST:
            raise self._too_deep(place)
        if not isinstance(event, yaml.ScalarEvent | yaml.SequenceStartEvent | yaml.MappingStartEvent):
            raise fail(place, "yaml", "this cannot be read")
        if event.tag is not None:
            tag = event.tag.replace("tag:yaml.org,2002:", "!!")[:40]
            text = f'the tag "{tag}" has no meaning in a {self._of}; remove it, or quote the text'
            raise fail(place, "tag", text)
        self._count(1, place)
        if event.anchor:
            self._open.add(event.anchor)
        if isinstance(event, yaml.ScalarEvent):
            node: Node = self._scalar(event, place)
        elif isinstance(event, yaml.SequenceStartEvent):
            node = self._items(place, depth)
        else:
            node = self._mapping(place, depth, bool(event.flow_style))
        if event.anchor:
            self._open.discard(event.anchor)
            self._anchors[event.anchor] = node
        return node

    def _count(self, more: int, place: Place) -> None:
        self._built += more
        if self._built > MOST_NODES:
            raise fail(place, "size", f"the design comes to more than {MOST_NODES:,} values")

    def _aliased(self, anchor: str, place: Place) -> Node:
        if anchor in self._open:
            raise fail(place, "alias", f'"*{anchor}" stands inside what it repeats')
        if anchor not in self._anchors:
            raise fail(place, "alias", f'"*{anchor}" repeats nothing: no "&{anchor}" before it')
        node = self._anchors[anchor]
        self._count(node.size, place)
        return node

    def _scalar(self, event: yaml.ScalarEvent, place: Place) -> Scalar:
        text = event.value
        if len(text) > LONGEST_SCALAR:
            quoted = "; see where its quote closes" if event.style in ("'", '"') else ""
            raise fail(place, "size", f"this text is longer than {LONGEST_SCALAR:,} characters{quoted}")
        if not text and event.style not in ("'", '"', "|", ">"):
            return self._missing(place)
        inset = 1 if event.style in ("'", '"') else 0
        line = self._lines[place.line - 1]
        start = place.column - 1 + inset
        return Scalar(text, place, inset if line[start : start + len(text)] == text else None)

    def _missing(self, place: Place) -> Scalar:
        """No value: where a comment follows, # may have cut it off, and the place is that of the #."""
        rest = self._lines[place.line - 1][place.column - 1 :] if place.line <= len(self._lines) else ""
        if not rest.lstrip().startswith("#"):
            return Scalar("", place, None, NO_VALUE)
        at = Place(place.file, place.line, place.column + len(rest) - len(rest.lstrip()))
        lost = rest.strip()
        shown = lost if len(lost) <= 40 else lost[:37] + "..."
        return Scalar(
            "", at, None, f'has no value: a # starts a comment; quote "{shown}" if that is the value'
        )

    def _items(self, place: Place, depth: int) -> Items:
        items = []
        size = 1
        while not isinstance(event := next(self._events), yaml.SequenceEndEvent):
            item = self._node(event, depth + 1)
            items.append(item)
            size += item.size
        return Items(tuple(items), place, size)

    def _mapping(self, place: Place, depth: int, flow: bool) -> Mapping:
        entries: dict[str, tuple[Scalar, Node]] = {}
        size = 1
        while not isinstance(event := next(self._events), yaml.MappingEndEvent):
            key = self._node(event, depth + 1)
            value = self._node(next(self._events), depth + 1)
            size += key.size + value.size
            if not isinstance(key, Scalar):
                self.findings.append(
                    error(key.place, "key", "a key is a word or a few, not a list or a mapping")
                )
            elif key.text == "<<":
                self.findings.append(
                    error(key.place, "merge", '"<<" is not read here; a member says "like: other member"')
                )
            elif key.text in entries:
                first = entries[key.text][0].place.line
                self.findings.append(
                    error(key.place, "repeated", f'"{key.text}" is given twice; first at line {first}')
                )
            else:
                entries[key.text] = (key, _cut_by_comma(key, value) if flow else value)
        return Mapping(tuple(entries.values()), place, size)


def _cut_by_comma(key: Scalar, value: Node) -> Node:
    """In braces a word without a colon is a phrase that a comma cut off; the value then stands at its end."""
    if not isinstance(value, Scalar) or value.trouble != NO_VALUE:
        return value
    if value.place.line == key.place.line and value.place.column <= key.place.column + len(key.text):
        if ":" in key.text:
            return Scalar("", key.place, None, "has no value: put a space after the colon")
        if key.text.isdigit():
            return Scalar(
                "", key.place, None, "has no value: a comma parts items here; a decimal has a point"
            )
        return Scalar("", key.place, None, "has no value: a comma here ends the phrase; quote it")
    return value


# --- the parser's complaints in plain words ------------------------------------------------------------

_PLAIN_WORDS = (
    ("mapping values are not allowed", 'a second ":" in one value (quote it), or a line indented too far'),
    ("found unexpected ':'", 'a ":" inside braces or brackets; put a space after it, or quote the value'),
    ("expected ',' or '}'", 'the braces "{" opened before this are not closed, or a comma is missing'),
    ("expected ',' or ']'", 'the brackets "[" opened before this are not closed, or a comma is missing'),
    ("could not find expected ':'", 'this line has no ":" after its key'),
    ("expected <block end>", "this line does not fit: check its indentation, and quotes on this line"),
    ("while scanning a quoted scalar", "the quote that opens here is not closed"),
    ("unexpected end of stream", "the quote that opens here is not closed"),
    ("unknown escape character", 'a backslash in double quotes has a meaning of its own; use single quotes'),
    ("expected escape sequence", 'a backslash in double quotes has a meaning of its own; use single quotes'),
    ("expected alphabetic or numeric character", 'a value that starts with "&" or "*" must be quoted'),
    ("cannot start any token", "a value cannot start with this sign; quote it"),
    ("sequence entries are not allowed", 'a "- " item cannot start here; put it on its own line'),
    ("expected the node content", "a value is missing here"),
    ("undefined tag handle", "a value that starts with ! must be quoted"),
    ("expected '<document start>'", "the design goes on after its end; check the indentation of this line"),
    ("expected chomping or indentation", "after > or | the text starts on the next line"),
    ("found duplicate anchor", "this anchor is set twice"),
    ("block mapping keys", "a list and keys are mixed at one indentation"),
)  # fmt: skip


def _in_plain_words(wrong: yaml.YAMLError, file: str, lines: list[str]) -> DesignError:
    said = str(wrong)
    mark = getattr(wrong, "problem_mark", None)
    context_mark = getattr(wrong, "context_mark", None)
    problem = str(getattr(wrong, "problem", "") or "")
    context = str(getattr(wrong, "context", "") or "")
    for key, words in _PLAIN_WORDS:
        if key in problem or key in context:
            opening = context_mark if "opens here" in words and context_mark is not None else mark
            if "not closed, or a comma" in words:
                words += _cut_off(context_mark, mark, lines)
            elif words == "a value is missing here" and mark is not None:
                line = max(0, mark.line - 1)
                words += _cut_off(yaml.Mark(file, 0, line, 0, None, 0), mark, lines)
            return fail(_mark_place(opening, file, lines), "yaml", words)
    return fail(
        _mark_place(mark, file, lines), "yaml", problem or said.splitlines()[0] or "this cannot be read"
    )


def _cut_off(opened: yaml.Mark | None, found: yaml.Mark | None, lines: list[str]) -> str:
    """Where a # stands between braces that open and the place where their end is missed: that it may be why."""
    if opened is None or found is None:
        return ""
    for line in lines[opened.line : found.line + 1]:
        sign = line.find(" #", opened.column if line is lines[opened.line] else 0)
        if sign >= 0 and line.count('"', 0, sign) % 2 == 0:
            return f"; the # in line {lines.index(line) + 1} starts a comment: quote the value if it belongs to it"
    return ""


def _mark_place(mark: yaml.Mark | None, file: str, lines: list[str]) -> Place:
    """A mark at the end of the text counts as the end of its last line."""
    if mark is None:
        return Place(file)
    line = min(mark.line, len(lines) - 1)
    while line > 0 and line == len(lines) - 1 and not lines[line].strip():
        line -= 1
    column = mark.column if line == mark.line else len(lines[line].rstrip())
    return Place(file, line + 1, column + 1)
