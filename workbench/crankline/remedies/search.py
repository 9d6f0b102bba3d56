"""What would clear an open finding: one parameter, changed alone, and by how much; found on the measured quantity itself.

What follows from numbers is tried on the shapes as they stand: parts on the chassis keep theirs while the powertrain is tried
elsewhere. What is measured on a shape that the parameter changes is tried on that shape, made again (``rebuilt``): few tries, and no
more effort in all than is given (``effort``). Two parts that overlap are tried until they part, and no depth is measured meanwhile. A
search is a generator of steps, a try each, so that it can be shown and stopped.
"""
from __future__ import annotations

import math
from collections.abc import Callable, Generator, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any, cast

from .. import units
from ..checks.context import Context
from ..checks.evaluate import evaluate
from ..checks.finding import Finding, Looked, State
from ..checks.quantities import clearance
from ..measure import relations
from ..measure.measurer import Measurer
from ..progress import Progress, drained
from ..rules.quantity import NotEvaluated
from ..rules.rule import Rule
from ..snapshot import Snapshot
from ..units import DEG, INCH
from . import candidates, least_change
from .candidates import NONE, Candidates, slow
from .effort import Meter
from .least_change import edge, least, parting, the_one
from .parameters import Parameter
from .parted import Parted
from .trials import Trials, attempted, margin_of, scene_of

ENOUGH = 2
"""Remedies after which no further one is looked for, where a shape is made again for each try; one, where that took long."""

LONG = 200
"""Effort for one finding after which one remedy is enough."""

PARTING = 60
"""The same where two parts that overlap are to part: what frees one pair mostly frees its neighbors, and is tried there first."""

EFFORT = 1000
"""Effort for all tries on shapes of one run."""

SHARE = 400
"""Effort for those of one finding."""


@dataclass(frozen=True)
class Remedy:
    """One parameter that clears a finding alone. change and value in ``unit``; value is what the parameter becomes."""
    parameter: str
    change: float
    value: float
    unit: str
    words: str

    def to_json(self) -> dict:
        """As it stands in the report."""
        return dict(vars(self))


@dataclass(frozen=True)
class Search:
    """What a search came to. tried: the parameters that were tried to the end, and how far; cut_short: the effort was used up."""
    remedies: tuple[Remedy, ...] = ()
    tried: tuple[str, ...] = ()
    cut_short: bool = False


Steps = Generator[Progress, None, Search]
"""A search, a step a try; what it came to."""


class _UsedUp(Exception):
    """The effort for tries is used up."""


# --- solving ----------------------------------------------------------------------------------------------------------


