"""Placement records in files of a folder: reading all of them, and adding to one without touching what is in it.

A folder is named on the command line (``--records``), by the environment (``CRANKLINE_RECORDS``, several as the system writes lists of
folders), or in the window's preferences. Every ``.yaml`` file in it is one of records, each row under a name of its own:

    records: 1
    rows:
      red_42: {car: "...", basis: measured, body: full, wheelbase: 112 in, axle_to_block: 83.5 in, crank_height: 10 in, ...}

A row that is wrong costs only itself.
"""
from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from .. import schema, source
from ..carfile.lines import block, quoted
from ..carfile.writer import written
from ..catalog import shop
from ..record import difference
from ..replacing import replacing, write
from ..source import SourceError
from .placement_record import PlacementRecord

VARIABLE = "CRANKLINE_RECORDS"
"""Variable of the environment that names folders."""

FILE = "records.yaml"
"""The file of a folder that rows are added to."""

LONGEST_NAME = 60
BEGIN = "records: 1\nrows:\n"


@dataclass(frozen=True)
class Entry:
    """A record, its name in the collection, and where it was read."""
    name: str
    record: PlacementRecord
    file: str = ""
    line: int = 0

    @property
    def where(self) -> str:
        """``FILE:LINE``, for messages."""
        return f"{self.file}:{self.line}"


@dataclass(frozen=True)
class Collection:
    """Records in the order of their files and rows, and what could not be read: none of that is in ``entries``."""
    entries: tuple[Entry, ...] = ()
    problems: tuple[SourceError, ...] = ()

    @cached_property
    def by_name(self) -> dict[str, Entry]:
        """Name to entry."""
        return {entry.name: entry for entry in self.entries}

    @property
    def invented(self) -> int:
        """How many of the records are invented."""
        return sum(entry.record.invented for entry in self.entries)

    def own(self) -> Collection:
        """The collection without invented records: what may be on a kit sheet."""
        return Collection(tuple(entry for entry in self.entries if not entry.record.invented), self.problems)


def of_environment() -> tuple[str, ...]:
    """The folders that the environment names."""
    return shop.of_environment(VARIABLE)


def load(folders: Iterable[str | os.PathLike[str]]) -> Collection:
    """Every record of some folders. Nothing is raised: a folder, file or row that cannot be read is a problem of the collection."""
    found: dict[str, Entry] = {}
    problems: list[SourceError] = []
    for folder in dict.fromkeys(os.path.abspath(os.fspath(one)) for one in folders):
        try:
            paths = list(_files(folder))
        except OSError as error:
            problems.append(SourceError(folder, None, "", f"the folder of records cannot be read ({error.strerror}); name a folder with "
                                        "files of records"))
            continue
        for path in paths:
            for one in read(path):
                if isinstance(one, SourceError):
                    problems.append(one)
                elif one.name in found:
                    problems.append(SourceError(one.file, one.line, f"rows.{one.name}", f"a record of this name is in "
                                                f"{found[one.name].where} already; give this one another name"))
                else:
                    found[one.name] = one
    return Collection(tuple(found.values()), tuple(problems))


def _files(folder: str) -> Iterator[str]:
    for name in sorted(os.listdir(folder)):
        if os.path.splitext(name)[1].lower() in (".yaml", ".yml") and not name.startswith("."):
            yield os.path.join(folder, name)


def read(path: str) -> Iterator[Entry | SourceError]:
    """Every record of a file, or what is wrong with it: one sentence a thing, with file, line and field."""
    try:
        rows = _rows(source.read(path))
    except SourceError as error:
        yield error
        return
    typing = schema.Typing()
    for name, node in rows.items():
        try:
            if told := wrong_name(name):
                raise node.error(told)
            node.expect("mapping")
            yield Entry(name, typing.record(node, PlacementRecord), path, node.line)
        except source.SourceErrors as errors:
            yield from errors.errors
        except SourceError as error:
            yield error


def _rows(root: source.Node) -> Mapping[str, source.Node]:
    for key, node in root.mapping.items():
        if key not in ("records", "rows"):
            raise schema.unknown(node, key, ("records", "rows"))
    if root.at("records").value != "1":
        raise root.at("records").error("a file of records begins with 'records: 1'; keep other files in another folder")
    return root.rows()


