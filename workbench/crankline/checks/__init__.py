"""Checks: rules measured on a snapshot of a car, waivers, exit code, report. Imports without FreeCAD.

``run`` judges, ``report`` tells, ``junit.text`` tells it to a continuous-integration server.
"""
from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from ..record import filled
from ..snapshot import Snapshot
from . import engine, junit, page, remedies, reporting, rules, table, waivers
from .findings import SEVERITIES, Finding, exit_code
from .measuring import Measurer
from .rule import RuleSet
from .rules import RuleError
from .waivers import Unused

__all__ = ["SEVERITIES", "Finding", "Outcome", "RuleError", "RuleSet", "csv_text", "day", "exit_code", "html_text", "junit_text", "report", "run"]


@dataclass(frozen=True)
class Outcome:
    """What a run found. figures: the report's numbers by group; exit_code: 0, 1, 3 or 4."""
    findings: tuple[Finding, ...]
    figures: Mapping[str, Any]
    exit_code: int
    rule_sets: tuple[RuleSet, ...]
    fail_on: str
    event_date: datetime.date
    unused_waivers: tuple[Unused, ...] = ()
    disabled: tuple[tuple[str, str, str], ...] = ()
    notes: tuple[str, ...] = ()
    measurer: Measurer | None = field(default=None, repr=False)


def run(snapshot: Snapshot, fail_on: str = "error", event_date: datetime.date | str | None = None,
        rule_files: Iterable[str] = (), measurer: Measurer | None = None, with_remedies: bool = True) -> Outcome:
    """Every rule of the car's rule sets on a snapshot.

    fail_on: lowest severity that makes the run fail (error, warning, advice). event_date: day at which waivers and
    certificates must still be good; absent: the car's, else today. rule_files: further rule sets by path. measurer: what
    measures shapes; absent: the host's, where it is there. with_remedies: whether findings that stand against the car say which one
    parameter would clear them. RuleError or SourceError (a rule file) with one sentence.
    """
    if fail_on not in SEVERITIES:
        raise RuleError(f"--fail-on: found {fail_on!r}; use one of {', '.join(SEVERITIES)}.")
    asked = filled(snapshot.car).rules
    date = day(event_date or asked.event_date)
    selection = rules.select(asked.sets, rule_files)
    if measurer is None:
        measurer = _host_measurer()
    found = engine.evaluate(selection.rules, snapshot, measurer, date)
    found, unused = waivers.apply(found, asked.waivers, date)
    if with_remedies:
        found = remedies.for_all(found, selection.rules, snapshot, measurer)
    numbers, notes = reporting.figures_of(snapshot)
    blocking = snapshot.scene is None or any(item.blocking for item in snapshot.unsound)
    return Outcome(tuple(found), numbers, exit_code(found, fail_on, blocking), selection.sets, fail_on, date,
                   tuple(unused), selection.disabled, selection.notes + notes, measurer)


def report(outcome: Outcome, snapshot: Snapshot, host: Mapping[str, Any], files: Mapping[str, str] | None = None) -> dict:
    """The report as a dict (schema: catalog/report.schema.json); files: name to sha256 of what was written."""
    return reporting.report(outcome, snapshot, host, outcome.measurer, files)


def junit_text(outcome: Outcome, snapshot: Snapshot) -> str:
    """The findings as JUnit XML."""
    return junit.text(outcome.findings, [item.name for item in outcome.rule_sets], outcome.fail_on,
                      snapshot.car.car.name)


def csv_text(report_: Mapping[str, Any]) -> str:
    """The findings of a report as a table that spreadsheets open without running anything in it."""
    return table.text(report_)


def html_text(report_: Mapping[str, Any]) -> str:
    """The report as one HTML file that needs no other, each finding with a small side view of its place."""
    return page.text(report_)


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
        from . import shapes
        return shapes.HostMeasurer()
    except ImportError:
        return None
