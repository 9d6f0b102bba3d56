"""An engine or transmission in a car against the catalog row that it names: what departs from it, and what it is called then."""
from __future__ import annotations

from dataclasses import replace
from typing import Any

from .. import model
from ..record import entries, equal
from . import BOOKKEEPING, names, of_shop, row, row_digest, solid_files

Used = model.Engine | model.Transmission

TABLE_OF: dict[type, str] = {model.Engine: "engines", model.Transmission: "transmissions"}
"""Record to the table whose rows it is taken from."""


def row_of(record: Used) -> Any:
    """The row that a record names; None where this catalog does not hold it."""
    table = TABLE_OF[type(record)]
    return row(table, record.use) if record.use in names(table) else None


def departing(record: Used) -> tuple[str, ...]:
    """Fields that are not as the row has them, in the record's order; where this catalog does not hold the row, those that the car says
    were changed."""
    held = row_of(record)
    if held is None:
        return record.overrides or ()
    return tuple(name for name in entries(type(record)) if name not in ("use", *BOOKKEEPING)
                 and not equal(getattr(record, name), getattr(held, name)))


def called(record: Used) -> str:
    """What it is called: the name of its row, and what departs from it."""
    changed = departing(record)
    return f"{record.use}, with {_listed(changed)} of its own" if changed else record.use


def _listed(fields: tuple[str, ...]) -> str:
    told = [name.replace("_", " ") for name in fields]
    if len(told) > 4:
        told = [*told[:3], f"{len(told) - 3} more figures"]
    return " and ".join([", ".join(told[:-1]), told[-1]]) if len(told) > 1 else told[0]


def figures(record: Any) -> Any:
    """A record without its name, and without what a car keeps of where its figures are from; a row of another table as it is."""
    if type(record) not in TABLE_OF:
        return record
    solid = record.solid and replace(record.solid, digest=None)
    return replace(record, use="", solid=solid, **dict.fromkeys(BOOKKEEPING))


def settled(record: Any, before: Any = None) -> Any:
    """A record whose figures or name were edited, with its bookkeeping as its row has it: digest, source, and what departs. Where this
    catalog does not hold the row, what was changed since ``before`` departs from it too. A solid whose file is another one than before gets
    the digest of that file; SolidFileError where it is not there."""
    solid, old = record.solid, before.solid if before is not None else None
    if solid is not None and (not solid.digest or (old is not None and old.file != solid.file)):
        record = replace(record, solid=replace(solid, digest=solid_files.digest_by_name(solid.file)))
    if row_of(record) is None:
        if before is None or before.use != record.use:
            return record
        changed = (before.overrides or ()), [name for name in entries(type(record)) if name not in BOOKKEEPING
                                             and not equal(getattr(record, name), getattr(before, name))]
        return replace(record, overrides=tuple(name for name in entries(type(record)) if any(name in some for some in changed)))
    table = TABLE_OF[type(record)]
    return replace(record, shop=of_shop(table, record.use), row_digest=row_digest(table, record.use), overrides=departing(record))
