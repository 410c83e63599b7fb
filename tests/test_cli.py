"""The command line as a person and a script meet it: exit status, one line a message, nothing half written."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from plangen import __version__

ROOT = Path(__file__).parent.parent
SMALL = ROOT / "tests" / "designs" / "sliver.yaml"
OTHER = ROOT / "tests" / "designs" / "joints" / "butt.yaml"
MESSAGE = re.compile(r".+:\d+:\d+: (error|warning|note): .+")


def run(*arguments: str, cwd: Path, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "plangen", *arguments],
        cwd=cwd,
        env={**os.environ, "COLUMNS": "100", **environment},
        capture_output=True,
        text=True,
        encoding="utf-8",
        errors="surrogateescape",
        timeout=120,
    )


@pytest.fixture
def here(tmp_path: Path) -> Path:
    (tmp_path / "bench.yaml").write_bytes(SMALL.read_bytes())
    return tmp_path


def messages(result: subprocess.CompletedProcess[str]) -> list[str]:
    lines = result.stderr.splitlines()
    assert "Traceback" not in result.stderr
    assert all(MESSAGE.fullmatch(line) for line in lines), result.stderr
    return lines


def test_the_version_is_told_without_loading_a_library(tmp_path: Path) -> None:
    assert run("--version", cwd=tmp_path).stdout == f"plangen {__version__}\n"
    loaded = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "plangen", "--version"],
        capture_output=True,
        text=True,
        check=True,
    ).stderr
    for library in ("numpy", "shapely", "manifold3d", "ezdxf", "reportlab", "pydantic", "yaml"):
        assert not re.search(rf"\b{library}\b", loaded), library


def test_draw_writes_a_set_and_says_so_on_one_line(here: Path) -> None:
    result = run("draw", "bench.yaml", cwd=here)
    assert result.returncode == 0
    assert [line.split(":")[0] for line in result.stdout.splitlines()] == [os.path.join("output", "bench")]
    messages(result)
    assert sorted(os.listdir(here)) == ["bench.yaml", "output"]
    assert os.listdir(here / "output") == ["bench"]
    folder = here / "output" / "bench"
    names = {p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file()}
    assert {"plan.pdf", "plan.json", "views.dxf", "model.glb"} <= names
    assert {"cutting-list.csv", "materials-list.csv", "hardware-list.csv"} <= names
    listed = {f["path"] for f in json.loads((folder / "plan.json").read_bytes())["files"]}
    assert listed == names - {"plan.json"}


def test_sheets_are_written_as_svg_where_that_is_asked_for(here: Path) -> None:
    (here / "butt.yaml").write_bytes(OTHER.read_bytes())
    assert run("draw", "butt.yaml", "--svg", cwd=here).returncode == 0
    folder = here / "output" / "butt"
    facts = json.loads((folder / "plan.json").read_bytes())
    listed = {f["path"] for f in facts["files"] if f["role"] == "sheet"}
    assert listed == {f"sheets/{p.name}" for p in (folder / "sheets").iterdir()}
    drawn = {p for p in listed if p.endswith(".svg")}
    full_size = {p for p in drawn if p.startswith("sheets/T-")}
    assert {f"sheets/{s['number']}.svg" for s in facts["sheets"]} == drawn - full_size
    assert bool(full_size) == (folder / "templates.pdf").is_file()


def test_nothing_is_written_but_the_set(here: Path) -> None:
    """Not in the user's home either, where the DXF library would keep a list of the system's fonts."""
    home = here / "home"
    home.mkdir()
    kept = {"XDG_CACHE_HOME": "", "XDG_CONFIG_HOME": "", "PYTHONDONTWRITEBYTECODE": "1"}
    result = run("draw", "bench.yaml", cwd=here, HOME=str(home), USERPROFILE=str(home), **kept)
    assert result.returncode == 0
    assert os.listdir(home) == []
    assert sorted(os.listdir(here)) == ["bench.yaml", "home", "output"]


def test_check_writes_nothing(here: Path) -> None:
    result = run("check", "bench.yaml", cwd=here)
    assert (result.returncode, result.stdout) == (0, "")
    messages(result)
    assert os.listdir(here) == ["bench.yaml"]


def test_a_wrong_design_is_told_by_line_and_the_rest_is_drawn(here: Path) -> None:
    (here / "wrong.yaml").write_text(
        "title: Stool\nunits: in\nmembers:\n  leg: {stock: 2x4 fir, lenght: 3}\n", encoding="utf-8"
    )
    result = run("draw", "wrong.yaml", "bench.yaml", "--output", "out", cwd=here)
    assert result.returncode == 1
    assert any(line.startswith("wrong.yaml:4:") and ": error: " in line for line in messages(result))
    assert os.listdir(here / "out") == ["bench"]


def test_an_earlier_set_outlives_a_design_gone_wrong(here: Path) -> None:
    assert run("draw", "bench.yaml", cwd=here).returncode == 0
    before = (here / "output" / "bench" / "plan.json").read_bytes()
    (here / "bench.yaml").write_text("title: x\n", encoding="utf-8")
    assert run("draw", "bench.yaml", cwd=here).returncode == 1
    assert (here / "output" / "bench" / "plan.json").read_bytes() == before


@pytest.mark.parametrize(
    ("name", "word"),
    [
        ("missing.yaml", "no such file"),
        (".", "folder"),
        ("nul\udcff.yaml", "no such file"),
        ("x" * 300, "name too long"),
    ],
)
def test_what_is_no_readable_file_is_wrong_usage(here: Path, name: str, word: str) -> None:
    result = run("check", name, cwd=here)
    assert result.returncode == 2
    (line,) = messages(result)
    assert word in line


@pytest.mark.parametrize(
    "data", [b"\xff\xfe\x00\x00", b"", b"\x00\x01\x02", b"- " * 100, b"[" * 5000, b"a: &a [*a]\n"]
)
def test_unreadable_bytes_are_told_in_words(here: Path, data: bytes) -> None:
    (here / "bench.yaml").write_bytes(data)
    result = run("check", "bench.yaml", cwd=here)
    assert result.returncode == 1
    assert all(line.startswith("bench.yaml:") for line in messages(result))
    assert messages(result)


def test_a_file_name_is_given_back_as_it_was_given(here: Path) -> None:
    (here / "wrong.yaml").write_text("units: in\n", encoding="utf-8")
    for given in ("wrong.yaml", "./wrong.yaml", str(here / "wrong.yaml")):
        assert all(line.startswith(f"{given}:") for line in messages(run("check", given, cwd=here)))


def test_two_designs_of_one_name_are_refused_before_either_is_drawn(here: Path) -> None:
    (here / "b").mkdir()
    (here / "b" / "bench.yaml").write_bytes(OTHER.read_bytes())
    result = run("draw", "bench.yaml", "b/bench.yaml", cwd=here)
    assert result.returncode == 2
    (line,) = messages(result)
    assert line.startswith("b/bench.yaml:1:1: error: ")
    assert '"bench.yaml"' in line
    assert not (here / "output").exists()


def test_a_name_that_makes_no_folder_is_refused(here: Path) -> None:
    (here / "...yaml").write_bytes(SMALL.read_bytes())
    result = run("draw", "...yaml", cwd=here)
    assert result.returncode == 2
    assert "cannot be named" in messages(result)[0]
    assert sorted(os.listdir(here)) == ["...yaml", "bench.yaml"]


def test_a_folder_is_no_design(here: Path) -> None:
    result = run("draw", ".", cwd=here)
    assert result.returncode == 2
    assert messages(result)[0] == ".:1:1: error: this is a folder, not a file"


def test_an_output_that_is_a_file_is_told_and_kept(here: Path) -> None:
    (here / "output").write_text("mine", encoding="utf-8")
    result = run("draw", "bench.yaml", cwd=here)
    assert result.returncode == 2
    assert any("is a file" in line for line in messages(result))
    assert (here / "output").read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize(
    "arguments", [(), ("draw",), ("paint", "bench.yaml"), ("draw", "bench.yaml", "--scale", "2")]
)
def test_wrong_usage_is_status_two_without_a_traceback(here: Path, arguments: tuple[str, ...]) -> None:
    result = run(*arguments, cwd=here)
    assert result.returncode == 2
    assert "Traceback" not in result.stderr + result.stdout


def test_the_schema_is_json_for_editors(tmp_path: Path) -> None:
    result = run("schema", cwd=tmp_path)
    assert result.returncode == 0
    assert "$schema" in json.loads(result.stdout)


def test_a_terminal_that_knows_only_ascii_still_gets_every_message(here: Path) -> None:
    (here / "bänk.yaml").write_text("units: in\n", encoding="utf-8")
    result = run("check", "bänk.yaml", cwd=here, PYTHONIOENCODING="ascii")
    assert result.returncode == 1
    assert "Traceback" not in result.stderr
    assert "b\\xe4nk.yaml:" in result.stderr


def test_a_fault_of_the_program_is_one_line(here: Path) -> None:
    code = (
        "import sys, plangen.facts\n"
        "def broken(data, file, beside): raise KeyError('leg')\n"
        "plangen.facts.plan_facts = broken\n"
        "from plangen.cli import main\n"
        "sys.argv = ['plangen', 'check', 'bench.yaml']\n"
        "main()\n"
    )
    result = subprocess.run([sys.executable, "-c", code], cwd=here, capture_output=True, text=True)
    assert result.returncode == 1
    (line,) = result.stderr.splitlines()
    assert line.startswith("plangen: error: a fault of the program: KeyError")
