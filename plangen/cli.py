"""The command line: arguments, files, exit status. Computes nothing.

Exit status 0: done; 1: a design is wrong, or a finding is an error; 2: wrong usage. Imports are made
when a command needs them, so that ``plangen --version`` answers at once. Annotations are read as values, for the
commands' own are local to the function that makes them.
"""

import gc
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Annotated

from plangen import __version__

if TYPE_CHECKING:
    import typer

    from plangen.facts import PlanFacts
    from plangen.findings import Finding

WRONG_DESIGN, WRONG_USAGE = 1, 2
LARGEST_FILE = 4_000_000
"""Bytes. What is longer is read this far, so that the reader of designs can refuse it."""

OBJECTS_BETWEEN_COLLECTIONS = 100_000
"""New objects after which the interpreter looks for garbage in cycles. A plan set leaves little, and to look as
often as by default takes a twentieth of its time."""


class _Unreadable(Exception):
    """A design file cannot be read; the text says why."""


class _NoFolder(Exception):
    """A plan set's folder cannot be named; ``file`` is the design, the text says why."""

    def __init__(self, file: str, text: str) -> None:
        super().__init__(text)
        self.file = file


def _application() -> "typer.Typer":
    """The commands. Made when one is given: to import what reads them takes longer than ``--version`` may."""
    import typer

    app = typer.Typer(
        add_completion=False,
        pretty_exceptions_enable=False,
        no_args_is_help=True,
        help="Measured drawings and plan sets for work whose parts slope, splay and taper.",
    )

    def tell_version(wanted: bool) -> None:
        if wanted:
            _print_version()
            raise typer.Exit

    version_option = typer.Option(
        "--version", is_eager=True, callback=tell_version, help="Print the version."
    )
    files = typer.Argument(metavar="DESIGN.yaml...", help="Design files.")
    folder = typer.Option("--output", metavar="DIR", help="Folder that gets a folder for each design.")

    svg_option = typer.Option("--svg", help="Write each sheet as SVG too, in sheets/ of the set.")

    @app.callback()
    def plangen(version: Annotated[bool, version_option] = False) -> None:
        pass

    @app.command()
    def draw(
        designs: Annotated[list[str], files],
        output: Annotated[str, folder] = "output",
        svg: Annotated[bool, svg_option] = False,
    ) -> None:
        """Write the plan set of each design to DIR/<design>/."""
        raise typer.Exit(_draw_all(designs, output, svg))

    @app.command()
    def check(designs: Annotated[list[str], files]) -> None:
        """Read, build and check each design; print the findings."""
        raise typer.Exit(max(_facts(file)[1] for file in designs))

    @app.command()
    def schema() -> None:
        """Print the JSON Schema of a design file, for editors."""
        from plangen.design.schema import schema_json

        sys.stdout.write(schema_json())

    return app


def _print_version() -> None:
    print(f"plangen {__version__}")


def _draw_all(designs: Sequence[str], output: str, svg: bool) -> int:
    try:
        folders = _folders(designs, output)
    except _NoFolder as problem:
        _complain(problem.file, str(problem))
        return WRONG_USAGE
    return max(_draw(file, folder, svg) for file, folder in zip(designs, folders, strict=True))


def _draw(file: str, folder: Path, svg: bool) -> int:
    facts, status = _facts(file)
    if facts is None:
        return status
    from plangen.drawing.composition import compose_sheets
    from plangen.export.plan_set import SetNotWritten, plan_set, write_plan_set
    from plangen.findings import DesignError

    try:
        made = plan_set(facts, compose_sheets(facts), svg)
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


def _facts(file: str) -> tuple["PlanFacts | None", int]:
    """The facts of a design file, its findings printed; None with the exit status where there are none."""
    try:
        data = _read(file)
    except _Unreadable as problem:
        _complain(file, str(problem))
        return None, WRONG_USAGE
    from plangen.facts import plan_facts

    facts, findings = plan_facts(data, file, lambda name: _beside(file, name))
    _tell(findings)
    wrong = facts is None or any(f.level == "error" for f in findings)
    return (None, WRONG_DESIGN) if wrong else (facts, 0)


def _read(file: str) -> bytes:
    path = Path(file)
    try:
        if path.is_dir():
            raise _Unreadable("this is a folder, not a file")
        with path.open("rb") as stream:
            return stream.read(LARGEST_FILE + 1)
    except FileNotFoundError:
        raise _Unreadable("there is no such file") from None
    except OSError as problem:
        raise _Unreadable(f"cannot be read: {(problem.strerror or str(problem)).lower()}") from None
    except ValueError:
        raise _Unreadable("this cannot be the name of a file") from None


def _beside(file: str, name: str) -> bytes | str:
    """The bytes of a file that stands beside a design; or why it cannot be read."""
    try:
        return _read(str(Path(file).parent / name))
    except _Unreadable as problem:
        return str(problem)


def _folders(designs: Sequence[str], output: str) -> list[Path]:
    """The folder of each design's plan set. Raises _NoFolder where two share one or a name makes none."""
    first: dict[str, str] = {}
    folders = []
    for file in designs:
        name = Path(file).stem
        if Path(file).is_dir():
            raise _NoFolder(file, "this is a folder, not a file")
        if not name.strip(". ") or any(not c.isprintable() or c in '/\\:*?"<>|' for c in name):
            raise _NoFolder(
                file, f'the plan set\'s folder cannot be named "{name}"; give the file another name'
            )
        if name.casefold() in first:
            other = first[name.casefold()]
            raise _NoFolder(
                file, f'its plan set would take the folder of "{other}"; draw them to different --output'
            )
        first[name.casefold()] = file
        folders.append(Path(output) / name)
    return folders


def _tell(findings: "Iterable[Finding]") -> None:
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
    if sys.argv[1:] == ["--version"]:
        _print_version()
        return
    gc.set_threshold(OBJECTS_BETWEEN_COLLECTIONS)
    from typer.main import get_command

    try:
        # not the application's own call, which would put its way of reporting faults in place of ours
        get_command(_application())()
    except KeyboardInterrupt:
        raise SystemExit(130) from None


if __name__ == "__main__":
    main()
