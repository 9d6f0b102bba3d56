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
import Part

from ..mechanics.frames import cross
from . import point_in_body
from .body import Body, box_of, faces_of, relative, shape_of, skin_of, tubes_of
from .kept import Kept
from .overlap_depth import FIT, all_around
from .skin import ROUNDING, Skin
from .surface import Surface, material_at
from .triangle_distance import NEXT
from .tube_joint import CLEAR, SAME, Piece, quartered

SIZES = (6.0, 2.0)
"""mm to which triangles are cut up where they stand in a tube: fine enough mostly, and always."""

CLOSER, BEST, LESS = 24, 8, 1e-7
"""How often the triangles that may be deepest are cut up, and how many of them; mm by which none may be deeper than what is known."""

BESIDE = 4.0
"""mm by which triangles may stand beside a bar for them to be looked at."""

MOST = 20_000
"""Pieces of triangles beyond which they are not cut up further."""

TRIES = 12
"""Points at which material in common is looked for."""

WHOLE = 0.99
"""Share of a tube's outside that must be there between two cuts across it for the tube to be whole there."""


@dataclass(frozen=True, eq=False)
class Bar:
    """A straight tube in its own frame: its outside, from where to where along its axis it is whole, mm from the piece's point, the
    radius of its bore, 0 for a bar, and the numbers of the bore's faces. Points that its methods take are along its axes: ``axes``, (3, 3),
    two across and the tube's."""
    piece: Piece
    low: float
    high: float
    bore: float
    bores: frozenset[int]
    axes: np.ndarray

    def seen(self, points: np.ndarray) -> np.ndarray:
        """Points (..., 3) of the own frame along the bar's axes, from the piece's point."""
        return (points - self.piece.point) @ self.axes.T

    def own(self, points: np.ndarray) -> np.ndarray:
        """Points (..., 3) along the bar's axes in the own frame."""
        return points @ self.axes + self.piece.point

    def along(self, points: np.ndarray) -> np.ndarray:
        """Whether points (..., 3) stand between the ends."""
        return (points[..., 2] > self.low) & (points[..., 2] < self.high)

    def meets(self, triangles: np.ndarray) -> np.ndarray:
        """Which of triangles (t, 3, 3) may come within a little of the bar, by their boxes."""
        first, second, third = triangles[:, 0], triangles[:, 1], triangles[:, 2]
        low, high = np.minimum(np.minimum(first, second), third), np.maximum(np.maximum(first, second), third)
        reach, spare = self.piece.radius + BESIDE, BESIDE
        within = (low < [reach, reach, self.high + spare]) & (high > [-reach, -reach, self.low - spare])
        return within[:, 0] & within[:, 1] & within[:, 2]

    def depth(self, points: np.ndarray) -> np.ndarray:
        """How deep points (..., 3) lie under the bar's surface, mm; negative outside."""
        station = points[..., 2]
        return np.minimum(self.piece.radius - _away(points), np.minimum(station - self.low, self.high - station))


def _away(points: np.ndarray) -> np.ndarray:
    """Distances of points (..., 3) along a bar's axes from its center line."""
    return np.hypot(points[..., 0], points[..., 1])


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
    round_faces = [(number, face.Surface) for number, face in enumerate(faces) if face.Surface.TypeId == "Part::GeomCylinder"]
    for piece in pieces:
        if piece.bend:
            continue
        low, high = all_around(faces[piece.face])
        if high - low > 2.0 * FIT and faces[piece.face].Area >= WHOLE * 2.0 * math.pi * piece.radius * (high - low):
            bores = {number: surface.Radius for number, surface in round_faces if _is_bore(surface, piece)}
            yield Bar(piece, low, high, max(bores.values(), default=0.0), frozenset(bores), _axes(piece))


def _axes(piece: Piece) -> np.ndarray:
    """Unit axes of a straight piece, (3, 3): two across, and its own."""
    turn = FreeCAD.Rotation(FreeCAD.Vector(0.0, 0.0, 1.0), FreeCAD.Vector(*piece.axis.tolist()))
    return np.array(turn.toMatrix().A).reshape(4, 4)[:3, :3].T


def _walled(shape: Any, bar: Bar, skin: Skin | None) -> tuple[float, float]:
    """From where to where along a bar it is material from bore to outside, nothing cut out of it: no face stands there but those about its
    axis, and there is material between them; equal where that is not shown."""
    if skin is None:
        return bar.low, bar.low
    middle = 0.5 * (bar.low + bar.high)
    others = ~np.isin(skin.face, [bar.piece.face, *bar.bores])
    station, slack = bar.seen(skin.corners[others])[..., 2], skin.slack[skin.face[others]] + ROUNDING
    first, last = station.min(axis=1) - slack, station.max(axis=1) + slack
    if ((first <= middle) & (last >= middle)).any():
        return bar.low, bar.low
    inside = bar.own(np.array([0.5 * (bar.bore + bar.piece.radius), 0.0, middle]))
    if not shape.isInside(FreeCAD.Vector(*inside.tolist()), SAME, False):
        return bar.low, bar.low
    return (float(last[last < middle].max(initial=bar.low)), float(first[first > middle].min(initial=bar.high)))


