"""Sections of a car: the parts of its model that are looked at and changed as one, by the paths that the car file uses.

``mounts.cross_member`` is a section, ``mounts`` only holds some; ``containment.loops`` is a list, whose items are sections each. Everything
here is a function of frozen records: what a panel, a command or a remedy wants of a car is another car.
"""
from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from typing import Any, cast

from . import model
from .record import Described, entries, sparse

MID_PLATE, RAIL_TABS, DRIVESHAFT, SUSPENSION = "plates.mid", "mounts.rail_tabs", "driveshaft", "rear_end.suspension"
FINISHED = (MID_PLATE, RAIL_TABS, DRIVESHAFT, SUSPENSION)
"""What every finished car has and a car may still be without, in the order of work: paths of the car file. Rules that need one of them are
not evaluated until it is there."""


class Missing(ValueError):
    """A car does not have yet what was asked for. The message says so in the words of the trade."""


@dataclass(frozen=True)
class Section:
    """One section, or each item of a list of them. ``needed``: no car is without it. ``named_by``: the field that tells items apart."""
    path: str
    record: type
    doc: str
    many: bool = False
    needed: bool = False
    named_by: str = ""


WAITS_FOR = {"mounts.transmission": "mounts.cross_member"}
"""Section to the one that it stands on, where the car file has them in another order."""


@cache
def order_of_work() -> tuple[str, ...]:
    """Paths in the order in which a car is put together."""
    found: list[str] = []
    for path in sections():
        if path not in WAITS_FOR:
            found += [path, *(later for later, before in WAITS_FOR.items() if before == path)]
    return tuple(found)


@cache
def sections() -> dict[str, Section]:
    """Path to section, in the order of the car file."""
    return {one.path: one for one in _below(model.Car, "", True)}


def section_of(path: str) -> Section:
    """The section of a path; KeyError where there is none."""
    return sections()[path]


def paths_of(record: type) -> tuple[str, ...]:
    """Where in a car's model records of a type are sections."""
    return tuple(path for path, one in sections().items() if one.record is record)


def _below(record: type, prefix: str, needed: bool) -> Iterator[Section]:
    for name, entry in entries(record).items():
        path = f"{prefix}{name}"
        held = cast(type, entry.record)
        if entry.kind == "records":
            yield Section(path, held, entry.doc, many=True, named_by=next(iter(entries(held))))
        elif all(one.kind in ("record", "records") for one in entries(held).values()):
            yield from _below(held, f"{path}.", needed and entry.required)
        else:
            yield Section(path, held, entry.doc, needed=needed and entry.required)


def items(car: model.Car, path: str) -> tuple[str, ...]:
    """Names of the items of a list, in its order."""
    return tuple(getattr(one, section_of(path).named_by) for one in _list(car, path))


def get(car: model.Car, path: str, item: int | None = None) -> Any:
    """The record of a section, ``item`` counting from 0 in a list; None where the car has none."""
    if item is not None:
        held = _list(car, path)
        return held[item] if 0 <= item < len(held) else None
    return look(car, path)


def not_yet(path: str) -> str:
    """What is said of a car that does not have the record at a path yet: ``no mid plate yet``."""
    record: type = model.Car
    *branches, name = path.split(".")
    for branch in branches:
        record = cast(type, entries(record)[branch].record)
    return f"no {entries(record)[name].doc} yet"


def lacking(car: model.Car) -> tuple[str, ...]:
    """Paths of what a finished car has and this one has not yet."""
    return tuple(path for path in FINISHED if look(car, path) is None)


def holding(path: str) -> str:
    """The section that a path is, or is a part of: the suspension is edited with the rear end."""
    while path not in sections():
        path = path.rpartition(".")[0]
    return path


def existing(car: model.Car, path: str) -> Any:
    """The record at a path; Missing where the car has none yet."""
    record = look(car, path)
    if record is None:
        raise Missing(not_yet(path))
    return record


def put(car: model.Car, path: str, record: Any, item: int | None = None) -> model.Car:
    """The car with a section as given: set, or as the item of a list, or after its last item where ``item`` is its length.

    ValueError where another item of the list has that name already, or the record belongs elsewhere.
    """
    section = section_of(path)
    if type(record) is not section.record:
        raise ValueError(f"{path}: a {type(record).__name__} was given; it holds a {section.record.__name__}")
    if not section.many:
        return cast(model.Car, _with(car, path.split("."), record))
    held, number = list(_list(car, path)), len(_list(car, path)) if item is None else item
    name = getattr(record, section.named_by)
    if section.record in NAMED_APART and name in [getattr(one, section.named_by) for n, one in enumerate(held) if n != number]:
        raise ValueError(f"{path}: there is one named {name!r} already; give it another name")
    held[number:number + 1] = [record]
    return cast(model.Car, _with(car, path.split("."), tuple(held)))


def without(car: model.Car, path: str, item: int | None = None) -> model.Car:
    """The car without a section, or without one item of a list; ValueError where no car is without it."""
    section = section_of(path)
    if not section.many:
        if section.needed:
            raise ValueError(f"{path}: a car is not whole without its {section.doc}; change it instead")
        return cast(model.Car, _with(car, path.split("."), None))
    held = _list(car, path)
    return cast(model.Car, _with(car, path.split("."), tuple(one for n, one in enumerate(held) if n != item)))


def free_name(car: model.Car, path: str, wanted: str) -> str:
    """A name that no item of a list has: the wanted one, or the wanted one and a number."""
    taken, number, name = set(items(car, path)), 2, wanted
    while name in taken:
        name, number = f"{wanted}{number}", number + 1
    return name


def joined(car: model.Car, path: str, record: Any) -> tuple[model.Car, str]:
    """The car with another item of a list, like ``record`` but under a name that is free, and that name."""
    section = section_of(path)
    name = free_name(car, path, getattr(record, section.named_by))
    return put(car, path, replace(record, **{section.named_by: name}), len(items(car, path))), name


NAMED_APART = (model.Loop, model.Header, model.Tube)
"""Records whose items are found by their names: no two of a list may share one."""


def _list(car: model.Car, path: str) -> tuple[Any, ...]:
    return cast("tuple[Any, ...]", look(car, path) or ())


def look(record: Any, path: str) -> Any:
    """The value at a path of a record, None where there is nothing on the way."""
    for name in path.split("."):
        record = None if record is None else getattr(record, name)
    return record


def _with(record: Any, names: list[str], value: Any) -> Any:
    """A record with what stands at a path below it; branches on the way that are absent come into being empty."""
    name, *rest = names
    if not rest:
        return replace(record, **{name: value})
    entry: Described = entries(type(record))[name]
    branch = getattr(record, name)
    if branch is None:
        if value is None:
            return record
        branch = sparse(cast(type, entry.record))
    return replace(record, **{name: _with(branch, rest, value)})
