"""The shop's own catalog in the window: the folder of the preferences, and those that the environment names."""
from __future__ import annotations

import os

from .. import catalog, preferences
from ..catalog import shop
from ..source import SourceError
from .messages import show_message

_told: list[str] = [""]
_taken: list[tuple[object, ...]] = [()]


def folders() -> tuple[str, ...]:
    """Where the shop's own rows are looked for."""
    own = preferences.held().catalog
    return (*shop.of_environment(), *([own] if own else []))


def folder() -> str:
    """The folder in which rows of the shop's own are written: that of the preferences, else the first that the environment names; empty
    where there is none."""
    return preferences.held().catalog or next(iter(shop.of_environment()), "")


def holds(table: str, name: str) -> bool:
    """Whether a row stands in the folder that is written to."""
    node = catalog.nodes(table).get(name)
    return bool(folder()) and node is not None and os.path.abspath(node.file) == os.path.abspath(shop.path_of(folder(), table))


def take() -> None:
    """Take the rows as the files are now; nothing is read again where no file has changed. What is wrong is told once, and the rows are
    those of before."""
    wanted = folders()
    state = tuple((name, _stamp(name)) for folder in wanted for name in (folder, *(shop.path_of(folder, table) for table in shop.KEPT)))
    if state == _taken[0]:
        return
    _taken[0] = state
    try:
        shop.use(wanted)
        _told[0] = ""
    except SourceError as error:
        if str(error) != _told[0]:
            _told[0] = str(error)
            show_message("Your Own Catalog", str(error), "Until that is fixed, the catalog stays as it was.")


def _stamp(path: str) -> tuple[int, int] | None:
    try:
        status = os.stat(path)
    except OSError:
        return None
    return status.st_mtime_ns, status.st_size
