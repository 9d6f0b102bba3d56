"""Readings of a car to where its powertrain is: the placement as built, each reading's residual, what is not determined, what cannot be
right. Numbers only; a window calls ``of`` with the record that its form has filled.
"""
from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from .. import model, units
from ..mechanics import gross_errors, next_reading, pose_fit, set_up, sighting
from ..mechanics import scene as scenes
from ..mechanics.gross_errors import Suspect
from ..mechanics.pose_fit import FREEDOMS, NORMAL_95, SCALE, WORDS, Fit
from ..mechanics.scene import Scene
from ..record import entries, sparse
from .readings import Measured, Readings, points_of

USED, BLANK, CHASSIS, ASIDE, UNUSED = "used", "blank", "chassis", "set aside", "not used"
"""What became of a reading: in the fit; left blank; a measure of the chassis, compared only; cannot be right; hangs on a rear end that was
not measured."""


@dataclass(frozen=True)
class Line:
    """A reading and what came of it, mm and rad. value: mean of what was read, None where blank; within: 95 %; fitted: what it is at the
    placement as built; checked: share of an error of it that the other readings show; suspect: why it was set aside; note: in words, what
    else there is to say."""
    measured: Measured
    state: str
    value: float | None = None
    within: float = 0.0
    fitted: float | None = None
    checked: float = 0.0
    suspect: Suspect | None = None
    note: str = ""

    @property
    def residual(self) -> float | None:
        """What was read less what the placement as built says."""
        return None if self.value is None or self.fitted is None else self.value - self.fitted


@dataclass(frozen=True)
class Freedom:
    """One of the six of the powertrain or the four of the rear end, mm or rad. within: 95 % either way, infinite where the readings do not
    determine it; fitted: whether it was, or is taken as wanted."""
    name: str
    words: str
    wanted: float
    found: float
    within: float
    fitted: bool

    @property
    def quantity(self) -> str:
        """``angle`` or ``length``."""
        return "angle" if self.name in ("roll", "pitch", "yaw", "pinion_pitch") else "length"

    @property
    def lost(self) -> bool:
        """Whether readings do not determine it."""
        return not np.isfinite(self.within)


@dataclass(frozen=True, eq=False)
class Fitted:
    """Where the powertrain of a car is. wanted: its scene as wanted; fit: state and covariance in the order of ``pose_fit.FREEDOMS``;
    asked: readings that settle what is not determined."""
    car: model.Car
    wanted: Scene
    readings: Readings
    lines: tuple[Line, ...]
    fit: Fit
    asked: tuple[str, ...]

    @property
    def determined(self) -> bool:
        """Whether the readings say where the powertrain is."""
        return next_reading.determined(self.fit)

    @property
    def freedoms(self) -> tuple[Freedom, ...]:
        """All ten."""
        start, sigma = pose_fit.wanted(self.wanted), self.fit.sigma()
        return tuple(Freedom(name, WORDS[name], float(start[i]), float(self.fit.state[i]), NORMAL_95 * float(sigma[i]),
                             bool(self.fit.free[i])) for i, name in enumerate(FREEDOMS))

    @property
    def lost(self) -> tuple[str, ...]:
        """What the readings do not determine, in the words of the trade."""
        return tuple(one.words for one in self.freedoms if one.lost)

    @property
    def suspects(self) -> tuple[Line, ...]:
        """Readings that cannot be right."""
        return tuple(line for line in self.lines if line.suspect is not None)

    @property
    def chassis_off(self) -> tuple[Line, ...]:
        """Measures of the chassis that are off by more than their tolerance: what was measured from them is too."""
        return tuple(line for line in self.lines if line.state == CHASSIS and line.note)

    @property
    def covariance(self) -> np.ndarray:
        """Covariance (10, 10) of what may be said of the car: what is not determined is off by ``pose_fit.SCALE``, what was not measured of
        the rear end is where it should be within the tolerances of the set-up sheet, 95 times in 100."""
        loose = self.fit.blind * SCALE
        tolerances = np.where(pose_fit.ANGLES, set_up.LEVEL, set_up.TAPE) / NORMAL_95
        return self.fit.covariance + loose.T @ loose + np.diag(np.where(self.fit.free, 0.0, tolerances ** 2))

    @property
    def record(self) -> model.AsBuilt:
        """The placement as built. What is not determined is in it as wanted."""
        return record_of(self.fit.state, self.fit.free, self.readings.measured)

    @property
    def as_built(self) -> model.Car:
        """The car with both placements, the one as built shown."""
        return shown(self.car, self.record)


