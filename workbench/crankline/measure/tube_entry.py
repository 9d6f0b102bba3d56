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

from ..mechanics.frames import as_point, cross, dot
from . import point_in_body
from .body import Body, Point, box_of, faces_of, relative, shape_of, skin_of, tubes_of
from .kept import Kept
from .overlap_depth import FIT, all_around
from .skin import ROUNDING, Skin
from .surface import Surface, material_at
from .triangle_distance import NEXT, TINY
from .tube_joint import CLEAR
from .tube_piece import SAME, Piece, quartered

FINE = 2.0
"""mm to which triangles are cut up where they stand in a tube, until material in common is found."""

UNDER = 0.55 * FIT
"""mm under the other body's surface at which that is looked for: a ball as wide as a weld's fit stays in."""

MOST = 20_000
"""Pieces of triangles beyond which they are not cut up further."""

TRIES = 12
"""Points at which material in common is looked for, of each size of triangles."""

WHOLE = 0.99
"""Share of a tube's outside that must be there between two cuts across it for the tube to be whole there."""


@dataclass(frozen=True, eq=False)
class Bar:
    """A straight tube in its own frame: its outside, from where to where along its axis it is whole, mm from the piece's point, the
    radii of its bore by the numbers of its faces, and the largest of them, 0 for a bar. Points that its methods take are along its axes:
    ``axes``, (3, 3), two across and the tube's."""
    piece: Piece
    low: float
    high: float
    bores: dict[int, float]
    bore: float
    axes: np.ndarray

    def seen(self, points: np.ndarray, pose: np.ndarray | None = None) -> np.ndarray:
        """Points (..., 3) of the own frame, or of one that is placed so in it, (4, 4), along the bar's axes from the piece's point."""
        turn = self.axes if pose is None else self.axes @ pose[:3, :3]
        origin = -self.piece.point if pose is None else pose[:3, 3] - self.piece.point
        return (points.reshape(-1, 3) @ turn.T + self.axes @ origin).reshape(points.shape)

    def own(self, points: np.ndarray) -> np.ndarray:
        """Points (..., 3) along the bar's axes in the own frame."""
        return points @ self.axes + self.piece.point

    def along(self, points: np.ndarray) -> np.ndarray:
        """Whether points (..., 3) stand between the ends."""
        return (points[..., 2] > self.low) & (points[..., 2] < self.high)

    def most(self, triangles: np.ndarray) -> np.ndarray:
        """How deep triangles (t, 3, 3) may lie under the bar's surface at the most, mm, by their boxes."""
        first, second, third = triangles[:, 0], triangles[:, 1], triangles[:, 2]
        low, high = np.minimum(np.minimum(first, second), third), np.maximum(np.maximum(first, second), third)
        away = _away(np.maximum(np.maximum(low[:, :2], -high[:, :2]), 0.0))
        return np.minimum(self.piece.radius - away, np.minimum(high[:, 2] - self.low, self.high - low[:, 2]))

    def depth(self, points: np.ndarray) -> np.ndarray:
        """How deep points (..., 3) lie under the bar's surface, mm; negative outside."""
        station = points[..., 2]
        return np.minimum(self.piece.radius - _away(points), np.minimum(station - self.low, self.high - station))


def _away(points: np.ndarray) -> np.ndarray:
    """Distances of points (..., 3) along a bar's axes from its center line."""
    return np.hypot(points[..., 0], points[..., 1])


@dataclass(frozen=True)
class Entry:
    """A body in a tube: depth, mm, a point that lies in the material of both, and what is nearest to that on the surface of the tube and on
    that of the body, where it is told; car frame."""
    depth: float
    point: Any
    nearest: tuple[Point | None, Point | None] = (None, None)

    @property
    def turned(self) -> Entry:
        """The same with the body first."""
        return Entry(self.depth, self.point, (self.nearest[1], self.nearest[0]))


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
            yield Bar(piece, low, high, bores, max(bores.values(), default=0.0), _axes(piece))


