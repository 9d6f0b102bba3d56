"""Readings that cannot be right: found by a second, robust pass over a fit, and recognized where the slip is a common one.

The pass is iterative data snooping (W. Baarda, *A testing procedure for use in geodetic networks*, 1968): the residual of each reading by
its own standard deviation; the largest is set aside if one good reading in a thousand would be so far off, and all is fitted again.
Readings that explain the misfit equally well are set aside together: which of them is wrong is not known.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..units import INCH
from .pose_fit import NORMAL_95, SCALE, Fit, Observation, fit, nominal, predict

CRITICAL = 3.2905
"""Two-sided 0.1 % point of the standard normal distribution (Baarda's usual choice)."""
TIED = 4.0
"""Squares of two standardized residuals that differ by less explain the misfit equally well (likelihood ratio below e^2)."""
ALIKE = 3.0
"""Standard deviations within which a slip explains a reading."""
FAR_OFF = {"plane": 150.0, "distance": 150.0, "angle": float(np.radians(10.0))}
"""How far from where it should be nobody builds a powertrain, mm and rad: readings that say so are looked at last."""


@dataclass(frozen=True)
class Slip:
    """What was probably done, and what the reading is then."""
    words: str
    value: float


@dataclass(frozen=True)
class Suspect:
    """A reading set aside: its place, what the others say it should be and how surely (95 %, either way), its standardized residual, slips
    that explain it, the likeliest first, and places of readings that may be wrong in its stead."""
    place: int
    expected: float
    within: float
    size: float
    slips: tuple[Slip, ...]
    rivals: tuple[int, ...] = ()


def examined(observations: Sequence[Observation], values: np.ndarray, start: np.ndarray, base_drop: float,
             mistaken: Sequence[Sequence[tuple[str, Observation]]]) -> tuple[Fit, tuple[Suspect, ...]]:
    """(the fit without what cannot be right, the readings that were set aside). values (n,); mistaken: of each reading what it is where it
    was taken from another face (words, the reading as it then is)."""
    values = np.asarray(values, dtype=float)
    there = predict(observations, start, base_drop)[0]
    off = np.abs(values - there)
    used = np.array([one <= FAR_OFF[observation.how] for one, observation in zip(off, observations)], dtype=bool)
    if 2 * int(used.sum()) < len(used):
        used[:] = True
    far = tuple(int(i) for i in np.flatnonzero(~used))
    found = fit(observations, values, start, base_drop, used)
    for i in far:
        if abs(_standardized(found, observations, i)) < CRITICAL and _told(found, i):
            used[i] = True
    groups: list[tuple[int, ...]] = [(i,) for i in far if not used[i]]
    while True:
        found = fit(observations, values, start, base_drop, used)
        tied = _largest(found, observations, used)
        if not tied:
            break
        groups.append(tied)
        used[list(tied)] = False
        if len(tied) > 1:
            # A slip that explains one of them decides which it is.
            sure = [i for i in tied if _slips(_without(observations, values, start, base_drop, used, tied, i), observations, values,
                                              mistaken, i, base_drop)]
            if len(sure) == 1:
                groups[-1] = (sure[0],)
                used[[i for i in tied if i != sure[0]]] = True
    suspects = [_suspect(found, observations, values, mistaken, i, tuple(j for j in group if j != i), base_drop)
                for group in groups for i in group]
    return found, tuple(sorted(suspects, key=lambda one: one.place))


def _without(observations: Sequence[Observation], values: np.ndarray, start: np.ndarray, base_drop: float, used: np.ndarray,
             tied: tuple[int, ...], place: int) -> Fit:
    """The fit of all but one reading of those that are tied."""
    some = used.copy()
    some[[i for i in tied if i != place]] = True
    return fit(observations, values, start, base_drop, some)


def _largest(found: Fit, observations: Sequence[Observation], used: np.ndarray) -> tuple[int, ...]:
    """Places of the reading that is least to be believed and of those that explain its misfit as well; none where all may be."""
    sizes = np.array([abs(_standardized(found, observations, i)) if used[i] and found.used[i] and found.checked[i] > 1e-3 else 0.0
                      for i in range(len(observations))])
    if not sizes.size or sizes.max() < CRITICAL:
        return ()
    top = sizes.max()
    return tuple(int(i) for i in np.flatnonzero((top ** 2 - sizes ** 2 < TIED) & (sizes > CRITICAL)))


def _standardized(found: Fit, observations: Sequence[Observation], i: int) -> float:
    """Residual by its own standard deviation: of a reading in the fit less than its own, of one outside more."""
    sigma = observations[i].sigma
    spread = sigma * np.sqrt(max(float(found.checked[i]), 1e-12)) if found.used[i] else np.hypot(sigma, _unsure(found, i))
    return float(found.residual[i]) / float(spread)


def _unsure(found: Fit, i: int) -> float:
    """Standard deviation of what the fit says a reading should be; what the fit does not determine counts as ``SCALE``."""
    slope = found.slopes[i]
    spread = slope @ found.covariance @ slope + float(np.sum(((found.blind * SCALE) @ slope) ** 2))
    spread += float(np.sum((slope * SCALE * ~found.free) ** 2))
    return float(np.sqrt(spread))


def _told(found: Fit, i: int) -> bool:
    """Whether the fit tells what a reading should be."""
    return float(np.sum(((found.blind * SCALE) @ found.slopes[i]) ** 2)) < 1.0


def _suspect(found: Fit, observations: Sequence[Observation], values: np.ndarray, mistaken: Sequence[Sequence[tuple[str, Observation]]],
             i: int, rivals: tuple[int, ...], base_drop: float) -> Suspect:
    return Suspect(i, float(found.predicted[i]), NORMAL_95 * _unsure(found, i), abs(_standardized(found, observations, i)),
                   _slips(found, observations, values, mistaken, i, base_drop), rivals)


def _slips(found: Fit, observations: Sequence[Observation], values: np.ndarray, mistaken: Sequence[Sequence[tuple[str, Observation]]],
           i: int, base_drop: float) -> tuple[Slip, ...]:
    """Slips that explain a reading that takes no part in a fit, the likeliest first."""
    one, value, expected = observations[i], float(values[i]), float(found.predicted[i])
    tried = [Slip("the sign is the other way", -value)]
    if one.how == "angle":
        tried.append(Slip("read from plumb, not from level", float(np.copysign(np.pi / 2.0 - abs(value), value))))
    else:
        tried += [Slip("inches written as millimeters", value * INCH), Slip("millimeters written as inches", value / INCH),
                  Slip("the tape was held at its 1 in mark and the inch not taken off", value - INCH),
                  Slip("read a foot too long", value - 12.0 * INCH), Slip("read a foot too short", value + 12.0 * INCH)]
    for words, other in mistaken[i]:
        # Where the other face is follows from the same fit.
        tried.append(Slip(words, value - (nominal(other, found.state, base_drop) - expected)))
    spread = float(np.hypot(one.sigma, _unsure(found, i)))
    kept = [(abs(slip.value - expected) / spread, slip) for slip in tried]
    return tuple(slip for size, slip in sorted(kept, key=lambda pair: pair[0]) if size < ALIKE)