class Solver:
    """Looks for remedies of the findings of one snapshot. effort: for all tries that make shapes again; share: for those of one
    finding."""

    def __init__(self, snapshot: Snapshot, measurer: Measurer | None, effort: float = EFFORT, share: float = SHARE):
        self._snapshot, self._measurer, self._most, self._share, self._until = snapshot, measurer, effort, share, 0.0
        self._trial = self._trial_measurer = self._meter = cast(Any, None)
        self._views: dict = {}
        self._trials = Trials(snapshot, measurer)
        self._parting = Parted()

    @property
    def spent(self) -> int:
        """Effort spent so far on tries that make shapes again."""
        return 0 if self._meter is None else self._meter.spent

    def search(self, finding: Finding, rule: Rule) -> Search:
        """Single parameters that clear a finding, each with the least change of it that does."""
        return drained(self.steps(finding, rule))

    def steps(self, finding: Finding, rule: Rule, bounded: bool = True) -> Steps:
        """The same step by step. The host's shapes are built and measured in it, so it belongs in the window's own thread. bounded: whether
        it ends where the effort is used up."""
        if finding.state not in (State.OPEN, State.WAIVER_VOID) or finding.to_confirm or self._snapshot.scene is None:
            return Search()
        wanted = candidates.of(finding, rule, self._snapshot)
        if wanted.as_they_are:
            return (yield from self._by_numbers(finding, rule, wanted.parameters))
        return (yield from self._on_shapes(finding, rule, wanted, bounded))

    def _by_numbers(self, finding: Finding, rule: Rule, parameters: Sequence[Parameter]) -> Steps:
        found, tried = list[Remedy](), list[str]()
        for number, parameter in enumerate(parameters):
            value = parameter.get(self._snapshot)
            if value is None:
                continue
            # The nearest loop may be another one now; what tells values of one rule apart is the discriminator.
            anyone = rule.quantity == "loop_behind_front_joint"

            @cache
            def margin(change, parameter=parameter, anyone=anyone):
                return margin_of(finding, self._trials.found(rule, parameter, change), anyone)
            step = Progress(parameter.label, number / len(parameters))
            if parameter.only is not None:
                yield step
                change = the_one(parameter.only(self._snapshot), margin)
            else:
                change = yield from _tried(least(margin(0.0), parameter.ways, parameter.reach, _grain(parameter)), margin, step)
            tried.append(_reach_text(parameter, self._system))
            if change is not None:
                found.append(_remedy(parameter, value, change, self._system))
        return Search(tuple(found), tuple(tried))

    def _on_shapes(self, finding: Finding, rule: Rule, wanted: Candidates, bounded: bool) -> Steps:
        if not self._has_shapes(finding):
            return Search()
        began = self.spent
        if wanted.parameters and not self._can_try():
            return Search()
        self._until = min(self._most, self.spent + self._share) if bounded else math.inf
        found, tried = list[Remedy](), list[str]()
        parting_them = rule.quantity == "interference"
        parameters = sorted(wanted.parameters, key=lambda one: not self._parting.has_parted(one)) if parting_them else wanted.parameters
        for number, parameter in enumerate(parameters):
            value = parameter.get(self._snapshot)
            if value is None:
                continue
            if len(found) == ENOUGH or (found and self.spent - began > (PARTING if parting_them else LONG)):
                break

            @cache
            def margin(change, parameter=parameter):
                return self._counted(rule, lambda: self._margin_on_shapes(finding, rule, parameter, change, wanted.keys))
            step = Progress(parameter.label, number / len(parameters))
            change: float | None
            try:
                if parameter.only is not None:
                    yield step
                    change = the_one(parameter.only(self._snapshot), margin)
                elif parameter.guess is not None and wanted.by_rings and wanted.keys is not None and parameter.part in wanted.keys:
                    change = yield from self._proved(finding, rule, parameter, wanted.keys, margin, step)
                else:
                    change = yield from _tried(self._edge(finding, rule, parameter), margin, step)
                    if parting_them and change is not None:
                        self._parting.note(finding, parameter, change)
            except _UsedUp:
                return Search(tuple(found), tuple(tried), True)
            tried.append(_reach_text(parameter, self._system))
            if change is not None:
                found.append(_remedy(parameter, value, change, self._system))
        return Search(tuple(found), tuple(tried))

    def _margin_on_shapes(self, finding: Finding, rule: Rule, parameter: Parameter, change: float, keys) -> float:
        if rule.quantity == "interference" and len(finding.subjects) == 2:
            return self._parted(finding, parameter, change, keys)
        return margin_of(finding, attempted(lambda: evaluate([rule], *self._rebuilt(parameter, change, keys))), True)

    def _parted(self, finding: Finding, parameter: Parameter, change: float, keys) -> float:
        """0 where the two parts of a finding no longer overlap by more than they may, else -inf."""
        from ..measure import parting
        try:
            turned, measurer = self._rebuilt(parameter, change, keys)
            parts = [part for part in map(turned.part, finding.subjects) if part is not None]
            if len(parts) < 2:
                return -math.inf        # a part that is gone clears nothing
            context = Context(turned, measurer)
            first, second = (clearance.body(part, turned, context) for part in parts)
            return 0.0 if parting.parted(first, second, relations.allowed(parts[0], parts[1]), clearance.kept_of(context)) else -math.inf
        except (ValueError, RuntimeError, ArithmeticError, NotEvaluated):
            return -math.inf

    def _edge(self, finding: Finding, rule: Rule, parameter: Parameter) -> least_change.Search[float | None]:
        """The search that suits what the margin tells. How deep two bodies overlap tells no more than that less will not part them."""
        start, likely = self._start(finding)
        if rule.quantity == "interference":
            likely = likely if parameter.kind == "length" and likely else parameter.reach / 36.0
            return parting(likely, parameter.ways, parameter.reach, _grain(parameter), self._parting.likely(finding, parameter))
        return _edge(start, likely, parameter, _steady(finding, rule))

    def _proved(self, finding: Finding, rule: Rule, parameter: Parameter, keys, margin: Callable[[float], float],
                step: Progress) -> Generator[Progress, None, float | None]:
        """The change that is right for a shape that is thought to be changed, proved on the shape made again."""
        changed = cast(Any, parameter.guess)
        still = replace(self._snapshot, parts=tuple(part for part in self._snapshot.parts if keys is None or part.key in keys))

        @cache
        def guess(change):
            return self._counted(rule, lambda: margin_of(
                finding, attempted(lambda: evaluate([rule], *changed(still, self._measurer, change))), True))
        start = self._start(finding)
        change = yield from _tried(_edge(*start, parameter, True), guess, step)
        if change is None:
            return None
        for more in (0.0, 1.0, 3.0):
            nudged = change + math.copysign(more * _grain(parameter), change)
            yield step
            if margin(nudged) >= 0.0:
                return nudged
        return (yield from _tried(_edge(*start, parameter, True), margin, step))

    @property
    def _system(self) -> str:
        return self._snapshot.car.car.units or "in"

    @staticmethod
    def _start(finding: Finding) -> tuple[float, float | None]:
        """Margin now, and the change of a length that a margin in a unit of length makes likely."""
        margin = -math.inf if finding.margin is None else min(finding.margin, 0.0)
        return margin, abs(margin) * {"in": INCH, "mm": 1.0}[finding.unit] if finding.unit in ("in", "mm") and margin > -math.inf else None

    def _has_shapes(self, finding: Finding) -> bool:
        parts = [self._snapshot.part(key) for key in finding.subjects]
        return bool(parts) and all(part is not None and hasattr(part.shape, "distToShape") for part in parts)

    def _counted(self, rule: Rule, measure: Callable[[], float]) -> float:
        """What a try gives; its effort counts. _UsedUp where none is left."""
        if self.spent >= self._until:
            raise _UsedUp
        built = self._trial.effort
        try:
            return measure()
        finally:
            self._meter.add(rule.quantity, self._trial.effort - built)

    def _can_try(self) -> bool:
        """Whether parts can be made with other numbers: the car as it is can be, and the host is there."""
        if self._trial is None:
            try:
                from ..measure import host_measurer
                from . import rebuilt
                # A measurer of its own, which is told of other shapes; what is known of a shape holds for both.
                known = getattr(self._measurer, "kept", None)
                kept = None if known is None else known.beside()
                self._trial, self._trial_measurer = rebuilt.Trial(self._snapshot), host_measurer.HostMeasurer(kept)
                self._meter = Meter(self._trial_measurer)
            except (ImportError, ValueError):
                self._trial = False
        return bool(self._trial)

    def _rebuilt(self, parameter: Parameter, change: float, keys) -> tuple[Snapshot, Measurer]:
        """The parts of these keys as they are with the parameter changed; several findings try the same change."""
        known = parameter.name, change, keys
        if known not in self._views:
            self._views[known] = self._made(parameter, change, keys)
        return self._views[known], self._trial_measurer

    def _made(self, parameter: Parameter, change: float, keys) -> Snapshot:
        if parameter.turned is not None:
            turned, _measurer = parameter.turned(self._snapshot, None, change)
            return self._trial.snapshot(turned.car, turned.scene, keys)
        car = parameter.changed(self._snapshot, change)
        return self._trial.snapshot(car, scene_of(self._snapshot, car), keys)


