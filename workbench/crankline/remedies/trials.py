"""A car with one parameter changed and its shapes as they stand: what rules find there."""
from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeVar

from .. import model
from ..checks.context import Context
from ..checks.evaluate import evaluate
from ..checks.finding import Finding, State
from ..measure.measurer import Measurer
from ..mechanics import scene as staging
from ..mechanics.scene import Scene
from ..rules.quantity import NotEvaluated
from ..rules.rule import Rule
from ..snapshot import Snapshot
from .parameters import Parameter

_Made = TypeVar("_Made")


@dataclass(frozen=True)
class _Trial:
    """A snapshot with one parameter changed. found: rule id to its findings."""
    snapshot: Snapshot
    measurer: Measurer | None
    context: Context
    found: dict[str, list[Finding] | None]


class Trials:
    """Changes of one snapshot. Several findings try the same ones: what rules share of a change (``Context``) is worked out for the first
    that asks, and what a rule finds is found once."""

    def __init__(self, snapshot: Snapshot, measurer: Measurer | None):
        self._snapshot, self._measurer = snapshot, measurer
        self._made: dict[tuple[str, float], _Trial | None] = {}

    def found(self, rule: Rule, parameter: Parameter, change: float) -> list[Finding] | None:
        """What a rule finds with a parameter changed by so much; None where nothing can be found. A parameter's name tells how it is
        turned."""
        known = parameter.name, change
        if known not in self._made:
            self._made[known] = attempted(lambda: self._turned(parameter, change))
        trial = self._made[known]
        if trial is None:
            return None
        if rule.id not in trial.found:
            if trial.measurer is not None:
                trial.measurer.sees(trial.snapshot)     # it may have seen others meanwhile
            trial.found[rule.id] = attempted(lambda: evaluate([rule], trial.snapshot, context=trial.context))
        return trial.found[rule.id]

    def _turned(self, parameter: Parameter, change: float) -> _Trial:
        if parameter.turned is not None:
            turned, measurer = parameter.turned(self._snapshot, self._measurer, change)
        else:
            car = parameter.changed(self._snapshot, change)
            turned, measurer = replace(self._snapshot, car=car, scene=scene_of(self._snapshot, car)), self._measurer
        return _Trial(turned, measurer, Context(turned, measurer), {})


def scene_of(snapshot: Snapshot, car: model.Car) -> Scene:
    """The scene of a changed car; chassis and rear end as the snapshot has them (from a sketch, maybe) where they are the same."""
    was = snapshot.placed
    return staging.build(was.chassis if car.chassis is snapshot.car.chassis else car.chassis,
                         was.rear_end if car.rear_end is snapshot.car.rear_end else car.rear_end,
                         car.engine, car.transmission, car.placement,
                         was.stack if car.plates is snapshot.car.plates else staging.stack_of(car.plates))


def attempted(attempt: Callable[[], _Made]) -> _Made | None:
    """What is made of a change; None where there is no solution there: SceneError, a shape that cannot be built (the host's own errors
    too), or mechanics that refuse the number."""
    try:
        return attempt()
    except (ValueError, RuntimeError, ArithmeticError, NotEvaluated):
        return None


def margin_of(finding: Finding, results: list[Finding] | None, anyone: bool) -> float:
    """Margin of the finding among what its rule finds with a change, never below 0 where it passes; -inf where nothing can be measured.
    anyone: whether a value of other subjects stands for it."""
    if results is None:
        return -math.inf
    same = [item for item in results if item.discriminator == finding.discriminator and (anyone or item.subjects == finding.subjects)]
    if anyone and not same and all(item.state == State.PASSED for item in results):
        same = results          # no pair is left that overlaps
    margins = [max(item.margin or 0.0, 0.0) if item.state == State.PASSED else -math.inf if item.margin is None else item.margin
               for item in same]
    return min(margins, default=-math.inf)
