"""How a command ends: every error becomes a short message and an exit code."""

from __future__ import annotations

import errno
import os
import sys
import threading
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress

import typer

from loopplan.errors import LoopplanError

FINE, FINDINGS, USAGE, BAD_FILE, NO_SOLUTION, MISSING, BUG, INTERRUPTED = 0, 1, 2, 3, 4, 5, 70, 130
"""Exit codes; part of the public interface."""

_NO_ROOM = {errno.ENOSPC, errno.EIO, getattr(errno, "EDQUOT", errno.ENOSPC)}

_PATIENCE = 1.0
"""Seconds of work after which a waiting person is told that there is work."""


def say(text: str) -> None:
    """Write a line to standard error."""
    typer.echo(text, err=True)


def finish(work: Callable[[], int], *, debug: bool) -> None:
    """Do the work of a command and leave with its exit code.

    Errors that loopplan raises on purpose are told in their own words, others as a bug of ours.
    """
    try:
        code = work()
    except LoopplanError as error:
        if debug:
            traceback.print_exc()
        say(str(error))
        cure = getattr(error, "cure", "")
        if cure:
            say(f"    what would do: {cure}")
        code = error.exit_code
    except (KeyboardInterrupt, EOFError):
        say("interrupted")
        code = INTERRUPTED
    except (typer.Exit, typer.BadParameter):
        raise
    except Exception as error:
        code = unwritten(error)
        if code < 0:
            code = our_bug(error, debug=debug)
    raise typer.Exit(code)


def unwritten(error: Exception) -> int:
    """Return the exit code where standard output took no more, -1 for any other error.

    A reader that stopped reading, such as `head`, is no error.
    """
    if isinstance(error, BrokenPipeError):
        _quiet_stdout()
        return FINE
    if isinstance(error, OSError) and error.errno in _NO_ROOM:
        _quiet_stdout()
        say(f"the output cannot be written: {error.strerror}")
        return USAGE
    return -1


@contextmanager
def reader_may_stop() -> Iterator[None]:
    """Let the rest of a command go on when nobody reads its output any more."""
    try:
        yield
    except BrokenPipeError:
        _quiet_stdout()


def _quiet_stdout() -> None:
    """Keep Python from complaining, at its end, about output that nobody took."""
    with suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)


def usage(message: str) -> Exception:
    """Return an error of usage, to be raised; it ends with exit code 2."""
    return typer.BadParameter(message)


def our_bug(error: BaseException, *, debug: bool = False) -> int:
    """Say that the fault is loopplan's, and how to report it; return the exit code."""
    if debug:
        traceback.print_exception(error)
    say(f"loopplan made an error of its own: {type(error).__name__}: {error}")
    hint = "" if debug else "; run it again with --debug to see where it happened"
    say(f"Please report it with the command, the file and `loopplan --version`{hint}.")
    return BUG


@contextmanager
def progress(what: str) -> Iterator[None]:
    """Say on standard error what takes long, to a person at a terminal only."""
    if not sys.stderr.isatty():
        yield
        return
    timer = threading.Timer(_PATIENCE, say, (f"{what} ...",))
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()


@contextmanager
def logged(verbose: bool) -> Iterator[None]:
    """Show loopplan's log on standard error while `verbose`."""
    if not verbose:
        yield
        return
    import logging

    log = logging.getLogger("loopplan")
    handler = logging.StreamHandler()
    handler.setFormatter(logging.Formatter("%(name)s: %(message)s"))
    before = log.level
    log.addHandler(handler)
    log.setLevel(logging.DEBUG)
    try:
        yield
    finally:
        log.removeHandler(handler)
        log.setLevel(before)
