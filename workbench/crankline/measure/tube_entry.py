"""How deep a body enters a tube from its side, from the tube's center line: no intersection is computed. Needs the host.

A tube is taken as a bar. Of the other body's skin the point is looked for that lies deepest in it; a ball of that radius about the point
lies in the bar, so no smaller shift parts the two. That both have material in common is shown by a ball that lies in either, as wide as a
weld's fit. Where no such ball is found, or more than a thin body reaches the center line, the intersection decides (``overlap``).
"""
from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import FreeCAD
import numpy as np

from .body import Body, box_of, relative, shape_of, skin_of, tubes_of
from .kept import Kept
from .overlap_depth import FIT, all_around
from .surface import Surface
from .tube_joint import CLEAR, SAME, Piece, quartered

FINE, CLOSER, BEST = 2.0, 12, 8
"""mm to which triangles are cut up where they stand in a tube, how often the deepest of them are cut up again, and how many of them."""

MOST = 20_000
"""Pieces of triangles beyond which they are not cut up further."""

TRIES = 12
"""Points at which material in common is looked for."""

WHOLE = 0.99
"""Share of a tube's outside that must be there between two cuts across it for the tube to be whole there."""


@dataclass(frozen=True, eq=False)
class Bar:
    """A straight tube in its own frame: its outside, from where to where along its axis it is whole, mm from the piece's point, and the
    radius of its bore, 0 for a bar."""
    piece: Piece
    low: float
    high: float
    bore: float

    def along(self, points: np.ndarray) -> np.ndarray:
        """Whether points (..., 3) stand between the ends."""
        station = self.station(points)
        return (station > self.low) & (station < self.high)

    def station(self, points: np.ndarray) -> np.ndarray:
        """Where along the axis points (..., 3) are."""
        return (points - self.piece.point) @ self.piece.axis

    def depth(self, points: np.ndarray) -> np.ndarray:
        """How deep points (..., 3) lie under the bar's surface, mm; negative outside."""
        station = self.station(points)
        return np.minimum(self.piece.radius - self.piece.distance(points), np.minimum(station - self.low, self.high - station))

    def on_line(self, point: np.ndarray) -> np.ndarray:
        """The nearest point of the axis."""
        return self.piece.point + float(self.station(point)) * self.piece.axis


@dataclass(frozen=True)
class Entry:
    """A body in a tube: depth, mm, and a point that lies in the material of both, car frame."""
    depth: float
    point: Any


def bars_of(body: Body, kept: Kept) -> tuple[Bar, ...]:
    """The straight tubes that a body is made of, in its own frame."""
    return kept.of("bars", body.mark, lambda: tuple(_bars(shape_of(body, kept), tubes_of(body, kept))))


def _bars(shape: Any, pieces: tuple[Piece, ...]) -> Iterator[Bar]:
    faces = shape.Faces
    for piece in pieces:
        if piece.bend:
            continue
        low, high = all_around(faces[piece.face])
        if high - low > 2.0 * FIT and faces[piece.face].Area >= WHOLE * 2.0 * math.pi * piece.radius * (high - low):
            yield Bar(piece, low, high, max((face.Surface.Radius for face in faces if _is_bore(face, piece)), default=0.0))


def _is_bore(face: Any, piece: Piece) -> bool:
    surface = face.Surface
    if surface.TypeId != "Part::GeomCylinder" or surface.Radius >= piece.radius:
        return False
    off = np.array(surface.Center) - piece.point
    return bool(np.linalg.norm(np.cross(np.array(surface.Axis), piece.axis)) < SAME
                and np.linalg.norm(off - (off @ piece.axis) * piece.axis) < SAME)


def entered(a: Body, b: Body, kept: Kept) -> Entry | None:
    """How deep either of two solids enters a straight tube of the other; None where it does not, is no deeper than a weld's fit, could
    stand in the bore, or stands about the center line and is not thin: that is not for this to tell."""
    found = [entry for tube, other in ((a, b), (b, a)) for bar in bars_of(tube, kept)
             if (entry := _entry(tube, bar, other, kept)) is not None]
    return max(found, key=lambda entry: entry.depth, default=None)


