"""Files are written whole or not at all."""

from __future__ import annotations

import logging
import os
from pathlib import Path

import pytest

from loopplan.errors import LoopplanError
from loopplan.output import (
    CannotWrite,
    logger,
    prepare_folder,
    write_bytes,
    write_folder,
    write_text,
)


def everything(folder: Path) -> dict[str, bytes | None]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() if path.is_file() else None
        for path in sorted(folder.rglob("*"))
    }


class Stop:
    """Fails, or interrupts, at the n-th call of a function that it stands in for."""

    def __init__(self, real, at: int, error: BaseException) -> None:
        self.real, self.left, self.error = real, at, error

    def __call__(self, *args, **more):
        self.left -= 1
        if self.left == 0:
            raise self.error
        return self.real(*args, **more)


def test_text_is_utf8_with_plain_line_ends(tmp_path: Path) -> None:
    write_text(tmp_path / "a.txt", "m\u00b3\nx\n")
    assert everything(tmp_path) == {"a.txt": b"m\xc2\xb3\nx\n"}


def test_existing_file_is_replaced_and_keeps_its_rights(tmp_path: Path) -> None:
    path = tmp_path / "a.txt"
    path.write_text("old")
    path.chmod(0o640)
    write_bytes(path, b"new")
    assert path.read_bytes() == b"new"
    assert path.stat().st_mode & 0o777 == 0o640
    assert len(everything(tmp_path)) == 1


def test_new_file_has_the_usual_rights(tmp_path: Path) -> None:
    (tmp_path / "usual").write_text("")
    write_text(tmp_path / "a", "")
    assert (tmp_path / "a").stat().st_mode == (tmp_path / "usual").stat().st_mode


def test_link_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "real").write_text("old")
    (tmp_path / "link").symlink_to(tmp_path / "real")
    write_text(tmp_path / "link", "new")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real").read_text() == "new"


@pytest.mark.parametrize("error", [KeyboardInterrupt(), OSError(28, "No space left on device")])
@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_broken_write_leaves_the_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str, error: BaseException
) -> None:
    path = tmp_path / "a.txt"
    path.write_text("old")
    owner = os if step == "fsync" else Path
    monkeypatch.setattr(owner, step, lambda *_: (_ for _ in ()).throw(error))
    with pytest.raises((KeyboardInterrupt, CannotWrite)) as caught:
        write_text(path, "new")
    assert isinstance(caught.value, KeyboardInterrupt) is isinstance(error, KeyboardInterrupt)
    assert everything(tmp_path) == {"a.txt": b"old"}


def test_bad_places_are_refused_in_plain_words(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(CannotWrite, match="No such file") as caught:
        write_text(tmp_path / "none" / "a.txt", "x")
    assert caught.value.exit_code == 2
    assert isinstance(caught.value, LoopplanError)
    with pytest.raises(CannotWrite, match="is a folder"):
        write_text(tmp_path, "x")
    with pytest.raises(CannotWrite, match="not an ordinary file"):
        write_text(tmp_path / "pipe", "x")
    assert (tmp_path / "pipe").is_fifo()
    assert len(everything(tmp_path)) == 1


def test_folder_is_made_or_must_be_empty(tmp_path: Path) -> None:
    fresh = prepare_folder(tmp_path / "a" / "b")
    assert fresh.is_dir()
    assert prepare_folder(fresh) == fresh
    (fresh / "x").write_text("mine")
    with pytest.raises(CannotWrite, match="not empty") as caught:
        prepare_folder(fresh)
    assert "--force" in caught.value.cure
    prepare_folder(fresh, force=True)
    assert (fresh / "x").read_text() == "mine"
    with pytest.raises(CannotWrite, match="is a file"):
        prepare_folder(fresh / "x", force=True)


@pytest.mark.parametrize("exists", [False, True])
def test_folder_is_written(tmp_path: Path, exists: bool) -> None:
    folder = tmp_path / "out"
    if exists:
        folder.mkdir()
    write_folder(folder, {"a.txt": "\u00b3", "tables/b.csv": b"1\n"})
    assert everything(tmp_path) == {
        "out": None,
        "out/a.txt": b"\xc2\xb3",
        "out/tables": None,
        "out/tables/b.csv": b"1\n",
    }
    with pytest.raises(CannotWrite, match="not empty"):
        write_folder(folder, {"a.txt": "other"})


def test_no_files_make_an_empty_folder(tmp_path: Path) -> None:
    write_folder(tmp_path / "out", {})
    assert everything(tmp_path) == {"out": None}


def test_force_leaves_other_files_alone(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_text("old")
    (tmp_path / "mine.txt").write_text("mine")
    write_folder(tmp_path, {"a.txt": "new"}, force=True)
    assert everything(tmp_path) == {"a.txt": b"new", "mine.txt": b"mine"}


@pytest.mark.parametrize("error", [KeyboardInterrupt(), OSError(28, "No space left on device")])
@pytest.mark.parametrize("at", range(1, 6))
def test_broken_move_puts_everything_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, error: BaseException, at: int
) -> None:
    (tmp_path / "a.txt").write_text("old a")
    (tmp_path / "c.txt").write_text("old c")
    before = everything(tmp_path)
    # Five moves: old a, new a, new b, old c, new c.
    stop = Stop(Path.replace, at, error)

    def replace(path: Path, target: Path) -> Path:
        return stop(path, target)

    monkeypatch.setattr(Path, "replace", replace)
    with pytest.raises((KeyboardInterrupt, CannotWrite)):
        write_folder(tmp_path, {"a.txt": "1", "b/b.txt": "2", "c.txt": "3"}, force=True)
    assert everything(tmp_path) == before


@pytest.mark.parametrize("exists", [False, True])
@pytest.mark.parametrize("at", [1, 2])
def test_broken_build_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, exists: bool, at: int
) -> None:
    folder = tmp_path / "out"
    if exists:
        folder.mkdir()
    before = everything(tmp_path)
    monkeypatch.setattr(os, "fsync", Stop(os.fsync, at, OSError(28, "full")))
    with pytest.raises(CannotWrite, match="full"):
        write_folder(folder, {"a.txt": "1", "b.txt": "2"})
    assert everything(tmp_path) == before


def test_folder_in_the_way_of_a_file_changes_nothing(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_text("old")
    (tmp_path / "b.txt").mkdir()
    before = everything(tmp_path)
    with pytest.raises(CannotWrite):
        write_folder(tmp_path, {"a.txt": "1", "b.txt": "2"}, force=True)
    assert everything(tmp_path) == before


@pytest.mark.parametrize("name", ["", "/x", "../x", "a/../../x", "a\\b", "c:x"])
def test_names_stay_inside_the_folder(tmp_path: Path, name: str) -> None:
    with pytest.raises(ValueError, match="inside the folder"):
        write_folder(tmp_path / "out", {name: "x"})
    assert everything(tmp_path) == {}


def test_loggers_stand_below_the_package_and_are_silent() -> None:
    assert logger("solve").name == "loopplan.solve"
    handlers = logging.getLogger("loopplan").handlers
    assert any(isinstance(handler, logging.NullHandler) for handler in handlers)