def _axes(piece: Piece) -> np.ndarray:
    """Unit axes of a straight piece, (3, 3): two across, and its own."""
    turn = FreeCAD.Rotation(FreeCAD.Vector(0.0, 0.0, 1.0), FreeCAD.Vector(*piece.axis.tolist()))
    return np.array(turn.toMatrix().A).reshape(4, 4)[:3, :3].T


def _walled(shape: Any, bar: Bar, skin: Skin | None) -> tuple[float, float]:
    """From where to where along a bar it is material from bore to outside, nothing cut out of it: no face stands there but those about its
    axis, and there is material between them; equal where that is not shown, or its bore is not one."""
    if skin is None or min(bar.bores.values(), default=0.0) < bar.bore - SAME:
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
    """How deep either of two solids enters a straight tube of the other, nearest points in their order; None where it does not, is no
    deeper than a weld's fit, could stand in the bore, or stands about the center line and is not thin: that is not for this to tell."""
    found = [entry if tube is a else entry.turned for tube, other in ((a, b), (b, a)) for bar in bars_of(tube, kept)
             if (entry := _entry(tube, bar, other, kept)) is not None]
    return max(found, key=lambda entry: entry.depth, default=None)


def _entry(tube: Body, bar: Bar, other: Body, kept: Kept) -> Entry | None:
    skin, radius = skin_of(other, kept), bar.piece.radius
    if skin is None:
        return None
    box = faces_of(other, kept).box
    if bar.bore and sorted(box[3:] - box[:3])[1] <= 2.0 * bar.bore:
        return None
    corners = bar.seen(skin.corners, relative(tube, other))
    most = bar.most(corners)
    near = np.flatnonzero(most > FIT)
    triangles, reach = corners[near], radius + CLEAR
    # What keeps out, and what stands wholly in it.
    if not len(near) or (_away(triangles).max() < reach and _away(corners).max() < reach):
        return None
    left = np.flatnonzero(most[near] >= max(float(bar.depth(triangles).max()), float(bar.depth(_middles(triangles)).max())))
    found, number = _deepest(triangles[left], bar)
    ask = _Asked(tube, bar, other, skin, kept)
    depth = float(bar.depth(found)) - ask.off_surface(found, int(skin.face[near[left[number]]]))
    if depth <= FIT or (_thicker(other, skin, depth, kept)
                        and (radius - depth < CLEAR or ask.in_other(np.array([0.0, 0.0, found[2]])))):
        return None
    unsure = []
    for point, foot, number in _tries(triangles, bar, max(radius - depth, bar.bore)):
        nearest = ask.nearest(point, foot, int(skin.face[near[number]]))
        if nearest is not None:
            return Entry(depth, ask.in_car(point), nearest)
        unsure.append(point)
    held = next((unsure[i] for i in _spread(len(unsure)) if ask.in_both(unsure[i], 0.5 * FIT)), None)
    return None if held is None else Entry(depth, ask.in_car(held))


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

    def off_surface(self, point: np.ndarray, face: int) -> float:
        """How far a point of the other body's skin, on a triangle of a face, is off its surface, mm."""
        if self._skin.slack[face] == 0.0 or point_in_body.lies_on(self._skin, self._seen_by_other(point)):
            return 0.0
        return self._surface(self._other).beyond(self.in_car(point), 0.0)

    def in_other(self, point: np.ndarray) -> bool:
        """Whether a point lies in the other body or on its surface."""
        return material_at(shape_of(self._other, self._kept), self._skin, self._seen_by_other(point), SAME, border=True)

    def nearest(self, point: np.ndarray, foot: np.ndarray, face: int) -> tuple[Point | None, Point] | None:
        """What is nearest to a point on the tube's surface, where that is told too, and on the other body's; None where skin and wall do
        not show that the point lies deeper in both than half of a weld's fit. It stands ``UNDER`` a foot on a triangle of a face of the
        other body."""
        from_round, from_ends, radius = self._in_wall(point)
        if min(from_round, from_ends) <= 0.5 * FIT or not point_in_body.is_alone(self._skin, face, self._seen_by_other(point), UNDER):
            return None
        outward = radius / float(_away(point))
        on_tube = self._place(point * [outward, outward, 1.0]) if radius and from_round < from_ends else None
        return on_tube, self._place(foot)

    def in_both(self, point: np.ndarray, depth: float) -> bool:
        """Whether a point lies deeper than that under the surfaces of both bodies, mm."""
        seen, place = self._seen_by_other(point), self.in_car(point)
        near = point_in_body.near_faces(self._skin, seen, depth)
        if min(near.values(), default=math.inf) <= depth:
            return False
        shape, vertex = shape_of(self._other, self._kept), Part.Vertex(*seen.tolist())
        faces = shape.Faces if near else ()
        if any(faces[number].distToShape(vertex)[0] <= depth for number in near):
            return False
        if not material_at(shape, self._skin, seen, SAME):
            return False
        if min(self._in_wall(point)[:2]) > depth:
            return True
        return self._surface(self._tube).beyond(place, depth) > depth and bool(self._tube.shape.isInside(place, SAME, False))

    def _surface(self, body: Body) -> Surface:
        found = faces_of(body, self._kept)
        return Surface(found.faces, found.boxes, found.vertices)

    def _place(self, point: np.ndarray) -> Point:
        return as_point(self.in_car(point))

    def _in_wall(self, point: np.ndarray) -> tuple[float, float, float]:
        """How far a point in the tube's wall is from the nearer one of bore and outside, from the ends between which all is shown to be
        material there, mm, 0 or less where the point is not in it; and the radius of the nearer one, of a bar's center 0."""
        tube, bar, kept = self._tube, self._bar, self._kept
        low, high = kept.of(("walled", bar.piece.face), tube.mark, lambda: _walled(shape_of(tube, kept), bar, skin_of(tube, kept)))
        away, station = float(_away(point)), float(point[2])
        from_round, radius = min((away - bar.bore, bar.bore), (bar.piece.radius - away, bar.piece.radius))
        return from_round, min(station - low, high - station), radius

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

    # Corners lie on the body, and no face is taken to stand farther off them than its slack.
    most = float((skin.box[3:] - skin.box[:3]).min())
    least = most - 2.0 * (float(skin.slack.max()) + 2.0 * ROUNDING)
    if least > depth or most <= depth:
        return least > depth
    return kept.of("least side", body.mark, measure) > depth


