"""Expressions of a design: text to a typed tree, and the tree to a quantity. Nothing else can be called.

A name is a word that starts with a letter and the words and figures after it (``front width``, ``leg 2``), so
``front width / 2 + 3 1/2`` has one name and two literals. ``leg.width`` is a size of a member.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TypeAlias

from pydantic import GetCoreSchemaHandler
from pydantic_core import CoreSchema, core_schema

from plangen.design.arithmetic import COMPARISONS, FUNCTIONS, OPERATIONS, negate
from plangen.findings import Place, did_you_mean, fail
from plangen.units import LengthUnit, Quantity, as_angle, as_length, read_quantity

Lookup: TypeAlias = Callable[[str, Place], Quantity]
"""A named value or ``member.size`` by its words; raises DesignError where there is none."""

LONGEST_TEXT = 200
_MOST_TOKENS = 120
_DEEPEST = 20


@dataclass(frozen=True)
class Number:
    """A literal and the text it was read from."""

    quantity: Quantity
    text: str

    def __str__(self) -> str:
        return self.text


@dataclass(frozen=True)
class NameRef:
    """A named value."""

    name: str
    place: Place = field(compare=False, default=Place())

    def __str__(self) -> str:
        return self.name


@dataclass(frozen=True)
class Attribute:
    """A size of a member: ``beam.length``."""

    owner: str
    attribute: str
    place: Place = field(compare=False, default=Place())

    def __str__(self) -> str:
        return f"{self.owner}.{self.attribute}"


@dataclass(frozen=True)
class Unary:
    """The operand with its sign changed."""

    operand: Tree
    place: Place = field(compare=False, default=Place())

    def __str__(self) -> str:
        return f"-{_inside(self.operand)}"


@dataclass(frozen=True)
class Binary:
    operator: str
    left: Tree
    right: Tree
    place: Place = field(compare=False, default=Place())

    def __str__(self) -> str:
        return f"{_inside(self.left)} {self.operator} {_inside(self.right)}"


@dataclass(frozen=True)
class Call:
    function: str
    arguments: tuple[Tree, ...]
    place: Place = field(compare=False, default=Place())

    def __str__(self) -> str:
        return f"{self.function}({', '.join(str(a) for a in self.arguments)})"


Tree: TypeAlias = Number | NameRef | Attribute | Unary | Binary | Call


def _inside(tree: Tree) -> str:
    return f"({tree})" if isinstance(tree, Unary | Binary) else str(tree)


@dataclass(frozen=True)
class Expression:
    """An expression as written, and its tree. ``units`` is what a bare number counts beside a length."""

    place: Place = field(compare=False)
    text: str
    tree: Tree
    units: LengthUnit = "in"

    def __str__(self) -> str:
        return self.text

    def evaluate(self, lookup: Lookup) -> Quantity:
        """Its value; a bare number stays a number. Raises DesignError at the operation that is wrong.

        ``lookup`` is called with ``low`` for a named value and with ``leg.width`` for a size of a member.
        """
        return _value(self.tree, lookup, self.units)

    def length(self, lookup: Lookup) -> Quantity:
        """Its value as a length, a bare number in the design's units. Raises DesignError."""
        quantity = self.evaluate(lookup)
        try:
            return Quantity(as_length(quantity, self.units), "length")
        except ValueError as wrong:
            raise fail(self.place, "kind", str(wrong)) from None

    def angle(self, lookup: Lookup) -> Quantity:
        """Its value as an angle, degrees. Raises DesignError for a length or a bare number."""
        quantity = self.evaluate(lookup)
        try:
            return Quantity(as_angle(quantity), "angle")
        except ValueError as wrong:
            raise fail(self.place, "kind", str(wrong)) from None

    def number(self, lookup: Lookup) -> Quantity:
        """Its value as a plain number. Raises DesignError for a length or an angle."""
        quantity = self.evaluate(lookup)
        if quantity.kind != "number":
            a_kind = "a length" if quantity.kind == "length" else "an angle"
            raise fail(self.place, "kind", f"this is {a_kind} where a number is expected")
        return quantity

    def names(self) -> tuple[NameRef | Attribute, ...]:
        """Every use of a name, in the order written."""
        return tuple(_names(self.tree))

    @classmethod
    def __get_pydantic_core_schema__(cls, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(cls._checked)

    @classmethod
    def _checked(cls, value: object) -> Expression:
        if isinstance(value, Expression):
            return value
        if isinstance(value, str):
            return read_expression(value, Place(), "in")
        raise ValueError("expected an expression")


def read_expression(text: str, place: Place, units: LengthUnit, inset: int | None = 0) -> Expression:
    """The expression that ``text`` says.

    ``inset`` is how many columns after ``place`` the text starts (1 for quoted text), None where columns
    inside it cannot be told. Raises ValueError with one sentence.
    """
    if len(text) > LONGEST_TEXT:
        raise ValueError(f'"{text[:24]}..." is longer than {LONGEST_TEXT} characters')
    return Expression(place, text.strip(), _Parser(text, place, units, inset).read(), units)


# --- evaluation ----------------------------------------------------------------------------------------


def _value(tree: Tree, lookup: Lookup, units: LengthUnit) -> Quantity:
    if isinstance(tree, Number):
        return tree.quantity
    if isinstance(tree, NameRef | Attribute):
        return lookup(str(tree), tree.place)
    if isinstance(tree, Unary):
        return negate(_value(tree.operand, lookup, units))
    parts = tree.arguments if isinstance(tree, Call) else (tree.left, tree.right)
    values = [_value(part, lookup, units) for part in parts]
    try:
        if isinstance(tree, Call):
            return FUNCTIONS[tree.function].apply(values, units)
        return OPERATIONS[tree.operator](values[0], values[1], units)
    except ValueError as wrong:
        raise fail(tree.place, "arithmetic", f'"{tree}": {wrong}') from None


def _names(tree: Tree) -> list[NameRef | Attribute]:
    if isinstance(tree, NameRef | Attribute):
        return [tree]
    if isinstance(tree, Unary):
        return _names(tree.operand)
    if isinstance(tree, Binary):
        return _names(tree.left) + _names(tree.right)
    return [name for part in tree.arguments for name in _names(part)] if isinstance(tree, Call) else []


# --- parsing -------------------------------------------------------------------------------------------

_SIGNS = str.maketrans({"′": "'", "’": "'", "″": '"', "”": '"', "“": '"', "⁄": "/", "−": "-", "–": "-",
                        "×": "*", "\u00a0": " ", "\u202f": " "})  # fmt: skip
_VULGAR = "¼½¾⅛⅜⅝⅞⅓⅔"
_FIGURE = rf"(?:\d+ +\d+/\d+|\d+-\d+/\d+|\d+ ?[{_VULGAR}]|[{_VULGAR}]|\d+/\d+|\d+(?:\.\d+)?|\.\d+)"
_METRES = "mm|cm|m|(?:milli|centi)?met(?:re|er)s?"
_UNIT_WORDS = f"inches|inch|in|feet|foot|ft|{_METRES}|degrees|degree|deg"
_LITERAL = re.compile(
    rf"{_FIGURE}(?: +in +| ?: ?){_FIGURE}"
    rf"|{_FIGURE} ?(?:'(?!')|(?:ft|foot|feet)\b)-? ?{_FIGURE} ?(?:\"|''|(?:inches|inch|in)\b)?"
    rf"|{_FIGURE} ?(?:\"|''|'|°|(?:{_UNIT_WORDS})\b)"
    rf"|{_FIGURE}",
    re.ASCII,
)
_NAME = re.compile(r"[^\W\d]\w*(?: +\w+)*")
_JOINS = r"(?:and|or|not)\b"
_JOIN = re.compile(_JOINS)
_NAME_IN_CONDITION = re.compile(rf"(?!{_JOINS})[^\W\d]\w*(?: +(?!{_JOINS})\w+)*")
_SIGN = re.compile(r"<>|<=|>=|[+\-*/(),.=<>]")
_TWO_WAYS = re.compile(r"(\d+)-(\d+/\d+)", re.ASCII)
_FRACTION = re.compile(r"\d+/\d+", re.ASCII)


@dataclass(frozen=True)
class _Token:
    kind: str
    """``literal``, ``name``, a sign, or ``end``."""
    text: str
    start: int


def _tokens(text: str) -> list[_Token]:
    plain = text.translate(_SIGNS)
    # "top and bottom" may be a name; beside a comparison the word joins two conditions.
    compares = any(sign in plain for sign in COMPARISONS)
    named = _NAME_IN_CONDITION if compares else _NAME
    found: list[_Token] = []
    at = 0
    while at < len(plain):
        if plain[at] == " ":
            at += 1
            continue
        if match := _LITERAL.match(plain, at):
            found.append(_Token("literal", match[0], at))
        elif compares and (match := _JOIN.match(plain, at)):
            found.append(_Token(match[0], match[0], at))
        elif match := named.match(plain, at):
            found.append(_Token("name", " ".join(match[0].split()), at))
        elif match := _SIGN.match(plain, at):
            found.append(_Token(match[0], match[0], at))
        else:
            raise ValueError(
                f'"{plain[at]}" has no meaning in "{text}"; expected sizes, names and + - * / ( )'
            )
        at = match.end()
    if len(found) > _MOST_TOKENS:
        raise ValueError(f'"{text[:24]}..." is too long a calculation; give its parts names under let')
    return [*found, _Token("end", "", len(plain))]


class _Parser:
    """Recursive descent over the tokens of one text."""

    def __init__(self, text: str, place: Place, units: LengthUnit, inset: int | None) -> None:
        self._text = text.strip()
        self._place = place
        self._units = units
        self._inset = inset
        self._tokens = _tokens(text)
        self._at = 0
        self._depth = 0

    def read(self) -> Tree:
        kinds = [token.kind for token in self._tokens]
        if kinds == ["end"]:
            raise ValueError("this is empty; expected a size or a calculation")
        if kinds in (["literal", "name", "end"], ["literal", ",", "literal", "end"]):
            # A size with an unknown unit, or with a decimal comma: units.py has the words for it.
            read_quantity(self._text, self._units)
        tree = self._either()
        if self._next.kind in COMPARISONS:
            raise ValueError(
                f'"{self._text}" compares more than two; write it in two, as in low < high and high < 9'
            )
        if self._next.kind != "end":
            raise ValueError(
                f'"{self._text}" goes on with "{self._next.text}" where + - * / or the end is expected'
            )
        return tree

    @property
    def _next(self) -> _Token:
        return self._tokens[self._at]

    def _take(self) -> _Token:
        token = self._next
        self._at += 1
        return token

    def _where(self, token: _Token) -> Place:
        if self._inset is None:
            return self._place
        return Place(self._place.file, self._place.line, self._place.column + self._inset + token.start)

    def _deeper(self) -> None:
        self._depth += 1
        if self._depth > _DEEPEST:
            raise ValueError(f'"{self._text[:24]}..." is nested too deep; give its parts names under let')

    def _either(self) -> Tree:
        left = self._both()
        while self._next.kind == "or":
            word = self._take()
            left = Binary("or", left, self._both(), self._where(word))
        return left

    def _both(self) -> Tree:
        left = self._condition()
        while self._next.kind == "and":
            word = self._take()
            left = Binary("and", left, self._condition(), self._where(word))
        return left

    def _condition(self) -> Tree:
        if self._next.kind == "not":
            word = self._take()
            self._deeper()
            denied = self._condition()
            self._depth -= 1
            return Call("not", (denied,), self._where(word))
        left = self._sum()
        if self._next.kind in COMPARISONS:
            sign = self._take()
            left = Binary(sign.kind, left, self._sum(), self._where(sign))
        return left

    def _sum(self) -> Tree:
        left = self._product()
        while self._next.kind in ("+", "-"):
            sign = self._take()
            left = Binary(sign.kind, left, self._product(), self._where(sign))
        return left

    def _product(self) -> Tree:
        left = self._signed()
        while self._next.kind in ("*", "/"):
            sign = self._take()
            following = self._next.text
            if sign.kind == "/" and _FRACTION.fullmatch(following):
                raise ValueError(
                    f'"/ {following}" in "{self._text}" can be read two ways; put one of them in parentheses'
                )
            left = Binary(sign.kind, left, self._signed(), self._where(sign))
        return left

    def _signed(self) -> Tree:
        if self._next.kind not in ("+", "-"):
            return self._single()
        sign = self._take()
        self._deeper()
        operand = self._signed()
        self._depth -= 1
        return Unary(operand, self._where(sign)) if sign.kind == "-" else operand

    def _single(self) -> Tree:
        token = self._take()
        if token.kind == "literal":
            return self._literal(token)
        if token.kind == "name":
            return self._named(token)
        if token.kind == "(":
            self._deeper()
            tree = self._either()
            self._close(token)
            return tree
        found = f'found "{token.text}"' if token.text else "it ends"
        raise ValueError(f'"{self._text}" lacks a size or a name: {found} where one is expected')

    def _close(self, opening: _Token) -> None:
        self._depth -= 1
        if self._take().kind != ")":
            raise ValueError(f'"{self._text}" lacks a closing parenthesis')

    def _literal(self, token: _Token) -> Number:
        if both := _TWO_WAYS.fullmatch(token.text):
            raise ValueError(
                f'"{token.text}" can be read two ways; write {both[1]} {both[2]} or {both[1]} - {both[2]}'
            )
        return Number(read_quantity(token.text, self._units), token.text)

    def _named(self, token: _Token) -> Tree:
        if self._next.kind == ".":
            self._take()
            attribute = self._take()
            if attribute.kind != "name":
                raise ValueError(
                    f'"{token.text}." in "{self._text}" lacks the size that is meant, such as width'
                )
            return Attribute(token.text, attribute.text, self._where(token))
        return self._call(token) if self._next.kind == "(" else NameRef(token.text, self._where(token))

    def _call(self, token: _Token) -> Call:
        function = FUNCTIONS.get(token.text)
        if function is None:
            known = did_you_mean(token.text, FUNCTIONS) or "; known: " + ", ".join(FUNCTIONS)
            raise ValueError(f'"{token.text}" is no function{known}')
        opening = self._take()
        self._deeper()
        arguments = [self._either()]
        while self._next.kind == ",":
            self._take()
            arguments.append(self._either())
        self._close(opening)
        if not function.least <= len(arguments) <= function.most:
            few = (
                str(function.least)
                if function.least == function.most
                else f"{function.least} to {function.most}"
            )
            raise ValueError(f"{token.text} takes {few} values, not {len(arguments)}")
        return Call(token.text, tuple(arguments), self._where(token))
