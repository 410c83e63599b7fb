"""A plan set is written whole or not at all, whatever fails and wherever a run is stopped."""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from plangen.export import plan_set as module
from plangen.export.plan_json import SetFile
from plangen.export.plan_set import SetNotWritten, write_plan_set


class Killed(BaseException):
    """The process ends here: nothing after it runs, no clean-up either."""


def files(word: str, *templates: str) -> dict[str, SetFile]:
    made = {"views.dxf": SetFile("views", word.encode())}
    made |= {f"templates/{t}.dxf": SetFile("template", word.encode()) for t in templates}
    listed = [{"path": path} for path in made]
    made["plan.json"] = SetFile("facts", json.dumps({"word": word, "files": listed}).encode())
    return made


def tree(folder: Path) -> dict[str, bytes]:
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def contents(made: dict[str, SetFile]) -> dict[str, bytes]:
    return {path: file.data for path, file in made.items()}


def test_a_set_replaces_an_earlier_one_and_its_templates_of_members_no_more(tmp_path: Path) -> None:
    folder = tmp_path / "output" / "bench"
    write_plan_set(folder, files("old", "A", "B"))
    write_plan_set(folder, files("new", "A"))
    assert tree(tmp_path / "output") == {f"bench/{p}": d for p, d in contents(files("new", "A")).items()}


def test_what_somebody_else_put_there_stays(tmp_path: Path) -> None:
    folder = tmp_path / "bench"
    write_plan_set(folder, files("old", "A"))
    (folder / "notes.txt").write_text("cut the legs long")
    (folder / "photos").mkdir()
    (folder / "photos" / "1.jpg").write_bytes(b"x")
    write_plan_set(folder, files("new"))
    assert tree(folder) == {**contents(files("new")), "notes.txt": b"cut the legs long", "photos/1.jpg": b"x"}


STEPS = ("mkdir", "write_bytes", "rename", "rmtree")


def counted(monkeypatch: pytest.MonkeyPatch, stop_at: int, stop: Callable[[], None]) -> list[str]:
    """Every step on disk counted; ``stop`` runs in place of the one numbered ``stop_at``, and of all later
    ones where it ends the process."""
    done: list[str] = []

    def wrap(name: str, real: Callable[..., object]) -> Callable[..., object]:
        def step(*args: object, **kwargs: object) -> object:
            done.append(name)
            if len(done) >= stop_at:
                stop()
            return real(*args, **kwargs)

        return step

    monkeypatch.setattr(module.os, "rename", wrap("rename", os.rename))
    monkeypatch.setattr(module.shutil, "rmtree", wrap("rmtree", shutil.rmtree))
    monkeypatch.setattr(Path, "mkdir", wrap("mkdir", Path.mkdir))
    monkeypatch.setattr(Path, "write_bytes", wrap("write_bytes", Path.write_bytes))
    return done


def steps_of_a_run(tmp_path: Path) -> int:
    folder = tmp_path / "counting" / "bench"
    write_plan_set(folder, files("old", "A", "B"))
    with pytest.MonkeyPatch.context() as patch:
        done = counted(patch, 10**6, lambda: None)
        write_plan_set(folder, files("new", "A", "C"))
    shutil.rmtree(folder.parent)
    return len(done)


def test_a_run_killed_at_any_step_leaves_one_whole_set_for_the_next_run(tmp_path: Path) -> None:
    old, new = contents(files("old", "A", "B")), contents(files("new", "A", "C"))
    total = steps_of_a_run(tmp_path)
    assert total > 8
    seen = set()
    for stop_at in range(1, total + 1):
        folder = tmp_path / f"at-{stop_at}" / "bench"
        write_plan_set(folder, files("old", "A", "B"))

        def die() -> None:
            raise Killed

        with pytest.MonkeyPatch.context() as patch:
            counted(patch, stop_at, die)
            with pytest.raises(Killed):
                write_plan_set(folder, files("new", "A", "C"))
        module.complete_swap(folder)
        assert os.listdir(folder.parent) == ["bench"], stop_at
        assert tree(folder) in (old, new), stop_at
        seen.add(tree(folder) == new)
        write_plan_set(folder, files("last"))
        assert tree(folder.parent) == {f"bench/{p}": d for p, d in contents(files("last")).items()}
    assert seen == {True, False}


def test_a_step_that_fails_leaves_the_earlier_set_and_no_temporary_folder(tmp_path: Path) -> None:
    """As far as renaming and removing still work afterwards."""
    old, new = contents(files("old", "A", "B")), contents(files("new", "A", "C"))
    for stop_at in range(1, steps_of_a_run(tmp_path) + 1):
        folder = tmp_path / f"at-{stop_at}" / "bench"
        write_plan_set(folder, files("old", "A", "B"))
        failed = []

        def fail(failed: list[bool] = failed) -> None:
            if not failed:
                failed.append(True)
                raise PermissionError(13, "Permission denied")

        with pytest.MonkeyPatch.context() as patch:
            counted(patch, stop_at, fail)
            with pytest.raises(SetNotWritten, match="permission denied"):
                write_plan_set(folder, files("new", "A", "C"))
        assert tree(folder) in (old, new), stop_at
        if tree(folder) == old:
            assert os.listdir(folder.parent) == ["bench"], stop_at


def test_a_run_broken_off_at_the_keyboard_leaves_nothing_half_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "bench"
    write_plan_set(folder, files("old", "A"))

    def broken(self: Path, data: bytes) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr(Path, "write_bytes", broken)
    with pytest.raises(KeyboardInterrupt):
        write_plan_set(folder, files("new"))
    assert tree(tmp_path) == {f"bench/{p}": d for p, d in contents(files("old", "A")).items()}
    assert os.listdir(tmp_path) == ["bench"]


def test_a_first_set_that_fails_leaves_no_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(self: Path, data: bytes) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(SetNotWritten, match="no space left"):
        write_plan_set(tmp_path / "output" / "bench", files("new"))
    assert os.listdir(tmp_path / "output") == []


def test_a_file_in_the_place_of_a_folder_is_said_and_kept(tmp_path: Path) -> None:
    (tmp_path / "bench").write_text("mine")
    with pytest.raises(SetNotWritten, match="not a folder"):
        write_plan_set(tmp_path / "bench", files("new"))
    with pytest.raises(SetNotWritten, match="is a file"):
        write_plan_set(tmp_path / "bench" / "deeper" / "stool", files("new"))
    assert tree(tmp_path) == {"bench": b"mine"}


def test_a_folder_that_is_a_link_is_not_replaced(tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "bench").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(SetNotWritten, match="not a folder"):
        write_plan_set(tmp_path / "bench", files("new"))
    assert (tmp_path / "bench").is_symlink()


def test_no_path_leads_out_of_the_set(tmp_path: Path) -> None:
    for path in ("../evil.dxf", "/evil.dxf", "templates/../../evil.dxf"):
        with pytest.raises(ValueError, match="leads out"):
            write_plan_set(tmp_path / "bench", {path: SetFile("views", b"x")})
    assert tree(tmp_path) == {}
