"""Whether two bodies are the same piece turned and moved, or each other's mirror image, by what their faces say. Imports without the host.

A face is told by kind, size, where its centroid lies and which way it looks; where the bodies stand plays no part. Left and right parts
that a shop may swap are found equal, those that it may not are told apart.
"""
from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np

TOLERANCE = 0.05
"""mm by which equal parts may differ: below what a laser, a saw or a bender holds (common practice, no source)."""
PARALLEL = 1e-3
"""rad within which two directions are one (numerical)."""


@dataclass(frozen=True)
class Face:
    """One face in the body's own frame. kind: of its surface; size: its radii, mm; area mm2; centroid mm; direction: unit normal of
    a plane outward, else the axis, None where the surface has none; outward: whether the direction's sign means something."""
    kind: str
    size: tuple[float, ...]
    area: float
    centroid: tuple[float, float, float]
    direction: tuple[float, float, float] | None = None
    outward: bool = False


@dataclass(frozen=True)
class Body:
    """A body's faces, and its volume in mm3."""
    volume: float
    faces: tuple[Face, ...]

    def __hash__(self) -> int:
        return hash((self.volume, len(self.faces)))

    def mirrored(self) -> Body:
        """The body in the mirror of its center plane (y to -y)."""
        return self._mirrored

    @cached_property
    def _mirrored(self) -> Body:
        def flip(vector):
            return None if vector is None else (vector[0], -vector[1], vector[2])

        return replace(self, faces=tuple(replace(face, centroid=flip(face.centroid), direction=flip(face.direction))
                                         for face in self.faces))


# Of most pairs it is asked again in the next check.
@lru_cache(maxsize=1024)
def congruent(a: Body, b: Body, tolerance: float = TOLERANCE) -> bool:
    """Whether a rigid motion brings one body onto the other, every face within a tolerance in mm."""
    one, other = _Points(a), _Points(b)
    if len(a.faces) != len(b.faces) or abs(a.volume - b.volume) > tolerance * one.area:
        return False
    if Counter(face.kind for face in a.faces) != Counter(face.kind for face in b.faces):
        return False
    return any(_fits(one, other, rotation, tolerance) for rotation in _rotations(one, other, tolerance))


class _Points:
    """A body's faces as arrays about the centroid of its surface."""

    def __init__(self, body: Body):
        self.faces = body.faces
        areas = np.array([face.area for face in body.faces])
        self.area = float(areas.sum())
        points = np.array([face.centroid for face in body.faces])
        self.offsets = points - areas @ points / self.area
        self.directions = np.array([face.direction or (0.0, 0.0, 0.0) for face in body.faces])
        self.signed = np.array([face.outward for face in body.faces])

    def vectors(self, tolerance: float) -> list[tuple[tuple, np.ndarray, bool]]:
        """(what tells it, vector of any length, whether its sign counts): middle to each face off it, and the faces' directions."""
        found = []
        for face, offset, direction, signed in zip(self.faces, self.offsets, self.directions, self.signed):
            reach = float(np.linalg.norm(offset))
            if reach > 100.0 * tolerance:        # A shorter one is no sharp direction.
                found.append((("to", face.kind, reach, face.area), offset / reach, True))
            if direction.any():
                found.append((("along", face.kind, reach, face.area), direction, bool(signed)))
        return found


def _alike(a: tuple, b: tuple, tolerance: float) -> bool:
    return a[:2] == b[:2] and abs(a[2] - b[2]) <= 2.0 * tolerance and _same_area(a[3], b[3], tolerance)


def _same_area(a: float, b: float, tolerance: float) -> bool:
    """Whether two areas differ by no more than an edge moved by the tolerance around a square of this area would make."""
    return abs(a - b) <= 4.0 * tolerance * max(a, b) ** 0.5 + tolerance ** 2


def _rotations(a: _Points, b: _Points, tolerance: float) -> Iterator[np.ndarray]:
    """Rotations that bring two directions of the one body onto two alike of the other: if any fits, one of these does."""
    own, others = a.vectors(tolerance), b.vectors(tolerance)
    if not own or not others:
        return
    units = np.array([vector for _told, vector, _signed in own])
    apart = 1.0 - (units @ units.T) ** 2 > 0.05 ** 2
    if not apart.any():
        # Every face lies along one line and looks along it: a body of revolution, whichever way it is turned about that line.
        for sign in (1.0, -1.0):
            yield _frame(sign * others[0][1], _aside(others[0][1])) @ _frame(own[0][1], _aside(own[0][1])).T
        return
    # Those of which the other body has the fewest like them leave the fewest rotations to try.
    choices = np.array([sum(_alike(vector[0], other[0], tolerance) for other in others) for vector in own])
    cost = np.where(apart, np.multiply.outer(choices, choices), np.inf)
    first, second = (own[i] for i in np.unravel_index(np.argmin(cost), cost.shape))
    base, angle = _frame(first[1], second[1]), float(first[1] @ second[1])
    for p in (v for v in others if _alike(first[0], v[0], tolerance)):
        for q in (v for v in others if _alike(second[0], v[0], tolerance)):
            for s in (1.0,) if p[2] else (1.0, -1.0):
                for t in (1.0,) if q[2] else (1.0, -1.0):
                    if abs(s * t * float(p[1] @ q[1]) - angle) < 0.02:
                        yield _frame(s * p[1], t * q[1]) @ base.T


def _frame(first: np.ndarray, second: np.ndarray) -> np.ndarray:
    """Right-handed frame whose first axis is ``first`` and whose second lies toward ``second``; columns."""
    across = np.cross(first, second)
    across /= np.linalg.norm(across)
    return np.column_stack([first, np.cross(across, first), across])


def _aside(direction: np.ndarray) -> np.ndarray:
    return np.eye(3)[int(np.argmin(np.abs(direction)))]


def _fits(a: _Points, b: _Points, rotation: np.ndarray, tolerance: float) -> bool:
    """Whether each face of the one, turned, is a face of the other, each taken once."""
    moved, turned = a.offsets @ rotation.T, a.directions @ rotation.T
    free = np.ones(len(b.faces), bool)
    for face, point, direction in zip(a.faces, moved, turned):
        near = np.linalg.norm(b.offsets - point, axis=1) <= 2.0 * tolerance
        for j in np.flatnonzero(free & near):
            other = b.faces[j]
            if face.kind == other.kind and len(face.size) == len(other.size) and _same_area(face.area, other.area, tolerance) \
                    and all(abs(p - q) <= tolerance for p, q in zip(face.size, other.size)) \
                    and _parallel(direction, b.directions[j], face.outward):
                free[j] = False
                break
        else:
            return False
    return True


def _parallel(a: np.ndarray, b: np.ndarray, signed: bool) -> bool:
    if not a.any() or not b.any():
        return not a.any() and not b.any()
    return float(np.linalg.norm(np.cross(a, b))) <= PARALLEL and (not signed or float(a @ b) > 0.0)
