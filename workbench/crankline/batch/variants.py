"""Variants of a car: values for keys of its file, every combination of them, and the table of what came of each. Pure."""
from __future__ import annotations

import itertools
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from .. import carfile, model
from ..carfile.flat import name_of
from ..checks.finding import from_row
from ..reports import compare, wording
from ..rules.rule import SEVERITIES
from ..source import Node

MOST = 10_000
"""Variants of one run."""
KEY = ("placement", "driveline")
"""Sections of a report whose numbers are in the table."""
DESIGNED = ("axle_to_block", "crank_height", "height_at", "pitch", "lateral", "roll", "yaw")
REAR = ("pinion_joint.x", "pinion_joint.y", "pinion_joint.z", "pinion_pitch")
"""Keys of placement and of rear end on which nothing hangs while a car is shown as built; of the rear end, where they were measured."""
_NUMBER = re.compile(r"\s*([+-]?[0-9]+(?:\.[0-9]*)?|[+-]?\.[0-9]+)\s*([^0-9\s.+-][^0-9]*?)?\s*")


class VariantError(ValueError):
    """Values that make no variants. One sentence: what was found, what is allowed, the way out."""


@dataclass(frozen=True)
class Axis:
    """A key of the car file and the values that it takes, as texts of the file."""
    key: str
    values: tuple[str, ...]

    @property
    def short(self) -> str:
        """The last word of the key."""
        return self.key.rpartition(".")[2]


def axis(text: str) -> Axis:
    """``key=value,value,...``, each value a text of the car file or ``first..last/step``; a unit that stands at the end holds for those
    before it that have none. VariantError where it says something else."""
    key, equals, told = text.partition("=")
    if not equals or not re.fullmatch(r"[a-z0-9_ ]+(\.[A-Za-z0-9_ -]+)*", key.strip()) or not told.strip():
        raise VariantError(f"--set: {text!r} was found; write KEY=VALUES, such as placement.axle_to_block=80..85in/0.5in or "
                           "placement.pitch=1.9,2.0,2.2deg")
    words = [word.strip() for word in told.split(",")]
    last = _NUMBER.fullmatch(re.split(r"\.\.|/", words[-1])[-1]) if words[-1] else None
    unit = (last[2] or "") if last else ""
    values = [value for word in words for value in _values(word, unit, text)]
    if len(set(values)) != len(values):
        raise VariantError(f"--set: {text!r} names a value twice; give each once")
    return Axis(key.strip(), tuple(values))


def _values(word: str, unit: str, text: str) -> Iterator[str]:
    span = re.fullmatch(r"(.+?)\.\.(.+)/(.+)", word)
    if span is None:
        number = _NUMBER.fullmatch(word)
        if ".." in word:
            raise VariantError(f"--set: {word!r} has no step; write a range as first..last/step, such as 80..85in/0.5in")
        if not word:
            raise VariantError(f"--set: {text!r} has an empty value; take the comma away")
        yield f"{number[1]} {number[2] or unit}".strip() if number else word
        return
    first, last, step = (_NUMBER.fullmatch(part) for part in span.groups())
    if first is None or last is None or step is None:
        raise VariantError(f"--set: {word!r} was found; write a range as first..last/step in decimals, such as 80..85in/0.5in")
    units = {found[2] for found in (first, last, step) if found[2]} or {""}
    if len(units) > 1:
        raise VariantError(f"--set: {word!r} mixes the units {' and '.join(sorted(units))}; write first, last and step in one")
    a, b, by = (Decimal(found[1]) for found in (first, last, step))
    if by == 0 or (b - a) / by < 0:
        raise VariantError(f"--set: {word!r} leads nowhere; give a step that leads from {first[1]} to {last[1]}")
    if (b - a) / by > MOST:
        raise VariantError(f"--set: {word!r} is more than {MOST} values; take a larger step")
    for number_ in range(int((b - a) / by) + 1):
        yield f"{(a + number_ * by).normalize():f} {units.copy().pop()}".strip()


def grid(axes: Sequence[Axis]) -> dict[str, dict[str, str]]:
    """Name of each variant to its keys and values: every combination. VariantError where that is too many, or a key comes twice."""
    keys = [one.key for one in axes]
    if len(set(keys)) != len(keys):
        raise VariantError(f"--set: {next(key for key in keys if keys.count(key) > 1)} is given twice; give all its values in one")
    count = 1
    for one in axes:
        count *= len(one.values)
    if count > MOST:
        raise VariantError(f"--set: these are {count} variants; at most {MOST} are allowed, so give fewer values")
    shorts = [one.short if sum(other.short == one.short for other in axes) == 1 else one.key for one in axes]
    found: dict[str, dict[str, str]] = {}
    taken: set[str] = set()
    for values in itertools.product(*(one.values for one in axes)):
        stem = name = "_".join(f"{short}={re.sub(r'[^A-Za-z0-9.+-]', '', value)}" for short, value in zip(shorts, values))
        number = 1
        # 11/16 in and 1 1/16 in are one without their signs; systems that do not tell capitals from small letters take two names for one.
        while name.lower() in taken:
            number += 1
            name = f"{stem}_{number}"
        taken.add(name.lower())
        found[name] = dict(zip(keys, values))
    return found


