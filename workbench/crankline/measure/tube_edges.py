"""How near edges come to the center line of a piece of tube: many at once, each looked at no more closely than it must be. Needs the host.

An edge lies in a ball: about the middle of a line, about the center of a circle or an ellipse, about the poles of a spline. Seen along a
straight center line a circle is an ellipse, whose lesser half axis is its radius by the cosine between both axes; so it comes no nearer
than that less what its center is off the line. Where neither tells, points along the edge and what it may be off its chords do.
"""
from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from ..mechanics.frames import dot
from . import curve_points, plain_face
from .tube_piece import Piece

NO_AXIS = 0.0, 0.0, 0.0
"""What is not round has none."""


def once(edges: Iterable[Any]) -> list[Any]:
    """Edges, each once: two faces meet at it."""
    found: dict[int, list[Any]] = {}
    for edge in edges:
        known = found.setdefault(edge.hashCode(), [])
        if not any(edge.isSame(other) for other in known):
            known.append(edge)
    return [edge for known in found.values() for edge in known]


def keep_off(edges: Iterable[Any], pose: np.ndarray, piece: Piece, wanted: float) -> bool:
    """Whether edges are proven to come no nearer to a center line than is wanted, mm; pose: (4, 4), from their frame to the piece's."""
    doubtful = _doubtful([(edge, edge.Curve) for edge in edges if not edge.Degenerated], pose, piece, wanted)
    chains: dict[int, list[np.ndarray]] = {}
    curves: dict[int, list[tuple[Any, Any]]] = {}
    for edge, curve in doubtful:
        # Against a bend a straight edge is looked at piece by piece too.
        points = curve_points.along(edge, curve, curve_points.POINTS if piece.bend else curve_points.FEW)
        chains.setdefault(len(points), []).append(points)
        curves.setdefault(len(points), []).append((edge, curve))
    return all(_chains_keep_off(np.array(chains[count]), curves[count], pose, piece, wanted) for count in chains)


def _doubtful(edges: list[tuple[Any, Any]], pose: np.ndarray, piece: Piece, wanted: float) -> list[tuple[Any, Any]]:
    """Those edges of which what holds them does not tell that they keep off."""
    held: list[tuple[Any, Any, Any, float, tuple[float, ...]]] = []
    left = []
    for edge, curve in edges:
        kind = curve.TypeId
        if kind == "Part::GeomCircle":
            held.append((edge, curve, curve.Center, curve.Radius, tuple(curve.Axis)))
        elif kind == "Part::GeomEllipse":
            held.append((edge, curve, curve.Center, curve.MajorRadius, NO_AXIS))
        elif kind == "Part::GeomLine":
            first, last = (np.array(tuple(curve.value(at))) for at in edge.ParameterRange)
            reach = 0.5 * (last - first)
            held.append((edge, curve, 0.5 * (first + last), float(np.sqrt(reach @ reach)), NO_AXIS))
        elif kind in plain_face.SPLINES:
            poles = np.array([tuple(pole) for pole in curve.getPoles()])
            middle = 0.5 * (poles.min(axis=0) + poles.max(axis=0))
            held.append((edge, curve, middle, float(np.sqrt(dot(poles - middle, poles - middle).max())), NO_AXIS))
        else:
            left.append((edge, curve))
    if held:
        away = piece.distance(np.array([tuple(one[2]) for one in held]) @ pose[:3, :3].T + pose[:3, 3])
        radii, axes = np.array([one[3] for one in held]), np.array([one[4] for one in held])
        nearest = away - radii
        if not piece.bend:
            nearest = np.maximum(nearest, radii * np.abs(axes @ (piece.axis @ pose[:3, :3])) - away)
        left += [held[number][:2] for number in np.flatnonzero(nearest < wanted)]
    return left


def _chains_keep_off(chains: np.ndarray, edges: list[tuple[Any, Any]], pose: np.ndarray, piece: Piece, wanted: float) -> bool:
    chains = chains @ pose[:3, :3].T + pose[:3, 3]
    closer = piece.from_chains(chains) < wanted
    if not closer.any():
        return True
    if (piece.distance(chains[closer]) < wanted).any():
        return False
    for number in np.flatnonzero(closer):
        edge, curve = edges[number]
        points = curve_points.along(edge, curve, curve_points.MORE, curve_points.MORE) @ pose[:3, :3].T + pose[:3, 3]
        if piece.from_chains(points[None])[0] < wanted:
            return False
    return True
