"""When a rule applies: plain data over a few facts of the car, with *unknown* as a third answer.

A condition is a mapping of facts to wanted values, all of which must hold; ``any: [...]`` holds if one of its
conditions holds, ``all: [...]`` if each does, ``unless: {...}`` if its condition does not. Nothing is evaluated as code. A fact that the
car file does not give is unknown, and a condition that hangs on it is unknown too: the rule is then not evaluated.
"""
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from .. import model, sections, spelling
from ..catalog import is_composite
from ..mechanics.scene import Scene
from ..record import entries

TIME_TESTS = ("or_quicker", "quicker_than", "or_slower", "slower_than")


def _choices(owner: type, name: str) -> tuple[str, ...]:
    return entries(owner)[name].choices


WORDS = {
    "body": _choices(model.CarRecord, "body"),
    "tires": _choices(model.CarRecord, "tires"),
    "power_adder": _choices(model.CarRecord, "power_adder"),
    "driver_position": _choices(model.CarRecord, "driver_position"),
    "track": _choices(model.CarRecord, "track"),
    "transmission": _choices(model.Transmission, "kind"),
    "shaft_material": ("metal", "composite"),
    "transbrake": ("true", "false"),
    "shaft_passes_driver": ("true", "false"),
}
"""Facts that are one word out of a list; the last two are flags, true or false."""


@dataclass(frozen=True)
class OneOf:
    """A fact is one of some words."""
    fact: str
    words: tuple[str, ...]


@dataclass(frozen=True)
class Time:
    """The elapsed time against a printed pair in s; None where the book prints no time for that track."""
    test: str
    quarter: float | None
    eighth: float | None


@dataclass(frozen=True)
class All:
    """Every one holds; with none it always holds."""
    parts: tuple[Condition, ...] = ()


@dataclass(frozen=True)
class AnyOf:
    """At least one holds."""
    parts: tuple[Condition, ...]


@dataclass(frozen=True)
class Unless:
    """It does not hold."""
    part: Condition


Condition = OneOf | Time | All | AnyOf | Unless

Answer = tuple[bool | None, str]
"""Whether a condition holds (None = unknown), and why, in words."""


def facts(car: model.Car, scene: Scene | None) -> dict[str, Any]:
    """What conditions are asked about; None = unknown. car: with defaults filled in."""
    return {"elapsed_time": car.car.elapsed_time, "body": car.car.body, "tires": car.car.tires, "track": car.car.track,
            "power_adder": car.car.power_adder, "driver_position": car.car.driver_position,
            "transmission": car.transmission.kind, "transbrake": _word(car.car.transbrake),
            "shaft_passes_driver": shaft_passes_driver(car, scene),
            "shaft_material": shaft_material(car)}


def shaft_material(car: model.Car) -> str | None:
    """What the driveshaft's tube is made of; None of a material that the catalog does not know."""
    if car.driveshaft is None:
        return NO_SHAFT
    composite = is_composite(car.driveshaft.material)
    return None if composite is None else "composite" if composite else "metal"


def _word(flag: bool | None) -> str | None:
    return None if flag is None else str(bool(flag)).lower()


NO_SHAFT = sections.not_yet(sections.DRIVESHAFT)
"""A fact of the driveshaft of a car that has none yet."""
BESIDE = "beside"
BESIDE_HIM = "the driveshaft runs beside the driver, and the book does not say whether that is past him"


