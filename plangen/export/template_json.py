"""The templates of a set, in plan.json: what each file is of, how it lies, what its layers mean."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from plangen.design.template_reading import ChosenTemplates
from plangen.export.json_numbers import plain
from plangen.export.template_layers import layers_of
from plangen.export.templates import TemplateFile, TemplateSet, cut_length, template_box
from plangen.geometry.slices import Loop
from plangen.tables.cut_files import CutFiles


def template_facts(
    made: TemplateSet, chosen: ChosenTemplates, nested: Sequence[dict[str, Any]] = ()
) -> dict[str, Any]:
    """``files`` in the order of members; lengths mm, areas mm2, whatever the files' unit. ``shift`` is what was added
    to l and w. ``follow`` says which outline of the wood is the one that is cut; ``nested`` is
    told in ``nested_files.py``."""
    cut = chosen.cut
    return {
        "source": chosen.source,
        "sha256": chosen.sha256,
        "version": cut.version,
        "unit": cut.unit,
        "curves": cut.curves,
        "tolerance": plain(cut.tolerance),
        "cutter": None if cut.cutter is None else plain(cut.cutter),
        "compensated": cut.compensated,
        "nested": list(nested),
        "files": [_file(f, cut) for f in made.files],
    }


def _file(file: TemplateFile, cut: CutFiles) -> dict[str, Any]:
    template = file.template
    low, high = template_box(template)
    through = [c for c in template.contours if c.closed and c.operation.startswith("through")]
    return {
        "path": file.path,
        "member": template.member.mark,
        "hand": template.hand,
        "quantity": template.quantity,
        "face_up": "face",
        "follow": template.follow,
        "beveled": template.beveled,
        "shift": [plain(v) for v in file.ready.shift],
        "area": plain(math.fsum(Loop(c.curves).area for c in through)),
        "cut_length": plain(cut_length(template)),
        "box": [[plain(v) for v in low], [plain(v) for v in high]],
        "contours": len(template.contours),
        "layers": [
            {
                "name": use.name,
                "operation": use.operation,
                "depth": None if use.depth is None else plain(use.depth),
                "diameter": None if use.diameter is None else plain(use.diameter),
            }
            for use in layers_of(template, cut).values()
        ],
    }
