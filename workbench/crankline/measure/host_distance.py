"""The host's exact distance of two shapes. Needs the host."""
from __future__ import annotations

from typing import Any

from .clearance import Point
from .kept import Kept


def host_distance(a: Any, b: Any, kept: Kept) -> tuple[float, tuple[Point, Point]]:
    """The host's exact distance of two shapes and the two points."""
    kept.distances += 1
    distance, pairs, _where = a.distToShape(b)
    # Several points may be equally near; the order in which the host finds them is its own.
    points = min(((tuple(p), tuple(q)) for p, q in pairs), key=lambda pair: tuple(round(x, 6) for point in pair for x in point))
    return distance, points
