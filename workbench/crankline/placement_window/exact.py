"""The border of what is allowed by the whole check of a made car, clearances too, along the four ways out of one placement: by bisection,
since each place costs a document and its check. Asked for, never waited for.
"""
from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from .. import model
from .cells import placed
from .point import Point
from .region import SIDES
from .window import Window

TOLERANCE = 1.0
"""How closely the border is found, mm: no chassis is built closer."""

Opened = Callable[[model.Car], tuple[str, ...]]
"""A car to the ids of the rules that are open in its check, at the level of the window; sorted."""


@dataclass(frozen=True)
class Way:
    """One way out of a placement. last: axle-to-block and crank height, mm, of the last place that was found good; rules: what is open just
    beyond it, empty where all is good to the end of the window."""
    side: str
    last: tuple[float, float]
    rules: tuple[str, ...]


def ways(window: Window, start: Point, opened: Opened, tolerance: float = TOLERANCE) -> tuple[Way, ...]:
    """The four ways out of a placement that is itself good (it is not asked again), each to where the check first has something open.

    Between good and bad ends a bisection finds one border; where there are several along the way, one of them.
    """
    found = []
    for side, (dx, dz) in SIDES.items():
        ends = {"rear": window.x[0], "front": window.x[-1], "low": window.z[0], "high": window.z[-1]}
        good = np.array([start.x, start.z])
        bad = np.array([ends[side] if dx else start.x, ends[side] if dz else start.z])
        beyond = opened(placed(window.car, bad[0], bad[1], start.pitch))
        if not beyond or np.allclose(good, bad):
            found.append(Way(side, (float(bad[0]), float(bad[1])), ()))
            continue
        while np.abs(bad - good).max() > tolerance:
            middle = 0.5 * (good + bad)
            rules = opened(placed(window.car, middle[0], middle[1], start.pitch))
            good, bad, beyond = (good, middle, rules) if rules else (middle, bad, beyond)
        found.append(Way(side, (float(good[0]), float(good[1])), beyond))
    return tuple(found)
