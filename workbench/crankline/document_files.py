"""Files that the host writes of a document, a copy of it and STEP: each is opened again and counted."""
from __future__ import annotations

import itertools
import re
from collections.abc import Callable
from pathlib import Path

from .features.base import UNLINKED
from .features.part_kind import PartKind


class OutputError(RuntimeError):
    """An output that did not survive being read back. One sentence."""


def save_document(document, path: Path) -> None:
    """Save a copy of the document and open it again: every object there, every proxy alive."""
    import FreeCAD as App

    from .features.base import is_ours
    from .features.repair import lifeless
    lost = lifeless(document)
    if lost:
        raise OutputError(f"{lost[0].Label} {UNLINKED} before saving")
    document.saveCopy(str(path))
    again = App.openDocument(str(path), True)
    try:
        names = {obj.Name for obj in document.Objects}
        if {obj.Name for obj in again.Objects} != names:
            raise OutputError(f"{path.name}: the saved document does not have the same objects as the one in memory; nothing was kept")
        dead = lifeless(again)
        if dead:
            raise OutputError(f"{path.name}: {dead[0].Label} is not linked to Crankline after opening; nothing was kept")
        if not any(is_ours(obj) for obj in again.Objects):
            raise OutputError(f"{path.name}: the saved document came back empty; nothing was kept")
    finally:
        App.closeDocument(again.Name)


STEP_HEAD = 4096
"""Bytes within which a STEP file has its header."""
_STEP_DATE = re.compile(rb"(FILE_NAME\s*\(\s*'[^']*'\s*,\s*')\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d")
_STEP_PLACE = re.compile(rb"(NEXT_ASSEMBLY_USAGE_OCCURRENCE\s*\(\s*)'\d+'((?:'[^']*'|[^';])*;)")
_FOLD = re.compile(rb"\s*\n\s*")


def _timeless(path: Path) -> None:
    """Put a fixed date where the header of a STEP file has the clock, and number the places of parts from 1, which the host counts on from
    file to file, so that equal parts make equal files (ISO 10303-21: FILE_NAME; 10303-44: next_assembly_usage_occurrence)."""
    data = path.read_bytes()
    head, rest = data[:STEP_HEAD], data[STEP_HEAD:]
    data = _STEP_DATE.sub(rb"\g<1>2000-01-01T00:00:00", head, count=1) + rest
    number = itertools.count(1)
    # Where the host folds such a line hangs on how long its number is.
    path.write_bytes(_STEP_PLACE.sub(lambda found: b"%s'%d'%s" % (found[1], next(number), _FOLD.sub(b"", found[2])), data))


def write_step(layout, path: Path, wanted: Callable[[PartKind], bool] = lambda _part: True) -> None:
    """STEP of the leaf parts that are wanted, in the car frame; read back and counted."""
    import Import
    import Part

    from .features.base import PartFeature
    from .features.read import members
    leaves = [obj for obj in members(layout) if isinstance(getattr(obj, "Proxy", None), PartFeature) and not obj.Shape.isNull()
              and not (part := obj.Proxy.declaration(obj.Key)).reference and wanted(part)]
    Import.export(leaves, str(path))
    if not path.is_file():
        raise OutputError(f"{path.name}: FreeCAD wrote no file; nothing was kept")
    _timeless(path)
    shape = Part.Shape()
    shape.read(str(path))
    count = sum(len(obj.Shape.Solids) for obj in leaves)
    if len(shape.Solids) != count:
        raise OutputError(f"{path.name}: {len(shape.Solids)} of {count} solids were read back; nothing was kept")