def designed(car: model.Car, scene: Scene) -> tuple[model.Car, Scene]:
    """A car as designed, whatever is shown, its chassis in numbers where sketches give it, and its scene; of the car and the scene that a
    document or a car file has. SceneError where it has no such placement."""
    absent: Any = None
    scene = scene.designed or scene
    if car.chassis.sketches is not None:
        car = replace(car, chassis=replace(scene.chassis, sketches=absent, tubes=car.chassis.tubes), rear_end=scene.rear_end)
    car = replace(car, placement=replace(car.placement, as_built=absent, shown=absent))
    return car, scenes.of(car)


def of(car: model.Car, readings: Readings, measured: Sequence[Measured]) -> Fitted:
    """Where the powertrain of a car is by its readings. SceneError where the car as wanted has no placement, SightingError as
    ``sighting.observation``."""
    absent: Any = None
    car = replace(car, placement=replace(car.placement, as_built=absent, shown=absent))
    scene = scenes.of(car)
    points, drop, start = points_of(car, scene, readings.points), float(scene.engine.base_drop), pose_fit.wanted(scene)
    taken = [one for one in measured if one.sight is not None and one.reading.read]
    sights = [one.sight for one in taken if one.sight is not None]
    means = [_mean(one) for one in taken]
    some = [sighting.observation(sight, points, scene, within / NORMAL_95) for sight, (_value, within, _note) in zip(sights, means)]
    others = [sighting.mistaken(sight, points, scene, one.sigma) for sight, one in zip(sights, some)]
    fit, suspects = gross_errors.examined(some, np.array([value for value, _within, _note in means]), start, drop, others)
    by_place = {one.place: one for one in suspects}
    lines = {id(one): _line(i, one, means[i], fit, by_place.get(i)) for i, one in enumerate(taken)}
    offered = sighting.settling(points, scene)
    chosen = next_reading.settling(fit, [one for _sight, one in offered], drop)
    asked = tuple(sighting.words(offered[i][0], points) for i in chosen)
    return Fitted(car, scene, readings, tuple(lines.get(id(one)) or _outside(one) for one in measured), fit, asked)


def record_of(state: np.ndarray, free: np.ndarray, measured: str | None = None) -> model.AsBuilt:
    """A state (10,) as the record of a car; of the rear end only what was fitted."""
    rear = {name: float(state[i]) for i, name in enumerate(FREEDOMS) if i >= 6 and free[i]}
    six = {name: float(state[i]) for i, name in enumerate(FREEDOMS) if i < 6}
    found: model.AsBuilt = sparse(model.AsBuilt, **six, **rear, measured=measured)
    return found


def legible(car: model.Car) -> model.Car:
    """A car whose placement as built has no more digits than a person reads, in the unit of the car: 0.0001 in or 0.001 mm, 0.001 deg; far
    less than any reading tells."""
    built = car.placement.as_built
    if built is None:
        return car
    unit, size, places = ("mm", 1.0, 3) if car.car.units == "mm" else ("in", units.INCH, 4)
    values: dict[str, Any] = {}
    for name, entry in entries(model.AsBuilt).items():
        value = getattr(built, name, None)
        if value is not None and entry.kind == "length":
            values[name] = units.parse(f"{value / size:.{places}f} {unit}", "length")
        elif value is not None and entry.kind == "angle":
            values[name] = units.parse(f"{math.degrees(value):.3f} deg", "angle")
    return replace(car, placement=replace(car.placement, as_built=replace(built, **values)))


def shown(car: model.Car, record: model.AsBuilt) -> model.Car:
    """The car with a placement as built, which is shown."""
    return replace(car, placement=replace(car.placement, as_built=record, shown="as_built"))


def _mean(one: Measured) -> tuple[float, float, str]:
    """(mean of what was read, within 95 %, what its scatter says). A tool's own error is the same each time, so that reading again does not
    make it less; scatter beyond it counts (the larger of both)."""
    values = np.array(one.reading.read)
    value, within, note = float(values.mean()), one.within, ""
    if len(values) > 1:
        scatter = NORMAL_95 * float(values.std(ddof=1)) / np.sqrt(len(values))
        if float(np.ptp(values)) > 2.0 * one.within:
            note = "readings of it differ by more than the instrument explains"
        within = max(within, float(scatter))
    return value, within, note


def _line(i: int, one: Measured, mean: tuple[float, float, str], fit: Fit, suspect: Suspect | None) -> Line:
    value, within, note = mean
    state = ASIDE if suspect is not None else USED if fit.used[i] else UNUSED
    if state == UNUSED:
        note = "hangs on the rear end, which other readings do not tell"
    return Line(one, state, value, within, float(fit.predicted[i]), float(fit.checked[i]) if state == USED else 0.0, suspect, note)


def _outside(one: Measured) -> Line:
    """A blank, or a measure of the chassis."""
    if not one.reading.read:
        return Line(one, BLANK)
    value, within, note = _mean(one)
    off = abs(value - one.wanted) > max(one.tolerance or 0.0, within)
    return Line(one, CHASSIS, value, within, one.wanted, 0.0, None, "off by more than its tolerance" if off else note)


