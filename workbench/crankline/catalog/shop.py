"""A shop's own catalog: folders of tables like ours, each row with its source and date.

A folder holds ``engines.yaml``, ``transmissions.yaml``, ``sections.yaml``, in the form of the tables beside this module. It is named on the
command line (``--catalog``), by the environment (``CRANKLINE_CATALOG``, several as the system writes lists of folders), or in the window's
preferences. A row never hides another one: a name that is there already is refused. What a car uses of a row is written into the car.
"""
from __future__ import annotations

import os
from collections.abc import Iterable, Iterator

from .. import schema, source
from . import FOLDER, TABLES, TubeSection, hold, names, nodes, ours, read_rows, solid_files, typed

KEPT = ("engines", "transmissions", "sections")
"""Tables that a shop may keep: their figures are held by the car that uses them, so that it means the same elsewhere."""

VARIABLE = "CRANKLINE_CATALOG"
"""Variable of the environment that names folders."""

LONGEST_NAME = 60


def of_environment(variable: str = VARIABLE) -> tuple[str, ...]:
    """The folders that a variable of the environment names."""
    return tuple(folder for folder in os.environ.get(variable, "").split(os.pathsep) if folder.strip())


def use(folders: Iterable[str | os.PathLike[str]]) -> None:
    """Take the rows of these folders beside ours, in place of those taken before.

    SourceError, one sentence, for the first thing that is wrong in one of them; then the rows are those of before.
    """
    found: dict[str, dict[str, source.Node]] = {table: {} for table in KEPT}
    for folder in dict.fromkeys(os.path.abspath(os.fspath(one)) for one in folders):
        for table, path in _files(folder):
            for name, node in read_rows(source.read(path)).items():
                _take(found[table], table, name, node)
        solid_files.look_in(folder)
    before = {table: {name: node for name, node in nodes(table).items() if name not in ours(table)} for table in KEPT}
    hold(found)
    try:
        for table, rows in found.items():
            for name, node in rows.items():
                check(table, name, node)
    except source.SourceError:
        hold(before)
        raise


def path_of(folder: str | os.PathLike[str], table: str) -> str:
    """The file of a table in a shop's folder."""
    return os.path.join(os.fspath(folder), f"{table}.yaml")


def check(table: str, name: str, node: source.Node) -> None:
    """SourceError where a row of a shop is not whole."""
    record = typed(node, name, TABLES[table], names)
    if "date" not in node.mapping:
        raise node.blame("the key is missing; add the day on which the figures were taken, such as date: 2026-03-31", "date")
    if isinstance(record, TubeSection) and record.inner_diameter <= 0.0:
        raise node.at("wall").error(f"{node.at('wall').text} is not a wall of a tube of {node.at('outer_diameter').text}; give less than "
                                    "half of the outside diameter")


def checked_name(name: str) -> str:
    """What is wrong with the name of a row; empty where it may be one."""
    if not name or name != name.strip() or not name.isprintable() or len(name) > LONGEST_NAME:
        return f"{source.quoted(name)} is not a name for a row; use letters, digits and signs, at most {LONGEST_NAME}"
    return ""


def _files(folder: str) -> Iterator[tuple[str, str]]:
    """(table, path) of each table in a folder."""
    try:
        held = sorted(os.listdir(folder))
    except OSError as error:
        raise source.SourceError(folder, None, "", f"the catalog folder cannot be read ({error.strerror}); name a folder that holds "
                                 f"{', '.join(f'{table}.yaml' for table in KEPT)}") from None
    for file in held:
        table, ending = os.path.splitext(file)
        if ending.lower() not in (".yaml", ".yml") or file.startswith("."):
            continue   # solids and notes lie beside the tables
        if file not in [f"{one}.yaml" for one in KEPT]:
            raise source.SourceError(os.path.join(folder, file), None, "", "this is not a table of a shop's catalog"
                                     f"{schema.closest(table, KEPT)}; {schema.listed([f'{one}.yaml' for one in KEPT])} is allowed")
        yield table, os.path.join(folder, file)


def _take(rows: dict[str, source.Node], table: str, name: str, node: source.Node) -> None:
    if told := checked_name(name):
        raise node.error(told)
    there = rows.get(name)
    if there is None and name in ours(table):
        own = source.read(os.path.join(FOLDER, f"{table}.yaml"))
        there = own.at("rows", name)
    if there is not None:
        raise node.error(f"a row of this name is in {there.file}:{there.line} already, and none replaces another; give this one another "
                         "name")
    rows[name] = node