def wrong_name(name: str) -> str:
    """What is wrong with the name of a record; empty where it may be one."""
    if not name or name != name.strip() or not name.isprintable() or len(name) > LONGEST_NAME:
        return f"{source.quoted(name)} is not a name for a record; use letters, digits and signs, at most {LONGEST_NAME}"
    return ""


def free_name(car: str, taken: Iterable[str]) -> str:
    """A name for a record of a car that none has yet: the car's in small letters, with a number where that is taken."""
    stem = "_".join("".join(c if c.isalnum() else " " for c in car.lower()).split())[:LONGEST_NAME - 6] or "car"
    held, name, number = set(taken), stem, 1
    while name in held:
        number += 1
        name = f"{stem}_{number}"
    return name


# --- adding ------------------------------------------------------------------------------------------------------------

def add(path: str | os.PathLike[str], rows: Mapping[str, PlacementRecord], system: str = "in") -> None:
    """Write records after the last one of a file, or into a new one; every byte that is in it stays.

    system: unit of lengths that are written, ``in`` or ``mm``. SourceError, one sentence, where a name is taken in that file, the file is
    none that rows can be added to, or it cannot be written: then it is as it was.
    """
    name = os.fspath(path)
    try:
        before = b""
        if os.path.exists(name):
            with open(name, "rb") as stream:
                before = stream.read()
        after = _longer(before, rows, system, name)
        os.makedirs(os.path.dirname(os.path.abspath(name)), exist_ok=True)
        with replacing(name) as temporary:
            write(temporary, after)
            _verify(os.fspath(temporary), name, rows, before)
    except OSError as error:
        raise source.unwritable(name, error) from None


def _longer(before: bytes, rows: Mapping[str, PlacementRecord], system: str, name: str) -> bytes:
    """The bytes of a file with rows after its last one, in the file's own ends of lines and depth of rows."""
    depth, end = 2, "\r\n" if b"\r\n" in before else "\n"
    for one in rows:
        if wrong := wrong_name(one):
            raise SourceError(name, None, "", wrong)
    if before.strip():
        there = _rows(source.parse(before, name))
        for one in rows:
            if one in there:
                raise there[one].error("a record of this name is here already; give the new one another name")
        if there:
            line = before.splitlines()[min(node.line for node in there.values()) - 1]
            depth = len(line) - len(line.lstrip()) or depth
    lines = [line for one, record in rows.items() for line in block(quoted(one), list(written(record, system, name)), depth)]
    added = "".join(line + end for line in lines)
    if not before.strip():
        return before + (BEGIN.replace("\n", end) + added).encode()
    return before + (b"" if before.endswith(b"\n") else end.encode()) + added.encode()


def _verify(temporary: str, name: str, rows: Mapping[str, PlacementRecord], before: bytes) -> None:
    """SourceError unless what was written holds the rows of before and the new ones, and the file is still the one that was read."""
    cannot = "rows cannot be added to the way in which this file is written; name another one with --file"
    try:
        found = _rows(source.read(temporary))
        was = _rows(source.parse(before, name)) if before.strip() else {}
    except SourceError as error:
        too_large = os.path.getsize(temporary) > source.LIMIT
        raise SourceError(name, None, "", f"with more rows the file would be over {source.LIMIT:,} bytes; name another one with --file"
                          if too_large else f"{cannot} ({error.problem})") from None
    if {key: source.plain_data(node) for key, node in was.items()} != {
            key: source.plain_data(node) for key, node in found.items() if key not in rows} or any(one not in found for one in rows):
        raise SourceError(name, None, "", cannot)
    typing = schema.Typing()
    for one, record in rows.items():
        if differences := difference(typing.record(found[one], PlacementRecord), record):
            raise SourceError(name, None, f"rows.{one}", f"the record was not written, because it would read back differently at "
                              f"{differences[0]}")
    held = b""
    if os.path.exists(name):
        with open(name, "rb") as stream:
            held = stream.read()
    if held != before:
        raise SourceError(name, None, "", "the file has been changed meanwhile; nothing was written, so run it again")
