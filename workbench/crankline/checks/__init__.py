"""Checks: rules measured on a snapshot of a car, waivers, exit code. Imports without FreeCAD.

Importing it registers every quantity that a rule file may name. Rule data come from ``rules``; what is measured on shapes, from
``measure``. What would clear a finding is looked for by ``remedies``, and ``reports`` tells it all.
"""
from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass, field

from ..measure.measurer import Measurer
from ..record import filled
from ..rules import rule_sets
from ..rules.rule import SEVERITIES, Rule, RuleSet
from ..rules.rule_sets import RuleError
from ..snapshot import Snapshot
from . import evaluate, quantities, waivers
from .finding import Finding, exit_code
from .waivers import Unused

__all__ = ["SEVERITIES", "Finding", "Outcome", "RuleError", "RuleSet", "day", "exit_code", "quantities", "run"]


@dataclass(frozen=True)
class Outcome:
    """What a run found. exit_code: 0, 1, 3 or 4; rules: those that were run; disabled: (rule id, set that switches it off, reason)."""
    findings: tuple[Finding, ...]
    exit_code: int
    rules: tuple[Rule, ...]
    rule_sets: tuple[RuleSet, ...]
    fail_on: str
    event_date: datetime.date
    unused_waivers: tuple[Unused, ...] = ()
    disabled: tuple[tuple[str, str, str], ...] = ()
    notes: tuple[str, ...] = ()
    measurer: Measurer | None = field(default=None, repr=False)


def run(snapshot: Snapshot, fail_on: str = "error", event_date: datetime.date | str | None = None,
        rule_files: Iterable[str] = (), measurer: Measurer | None = None) -> Outcome:
    """Every rule of the car's rule sets on a snapshot.

    fail_on: lowest severity that makes the run fail (error, warning, advice). event_date: day at which waivers and
    certificates must still be good; absent: the car's, else today. rule_files: further rule sets by path. measurer: what
    measures shapes; absent: the host's, where it is there. RuleError or SourceError (a rule file) with one sentence.
    """
    if fail_on not in SEVERITIES:
        raise RuleError(f"--fail-on: found {fail_on!r}; use one of {', '.join(SEVERITIES)}.")
    asked = filled(snapshot.car).rules
    date = day(event_date or asked.event_date)
    selection = rule_sets.select(asked.sets, rule_files)
    if measurer is None:
        measurer = _host_measurer()
    found = evaluate.evaluate(selection.rules, snapshot, measurer, date)
    found, unused = waivers.apply(found, asked.waivers, date)
    blocking = snapshot.scene is None or any(item.blocking for item in snapshot.unsound)
    return Outcome(tuple(found), exit_code(found, fail_on, blocking), selection.rules, selection.sets, fail_on, date, tuple(unused),
                   selection.disabled, selection.notes, measurer)


def day(value: datetime.date | str | None) -> datetime.date:
    """The day of an event; absent: today. RuleError where a text is no date."""
    if value is None:
        return datetime.date.today()
    if isinstance(value, datetime.date):
        return value
    try:
        return datetime.date.fromisoformat(value)
    except ValueError:
        raise RuleError(f"--event-date: {value!r} is no date; write YYYY-MM-DD, such as 2026-03-31.") from None


def _host_measurer() -> Measurer | None:
    try:
        from ..measure import host_measurer
        return host_measurer.HostMeasurer()
    except ImportError:
        return None
