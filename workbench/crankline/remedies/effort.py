"""What a try of a remedy costs, counted and not timed: the same car gets the same remedies on every machine.

In hundredths of a second of one processor, as measured once: what is built, what the host measures and intersects for it, and the
rest of the rule by its quantity.
"""
from __future__ import annotations

from ..measure.measurer import Measurer

TRY = {"released_shaft_over_floor": 5, "released_shaft_over_track": 5, "released_shaft_to_driver": 5, "enclosure_supports": 30,
       "loop_closed_angle": 8, "shaft_radial_clearance": 10}
"""Effort of one try by quantity, 1 for all others, apart from what is counted besides."""

DISTANCE, BOOLEAN = 1, 10
"""Effort of an exact distance and of an intersection."""


def host_calls(measurer: Measurer | None) -> tuple[int, int]:
    """Distances and intersections that the host was asked for by a measurer so far."""
    kept = getattr(measurer, "kept", None)
    return (0, 0) if kept is None else (kept.distances, kept.booleans)


class Meter:
    """Effort spent on tries. measurer: the one that they measure with."""

    def __init__(self, measurer: Measurer | None):
        self._measurer, self.spent = measurer, 0
        self._calls = host_calls(measurer)

    def add(self, quantity: str, built: int) -> None:
        """A try was made: of this quantity, with so much built, and whatever the host was asked since the last one."""
        distances, booleans = host_calls(self._measurer)
        self.spent += TRY.get(quantity, 1) + built + DISTANCE * (distances - self._calls[0]) + BOOLEAN * (booleans - self._calls[1])
        self._calls = distances, booleans
