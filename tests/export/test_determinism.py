"""The same design gives the same bytes, whatever the run: hash seed, time zone, folder, processor kernel."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
DESIGN = ROOT / "tests" / "designs" / "crowned-rail-cut.yaml"
WIDE = "X86_V3 X86_V4 AVX512_ICL AVX512_SPR"
"""What numpy's loops use of a new processor and an old one lacks."""

RUNS = (
    {
        "PYTHONHASHSEED": "0",
        "TZ": "UTC",
        "OPENBLAS_CORETYPE": "Haswell",
        "OPENBLAS_NUM_THREADS": "2",
        "folder": "a",
    },
    {
        "PYTHONHASHSEED": "1",
        "TZ": "Asia/Kathmandu",
        "OPENBLAS_CORETYPE": "Prescott",
        "OPENBLAS_NUM_THREADS": "3",
        "NPY_DISABLE_CPU_FEATURES": WIDE,
        "folder": "b/qwzxv",
    },
    {
        "PYTHONHASHSEED": "4321",
        "TZ": "America/St_Johns",
        "LC_ALL": "C",
        "folder": "c",
        "OPENBLAS_NUM_THREADS": "1",
    },
)


def drawn(design: Path, folder: Path, environment: dict[str, str]) -> dict[str, str]:
    folder.mkdir(parents=True)
    (folder / design.name).write_bytes(design.read_bytes())
    result = subprocess.run(
        [sys.executable, "-m", "plangen", "draw", design.name, "--output", folder.name],
        cwd=folder,
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
    )
    assert result.returncode == 0, result.stderr
    made = folder / folder.name / design.stem
    return {
        p.relative_to(made).as_posix(): hashlib.sha256(p.read_bytes()).hexdigest()
        for p in sorted(made.rglob("*"))
        if p.is_file()
    }


def test_every_file_of_the_set_is_the_same_in_every_run_and_tells_nothing_of_it(tmp_path: Path) -> None:
    sets = []
    for run in RUNS:
        environment = {k: v for k, v in run.items() if k != "folder"}
        sets.append(drawn(DESIGN, tmp_path / run["folder"], environment))
    assert len(sets[0]) >= 9
    assert sets[1] == sets[0]
    assert sets[2] == sets[0]
    for path in (tmp_path / RUNS[1]["folder"]).rglob("*/crowned-rail-cut/**/*"):
        if path.is_file():
            assert b"qwzxv" not in path.read_bytes(), path.name
            assert str(tmp_path).encode() not in path.read_bytes(), path.name
