"""What would clear an open finding: one parameter, changed alone, and by how much; found on the measured quantity itself.

What follows from numbers is tried on the shapes as they stand: parts on the chassis keep theirs while the powertrain is tried
elsewhere. What is measured on a shape that the parameter changes is tried on that shape, made anew (``rebuilt``): few tries, and no
more effort in all than is given. Effort is counted, not timed: the same car gets the same remedies on every machine.
"""
from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache

from .. import model, units
from ..checks.evaluate import evaluate
from ..checks.finding import Finding, State
from ..measure.measurer import Measurer
from ..mechanics import scene as staging
from ..rules.quantity import NotEvaluated
from ..rules.rule import Rule
from ..snapshot import Snapshot
from ..units import DEG, INCH
from .candidates import NONE, by_numbers, guessed, on_shapes, slow
from .least_change import edge, least
from .parameters import Parameter

ENOUGH = 2
"""Remedies after which no further one is looked for, where a shape is made anew for each try; one, where that took long."""

TRY = {"interference": 3, "clearance": 5, "driver_clearance": 8, "released_shaft_over_floor": 5, "released_shaft_over_track": 5,
       "released_shaft_to_driver": 5}
"""Effort of one try by quantity, 1 for all others: a hundredth of a second, as measured once. What it builds comes on top (``rebuilt``)."""

SHAFT = 4
"""So many times the effort where the shaft's envelope is measured: a body of many faces."""

LONG = 200
"""Effort for one finding after which one remedy is enough."""

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


class _UsedUp(Exception):
    """The effort for tries is used up."""


# --- solving ----------------------------------------------------------------------------------------------------------


