"""Values of a file typed by the descriptions of records: the one way from text to a record, for every kind of file."""
from __future__ import annotations

import dataclasses
import datetime
import difflib
import math
import re
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from . import model, spelling, units
from .record import DIMENSIONS, Described, by_key, entries, length, size, sparse
from .source import Node, Problems, SourceError, quoted

TEXT_LIMIT = 500
"""Longest text field."""


@dataclass(frozen=True)
class Hole:
    """A hole of a pattern, engine frame."""
    y: float = length("left", required=True)
    z: float = length("up", required=True)
    diameter: float = size("diameter", required=True)


_ROWS = {"holes": Hole, "points": model.Point}
"""Kinds of field that are lists of plain numbers, and the keys that a file has for those."""


def nothing(tables: str) -> Sequence[str] | None:
    """A lookup that knows no table, so that every name passes."""
    return None


class Typing:
    """Types nodes by record descriptions.

    ``names`` gives the row names of a catalog table (None: any name passes). ``special`` maps a record type to a
    function of this object and a node, for the few records whose keys are not their fields; ``hidden`` maps a record type to
    fields that are no keys of it.
    """

    def __init__(self, names: Callable[[str], Sequence[str] | None] = nothing,
                 special: dict[type, Callable[[Typing, Node], Any]] | None = None,
                 hidden: dict[type, tuple[str, ...]] | None = None) -> None:
        self.names = names
        self.special = special or {}
        self.hidden = hidden or {}
        self._keys: dict[type, dict[str, str]] = {}

    def record(self, node: Node, record: type) -> Any:
        """The record that a mapping holds; SourceError names everything that is wrong in it."""
        if record in self.special:
            return self.special[record](self, node)
        return record(**self.fields(node, record))

    def fields(self, node: Node, record: type, extra: tuple[str, ...] = (), partial: bool = False) -> dict[str, Any]:
        """Field values of a mapping, by field name. ``extra`` keys are left to the caller; ``partial`` lets required ones miss. A section
        that has to be there and needs nothing in it is empty where it is not given."""
        described, keys = entries(record), self.keys(record)
        found: dict[str, Any] = {}
        problems = Problems()
        for key, value in node.mapping.items():
            if key in extra:
                continue
            with problems.gathered():
                if key not in keys:
                    raise unknown(value, key, [*extra, *keys])
                found[keys[key]] = self.value(value, described[keys[key]])
        for key, name in keys.items():
            entry = described[name]
            if partial or not entry.required or key in node.mapping:
                continue
            if entry.record is not None and not any(inner.required for inner in entries(entry.record).values()):
                found[name] = sparse(entry.record)
            else:
                problems.add(self.missing(node, key, entry))
        problems.tell()
        return found

    def keys(self, record: type) -> dict[str, str]:
        """Key to field name of what a file may say about a record."""
        if record not in self._keys:
            described, hidden = entries(record), self.hidden.get(record, ())
            self._keys[record] = {key: name for key, name in by_key(record).items() if not described[name].internal and name not in hidden}
        return self._keys[record]

    def missing(self, node: Node, key: str, entry: Described) -> SourceError:
        """The error for a required key that is absent in a mapping."""
        if entry.record is not None:
            needed = [inner for inner, name in self.keys(entry.record).items() if entries(entry.record)[name].required]
            return node.blame(f"the section is missing; add {key}: {{{', '.join(needed)}, ...}} ({entry.doc})", key)
        return node.blame(f"the key is missing; add {allowed(entry)} ({entry.doc})", key)

    def value(self, node: Node, entry: Described) -> Any:
        """One value."""
        if entry.most and node.kind == "list" and len(node.items) > entry.most:
            raise node.error(f"{len(node.items)} entries were found; at most {entry.most} are allowed")
        if entry.none and is_word(node, "none"):
            return None
        if entry.record is not None:
            kind = entry.record
            return self.record(node, kind) if entry.kind == "record" else _each(node, lambda item: self.record(item, kind))
        if entry.kind in _ROWS:
            return _each(node, lambda item: dataclasses.astuple(self.record(item, _ROWS[entry.kind])))
        if entry.kind == "texts":
            return _each(node, lambda item: self._text(item, entry))
        node.expect("scalar")
        if not node.text.strip() or (node.plain and node.text in ("~", "null", "Null", "NULL")):
            raise node.error(f"{node.noun} was found; {_wanted(entry)} is allowed ({entry.doc})"
                             + ("" if entry.required else ", or leave the key out"))
        if entry.kind in DIMENSIONS:
            return self._quantity(node, entry)
        return getattr(self, f"_{entry.kind}")(node, entry)

    def _quantity(self, node: Node, entry: Described) -> float:
        try:
            found = units.read(node.text, entry.kind)
        except units.QuantityError as error:
            raise node.error(str(error)) from None
        # A limit written in another unit may come back a float beside itself.
        value = next((limit for limit in (entry.low, entry.high) if math.isclose(found.value, limit, rel_tol=1e-12)), found.value)
        if not entry.low <= value <= entry.high:
            raise node.error(f"{quoted(node.text)} is out of range; {allowed(entry, found.unit)} is allowed")
        return value

    def _ratio(self, node: Node, entry: Described) -> float:
        try:
            value = units.number(node.text)
        except units.QuantityError as error:
            raise node.error(str(error)) from None
        if not entry.low <= value <= entry.high:
            raise node.error(f"{quoted(node.text)} is out of range; {allowed(entry)} is allowed")
        return value

    def _count(self, node: Node, entry: Described) -> int:
        if not re.fullmatch(r"[+-]?[0-9]{1,9}", node.text) or not entry.low <= int(node.text) <= entry.high:
            raise node.error(f"{quoted(node.text)} was found; {allowed(entry)} is allowed")
        return int(node.text)

    def _flag(self, node: Node, entry: Described) -> bool:
        if node.text not in ("true", "false"):
            raise node.error(f"{quoted(node.text)} was found; write true or false"
                             + (" instead of yes or no" if node.text.lower() in ("yes", "no", "y", "n") else ""))
        return node.text == "true"

    def _choice(self, node: Node, entry: Described) -> str:
        word = spelling.stored(node.text)
        if word not in entry.choices:
            raise node.error(f"{quoted(node.text)} was found; {allowed(entry)} is allowed{closest(node.text, entry.choices)}")
        return word

    def _text(self, node: Node, entry: Described) -> str:
        text = node.text
        if not text.strip():
            raise node.error("nothing was found; a text is allowed")
        if len(text) > TEXT_LIMIT:
            raise node.error(f"a text of {len(text):,} characters was found; at most {TEXT_LIMIT} are allowed")
        if any(unicodedata.category(c) in ("Cc", "Cs", "Zl", "Zp") for c in text):
            raise node.error(f"{quoted(text)} has a line break or control character; one line of text is allowed")
        if entry.form == "date" and not is_date(text):
            raise node.error(f"{quoted(text)} is not a date from {YEARS[0]} to {YEARS[-1]}; write YYYY-MM-DD, such as "
                             "2026-03-31")
        if entry.table:
            known = self.names(entry.table)
            if known is not None and text not in known:
                raise unknown_row(node, text, entry.table, known)
        return text


