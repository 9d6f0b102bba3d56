"""Rules on a snapshot: what each measures, whether it holds, and by how much it does or does not."""
from __future__ import annotations

import datetime
import math
import time
from collections.abc import Generator, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import reduce
from typing import Any

import numpy as np

from .. import spelling, units
from ..measure.measurer import Measurer
from ..progress import Progress, drained
from ..rules import conditions
from ..rules.quantity import FORMULAS, PLAIN, QUANTITIES, Measurement, NotEvaluated, Quantity, Reading, Unmeasured
from ..rules.rule import Bound, Limit, Rule, Severity
from ..rules.rule_sets import Selection
from ..snapshot import Snapshot
from .context import Context
from .finding import Finding, State, finding_id

Measured = str | tuple[Measurement | Unmeasured, ...]
"""What a quantity found, or why it found nothing."""

NOISE = 1e-9
"""A value within this share of its limit (and within as much of the inside unit) counts as equal to it, and equal
passes: a tube sold as 0.875 in is not refused for a float that reads 22.224999999999998 mm."""


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
                found.append(_finding(rule, State.NOT_EVALUATED, reason=unreached))
        return found

    def steps(self) -> Generator[Progress, None, None]:
        """Measure; progress comes before each slice."""
        places: dict[tuple[str, tuple[tuple[str, Any], ...]], list[tuple[int, str, str]]] = {}
        for place, rule in enumerate(self.rules):
            applies, why, question = conditions.applies(rule.when, self._known)
            if applies is None:
                self._take(place, [_finding(rule, State.NOT_EVALUATED, applies=why, reason=f"whether it applies is not known: {why}")])
            elif not applies:
                self._take(place, [_finding(rule, State.NOT_APPLICABLE, applies=why, reason=why)])
            else:
                # Several rules measure the same thing with the same settings: three books on one loop are one measurement.
                places.setdefault((rule.quantity, rule.settings), []).append((place, why, question))
        order, in_car_units = sorted(places, key=lambda key: QUANTITIES[key[0]].effort), units.read_in(self._context.car.car.units)
        whole, done = sum(QUANTITIES[name].effort for name, _settings in order) or 1, 0
        for name, settings in order:
            quantity, about = QUANTITIES[name], name.replace("_", " ")
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
                about = f"{name.replace('_', ' ')}: {step.about}"
                yield Progress(about, (done + step.share * quantity.effort) / whole)
            if self._context.asked_the_day:
                self.of_the_day.update(self.rules[place].id for place, _why, _question in places[name, settings])
            for place, why, question in places[name, settings]:
                found = _findings_of(self.rules[place], results, why, self._digests)
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


def _findings_of(rule: Rule, results: Measured, why: str, digests: dict[str, str]) -> list[Finding]:
    """The findings of a rule from what its quantity measured."""
    if isinstance(results, str):
        return [_finding(rule, State.NOT_EVALUATED, applies=why, reason=results)]
    if not results:
        return [_finding(rule, State.NOT_APPLICABLE, applies=why, reason="no part on this car for this rule")]
    return [_compared(rule, QUANTITIES[rule.quantity].kind, result, why, digests) for result in results]


def _asked(finding: Finding, question: str) -> Finding:
    """A finding of a rule of which it is a question whether it applies: what is met is met either way, what is not is asked."""
    if finding.state != State.OPEN or finding.to_confirm:
        return finding
    reason = f"{question}; if it counts, this rule is not met" + (f": {finding.reason}" if finding.reason else "")
    return replace(finding, severity=Severity.ADVICE, to_confirm=True, reason=reason)


def _not_measured(error: RuntimeError, keys: tuple[str, ...]) -> Unmeasured:
    """What the host could not do (Part.OCCError is a RuntimeError); about a part where only one had been asked for."""
    cause = " ".join(str(error).split()).rstrip(".") or type(error).__name__
    return Unmeasured(keys if len(keys) == 1 else (), f"FreeCAD could not measure the shape{'' if len(keys) == 1 else 's'} ({cause}); run "
                      "Rebuild Shapes, and check what was edited by hand")


