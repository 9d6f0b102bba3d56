"""Placement records from and to comma-separated text. Columns are fields, with a unit where they have one: ``axle_to_block [in]``.

A column of quantities without a unit holds them with theirs (``82.5 in``). A column ``name`` holds the names of records; one that begins
with ``#`` is not read.
"""
from __future__ import annotations

import csv
import io
import os
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from .. import schema, source, spelling, units
from ..record import DIMENSIONS, Described, by_key, entries
from ..source import Node, Problems, SourceError
from .collection import Entry
from .placement_record import PlacementRecord, unit_of

_HEADER = re.compile(r"([^\[(]+?)\s*(?:[\[(]\s*([^\])]+?)\s*[\])])?")
NAME = "name"


@dataclass(frozen=True)
class Row:
    """A row that was read: its line in the file, its name (empty where the file gives none), and the record."""
    line: int
    name: str
    record: PlacementRecord


@dataclass(frozen=True)
class _Column:
    key: str
    entry: Described | None
    unit: str


def read(path: str | os.PathLike[str], basis: str) -> Iterator[Row | SourceError]:
    """Every row of a file, or what is wrong with it, with file, line and field. basis: of rows that do not say it themselves.

    SourceError where the file cannot be read at all, or a column is none: nothing of it is read then.
    """
    name = os.fspath(path)
    try:
        with open(name, encoding="utf-8-sig", newline="") as stream:
            text = stream.read(source.LIMIT + 1)
    except UnicodeDecodeError:
        raise SourceError(name, None, "", "the file is not UTF-8 text; save it as CSV UTF-8") from None
    except OSError as error:
        raise source.unreadable(name, error) from None
    if len(text) > source.LIMIT:
        raise SourceError(name, None, "", f"the file has more than {source.LIMIT:,} characters; import it in parts")
    first = text.partition("\n")[0]
    reader = csv.reader(io.StringIO(text), delimiter=max(",;\t", key=first.count))
    try:
        columns = _columns(next(reader, []), name)
        for cells in reader:
            if any(cell.strip() for cell in cells):
                try:
                    yield _row(cells, columns, name, reader.line_num, basis)
                except source.SourceErrors as errors:
                    yield from errors.errors
                except SourceError as error:
                    yield error
    except csv.Error as error:
        raise SourceError(name, reader.line_num, "", f"the line cannot be read ({error}); check its quotes") from None


def _columns(header: list[str], name: str) -> list[_Column]:
    keys, found, problems = by_key(PlacementRecord), [], Problems()
    for cell in header:
        match = _HEADER.fullmatch(cell.strip())
        key = re.sub(r"[\s-]+", "_", match[1].strip().lower()) if match else ""
        unit = match[2] or "" if match else ""
        node = Node("scalar", cell, name, 1, cell.strip() or "an empty cell")
        with problems.gathered():
            if cell.strip().startswith("#") or key == NAME:
                found.append(_Column(NAME if key == NAME else "", None, ""))
                continue
            if key not in keys:
                raise node.error(f"there is no such field{schema.closest(key, list(keys))}; {schema.listed([NAME, *keys])} is allowed, "
                                 "with its unit in brackets, and # before the name of a column that is not to be read")
            entry = entries(PlacementRecord)[keys[key]]
            allowed = tuple(units.UNITS[entry.kind]) if entry.kind in DIMENSIONS else ("%",) if entry.kind == "ratio" else ()
            if unit and unit not in allowed:
                raise node.error(f"the unit {source.quoted(unit)} was found; {schema.listed(allowed) if allowed else 'none'} is allowed")
            if key in [column.key for column in found]:
                raise node.error("there are two columns of this field; remove one")
            found.append(_Column(key, entry, unit))
    if not problems and "car" not in [column.key for column in found]:
        problems.add(SourceError(name, 1, "car", "the column is missing; the first line holds the names of the columns, among them car, "
                                 "body, wheelbase [in], axle_to_block [in], crank_height [in]"))
    problems.tell()
    return found


def _row(cells: list[str], columns: list[_Column], name: str, line: int, basis: str) -> Row:
    if len(cells) > len(columns):
        raise SourceError(name, line, "", f"the line has {len(cells)} cells, where there are {len(columns)} columns; check its commas and "
                          "quotes")
    mapping = {"basis": Node("scalar", basis, name, line, "basis")}
    called = ""
    for cell, column in zip(cells, columns):
        text = cell.strip()
        # A spreadsheet takes such a text for a formula without the apostrophe.
        text = text[1:] if re.match(r"'[=+\-@]", text) else text
        if column.key == NAME:
            called = text
        elif text and column.entry is not None:
            mapping[column.key] = Node("scalar", _with_unit(text, column), name, line, column.key)
    record: PlacementRecord = schema.Typing().record(Node("mapping", mapping, name, line, ""), PlacementRecord)
    return Row(line, called, record)


def _with_unit(text: str, column: _Column) -> str:
    """A cell as a file of records would have it."""
    if not column.unit:
        return text
    if column.unit == "%":
        number = text.removesuffix("%").strip()
        return units.decimal(float(number) / 100.0, 9) if re.fullmatch(r"\d{1,3}(\.\d{1,9})?", number) else text
    return f"{text} {column.unit}" if re.fullmatch(r"[-+]?[\d./ ]+([eE][-+]?\d+)?", text) else text


def table(listed: Iterable[Entry], system: str = "in") -> list[list[Any]]:
    """Records as rows that ``read`` reads back, the names of the columns first. system: ``in`` or ``mm``."""
    described = entries(PlacementRecord)
    head = [NAME, *(f"{entry.key} [{unit}]" if (unit := unit_of(field, system)) else entry.key for field, entry in described.items())]
    return [head, *([one.name, *(_cell(getattr(one.record, field), entry, unit_of(field, system)) for field, entry in described.items())]
                    for one in listed)]


def _cell(value: Any, entry: Described, unit: str) -> Any:
    if value is None:
        return None
    if unit:
        return units.decimal(units.to(value, entry.kind, unit), 9)
    return repr(value) if entry.kind == "ratio" else spelling.read(value)
