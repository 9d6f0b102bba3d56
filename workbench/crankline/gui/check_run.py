"""A check under way in the window, and after it the search for what clears its findings: what is known so far. Without host and Qt.

Numbers come first, then shapes, then remedies in the order of severity, as far as the effort goes; for a finding that somebody asks for the
search goes on to its end.
"""
from __future__ import annotations

import datetime
from collections.abc import Generator, Iterable
from typing import Any

from .. import checks, model, remedies
from ..checks.finding import Finding, Looked
from ..measure import part_marks
from ..progress import Progress
from ..rules.rule import Rule
from ..snapshot import Snapshot


class CheckRun:
    """One check of a snapshot. Options as ``checks.Check``. canceled: what no step has reached is told as not evaluated. marks: part key to
    mark, once all is checked."""

    def __init__(self, snapshot: Snapshot, **options):
        self._snapshot, self._check = snapshot, checks.Check(snapshot, **options)
        self.checked = self.canceled = False
        self.marks: dict[str, str] = {}
        self._rules: dict[str, Rule] = {}
        self._solver: remedies.Solver | None = None
        self._searches: dict[str, remedies.Search] = {}
        self._asked: list[str] = []
        self._queue: list[Finding] = []

    @property
    def system(self) -> str:
        """Units in which the car is read: ``in`` or ``mm``."""
        return self._snapshot.system

    @property
    def event_date(self) -> datetime.date:
        """Day on which waivers must still be valid."""
        return self._check.event_date

    @property
    def today(self) -> datetime.date:
        """Day after which a waiver's date lies in the future."""
        return self._check.today

    @property
    def numbers_done(self) -> bool:
        """Whether every rule was reached that follows from numbers alone."""
        return self._check.numbers_done

    @property
    def known(self) -> tuple:
        """Changes when more is known."""
        return self.checked, self.canceled, bool(self.marks), len(self._check.findings()), len(self._searches)

    def findings(self) -> tuple[Finding, ...]:
        """What was found so far, waivers not applied."""
        return self._check.findings(checks.CANCELED if self.canceled else "")

    def with_remedies(self, findings: Iterable[Finding]) -> tuple[Finding, ...]:
        """Findings with what was found to clear them."""
        if not self.checked:
            return tuple(findings)
        return tuple(remedies.with_remedies(finding, self._rules[finding.rule], self._searches.get(finding.id)) for finding in findings)

    def car_with(self, finding: Finding, given: dict[str, Any]) -> model.Car:
        """The car that was checked with a remedy of a finding done; ValueError where it turns no field of the car."""
        return remedies.car_with(given, finding, self._rules[finding.rule], self._snapshot)

    def cancel(self) -> None:
        """Leave it where it stands."""
        self.canceled = self.canceled or not self.checked
        self._queue = []

    def steps(self) -> Generator[Progress, None, None]:
        """Check, then look for remedies."""
        for step in self._check.steps():
            yield step._replace(about=f"checking {step.about}")
        self.checked = True
        outcome = self._check.outcome()
        self._rules = {rule.id: rule for rule in outcome.rules}
        self._solver = remedies.Solver(self._snapshot, outcome.measurer)
        found = self.findings()
        self._queue = [found[i] for i in remedies.in_order(found, outcome.rules)]
        yield Progress("marks of the parts", 1.0)
        if outcome.measurer is not None:
            self.marks = part_marks.by_key(part_marks.of(self._snapshot, outcome.measurer))
        yield from self.search_steps()

    def ask(self, finding_id: str) -> bool:
        """Have this finding looked into next, and to the end; whether it can be. ``search_steps`` does it, where nothing is under way."""
        finding = next((item for item in self.findings() if item.id == finding_id and remedies.may_be_cleared(item)), None)
        if finding is None or not self.checked:
            return False
        self._asked.append(finding_id)
        self._queue = [finding, *(item for item in self._queue if item.id != finding_id)]
        return True

    def may_look(self, finding: Finding) -> bool:
        """Whether there is more to be looked for."""
        return remedies.may_be_cleared(finding) and finding.looked_for != Looked.YES and finding.id not in self._asked

    def search_steps(self) -> Generator[Progress, None, None]:
        """Look for remedies of what is in the queue."""
        done = 0
        while self._queue and self._solver is not None:
            finding = self._queue.pop(0)
            what = ", ".join(finding.subjects) or finding.title
            work = self._solver.steps(finding, self._rules[finding.rule], bounded=finding.id not in self._asked)
            while True:
                try:
                    step = next(work)
                except StopIteration as end:
                    self._searches[finding.id] = end.value
                    break
                yield Progress(f"remedies for {what}: {step.about}", (done + step.share) / (done + 1 + len(self._queue)))
            done += 1
