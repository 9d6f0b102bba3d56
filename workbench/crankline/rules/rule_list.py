"""Every rule of a selection, what it measures, and whether and why it applies to a car."""
from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from .. import spelling
from ..record import filled
from ..snapshot import Snapshot
from ..units import sized
from . import conditions
from .quantity import FORMULAS, QUANTITIES
from .rule import Limit, Rule

NAMED = {"in": "inch"}


@dataclass(frozen=True)
class Listed:
    """One rule as a list shows it. applies: None = not known, or no car was asked about."""
    rule: Rule
    measures: str
    limit: str
    applies: bool | None
    why: str

    def to_json(self) -> dict[str, Any]:
        """As plain data."""
        return {"rule": self.rule.id, "set": self.rule.rule_set, "title": self.rule.title, "quantity": self.rule.quantity,
                "measures": self.measures, "limit": self.limit, "severity": self.rule.severity, "applies": self.applies,
                "why": self.why, "waivable": self.rule.waivable, "basis": self.rule.basis.to_json()}


def listing(rules: Iterable[Rule], snapshot: Snapshot | None = None) -> tuple[Listed, ...]:
    """Every rule; with a snapshot also whether it applies to that car, and why."""
    known = None
    if snapshot is not None:
        known = conditions.facts(filled(snapshot.car), snapshot.scene)
    found = []
    for rule in rules:
        applies, why = conditions.holds(rule.when, known) if known is not None else (None, "")
        found.append(Listed(rule, QUANTITIES[rule.quantity].doc, _limit(rule), applies, why))
    return tuple(found)


def text(listed: Iterable[Listed], only_applying: bool = False) -> str:
    """The list as lines of text, set by set with the number of its rules, rule by rule, with a sum at its end. only_applying: without what
    is known not to apply."""
    listed = tuple(listed)
    lines: list[str] = []
    for name in dict.fromkeys(item.rule.rule_set for item in listed):
        mine = tuple(item for item in listed if item.rule.rule_set == name)
        lines += [f"set {name}: {_sum(mine)}", *_rules(item for item in mine if not only_applying or item.applies is not False), ""]
    return "\n".join([*lines, _sum(listed)])


def json_text(listed: Iterable[Listed], only_applying: bool = False) -> str:
    """The list as JSON. only_applying: as of ``text``."""
    return json.dumps([item.to_json() for item in listed if not only_applying or item.applies is not False], indent=1, ensure_ascii=False)


def _rules(listed: Iterable[Listed]) -> list[str]:
    lines: list[str] = []
    for item in listed:
        rule = item.rule
        firm = "" if rule.waivable else ", cannot be waived"
        lines.append(f"{rule.id}  {rule.title}  [{rule.severity}{firm}]")
        lines.append(f"    measures: {item.measures}")
        told = _settings(rule)
        if told:
            lines.append(f"    settings: {told}")
        lines.append(f"    required: {item.limit}")
        if item.why:
            word = {True: "applies", False: "does not apply", None: "not known whether it applies"}[item.applies]
            lines.append(f"    {word}: {item.why}")
        if rule.to_confirm:
            lines.append("    from memory: it neither passes nor fails; confirm it against the current rule book")
        lines.append(f"    basis: {rule.basis.words()}")
    return lines


def _sum(listed: tuple[Listed, ...]) -> str:
    """How many rules, and how many of them apply where a car was asked about."""
    number = f"{len(listed)} rule{'s' * (len(listed) != 1)}"
    if not any(item.why for item in listed):
        return number
    count = {state: sum(item.applies is state for item in listed) for state in (True, False, None)}
    unknown = f", of {count[None]} it is not known" if count[None] else ""
    word = "applies" if count[True] == 1 else "apply"
    return f"{number}: {count[True]} {word} to this car, {count[False]} do{'es' * (count[False] == 1)} not{unknown}"


def _settings(rule: Rule) -> str:
    """What the rule measures of all that its quantity can: every choice, and numbers that are not the usual ones."""
    described = QUANTITIES[rule.quantity].settings
    told = []
    for name, value in rule.settings:
        setting = described[name]
        if setting.kind in ("choice", "choices"):
            words = (value,) if isinstance(value, str) else value
            told.append(f"{name.replace('_', ' ')}: {', '.join(spelling.read(word).replace('_', ' ') for word in words)}")
        elif value != setting.default:
            told.append(f"{name.replace('_', ' ')}: {sized(value) if setting.kind == 'length' else f'{value:g}'}")
    return "; ".join(told)


def _limit(rule: Rule) -> str:
    if rule.limit is not None:
        return _words(rule.comparison, rule.limit)
    return ", or ".join("; ".join([*(f"{name} {' or '.join(map(spelling.read, words))}" for name, words in item.words.items()),
                                   *(f"{name.replace('_', ' ')} {_words(rule.comparison, limit)}"
                                     for name, limit in item.sizes.items())]) for item in rule.alternatives)


def _words(comparison: str, limit: Limit) -> str:
    """A limit as a reader wants it: the figure that decides first, what else is printed beside it after it."""
    if limit.formula:
        told = "".join(f"; {name.replace('_', ' ')} {value:g}" if isinstance(value, float) else f"; {name.replace('_', ' ')} {value}"
                       for name, value in limit.settings)
        about = FORMULAS[limit.formula].doc.rstrip(".")
        return f"{comparison} a limit in {limit.unit or 'one'} that is computed: {about[0].lower()}{about[1:]}{told}"
    printed = dict(limit.printed)
    if len(limit.binding) > 1:
        return f"{comparison} {' and '.join(printed.values())} (the stricter decides)"
    first = printed.get(limit.unit, next(iter(printed.values())))
    others = [figure for figure in printed.values() if figure != first]
    return f"{comparison} {first}" + (f" (printed with {', '.join(others)}; the {NAMED.get(limit.unit, limit.unit)} figure decides)"
                                      if others else "")
