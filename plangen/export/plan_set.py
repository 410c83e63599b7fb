"""The plan set: all files of one design, and putting them in their folder whole or not at all.

A set is written into a new folder beside the old one; two renames swap them. A run that is stopped in between
leaves folders whose names say how far it came, and the next run completes the swap.
"""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path, PurePosixPath

from plangen import __version__
from plangen.drawing.full_size.full_size_set import full_size_sheets
from plangen.drawing.marks import Sheet
from plangen.drawing.scene_views import elevation_views
from plangen.export.csv_lists import cutting_list_csv, hardware_list_csv, materials_list_csv
from plangen.export.dxf import views_dxf_bytes
from plangen.export.dxf_sheets import sheets_dxf_bytes
from plangen.export.layout_dxf import layout_files
from plangen.export.nested_files import nested_files
from plangen.export.pdf import DocumentInfo, pdf_bytes
from plangen.export.plan_json import SetFile, plan_json_bytes
from plangen.export.scene import glb_bytes
from plangen.export.svg_sheets import svg_sheets
from plangen.export.template_json import template_facts
from plangen.export.templates import template_set
from plangen.facts import PlanFacts
from plangen.findings import Finding, in_order

PLAN_FACTS = "plan.json"


class SetNotWritten(Exception):
    """A plan set could not be put in its folder; what stood there before stands there still."""


@dataclass(frozen=True)
class PlanSet:
    """The files by their path in the set's folder, and what was found in making them."""

    files: dict[str, SetFile]
    findings: tuple[Finding, ...]


def plan_set(facts: PlanFacts, sheets: Sequence[Sheet], svg: bool = False) -> PlanSet:
    """Every file of the set, ``plan.json`` last; it lists the others and all findings. ``svg``: each sheet too."""
    templates = template_set(facts.bench, facts.templates.cut)
    nested = nested_files(facts, templates)
    findings = (*templates.findings, *nested.findings)
    views = elevation_views(facts)
    full_size = full_size_sheets(facts, templates.nominal)
    drawn = svg_sheets((*sheets, *full_size)) if svg else {}
    files = {
        "plan.pdf": SetFile("plan", pdf_bytes(sheets, _document_info(facts))),
        "views.dxf": SetFile("views", views_dxf_bytes(facts, views)),
        "sheets.dxf": SetFile("views", sheets_dxf_bytes(facts, views, sheets)),
        "model.glb": SetFile("model", glb_bytes(facts.model)),
        "cutting-list.csv": SetFile("cutting list", cutting_list_csv(facts.cutting, facts.style)),
        "materials-list.csv": SetFile("materials list", materials_list_csv(facts.materials, facts.style)),
        "hardware-list.csv": SetFile("hardware list", hardware_list_csv(facts.hardware, facts.style)),
        **{
            path: SetFile("layout", data) for path, data in layout_files(facts.materials, facts.style).items()
        },
        **{file.path: SetFile("template", file.data) for file in templates.files},
        **{path: SetFile("nested sheet", data) for path, data in nested.files.items()},
        **_full_size(facts, full_size),
        **{f"sheets/{name}": SetFile("sheet", data) for name, data in drawn.items()},
    }
    told = replace(facts, findings=in_order((*facts.findings, *findings)))
    files[PLAN_FACTS] = SetFile(
        "facts", plan_json_bytes(told, sheets, files, template_facts(templates, facts.templates, nested.told))
    )
    return PlanSet(files, findings)


def _full_size(facts: PlanFacts, sheets: Sequence[Sheet]) -> dict[str, SetFile]:
    """``templates.pdf``, where there is something to print at full size."""
    info = replace(_document_info(facts), title=f"{facts.design.title}: full-size templates")
    return {"templates.pdf": SetFile("full-size paper", pdf_bytes(sheets, info))} if sheets else {}


def _document_info(facts: PlanFacts) -> DocumentInfo:
    design = facts.design
    return DocumentInfo(
        title=str(design.title),
        subject=str(design.about or design.title),
        author=str(design.drawn_by or design.owner or ""),
        creator=f"plangen {__version__}",
    )


def write_plan_set(folder: Path, files: Mapping[str, SetFile]) -> None:
    """Puts the set in ``folder``, in place of an earlier set.

    Files of the folder that no earlier set lists are kept. Raises SetNotWritten, and leaves the earlier set
    as it was, where the set cannot be written.
    """
    new, old = _beside(folder, "new"), _beside(folder, "old")
    try:
        _check_folder(folder)
        complete_swap(folder)
        try:
            _write_all(new, files)
            _swap(folder, new, old)
        finally:
            _drop(new)
    except OSError as problem:
        raise SetNotWritten(f'"{folder}" cannot be written: {_reason(problem)}') from problem


def complete_swap(folder: Path) -> None:
    """Finishes, or undoes, a swap that an earlier run was stopped in. Raises OSError."""
    new, old = _beside(folder, "new"), _beside(folder, "old")
    if old.is_dir():
        if not folder.exists():
            # The new set was complete before the old one was moved away.
            os.rename(new if new.is_dir() else old, folder)
        if old.is_dir():
            _retire(old, folder)
    _drop(new)


def _beside(folder: Path, stage: str) -> Path:
    return folder.with_name(f".{folder.name}.plangen-{stage}")


def _check_folder(folder: Path) -> None:
    if folder.is_symlink() or (folder.exists() and not folder.is_dir()):
        raise SetNotWritten(f'"{folder}" is not a folder: the plan set goes into a folder of this name')
    for parent in folder.parents:
        if parent.exists():
            if not parent.is_dir():
                raise SetNotWritten(f'"{parent}" is a file: there can be no folder "{folder}"')
            break
    folder.parent.mkdir(parents=True, exist_ok=True)


def _write_all(new: Path, files: Mapping[str, SetFile]) -> None:
    new.mkdir()
    for path, file in files.items():
        if PurePosixPath(path).is_absolute() or ".." in PurePosixPath(path).parts:
            raise ValueError(f'"{path}" leads out of the plan set')
        target = new / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(file.data)


def _swap(folder: Path, new: Path, old: Path) -> None:
    if not folder.exists():
        os.rename(new, folder)
        return
    os.rename(folder, old)
    swapped = False
    try:
        os.rename(new, folder)
        swapped = True
    finally:
        if not swapped:
            os.rename(old, folder)
    _retire(old, folder)


def _retire(old: Path, folder: Path) -> None:
    """Removes an earlier set; what it does not list is somebody's own and moves to the new folder."""
    listed = _listed(old)
    for path in sorted(_own_files(old)):
        if path not in listed and not (folder / path).exists():
            (folder / path).parent.mkdir(parents=True, exist_ok=True)
            os.rename(old / path, folder / path)
    _drop(old)


def _own_files(folder: Path) -> Iterator[str]:
    for parent, _, names in os.walk(folder):
        for name in names:
            yield (Path(parent) / name).relative_to(folder).as_posix()


def _listed(folder: Path) -> set[str]:
    """Paths that the set in ``folder`` says are its own."""
    try:
        content = json.loads((folder / PLAN_FACTS).read_bytes())
        return {PLAN_FACTS, *(str(file["path"]) for file in content["files"])}
    except (OSError, ValueError, KeyError, TypeError):
        return set()


def _drop(folder: Path) -> None:
    if folder.is_dir() and not folder.is_symlink():
        shutil.rmtree(folder)


def _reason(problem: OSError) -> str:
    reason = (problem.strerror or str(problem)).lower()
    return f'{reason} ("{problem.filename}")' if problem.filename else reason