def _each(node: Node, read: Callable[[Node], Any]) -> tuple[Any, ...]:
    """Every item of a list as it is read; SourceError names what is wrong in any of them."""
    problems, found = Problems(), []
    for item in node.items:
        with problems.gathered():
            found.append(read(item))
    problems.tell()
    return tuple(found)


YEARS = range(1950, 2200)
"""Years of any date that a car file holds."""


def is_date(text: str) -> bool:
    """Whether a text is a day of the calendar, YYYY-MM-DD, of the years in which cars have been raced so or may be."""
    try:
        return bool(re.fullmatch(r"\d{4}-\d{2}-\d{2}", text)) and datetime.date.fromisoformat(text).year in YEARS
    except ValueError:
        return False


def is_word(node: Node, word: str) -> bool:
    """Whether a node is that one word, unquoted."""
    return node.plain and node.value == word


def unknown_row(node: Node, text: str, table: str, known: Sequence[str]) -> SourceError:
    """The error for a name that a catalog table lacks."""
    return node.error(f"{quoted(text)} is not in the catalog of {table}; {listed(known)} is allowed{closest(text, known)}")


def unknown(node: Node, key: str, keys: Sequence[str]) -> SourceError:
    """The error for a key that does not exist; the node is its value, whose path ends with the key."""
    return node.error(f"the key is unknown{closest(key, keys)}; {listed(keys)} is allowed here")


def closest(word: str, words: Sequence[str]) -> str:
    """A hint at the nearest word, or nothing."""
    near = difflib.get_close_matches(word[:60], words, 1, 0.6)
    return f" (did you mean {spelling.read(near[0])}?)" if near else ""


def listed(words: Sequence[str]) -> str:
    """``one of a, b, c``."""
    return spelling.read(words[0]) if len(words) == 1 else f"one of {', '.join(map(spelling.read, words))}"


def allowed(entry: Described, unit: str = "") -> str:
    """What a field takes, for messages: its kind with its limits in the unit."""
    if entry.kind in DIMENSIONS:
        unit = unit or next(iter(units.UNITS[entry.kind]))
        low, high = (units.to(limit, entry.kind, unit) for limit in (entry.low, entry.high))
        if entry.kind == "length" and entry.low == 0.01:
            # What a size must be is larger than nothing; its exact bound in inches would only puzzle.
            return f"a length larger than 0, at most {high:.6g} {unit}"
        article = "an" if entry.kind[0] in "aeiou" else "a"
        return f"{article} {entry.kind}{_range(low, high, ' ' + unit) or ' with its unit'}"
    if entry.kind == "ratio":
        return f"a plain number{_range(entry.low, entry.high, '')}"
    if entry.kind == "count":
        return f"a whole number{_range(entry.low, entry.high, '')}"
    if entry.kind == "choice":
        return listed(entry.choices)
    return {"flag": "true or false", "text": "a text", "texts": "a list of words", "holes": "a list of {y, z, diameter}",
            "points": "a list of {x, y, z}",
            "record": "a mapping {key: value}", "records": "a list of mappings"}[entry.kind]


def _wanted(entry: Described) -> str:
    """What a field takes, for whoever has written nothing: limits only puzzle there."""
    if entry.kind in DIMENSIONS:
        return f"{'an' if entry.kind[0] in 'aeiou' else 'a'} {entry.kind} with its unit"
    return allowed(entry)


def _range(low: float, high: float, unit: str) -> str:
    bounds = [f"{word} {limit:.6g}{unit}" for word, limit in (("from", low), ("to", high)) if abs(limit) != float("inf")]
    return f" {' '.join(bounds)}" if bounds else ""
