"""What would clear an open finding: one parameter, changed alone, and by how much; found on the measured quantity itself.

Parts that stand on the chassis keep their shapes while the powertrain is tried elsewhere, so their measurements are
real; a loop or enclosure that is itself moved or lengthened is measured where it stands and the change is added.
"""
from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Callable, Iterable, Sequence

from .. import units
from ..mechanics import scene as staging
from ..record import filled
from ..snapshot import Snapshot
from .engine import evaluate
from .findings import OPEN, PASSED, WAIVER_VOID, Finding
from .measuring import Measurer, NotEvaluated
from .rule import Rule

STEPS = 8
"""Coarse steps tried each way before the edge between open and passed is closed in on."""

INCH, DEG = 25.4, math.pi / 180.0


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
class Knob:
    """A parameter that may be turned. get: its value, None where the car has none to turn. turned: the snapshot and
    measurer with the value changed by so much (inside unit). up, down: words for more and for less of it."""
    name: str
    kind: str
    reach: float
    get: Callable[[Snapshot], float | None]
    turned: Callable[[Snapshot, Measurer | None, float], tuple[Snapshot, Measurer | None]]
    up: str
    down: str


# --- knobs ------------------------------------------------------------------------------------------------------------


def _again(snapshot: Snapshot, car) -> Snapshot:
    return replace(snapshot, car=car, scene=staging.of(car))


def _of_car(section: str, name: str, reach: float, kind: str, up: str, down: str) -> Knob:
    """A knob that is a field of a record of the car; the shapes on the chassis stay."""
    def get(snapshot):
        return getattr(getattr(snapshot.car, section), name)

    def turned(snapshot, measurer, change):
        record = getattr(snapshot.car, section)
        record = replace(record, **{name: getattr(record, name) + change})
        return _again(snapshot, replace(snapshot.car, **{section: record})), measurer
    return Knob(f"{section}.{name}", kind, reach, get, turned, up, down)


class _Changed:
    """A measurer that adds a change to what it reads off one shape."""

    def __init__(self, inner: Measurer, shape, along: float = 0.0, longer: float = 0.0):
        self._inner, self._shape, self._along, self._longer = inner, shape, along, longer

    def __getattr__(self, name):
        return getattr(self._inner, name)

    def ring(self, shape, axis_at):
        found = self._inner.ring(shape, axis_at)
        if shape is not self._shape:
            return found
        x, y, z = found.center
        return replace(found, center=(x + self._along, y, z), x_rear=found.x_rear + self._along,
                       x_front=found.x_front + self._along)

    def tube(self, shape):
        found = self._inner.tube(shape)
        return replace(found, length=found.length + self._longer) if shape is self._shape else found


def _loop(key: str) -> Knob:
    """The station of a loop."""
    def get(snapshot):
        part = snapshot.part(key)
        return next((loop.x for loop in filled(snapshot.car).containment.loops if f"loop/{loop.name}" == key and part), None)

    def turned(snapshot, measurer, change):
        return snapshot, _Changed(measurer, snapshot.part(key).shape, along=change)
    return Knob(f"containment.loops.{key[5:]}.x", "length", 40 * INCH, get, turned, f"move {key} forward",
                f"move {key} rearward")


def _enclosure_length(snapshot):
    part = snapshot.part("enclosure")
    given = filled(snapshot.car).containment.enclosure
    return None if part is None or given is None else given.x_front - given.x_rear


ENCLOSURE = Knob("containment.enclosure, x_front less x_rear", "length", 24 * INCH, _enclosure_length,
                 lambda snapshot, measurer, change: (snapshot, _Changed(measurer, snapshot.part("enclosure").shape, longer=change)),
                 "make the enclosure longer", "make the enclosure shorter")

HEIGHT = _of_car("placement", "crank_height", 8 * INCH, "length", "raise the crank", "lower the crank")
AXLE = _of_car("placement", "axle_to_block", 15 * INCH, "length", "move the powertrain forward", "move the powertrain rearward")
PITCH = _of_car("placement", "pitch", 4 * DEG, "angle", "raise the pitch", "lower the pitch")
PINION = _of_car("rear_end", "pinion_pitch", 4 * DEG, "angle", "turn the pinion nose down", "turn the pinion nose up")
TUBE = _of_car("driveshaft", "outer_diameter", 2 * INCH, "length", "use a larger shaft", "use a smaller shaft")
LIMITER = _of_car("engine", "rpm_limit", 400.0, "turning", "raise the engine limiter", "lower the engine limiter")


def _knobs(finding: Finding, quantity: str, snapshot: Snapshot) -> Sequence[Knob]:
    """Parameters that are worth trying for a quantity, the cheapest to change first."""
    angles = (PITCH, PINION, HEIGHT, AXLE)
    loops = tuple(_loop(part.key) for kind in ("split_loop", "fixed_loop") for part in snapshot.kind(kind))
    if quantity == "loop_behind_front_joint":
        named = tuple(knob for knob in loops if finding.subjects == (f"loop/{knob.name.split('.')[2]}",))
        return (*(named or loops), AXLE)
    return {"crank_height": (HEIGHT, PITCH), "pitch": (PITCH, PINION), "axle_to_block": (AXLE,), "setback_share": (AXLE,),
            "joint_angle": angles, "joint_angle_difference": angles, "residual_angle": angles,
            "residual_nonuniformity": angles, "critical_speed": (LIMITER, TUBE, AXLE),
            "enclosure_length": (ENCLOSURE,)}.get(quantity, ())


