"""How one rule of the catalog is tried: a car that passes, the smallest step on either side of each limit, a car to which it does not
apply, one on which it cannot be evaluated. The tables are data (mechanics/test_every_rule.py, host/test_every_rule_shapes.py).

A parameter is a field of the model, by its path (``placement.crank_height``, ``containment.loops[front].x``). It is turned until the rule's
own measuring function reads the limit: nothing measured is stubbed. Values in mm, kg, s, rad.
"""
from __future__ import annotations

import datetime
import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from typing import Any

from scipy.optimize import brentq

from crankline import units
from crankline.checks import evaluate
from crankline.checks.finding import State
from crankline.record import filled
from crankline.remedies import parameters
from crankline.rules import rule_sets
from crankline.rules.conditions import All
from crankline.rules.quantity import QUANTITIES

INCH = 25.4
DEG = 0.017453292519943295
SHOWN = 1e-9
"""What a finding shows of a value, in its unit; anything smaller is shown as 0."""
EVENT = datetime.date(2026, 5, 1)
ALWAYS = "always"
"""A row's ``off`` where the rule has no trigger: it applies to every car."""

NUMBERS = tuple(name for name, item in QUANTITIES.items() if not item.effort)
"""Quantities that follow from numbers. Whatever is not among them is measured on shapes, and its rules stand in the host's table."""

RULES = {rule.id: rule for name in rule_sets.available() for rule in rule_sets.read(f"{rule_sets.FOLDER}/{name}.yaml").rules}
"""Every rule that comes with the program."""


# --- turning parameters ----------------------------------------------------------------------------------------------------


def at(record: Any, path: str) -> Any:
    """The value at a path."""
    for name, key in _steps(path):
        record = getattr(record, name)
        if key:
            record = next(item for item in record if item.name == key)
    return record


def put(record: Any, path: str, value: Any) -> Any:
    """The record with another value at a path; every record on the way is there."""
    (name, key), rest = _steps(path)[0], path.partition(".")[2]
    inner = getattr(record, name)
    if key:
        changed = tuple(put(item, rest, value) if item.name == key else item for item in inner)
    else:
        changed = put(inner, rest, value) if rest else value
    return replace(record, **{name: changed})


def _steps(path: str) -> list[tuple[str, str]]:
    return [re.fullmatch(r"(\w+)(?:\[(.+)\])?", step).groups("") for step in path.split(".")]


def changed(record: Any, changes: Mapping[str, Any]) -> Any:
    """The record with several values changed, in their order."""
    for path, value in changes.items():
        record = put(record, path, value)
    return record


# --- remedies ---------------------------------------------------------------------------------------------------------

_KINDS = {"in": "length", "mm": "length", "deg": "angle", "rpm": "turning"}


def remedied(car, remedy: Mapping[str, Any], less: float = 0.0):
    """The car with the parameter of a remedy changed as it says, or by a little less."""
    def inside(value):
        return units.of(value, _KINDS[remedy["unit"]], remedy["unit"]) if remedy["unit"] else round(value)

    change = inside(remedy["change"] - math.copysign(less, remedy["change"]))
    path = remedy["parameter"]
    if path == parameters.SLIP.name:     # three figures that go with the length of the shaft
        given = filled(car.transmission)
        return replace(car, transmission=replace(car.transmission, slip_exposed=given.slip_exposed + change,
                                                 joint_from_seal=given.joint_from_seal + change, spline_engaged=given.spline_engaged
                                                 - change))
    if path == parameters.ENCLOSURE_LENGTH.name:
        path = "containment.enclosure.x_front"

    def turned(record, names):
        if isinstance(record, tuple):
            return tuple(turned(item, names[1:]) if item.name == names[0] else item for item in record)
        held = getattr(filled(record), names[0])
        if names[1:]:
            return replace(record, **{names[0]: turned(held, names[1:])})
        return replace(record, **{names[0]: inside(remedy["value"]) if held is None else held + change})
    return turned(car, path.split("."))


