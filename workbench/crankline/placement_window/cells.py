"""Placements judged at once: for each, every figure and, of each rule that is claimed, whether it holds and by how much."""
from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import IntEnum
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from .. import model, units
from ..checks import comparing
from ..checks.context import NotYet
from ..checks.placements import Placements
from ..mechanics import scene as placing
from ..mechanics.fourbar import SuspensionError
from ..mechanics.scene import NO_PITCH, SceneError
from ..mechanics.suspension import InstantCentre, static_instant_centre, suspension_of
from ..record import filled
from ..rules import conditions, rule_sets
from ..rules.quantity import PLAIN, QUANTITIES, NotEvaluated, Reading
from ..rules.rule import Rule
from . import figures

AT_ONCE = 8192
"""Placements that are worked on together: what they need stays near the processor."""


SHAPES = "it is measured on the shapes of parts"
ELSE = "more than the placement decides it"


class State(IntEnum):
    """What a rule says of a placement. ASKED: from memory, or it is a question whether it applies: the check asks and does not decide."""
    NOT_APPLICABLE = 0
    HOLDS = 1
    OPEN = 2
    NOT_EVALUATED = 3
    ASKED = 4


@dataclass(frozen=True)
class Claim:
    """A rule that is read at every placement as the check reads it at one. unit: the one in which its margin is printed in the car's
    system, empty of a plain number."""
    rule: Rule
    kind: str
    unit: str

    def shown(self, margin: ArrayLike) -> np.ndarray:
        """Margins in that unit."""
        margin = np.asarray(margin, dtype=float)
        return margin if not self.unit else margin / units.of(1.0, self.kind, self.unit)


@dataclass(frozen=True, eq=False)
class Cells:
    """N placements. solved: where there is one at all; figures: name to (N,); states, margins: (claims, N), the margin in the inside unit
    of the rule's quantity, of several values the least, nan where none was read."""
    solved: np.ndarray
    pitch: np.ndarray
    figures: dict[str, np.ndarray]
    states: np.ndarray
    margins: np.ndarray


class Judge:
    """The rules of a car's sets at any of its placements. rule_files: additional rule sets. RuleError or SourceError (a rule file),
    SceneError where the car has no pinion."""

    def __init__(self, car: model.Car, rule_files: Iterable[str] = ()) -> None:
        self.given, self.car = car, filled(car)
        asked = self.car.rules
        rules = rule_sets.select(asked.sets if asked else (), rule_files).rules
        self._not_yet = NotYet(self.car)
        self.unclaimed: tuple[tuple[Rule, str], ...] = ()
        """Rules that are not looked at here, each with the reason."""
        claims: list[Claim] = []
        own = self._placements(*(np.atleast_1d(value) for value in self._own()))
        for rule in rules:
            why = self._why_not(rule, own)
            if why:
                self.unclaimed += ((rule, why),)
            else:
                kind = QUANTITIES[rule.quantity].kind
                claims.append(Claim(rule, kind, "" if kind in PLAIN else _unit(kind, self.car.car.units)))
        self.claims = tuple(claims)

    def _own(self) -> tuple[Any, Any, Any]:
        place = self.car.placement
        return place.axle_to_block, place.crank_height, place.pitch if place.pitch is not None else 0.0

    def _placements(self, x: np.ndarray, z: np.ndarray, pitch: Any) -> Placements:
        return Placements(self.car, placing.spread(self.given, x, z, pitch)[0])

    def _why_not(self, rule: Rule, own: Placements) -> str:
        """Why a rule is not claimed; empty where it is."""
        quantity = QUANTITIES[rule.quantity]
        if quantity.reads is None:
            return SHAPES if quantity.effort else ELSE
        missing = self._not_yet.said(quantity.looks_at, quantity.needs, dict(rule.settings))
        if missing:
            return missing
        own.settings = dict(rule.settings)
        try:
            return "" if quantity.reads(own) else "no part on this car for this rule"
        except (NotEvaluated, ValueError) as reason:
            return str(reason)

    @cached_property
    def centre(self) -> InstantCentre | None:
        """Instant center of the rear suspension at static ride height."""
        try:
            return static_instant_centre(suspension_of(self.car.rear_end), (0.0, self.car.chassis.rear_tire.loaded_radius))
        except SuspensionError:
            return None

    def cells(self, x: ArrayLike, z: ArrayLike, pitch: ArrayLike | str, with_figures: bool = True) -> Cells:
        """Judge placements: axle-to-block and crank height, mm, pitch in rad or a mode; 1-D arrays that broadcast to (N,)."""
        mode = pitch if isinstance(pitch, str) else None
        asked = np.broadcast_arrays(*(np.atleast_1d(np.asarray(value, dtype=float)) for value in (x, z, 0.0 if mode else pitch)))
        count = asked[0].size
        solved, pitches = np.zeros(count, dtype=bool), np.empty(count)
        states = np.zeros((len(self.claims), count), dtype=np.int8)
        margins = np.full((len(self.claims), count), np.nan)
        told: dict[str, np.ndarray] = {}
        with np.errstate(invalid="ignore", divide="ignore"):
            for start in range(0, count, AT_ONCE):
                part = slice(start, start + AT_ONCE)
                some: Any = mode or asked[2][part]
                scene, solved[part] = placing.spread(self.given, asked[0][part], asked[1][part], some)
                pitches[part] = scene.pitch
                many = Placements(self.car, scene)
                self._judge(many, solved[part], states[:, part], margins[:, part])
                for name, value in (figures.of(many, self.centre) if with_figures else {}).items():
                    told.setdefault(name, np.full(count, np.nan))[part] = np.where(solved[part], value, np.nan)
        return Cells(solved, pitches, told, states, margins)

    def _judge(self, many: Placements, solved: np.ndarray, states: np.ndarray, margins: np.ndarray) -> None:
        """Fill in what every claimed rule says of some placements."""
        read: dict[tuple, tuple[Reading, ...] | None] = {}
        for row, claim in enumerate(self.claims):
            rule = claim.rule
            key = rule.quantity, rule.settings
            if key not in read:
                many.settings = dict(rule.settings)
                read[key] = _readings(rule, many)
            worst, margins[row] = _verdict(rule, read[key], solved.shape)
            for facts, where in many.facts:
                applies, _why, question = conditions.applies(rule.when, facts)
                if applies:
                    said = np.where(worst == State.OPEN, State.ASKED, worst) if question else worst
                else:
                    said = np.full(solved.shape, State.NOT_EVALUATED if applies is None else State.NOT_APPLICABLE)
                states[row][where] = said[where]
            states[row][~solved] = State.NOT_EVALUATED
            margins[row][~solved] = np.nan


