"""Pieces of tubes, straight and bent, and how near to their center lines something comes. Needs the host."""
from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from ..mechanics.frames import cross, dot
from . import curve_points, triangle_distance
from .triangle_distance import NEXT

SAME = 1e-4
"""mm and cosines within which two round faces are about one axis and of one radius."""

FINE = 1.5
"""mm to which triangles are cut up that come near the center line of a bend."""

ROUND = ("Part::GeomCylinder", "Part::GeomToroid")


@dataclass(frozen=True, eq=False)
class Piece:
    """A piece of a tube in the tube's own frame, mm: radius about a straight center line through a point along an axis, or about a circle
    with that center, axis and bend radius (0: straight). face: number of the face that it is the outside of; outside: False for a bore or
    a hole."""
    point: np.ndarray
    axis: np.ndarray
    radius: float
    bend: float
    face: int
    outside: bool = True

    @cached_property
    def across(self) -> np.ndarray:
        """Two unit directions square to the axis and to each other, (2, 3)."""
        return triangle_distance.across(self.axis)

    def distance(self, points: np.ndarray) -> np.ndarray:
        """Distance of points (..., 3) from the center line."""
        off = points - self.point
        along = off @ self.axis
        out = np.sqrt(np.maximum(dot(off, off) - along * along, 0.0))
        return out if not self.bend else np.hypot(out - self.bend, along)

    def kept_off(self, faces: Sequence[np.ndarray], wanted: np.ndarray) -> np.ndarray:
        """Whether all triangles of a face, (t, 3, 3), are proven to keep at least so far from the center line, mm, of each of several."""
        triangles = np.concatenate(faces)
        if not self.bend:
            away = triangle_distance.from_line(triangles, self.point, self.axis)
            return np.asarray(np.minimum.reduceat(away, np.cumsum([0, *map(len, faces[:-1])])) >= wanted)
        face = np.repeat(np.arange(len(faces)), [len(face) for face in faces])
        found = np.ones(len(faces), dtype=bool)
        while len(triangles):
            middle = (triangles[:, 0] + triangles[:, 1] + triangles[:, 2]) / 3.0
            off = triangles - middle[:, None]
            size, away, limit = np.sqrt(dot(off, off).max(axis=1)), self.distance(middle), wanted[face]
            near = away - size < limit
            # The middles are points of them.
            found[face[near & ((away < limit) | (size <= FINE))]] = False
            near &= found[face]
            triangles, face = quartered(triangles[near]), np.tile(face[near], 4)
        return found

    def from_chains(self, chains: np.ndarray) -> np.ndarray:
        """Least distances of smooth curves from the center line, each given by an odd number of points, (k, n, 3), less what it is off its
        chords, (k,)."""
        off = 1.5 * curve_points.sag(chains)
        if self.bend:
            # Along a chord it comes nearer than at both ends by no more than a straight line that it crosses at a right angle.
            steps, away = chains[:, 1:] - chains[:, :-1], self.distance(chains)
            squares = np.minimum(away[:, 1:], away[:, :-1]) ** 2 - 0.25 * dot(steps, steps)
            return np.asarray(np.sqrt(np.maximum(squares.min(axis=1), 0.0)) - off)
        # Seen along a straight one it is a point.
        seen = (chains - self.point) @ self.across.T
        start, step = seen[:, :-1], seen[:, 1:] - seen[:, :-1]
        length = np.einsum("kni,kni->kn", step, step)
        share = -np.einsum("kni,kni->kn", start, step) / np.where(length > 0.0, length, 1.0)
        near = start + np.minimum(np.maximum(share, 0.0), 1.0)[..., None] * step
        return np.asarray(np.sqrt(np.einsum("kni,kni->kn", near, near).min(axis=1)) - off)


def pieces(shape: Any) -> tuple[Piece, ...]:
    """Whatever is round among the faces of a shape in its own frame: outsides of tubes, their bores, holes."""
    found = []
    for number, face in enumerate(shape.Faces):
        surface = face.Surface
        if surface.TypeId not in ROUND:
            continue
        first, last, low, high = face.ParameterRange
        u, v = 0.5 * (first + last), 0.5 * (low + high)
        point, axis = np.array(tuple(surface.Center)), np.array(tuple(surface.Axis))
        at, bend = np.array(tuple(surface.value(u, v))), surface.MajorRadius if surface.TypeId == "Part::GeomToroid" else 0.0
        out = at - point - ((at - point) @ axis) * axis
        if bend:
            out = at - point - out / math.sqrt(float(out @ out)) * bend
        found.append(Piece(point, axis, surface.MinorRadius if bend else surface.Radius, bend, number,
                           bool(np.array(tuple(face.normalAt(u, v))) @ out > 0.0)))
    return tuple(found)


def radius_about(surface: Any, piece: Piece, pose: np.ndarray | None = None) -> float | None:
    """Radius of a round surface about a piece's center line; None where it is another surface. pose: (4, 4) to the piece's frame."""
    if surface.TypeId != ROUND[bool(piece.bend)]:
        return None
    center, axis = np.array(tuple(surface.Center)), np.array(tuple(surface.Axis))
    if pose is not None:
        center, axis = pose[:3, :3] @ center + pose[:3, 3], pose[:3, :3] @ axis
    off, lean = center - piece.point, cross(axis, piece.axis)
    if lean @ lean > (SAME / 100.0) ** 2:
        return None
    if piece.bend:
        return surface.MinorRadius if off @ off < SAME ** 2 and abs(surface.MajorRadius - piece.bend) < SAME else None
    aside = off - (off @ piece.axis) * piece.axis
    return surface.Radius if aside @ aside < SAME ** 2 else None


def quartered(triangles: np.ndarray) -> np.ndarray:
    """Triangles (n, 3, 3) cut at the middles of their sides, (4 n, 3, 3): first one quarter of each, then the next of each."""
    middles = 0.5 * (triangles + triangles[:, NEXT])
    found = np.empty((4, *triangles.shape))
    for corner in range(3):
        found[corner] = 0.5 * (triangles + triangles[:, corner, None])      # a corner's quarter is the whole, half as large
    found[3] = middles
    return found.reshape(-1, 3, 3)
