"""Rule sets: plain data in YAML, one file a set, and which of them apply to a car.

A rule names a quantity, a comparison, a limit as printed in each unit, when it applies, how grave it is, and on what it
rests. Inch and mm figures are kept apart as the books print them and are never converted into each other; ``binds`` says
which of them decides.
"""
from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from .. import PACKAGE, schema, source
from .rule import Disabled, Rule, RuleSet
from .rule_file import condition, name_of, parse, read

__all__ = ["ALWAYS", "DEFAULT_SETS", "FOLDER", "RuleError", "Selection", "available", "condition", "parse", "read", "select"]

FOLDER = os.path.join(PACKAGE, "catalog", "rules")
DEFAULT_SETS = ("practice", "driveline", "clearance", "containment", "strength")
"""Of a car that names none: everything that is looked at whatever the class, so that only its book is missing."""
ALWAYS = "document_health"
"""The set that applies to every car, named or not."""


class RuleError(ValueError):
    """What the user asked of the checks and cannot have: a rule set that does not exist, a date that is none. One sentence."""


def available(folder: str = FOLDER) -> tuple[str, ...]:
    """Names of the rule sets that come with the program."""
    return tuple(sorted(name[:-5] for name in os.listdir(folder) if name.endswith(".yaml")))


@dataclass(frozen=True)
class Selection:
    """The sets that apply to a car, what they were asked for by, and the rules of all of them, each once."""
    sets: tuple[RuleSet, ...]
    rules: tuple[Rule, ...]
    disabled: tuple[Disabled, ...]
    notes: tuple[str, ...]


def select(names: Sequence[str], files: Iterable[str] = (), folder: str = FOLDER) -> Selection:
    """The rules of named sets and of further rule files, with what they include; RuleError or SourceError where a name
    or a file is refused. No name and no file: ``DEFAULT_SETS``, and a note that says so."""
    notes: tuple[str, ...] = ()
    wanted: list[tuple[str, str]] = [(name, "") for name in names] + [("", path) for path in files]
    if not wanted:
        wanted = [(name, "") for name in DEFAULT_SETS]
        notes = (f"the car file names no rule set; {', '.join([*DEFAULT_SETS, ALWAYS])} were used, and no rule book of a "
                 "sanctioning body is among them",)
    wanted.append((ALWAYS, ""))
    known = available(folder)   # their names are taken whether the car uses them or not
    sets: dict[str, RuleSet] = {}
    while wanted:
        name, path = wanted.pop(0)
        if path:
            name = name_of(path)
            taken = sets[name].file if name in sets else os.path.join(folder, f"{name}.yaml") if name in known else path
            if os.path.realpath(taken) != os.path.realpath(path):
                raise RuleError(f"--rules: {path} would be the rule set {name}, and so is {taken}; a set is named by its file, so give the "
                                "file another name.")
        elif name not in known and name not in sets:
            raise RuleError(f"rules.sets: {source.quoted(name)} is not a rule set; {schema.listed(known)} is allowed"
                            f"{schema.closest(name, known)}.")
        if name in sets:
            continue
        found = read(path or os.path.join(folder, f"{name}.yaml"))
        sets[found.name] = found
        wanted[:0] = [(inner, "") for inner in found.include if inner not in sets]
    ordered = tuple(sets.values())
    off = {rule for item in ordered for rule, _reason, _line in item.disabled}
    seen: dict[str, Rule] = {}
    for item in ordered:
        for rule in item.rules:
            if rule.id in seen:
                other = seen[rule.id]
                raise source.SourceError(rule.file, rule.line, rule.id, f"the rule id is also in {other.file}, line "
                                         f"{other.line}; give each rule an id of its own")
            seen[rule.id] = rule
    missing = off - set(seen)
    if missing:
        lacking = sorted(missing)[0]
        where = next(item for item in ordered if any(lacking == name for name, _reason, _line in item.disabled))
        raise source.SourceError(where.file, None, "disable", f"the rule {lacking} is not in the sets that are included; "
                                 "remove it from the list")
    switched_off = tuple(Disabled(seen[rule], item.name, reason, item.file, line)
                         for item in ordered for rule, reason, line in item.disabled)
    return Selection(ordered, tuple(rule for rule in seen.values() if rule.id not in off), switched_off, notes)
