"""Text files in the project's subset of YAML, as a tree in which every value knows its file, line and key path.

Car files, catalogs and rule sets are read here and nowhere else. The tree is built from parser events, not from
PyYAML's constructors: every scalar stays text until a description types it (``schema``), nothing is resolved, and nesting,
aliases and tags are refused at the first event, so that no hostile file costs time or memory.
"""
from __future__ import annotations

import contextlib
import os
import re
import stat
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, cast

import yaml

from .units import quoted as quoted

LIMIT = 1_000_000
"""Largest file in bytes."""
DEPTH = 20
"""Deepest nesting of mappings and lists."""

_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_UNPRINTABLE = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_NOUNS = {"scalar": "a single value", "mapping": "a mapping {key: value}", "list": "a list"}


class SourceError(ValueError):
    """A file that is refused. The text is one sentence: ``FILE:LINE: key.path: what was found; what is allowed.``"""

    def __init__(self, file: str, line: int | None, path: str, problem: str) -> None:
        self.file, self.line, self.path, self.problem = file, line, path, problem
        path = path if len(path) <= 120 else "..." + path[-117:]
        where = one_line(file) + (f":{line}" if line else "")
        text = f"{where}: {path}: {problem}" if path else f"{where}: {problem}"
        super().__init__(one_line(text if text.endswith(".") else text + "."))


def unreadable(file: str, error: Exception) -> SourceError:
    """What is said of a file that the system does not let us read."""
    return SourceError(file, None, "", f"the file cannot be read ({getattr(error, 'strerror', None) or error}); check its name and "
                                       "permissions")


def unwritable(file: str, error: OSError) -> SourceError:
    """What is said of a file that the system does not let us write."""
    return SourceError(file, None, "", f"the file cannot be written ({error.strerror}); check the folder and its permissions")


class SourceErrors(SourceError):
    """Everything that is wrong in a file, one sentence a line; file, line, path and problem are those of the first."""

    def __init__(self, errors: Sequence[SourceError]) -> None:
        first = errors[0]
        super().__init__(first.file, first.line, first.path, first.problem)
        self.errors = tuple(errors)
        self.args = ("\n".join(map(str, errors)),)


class Problems:
    """What is wrong in a file, gathered so that all of it is told at once."""

    MOST = 40
    """More are not told: who has that many reads no list of them."""

    def __init__(self) -> None:
        self._found: list[SourceError] = []

    def __bool__(self) -> bool:
        return bool(self._found)

    def add(self, error: SourceError) -> None:
        """One more, or several that were gathered below; raises them all once they are too many."""
        self._found += error.errors if isinstance(error, SourceErrors) else [error]
        if len(self._found) >= self.MOST:
            del self._found[self.MOST:]
            self.tell()

    @contextlib.contextmanager
    def gathered(self) -> Iterator[None]:
        """What is refused meanwhile is gathered, and no more of it is done."""
        try:
            yield
        except SourceError as error:
            self.add(error)

    def tell(self) -> None:
        """SourceError with all that was gathered; nothing where nothing was."""
        if self._found:
            raise self._found[0] if len(self._found) == 1 else SourceErrors(self._found)


@dataclass(frozen=True)
class Node:
    """A value of the file: ``value`` is text, a dict of key to Node, or a tuple of Nodes; ``line`` counts from 1."""
    kind: str
    value: str | dict[str, Node] | tuple[Node, ...]
    file: str
    line: int
    path: str
    plain: bool = False
    """Whether the text was written without quotes."""

    @property
    def text(self) -> str:
        """The text of a scalar; SourceError where it is none."""
        self.expect("scalar")
        return cast(str, self.value)

    @property
    def mapping(self) -> dict[str, Node]:
        """Key to node of a mapping; SourceError where it is none."""
        self.expect("mapping")
        return cast("dict[str, Node]", self.value)

    @property
    def items(self) -> tuple[Node, ...]:
        """The nodes of a list; SourceError where it is none."""
        self.expect("list")
        return cast("tuple[Node, ...]", self.value)

    def error(self, problem: str) -> SourceError:
        """The error that this value is to blame for."""
        return SourceError(self.file, self.line, self.path, problem)

    def at(self, *keys: str) -> Node:
        """The node below, or the deepest that exists on the way to it."""
        node = self
        for key in keys:
            if node.kind != "mapping" or key not in node.mapping:
                break
            node = node.mapping[key]
        return node

    def rows(self) -> dict[str, Node]:
        """The named rows of a table: what stands below ``rows``."""
        rows = self.at("rows")
        if rows is self or rows.kind != "mapping":
            raise rows.error("the rows are missing; add rows: {name: {...}}")
        return rows.mapping

    def blame(self, problem: str, *keys: str) -> SourceError:
        """The error at a key path below, with the line of the deepest node that exists on the way to it."""
        return SourceError(self.file, self.at(*keys).line, joined(self.path, ".".join(keys)), problem)

    @property
    def noun(self) -> str:
        """What it is, for messages."""
        if self.kind != "scalar":
            return _NOUNS[self.kind]
        return quoted(self.text) if self.text.strip() else "nothing"

    def expect(self, kind: str) -> None:
        """SourceError unless the node is a ``scalar``, ``mapping`` or ``list``."""
        if self.kind != kind:
            raise self.error(f"{self.noun} was found; {_NOUNS[kind]} is allowed here")