class Solver:
    """Looks for remedies of the findings of one snapshot. effort: for all tries that make shapes anew; share: for those of one
    finding."""

    def __init__(self, snapshot: Snapshot, measurer: Measurer | None, effort: int = EFFORT, share: int = SHARE):
        self._snapshot, self._measurer, self._left, self._share, self._most = snapshot, measurer, effort, 0, share
        self._trial, self._trial_measurer = None, None

    def search(self, finding: Finding, rule: Rule) -> Search:
        """Single parameters that clear a finding, each with the least change of it that does."""
        if finding.state not in (State.OPEN, State.WAIVER_VOID) or finding.to_confirm or self._snapshot.scene is None:
            return Search()
        parameters = by_numbers(finding, rule, self._snapshot)
        if parameters:
            return self._by_numbers(finding, rule, parameters)
        return self._on_shapes(finding, rule)

    def _by_numbers(self, finding: Finding, rule: Rule, parameters: Sequence[Parameter]) -> Search:
        found, tried = [], []
        for parameter in parameters:
            value = parameter.get(self._snapshot)
            if value is None:
                continue
            # The nearest loop may be another one now; what tells values of one rule apart is the discriminator.
            anyone = rule.quantity == "loop_behind_front_joint"

            @cache
            def margin(change, parameter=parameter):
                return _margin(finding, rule, lambda: _turned(self._snapshot, self._measurer, parameter, change), anyone)
            change = least(margin, margin(0.0), parameter.ways, parameter.reach, _grain(parameter))
            tried.append(_looked(parameter, self._system))
            if change is not None:
                found.append(_told(parameter, value, change, self._system))
        return Search(tuple(found), tuple(tried))

    def _on_shapes(self, finding: Finding, rule: Rule) -> Search:
        if not self._has_shapes(finding):
            return Search()
        wanted, began = on_shapes(finding, rule, self._snapshot), self._left
        if wanted.parameters and not self._can_try():
            return Search()
        self._share = self._most
        found, tried = [], []
        for parameter in wanted.parameters:
            value = parameter.get(self._snapshot)
            if value is None:
                continue
            if len(found) == ENOUGH or (found and began - self._left > LONG):
                break

            @cache
            def margin(change, parameter=parameter):
                return _margin(finding, rule, lambda: self._rebuilt(parameter, change, wanted.keys), True, self._counted(finding, rule))
            try:
                if parameter.only is not None:
                    change = parameter.only(self._snapshot)
                    change = change if change and margin(change) >= 0.0 else None
                elif parameter.guess is not None and guessed(rule) and parameter.part in wanted.keys:
                    change = self._proved(finding, rule, parameter, wanted.keys, margin)
                else:
                    change = _edge(margin, *self._start(finding), parameter, _steady(finding, rule))
            except _UsedUp:
                return Search(tuple(found), tuple(tried), True)
            tried.append(_looked(parameter, self._system))
            if change is not None:
                found.append(_told(parameter, value, change, self._system))
        return Search(tuple(found), tuple(tried))

    def _proved(self, finding: Finding, rule: Rule, parameter: Parameter, keys, margin: Callable[[float], float]) -> float | None:
        """The change that is right for a shape that is thought to be changed, proved on the shape made anew."""
        still = replace(self._snapshot, parts=tuple(part for part in self._snapshot.parts if keys is None or part.key in keys))

        @cache
        def guess(change):
            return _margin(finding, rule, lambda: parameter.guess(still, self._measurer, change), True, self._counted(finding, rule))
        start = self._start(finding)
        change = _edge(guess, *start, parameter, True)
        if change is None:
            return None
        for more in (0.0, 1.0, 3.0):
            nudged = change + math.copysign(more * _grain(parameter), change)
            if margin(nudged) >= 0.0:
                return nudged
        return _edge(margin, *start, parameter, True)

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

    def _counted(self, finding: Finding, rule: Rule) -> Callable:
        """A function that gives what an action gives; its effort and that of what it builds is taken off what is left."""
        once = TRY.get(rule.quantity, 1) * (SHAFT if "shaft_envelope" in finding.subjects else 1)

        def counted(action):
            if min(self._left, self._share) <= 0:
                raise _UsedUp
            effort, built = once, self._trial.effort
            try:
                return action()
            finally:
                effort += self._trial.effort - built
                self._left, self._share = self._left - effort, self._share - effort
        return counted

    def _can_try(self) -> bool:
        """Whether parts can be made with other numbers: the car as it is can be, and the host is there."""
        if self._trial is None:
            try:
                from ..measure import host_measurer
                from . import rebuilt
                # A measurer of its own: what the run's knows of the parts as they stand is not pushed out.
                self._trial, self._trial_measurer = rebuilt.Trial(self._snapshot), host_measurer.HostMeasurer()
            except (ImportError, ValueError):
                self._trial = False
        return bool(self._trial)

    def _rebuilt(self, parameter: Parameter, change: float, keys) -> tuple[Snapshot, Measurer]:
        if parameter.turned is not None:
            turned, _measurer = parameter.turned(self._snapshot, None, change)
            return self._trial.snapshot(turned.car, turned.scene, keys), self._trial_measurer
        car = parameter.car(self._snapshot, change)
        return self._trial.snapshot(car, _scene(self._snapshot, car), keys), self._trial_measurer


def of(finding: Finding, rule: Rule, snapshot: Snapshot, measurer: Measurer | None) -> tuple[Remedy, ...]:
    """Single parameters that clear a finding, the least change of each that does; empty where none does."""
    return Solver(snapshot, measurer).search(finding, rule).remedies


def for_all(findings: Iterable[Finding], rules: Iterable[Rule], snapshot: Snapshot, measurer: Measurer | None,
            effort: int = EFFORT) -> list[Finding]:
    """The findings, those that stand against the car with their remedies, which their hints then end with. What is quickly tried is
    looked into first, and of what is not the gravest: the effort may not be enough for all."""
    by_id = {rule.id: rule for rule in rules}
    findings = list(findings)
    solver = Solver(snapshot, measurer, effort)
    standing = [i for i, finding in enumerate(findings) if finding.unresolved and not finding.to_confirm]
    for i in sorted(standing, key=lambda i: (slow(findings[i], by_id[findings[i].rule]), findings[i].severity.rank, i)):
        finding, finding_rule = findings[i], by_id[findings[i].rule]
        search = solver.search(finding, finding_rule)
        end = _ending(search) or NONE.get(finding_rule.quantity, "")
        if end:
            findings[i] = replace(finding, hint=f"{finding.hint}; {end}", remedies=tuple(one.to_json() for one in search.remedies))
    return findings


def _ending(search: Search) -> str:
    """What a hint ends with; empty where no dimension was tried: the rule's own hint names what to change."""
    if search.remedies:        # the hint names two at most
        return ("one of these alone is enough: " if len(search.remedies) > 1 else "this alone is enough: ") + \
            ", or ".join(remedy.words for remedy in search.remedies[:2])
    if search.cut_short:
        return "whether one dimension alone clears it was not looked for to the end: there is more open here than a run looks into"
    return f"none of these alone clears it: {', '.join(search.tried)}" if search.tried else ""


