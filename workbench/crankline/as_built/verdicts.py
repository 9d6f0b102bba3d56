"""What passes where the powertrain really is, and how surely.

A rule that follows from numbers gets an interval: its margin at the placement as built and at the ends, 95 % either way, of each principal
axis of the covariance, steps of one sign added as squares (first order along each axis; a kink, such as of two angles that are to be
equal, counts on its own side). It passes surely, fails surely, or is undecided, with the reading that would decide it. What is measured
on shapes was looked at where the powertrain stands as fitted, and nowhere else: nothing more is said of it. A rule from memory decides
nothing. What was not measured of the rear end counts as within the set-up sheet's tolerances.
"""
from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..checks.evaluate import evaluate
from ..checks.finding import Finding, State
from ..mechanics import next_reading, sighting
from ..mechanics import scene as scenes
from ..mechanics.pose_fit import NORMAL_95, SCALE, Observation
from ..mechanics.scene import SceneError
from ..record import filled
from ..rules import rule_sets
from ..rules.quantity import QUANTITIES
from ..rules.rule import Rule
from ..snapshot import PartView, Snapshot
from .fitted import Fitted, record_of, shown
from .readings import points_of

PASSES, FAILS, UNDECIDED, HERE, CONFIRM, UNKNOWN = ("passes surely", "fails surely", "undecided", "at the fitted placement only",
                                                    "from memory, to be confirmed", "not evaluated")
FINER = 6.0
"""By how much better the best tools of a shop read than its usual ones: height gauge, machinist's level (common practice, no source)."""


@dataclass(frozen=True)
class FittedFinding:
    """A finding at the placement as built and how surely it holds. measured, margin: 95 % interval, in the finding's unit; None where it
    has no number. decides: the reading that would decide it, in words; hangs: whether it hangs on where the powertrain is at all."""
    finding: Finding
    verdict: str
    measured: tuple[float, float] | None = None
    margin: tuple[float, float] | None = None
    decides: str = ""
    hangs: bool = False


def from_numbers(rules: Iterable[Rule]) -> tuple[Rule, ...]:
    """Those of some rules that follow from numbers alone."""
    return tuple(rule for rule in rules if not QUANTITIES[rule.quantity].effort)


def of(fitted: Fitted, findings: Sequence[Finding] | None = None, parts: Iterable[PartView] = (),
       event_date: datetime.date | None = None, rule_files: Iterable[str] = ()) -> tuple[FittedFinding, ...]:
    """Findings at the placement as built, each with how surely it holds. findings: of a check of the car as built, with all that was
    measured on shapes; absent: only what follows from numbers. parts: those of that car. What does not apply is left out. RuleError or
    SourceError with one sentence."""
    car = fitted.as_built
    selection = rule_sets.select(filled(car).rules.sets, rule_files)
    rules = from_numbers(selection.rules)
    parts = tuple(parts)
    snapshot = Snapshot(car, scenes.of(car), parts)
    here = evaluate(rules, snapshot, None, event_date, selection)
    numbers = {one.id: one for one in here}
    told = {one.rule for one in here if one.state not in (State.NOT_APPLICABLE, State.NOT_EVALUATED) and not one.to_confirm}
    rules = tuple(rule for rule in rules if rule.id in told)
    axes, ends = _axes(fitted)
    around = [[_at(fitted, fitted.fit.state + sign * step, rules, parts, event_date, selection) for sign in (-1.0, 1.0)] for step in ends]
    offered = _offered(fitted)
    found = []
    for one in here if findings is None else findings:
        if one.state == State.NOT_APPLICABLE:
            continue
        if one.state == State.NOT_EVALUATED:
            found.append(FittedFinding(one, UNKNOWN))
        elif one.to_confirm:
            found.append(FittedFinding(one, CONFIRM))
        elif one.id not in numbers:
            found.append(FittedFinding(one, HERE))
        else:
            found.append(_verdict(one, numbers[one.id], [[side.get(one.id) for side in pair] for pair in around], axes, fitted, offered))
    return tuple(found)


