"""Engine and transmission in a car file: the name of a catalog row and what differs from it, or, of a shop's own row, every figure with its
source, so that the file is read where that catalog is not."""
from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from .. import catalog, model, schema
from ..catalog import solid_files
from ..catalog.used import TABLE_OF, Used, departing
from ..record import by_key, entries, equal, text, texts
from ..source import Node, Problems, SourceError


@dataclass(frozen=True)
class Shop:
    """The key ``shop``: the row of a shop's own catalog that the figures are from."""
    source: str = text("where the figures come from", required=True)
    date: str = text("day on which they were taken, YYYY-MM-DD", form="date", required=True)
    digest: str = text("digest of the row as it was used")
    changed: tuple[str, ...] = texts("fields that were changed since", default=())


def engine(typing: schema.Typing, node: Node) -> model.Engine:
    """The engine of a car file."""
    found: model.Engine = _from_catalog(typing, node, model.Engine, catalog.engine)
    return found


def transmission(typing: schema.Typing, node: Node) -> model.Transmission:
    """The transmission of a car file."""
    found: model.Transmission = _from_catalog(typing, node, model.Transmission, catalog.transmission)
    return found


def _from_catalog(typing: schema.Typing, node: Node, record: type, look: Callable[[str], Any]) -> Any:
    """``use`` names the row; every other key replaces one field of it as a whole, and ``none`` drops an optional one."""
    table, described = TABLE_OF[record], entries(record)
    known = catalog.names(table)
    dropped = {key: value for key, value in node.mapping.items()
               if key in by_key(record) and not described[by_key(record)[key]].required and schema.is_word(value, "none")
               and not described[by_key(record)[key]].internal}
    alone, problems = "shop" in node.mapping, Problems()
    with problems.gathered():
        if "use" not in node.mapping:
            raise node.blame(f"the key is missing; add the name of a row in the catalog of {table}, {schema.listed(known)}", "use")
        use = typing.value(node.mapping["use"], replace(described["use"], table=""))
        if not alone and use not in known:
            raise schema.unknown_row(node.mapping["use"], use, table, known)
    with problems.gathered():
        given = typing.fields(node, record, extra=(*dropped, "shop", "use"), partial=True)
    for field, entry in described.items() if alone else ():
        if entry.required and field != "use" and entry.key not in node.mapping:
            problems.add(typing.missing(node, entry.key, entry))
    problems.tell()
    given.update((by_key(record)[key], None) for key in dropped)
    if (solid := given.get("solid")) is not None:
        if told := solid_files.wrong_name(solid.file):
            raise node.at("solid", "file").error(told)
        # With a digest the file need not be here: what hangs on it is not evaluated then.
        given["solid"] = solid if solid.digest else catalog.with_digest(node, solid, None)
    if alone:
        return _of_shop(typing, node, record, use, given)
    return replace(look(use), **given, overrides=tuple(name for name in described if name in given))


def _of_shop(typing: schema.Typing, node: Node, record: type, use: str, given: dict[str, Any]) -> Any:
    """Every figure is in the file; the shop's catalog need not be here."""
    table = TABLE_OF[record]
    if use in catalog.ours(table):
        raise node.mapping["shop"].error(f"{use!r} is a row of Crankline's own catalog of {table}; leave the key out, or give the row its "
                                         "own name")
    shop: Shop = typing.record(node.mapping["shop"], Shop)
    fields = entries(record)
    if strange := [name for name in shop.changed or () if name not in fields or fields[name].internal]:
        raise node.at("shop", "changed").error(f"{strange[0]!r} is not a field of it{schema.closest(strange[0], tuple(fields))}")
    bare = record(**{**dict.fromkeys(fields), **given, "use": use})
    digest = shop.digest or (None if shop.changed else catalog.digest_of(bare))
    made = replace(bare, shop=model.ShopRow(source=shop.source, date=shop.date), row_digest=digest, overrides=tuple(shop.changed or ()))
    return replace(made, overrides=departing(made))


def items(record: Used, name: str, value: Callable[[Any, Any], Any]) -> Iterator[tuple[str, Any]]:
    """(key, written value) of an engine or transmission; ``value`` writes one field, ``name`` stands for the file in messages."""
    table, key = TABLE_OF[type(record)], type(record).__name__.lower()
    described = entries(type(record))
    yield "use", value(record.use, described["use"])
    if record.shop is not None:
        about = Shop(source=record.shop.source, date=record.shop.date, digest=record.row_digest, changed=departing(record))
        yield "shop", [(entry.key, value(getattr(about, field), entry)) for field, entry in entries(Shop).items() if getattr(about, field)]
        row = None
    else:
        try:
            row = catalog.row(table, record.use)
        except SourceError:
            raise                   # the table is wrong
        except ValueError as error:
            raise SourceError(name, None, f"{key}.use", str(error)) from None
    for field, entry in described.items():
        held = getattr(record, field)
        # What differs is written even if it was no override: a row changed since must not change a car silently.
        if field == "use" or entry.internal or (row is not None and field not in (record.overrides or ())
                                                and equal(held, getattr(row, field))):
            continue
        if held is not None:
            yield entry.key, value(held, entry)
        elif not entry.required and row is not None:
            yield entry.key, "none"
