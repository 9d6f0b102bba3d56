"""Frozen records with a described field each: the one table that car file, document properties and lists are read from.

A field says what kind of quantity it holds, its range, its default and what it means. ``None`` in a field means *absent*:
the car file did not give it. ``filled`` replaces absent fields by their defaults, so that absent and default stay told
apart in what is stored and are the same in what is computed.
"""
from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterator
from dataclasses import MISSING, dataclass, field, fields, is_dataclass, replace
from functools import lru_cache
from typing import Any, TypeVar, cast

from . import units

Value = TypeVar("Value")
Function = TypeVar("Function", bound=Callable[..., Any])

DIMENSIONS = tuple(units.UNITS)
"""Kinds of field that carry a unit. The others: ratio, count, flag, choice, text, record, records, texts, points."""

FAR = 100_000.0
"""Bound in mm on every length: a car is no longer than 100 m, and larger numbers only break the geometry."""


@dataclass(frozen=True)
class Described:
    """What one field of a record holds. Limits are inclusive and in inside units."""
    kind: str
    doc: str
    low: float = -math.inf
    high: float = math.inf
    default: Any = None
    required: bool = False
    choices: tuple[str, ...] = ()
    key: str = ""
    record: type | None = None
    none: bool = False
    """The word ``none`` may stand instead of a record."""
    internal: bool = False
    """Book-keeping that is stored in documents and is no key of the car file."""
    form: str = ""
    """Stricter form of a text: ``date`` is YYYY-MM-DD."""
    most: int = 0
    """Entries that a list may have; 0 for what is no list. What is made and measured costs in proportion at least."""
    table: str = ""
    """Catalog table whose row names a text may hold; of a size: whose rows may fill it, and the record's other fields that they have."""


def _field(kind: str, doc: str, **options: Any) -> Any:
    entry = Described(kind, doc, **options)
    return field(default=MISSING if entry.required else None, metadata={"entry": entry}, kw_only=True)


def length(doc: str, low: float = -FAR, high: float = FAR, **options: Any) -> Any:
    """A length in mm."""
    return _field("length", doc, low=low, high=high, **options)


def size(doc: str, low: float = 0.01, high: float = FAR, **options: Any) -> Any:
    """A length in mm that must be larger than nothing: diameters, walls, thicknesses, distances."""
    return _field("length", doc, low=low, high=high, **options)


def angle(doc: str, limit: float = math.pi, **options: Any) -> Any:
    """An angle in rad within plus and minus ``limit``."""
    return _field("angle", doc, low=-limit, high=limit, **options)


def quantity(kind: str, doc: str, **options: Any) -> Any:
    """Any other dimensional quantity of a kind in ``units.UNITS``."""
    return _field(kind, doc, **options)


def ratio(doc: str, low: float = 1e-6, high: float = 1e6, **options: Any) -> Any:
    """A plain number without a unit."""
    return _field("ratio", doc, low=low, high=high, **options)


def count(doc: str, low: int = 0, high: int = 1000, **options: Any) -> Any:
    """A whole number."""
    return _field("count", doc, low=low, high=high, **options)


def flag(doc: str, **options: Any) -> Any:
    """true or false."""
    return _field("flag", doc, **options)


def choice(doc: str, *choices: str, **options: Any) -> Any:
    """One word out of a list."""
    return _field("choice", doc, choices=choices, **options)


def text(doc: str, **options: Any) -> Any:
    """One line of text."""
    return _field("text", doc, **options)


def texts(doc: str, **options: Any) -> Any:
    """A tuple of words."""
    return _field("texts", doc, **options)


def part(record: type, doc: str, **options: Any) -> Any:
    """A nested record."""
    return _field("record", doc, record=record, **options)


def parts(record: type, doc: str, most: int = 200, **options: Any) -> Any:
    """A tuple of records, no more than ``most``."""
    return _field("records", doc, record=record, most=most, **options)


def points(doc: str, **options: Any) -> Any:
    """A tuple of points, each (x, y, z) in mm in the car frame."""
    return _field("points", doc, most=50, **options)


def holes(doc: str, **options: Any) -> Any:
    """A tuple of holes, each (y, z, diameter) in mm in the engine frame."""
    return _field("holes", doc, most=200, **options)