def _is_bore(surface: Any, piece: Piece) -> bool:
    if surface.Radius >= piece.radius:
        return False
    axis = FreeCAD.Vector(*piece.axis.tolist())
    off = surface.Center - FreeCAD.Vector(*piece.point.tolist())
    return surface.Axis.cross(axis).Length < SAME and (off - axis * off.dot(axis)).Length < SAME


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
    corners = bar.seen(skin.corners @ pose[:3, :3].T + pose[:3, 3])
    beside = corners[bar.meets(corners)]
    size = _sizes(beside)
    near = bar.depth(beside).max(axis=1) + 2.0 * size > FIT
    # What keeps out, and what stands wholly in it.
    if not near.any() or _away(corners).max() < radius + CLEAR:
        return None
    beside, size = beside[near], size[near]
    found = _deepest(beside, bar)
    ask = _Asked(tube, bar, other, skin, kept)
    depth = float(bar.depth(found)) - ask.off_surface(found)
    if depth <= FIT or ((radius - depth < CLEAR or ask.in_other(np.array([0.0, 0.0, found[2]]))) and _thicker(other, skin, depth, kept)):
        return None
    for fine in SIZES:
        pieces = _cut_up(beside, size, bar, fine)
        for point in _candidates(_middles(pieces) - 0.55 * FIT * _normals(pieces), bar, max(radius - depth, bar.bore)):
            if ask.in_both(point, 0.5 * FIT):
                return Entry(depth, ask.in_car(point))
    return None


class _Asked:
    """Where points along a bar's axes stand to the tube and to what enters it: told from wall and skin where these show it, else by the
    host."""

    def __init__(self, tube: Body, bar: Bar, other: Body, skin: Skin, kept: Kept):
        self._tube, self._bar, self._other, self._skin, self._kept = tube, bar, other, skin, kept
        self._to_other = relative(other, tube)

    def in_car(self, point: np.ndarray) -> Any:
        """A point in the car frame."""
        pose = self._tube.pose
        return FreeCAD.Vector(*(pose[:3, :3] @ self._bar.own(point) + pose[:3, 3]).tolist())

    def off_surface(self, point: np.ndarray) -> float:
        """How far a point of the other body's skin is off its surface, mm."""
        if point_in_body.lies_on(self._skin, self._seen_by_other(point)):
            return 0.0
        return Surface(self._other.shape).beyond(self.in_car(point), 0.0)

    def in_other(self, point: np.ndarray) -> bool:
        """Whether a point lies in the other body or on its surface."""
        return material_at(shape_of(self._other, self._kept), self._skin, self._seen_by_other(point), SAME, border=True)

    def in_both(self, point: np.ndarray, depth: float) -> bool:
        """Whether a point lies deeper than that under the surfaces of both bodies, mm."""
        return self._in_other_below(point, depth) and (self._in_wall(point) > depth or self._in_tube_below(point, depth))

    def _in_wall(self, point: np.ndarray) -> float:
        """How deep a point is shown to lie in the tube's material, mm; 0 or less where it is not."""
        tube, bar, kept = self._tube, self._bar, self._kept
        low, high = kept.of(("walled", bar.piece.face), tube.mark, lambda: _walled(shape_of(tube, kept), bar, skin_of(tube, kept)))
        away, station = float(_away(point)), float(point[2])
        return min(away - bar.bore, bar.piece.radius - away, station - low, high - station)

    def _in_other_below(self, point: np.ndarray, depth: float) -> bool:
        seen, place = self._seen_by_other(point), self.in_car(point)
        near = point_in_body.near_faces(self._skin, seen, depth)
        if min(near.values(), default=math.inf) <= depth:
            return False
        faces, vertex = faces_of(self._other, self._kept).faces if near else (), Part.Vertex(place)
        if any(faces[number].distToShape(vertex)[0] <= depth for number in near):
            return False
        return material_at(shape_of(self._other, self._kept), self._skin, seen, SAME)

    def _in_tube_below(self, point: np.ndarray, depth: float) -> bool:
        place = self.in_car(point)
        return Surface(self._tube.shape).beyond(place, depth) > depth and self._tube.shape.isInside(place, SAME, False)

    def _seen_by_other(self, point: np.ndarray) -> np.ndarray:
        return self._to_other[:3, :3] @ self._bar.own(point) + self._to_other[:3, 3]


