"""Checks: rules measured on a snapshot of a car, waivers, exit code. Imports without FreeCAD.

Importing it registers every quantity that a rule file may name. Rule data come from ``rules``; what is measured on shapes, from
``measure``. What would clear a finding is looked for by ``remedies``, and ``reports`` tells it all.
"""
from __future__ import annotations

import datetime
from collections.abc import Generator, Iterable
from dataclasses import dataclass, field

from .. import schema
from ..measure.measurer import Measurer
from ..progress import Progress, drained
from ..record import filled
from ..rules import rule_sets
from ..rules.rule import SEVERITIES, Disabled, Rule, RuleSet
from ..rules.rule_sets import RuleError
from ..snapshot import Snapshot
from . import quantities, waivers
from .evaluate import NOTHING, Evaluation, Slice
from .finding import Finding, State, exit_code
from .quantities.rule_book import edition_notes
from .waivers import Unused

__all__ = ["CANCELED", "SEVERITIES", "Check", "Finding", "Outcome", "RuleError", "RuleSet", "day", "exit_code", "quantities",
           "run"]

CANCELED = "the check was canceled before this rule was reached; check again"

PAST = ("the event on {day} is over: waivers and certificates were checked as of that day; set rules.event_date or --event-date to the "
        "next event")
TODAY = "no event date was given, so today, {day}, was used; give rules.event_date or --event-date. Depending on it: {count} ({rules})"


@dataclass(frozen=True)
class Outcome:
    """What a run found. exit_code: 0, 1, 3 or 4; rules: those that were run; disabled: rules that a set switches off;
    longest: the longest piece of work during which nothing could stop it."""
    findings: tuple[Finding, ...]
    exit_code: int
    rules: tuple[Rule, ...]
    rule_sets: tuple[RuleSet, ...]
    fail_on: str
    event_date: datetime.date
    unused_waivers: tuple[Unused, ...] = ()
    disabled: tuple[Disabled, ...] = ()
    notes: tuple[str, ...] = ()
    measurer: Measurer | None = field(default=None, repr=False)
    longest: Slice = NOTHING


class Check:
    """Every rule of a car's rule sets on a snapshot, step by step: what follows from numbers first, then what is measured on shapes.

    fail_on: lowest severity that makes the run fail (error, warning, advice). event_date: day at which waivers and
    certificates must still be good; absent: the car's, else today. today: what counts as the future; absent: the clock's. rule_files:
    additional rule sets by path. measurer: what measures shapes; absent: the host's, where it is there. RuleError or SourceError (a rule
    file) with one sentence.
    """

    def __init__(self, snapshot: Snapshot, fail_on: str = "error", event_date: datetime.date | str | None = None,
                 rule_files: Iterable[str] = (), measurer: Measurer | None = None, today: datetime.date | None = None):
        if fail_on not in SEVERITIES:
            raise RuleError(f"--fail-on: found {fail_on!r}; use one of {', '.join(SEVERITIES)}.")
        asked = filled(snapshot.car).rules
        self._date, self._fail_on, self._waivers = day(event_date or asked.event_date), fail_on, asked.waivers
        self._today = today or datetime.date.today()
        self._day_given = bool(event_date or asked.event_date)
        self._selection = rule_sets.select(asked.sets, rule_files)
        self._measurer = _host_measurer() if measurer is None else measurer
        self._blocking = snapshot.scene is None or any(item.blocking for item in snapshot.unsound)
        self._evaluation = Evaluation(self._selection.rules, snapshot, self._measurer, self._date, self._selection)

    def steps(self) -> Generator[Progress, None, None]:
        """Check; progress comes before each slice of work. It measures the host's shapes, so it belongs in the window's own thread."""
        return self._evaluation.steps()

    @property
    def numbers_done(self) -> bool:
        """Whether every rule was reached that follows from numbers alone."""
        return self._evaluation.numbers_done

    @property
    def event_date(self) -> datetime.date:
        """Day on which waivers and certificates must still be valid."""
        return self._date

    @property
    def today(self) -> datetime.date:
        """Day after which a waiver's date lies in the future."""
        return self._today

    def findings(self, unreached: str = "") -> tuple[Finding, ...]:
        """What was found so far, waivers not applied. unreached: why a rule that no step has reached is not evaluated; empty: it is left
        out."""
        return tuple(self._evaluation.findings(unreached))

    def outcome(self, unreached: str = CANCELED) -> Outcome:
        """What was found so far; a rule that no step has reached is not evaluated, for the reason given."""
        found, unused = waivers.apply(self._evaluation.findings(unreached), self._waivers, self._date, self._today)
        selection = self._selection
        past = (PAST.format(day=self._date),) if self._date < self._today else ()
        notes = (*selection.notes, *edition_notes(selection, self._date.year + 1), *past, *self._of_today(found))
        return Outcome(tuple(found), exit_code(found, self._fail_on, self._blocking), selection.rules, selection.sets, self._fail_on,
                       self._date, tuple(unused), selection.disabled, notes, self._measurer, self._evaluation.longest)

    def _of_today(self, found: Iterable[Finding]) -> tuple[str, ...]:
        """What hangs on the day, where none was given: tomorrow it may be another."""
        rules = {*self._evaluation.of_the_day, *(one.rule for one in found if (one.waiver or {}).get("expires"))}
        hanging = [one.rule for one in found if one.rule in rules and one.state != State.NOT_APPLICABLE]
        if self._day_given or not hanging:
            return ()
        count = f"{len(hanging)} finding{'s' * (len(hanging) != 1)}"
        return (TODAY.format(day=self._date, count=count, rules=", ".join(sorted(set(hanging)))),)


def run(snapshot: Snapshot, fail_on: str = "error", event_date: datetime.date | str | None = None,
        rule_files: Iterable[str] = (), measurer: Measurer | None = None, today: datetime.date | None = None) -> Outcome:
    """A whole ``Check`` at one go."""
    check = Check(snapshot, fail_on, event_date, rule_files, measurer, today)
    drained(check.steps())
    return check.outcome()


def day(value: datetime.date | str | None) -> datetime.date:
    """The day of an event; absent: today. RuleError where a text is no date."""
    if value is None:
        return datetime.date.today()
    if isinstance(value, datetime.date):
        return value
    if not schema.is_date(value):
        raise RuleError(f"--event-date: {value!r} is not a date from {schema.YEARS[0]} to {schema.YEARS[-1]}; write YYYY-MM-DD, such as "
                        "2026-03-31.")
    return datetime.date.fromisoformat(value)


def _host_measurer() -> Measurer | None:
    try:
        from ..measure import host_measurer
        return host_measurer.HostMeasurer()
    except ImportError:
        return None
