"""A row of a shop's own catalog, written into its table: only its own lines change, and what was written is read back first."""
from __future__ import annotations

import os
import re
from dataclasses import replace
from typing import Any

from .. import catalog, schema, source
from ..catalog import shop
from ..catalog.used import figures
from ..record import difference
from ..replacing import replacing, write
from ..source import SourceError
from .lines import block, quoted
from .writer import written

BEGIN = "catalog: 1\nrows:\n"
_NO_ROWS = re.compile(r"rows:\s*\{\s*\}\s*")


def save(folder: str | os.PathLike[str], table: str, name: str, record: Any, about: catalog.Row, system: str = "in",
         replaces: str | None = None) -> str:
    """Write a row into a table of a shop's folder, in place of the row ``replaces`` or after the last one; the table's path.

    ``record``: the figures, as ``catalog.row`` gives them; ``about``: source, basis, date and note, which a record of a tube holds itself.
    SourceError, one sentence, where the name is taken or the row is not whole; then the file is as it was.
    """
    path = shop.path_of(folder, table)
    if told := shop.checked_name(name):
        raise SourceError(path, None, "", told)
    if name != replaces and name in catalog.names(table):
        there = catalog.nodes(table)[name]
        raise SourceError(path, None, f"rows.{name}", f"a row of this name is in {there.file}:{there.line} already; give this one another "
                          "name")
    lines = block(quoted(name), _items(record, about, system, path), 2)
    _put(path, table, name, lines, replaces, record)
    return path


def remove(folder: str | os.PathLike[str], table: str, name: str) -> None:
    """Take a row out of a table of a shop's folder; SourceError where it has none of that name."""
    _put(shop.path_of(folder, table), table, "", [], name, None)


def _items(record: Any, about: catalog.Row, system: str, path: str) -> list[tuple[str, Any]]:
    if isinstance(record, catalog.Row):
        return list(written(record, system, path))
    if record.solid is not None:
        record = replace(record, solid=replace(record.solid, digest=None))   # the row means the file as it is
    return [*written(about, system, path), *written(record, system, path, without=("use",))]


def _put(path: str, table: str, name: str, lines: list[str], replaces: str | None, record: Any) -> None:
    """Bring the lines of a row into a table, verify what then stands there, and put it in place."""
    try:
        text = ""
        if os.path.exists(path):
            with open(path, encoding="utf-8", newline="") as stream:
                text = stream.read()
        before = catalog.read_rows(source.parse(text, path)) if text.strip() else {}
        if replaces is not None and replaces not in before:
            raise SourceError(path, None, "rows", f"there is no row {source.quoted(replaces)}; {schema.listed(tuple(before) or ('none',))} "
                              "is there")
        after = _spliced(text or BEGIN, before, lines, replaces)
        _verify(path, table, name, after, {key: node for key, node in before.items() if key != replaces}, record)
        os.makedirs(os.path.dirname(path), exist_ok=True)
        with replacing(path) as temporary:
            write(temporary, after.encode("utf-8"))
    except UnicodeDecodeError:
        raise SourceError(path, None, "", "the file is not UTF-8 text; save it as UTF-8") from None
    except OSError as error:
        raise source.unwritable(path, error) from None


def _spliced(text: str, before: dict[str, source.Node], lines: list[str], replaces: str | None) -> str:
    """The text with a row's lines in place of another row's, or after the last one. Comments before the next row stay with that."""
    held = text.replace("\r\n", "\n").rstrip("\n").split("\n")
    if not before:
        held = ["rows:" if _NO_ROWS.fullmatch(line) else line for line in held]
    if replaces is None:
        return "\n".join([*held, *lines]) + "\n"
    first = before[replaces].line - 1
    last = min((node.line - 1 for node in before.values() if node.line - 1 > first), default=len(held))
    while last > first + 1 and (not held[last - 1].strip() or held[last - 1].lstrip().startswith("#")):
        last -= 1
    left = [*held[:first], *lines, *held[last:]]
    if not lines and len(before) == 1:
        left = ["rows: {}" if line.rstrip() == "rows:" else line for line in left]
    return "\n".join(left) + "\n"


def _verify(path: str, table: str, name: str, text: str, others: dict[str, source.Node], record: Any) -> None:
    found = catalog.read_rows(source.parse(text, path))
    if {key: source.plain_data(node) for key, node in found.items() if key != name} != {
            key: source.plain_data(node) for key, node in others.items()}:
        raise SourceError(path, None, "rows", "the file is written in a way that this form cannot change; edit it in a text editor")
    if name:
        shop.check(table, name, found[name])
        if differences := difference(figures(catalog.typed(found[name], name, catalog.TABLES[table])), figures(record)):
            raise SourceError(path, None, f"rows.{name}", f"the row was not written, because it would read back differently at "
                              f"{differences[0]}")