def joined(path: str, key: str) -> str:
    """A key path with one more key."""
    return f"{path}.{key}" if path and key else path or key


def one_line(text: str) -> str:
    """The text without line breaks and control characters."""
    return "".join(c if c.isprintable() else " " for c in text)


def read(path: str | os.PathLike[str]) -> Node:
    """The top mapping of a file; SourceError for whatever is no such file. A file over ``LIMIT`` is not read."""
    name = os.fspath(path)
    return parse(_bytes(name), name)


def _bytes(name: str) -> bytes:
    try:
        status = os.stat(name)
        if stat.S_ISDIR(status.st_mode):
            raise SourceError(name, None, "", "this is a folder; name a file")
        if not stat.S_ISREG(status.st_mode):
            raise SourceError(name, None, "", "this is not an ordinary file; name a file")
        if status.st_size > LIMIT:
            raise _too_large(name, f"{status.st_size:,} bytes")
        with open(name, "rb") as stream:
            data = stream.read(LIMIT + 1)
    except FileNotFoundError:
        raise SourceError(name, None, "", "there is no such file; check name and folder") from None
    except (OSError, ValueError) as error:
        if isinstance(error, SourceError):
            raise
        raise unreadable(name, error) from None
    if len(data) > LIMIT:
        raise _too_large(name, f"more than {LIMIT:,} bytes")
    return data


def _too_large(name: str, size: str) -> SourceError:
    return SourceError(name, 1, "", f"the file has {size}; at most {LIMIT:,} are allowed, so this is probably another file")


def parse(data: str | bytes, name: str) -> Node:
    """The top mapping of a text; ``name`` stands for the file in messages."""
    text = _decoded(data, name) if isinstance(data, bytes) else data
    if len(text) > LIMIT:
        raise _too_large(name, f"{len(text):,} characters")
    text = text.removeprefix("\ufeff")
    bad = _UNPRINTABLE.search(text)
    if bad:
        raise SourceError(name, text.count("\n", 0, bad.start()) + 1, "",
                          f"the control character U+{ord(bad.group()):04X} was found; a plain text file is allowed")
    builder = _Builder(name)
    try:
        for event in yaml.parse(text, Loader=_LOADER):
            builder.take(event)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line = mark.line + 1 if mark else 1
        lines = text.splitlines()
        near = lines[min(line, len(lines)) - 1] if lines else ""
        if "\t" in near[:len(near) - len(near.lstrip())] or "'\\t'" in str(error.problem):
            raise SourceError(name, line, builder.path, "a tab was found; indent with spaces") from None
        what = " ".join(filter(None, (error.context, error.problem))).replace("\n", " ")
        raise SourceError(name, line, builder.path, f"the text cannot be read here ({what}); check indentation, brackets, "
                                                    "quotes and colons") from None
    except yaml.YAMLError as error:
        raise SourceError(name, 1, "", f"the text cannot be read ({one_line(str(error))}); write plain UTF-8 text") from None
    if builder.root is None or (builder.root.kind == "scalar" and not builder.root.value):
        raise SourceError(name, 1, "", "the file is empty; a mapping of sections is expected")
    if builder.root.kind != "mapping":
        raise SourceError(name, builder.root.line, "", f"{builder.root.noun} was found; the file must be a mapping of sections")
    return builder.root


