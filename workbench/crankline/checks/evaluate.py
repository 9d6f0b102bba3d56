"""Rules on a snapshot: what each measures, whether it holds, and by how much it does or does not."""
from __future__ import annotations

import datetime
import math
import time
from collections.abc import Generator, Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from .. import units
from ..measure.measurer import Measurer
from ..progress import Progress, drained
from ..rules import conditions
from ..rules.quantity import QUANTITIES, Measurement, NotEvaluated, Quantity, Unmeasured
from ..rules.rule import Rule, Severity
from ..rules.rule_sets import Selection
from ..snapshot import Snapshot
from .comparing import best_alternative, compared, not_measured
from .context import Context
from .finding import Finding, State, finding_id

Measured = str | tuple[Measurement | Unmeasured, ...]
"""What a quantity found, or why it found nothing."""


def evaluate(rules: Iterable[Rule], snapshot: Snapshot, measurer: Measurer | None = None,
             event_date: datetime.date | None = None, selection: Selection | None = None, context: Context | None = None) -> list[Finding]:
    """One finding for each rule and subject, in the order of the rules and then of subjects. measurer: what measures
    shapes; without one, rules that need shapes are not evaluated. event_date: day at which certificates must be good;
    absent: today. selection: what the rules were selected from; absent: the sets that the car names. context: one of this snapshot
    that other rules are evaluated in too, with measurer, day and selection of its own; what they share is worked out once."""
    evaluation = Evaluation(rules, snapshot, measurer, event_date, selection, context)
    drained(evaluation.steps())
    return evaluation.findings()


@dataclass(frozen=True)
class Slice:
    """A piece of work between two looks at whether to go on: seconds of the clock that it took, and what it was about."""
    seconds: float
    about: str


NOTHING = Slice(0.0, "")


class Evaluation:
    """Rules on a snapshot, measured step by step: what follows from numbers first, then what is measured on shapes, what takes
    longest last. As ``evaluate``. longest: the longest slice so far."""

    def __init__(self, rules: Iterable[Rule], snapshot: Snapshot, measurer: Measurer | None = None,
                 event_date: datetime.date | None = None, selection: Selection | None = None, context: Context | None = None):
        self.rules, self._snapshot = tuple(rules), snapshot
        self._context = Context(snapshot, measurer, event_date, selection) if context is None else context
        self._known = self._context.facts
        self._digests = {part.key: part.digest for part in snapshot.parts}
        self._found: list[tuple[Finding, ...] | None] = [None] * len(self.rules)
        self._numbers_left = {place for place, rule in enumerate(self.rules) if not QUANTITIES[rule.quantity].effort}
        self.longest = NOTHING
        self.of_the_day: set[str] = set()
        """Ids of rules whose findings hang on the day of the event."""

    @property
    def numbers_done(self) -> bool:
        """Whether every rule is measured that follows from numbers."""
        return not self._numbers_left

    def findings(self, unreached: str = "") -> list[Finding]:
        """What was found, in the order of the rules and then of subjects. unreached: why a rule that no step has reached is not evaluated;
        empty: it is left out."""
        found: list[Finding] = []
        for rule, results in zip(self.rules, self._found):
            if results is not None:
                found += results
            elif unreached:
                found.append(_judge(rule).without(State.NOT_EVALUATED, unreached, ""))
        return found

    def steps(self) -> Generator[Progress, None, None]:
        """Measure; progress comes before each slice."""
        places: dict[tuple[str, tuple[tuple[str, Any], ...]], list[tuple[int, str, str]]] = {}
        for place, rule in enumerate(self.rules):
            applies, why, question = conditions.applies(rule.when, self._known)
            if applies is None:
                self._take(place, [_judge(rule).without(State.NOT_EVALUATED, f"whether it applies is not known: {why}", why)])
            elif not applies:
                self._take(place, [_judge(rule).without(State.NOT_APPLICABLE, why, why)])
            else:
                # Several rules measure the same thing with the same settings: three books on one loop are one measurement.
                places.setdefault((rule.quantity, rule.settings), []).append((place, why, question))
        order, in_car_units = sorted(places, key=lambda key: QUANTITIES[key[0]].effort), units.read_in(self._context.car.car.units)
        whole, done = sum(QUANTITIES[name].effort for name, _settings in order) or 1, 0
        for name, settings in order:
            quantity, of = QUANTITIES[name], name.replace("_", " ")
            about = of
            yield Progress(about, done / whole)
            work = self._measured(quantity, settings)
            while True:
                began = time.perf_counter()
                try:
                    # Slice by slice: what runs between two of them may be about another car.
                    with in_car_units:
                        step = next(work)
                except StopIteration as end:
                    results = end.value
                    break
                finally:
                    if (took := time.perf_counter() - began) > self.longest.seconds:
                        self.longest = Slice(took, about)
                about = f"{of}: {step.about}"
                yield Progress(about, (done + step.share * quantity.effort) / whole)
            if self._context.asked_the_day:
                self.of_the_day.update(self.rules[place].id for place, _why, _question in places[name, settings])
            for place, why, question in places[name, settings]:
                found = _judge(self.rules[place]).findings(results, why, self._digests)
                self._take(place, [_asked(item, question) if question else item for item in found])
            done += quantity.effort

    def _take(self, place: int, results: Iterable[Finding]) -> None:
        found = tuple(sorted(results, key=lambda item: (item.subjects, item.discriminator)))
        if len({finding.id for finding in found}) < len(found):
            raise RuntimeError(f"rule {self.rules[place].id} has two findings of the same subjects; its quantity "
                               f"{self.rules[place].quantity} must tell them apart by a discriminator")
        self._found[place] = found
        self._numbers_left.discard(place)

    def _measured(self, quantity: Quantity, settings: Iterable[tuple[str, Any]]) -> Generator[Progress, None, Measured]:
        self._context.settings = dict(settings)
        self._context.handed_out.clear()
        self._context.asked_the_day = False
        try:
            return (yield from quantity.steps(self._snapshot, self._context))
        except (NotEvaluated, ValueError) as reason:
            # Mechanics refuse impossible numbers by a ValueError of one sentence.
            return str(reason)
        except RuntimeError as error:
            return (_not_measured(error, tuple(sorted(self._context.handed_out))),)


