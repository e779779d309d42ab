"""A scenario file as text: checked YAML 1.2, nested keys, and the line of each.

Nothing is guessed here: every scalar stays the text that was written, so that ``no``, ``1:30`` and
``2024-01-01`` reach the models as text. What the format does not need (anchors, aliases, tags, more
documents) is refused while the parser's events go by, before anything is built from them.
"""

from __future__ import annotations

import stat
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeAlias

from loopplan.errors import BadFile, Problem
from loopplan.scenario._document_words import (
    Refusals,
    check_characters,
    decode,
    forbidden_character,
    key_path,
    key_text,
    syntax_problem,
)

Node: TypeAlias = "str | dict[str, Node] | list[Node] | None"
KeyPath: TypeAlias = "tuple[str | int, ...]"

LARGEST_FILE = 5_000_000
"""Largest scenario file [bytes]."""
DEEPEST_NESTING = 20
"""Most keys and lists within one another."""
MOST_VALUES = 200_000
"""Most keys and values in one file."""

_NULLS = {"", "~", "null", "Null", "NULL"}


@dataclass(frozen=True)
class Document:
    """A scenario file as nested text.

    `tree` holds dicts, lists and text (None where nothing is written); `lines` gives the line of
    each key path, counted from 1.
    """

    name: str
    tree: dict[str, Node]
    lines: dict[KeyPath, int]

    def line(self, path: KeyPath) -> int:
        """Return the line of `path`, or of the nearest key above it that the file has."""
        for length in range(len(path), -1, -1):
            if path[:length] in self.lines:
                return self.lines[path[:length]]
        return 1


def load(source: Path | str | bytes, name: str = "") -> Document:
    """Read a scenario: from a file (Path), or from its text (str) or bytes.

    `name` is what problems call the file; the path if left out.

    Raises :class:`loopplan.errors.BadFile` with every problem found.
    """
    if isinstance(source, Path):
        name = name or str(source)
        source = _read(source, name)
    name = name or "<text>"
    # A text of n characters has at least n bytes: a long one needs no encoding to be refused.
    if len(source) > LARGEST_FILE:
        raise _too_large(name, len(source))
    if isinstance(source, str):
        source = source.encode("utf-8", "surrogatepass")
        if len(source) > LARGEST_FILE:
            raise _too_large(name, len(source))
    text = decode(source, name)
    check_characters(text, name)
    return _Builder(name, text).build()


def _read(path: Path, name: str) -> bytes:
    def refuse(message: str, cure: str) -> BadFile:
        return BadFile([Problem(name, 0, "", "", message, cure)])

    try:
        status = path.stat()
        if stat.S_ISDIR(status.st_mode):
            raise refuse("this is a folder", "give the scenario file in it")
        # Opening a pipe or a device could wait for ever.
        if not stat.S_ISREG(status.st_mode):
            raise refuse("this is not an ordinary file", "give a scenario file")
        if status.st_size > LARGEST_FILE:
            raise _too_large(name, status.st_size)
        with path.open("rb") as file:
            return file.read(LARGEST_FILE + 1)
    except FileNotFoundError:
        raise refuse("there is no such file", "check the name and the folder") from None
    except (OSError, ValueError) as error:
        if isinstance(error, BadFile):
            raise
        reason = getattr(error, "strerror", None) or str(error)
        raise refuse(f"the file cannot be read: {reason}", "check its name and rights") from None


def _too_large(name: str, size: int) -> BadFile:
    message = f"the file is too large: {size} bytes or more, and {LARGEST_FILE} are allowed"
    cure = "give a scenario file; readings belong in a CSV file"
    return BadFile([Problem(name, 0, "", "", message, cure)])