def _readings(rule: Rule, many: Placements) -> tuple[Reading, ...] | None:
    reads = QUANTITIES[rule.quantity].reads
    assert reads is not None
    try:
        return reads(many)
    except (NotEvaluated, ValueError):
        return None


def _verdict(rule: Rule, readings: Sequence[Reading] | None, shape: tuple[int, ...]) -> tuple[np.ndarray, np.ndarray]:
    """State and least margin of all that a rule reads: open where any value breaks it, not evaluated where any could not be told."""
    if readings is None:
        return np.full(shape, State.NOT_EVALUATED), np.full(shape, np.nan)
    broken, unknown = np.zeros(shape, dtype=bool), np.zeros(shape, dtype=bool)
    least = np.full(shape, np.nan)
    for reading in readings:
        try:
            found = comparing.margins(rule, reading)
        except NotEvaluated:
            unknown[:] = True
            continue
        unknown |= ~found.known
        broken |= found.known & ~found.good
        least = np.fmin(least, found.margin)
    if rule.to_confirm:
        return np.where(unknown, State.NOT_EVALUATED, State.ASKED), least
    return np.where(broken, State.OPEN, np.where(unknown, State.NOT_EVALUATED, State.HOLDS)), least


def _unit(kind: str, system: str | None) -> str:
    """The unit in which people read a kind in a car of this system."""
    inch, metric = units.READ_IN.get(kind, ("", ""))
    return (metric if system == "mm" else inch) or {"angle": "deg", "turning": "rpm"}.get(kind, "")


def length_of(car: model.Car) -> tuple[str, float]:
    """Unit of lengths that a car's window is told in, and its size in mm."""
    return ("mm", 1.0) if car.car.units == "mm" else ("in", units.INCH)


def placed(car: model.Car, x: float, z: float, pitch: float | str) -> model.Car:
    """The car with another placement."""
    mode, angle = (pitch, None) if isinstance(pitch, str) else ("fixed", float(pitch))
    changed: dict[str, Any] = dict(axle_to_block=float(x), crank_height=float(z), pitch_mode=mode, pitch=angle, shown=None)
    return replace(car, placement=replace(car.placement, **changed))


def own_pitch(car: model.Car) -> float | str:
    """The pitch of a car as it is asked for: an angle, or a mode. SceneError where it has none."""
    given = filled(car).placement
    if given.pitch_mode != "fixed":
        return str(given.pitch_mode)
    if given.pitch is None:
        raise SceneError(NO_PITCH)
    return float(given.pitch)