def _scene(snapshot: Snapshot, car: model.Car):
    """The scene of a changed car; chassis and rear end as the snapshot has them (from a sketch, maybe) where they are the same."""
    was = snapshot.scene
    return staging.build(was.chassis if car.chassis is snapshot.car.chassis else car.chassis,
                         was.rear_end if car.rear_end is snapshot.car.rear_end else car.rear_end,
                         car.engine, car.transmission, car.placement,
                         was.stack if car.plates is snapshot.car.plates else staging.stack_of(car.plates))


def _turned(snapshot: Snapshot, measurer: Measurer | None, parameter: Parameter, change: float) -> tuple[Snapshot, Measurer | None]:
    if parameter.turned is not None:
        return parameter.turned(snapshot, measurer, change)
    car = parameter.car(snapshot, change)
    return replace(snapshot, car=car, scene=_scene(snapshot, car)), measurer


def _margin(finding: Finding, rule: Rule, turned: Callable[[], tuple[Snapshot, Measurer | None]], anyone: bool,
            counted: Callable = lambda action: action()) -> float:
    """Margin of the finding in a turned snapshot, never below 0 where it passes; -inf where nothing can be measured. anyone:
    whether a value of other subjects stands for it."""
    try:
        results = counted(lambda: evaluate([rule], *turned()))
    except (ValueError, RuntimeError, ArithmeticError, NotEvaluated):
        # No solution there: SceneError, a shape that cannot be built (the host's own errors too), or mechanics that refuse the number.
        return -math.inf
    same = [item for item in results if item.discriminator == finding.discriminator and (anyone or item.subjects == finding.subjects)]
    if anyone and not same and all(item.state == State.PASSED for item in results):
        same = results          # no pair is left that overlaps
    margins = [max(item.margin or 0.0, 0.0) if item.state == State.PASSED else -math.inf if item.margin is None else item.margin
               for item in same]
    return min(margins, default=-math.inf)


def _steady(finding: Finding, rule: Rule) -> bool:
    """Whether the margin tells how far there is to go. How deep two bodies overlap does not: it is the thickness of the overlap."""
    overlap = rule.quantity in ("clearance", "driver_clearance") and finding.measured is not None and finding.measured <= 0.0
    return rule.quantity != "interference" and not overlap


def _grain(parameter: Parameter) -> float:
    """What a change is counted in: hundredths of what the parameter is set in; ones of what is a number."""
    return {"length": INCH / 100.0, "angle": DEG / 100.0, "count": 1.0}.get(parameter.kind, math.pi / 30.0 * 10.0)


def _edge(margin: Callable[[float], float], start: float, likely: float | None, parameter: Parameter, steady: bool) -> float | None:
    return edge(margin, start, likely if parameter.kind == "length" else None, parameter.ways, parameter.reach, _grain(parameter), steady)


def _looked(parameter: Parameter, system: str) -> str:
    """What was tried, and how far."""
    if parameter.only is not None:
        return parameter.label
    unit = "" if parameter.kind == "count" else {"length": system, "angle": "deg"}.get(parameter.kind, "rpm")
    reach = units.to(parameter.reach, parameter.kind, unit) if unit else parameter.reach
    return f"{parameter.label} by up to {units.decimal(reach, 2)} {unit}".rstrip()


def _told(parameter: Parameter, value: float, change: float, system: str) -> Remedy:
    if parameter.kind == "count":
        unit, by, to = "", float(change), float(value + change)
        shown = f"{by:g} {parameter.counted}{'s' if by != 1.0 else ''}", f"{to:g}"
    else:
        unit = {"length": system, "angle": "deg"}.get(parameter.kind, "rpm")
        by, to = (units.rounded(units.to(number, parameter.kind, unit), 9) for number in (change, value + change))
        shown = tuple(f"{units.decimal(number, parameter.places)} {unit}" for number in (abs(by), to))
    words = (parameter.up if change > 0.0 else parameter.down).format(by=shown[0], to=shown[1])
    return Remedy(parameter.name, by, to, unit, words)
