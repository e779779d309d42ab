"""Files that are written whole or not at all, and the package's logging.

A file is built beside its target and moved over it, so that a full disk, an error or an interrupt
leaves either the old file or the new one, never half of one.
"""

from __future__ import annotations

import logging
import os
import secrets
import shutil
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path, PurePosixPath

from loopplan.errors import LoopplanError

logging.getLogger("loopplan").addHandler(logging.NullHandler())


class CannotWrite(LoopplanError):
    """A result cannot be written where it was asked for; nothing was changed.

    `cure` says what would do.
    """

    exit_code = 2

    def __init__(self, path: Path, message: str, cure: str) -> None:
        self.path = path
        self.cure = cure
        super().__init__(f"{path}: {message}")


def logger(name: str) -> logging.Logger:
    """Return the logger ``loopplan.<name>``; silent unless the user sets up logging."""
    return logging.getLogger(f"loopplan.{name}")


def write_text(path: Path, text: str) -> None:
    """Write `text` to `path` as UTF-8 with plain line ends, whole or not at all.

    Raises :class:`CannotWrite` if the place does not allow it.
    """
    write_bytes(path, text.encode("utf-8"))


def write_bytes(path: Path, data: bytes) -> None:
    """Write `data` to `path`, whole or not at all; an existing file keeps its permissions.

    Raises :class:`CannotWrite` if the place does not allow it.
    """
    with _plain_words(path):
        # Through a link, so that the file it points to is renewed and the link stays one.
        target = path.resolve()
        if target.is_dir():
            raise CannotWrite(path, "is a folder; a file is to be written", "give a file name")
        # A move over a device such as /dev/null would take the device away.
        if target.exists() and not target.is_file():
            raise CannotWrite(path, "is not an ordinary file", "give a file name")
        sibling = target.with_name(_temporary(target.name))
        try:
            _write_through(sibling, data)
            if target.exists():
                shutil.copymode(target, sibling)
            sibling.replace(target)
        except BaseException:
            sibling.unlink(missing_ok=True)
            raise


def prepare_folder(path: Path, force: bool = False) -> Path:
    """Make sure that `path` is a folder to write results into, and return it.

    Raises :class:`CannotWrite` if it is a file, cannot be made, or is not empty and not `force`.
    """
    with _plain_words(path):
        _check_folder(path, force)
        path.mkdir(parents=True, exist_ok=True)
    return path


def write_folder(path: Path, files: Mapping[str, str | bytes], force: bool = False) -> None:
    """Write `files` (relative name to content) into the folder `path`, all of them or none.

    With `force`, files of the same name are replaced and other files in the folder are left alone.

    Raises :class:`CannotWrite` as :func:`prepare_folder` does, ValueError for a name that leads out
    of the folder.
    """
    for name in files:
        parts = PurePosixPath(name).parts
        if not parts or name.startswith("/") or ".." in parts or "\\" in name or ":" in name:
            raise ValueError(f"'{name}' is not a file name inside the folder")
    with _plain_words(path):
        _check_folder(path, force)
        # Inside an existing folder, which may be a mount of its own: a move must not cross disks.
        fresh = not path.exists()
        if fresh:
            path.parent.mkdir(parents=True, exist_ok=True)
        stage = (path.parent if fresh else path) / _temporary(path.name)
        try:
            for name, content in files.items():
                staged = stage / "new" / name
                staged.parent.mkdir(parents=True, exist_ok=True)
                _write_through(staged, content.encode() if isinstance(content, str) else content)
            (stage / "new").mkdir(parents=True, exist_ok=True)
            if fresh:
                (stage / "new").replace(path)
            else:
                _move_in(stage, path, sorted(files))
        finally:
            shutil.rmtree(stage, ignore_errors=True)


def _move_in(stage: Path, folder: Path, names: list[str]) -> None:
    """Move the staged files into `folder`, and put everything back if one of them will not go."""
    undo: list[tuple[Path, Path | None]] = []
    made: list[Path] = []
    try:
        for name in names:
            target, old = folder / name, stage / "old" / name
            missing = [p for p in target.parents if not p.exists()]
            # Noted before each step, so that an interrupt between two steps is undone as well.
            made += reversed(missing)
            target.parent.mkdir(parents=True, exist_ok=True)
            if target.is_dir():
                raise IsADirectoryError(f"'{name}' is a folder there")
            if target.exists() or target.is_symlink():
                old.parent.mkdir(parents=True, exist_ok=True)
                undo.append((target, old))
                target.replace(old)
                if old.is_file():
                    shutil.copymode(old, stage / "new" / name)
            else:
                undo.append((target, None))
            (stage / "new" / name).replace(target)
    except BaseException:
        for target, kept in reversed(undo):
            if kept is None:
                target.unlink(missing_ok=True)
            elif kept.exists() or kept.is_symlink():
                kept.replace(target)
        for parent in reversed(made):
            with suppress(OSError):
                parent.rmdir()
        raise


def _check_folder(path: Path, force: bool) -> None:
    if path.exists() and not path.is_dir():
        raise CannotWrite(path, "is a file; a folder is due", "give the name of a folder")
    if path.is_dir() and not force and any(path.iterdir()):
        raise CannotWrite(
            path, "this folder is not empty", "give an empty or a new folder, or add --force"
        )


def _temporary(name: str) -> str:
    # Short, since the name itself may already be as long as the disk allows.
    return f".{name[:40]}.{secrets.token_hex(4)}.part"


def _write_through(path: Path, data: bytes) -> None:
    with path.open("xb") as file:
        file.write(data)
        file.flush()
        # Without it a power cut after the move can leave an empty file under the good name.
        os.fsync(file.fileno())


@contextmanager
def _plain_words(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise CannotWrite(
            path, f"cannot be written: {error.strerror or error}", "check the place and its rights"
        ) from error