def _entry(tube: Body, bar: Bar, other: Body, kept: Kept) -> Entry | None:
    skin, box = skin_of(other, kept), other.shape.BoundBox
    if skin is None or (bar.bore and sorted((box.XLength, box.YLength, box.ZLength))[1] <= 2.0 * bar.bore):
        return None
    pose, radius = relative(tube, other), bar.piece.radius
    corners = skin.corners @ pose[:3, :3].T + pose[:3, 3]
    depths = bar.depth(corners)
    size = np.linalg.norm(corners - corners.mean(axis=1, keepdims=True), axis=-1).max(axis=1)
    near = depths.max(axis=1) + 2.0 * size > FIT
    # What keeps out, and what stands wholly in it.
    if not near.any() or bar.piece.distance(corners).max() < radius + CLEAR:
        return None
    pieces, face = _cut_up(corners[near], skin.face[near], bar)
    if not len(pieces):
        return None
    found = _deepest(pieces, bar)
    depth, to_car = float(bar.depth(found)), tube.pose
    surfaces = Surface(other.shape), Surface(tube.shape)
    depth -= surfaces[0].beyond(_vector(found, to_car), 0.0)
    if depth <= FIT or (_thin(other, kept) > depth and (
            radius - depth < CLEAR or other.shape.isInside(_vector(bar.on_line(found), to_car), SAME, True))):
        return None
    normals = _normals(pieces)
    for point in _candidates(pieces.mean(axis=1) - 0.55 * FIT * normals, bar, max(radius - depth, bar.bore)):
        place = _vector(point, to_car)
        if all(surface.beyond(place, 0.5 * FIT) > 0.5 * FIT for surface in surfaces) and all(
                body.shape.isInside(place, SAME, False) for body in (other, tube)):
            return Entry(depth, place)
    return None


def _thin(body: Body, kept: Kept) -> float:
    """Least side of a body's box in its own frame, mm: no point of it lies deeper under its surface than half of that."""
    def measure() -> float:
        box = box_of(shape_of(body, kept))
        return float((box[3:] - box[:3]).min())
    return kept.of("least side", body.mark, measure)


def _cut_up(triangles: np.ndarray, face: np.ndarray, bar: Bar) -> tuple[np.ndarray, np.ndarray]:
    """What of triangles may stand deeper in a tube than a weld's fit, in small pieces."""
    while True:
        middle = triangles.mean(axis=1)
        size = np.linalg.norm(triangles - middle[:, None], axis=-1).max(axis=1)
        held = bar.depth(middle) + size > FIT
        triangles, face, size = triangles[held], face[held], size[held]
        large = size > FINE
        if not large.any() or len(triangles) > MOST:
            return triangles, face
        triangles = np.concatenate([triangles[~large], quartered(triangles[large])])
        face = np.concatenate([face[~large], np.tile(face[large], 4)])


def _deepest(triangles: np.ndarray, bar: Bar) -> np.ndarray:
    """The deepest point of triangles in a tube, (3,)."""
    for _round in range(CLOSER):
        order = np.argsort(-bar.depth(triangles).max(axis=1), kind="stable")[:BEST]
        triangles = quartered(triangles[order])
    points = triangles.reshape(-1, 3)
    return points[int(bar.depth(points).argmax())]


def _normals(triangles: np.ndarray) -> np.ndarray:
    """Outward unit normals of a skin's triangles, (n, 3)."""
    normals = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    return normals / np.linalg.norm(normals, axis=1, keepdims=True).clip(1e-12)


def _candidates(points: np.ndarray, bar: Bar, inner: float) -> np.ndarray:
    """Some of the points under a body's surface that lie deep enough between a radius and a tube's outside, where it is whole first."""
    away = bar.piece.distance(points)
    deep = (np.minimum(away - inner, bar.piece.radius - away) > 0.5 * FIT)
    whole = points[deep & bar.along(points)]
    chosen = whole if len(whole) else points[deep]
    # Spread over all of them: those side by side are good or bad together.
    return chosen[np.unique(np.linspace(0, len(chosen) - 1, TRIES).astype(int))] if len(chosen) else chosen


def _vector(point: np.ndarray, to_car: np.ndarray) -> Any:
    return FreeCAD.Vector(*(to_car[:3, :3] @ point + to_car[:3, 3]).tolist())