def _tries(triangles: np.ndarray, bar: Bar, inner: float) -> Iterator[tuple[np.ndarray, np.ndarray, int]]:
    """Points ``UNDER`` a skin that lie deep enough between a radius and a tube's outside, what of the skin they stand under, and the number
    of the triangle that this is of: under the middles of triangles, then of their quarters, and so on."""
    normals, size, numbers = _normals(triangles), _sizes(triangles), np.arange(len(triangles))
    while True:
        feet = _middles(triangles)
        points = feet - UNDER * normals[numbers]
        for chosen in _candidates(points, bar, inner):
            yield points[chosen], feet[chosen], int(numbers[chosen])
        left = np.flatnonzero((size > FINE) & (bar.depth(feet) + size > FIT) & (_away(feet) + size > inner))
        if not len(left) or len(left) > MOST:
            return
        triangles, size, numbers = quartered(triangles[left]), np.tile(0.5 * size[left], 4), np.tile(numbers[left], 4)


def _deepest(triangles: np.ndarray, bar: Bar) -> tuple[np.ndarray, int]:
    """The deepest point of triangles in a tube, (3,), and the number of the triangle that it is of.

    The depth is the least of three that are concave: under the outside, and from either end. So over a triangle it is largest on a side,
    or where it is over the whole plane: that is, plane and tube being alike on both sides of the plane through the tube's axis that is
    square to the triangle's, on the line that these have in common.
    """
    sides = triangles[:, NEXT] - triangles
    held, start, step = _steepest(triangles, sides)
    start, step = np.concatenate([triangles.reshape(-1, 3), start]), np.concatenate([sides.reshape(-1, 3), step])
    # Along a line: at its ends, where it is nearest to the axis, as far from one end of the tube as from the other, or as far from an end
    # as under the outside, (c + w s)^2 = |p + s u|^2 seen along the axis.
    across, along, station = step[:, :2], step[:, 2], start[:, 2]
    length, slope = np.einsum("ni,ni->n", across, across), np.einsum("ni,ni->n", across, start[:, :2])
    shares = [np.zeros(len(start)), np.ones(len(start))]
    with np.errstate(divide="ignore", invalid="ignore"):
        shares += [-slope / length, (0.5 * (bar.low + bar.high) - station) / along]
        for free, rise in ((bar.piece.radius + bar.low - station, -along), (bar.piece.radius - bar.high + station, along)):
            square, half = length - along ** 2, slope - free * rise
            rest = np.einsum("ni,ni->n", start[:, :2], start[:, :2]) - free ** 2
            root = -half - np.copysign(np.sqrt(np.maximum(half ** 2 - square * rest, 0.0)), half)
            shares += [root / square, rest / root]
    share = np.stack(shares, axis=1)
    share = np.where(np.isfinite(share), np.minimum(np.maximum(share, 0.0), 1.0), 0.0)
    points = start[:, None] + share[..., None] * step[:, None]
    line, place = divmod(int(bar.depth(points).argmax()), share.shape[1])
    return points[line, place], line // 3 if line < sides.size // 3 else int(held[line - sides.size // 3])


