"""Files that stand beside a design and say what several designs share: a workshop, how templates are cut.

Nothing is opened here: whoever reads the design hands over a way to read what stands beside it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import PurePath
from typing import TypeVar

from plangen.design.expressions import Expression
from plangen.design.nodes import FileKind, Mapping, Scalar, decode, read_nodes
from plangen.design.ranges import wrong_figures
from plangen.design.records import Entry, FileName
from plangen.design.values import ValueReader
from plangen.findings import DesignError, Finding, Place, fail, in_order
from plangen.units import LengthUnit, Quantity

Beside = Callable[[str], bytes | str]
"""The bytes of the file of that name beside the design; or, in words, why it cannot be read."""

_MOST_FINDINGS = 20
_Record = TypeVar("_Record", bound=Entry)


def nothing_beside(name: str) -> str:
    """Where a design is text alone."""
    return "the design was read by itself, without its folder"


def read_beside(
    name: FileName, file: str, beside: Beside, kind: FileKind, record: type[_Record], holds: str
) -> tuple[_Record, str]:
    """The records of the file called ``name`` beside the design ``file``, and the hash of its bytes.

    ``holds`` says what such a file holds, for who names a design instead. Raises DesignError with all that is
    wrong, at its place in that file.
    """
    data = beside(str(name))
    if isinstance(data, str):
        raise fail(name.place, kind.split()[0], f'the {kind} "{name}" cannot be read: {data}')
    found = _read(data, (PurePath(file).parent / name).as_posix(), kind, record, holds)
    return found, hashlib.sha256(data).hexdigest()


def _read(data: bytes, file: str, kind: FileKind, record: type[_Record], holds: str) -> _Record:
    text, findings = decode(data, file)
    if text is None:
        raise DesignError(findings)
    root, findings = read_nodes(text, file, kind)
    if root is None or findings:
        raise DesignError(_bounded(findings))
    if any(key.text in ("title", "members") for key, _ in root.entries):
        raise fail(Place(file), kind.split()[0], f"this is a design; expected a {kind}, with {holds}")
    reader = ValueReader(_units(root))
    found = reader.entry(root, record)
    if reader.findings or not isinstance(found, record):
        raise DesignError(_bounded(tuple(reader.findings)))
    if wrong := _bounded(tuple(wrong_figures(found, FiguresAlone(kind)))):
        raise DesignError(wrong)
    return found


def _units(root: Mapping) -> LengthUnit:
    said = (v.text.strip() for k, v in root.entries if k.text == "units" and isinstance(v, Scalar))
    return "mm" if next(said, "") == "mm" else "in"


def _bounded(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    return in_order(findings)[:_MOST_FINDINGS]


class FiguresAlone:
    """Every figure of such a file is stated, and no name has a value."""

    def __init__(self, kind: FileKind) -> None:
        self._kind = kind

    def states(self, expression: Expression) -> bool:
        return True

    def lookup(self, name: str, place: Place) -> Quantity:
        raise fail(place, "name", f'"{name}" has no value: a {self._kind} has no named values, only figures')
