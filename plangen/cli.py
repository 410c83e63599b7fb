"""The command line: arguments, files, exit status. Computes nothing.

Exit status 0: done; 1: a design is wrong, or a finding is an error; 2: wrong usage. Imports of the work are
made when a command needs them, so that ``plangen --version`` answers at once.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from plangen import __version__

if TYPE_CHECKING:
    from collections.abc import Iterable
    from types import TracebackType

    from plangen.facts import PlanFacts
    from plangen.findings import Finding

WRONG_DESIGN, WRONG_USAGE = 1, 2
LARGEST_FILE = 4_000_000
"""Bytes. What is longer is read this far, so that the reader of designs can refuse it."""

app = typer.Typer(
    add_completion=False,
    pretty_exceptions_enable=False,
    no_args_is_help=True,
    help="Measured drawings and plan sets for work whose parts slope, splay and taper.",
)
Designs = Annotated[list[str], typer.Argument(metavar="DESIGN.yaml...", help="Design files.")]


class _Unreadable(Exception):
    """A design file cannot be read; the text says why."""


def _print_version(wanted: bool) -> None:
    if wanted:
        print(f"plangen {__version__}")
        raise typer.Exit


@app.callback()
def _plangen(
    version: Annotated[
        bool, typer.Option("--version", is_eager=True, callback=_print_version, help="Print the version.")
    ] = False,
) -> None:
    pass


@app.command()
def draw(
    designs: Designs,
    output: Annotated[
        str, typer.Option("--output", metavar="DIR", help="Folder that gets a folder for each design.")
    ] = "output",
) -> None:
    """Write the plan set of each design to DIR/<design>/."""
    folders = _folders(designs, output)
    raise typer.Exit(max(_draw(file, folder) for file, folder in zip(designs, folders, strict=True)))


@app.command()
def check(designs: Designs) -> None:
    """Read, build and check each design; print the findings."""
    raise typer.Exit(max(_facts(file)[1] for file in designs))


@app.command()
def schema() -> None:
    """Print the JSON Schema of a design file, for editors."""
    from plangen.design.schema import schema_json

    sys.stdout.write(schema_json())


def _draw(file: str, folder: Path) -> int:
    facts, status = _facts(file)
    if facts is None:
        return status
    from plangen.drawing.composition import compose_sheets
    from plangen.export.plan_set import SetNotWritten, plan_set, write_plan_set
    from plangen.findings import DesignError

    try:
        made = plan_set(facts, compose_sheets(facts))
        _tell(made.findings)
        write_plan_set(folder, made.files)
    except DesignError as problem:
        _tell(problem.findings)
        return WRONG_DESIGN
    except SetNotWritten as problem:
        _complain(file, str(problem))
        return WRONG_USAGE
    print(f"{folder}: {len(made.files)} files, {len(facts.model.members)} members")
    return 0


def _facts(file: str) -> tuple[PlanFacts | None, int]:
    """The facts of a design file, its findings printed; None with the exit status where there are none."""
    try:
        data = _read(file)
    except _Unreadable as problem:
        _complain(file, str(problem))
        return None, WRONG_USAGE
    from plangen.facts import plan_facts

    facts, findings = plan_facts(data, file)
    _tell(findings)
    wrong = facts is None or any(f.level == "error" for f in findings)
    return (None, WRONG_DESIGN) if wrong else (facts, 0)


def _read(file: str) -> bytes:
    path = Path(file)
    try:
        if path.is_dir():
            raise _Unreadable("this is a folder; a design is a file")
        with path.open("rb") as stream:
            return stream.read(LARGEST_FILE + 1)
    except FileNotFoundError:
        raise _Unreadable("there is no such file") from None
    except OSError as problem:
        raise _Unreadable(f"cannot be read: {(problem.strerror or str(problem)).lower()}") from None
    except ValueError:
        raise _Unreadable("this cannot be the name of a file") from None


def _folders(designs: list[str], output: str) -> list[Path]:
    """The folder of each design's plan set; ends the program where two share one or a name makes none."""
    first: dict[str, str] = {}
    folders = []
    for file in designs:
        name = Path(file).stem
        if not name.strip(". ") or any(not c.isprintable() or c in '/\\:*?"<>|' for c in name):
            _complain(file, f'the plan set\'s folder cannot be named "{name}"; give the file another name')
            raise typer.Exit(WRONG_USAGE)
        if name.casefold() in first:
            other = first[name.casefold()]
            _complain(
                file, f'its plan set would take the folder of "{other}"; draw them to different --output'
            )
            raise typer.Exit(WRONG_USAGE)
        first[name.casefold()] = file
        folders.append(Path(output) / name)
    return folders


def _tell(findings: Iterable[Finding]) -> None:
    for finding in findings:
        print(_one_line(str(finding)), file=sys.stderr)


def _complain(file: str, text: str) -> None:
    print(_one_line(f"{file}:1:1: error: {text}"), file=sys.stderr)


def _one_line(text: str) -> str:
    return "".join(c if c.isprintable() else " " for c in text)


def _tell_fault(kind: type[BaseException], fault: BaseException, trace: TracebackType | None) -> None:
    """A fault of the program itself, in one line that says where it arose."""
    where = ""
    while trace is not None:
        code = trace.tb_frame.f_code
        where = f"{Path(code.co_filename).name}, line {trace.tb_lineno}, {code.co_name}"
        trace = trace.tb_next
    text = f"plangen: error: a fault of the program: {kind.__name__}: {fault} ({where})"
    print(_one_line(text), file=sys.stderr)


def main() -> None:
    """Runs the command line. A design may hold, and a file be named with, what the terminal cannot show."""
    sys.excepthook = _tell_fault
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    try:
        # not app(), which would put its own way of reporting faults in place of ours
        typer.main.get_command(app)()
    except KeyboardInterrupt:
        raise SystemExit(130) from None


if __name__ == "__main__":
    main()