def _compared(rule: Rule, kind: str, result: Measurement | Unmeasured, why: str, digests: dict[str, str]) -> Finding:
    if isinstance(result, Unmeasured):
        return _finding(rule, State.NOT_EVALUATED, result.subjects, result.discriminator, applies=why, reason=result.reason)
    common = dict(applies=why, how=result.how, points=tuple(tuple(map(float, point)) for point in result.points),
                  digests={key: digests[key] for key in result.subjects if key in digests})
    reason = component = ""
    if rule.alternatives:
        verdict, component, reason = _best_alternative(rule, result)
    elif result.value is None:
        verdict = Verdict(None, None, _shown_limit(rule, kind), _unit(rule.limit), None, 0.0, False)
        reason = result.how
    elif not math.isfinite(result.value):
        return _finding(rule, State.NOT_EVALUATED, result.subjects, result.discriminator, applies=why,
                        reason=f"{rule.quantity} is not a number")
    else:
        try:
            assert rule.limit is not None
            verdict = _compare(rule.comparison, rule.limit, kind, result.value, result)
        except NotEvaluated as why_not:
            return _finding(rule, State.NOT_EVALUATED, result.subjects, result.discriminator, applies=why, reason=str(why_not))
    state = State.PASSED if verdict.good else State.OPEN
    if rule.to_confirm:
        # From memory: the figure is shown, the question is put, and nothing is decided.
        reason = (f"this rule is from memory ({'met' if verdict.good else 'not met'} as remembered); confirm it "
                  "against the current rule book, or with the maker of the part")
        state = State.OPEN
    return _finding(rule, state, result.subjects, result.discriminator, measured=verdict.measured, limit=verdict.limit,
                    unit=verdict.unit, margin=verdict.margin, tolerance=verdict.tolerance, component=component, reason=reason,
                    **common)


def _finding(rule: Rule, state: State, subjects: tuple[str, ...] = (), discriminator: str = "", **more: Any) -> Finding:
    more.setdefault("unit", _unit(rule.limit) if rule.limit else "")
    return Finding(id=finding_id(rule.id, subjects, discriminator), rule=rule.id, rule_set=rule.rule_set,
                   title=rule.title, severity=Severity.ADVICE if rule.to_confirm else rule.severity, state=state,
                   basis=rule.basis.to_json(), subjects=tuple(sorted(subjects)), discriminator=discriminator,
                   comparison=rule.comparison, hint=rule.hint, waivable=rule.waivable, to_confirm=rule.to_confirm,
                   edition=rule.edition, **more)


# --- comparing --------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Verdict:
    """A value against a limit. measured, limit, margin, tolerance in ``unit``; inside_margin in the inside unit."""
    measured: float | None
    inside_margin: float | None
    limit: float | tuple[float, float] | None
    unit: str
    margin: float | None
    tolerance: float
    good: bool


def margin_of(comparison: str, value: Any, low: Any, high: Any) -> Any:
    """Signed distance of a value to its limit, positive = good, in whatever unit all three are; numbers or arrays."""
    if comparison == "<=" and high is not None:
        return high - value
    if comparison == ">=" and low is not None:
        return value - low
    if comparison == "within" and low is not None and high is not None:
        return _least(value - low, high - value)
    if comparison == "==" and low is not None:
        return -abs(value - low)
    raise ValueError(f"comparison {comparison!r}")


def _least(*values: Any) -> Any:
    """The least of numbers or arrays. Of plain numbers numpy's own takes ten times as long, and a check compares hundreds."""
    return min(values) if all(isinstance(value, (int, float)) for value in values) else reduce(np.minimum, values)


def _left(verdict: Verdict) -> float:
    """The margin that verdicts are put in order by; nothing measured comes last."""
    return math.inf if verdict.inside_margin is None else verdict.inside_margin


def _compare(comparison: str, limit: Limit, kind: str, value: float, result: Measurement) -> Verdict:
    """The verdict in the unit that binds; of several that bind, the strictest."""
    verdicts = [_against(comparison, bound, kind, value, result.accuracy) for bound in _bounds(limit, result.given)]
    return min(verdicts, key=_left)


def _bounds(limit: Limit, given: Mapping[str, Any]) -> tuple[Bound, ...]:
    if not limit.formula:
        return limit.binding
    formula = FORMULAS[limit.formula]
    value = formula.function(given, dict(limit.settings))
    return (Bound(limit.unit, value, value),)


@dataclass(frozen=True, eq=False)
class Margins:
    """How a rule's value stands at many placements: margin in the quantity's inside unit, positive = good; whether it holds; whether it
    could be told at all. Arrays over the placements."""
    margin: np.ndarray
    good: np.ndarray
    known: np.ndarray


