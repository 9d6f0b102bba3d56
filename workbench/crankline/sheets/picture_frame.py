"""How a view looks at the car: axes of the picture in the car frame, and the views that drawings have. Numpy only.

Third angle: a view from the right stands below the one from above and to the left of the one from the front.
"""
from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np


@dataclass(frozen=True)
class Frame:
    """How a view looks at the car. right, up: unit vectors of the picture in the car frame, square to each other; the eye is at
    ``toward`` = right x up. origin: the car point in the picture's origin. Picture coordinates are mm in the car."""
    right: tuple[float, float, float]
    up: tuple[float, float, float]
    origin: tuple[float, float, float] = (0.0, 0.0, 0.0)

    @cached_property
    def axes(self) -> np.ndarray:
        """(3, 3): rows right, up, toward the eye."""
        right, up = np.array(self.right, float), np.array(self.up, float)
        return np.array([right, up, np.cross(right, up)])

    def seen(self, points: Any) -> np.ndarray:
        """Car points (..., 3) as right, up and nearness to the eye."""
        return (np.asarray(points, float) - self.origin) @ self.axes.T

    def at(self, point: Any) -> tuple[float, float]:
        """A car point in the picture."""
        x, y, _ = self.seen(point)
        return float(x), float(y)


SIDE = Frame((1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
"""From the car's right side: front to the right."""
LEFT_SIDE = Frame((-1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
PLAN = Frame((1.0, 0.0, 0.0), (0.0, 1.0, 0.0))
"""From above: front to the right, the car's left side up."""
FRONT = Frame((0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
"""From the front: the car's left side to the right."""
REAR = Frame((0.0, -1.0, 0.0), (0.0, 0.0, 1.0))


def looking(toward: tuple[float, float, float], up: tuple[float, float, float] = (0.0, 0.0, 1.0),
            origin: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> Frame:
    """The frame of an eye in a direction from the car, with a direction that is up as far as it is seen. ValueError where both are one."""
    eye, high = np.array(toward, float), np.array(up, float)
    eye /= np.linalg.norm(eye)
    right = np.cross(high, eye)
    if np.linalg.norm(right) < 1e-9:
        raise ValueError("view: up and the direction of view are the same; give another direction that is up")
    right /= np.linalg.norm(right)
    (rx, ry, rz), (ux, uy, uz) = right.tolist(), np.cross(eye, right).tolist()
    return Frame((rx, ry, rz), (ux, uy, uz), origin)


ISOMETRIC = looking((1.0, -1.0, 1.0))
"""From the front, the right side and above, all axes shortened alike (ISO 5456-3)."""
