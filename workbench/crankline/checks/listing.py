"""Every rule of a selection, what it measures, and whether and why it applies to a car."""
from __future__ import annotations

from dataclasses import dataclass
from typing import Iterable

from ..record import filled
from ..snapshot import Snapshot
from . import triggers
from .engine import is_composite
from .measuring import FORMULAS, QUANTITIES
from .rule import Limit, Rule


@dataclass(frozen=True)
class Listed:
    """One rule as a list shows it. applies: None = not known, or no car was asked about."""
    rule: Rule
    measures: str
    limit: str
    applies: bool | None
    why: str

    def to_json(self) -> dict:
        """As plain data."""
        return {"rule": self.rule.id, "set": self.rule.rule_set, "title": self.rule.title, "quantity": self.rule.quantity,
                "measures": self.measures, "limit": self.limit, "severity": self.rule.severity, "applies": self.applies,
                "why": self.why, "waivable": self.rule.waivable, "basis": self.rule.basis.to_json()}


def listing(rules: Iterable[Rule], snapshot: Snapshot | None = None) -> tuple[Listed, ...]:
    """Every rule; with a snapshot also whether it applies to that car, and why."""
    known = None
    if snapshot is not None:
        known = triggers.facts(filled(snapshot.car), snapshot.scene, is_composite(snapshot.car.driveshaft.material))
    found = []
    for rule in rules:
        applies, why = triggers.holds(rule.when, known) if known is not None else (None, "")
        found.append(Listed(rule, QUANTITIES[rule.quantity].doc, _limit(rule), applies, why))
    return tuple(found)


def text(listed: Iterable[Listed]) -> str:
    """The list as lines of text, rule by rule."""
    lines = []
    for item in listed:
        rule = item.rule
        lines.append(f"{rule.id}  {rule.title}  [{rule.severity}, {rule.rule_set}]")
        lines.append(f"    measures: {item.measures}")
        lines.append(f"    wanted: {item.limit}")
        if item.why:
            word = {True: "applies", False: "does not apply", None: "not known whether it applies"}[item.applies]
            lines.append(f"    {word}: {item.why}")
        basis = rule.basis
        told = ", ".join(filter(None, (basis.document, basis.edition, basis.clause)))
        lines.append(f"    basis: {told} ({basis.source.replace('_', ' ')})")
    return "\n".join(lines)


def _limit(rule: Rule) -> str:
    if rule.limit is not None:
        return _words(rule.comparison, rule.limit)
    return ", or ".join("; ".join([*(f"{name} {' or '.join(words)}" for name, words in item.words.items()),
                                   *(f"{name.replace('_', ' ')} {_words(rule.comparison, limit)}"
                                     for name, limit in item.sizes.items())]) for item in rule.alternatives)


def _words(comparison: str, limit: Limit) -> str:
    if limit.formula:
        told = ", ".join(f"{name.replace('_', ' ')} {value:g}" if isinstance(value, float) else f"{name.replace('_', ' ')} {value}"
                         for name, value in limit.settings)
        return f"{comparison} what the formula gives ({FORMULAS[limit.formula].doc} {told})"
    printed = dict(limit.printed)
    first = next(iter(printed.values()))
    others = [text_ for text_ in printed.values() if text_ != first]
    return f"{comparison} {first}" + (f" (printed beside it: {', '.join(others)}; {limit.unit or 'the first'} binds)" if others else "")
