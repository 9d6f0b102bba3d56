"""A car file to be filled in: keys in their order, each with the number and the words of the form that asks for it, and nothing behind it.

A key that the kit needs stands there blank, so that reading the file tells it; one that only some cars have is a comment.
"""
from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import cast

from .. import model, schema
from ..record import Described, by_key, entries
from .reader import SCHEMA

COMMENT_AT = 34
"""Column at which the words of a key begin."""


@dataclass(frozen=True)
class Asked:
    """One key that a form asks for: dotted path, what is asked, whether every kit needs it, what is written already, and how a list is
    written."""
    key: str
    text: str
    needed: bool = False
    given: str = ""
    form: str = ""


def described(key: str) -> Described:
    """What a key of the car file holds; KeyError where there is no such key."""
    record: type = model.Car
    *branches, last = key.split(".")
    for branch in branches:
        record = cast(type, entries(record)[by_key(record)[branch]].record)
        if record is None:
            raise KeyError(key)
    entry = entries(record)[by_key(record)[last]]
    if record is model.Placement and last == "pitch":
        # The word of a mode may stand there too.
        modes = entries(record)["pitch_mode"].choices
        return replace(entry, doc=f"{entry.doc}; or {schema.listed(modes[1:])}")
    return entry


def text(asked: Sequence[Asked], head: Iterable[str] = (), tail: Iterable[str] = ()) -> str:
    """The file. head: lines of comment above it; tail: lines below what is asked."""
    lines = [*(f"# {line}".rstrip() for line in head), f"crankline: {SCHEMA}"]
    lines += _below([(number, one.key.split("."), one) for number, one in enumerate(asked, 1)], 0, False)
    return "\n".join([*lines, *tail]) + "\n"


Row = tuple[int, list[str], Asked]


def _below(rows: Sequence[Row], depth: int, commented: bool) -> list[str]:
    """Lines of keys of one branch, in the order in which they are asked for first."""
    names = dict.fromkeys(keys[0] for _number, keys, _one in rows)
    found: list[str] = []
    for name in names:
        own = [row for row in rows if row[1][0] == name]
        if len(own[0][1]) == 1:
            number, _keys, one = own[0]
            found.append(_line(f"{name}: {one.given or one.form}".rstrip(), depth, commented or not (one.needed or one.given),
                               f"{number}  {one.text}"))
            continue
        outside = commented or not any(one.needed or one.given for _number, _keys, one in own)
        found.append(_line(f"{name}:", depth, outside, ""))
        found += _below([(number, keys[1:], one) for number, keys, one in own], depth + 1, outside)
    return found


def _line(words: str, depth: int, commented: bool, about: str) -> str:
    start = "  " * depth + ("# " if commented else "") + words
    return f"{start:<{COMMENT_AT}}  # {about}" if about else start
