"""What a measurement of two bodies says: apart, in contact, overlapping or one inside the other, how far or deep, and where."""
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

APART, CONTACT, PENETRATION, INSIDE = "apart", "contact", "penetration", "inside"

Point = tuple[float, float, float]


@dataclass(frozen=True)
class Clearance:
    """Where two bodies come nearest, mm, car frame. distance: negative = depth, tubes taken as bars: how deep one enters the other's tube
    (``tube_entry``), else the thickness of what they have in common (estimated, ``overlap_depth``). points: on the surfaces of a and b; for
    an overlap those nearest to a point in it. basis: what the depth is told from."""
    a: str
    b: str
    kind: str
    distance: float
    points: tuple[Point, Point]
    basis: str = ""

    @property
    def depth(self) -> float:
        """Depth of an overlap, 0 where there is none."""
        return max(-self.distance, 0.0)

    def moved(self, transform: np.ndarray) -> Clearance:
        """The same in another frame; transform: (4, 4) to it."""
        return Clearance(self.a, self.b, self.kind, self.distance, self._points(transform), self.basis)

    def told_of(self, a: str, b: str) -> Clearance:
        """The same of bodies of other names."""
        return Clearance(a, b, self.kind, self.distance, self.points, self.basis)

    def _points(self, transform: np.ndarray) -> tuple[Point, Point]:
        first, second = (transform[:3, :3] @ np.array(point) + transform[:3, 3] for point in self.points)
        return (float(first[0]), float(first[1]), float(first[2])), (float(second[0]), float(second[1]), float(second[2]))


def first_of(places: tuple[np.ndarray, np.ndarray], pose: np.ndarray) -> tuple[Point, Point]:
    """Of places on two bodies that are as far apart, two times (n, 3), those that come first in the car frame; pose: (4, 4), to it."""
    pairs = np.stack(places, axis=1) @ pose[:3, :3].T + pose[:3, 3]
    # To the micron: which is the least would hang on rounding.
    one, two = min(pairs.tolist(), key=lambda pair: [round(value, 6) for place in pair for value in place])
    return (one[0], one[1], one[2]), (two[0], two[1], two[2])
