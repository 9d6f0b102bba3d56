"""Points along edges and along the sides of faces, and how far smooth curves stand off the chords between them. Needs the host."""
from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np

from . import plain_face, ruled_face

POINTS, MORE = 65, 257
"""Points at which an edge is looked at, and where these are too few to tell."""

LINES = 257
"""Straight lines that a face is taken for that is twisted between two straight sides."""


def sides_of(face: Any, move: Any) -> tuple[np.ndarray, np.ndarray] | None:
    """Points along both sides of a face of straight lines from one to the other, as bent sheet and what is ruled between two outlines are:
    (n, 3) each, beside each other. None for other surfaces of splines and for what is none."""
    poles = ruled_face.poles_of(face.Surface)
    if poles is None:
        return None
    points = moved(ruled_face.points_at(poles, POINTS if len(poles) > 2 else LINES), move)
    return points[:, 0], points[:, 1]


def sag(points: np.ndarray) -> float:
    """What a smooth curve given by an odd number of points stands off its chords, as half as many of them show: between these it stands as
    far off, between all of them a quarter of it."""
    off = points[1:-1:2] - 0.5 * (points[:-2:2] + points[2::2])
    return math.sqrt(float(np.einsum("ni,ni->n", off, off).max(initial=0.0))) / 4.0


def along(edge: Any, straight: bool, points: int = POINTS) -> np.ndarray:
    """So many points along an edge; straight: whether three do for a straight one."""
    curve = edge.Curve
    if curve.TypeId == "Part::GeomCircle":
        return plain_face.arc_of(edge, curve).points(points - 1)
    first, last = edge.ParameterRange
    count = 3 if straight and curve.TypeId == "Part::GeomLine" else points
    value: Callable = curve.value
    return np.array([tuple(value(first + share * (last - first))) for share in np.linspace(0.0, 1.0, count).tolist()])


def moved(points: np.ndarray, move: Any) -> np.ndarray:
    """Points (..., 3) after a motion, a placement of the host."""
    pose = np.array(move.toMatrix().A).reshape(4, 4)
    return points @ pose[:3, :3].T + pose[:3, 3]