def changed(root: Node, values: Mapping[str, str]) -> model.Car:
    """The car of a file with some of its values others. SourceError where it is refused, VariantError where there is no such place, or
    where nothing hangs on it because the car is shown as built."""
    for key, value in values.items():
        root = _with(root, key.split("."), value, key)
    car = carfile.of_nodes(root)
    for key in values:
        if instead := _overruled(car, key):
            raise VariantError(f"--set: {key} was found, and this car is shown as built, where {instead} counts instead; name that one, or "
                               "add --set placement.shown=as_designed")
    return car


def _overruled(car: model.Car, key: str) -> str:
    """The key of the placement as built that counts in place of another; empty where none does."""
    built = car.placement.as_built
    if built is None or car.placement.shown != "as_built":
        return ""
    section, _dot, rest = key.partition(".")
    name = {"placement": {"height_at": "crank_height"}.get(rest, rest),
            "rear_end": rest.replace("pinion_joint.", "rear_joint_")}.get(section, "")
    placed = section == "placement" and rest in DESIGNED
    found = placed or (section == "rear_end" and rest in REAR and getattr(built, name, None) is not None)
    return f"placement.as_built.{name}" if found else ""


def _with(node: Node, keys: Sequence[str], value: str, whole: str) -> Node:
    if not keys:
        if node.kind != "scalar":
            raise VariantError(f"--set: {whole} holds {'keys' if node.kind == 'mapping' else 'a list'}, not a value; name a key below it")
        return replace(node, value=value, plain=True)
    key, *rest = keys
    if node.kind == "list":
        place = next((number for number, below in enumerate(node.items, 1) if key in (name_of(below), str(number))), 0)
        if not place:
            raise VariantError(f"--set: {whole}: the list has no entry {key!r}; name one of it, or its number from 1")
        below = tuple(_with(one, rest, value, whole) if number == place else one for number, one in enumerate(node.items, 1))
        return replace(node, value=below)
    if node.kind != "mapping":
        raise VariantError(f"--set: {whole}: there is nothing below {node.path}; name a key of the car file")
    held = node.mapping.get(key)
    if held is None:
        path = f"{node.path}.{key}" if node.path else key
        # Whether there may be such a key is told when the car is read.
        held = Node("mapping", {}, node.file, node.line, path) if rest else Node("scalar", "", node.file, node.line, path, True)
    return replace(node, value={**node.mapping, key: _with(held, rest, value, whole)})


def table(axes: Sequence[Axis], variants: Mapping[str, Mapping[str, str]], codes: Mapping[str, int],
          reports: Mapping[str, Mapping[str, Any] | None]) -> list[list[Any]]:
    """The results as a table with a line of names, a variant a line: values, exit code, open findings by severity, the numbers of the
    placement and the driveline, and the state of every finding that any of them has. A cell that is empty or left out: there is no such
    thing, or no report."""
    figures: dict[str, None] = {}
    findings: dict[str, str] = {}
    for report in (one for one in reports.values() if one is not None):
        figures.update(dict.fromkeys(path for path, value in _figures(report) if isinstance(value, (int, float))))
        for one in map(from_row, report["findings"]):
            about = wording.about(one.subjects, one.discriminator)
            findings.setdefault(one.id, f"{one.rule}: {one.title}" + (f" ({about})" if about else ""))
    rows: list[list[Any]] = [["variant", *(one.key for one in axes), "exit", "open errors", "open warnings", "open advice", *figures,
                              *findings.values()]]
    for name, values in variants.items():
        found = reports.get(name)
        head = [name, *(values[one.key] for one in axes), codes.get(name, "")]
        if found is None:
            rows.append(head)
            continue
        judged = {one.id: one for one in map(from_row, found["findings"])}
        stands = [one.severity for one in judged.values() if one.unresolved and not one.to_confirm]
        told = dict(_figures(found))
        rows.append([*head, *(stands.count(severity) for severity in SEVERITIES),
                     *(told.get(path) for path in figures), *(str(judged[one].state) if one in judged else "" for one in findings)])
    return rows


def _figures(report: Mapping[str, Any]) -> Iterable[tuple[str, Any]]:
    return compare.leaves({name: report.get(name) for name in KEY})