def _asked(finding: Finding, question: str) -> Finding:
    """A finding of a rule of which it is a question whether it applies: what is met is met either way, what is not is asked."""
    if finding.state != State.OPEN or finding.to_confirm:
        return finding
    reason = f"{question}; if it counts, this rule is not met" + (f": {finding.reason}" if finding.reason else "")
    return finding.changed(severity=Severity.ADVICE, to_confirm=True, reason=reason)


def _not_measured(error: RuntimeError, keys: tuple[str, ...]) -> Unmeasured:
    """What the host could not do (Part.OCCError is a RuntimeError); about a part where only one had been asked for."""
    cause = " ".join(str(error).split()).rstrip(".") or type(error).__name__
    return Unmeasured(keys if len(keys) == 1 else (), f"FreeCAD could not measure the shape{'' if len(keys) == 1 else 's'} ({cause}); run "
                      "Rebuild Shapes, and check what was edited by hand")


Points = tuple[tuple[float, ...], ...]
_Last = dict[tuple[tuple[str, ...], str], tuple[tuple[Any, ...], Finding]]
"""By subjects and discriminator: all that the last finding of them said, and that finding."""


class _Judge:
    """One rule as findings are made by it: what all of them say is read off it once."""

    def __init__(self, rule: Rule) -> None:
        self._rule, self._kind = rule, QUANTITIES[rule.quantity].kind
        self._blank = Finding("", rule.id, rule.rule_set, rule.title, Severity.ADVICE if rule.to_confirm else rule.severity,
                              State.NOT_EVALUATED, rule.basis.to_json(), (), comparison=rule.comparison, edition=rule.edition,
                              unit=rule.limit.unit if rule.limit is not None else "", hint=rule.hint, waivable=rule.waivable,
                              to_confirm=rule.to_confirm)
        self._last: _Last = {}

    def findings(self, results: Measured, why: str, digests: dict[str, str]) -> list[Finding]:
        """The findings of what its quantity measured. why: it applies; digests: of the parts' shapes."""
        if isinstance(results, str):
            return [self.without(State.NOT_EVALUATED, results, why)]
        if not results:
            return [self.without(State.NOT_APPLICABLE, "no part on this car for this rule", why)]
        last, self._last = self._last, {}
        return [self._again(result, why, digests, last) for result in results]

    def _again(self, result: Measurement | Unmeasured, why: str, digests: dict[str, str], last: _Last) -> Finding:
        """The finding of one subject: the last one of it, where nothing that it says has changed since."""
        if isinstance(result, Unmeasured):
            return self.without(State.NOT_EVALUATED, result.reason, why, result.subjects, result.discriminator)
        points = tuple(tuple(map(float, point)) for point in result.points)
        measured = {key: digests[key] for key in result.subjects if key in digests}
        said = result.value, result.how, points, result.accuracy, result.parts, result.given, why, measured
        known = last.get((result.subjects, result.discriminator))
        found = known[1] if known is not None and known[0] == said else self.finding(result, why, points, measured)
        self._last[result.subjects, result.discriminator] = said, found
        return found

    def without(self, state: State, reason: str, why: str, subjects: tuple[str, ...] = (), discriminator: str = "") -> Finding:
        """A finding of which nothing was measured."""
        return self._finding(state, subjects, discriminator, applies=why, reason=reason)

    def finding(self, result: Measurement, why: str, points: Points, digests: dict[str, str]) -> Finding:
        """The finding of one subject. digests: of its own parts."""
        rule, reason, component = self._rule, "", ""
        if rule.alternatives:
            verdict, component, reason = best_alternative(rule, result)
        elif result.value is None:
            verdict, reason = not_measured(rule.limit, rule.comparison, self._kind), result.how
        elif not math.isfinite(result.value):
            return self.without(State.NOT_EVALUATED, f"{rule.quantity} is not a number", why, result.subjects, result.discriminator)
        else:
            try:
                assert rule.limit is not None
                verdict = compared(rule.comparison, rule.limit, self._kind, result.value, result)
            except NotEvaluated as why_not:
                return self.without(State.NOT_EVALUATED, str(why_not), why, result.subjects, result.discriminator)
        state = State.PASSED if verdict.good else State.OPEN
        if rule.to_confirm:
            # From memory: the figure is shown, the question is put, and nothing is decided.
            reason = (f"this rule is from memory ({'met' if verdict.good else 'not met'} as remembered); confirm it "
                      "against the current rule book, or with the maker of the part")
            state = State.OPEN
        return self._finding(state, result.subjects, result.discriminator, measured=verdict.measured, limit=verdict.limit,
                             unit=verdict.unit, margin=verdict.margin, tolerance=verdict.tolerance, component=component, reason=reason,
                             applies=why, how=result.how, points=points, digests=digests)

    def _finding(self, state: State, subjects: tuple[str, ...], discriminator: str, **more: Any) -> Finding:
        subjects = tuple(sorted(subjects))
        return self._blank.changed(id=finding_id(self._rule.id, subjects, discriminator), state=state, subjects=subjects,
                                   discriminator=discriminator, **more)


@lru_cache(maxsize=2048)
def _judge(rule: Rule) -> _Judge:
    """The judge of a rule, one for all checks."""
    return _Judge(rule)