def _sizes(triangles: np.ndarray) -> np.ndarray:
    """How far the corners of triangles reach from their middles, mm."""
    off = triangles - _middles(triangles)[:, None]
    return np.sqrt(np.einsum("tij,tij->ti", off, off).max(axis=1))


def _middles(triangles: np.ndarray) -> np.ndarray:
    """Middles of triangles (t, 3, 3), (t, 3): their corners added up, which takes a tenth of what a mean over so short an axis does."""
    return (triangles[:, 0] + triangles[:, 1] + triangles[:, 2]) / 3.0


def _thicker(body: Body, skin: Skin, depth: float, kept: Kept) -> bool:
    """Whether the least side of a body's box in its own frame is more than a depth, mm: no point of it lies deeper under its surface than
    half of that. The box is asked for only where its skin's does not tell."""
    def measure() -> float:
        box = box_of(shape_of(body, kept))
        return float((box[3:] - box[:3]).min())

    corners = skin.corners.reshape(-1, 3)
    side = float(np.ptp(corners, axis=0).min())
    # Corners lie on the body; no point of it is farther out than its face stands off its triangles.
    if side - ROUNDING > depth or side + 2.0 * (float(skin.slack.max()) + ROUNDING) <= depth:
        return side > depth
    return kept.of("least side", body.mark, measure) > depth


def _cut_up(triangles: np.ndarray, size: np.ndarray, bar: Bar, fine: float) -> np.ndarray:
    """What of triangles of these sizes may stand deeper in a tube than a weld's fit, in pieces that are fine enough, mm."""
    while True:
        held = bar.depth(_middles(triangles)) + size > FIT
        held[held] = bar.meets(triangles[held])
        triangles, size = triangles[held], size[held]
        large = size > fine
        if not large.any() or len(triangles) > MOST:
            return triangles
        # Each quarter is as the whole was, half as large.
        triangles = np.concatenate([triangles[~large], quartered(triangles[large])])
        size = np.concatenate([size[~large], np.tile(0.5 * size[large], 4)])


def _deepest(triangles: np.ndarray, bar: Bar) -> np.ndarray:
    """The deepest point of triangles in a tube, (3,). What is nearest to the center line is, unless an end of the tube is nearer yet."""
    best, place = -math.inf, triangles[0, 0]
    for _round in range(CLOSER):
        points = _nearest(triangles)
        depths = bar.depth(points)
        deepest = int(depths.argmax())
        if depths[deepest] > best:
            best, place = float(depths[deepest]), points[deepest]
        stations = triangles[..., 2]
        most = np.minimum(bar.piece.radius - _away(points),
                          np.minimum(stations.max(axis=1) - bar.low, bar.high - stations.min(axis=1)))
        left = np.flatnonzero(most > best + LESS)
        if not len(left):
            break
        triangles = quartered(triangles[left[np.argsort(-most[left], kind="stable")[:BEST]]])
    return place


def _nearest(triangles: np.ndarray) -> np.ndarray:
    """The point of each triangle along a bar's axes that is nearest to the center line, (t, 3)."""
    seen, step = triangles[..., :2], (triangles[:, NEXT] - triangles)
    length = np.einsum("tij,tij->ti", step[..., :2], step[..., :2])
    share = -np.einsum("tij,tij->ti", seen, step[..., :2]) / np.where(length > 0.0, length, 1.0)
    on_sides = triangles + np.minimum(np.maximum(share, 0.0), 1.0)[..., None] * step
    nearest = on_sides[np.arange(len(triangles)), _away(on_sides).argmin(axis=1)]
    # Where the center line goes through a triangle, its sides all turn the same way around it: how much each of them does tells where.
    turns = seen[..., 0] * seen[:, NEXT, 1] - seen[..., 1] * seen[:, NEXT, 0]
    through = (turns > 0.0).all(axis=1) | (turns < 0.0).all(axis=1)
    shares = turns[through][:, NEXT] / turns[through].sum(axis=1, keepdims=True)
    nearest[through] = np.einsum("ti,tij->tj", shares, triangles[through])
    return nearest


def _normals(triangles: np.ndarray) -> np.ndarray:
    """Outward unit normals of a skin's triangles, (n, 3)."""
    normals = cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    return normals / np.linalg.norm(normals, axis=1, keepdims=True).clip(1e-12)


def _candidates(points: np.ndarray, bar: Bar, inner: float) -> np.ndarray:
    """Some of the points under a body's surface that lie deep enough between a radius and a tube's outside, where it is whole first."""
    away = _away(points)
    deep = (np.minimum(away - inner, bar.piece.radius - away) > 0.5 * FIT)
    whole = points[deep & bar.along(points)]
    chosen = whole if len(whole) else points[deep]
    # Spread over all of them: those side by side are good or bad together.
    return chosen[np.unique(np.linspace(0, len(chosen) - 1, TRIES).astype(int))] if len(chosen) else chosen