class _Builder:
    """Builds the tree from the parser's events; bad things are noted and read on where possible."""

    def __init__(self, name: str, text: str) -> None:
        self.name = name
        self.text = text
        self.lines: dict[KeyPath, int] = {}
        self.values = 0
        self.refused = Refusals(name, text)
        self.events = self._stream()

    def build(self) -> Document:
        """Return the document, or raise BadFile with all that was found."""
        from ruamel.yaml import events

        self.kinds = events
        tree: Node = None
        documents = 0
        for event in self.events:
            if isinstance(event, events.DocumentStartEvent):
                documents += 1
                if documents > 1:
                    line = event.start_mark.line + 1
                    cure = "keep one scenario in a file; take out the '---'"
                    self.refused.stop(line, (), "a second document begins here", cure)
                if event.version not in (None, (1, 2)) or event.tags:
                    cure = "take out the lines that begin with '%'"
                    self.refused.note(1, (), "a YAML directive is not used here", cure)
            elif isinstance(event, (events.StreamStartEvent, events.StreamEndEvent)):
                continue
            elif not isinstance(event, events.DocumentEndEvent):
                if not isinstance(event, events.MappingStartEvent):
                    cure = "begin with keys such as 'farm:' at the left edge"
                    self.refused.stop(event.start_mark.line + 1, (), "keys are due here", cure)
                self.lines[()] = event.start_mark.line + 1
                tree = self._node(event, (), 1)
        if not documents:
            self.refused.stop(0, (), "the file is empty", "describe a loop in it")
        self.refused.finish()
        assert isinstance(tree, dict)
        return Document(self.name, tree, self.lines)

    def _stream(self) -> Iterator[Any]:
        from ruamel.yaml import YAML

        stream = YAML(typ="safe", pure=True).parse(self.text)
        while True:
            try:
                event = next(stream)
            except StopIteration:
                return
            # Besides its own errors the parser lets IndexError, OverflowError and others through on
            # broken input; all of them mean a file that cannot be read. Only the parser runs here.
            except Exception as error:
                self.refused.add(syntax_problem(error, self.name, self.text))
                self.refused.finish()
            yield event

    def _node(self, event: Any, path: KeyPath, depth: int) -> Node:
        self._refuse_extras(event, path)
        if isinstance(event, self.kinds.ScalarEvent):
            return self._scalar(event, path)
        if depth > DEEPEST_NESTING:
            cure = "check the brackets and indents: no scenario needs so many"
            message = f"more than {DEEPEST_NESTING} keys and lists lie within one another"
            self.refused.stop(event.start_mark.line + 1, path[:3], message, cure)
        if isinstance(event, self.kinds.MappingStartEvent):
            return self._mapping(path, depth)
        if isinstance(event, self.kinds.SequenceStartEvent):
            return self._list(path, depth)
        return None

    def _mapping(self, path: KeyPath, depth: int) -> Node:
        found: dict[str, Node] = {}
        for event in self.events:
            if isinstance(event, self.kinds.MappingEndEvent):
                break
            line = event.start_mark.line + 1
            if not isinstance(event, self.kinds.ScalarEvent):
                self.refused.stop(line, path, "a key is not plain text", "write a name as the key")
            key = self._node(event, path, depth)
            if not isinstance(key, str) or not key.strip():
                self.refused.note(line, path, "a key is empty", "write a name before the ':'")
                key = ""
            below = (*path, key)
            doubled = key and key in found
            if doubled:
                message = f"'{key_text(key)}' stands twice: in line {self.lines[below]} and {line}"
                self.refused.note(line, below, message, "keep one of the two, or rename one")
            kept = self.lines.get(below, line)
            self.lines[below] = line
            value = self._node(next(self.events), below, depth + 1)
            if doubled:
                self.lines[below] = kept
            else:
                found[key] = value
        return found

    def _list(self, path: KeyPath, depth: int) -> Node:
        items: list[Node] = []
        for event in self.events:
            if isinstance(event, self.kinds.SequenceEndEvent):
                break
            below = (*path, len(items))
            self.lines[below] = event.start_mark.line + 1
            items.append(self._node(event, below, depth + 1))
        return items

    def _scalar(self, event: Any, path: KeyPath) -> str | None:
        self.values += 1
        line = event.start_mark.line + 1
        if self.values > MOST_VALUES:
            message = f"the file holds more than {MOST_VALUES} keys and values"
            cure = "use 'count:' for like units; readings belong in a CSV file"
            self.refused.stop(line, path, message, cure)
        value: str = event.value
        if event.implicit[0] and value in _NULLS:
            return None
        bad = forbidden_character(value)
        if bad:
            # Only a backslash in double quotes can still bring one in.
            cure = "take the backslash out, or use single quotes"
            self.refused.note(line, path, f"the text holds {bad[1]}", cure)
        return value

    def _refuse_extras(self, event: Any, path: KeyPath) -> None:
        line = event.start_mark.line + 1
        if isinstance(event, self.kinds.AliasEvent):
            cure = "write the values out again, or put quotes round a text that begins with '*'"
            message = f"an alias (*{key_text(event.anchor)}) is not used here"
            self.refused.note(line, path, message, cure)
            return
        if event.anchor is not None:
            cure = "take it out, or put quotes round a text that begins with '&'"
            message = f"an anchor (&{key_text(event.anchor)}) is not used here"
            self.refused.note(line, path, message, cure)
        if event.tag is not None:
            cure = "take it out, or put quotes round a text that begins with '!'"
            self.refused.note(line, path, f"a tag ({key_text(event.tag)}) is not used here", cure)


__all__ = ["Document", "KeyPath", "Node", "key_path", "load"]
