"""Locally weighted linear regression with an interval from leave-one-out errors; numpy only, plain arrays.

W. S. Cleveland, "Robust locally weighted regression and smoothing scatterplots", JASA 74 (1979): tricube weights, a linear fit about the
point that is asked for. The slopes are held back by a ridge (Hoerl and Kennard, Technometrics 12, 1970), the level is not. Intervals:
R. F. Barber, E. J. Candes, A. Ramdas, R. J. Tibshirani, "Predictive inference with the jackknife+", Annals of Statistics 49 (2021), here
the plain jackknife with errors in proportion to what the fit itself adds to the scatter, so that it is wider where records are few.
"""
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

NEIGHBORS, REACH = 40, 1.5
"""A record weighs nothing at this many times the distance of the so-manieth nearest one."""
RIDGE = 0.3
"""What holds each slope back: as so many records, one spread off, that say it is 0."""


def weights(distances: np.ndarray, neighbors: int = NEIGHBORS, reach: float = REACH) -> np.ndarray:
    """Tricube weights of records at distances (q, n) from q points; an infinite distance is a record that is left out."""
    finite = np.isfinite(distances)
    ordered = np.sort(np.where(finite, distances, np.inf), axis=1)
    last = np.minimum(neighbors, finite.sum(axis=1)) - 1
    bound = reach * ordered[np.arange(len(ordered)), np.maximum(last, 0)]
    # Where all are at one and the same point, each weighs 1.
    share = np.divide(np.where(finite, distances, 0.0), bound[:, None], out=np.zeros_like(distances), where=bound[:, None] > 0.0)
    return np.where(finite, np.clip(1.0 - share ** 3, 0.0, None) ** 3, 0.0)


def rows(design: np.ndarray, weight: np.ndarray, points: np.ndarray, ridge: float = RIDGE) -> np.ndarray:
    """What each record counts for in the fit at each point: (q, n), so that estimates are ``rows @ y``.

    design: (n, p) of the records, without a column of ones; weight: (q, n); points: (q, p), the same columns where it is asked for.
    """
    full, at = (np.hstack([np.ones((len(one), 1)), one]) for one in (design, points))
    held = np.diag([0.0] + [ridge] * design.shape[1])
    normal = np.einsum("qi,ij,ik->qjk", weight, full, full, optimize=True) + held
    return np.einsum("qj,ij,qi->qi", np.linalg.solve(normal, at[..., None])[..., 0], full, weight, optimize=True)


@dataclass(frozen=True)
class Interval:
    """An estimate with the interval in which the truth is with the probability ``share``; ``effective``: records that it rests on, the
    inverse of the sum of squares of what each counts for."""
    value: float
    low: float
    high: float
    share: float
    effective: float


def leave_one_out(design: np.ndarray, distances: np.ndarray, y: np.ndarray, trust: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(error of each record as the others estimate it, what the fit adds to its variance): the shape of y, and (n,).

    distances: (n, n) between the records; y: (n,) or (n, m), a record with nan in it is left out and its error is nan; trust: (n,), by
    which each one's weight is multiplied. The second is the sum of squares of what each of the others counts for.
    """
    known = np.isfinite(y).reshape(len(y), -1).all(axis=1)
    apart = np.where(known[None, :] & ~np.eye(len(y), dtype=bool), distances, np.inf)
    found = rows(design, weights(apart) * trust, design)
    filled = np.where(np.isfinite(y), y, 0.0)
    return y - found @ filled, (found ** 2).sum(axis=1)


def intervals(design: np.ndarray, distances: np.ndarray, y: np.ndarray, trust: np.ndarray, point: np.ndarray, away: np.ndarray,
              share: float = 0.8) -> tuple[Interval, ...]:
    """The estimate of each column of y (n, m), without nan, at a point (p,) that is ``away`` (n,) from the records."""
    found = rows(design, weights(away[None, :]) * trust, point[None, :])[0]
    error, added = leave_one_out(design, distances, y, trust)
    scores = np.sort(np.abs(error) / np.sqrt(1.0 + added)[:, None], axis=0)
    spread = float((found ** 2).sum())
    # Between the two errors nearest to the place of the share among one more than there are.
    place = share * (len(scores) + 1) - 1.0
    halves = [float(np.interp(place, np.arange(len(scores)), column)) * math.sqrt(1.0 + spread) for column in scores.T]
    return tuple(Interval(value, value - half, value + half, share, 1.0 / spread) for value, half in zip((found @ y).tolist(), halves))