# --- solving ----------------------------------------------------------------------------------------------------------


def of(finding: Finding, rule: Rule, snapshot: Snapshot, measurer: Measurer | None) -> tuple[Remedy, ...]:
    """Every single parameter that clears a finding, the least change of it that does; empty where none does."""
    if finding.state not in (OPEN, WAIVER_VOID) or finding.to_confirm or snapshot.scene is None:
        return ()
    found = []
    for knob in _knobs(finding, rule.quantity, snapshot):
        value = knob.get(snapshot)
        if value is None:
            continue
        tried = lru_cache(maxsize=None)(lambda step, knob=knob: _margin(finding, rule, snapshot, measurer, knob, step))
        change = _least(tried, tried(0.0), knob)
        if change is not None:
            found.append(_told(knob, value, change, snapshot.car.car.units or "in"))
    return tuple(found)


def for_all(findings: Iterable[Finding], rules: Iterable[Rule], snapshot: Snapshot,
            measurer: Measurer | None) -> list[Finding]:
    """The findings, those that stand against the car with their remedies, which their hints then end with."""
    by_id = {rule.id: rule for rule in rules}
    told = []
    for finding in findings:
        rule = by_id[finding.rule] if finding.unresolved and not finding.to_confirm else None
        # Where no dimension was tried nothing is said: the rule's own hint names what to change.
        if rule is not None and any(True for _ in _knobs(finding, rule.quantity, snapshot)):
            found = of(finding, rule, snapshot, measurer)          # the hint names two at most
            end = ("one of these alone is enough: " if len(found) > 1 else "this alone is enough: ") + \
                ", or ".join(remedy.words for remedy in found[:2]) if found else "no single dimension clears it"
            finding = replace(finding, hint=f"{finding.hint}; {end}", remedies=tuple(remedy.to_json() for remedy in found))
        told.append(finding)
    return told


def _margin(finding: Finding, rule: Rule, snapshot: Snapshot, measurer: Measurer | None, knob: Knob, change: float) -> float:
    """Margin of the finding with a knob turned, never below 0 where it passes; -inf where nothing can be measured."""
    try:
        tried, with_measurer = knob.turned(snapshot, measurer, change)
        results = evaluate([rule], tried, with_measurer)
    except (ValueError, NotEvaluated):
        # No solution there: SceneError, or mechanics that refuse the number.
        return -math.inf
    # The nearest loop may be another one now; what tells values of one rule apart is the discriminator.
    same = [item for item in results if item.discriminator == finding.discriminator
            and (item.subjects == finding.subjects or rule.quantity == "loop_behind_front_joint")]
    margins = [max(item.margin or 0.0, 0.0) if item.state == PASSED else -math.inf if item.margin is None else item.margin
               for item in same]
    return min(margins, default=-math.inf)


def _least(margin: Callable[[float], float], start: float, knob: Knob) -> float | None:
    """The smallest change either way that passes, in whole hundredths of what it is set in; None within reach."""
    unit = {"length": INCH / 100.0, "angle": DEG / 100.0}.get(knob.kind, math.pi / 30.0 * 10.0)
    best = None
    for sign in (1.0, -1.0):
        last, last_margin = 0, start
        for i in range(1, STEPS + 1):
            if best is not None and last * unit >= abs(best):
                break
            # Finer near nothing, where the answer usually is.
            step = max(round(knob.reach * (i / STEPS) ** 2 / unit), last + 1)
            here = margin(sign * step * unit)
            if here >= 0.0:
                found = sign * unit * _close_in(lambda count: margin(sign * count * unit), last, last_margin, step, here)
                if best is None or abs(found) < abs(best):
                    best = found
                break
            last, last_margin = step, here
    return best


def _close_in(margin: Callable[[int], float], first: int, below: float, last: int, above: float) -> int:
    """The least whole number that passes between one that fails and one that passes: false position and halving in
    turn, because most margins run nearly straight and some do not."""
    guess = True
    while last - first > 1:
        middle = (first + last) // 2
        if guess and math.isfinite(below) and above > below:
            middle = min(max(first + math.ceil((last - first) * -below / (above - below)), first + 1), last - 1)
        here = margin(middle)
        if here >= 0.0:
            last, above = middle, here
            # A straight margin has its edge right below.
            if last - first > 1:
                under = margin(last - 1)
                if under < 0.0:
                    return last
                last, above = last - 1, under
        else:
            first, below = middle, here
            if last - first > 1 and guess:
                over = margin(first + 1)
                if over >= 0.0:
                    return first + 1
                first, below = first + 1, over
        guess = not guess
    return last


def _told(knob: Knob, value: float, change: float, system: str) -> Remedy:
    unit = {"length": system, "angle": "deg"}.get(knob.kind, "rpm")
    by, to = (units.rounded(units.to(number, knob.kind, unit), 9) for number in (change, value + change))
    words = f"{knob.up if change > 0.0 else knob.down} by {units.decimal(abs(by), 2)} {unit}, to {units.decimal(to, 2)} {unit}"
    return Remedy(knob.name, by, to, unit, words)
