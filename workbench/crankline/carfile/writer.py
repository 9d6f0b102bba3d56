"""Model to car file: absent fields are not written, engine and transmission as a catalog name and what differs from it."""
from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from .. import model, spelling, units
from ..record import DIMENSIONS, Described, difference, entries, sparse
from ..replacing import replacing, write
from ..source import SourceError, unwritable
from . import reader, used
from .lines import block, quoted

_ROWS = {"holes": ("y", "z", "diameter"), "points": ("x", "y", "z")}


def write_text(car: model.Car, name: str = "car file") -> str:
    """The text of a car file that reads back to the same model; SourceError where a catalog lacks the names used."""
    system = car.car.units or "in"
    lines = [f"crankline: {reader.SCHEMA}"]
    for key, value in _items(car, system, name):
        lines += block(key, value, 0)
    return "\n".join(lines) + "\n"


def save(car: model.Car, path: str | os.PathLike[str]) -> None:
    """Write a car file: to a temporary name beside it, read back and compared, then renamed.

    SourceError where the model is none that a car file can hold or the file cannot be written; an earlier file is then left
    as it was.
    """
    name = os.fspath(path)
    target = os.path.realpath(name)
    text = write_text(car, name)
    try:
        with replacing(target) as temporary:
            write(temporary, text.encode("utf-8"))
            _verify(car, os.fspath(temporary), name)
    except OSError as error:
        raise unwritable(name, error) from None


def _verify(car: model.Car, temporary: str, name: str) -> None:
    try:
        found = reader.read(temporary)
    except SourceError as error:
        raise SourceError(name, None, error.path, f"the car was not written: {error.problem}") from None
    differences = difference(comparable(found), comparable(car))
    if differences:
        raise SourceError(name, None, "", f"the car was not written, because it would read back differently at {differences[0]}")


def comparable(car: model.Car) -> model.Car:
    """The car without what a file does not hold: the book-keeping of catalog rows, and an angle that its pitch mode ignores."""
    absent: Any = None
    placement = car.placement if car.placement.pitch_mode == "fixed" else replace(car.placement, pitch=absent)
    return replace(car, placement=placement, engine=replace(car.engine, overrides=(), row_digest=absent),
                   transmission=replace(car.transmission, overrides=(), row_digest=absent))


def _items(record: Any, system: str, name: str) -> Iterator[tuple[str, Any]]:
    """(key, written value) of a record: text, or lists and lists of pairs for what is nested."""
    if isinstance(record, (model.Engine, model.Transmission)):
        yield from used.items(record, name, lambda value, entry: _value(value, entry, system, name))
        return
    if isinstance(record, model.Placement):
        yield from _placed(record, system, name)
        return
    yield from written(record, system, name)


def written(record: Any, system: str, name: str, without: tuple[str, ...] = ()) -> Iterator[tuple[str, Any]]:
    """(key, written value) of every field that a record gives, but for some; ``name`` stands for the file in messages."""
    for field, entry in entries(type(record)).items():
        value = getattr(record, field)
        if value is None or field in without or entry.internal or (
                entry.required and entry.record is not None and value == sparse(entry.record)):
            continue    # a section that has to be there is empty where it is not given
        yield entry.key, _value(value, entry, system, name)


def _placed(record: model.Placement, system: str, name: str) -> Iterator[tuple[str, Any]]:
    for field, entry in entries(model.Placement).items():
        value = getattr(record, field)
        if field == "pitch_mode":
            if value != "fixed":
                yield "pitch", value
        elif value is not None and (field != "pitch" or record.pitch_mode == "fixed"):
            yield entry.key, _value(value, entry, system, name)


def _value(value: Any, entry: Described, system: str, name: str) -> Any:
    if entry.kind in DIMENSIONS:
        return units.write(value, entry.kind, system)
    if entry.kind == "record":
        return list(_items(value, system, name)) or "{}"
    if entry.kind == "records":
        return tuple(list(_items(item, system, name)) for item in value) or "[]"
    if entry.kind in _ROWS:
        return tuple([(key, units.write(number, "length", system)) for key, number in zip(_ROWS[entry.kind], row)]
                     for row in value) or "[]"
    if entry.kind == "texts":
        return f"[{', '.join(quoted(item) for item in value)}]"
    if entry.kind == "flag":
        return "true" if value else "false"
    if entry.kind == "ratio":
        return repr(float(value))
    if entry.kind == "choice":
        return quoted(spelling.read(value))
    return str(value) if entry.kind == "count" else quoted(value)