# --- rows -------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Edge:
    """One side of a limit. parameter: path that is turned (or function of car and value); good, bad: values well on either side.
    limit: as printed, the binding figure first ("24 in | 610 mm"), or a closed form (car -> value in the finding's unit) where the rule has
    a formula. on: changes that the car needs besides. whose: part key or discriminator of the finding that is meant; else the worst."""
    parameter: str | Callable
    good: float
    bad: float
    limit: str | Callable
    on: Mapping[str, Any] = None
    whose: str = ""
    flat: bool = False
    """Whether nothing is measured beyond the limit on the good side: what is made lies on it or on the wrong side."""
    step: float = 0.0
    """The smallest step in the finding's unit where the measurement itself is coarser than its tolerance says."""


@dataclass(frozen=True)
class Steps:
    """A limit on a count. parameter as above; values: (value, measured or None, whether it passes), at least one of each."""
    parameter: str | Callable
    values: tuple[tuple[Any, float | None, bool], ...]
    limit: str
    on: Mapping[str, Any] = None
    whose: str = ""


@dataclass(frozen=True)
class Blind:
    """Why it cannot be evaluated: changes of the car, options of the snapshot, and what the reason says."""
    says: str
    on: Mapping[str, Any] = None
    unsound: tuple = ()
    host: bool = True


@dataclass(frozen=True)
class Row:
    """One rule. car: name of a demo; on: changes that make it the car that passes. off: ALWAYS, or changes of which each makes the rule not
    apply, with what the reason says. ons: changes under which it still applies, at the edge of its trigger. nothing: changes of the
    demo that leave nothing to measure (not-applicable), or None where there always is something. blind: cars on which it cannot be
    evaluated."""
    rule: str
    car: str
    edges: tuple
    off: Any
    blind: tuple[Blind, ...]
    on: Mapping[str, Any] = None
    ons: tuple[Mapping[str, Any], ...] = ()
    nothing: Mapping[str, Any] | None = None
    lacks: Mapping[str, Mapping[str, Any]] | None = None
    """What is told of a car that lacks what the rule asks for, and the changes: it stands open with nothing measured."""


# --- trying -----------------------------------------------------------------------------------------------------------


class _Found(Exception):
    """The value that was looked for."""

    def __init__(self, value: float):
        super().__init__(value)
        self.value = value


