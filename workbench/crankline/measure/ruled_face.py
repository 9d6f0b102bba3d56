"""Faces of straight lines from one side to the other, as the host lofts them between two outlines: what they are made of, and triangles of
one that nothing is cut out of, which the mesher need not be asked for. Needs the host.

Each side is a Bezier curve (L. Piegl, W. Tiller, The NURBS Book, 1997, 1.3).
"""
from __future__ import annotations

import math
from functools import cache
from typing import Any

import numpy as np

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
    degree = len(poles) - 1
    twist = degree * float(np.linalg.norm(np.diff(poles[:, 1] - poles[:, 0], axis=0), axis=-1).max())
    bend = degree * (degree - 1) * float(np.linalg.norm(np.diff(poles, 2, axis=0), axis=-1).max()) if degree > 1 else 0.0
    return bend, twist


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
    away = np.linalg.norm(corners[:, None] - found[None], axis=-1)
    # Each corner is one of the face's own.
    if away.min(axis=1).max() > SAME or len(set(away.argmin(axis=1).tolist())) < 4:
        return None
    off = 0.0
    if len(poles) > 2:
        sides = points_at(poles, LINES)
        for edge in face.Edges:
            first, last = edge.ParameterRange
            curve = edge.Curve
            if curve.TypeId == "Part::GeomLine" or (curve.TypeId in ("Part::GeomBSplineCurve", "Part::GeomBezierCurve")
                                                    and curve.NbPoles == 2):
                continue
            own = np.array([tuple(curve.value(first + share * (last - first))) for share in (0.2, 0.5, 0.8)])
            reach = own[:, None] - sides.reshape(-1, 3)[None]
            # Between two of the points a side runs straight but for its sag.
            step = np.linalg.norm(np.diff(sides, axis=0), axis=-1).max()
            near = np.sqrt(np.einsum("nmi,nmi->nm", reach, reach).min(axis=1))
            if near.max() > step:
                return None
            off = max(off, _from_chords(own, sides))
        if off > OFF:
            return None
    bend, twist = bend_and_twist(poles)
    strips = max(1, math.ceil((twist + math.sqrt(twist * twist + 8.0 * allowed * bend)) / (8.0 * allowed)))
    if strips > MOST:
        return None
    points = points_at(poles, strips + 1)
    one, other = points[:, 0], points[:, 1]
    made = np.concatenate([np.stack([one[:-1], other[:-1], one[1:]], axis=1), np.stack([other[:-1], other[1:], one[1:]], axis=1)])
    return made, (bend / strips + 2.0 * twist) / (8.0 * strips) + 2.0 * off


def _from_chords(points: np.ndarray, sides: np.ndarray) -> float:
    """Greatest distance of points from the nearer of both sides."""
    start, step = sides[:-1].reshape(-1, 3), np.diff(sides, axis=0).reshape(-1, 3)
    length = np.einsum("mi,mi->m", step, step)
    away = points[:, None] - start[None]
    share = np.clip(np.einsum("nmi,mi->nm", away, step) / np.where(length > 0.0, length, 1.0), 0.0, 1.0)
    away -= share[..., None] * step
    return float(np.sqrt(np.einsum("nmi,nmi->nm", away, away).min(axis=1).max()))
