"""Dangerous faults, each put into a sound car one at a time, and the rule that has to find it. A fault is a line: add it here.

A line holds what is changed, on which car, and the rules of which one must leave a finding that is open or not evaluated and that the sound
car does not have. Numbers only: what needs shapes stands in ``tests/host``.
"""
from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from crankline import model

INCH = 25.4


@dataclass(frozen=True)
class Fault:
    """What is wrong, how a car gets it, and the rules that may tell it: a name that ends in * stands for all that begin so."""
    name: str
    inject: Callable[[model.Car], model.Car]
    told_by: tuple[str, ...]


def _put(path: str, value) -> Callable[[model.Car], model.Car]:
    def inject(car: model.Car) -> model.Car:
        def at(record, names):
            name, *rest = names
            return replace(record, **{name: at(getattr(record, name), rest) if rest else value})
        return at(car, path.split("."))
    return inject


FAULTS: tuple[Fault, ...] = (
    Fault("yokes out of phase", _put("driveshaft.phase", math.radians(90.0)), ("DRV-*",)),
    Fault("shaft above its critical speed", _put("engine.rpm_limit", 30_000.0 * math.tau / 60.0), ("DRV-*",)),
    Fault("shaft of foil", _put("driveshaft.wall", 0.2), ("DRV-*", "STR-*", "PRO-*")),
    Fault("no rule book", _put("rules", model.Rules(sets=("practice",), waivers=())), ("PRO-RULE-BOOK",)),
    Fault("joints at odds", _put("rear_end.pinion_pitch", math.radians(-6.0)), ("DRV-*",)),
)