LATER = "later"


def later(default: Any) -> Any:
    """A field that a spec gained after documents were written with it: at its default it is no part of a shape's digest, so that those
    documents keep their shapes."""
    return field(default=default, metadata={LATER: True})


def _kept(size: int | None) -> Callable[[Function], Function]:
    """`lru_cache` that leaves a function's types as they are."""
    def decorate(function: Function) -> Function:
        return cast(Function, lru_cache(maxsize=size)(function))

    return decorate


@_kept(None)
def entries(record: type) -> dict[str, Described]:
    """Field name to description, in the order of writing; ``key`` is filled in where a keyword hides it."""
    found = {}
    for item in fields(record):
        entry = item.metadata["entry"]
        found[item.name] = entry if entry.key else replace(entry, key=item.name)
    return found


@_kept(None)
def by_key(record: type) -> dict[str, str]:
    """Key as written in a car file to field name."""
    return {entry.key: name for name, entry in entries(record).items()}


@_kept(4096)
def filled(value: Value) -> Value:
    """The record with every absent field at its default, nested records too. Fields without a default stay None."""
    if isinstance(value, tuple):
        return cast(Value, tuple(filled(item) if is_dataclass(item) else item for item in value))
    changes: dict[str, Any] = {}
    for name, entry in entries(type(value)).items():
        held = getattr(value, name)
        if held is None and entry.default is not None:
            changes[name] = filled(entry.default) if is_dataclass(entry.default) else entry.default
        elif entry.kind in ("record", "records") and held is not None:
            new = filled(held)
            if new is not held:
                changes[name] = new
    return cast(Value, replace(cast(Any, value), **changes)) if changes else value


def sparse(record: type, /, **given: Any) -> Any:
    """A record of which only this is given; the rest is absent."""
    return record(**{**dict.fromkeys(entries(record)), **given})


def leaves(record: type, path: tuple[str, ...] = (), optional: bool = False,
           default: Any = None) -> Iterator[tuple[tuple[str, ...], Described, bool]]:
    """(path of field names, description, optional) of every field that is no record, nested ones flattened.

    Where a nested record has a default, its fields have theirs from it: a tube that may be absent shows the tube it then is.
    """
    for name, entry in entries(record).items():
        may_miss = optional or not entry.required
        stand_in = getattr(default, name, None)
        if entry.kind == "record":
            assert entry.record is not None
            for below, one, loose in leaves(entry.record, path + (name,), may_miss, stand_in if stand_in is not None else entry.default):
                yield below, replace(one, internal=True) if entry.internal else one, loose
        elif entry.kind != "records":
            yield path + (name,), entry if stand_in is None else replace(entry, default=stand_in), may_miss


def look(record: Any, path: tuple[str, ...]) -> Any:
    """The value at a path of field names; None where a record on the way is absent."""
    for name in path:
        if record is None:
            return None
        record = getattr(record, name)
    return record


def equal(a: Any, b: Any, digits: int = 12) -> bool:
    """Whether two models are the same, floats to so many significant digits."""
    if is_dataclass(a) and type(a) is type(b):
        return all(equal(getattr(a, f.name), getattr(b, f.name), digits) for f in fields(a))
    if isinstance(a, tuple) and isinstance(b, tuple):
        return len(a) == len(b) and all(equal(x, y, digits) for x, y in zip(a, b))
    if isinstance(a, float) and isinstance(b, float):
        return units.same(a, b, digits)
    return type(a) is type(b) and a == b


def difference(a: Any, b: Any, path: str = "") -> list[str]:
    """The paths at which two models differ, for messages and tests."""
    if is_dataclass(a) and type(a) is type(b):
        return [line for f in dataclasses.fields(a)
                for line in difference(getattr(a, f.name), getattr(b, f.name), f"{path}.{f.name}".lstrip("."))]
    if isinstance(a, tuple) and isinstance(b, tuple) and len(a) == len(b):
        return [line for i, (x, y) in enumerate(zip(a, b)) for line in difference(x, y, f"{path}[{i}]")]
    return [] if equal(a, b) else [f"{path}: {a!r} != {b!r}"]