def _decoded(data: bytes, name: str) -> str:
    if data[:4] == b"PK\x03\x04":
        raise SourceError(name, None, "", "the file is an archive, such as a FreeCAD document; a text is allowed here, such as car.yaml")
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise SourceError(name, 1, "", "the file is in UTF-16 or UTF-32; save it as UTF-8")
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise SourceError(name, line, "", f"the byte 0x{data[error.start]:02X} is not UTF-8 text; save the file as UTF-8") from None
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        raise SourceError(name, line, "", "a zero byte was found, so this is a binary or UTF-16 file; a UTF-8 text is allowed")
    return text


class _Open:
    """A mapping or list whose end was not seen yet."""

    def __init__(self, kind: str, path: str, line: int) -> None:
        self.kind, self.path, self.line = kind, path, line
        self.mapping: dict[str, Node] = {}
        self.items: list[Node] = []
        self.key: str | None = None
        self.key_line = line


class _Builder:
    def __init__(self, name: str) -> None:
        self.name = name
        self.root: Node | None = None
        self.stack: list[_Open] = []
        self.documents = 0

    @property
    def path(self) -> str:
        """Key path of what is being read."""
        return self._below()[0] if self.stack else ""

    def _below(self) -> tuple[str, int]:
        top = self.stack[-1]
        if top.kind == "list":
            return f"{top.path}[{len(top.items) + 1}]", 0
        return (joined(top.path, top.key), top.key_line) if top.key is not None else (top.path, 0)

    def take(self, event: yaml.Event) -> None:
        """Add one event to the tree."""
        if isinstance(event, yaml.DocumentStartEvent):
            self.documents += 1
            if self.documents > 1:
                raise SourceError(self.name, event.start_mark.line + 1, "",
                                  "a second document was found; one file holds one document, so remove the line '---'")
        if not isinstance(event, yaml.NodeEvent):
            if isinstance(event, yaml.CollectionEndEvent):
                self._close()
            return
        line = event.start_mark.line + 1
        path, key_line = self._below() if self.stack else ("", 0)
        if isinstance(event, yaml.AliasEvent) or event.anchor is not None:
            sign = "*" if isinstance(event, yaml.AliasEvent) else "&"
            raise SourceError(self.name, line, path, f"{quoted(sign + event.anchor)} is an alias or anchor; write the values out, "
                                                     "and quote a text that begins with & or *")
        if event.tag is not None:
            raise SourceError(self.name, line, path, f"the tag {quoted(event.tag)} was found; tags are not allowed, write the plain value")
        top = self.stack[-1] if self.stack else None
        owner = top if top is not None and top.kind == "mapping" and top.key is None else None
        if isinstance(event, yaml.ScalarEvent):
            if owner is not None:
                self._key(owner, event.value, line)
            else:
                plain = event.style is None or event.style == ""
                self._add(Node("scalar", event.value, self.name, line, path, plain))
            return
        if owner is not None:
            raise SourceError(self.name, line, path, "a mapping or list was found where a key belongs; write key: value")
        if len(self.stack) >= DEPTH:
            raise SourceError(self.name, line, path, f"the nesting is deeper than {DEPTH} levels; a car file needs no more than 8")
        self.stack.append(_Open("mapping" if isinstance(event, yaml.MappingStartEvent) else "list", path, key_line or line))

    def _key(self, top: _Open, key: str, line: int) -> None:
        if key in top.mapping:
            raise SourceError(self.name, line, joined(top.path, quoted(key)[1:-1]),
                              f"the key appears twice, first in line {top.mapping[key].line}; remove one")
        top.key, top.key_line = key, line

    def _add(self, node: Node) -> None:
        if not self.stack:
            self.root = node
            return
        top = self.stack[-1]
        if top.kind == "list":
            top.items.append(node)
        elif top.key is not None:
            top.mapping[top.key] = node
            top.key = None

    def _close(self) -> None:
        done = self.stack.pop()
        value = done.mapping if done.kind == "mapping" else tuple(done.items)
        self._add(Node(done.kind, value, self.name, done.line, done.path))


def plain_data(node: Node) -> Any:
    """The tree as dicts, lists and text."""
    if node.kind == "mapping":
        return {key: plain_data(value) for key, value in node.mapping.items()}
    return [plain_data(value) for value in node.items] if node.kind == "list" else node.text
