"""Faces of straight lines from one side to the other, as the host lofts them between two outlines: what they are made of, and triangles of
one that nothing is cut out of, which the mesher need not be asked for. Needs the host.

Each side is a Bezier curve (L. Piegl, W. Tiller, The NURBS Book, 1997, 1.3).
"""
from __future__ import annotations

import math
from functools import cache
from typing import Any

import numpy as np

from ..mechanics.frames import dot

SAME = 1e-7
"""mm within which a corner of a face is one of its surface."""

OFF = 1e-3
"""mm within which an edge follows a side of its surface."""

MOST = 64
"""Strips beyond which a face is left to the mesher."""

LINES = 257
"""Straight lines that an edge is held against."""


def poles_of(surface: Any) -> np.ndarray | None:
    """Poles of both sides, (u, 2, 3), mm; None where a surface is no such one, or its sides are of several pieces."""
    if (surface.TypeId != "Part::GeomBSplineSurface" or surface.isURational() or surface.isVRational()
            or surface.VDegree != 1 or surface.NbVPoles != 2 or surface.NbUPoles != surface.UDegree + 1):
        return None
    return np.array([[tuple(pole) for pole in row] for row in surface.getPoles()])


def bend_and_twist(poles: np.ndarray) -> tuple[float, float]:
    """Bounds of the second derivative along the sides and of the mixed one, mm, parameters from 0 to 1: derivatives of a Bezier curve are
    in the hull of the differences of its poles."""
    degree, steps = len(poles) - 1, poles[1:] - poles[:-1]
    twist = degree * _longest(steps[:, 1] - steps[:, 0])
    bend = degree * (degree - 1) * _longest(steps[1:] - steps[:-1]) if degree > 1 else 0.0
    return bend, twist


def _longest(vectors: np.ndarray) -> float:
    return math.sqrt(float(dot(vectors, vectors).max()))


def points_at(poles: np.ndarray, count: int) -> np.ndarray:
    """Points of both sides at so many equal steps of the parameter, (count, 2, 3)."""
    return np.einsum("ri,ivx->rvx", _weights(len(poles) - 1, count), poles)


@cache
def _weights(degree: int, count: int) -> np.ndarray:
    """Bernstein polynomials, (count, degree + 1)."""
    at = np.linspace(0.0, 1.0, count)
    return np.array([math.comb(degree, i) * at ** i * (1.0 - at) ** (degree - i) for i in range(degree + 1)]).T


def triangles(face: Any, surface: Any, allowed: float) -> tuple[np.ndarray, float] | None:
    """(triangles (t, 3, 3), how far the face may stand off them, mm, about as allowed) of a face that is the whole of its surface; None
    where it is not shown to be, or would take too many."""
    poles = poles_of(surface)
    if poles is None or len(face.Edges) != 4 or len(face.Wires) != 1:
        return None
    corners = poles[[0, 0, -1, -1], [0, 1, 1, 0]]
    found = np.array([tuple(vertex.Point) for vertex in face.Vertexes])
    if len(found) != 4:
        return None
    reach = corners[:, None] - found[None]
    away = np.sqrt(dot(reach, reach))
    # Each corner is one of the face's own.
    if away.min(axis=1).max() > SAME or len(set(away.argmin(axis=1).tolist())) < 4:
        return None
    off = 0.0
    if len(poles) > 2:
        own = np.array([point for edge in face.Edges for point in _points_of(edge)]).reshape(-1, 3)
        off = _from_sides(own, points_at(poles, LINES)) if len(own) else 0.0
        if off > OFF:
            return None
    bend, twist = bend_and_twist(poles)
    strips = max(1, math.ceil((twist + math.sqrt(twist * twist + 8.0 * allowed * bend)) / (8.0 * allowed)))
    if strips > MOST:
        return None
    points = points_at(poles, strips + 1)
    one, other = points[:, 0], points[:, 1]
    made = np.empty((2, strips, 3, 3))
    made[0, :, 0], made[0, :, 1], made[0, :, 2] = one[:-1], other[:-1], one[1:]
    made[1, :, 0], made[1, :, 1], made[1, :, 2] = other[:-1], other[1:], one[1:]
    made = made.reshape(-1, 3, 3)
    return made, (bend / strips + 2.0 * twist) / (8.0 * strips) + 2.0 * off


def _points_of(edge: Any) -> list[tuple[float, float, float]]:
    """Some points of an edge that is not straight."""
    curve = edge.Curve
    if curve.TypeId == "Part::GeomLine" or (curve.TypeId in ("Part::GeomBSplineCurve", "Part::GeomBezierCurve") and curve.NbPoles == 2):
        return []
    first, last = edge.ParameterRange
    return [tuple(curve.value(first + share * (last - first))) for share in (0.2, 0.5, 0.8)]


def _from_sides(points: np.ndarray, sides: np.ndarray) -> float:
    """How far points (n, 3) are off the nearer of both sides, (m, 2, 3), at most: off the chords beside the nearest of its points. inf
    where one is farther from that than two of them are apart."""
    reach = points[:, None, None] - sides
    squares = dot(reach, reach).reshape(len(points), -1)
    nearest = squares.argmin(axis=1)
    steps = sides[1:] - sides[:-1]
    # Between two of the points a side runs straight but for its sag.
    if squares.min(axis=1).max() > dot(steps, steps).max():
        return math.inf
    row, side = np.divmod(nearest, 2)
    chords = np.stack([np.maximum(row - 1, 0), np.minimum(row, len(steps) - 1)])
    start, step = sides[chords, side], steps[chords, side]
    away, length = points - start, dot(step, step)
    share = np.minimum(np.maximum(dot(away, step) / np.where(length > 0.0, length, 1.0), 0.0), 1.0)
    away = away - share[..., None] * step
    return math.sqrt(float(dot(away, away).min(axis=0).max()))