class Trial:
    """Tries rows. cars: name to car; shoot: (car, unsound) to a snapshot with what the quantity measures; measurer: the host's or None."""

    def __init__(self, cars: Mapping[str, Any], shoot: Callable, measurer: Callable = lambda: None):
        self.cars, self.shoot, self.measurer = cars, shoot, measurer

    def car(self, row: Row, *more: Mapping[str, Any] | None):
        """The row's car with further changes."""
        car = self.cars[row.car]
        for changes in (row.on, *more):
            car = changed(car, changes or {})
        return car

    def findings(self, row: Row, car, unsound=(), host: bool = True):
        """The findings of the row's rule on a car."""
        if isinstance(car, tuple):   # a parameter of the document and not of the car
            car, unsound, *selection = car
            return evaluate.evaluate([RULES[row.rule]], self.shoot(car, unsound, row), self.measurer(), EVENT, *selection)
        return evaluate.evaluate([RULES[row.rule]], self.shoot(car, unsound, row), self.measurer() if host else None, EVENT)

    def worst(self, row: Row, car, whose: str = ""):
        """The finding that decides, or the one that is meant."""
        found = self.findings(row, car)
        if whose:
            found = [item for item in found if whose == item.discriminator or whose in item.subjects] or found
        return min(found, key=lambda item: (item.state != State.NOT_EVALUATED, item.margin is not None, item.margin or 0.0))

    def passes(self, row: Row) -> None:
        """The row's own car passes; a rule from memory asks to be confirmed instead."""
        rule = RULES[row.rule]
        found = self.findings(row, self.car(row))
        assert found, row.rule
        for item in found:
            assert item.state == (State.OPEN if rule.to_confirm else State.PASSED), (item.state, item.reason, item.measured, item.limit)
            asked(rule, item)

    def edge(self, row: Row, edge: Edge) -> None:
        """At the limit it passes, the smallest step to the right side passes, the smallest step to the wrong side does not."""
        rule = RULES[row.rule]
        memory = rule.to_confirm
        turn = edge.parameter if callable(edge.parameter) else lambda car, value: put(car, edge.parameter, value)

        @cache
        def read(value):
            return self.worst(row, turn(self.car(row, edge.on), value), edge.whose)

        good, bad = read(edge.good), read(edge.bad)
        assert good.state == (State.OPEN if memory else State.PASSED), ("good", good.state, good.reason, good.measured, good.limit)
        assert bad.state == State.OPEN and bad.margin < 0.0, ("bad", bad.state, bad.reason, bad.measured)
        asked(rule, bad)
        side = 0 if not isinstance(good.limit, tuple) else (bad.measured > bad.limit[1])

        def beyond(item):
            """How far the measured value is past the limit on the side that is tried, in the finding's unit."""
            limit = item.limit[side] if isinstance(item.limit, tuple) else item.limit
            return sign * (item.measured - limit)

        sign = 1.0
        if beyond(bad) < 0.0:
            sign = -1.0
        accuracy = max(good.tolerance, SHOWN, edge.step / 3.0)
        exact = edge.good if edge.flat else self._solved(read, beyond, 0.0, edge.good, edge.bad, 0.4 * accuracy)
        here = read(exact)
        assert abs(beyond(here)) < 0.5 * accuracy, ("the parameter does not reach the limit", beyond(here))
        limit = here.limit[side] if isinstance(here.limit, tuple) else here.limit
        self._as_printed(rule, edge, here, limit, turn(self.car(row, edge.on), exact))
        for what, past, far, passes in (("at the limit", 0.0, None, True), ("right side", -3.0 * accuracy, edge.good, True),
                                        ("wrong side", 3.0 * accuracy, edge.bad, False)):
            if edge.flat and past < 0.0:
                continue
            item = here if far is None else read(self._solved(read, beyond, past, exact, far, 0.4 * accuracy))
            assert abs(beyond(item) - past) < 0.5 * accuracy, (what, beyond(item), past)
            assert item.state == (State.PASSED if passes and not memory else State.OPEN), (what, item.state, item.measured, item.limit)
            assert (item.margin == 0.0 or memory) if past == 0.0 else (item.margin > 0.0) is passes, (what, item.margin)
            asked(rule, item)

    @staticmethod
    def _solved(read, beyond, past: float, near: float, far: float, within: float) -> float:
        """The parameter's value at which the measured value is so far past the limit: next to a near value, on the way to a far one."""
        def error(value):
            """How far off; near enough ends the search, whoever asks."""
            off = beyond(read(value)) - past
            if abs(off) < within:
                raise _Found(value)
            return off

        def by_line(low, high):
            """Where a line through two values reads what is wanted, if that is on the way."""
            start, end = beyond(read(low)), beyond(read(high))
            guess = low + (past - start) * (high - low) / (end - start) if end != start else low
            if min(near, far) <= guess <= max(near, far):
                error(guess)
            return guess

        try:
            # Most quantities follow their parameter in a line, and all of them nearly so close to the near value.
            by_line(near, by_line(near, far))
            if past:
                # A thousand times nearer than the far value, and farther until the wanted value lies between.
                share = 1e-9
                while error(near + share * (far - near)) * (beyond(read(near)) - past) > 0.0 and share < 1.0:
                    share = min(30.0 * share, 1.0)
                far = near + share * (far - near)
            return brentq(error, near, far, xtol=1e-15 * max(abs(near), abs(far)), rtol=1e-14, maxiter=200)
        except _Found as found:
            return found.value

    @staticmethod
    def _as_printed(rule, edge: Edge, item, limit: float, car) -> None:
        """The limit is what the book prints, as the table says it, in the unit that binds; the other unit's figure stands beside it."""
        if callable(edge.limit):
            assert abs(limit - edge.limit(car)) <= 1e-9 * abs(limit), (limit, edge.limit(car))
            return
        told = edge.limit.split(" | ")
        number, _space, unit = told[0].partition(" ")
        assert (abs(limit - float(Fraction(number))) < 1e-9, item.unit) == (True, unit), (limit, item.unit, told)
        printed = {text for limit_ in limits_of(rule) for _unit, text in limit_.printed}
        for text in told:
            assert any(text in (whole, *whole.split(" to ")) for whole in printed), (text, printed)

    def steps(self, row: Row, steps: Steps) -> None:
        """A count on both sides of its limit."""
        rule = RULES[row.rule]
        turn = steps.parameter if callable(steps.parameter) else lambda car, value: put(car, steps.parameter, value)
        assert {passes for *_rest, passes in steps.values} == {True, False}, "a count needs values on both sides"
        if steps.limit:
            assert any(dict(limit.printed).get("") == steps.limit for limit in limits_of(rule)), limits_of(rule)
        for value, measured, passes in steps.values:
            item = self.worst(row, turn(self.car(row, steps.on), value), steps.whose)
            assert item.state == (State.PASSED if passes else State.OPEN), (value, item.state, item.reason)
            assert item.measured == measured, (value, item.measured)
            asked(rule, item)

    def lacking(self, row: Row) -> None:
        """A car without what the rule asks for breaks it, and is told what is missing."""
        for says, changes in (row.lacks or {}).items():
            found = self.findings(row, self.car(row, changes))
            assert found and all(item.state == State.OPEN and item.measured is None and says in item.reason for item in found), [
                (item.state, item.reason) for item in found]

    def not_applicable(self, row: Row) -> None:
        """Where its trigger is not met it does not apply; a row that says always holds that there is no trigger."""
        rule = RULES[row.rule]
        if row.off == ALWAYS:
            assert rule.when == All(), "the rule has a trigger: the table must show a car that does not meet it"
        else:
            assert rule.when != All(), "the rule has no trigger: the table must say so"
            for says, changes in row.off.items():
                found = self.findings(row, self.car(row, changes))
                assert [item.state for item in found] == [State.NOT_APPLICABLE], (says, [item.state for item in found])
                assert says in found[0].reason, found[0].reason
        for changes in row.ons:
            assert all(item.state not in (State.NOT_APPLICABLE, State.NOT_EVALUATED)
                       for item in self.findings(row, self.car(row, changes))), changes
        if row.nothing is not None:
            found = self.findings(row, changed(self.cars[row.car], row.nothing))
            assert [item.state for item in found] == [State.NOT_APPLICABLE]
            assert "no part on this car for this rule" in found[0].reason

    def not_evaluated(self, row: Row) -> None:
        """What cannot be measured is not evaluated, with its reason, and never passes."""
        for blind in row.blind:
            found = self.findings(row, self.car(row, blind.on), blind.unsound, blind.host)
            states = {item.state for item in found}
            assert State.NOT_EVALUATED in states, (blind.says, states)
            assert any(blind.says in item.reason for item in found if item.state == State.NOT_EVALUATED), [item.reason for item in found]
            assert all(item.measured is None and item.margin is None for item in found if item.state == State.NOT_EVALUATED)


def asked(rule, item) -> None:
    """A rule from memory asks to be confirmed, counts for nothing, and is never passed."""
    if rule.to_confirm:
        assert item.state == State.OPEN and item.to_confirm and not item.counts("advice") and "from memory" in item.reason


def limits_of(rule):
    """Every limit of a rule, those of its alternatives' sizes too."""
    yield from [rule.limit] if rule.limit is not None else [limit for one in rule.alternatives for limit in one.sizes.values()]