def shaft_passes_driver(car: model.Car, scene: Scene | None) -> Any:
    """Whether the driveshaft passes the driver. ``true``: under, over or through him (seen from above, its swept width meets the box that
    he occupies), and where he sits astride it. ``beside``: past that box on one side, which a book may or may not mean. ``false``: it ends
    ahead of him or begins behind him. ``NO_SHAFT``: there is none yet. None: unknown. Of a scene of many placements, an array of these
    words, or one word that holds for all."""
    if car.car.driver_position == "astride_shaft":
        return "true"
    box = car.car.driver_envelope
    if box is None or scene is None:
        beside = car.car.driver_position in ("ahead_of_axle_left", "ahead_of_axle_right")
        return BESIDE if beside else None
    x_rear, x_front = np.maximum(scene.rear_joint[0], box.x_rear), np.minimum(scene.front_joint[..., 0], box.x_front)
    if car.driveshaft is None:
        met = np.where(x_rear > x_front, "false", NO_SHAFT)
    else:
        reach = 0.5 * car.driveshaft.joint_swing_diameter
        ends = scene.shaft_at(x_rear)[..., 1], scene.shaft_at(x_front)[..., 1]
        low, high = sorted((box.y_right, box.y_left))
        over = (np.minimum(*ends) - reach < high) & (np.maximum(*ends) + reach > low)
        met = np.where(x_rear > x_front, "false", np.where(over, "true", BESIDE))
    return str(met) if met.ndim == 0 else met


def applies(condition: Condition, known: Mapping[str, str | float | None]) -> tuple[bool | None, str, str]:
    """Whether a rule with this condition is to be measured, why, and the question on which that hangs: it is then asked, and not decided
    here. Empty where there is none."""
    answer, why = holds(condition, known)
    if answer is None and known["shaft_passes_driver"] == BESIDE:
        either = tuple(holds(condition, {**known, "shaft_passes_driver": word})[0] for word in ("true", "false"))
        if either == (True, False):
            return True, why, f"{BESIDE_HIM}; ask the sanctioning body"
    return answer, why, ""


def holds(condition: Condition, known: Mapping[str, str | float | None]) -> Answer:
    """Whether a condition holds for these facts (Kleene's three-valued logic), and why."""
    if isinstance(condition, OneOf):
        value = known[condition.fact]
        if value == BESIDE:
            return None, BESIDE_HIM
        if value == NO_SHAFT:
            return None, NO_SHAFT
        if value is None:
            return None, f"{condition.fact} is not known"
        wanted = " or ".join(map(spelling.read, condition.words))
        told = spelling.read(str(value))
        if value in condition.words:
            return True, f"{condition.fact} is {told}"
        return False, f"{condition.fact} is {told}, not {wanted}"
    if isinstance(condition, Time):
        return _time(condition, known)
    if isinstance(condition, Unless):
        answer, why = holds(condition.part, known)
        return (None if answer is None else not answer), why
    answers = [holds(part, known) for part in condition.parts]
    if isinstance(condition, All):
        return _joined(answers, decisive=False, empty="to every car")
    return _joined(answers, decisive=True, empty="")


def _joined(answers: list[Answer], decisive: bool, empty: str) -> Answer:
    """All (decided by one False) or any (decided by one True)."""
    for wanted in (decisive, None):
        told = [why for answer, why in answers if answer is wanted]
        if told:
            return wanted, "; ".join(told) if wanted is None else told[0]
    return not decisive, "; ".join(why for _answer, why in answers) or empty


def _time(condition: Time, known: Mapping[str, Any]) -> Answer:
    value, track = known["elapsed_time"], known["track"]
    if value is None:
        return None, "elapsed_time is not known; give car.elapsed_time"
    limit = condition.quarter if track == "quarter" else condition.eighth
    if limit is None:
        return None, f"the rule prints no elapsed time for the {track} mile"
    slack = 1e-9 * limit
    answer = {"or_quicker": value <= limit + slack, "quicker_than": value < limit - slack,
              "or_slower": value >= limit - slack, "slower_than": value > limit + slack}[condition.test]
    words = {"or_quicker": "{0:g} s or quicker", "quicker_than": "quicker than {0:g} s",
             "or_slower": "{0:g} s or slower", "slower_than": "slower than {0:g} s"}[condition.test].format(limit)
    return answer, f"elapsed_time {value:g} s over the {track} mile is {'' if answer else 'not '}{words}"
