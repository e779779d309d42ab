"""Settings for all tests, and the fixture behind docs/validation.md."""

from __future__ import annotations

from collections.abc import Sequence
from typing import SupportsFloat

import pytest
from hypothesis import settings

from tests.validation_page import PAGE, TESTS, Published, Row, files_with_checks, page

# No deadline: one slow example on a busy machine is no failure. Derandomised: a check
# of the same code gives the same answer everywhere.
settings.register_profile("loopplan", deadline=None, derandomize=True, print_blob=True)
settings.load_profile("loopplan")

FIXTURE = "published"


class Record:
    """The checks of one run of the tests."""

    def __init__(self) -> None:
        self.rows: list[Row] = []
        self.done: set[str] = set()
        self.left_out = False
        self.message = ""


RECORD = pytest.StashKey[Record]()


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--write-validation", action="store_true", help="write docs/validation.md (full run only)"
    )


def pytest_configure(config: pytest.Config) -> None:
    config.stash[RECORD] = Record()


def pytest_deselected(items: Sequence[pytest.Item]) -> None:
    for item in items:
        if FIXTURE in getattr(item, "fixturenames", ()):
            item.config.stash[RECORD].left_out = True


@pytest.fixture
def published(request: pytest.FixtureRequest) -> Published:
    """Check a computed value against a published one, and record it for docs/validation.md."""
    record = request.config.stash[RECORD]
    file = request.path.relative_to(TESTS).as_posix()

    def check(
        check_id: str,
        source: str,
        quantity: str,
        published: float,
        computed: SupportsFloat,
        tolerance: float | str,
        unit: str,
        evidence: str,
    ) -> None:
        row = Row(
            file,
            check_id,
            source,
            quantity,
            float(published),
            float(computed),
            tolerance,
            unit,
            evidence,
        )
        row.check()
        twin = any((r.check_id, r.quantity) == (check_id, quantity) for r in record.rows)
        assert not twin, f"{check_id} {quantity} is recorded twice"
        record.rows.append(row)
        record.done.add(request.node.nodeid)

    return check


def is_full(session: pytest.Session, record: Record) -> bool:
    """Tell whether every check of every file was run."""
    items = [item for item in session.items if FIXTURE in getattr(item, "fixturenames", ())]
    picked = any("::" in arg for arg in session.config.args)
    return (
        not record.left_out
        and not picked
        and files_with_checks() <= {item.path for item in items}
        and {item.nodeid for item in items} <= record.done
    )


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    record = session.config.stash[RECORD]
    write = session.config.getoption("--write-validation")
    if session.config.option.collectonly:
        return
    if exitstatus != pytest.ExitCode.OK or not is_full(session, record):
        if write:
            record.message = f"{PAGE.name} was not written: that takes a full run that passes"
            if exitstatus == pytest.ExitCode.OK:
                session.exitstatus = pytest.ExitCode.USAGE_ERROR
        return
    text = page(record.rows)
    if write:
        PAGE.write_text(text, encoding="utf-8")
        record.message = f"{PAGE.name} written, {len(record.rows)} rows"
    elif not PAGE.exists() or PAGE.read_text(encoding="utf-8") != text:
        record.message = f"{PAGE.name} is stale; run `python -m pytest --write-validation`"
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    message = terminalreporter.config.stash[RECORD].message
    if message:
        terminalreporter.section("validation page")
        terminalreporter.line(message)