def margins(rule: Rule, reading: Reading) -> Margins:
    """A reading against a rule with a limit: as for one measurement, of several limits that bind the strictest. NotEvaluated where a
    limit's formula lacks something."""
    assert rule.limit is not None
    value = np.asarray(reading.value, dtype=float)
    known = np.isfinite(value)
    if not known.any():
        return Margins(np.full(value.shape, np.nan), known, known)
    least: Any = None
    for bound in _bounds(rule.limit, reading.given):
        margin, _tolerance, good = _stands(rule.comparison, bound, value, 0.0)
        if least is None:
            least = margin, good
        else:
            closer = margin < least[0]
            least = np.where(closer, margin, least[0]), np.where(closer, good, least[1])
    return Margins(np.where(known, least[0], np.nan), least[1] & known, known)


def _stands(comparison: str, bound: Bound, value: Any, accuracy: float) -> tuple[Any, Any, Any]:
    """Margin, tolerance and whether a value counts as good, in the inside unit; numbers or arrays."""
    margin = margin_of(comparison, value, bound.low, bound.high)
    edges = [-NOISE * abs(edge) for edge in (bound.low, bound.high) if edge is not None]
    tolerance = -_least(-float(max(NOISE, accuracy)), *edges)
    return margin, tolerance, margin >= -tolerance


def _against(comparison: str, bound: Bound, kind: str, value: float, accuracy: float) -> Verdict:
    margin, tolerance, good = (each.item() if isinstance(each, (np.generic, np.ndarray)) else each
                               for each in _stands(comparison, bound, value, accuracy))
    shown = 0.0 if abs(margin) <= tolerance else margin
    shown_edges = [_to(edge, kind, bound.unit) for edge in (bound.low, bound.high) if edge is not None]
    limit = (shown_edges[0], shown_edges[1]) if comparison == "within" else shown_edges[0]
    # Neither is rounded to 0: what is open has a margin below 0, and a tolerance is one.
    return Verdict(_to(value, kind, bound.unit), margin, limit, bound.unit, _digits(shown, kind, bound.unit),
                   _digits(tolerance, kind, bound.unit), good)


def _to(value: float, kind: str, unit: str) -> float:
    return units.rounded(_in(value, kind, unit), 12) if unit else _in(value, kind, unit)


def _digits(value: float, kind: str, unit: str) -> float:
    return float(f"{_in(value, kind, unit):.12g}")


def _in(value: float, kind: str, unit: str) -> float:
    return float(value) if kind in PLAIN or not unit else float(units.to(value, kind, unit))


def _unit(limit: Limit | None) -> str:
    return limit.unit if limit is not None else ""


def _shown_limit(rule: Rule, kind: str) -> float | tuple[float, float] | None:
    """The limit in the binding unit where nothing was measured; None for one that hangs on a measured value."""
    if rule.limit is None or rule.limit.formula:
        return None
    bound = rule.limit.binding[0]
    return _against(rule.comparison, bound, kind, 0.0, 0.0).limit


def _best_alternative(rule: Rule, result: Measurement) -> tuple[Verdict, str, str]:
    """The verdict on the alternative that the part comes nearest to, judged by its worst component, that component, and the reason.

    A component that the part does not have (the wall of a strap) leaves its alternative out.
    """
    components = QUANTITIES[rule.quantity].components
    best: tuple[Verdict, str] | None = None
    if not result.parts:
        return Verdict(None, None, None, "", None, 0.0, False), "", result.how
    for alternative in rule.alternatives:
        if any(result.parts.get(name) not in words for name, words in alternative.words.items()):
            continue
        worst: tuple[Verdict, str] | None = None
        for name, limit in alternative.sizes.items():
            value = result.parts.get(name)
            if value is None:
                worst = None
                break
            verdict = _compare(rule.comparison, limit, components[name], value, result)
            if worst is None or _left(verdict) < _left(worst[0]):
                worst = (verdict, name)
        if worst is not None and (best is None or _left(worst[0]) > _left(best[0])):
            best = worst
    if best is None:
        allowed: dict[str, set[str]] = {}
        for alternative in rule.alternatives:
            for name, words in alternative.words.items():
                allowed.setdefault(name, set()).update(words)
        # What no alternative allows is to blame; where each word is allowed somewhere, it is their combination.
        names = [name for name, words in allowed.items() if result.parts.get(name) not in words] or list(allowed)
        wanted = " and ".join(" or ".join(sorted(map(spelling.read, allowed[name]))) for name in names)
        found = ", ".join(spelling.read(str(result.parts[name])) for name in names if name in result.parts) or "nothing of the kind"
        return Verdict(None, None, None, "", None, 0.0, False), "", f"{found} was found; the rule allows {wanted}"
    return *best, "" if best[0].good else f"{best[1].replace('_', ' ')} governs"