def _axes(fitted: Fitted) -> tuple[np.ndarray, np.ndarray]:
    """(slopes of the freedoms by steps (k, 10): a figure's change along each end, times these, is its slope; ends (k, 10) of the principal
    axes, 95 % either way)."""
    scaled = fitted.covariance / SCALE / SCALE[:, None]
    variance, vectors = np.linalg.eigh(scaled)
    seen = variance > 1e-12
    spread = NORMAL_95 * np.sqrt(variance[seen])
    return vectors.T[seen] / spread[:, None] / SCALE, vectors.T[seen] * spread[:, None] * SCALE


def _at(fitted: Fitted, state: np.ndarray, rules: tuple[Rule, ...], parts: tuple[PartView, ...], day: datetime.date | None,
        selection: rule_sets.Selection) -> dict[str, Finding]:
    """Finding by id at a placement; none where there is no such placement."""
    car = shown(fitted.car, record_of(state, np.ones(10, dtype=bool)))
    try:
        scene = scenes.of(car)
    except SceneError:
        return {}
    return {one.id: one for one in evaluate(rules, Snapshot(car, scene, parts), None, day, selection)}


def _verdict(told: Finding, one: Finding, around: list[list[Finding | None]], axes: np.ndarray, fitted: Fitted,
             offered: list[tuple[str, list[Observation]]]) -> FittedFinding:
    """told: the finding with its waiver; one: as measured here."""
    if any(other is None or other.state == State.NOT_EVALUATED for pair in around for other in pair):
        return FittedFinding(told, UNDECIDED, decides=_asked(fitted), hangs=True)
    pairs = [(low, high) for low, high in around if low is not None and high is not None]
    if one.margin is None or any(other.margin is None or other.unit != one.unit for pair in pairs for other in pair):
        same = all(other.state == one.state for pair in pairs for other in pair)
        verdict = UNDECIDED if not same else PASSES if one.state == State.PASSED else FAILS
        return FittedFinding(told, verdict, decides="" if same else _asked(fitted), hangs=not same)
    margin = _interval(one.margin, [(float(low.margin or 0.0), float(high.margin or 0.0)) for low, high in pairs])
    measured = None
    if one.measured is not None:
        measured = _interval(one.measured, [(float(low.measured or 0.0), float(high.measured or 0.0)) for low, high in pairs])
    tolerance = max(one.tolerance, 1e-9)
    hangs = margin[1] - margin[0] > 2.0 * tolerance
    verdict = PASSES if margin[0] >= -tolerance else FAILS if margin[1] < -tolerance else UNDECIDED
    decides = ""
    if verdict == UNDECIDED:
        rises = np.array([(float(high.margin or 0.0) - float(low.margin or 0.0)) / 2.0 for low, high in pairs])
        decides = _deciding(rises @ axes, abs(one.margin), fitted, offered)
    return FittedFinding(told, verdict, measured, margin, decides, hangs)


def _interval(here: float, around: list[tuple[float, float]]) -> tuple[float, float]:
    """95 % interval of a figure from its values at both ends of each axis."""
    down = np.array([max(0.0, here - min(pair)) for pair in around])
    up = np.array([max(0.0, max(pair) - here) for pair in around])
    return float(here - np.sqrt(np.sum(down ** 2))), float(here + np.sqrt(np.sum(up ** 2)))


def _offered(fitted: Fitted) -> list[tuple[str, list[Observation]]]:
    """Readings that may be asked for: (words, with usual tools and with the best ones)."""
    points = points_of(fitted.car, fitted.wanted, fitted.readings.points)
    return [(sighting.words(sight, points), [one, replace(one, sigma=one.sigma / FINER)])
            for sight, one in sighting.settling(points, fitted.wanted)]


def _deciding(slope: np.ndarray, enough: float, fitted: Fitted, offered: list[tuple[str, list[Observation]]]) -> str:
    """The reading that would decide a figure as it now stands."""
    if fitted.lost:
        return _asked(fitted)
    for tier, tool in enumerate((", once more", ", with height gauge or machinist level")):
        candidates = [observations[tier] for _words, observations in offered]
        best = next_reading.deciding(slope, fitted.covariance, fitted.fit.state, candidates, enough, float(fitted.wanted.engine.base_drop))
        if best is not None:
            return offered[best[0]][0] + tool
    return "no single reading: it is too near its limit"


def _asked(fitted: Fitted) -> str:
    return "; ".join(fitted.asked) or "all readings again, with better tools"
