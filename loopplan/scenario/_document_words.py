"""What is wrong with a scenario file before its meaning is looked at, in plain words."""

from __future__ import annotations

import re
from typing import NoReturn

from loopplan.errors import BadFile, Problem

MOST_PROBLEMS = 50
"""Most problems that one file is told about at once."""
_SHOWN = 60

# Control characters; the line ends that only some programs see as such; marks that turn the reading
# direction and so make a printed report differ from what it says; halves of a surrogate pair.
_FORBIDDEN = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff"
    "\ufeff\ufffe\uffff]"
)
_LINE_END = re.compile("\r\n|\r|\n")

_QUOTE = "put quotes round the text, or check the indent of this line and the one above"
# Words of the parser's message: what it means, what would do, whether the fault is where it began.
_SYNTAX = (
    ("mapping values are not allowed", "a ':' stands where no key can be", _QUOTE, False),
    ("found character '\\t'", "a tab stands in the indent", "indent with blanks", False),
    ("found character", "a text begins with a character that has a meaning of its own",
     "put quotes round the text", False),
    ("unexpected end of stream", "a quote is opened and never closed", "close the quote", True),
    ("found unexpected document separator", "a quote is opened and never closed",
     "close the quote", True),
    ("expected ',' or", "a bracket is opened and not closed, or a comma is missing",
     "close the bracket, or put the comma", True),
    ("expected <block end>", "the indent does not fit the lines above", "line up keys of one group",
     False),
    ("could not find expected ':'", "a key has no ':' after it", "write 'key: value'", True),
    ("sequence entries are not allowed", "a '-' stands where no list can begin",
     "begin the list on a line of its own", False),
    ("unknown escape character", "a backslash in double quotes is followed by a letter that means "
     "nothing", "use single quotes", False),
    ("undefined tag handle", "a tag is not used here",
     "put quotes round a text that begins with '!'", False),
)  # fmt: skip


class Refusals:
    """Collects problems of one file; raises them together."""

    def __init__(self, name: str, text: str) -> None:
        self.name = name
        self.text = text
        self.problems: list[Problem] = []

    def add(self, problem: Problem) -> None:
        """Take up a problem; raise once there are too many to be of use."""
        self.problems.append(problem)
        if len(self.problems) >= MOST_PROBLEMS:
            self.finish()

    def note(self, line: int, path: tuple[str | int, ...], message: str, cure: str) -> None:
        """Take up a problem in a line (from 1; 0 for the file) and read on."""
        read = _line_text(self.text, line)
        self.add(Problem(self.name, line, key_path(path), read, message, cure))

    def stop(self, line: int, path: tuple[str | int, ...], message: str, cure: str) -> NoReturn:
        """Take up a problem that makes further reading senseless, and raise all."""
        self.note(line, path, message, cure)
        raise BadFile(self.problems)

    def finish(self) -> None:
        """Raise BadFile if there are problems."""
        if self.problems:
            raise BadFile(self.problems)


def key_path(path: tuple[str | int, ...]) -> str:
    """Return `path` in words: ``elements: sump: level``; items of a list count from 0."""
    return ": ".join(key_text(str(part)) for part in path)


def key_text(text: str) -> str:
    """Return `text` fit for a message: on one line, not too long, nothing invisible."""
    plain = _FORBIDDEN.sub("?", text).replace("\n", " ").replace("\t", " ").replace("\r", " ")
    return plain if len(plain) <= _SHOWN else plain[: _SHOWN - 3] + "..."


def decode(data: bytes, name: str) -> str:
    """Return `data` as text, without the mark that some editors put in front.

    Raises :class:`loopplan.errors.BadFile` with the byte and line where it is not UTF-8.
    """
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        # The first three bytes may be the mark, which the decoder does not count.
        offset = error.start + (3 if data.startswith(b"\xef\xbb\xbf") else 0)
        line = len(re.findall(rb"\r\n|\r|\n", data[:offset])) + 1
        message = f"the file is not UTF-8 text: byte {offset + 1} of it is {data[offset]:#04x}"
        cure = "save it as UTF-8 (in many editors: 'save with encoding')"
        raise BadFile([Problem(name, line, "", "", message, cure)]) from None


def forbidden_character(text: str) -> tuple[int, str] | None:
    """Return place and description of the first character that no scenario may hold, if any."""
    match = _FORBIDDEN.search(text)
    if match is None:
        return None
    return match.start(), f"the invisible character U+{ord(match[0]):04X}"


def check_characters(text: str, name: str) -> None:
    """Raise BadFile if `text` holds a character that no scenario may hold."""
    bad = forbidden_character(text)
    if bad:
        line = len(_LINE_END.findall(text, 0, bad[0])) + 1
        message, cure = f"the file holds {bad[1]}", "take it out, or save the file as plain text"
        raise BadFile([Problem(name, line, "", _line_text(text, line), message, cure)])


def syntax_problem(error: Exception, name: str, text: str) -> Problem:
    """Put an error of the YAML parser into plain words."""
    said = str(getattr(error, "problem", "") or "")
    mark = getattr(error, "problem_mark", None)
    began = getattr(error, "context_mark", None) or mark
    known = next((row for row in _SYNTAX if row[0] in said), None)
    if known is not None:
        _, message, cure, at_start = known
        place = began if at_start else mark
    else:
        place = mark or began
        detail = key_text(said.replace("<", "").replace(">", ""))
        message = f"this is not YAML: {detail}" if detail else "this is not YAML"
        cure = "write 'key: value', with keys of one group lined up"
    line = place.line + 1 if place is not None else 0
    return Problem(name, line, "", _line_text(text, line), message, cure)


def _line_text(text: str, line: int) -> str:
    if line < 1:
        return ""
    start = 0
    for _ in range(line - 1):
        end = _LINE_END.search(text, start)
        if end is None:
            return ""
        start = end.end()
    # No further than will be shown: the rest of the line may be the whole file.
    return key_text(_LINE_END.split(text[start : start + 4 * _SHOWN], maxsplit=1)[0].strip())
