"""Points along edges and along the sides of faces, and how far smooth curves stand off the chords between them. Needs the host."""
from __future__ import annotations

import math
from typing import Any

import numpy as np

from ..mechanics.frames import dot

FEW, POINTS, MORE = 3, 65, 257
"""Points at which an edge is looked at: a straight one, others, and where these are too few to tell."""


def sag(points: np.ndarray) -> np.ndarray:
    """What a smooth curve given by an odd number of points, (..., n, 3), stands off its chords, as half as many of them show, (...):
    between these it stands as far off, between all of them a quarter of it."""
    off = points[..., 1:-1:2, :] - 0.5 * (points[..., :-2:2, :] + points[..., 2::2, :])
    return np.asarray(np.sqrt(dot(off, off).max(axis=-1)) / 4.0)


def along(edge: Any, curve: Any, straight: int, points: int = POINTS) -> np.ndarray:
    """So many points along an edge; straight: how many along one on a line."""
    first, last = edge.ParameterRange
    if curve.TypeId in ("Part::GeomCircle", "Part::GeomEllipse"):
        center = curve.Center
        start, quarter = (np.array(tuple(curve.value(at) - center)) for at in (first, first + 0.5 * math.pi))
        turn = np.arange(points)[:, None] * ((last - first) / (points - 1))
        return np.array(tuple(center)) + np.cos(turn) * start + np.sin(turn) * quarter
    if curve.TypeId == "Part::GeomLine":
        one, other = np.array(tuple(curve.value(first))), np.array(tuple(curve.value(last)))
        return one + np.arange(straight)[:, None] / (straight - 1) * (other - one)
    return np.array([tuple(curve.value(at)) for at in np.linspace(first, last, points).tolist()])
