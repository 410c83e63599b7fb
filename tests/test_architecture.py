"""The architecture as one list: who may import whom, the home of each library, and who touches files.

The imports are read from the source, so the list below is the code map and cannot go stale.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "plangen"

MAY_IMPORT: dict[str, set[str]] = {
    "units": set(),
    "findings": set(),
    "tables": {"units", "findings"},
    "geometry": set(),
    "design": {"units", "findings", "tables"},
    "placing": {"units", "findings", "tables", "geometry", "design"},
    "joinery": {"units", "findings", "tables", "geometry", "design", "placing"},
    "stock": {"units", "findings", "tables", "geometry", "joinery"},
    "machining": {"units", "findings", "tables", "geometry", "joinery"},
    "nesting": {"tables", "geometry", "joinery", "stock", "machining"},
    "assembling": {"geometry", "joinery"},
    "checks": {"units", "findings", "tables", "geometry", "design", "placing", "joinery", "stock"},
    "dimensioning": {"units", "findings", "tables", "geometry", "design", "joinery"},
    "facts": {
        "units", "findings", "tables", "design", "placing", "joinery", "stock", "machining", "checks",
        "assembling", "dimensioning",
    },
    "drawing": {
        "units", "findings", "tables", "geometry", "design", "joinery", "stock", "machining", "assembling",
        "dimensioning", "facts",
    },
    "export": {
        "units", "findings", "tables", "geometry", "design", "joinery", "stock", "machining", "assembling",
        "dimensioning", "facts", "drawing", "nesting",
    },
    "cli": {"findings", "design", "facts", "drawing", "export"},
    "__main__": {"cli"},
}  # fmt: skip

HOME: dict[str, set[str]] = {
    "yaml": {"design"},
    "pydantic": {"design"},
    "pydantic_core": {"design"},
    "shapely": {"geometry"},
    "manifold3d": {"geometry"},
    "ezdxf": {"export"},
    "reportlab": {"export"},
    "highspy": {"stock", "assembling"},
    "numba": {"stock"},
    "typer": {"cli"},
    "rich": {"cli"},
    "numpy": {
        "geometry",
        "placing",
        "joinery",
        "stock",
        "assembling",
        "checks",
        "dimensioning",
        "drawing",
        "export",
    },
}

MODULES = sorted(PACKAGE.rglob("*.py"))


def _folder(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def _imports(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_a_module_imports_only_what_lies_before_it_in_the_flow(path: Path) -> None:
    folder = _folder(path)
    if folder == "__init__":
        return
    for name in _imports(path):
        top, *rest = name.split(".")
        if top == "plangen" and rest and rest[0] != folder:
            assert rest[0] in MAY_IMPORT[folder], f"{folder} must not import {name}"
        elif top in HOME:
            assert folder in HOME[top], f"{top} has its home in {sorted(HOME[top])}, not in {folder}"


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_only_the_command_line_and_the_set_writer_print_or_write_files(path: Path) -> None:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if not isinstance(node, ast.Call):
            continue
        name = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
        allowed = path.name in ("cli.py", "plan_set.py", "package_data.py")
        assert allowed or name not in ("print", "open", "write_bytes", "write_text"), f"{path}:{node.lineno}"


def test_every_folder_of_the_package_is_in_the_list() -> None:
    assert {_folder(p) for p in MODULES} - {"__init__", "__main__"} <= set(MAY_IMPORT)


def test_no_file_is_longer_than_a_person_reads_in_one_sitting() -> None:
    long = {str(p.relative_to(PACKAGE)): n for p in MODULES if (n := len(p.read_text().splitlines())) > 500}
    assert long == {}