def _steepest(triangles: np.ndarray, sides: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """What triangles (t, 3, 3) with these sides hold of the lines in their planes that run through a bar's axis as steeply as the plane
    does: (of which triangle each is, (n,), where it begins, the way to its end, (n, 3)); of a plane that runs along the axis the line next
    to that."""
    normal = cross(sides[:, 0], sides[:, 1])
    normal /= np.sqrt(np.maximum(dot(normal, normal), TINY))[:, None]
    foot = dot(triangles[:, 0], normal)[:, None] * normal
    line = np.array([0.0, 0.0, 1.0]) - normal[:, 2:] * normal
    # Square to the axis every line through it will do.
    line = np.where(dot(line, line)[:, None] > TINY, line, sides[:, 0])
    line /= np.sqrt(np.maximum(dot(line, line), TINY))[:, None]
    inward = cross(normal[:, None], sides)
    rate, off = np.einsum("tij,tj->ti", inward, line), dot(inward, triangles - foot[:, None])
    level = np.abs(rate) < TINY
    at = off / np.where(level, 1.0, rate)
    first, last = np.where(level | (rate < 0.0), -np.inf, at).max(axis=1), np.where(level | (rate > 0.0), np.inf, at).min(axis=1)
    held = np.flatnonzero((first < last) & np.isfinite(last - first) & ~(level & (off > 0.0)).any(axis=1))
    first, last, line = first[held, None], last[held, None], line[held]
    return held, foot[held] + first * line, (last - first) * line


def _normals(triangles: np.ndarray) -> np.ndarray:
    """Outward unit normals of a skin's triangles, (n, 3)."""
    normals = cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    return normals / np.sqrt(np.maximum(dot(normals, normals), TINY))[:, None]


def _candidates(points: np.ndarray, bar: Bar, inner: float) -> list[int]:
    """Numbers of some of the points that lie deep enough between a radius and a tube's outside, where it is whole first."""
    away = _away(points)
    deep = np.minimum(away - inner, bar.piece.radius - away) > 0.5 * FIT
    whole = deep & bar.along(points)
    chosen = np.flatnonzero(whole if whole.any() else deep)
    # Those side by side are good or bad together.
    return chosen[_spread(len(chosen))].tolist()


def _spread(count: int) -> list[int]:
    """Some of so many numbers, from first to last."""
    return [number * (count - 1) // (TRIES - 1) for number in range(TRIES)] if count > TRIES else list(range(count))
