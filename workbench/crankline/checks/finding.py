"""Findings: what one rule says about one subject of one car, and how a run is judged."""
from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields
from enum import StrEnum
from functools import lru_cache
from typing import Any

from ..exit_codes import BROKEN, CLEAN, FINDINGS, INCOMPLETE
from ..rules.rule import SEVERITIES, Severity


class State(StrEnum):
    """What a finding says of the car; only ``passed`` is good news, ``not evaluated`` is none."""
    PASSED = "passed"
    OPEN = "open"
    WAIVED = "waived"
    WAIVER_VOID = "waiver-void"
    NOT_APPLICABLE = "not-applicable"
    NOT_EVALUATED = "not-evaluated"


class Looked(StrEnum):
    """How far it was looked for what would clear a finding."""
    NO = "not yet"
    PARTLY = "partly"
    YES = "yes"


@dataclass(frozen=True)
class Finding:
    """One rule on one subject. measured, limit and margin are in ``unit``, the unit in which the rule's limit binds;
    limit is one number, or (low, high). margin: signed distance to the limit, positive = good. reason: why it was
    not evaluated, does not apply, is void, or must be confirmed."""
    id: str
    rule: str
    rule_set: str
    title: str
    severity: Severity
    state: State
    basis: dict[str, str]
    subjects: tuple[str, ...]
    discriminator: str = ""
    measured: float | None = None
    comparison: str = ""
    limit: float | tuple[float, float] | None = None
    unit: str = ""
    margin: float | None = None
    tolerance: float = 0.0
    edition: str = ""
    how: str = ""
    applies: str = ""
    reason: str = ""
    hint: str = ""
    waivable: bool = True
    to_confirm: bool = False
    """It asks to be confirmed and counts for no exit code: the rule stands in the set from memory, or whether it applies is a question."""
    points: tuple[tuple[float, ...], ...] = ()
    digests: dict[str, str] = field(default_factory=dict)
    """Part key to the digest of the shape that was measured."""
    component: str = ""
    """The size that decides, of a rule that compares several (``wall``); empty of every other rule."""
    waiver: dict[str, Any] | None = None
    remedies: tuple[dict[str, Any], ...] = ()
    """Single parameters that would clear it (``remedies.search.Remedy``); empty where none does."""

    looked_for: Looked = Looked.NO
    """Whether ``remedies`` is what there is."""

    @property
    def unresolved(self) -> bool:
        """Whether it still stands against the car."""
        return self.state in (State.OPEN, State.WAIVER_VOID)

    @property
    def compared(self) -> str:
        """What is measured and in which unit, as a waiver keeps it: ``wall (in)``, ``(deg)``; empty where there is no unit."""
        if self.measured is None:
            return ""
        return " ".join(filter(None, (self.component.replace("_", " "), f"({self.unit})" if self.unit else "")))

    def counts(self, fail_on: str) -> bool:
        """Whether it makes a run fail at this level."""
        return (self.unresolved and not self.to_confirm
                and self.severity.rank <= Severity(fail_on).rank)

    def changed(self, **fields: Any) -> Finding:
        """As ``dataclasses.replace``, in a fifth of its time: a check makes hundreds of findings of what their rules say."""
        other = object.__new__(Finding)
        vars(other).update(vars(self), **fields)
        return other

    def to_json(self) -> dict[str, Any]:
        """The finding as it stands in the report."""
        limit = list(self.limit) if isinstance(self.limit, tuple) else self.limit
        return {"id": self.id, "rule": self.rule, "title": self.title, "severity": self.severity, "state": self.state,
                "measured": self.measured, "comparison": self.comparison, "limit": limit, "unit": self.unit,
                "margin": self.margin, "tolerance": self.tolerance, "basis": dict(self.basis),
                "subjects": list(self.subjects), "discriminator": self.discriminator, "hint": self.hint,
                "set": self.rule_set, "edition": self.edition, "how": self.how, "applies": self.applies, "reason": self.reason,
                "waivable": self.waivable, "to_confirm": self.to_confirm, "points": [list(p) for p in self.points],
                "digests": dict(self.digests), "waiver": self.waiver,
                "remedies": [dict(remedy) for remedy in self.remedies], "remedies_looked_for": self.looked_for}


def from_row(row: Mapping[str, Any]) -> Finding:
    """The finding of a row: as ``Finding.to_json`` writes it, or its fields by name. KeyError, ValueError or TypeError where it is none."""
    named = {_OF_REPORT.get(name, name): value for name, value in row.items()}
    given = {name: value for name, value in named.items() if name in _FIELDS}
    limit = given.get("limit")
    return Finding(**{**given, "severity": Severity(given["severity"]), "state": State(given["state"]),
                      "looked_for": Looked(given.get("looked_for", Looked.NO)), "subjects": tuple(map(str, given["subjects"])),
                      "limit": tuple(map(float, limit)) if isinstance(limit, list) else limit,
                      "points": tuple(tuple(map(float, point)) for point in given.get("points", ())),
                      "remedies": tuple(dict(one) for one in given.get("remedies", ()))})


_OF_REPORT = {"set": "rule_set", "remedies_looked_for": "looked_for"}
_FIELDS = frozenset(one.name for one in fields(Finding))


def finding_id(rule: str, subjects: Iterable[str], discriminator: str = "") -> str:
    """Name of a finding that survives renaming, recompute and reordering: from the rule, its subjects' keys and the
    discriminator; nothing measured goes in."""
    return _named("\x1f".join((rule, "\x1e".join(sorted(subjects)), discriminator)))


# The next check finds the same.
@lru_cache(maxsize=8192)
def _named(text: str) -> str:
    return hashlib.blake2b(text.encode("utf-8"), digest_size=8).hexdigest()


def exit_code(findings: Iterable[Finding], fail_on: str = "error", blocking: bool = False) -> int:
    """0 clean, 1 a finding at or above the level, 4 something was not evaluated, 3 layout or chassis are unsound; the
    first of 3, 4, 1 that holds."""
    if fail_on not in SEVERITIES:
        raise ValueError(f"--fail-on: found {fail_on!r}; use one of {', '.join(SEVERITIES)}.")
    findings = tuple(findings)
    if blocking:
        return BROKEN
    if any(finding.state == State.NOT_EVALUATED for finding in findings):
        return INCOMPLETE
    return FINDINGS if any(finding.counts(fail_on) for finding in findings) else CLEAN