def _tried(search: least_change.Search[float | None], margin: Callable[[float], float],
           step: Progress) -> Generator[Progress, None, float | None]:
    """Run a search for the least change, a step before each try; what it found."""
    try:
        change = next(search)
        while True:
            yield step
            change = search.send(margin(change))
    except StopIteration as end:
        return end.value


def in_order(findings: Sequence[Finding], rules: Iterable[Rule]) -> list[int]:
    """Places of the findings that remedies are looked for, the gravest first and of these what is quickly tried."""
    by_id = {rule.id: rule for rule in rules}
    standing = [i for i, finding in enumerate(findings) if may_be_cleared(finding)]
    return sorted(standing, key=lambda i: (findings[i].severity.rank, slow(findings[i], by_id[findings[i].rule]), i))


def may_be_cleared(finding: Finding) -> bool:
    """Whether remedies are looked for: it stands against the car, and nothing of it is to be confirmed first."""
    return finding.unresolved and not finding.to_confirm


def for_all_steps(findings: Iterable[Finding], rules: Iterable[Rule], snapshot: Snapshot, measurer: Measurer | None, effort: float = EFFORT,
                  most: int | None = None) -> Generator[Progress, None, list[Finding]]:
    """Step by step, the findings, those that stand against the car with their remedies, which their hints then end with. effort: for all
    tries on shapes; most: how many findings are looked into, None: all. What neither is enough for is told as not looked for yet."""
    by_id = {rule.id: rule for rule in rules}
    findings = list(findings)
    solver, order = Solver(snapshot, measurer, effort, SHARE if effort < math.inf else math.inf), in_order(findings, by_id.values())
    for number, i in enumerate(order):
        finding, rule = findings[i], by_id[findings[i].rule]
        search = None
        if most is None or number < most:
            work = solver.steps(finding, rule)
            try:
                while True:
                    step = next(work)
                    about = f"{', '.join(finding.subjects) or finding.title}: {step.about}"
                    yield Progress(about, (number + step.share) / len(order))
            except StopIteration as end:
                search = end.value
        findings[i] = with_remedies(finding, rule, search)
    return findings


