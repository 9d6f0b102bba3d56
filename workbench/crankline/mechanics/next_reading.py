"""Which reading to take next: what settles a freedom that no reading determines, and what decides a figure that is not known closely
enough."""
from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .pose_fit import NORMAL_95, OF_POWERTRAIN, SCALE, Fit, Observation, blind_directions, predict


def settling(found: Fit, candidates: Sequence[Observation], base_drop: float) -> tuple[int, ...]:
    """Places of the fewest candidates that determine the powertrain, in the order in which each tells most; those before others count
    where several tell as much. Empty where nothing is missing; fewer than needed where no candidate tells of it."""
    blind = found.blind
    chosen: list[int] = []
    # What the rear end is taken to be says nothing sure of the powertrain.
    slopes = [predict([one], found.state, base_drop)[1][0] / one.sigma * SCALE for one in candidates]
    whole = [slope if not np.any(np.abs(slope[~found.free]) > 0.1) else np.zeros(10) for slope in slopes]
    while len(blind) and len(chosen) < len(candidates):
        told = np.array([0.0 if i in chosen else min(float(np.linalg.norm(blind @ slope)), 10.0) for i, slope in enumerate(whole)])
        if told.max(initial=0.0) <= 1.0:
            break
        best = int(np.argmax(told))
        chosen.append(best)
        blind = blind_directions((blind @ whole[best])[None, :]) @ blind
    return tuple(chosen)


def deciding(slope: np.ndarray, covariance: np.ndarray, state: np.ndarray, candidates: Sequence[Observation], enough: float,
             base_drop: float) -> tuple[int, float] | None:
    """(place of the candidate after which a figure is known best, 95 % half width that it then has); None where none makes it less than
    ``enough`` known. slope (10,): of the figure by the freedoms; covariance (10, 10); enough: half width that decides."""
    best: tuple[int, float] | None = None
    for i, one in enumerate(candidates):
        by = predict([one], state, base_drop)[1][0]
        spread = covariance @ by
        left = float(slope @ covariance @ slope) - float(slope @ spread) ** 2 / (one.sigma ** 2 + float(by @ spread))
        half = NORMAL_95 * float(np.sqrt(max(left, 0.0)))
        if best is None or half < best[1] - 1e-12:
            best = i, half
    return best if best is not None and best[1] < enough else None


def determined(found: Fit) -> bool:
    """Whether every freedom of the powertrain is."""
    return not float(np.sum(found.blind[:, OF_POWERTRAIN] ** 2)) > 1e-3