def with_remedies(finding: Finding, rule: Rule, search: Search | None) -> Finding:
    """A finding with what a search for its remedies came to, None where there was none; its hint must be the rule's own."""
    if not may_be_cleared(finding):
        return finding
    reason = NONE.get(rule.quantity)
    if reason is None and (search is None or (search.cut_short and not search.tried and not search.remedies)):
        looked, end = Looked.NO, NOT_YET
    else:
        looked = Looked.PARTLY if search is not None and search.cut_short else Looked.YES
        end = (_ending(search) if search is not None else "") or reason or ""
    return replace(finding, hint=f"{finding.hint}; {end}" if end else finding.hint, looked_for=looked,
                   remedies=tuple(one.to_json() for one in search.remedies) if search is not None else ())


NOT_YET = "which dimension alone clears it was not looked for yet"


def _ending(search: Search) -> str:
    """What a hint ends with; empty where no dimension was tried: the rule's own hint names what to change."""
    if search.remedies:        # the hint names two at most
        return ("any one of these clears it: " if len(search.remedies) > 1 else "this clears it: ") + \
            ", or ".join(remedy.words for remedy in search.remedies[:2])
    none = f"none of these alone clears it: {', '.join(search.tried)}" if search.tried else ""
    return f"{none}; more was not tried yet" if none and search.cut_short else none


def _steady(finding: Finding, rule: Rule) -> bool:
    """Whether the margin tells how far there is to go. How deep two bodies overlap does not: it is the thickness of the overlap."""
    overlap = rule.quantity in ("clearance", "driver_clearance") and finding.measured is not None and finding.measured <= 0.0
    return rule.quantity != "interference" and not overlap


def _grain(parameter: Parameter) -> float:
    """What a change is counted in: hundredths of what the parameter is set in; ones of what is a number."""
    return {"length": INCH / 100.0, "angle": DEG / 100.0, "count": 1.0}.get(parameter.kind, math.pi / 30.0 * 10.0)


def _edge(start: float, likely: float | None, parameter: Parameter, steady: bool) -> least_change.Search[float | None]:
    return edge(start, likely if parameter.kind == "length" else None, parameter.ways, parameter.reach, _grain(parameter), steady)


def _reach_text(parameter: Parameter, system: str) -> str:
    """What was tried, and how far."""
    if parameter.only is not None:
        return parameter.label
    unit = "" if parameter.kind == "count" else {"length": system, "angle": "deg"}.get(parameter.kind, "rpm")
    reach = units.to(parameter.reach, parameter.kind, unit) if unit else parameter.reach
    return f"{parameter.label} by up to {units.decimal(reach, 2)} {unit}".rstrip()


def _remedy(parameter: Parameter, value: float, change: float, system: str) -> Remedy:
    if parameter.kind == "count":
        unit, by, to = "", float(change), float(value + change)
        shown = f"{by:g} {parameter.counted}{'s' if by != 1.0 else ''}", f"{to:g}"
    else:
        unit = {"length": system, "angle": "deg"}.get(parameter.kind, "rpm")
        by, to = (units.rounded(units.to(number, parameter.kind, unit), 9) for number in (change, value + change))
        shown = f"{units.decimal(abs(by), parameter.places)} {unit}", f"{units.decimal(to, parameter.places)} {unit}"
    words = (parameter.up if change > 0.0 else parameter.down).format(by=shown[0], to=shown[1])
    return Remedy(parameter.name, by, to, unit, words)
