"""What rules ask of a loop, found on its shape: closed angle, section, stations. Nothing is taken from its parameters.

Shapes may stand anywhere: ``center`` is a point on the loop's axis and ``axis`` its direction, both in the shape's frame.
"""
from __future__ import annotations

import heapq
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from ..host import FreeCAD, Part

Vector: TypeAlias = FreeCAD.Vector
FORWARD = (1.0, 0.0, 0.0)
TOP = math.pi / 2
"""Angle of straight up; angles in a loop's plane count from left (+y for an axis that points forward) toward up."""
PIN_RADIUS = 15.0
"""Larger cylinders along the loop's axis are straps, bends and copes, mm; a 5/16 in pin has 4 (common practice, no source)."""
CHORD = 0.5
"""Deflection of the mesh that the closed angle is taken from, mm. It does not enter the angle of plane ends (numerical)."""
JOINED = 1e-8
"""mm within which corners of triangles are one (numerical)."""
MOST_TRIED = 500
"""Corners from which a way around the axis is sought on; where there is one, a hundred mostly lead to it (numerical)."""
ROUND = 0.02
"""How far area and sides of a cut may be off those of a circle that still counts as one (numerical)."""


@dataclass(frozen=True)
class Section:
    """A cut through a loop's material by a half plane from its axis, mm. ``wall`` is 0 for solid material.

    ``thickness`` lies in the loop's plane and ``width`` along the axis; for round material both are the diameter.
    ``inner_radius``: axis to the inside of the ring there; ``rear``, ``front``: ends along the axis from the center.
    """
    round: bool
    thickness: float
    width: float
    wall: float
    inner_radius: float
    rear: float
    front: float


def closed_angle_of(triangles: np.ndarray, center, axis=FORWARD, reach: float | None = None) -> float:
    """Angle around an axis over which a surface's triangles, (n, 3, 3), close it, rad; reach: how far from it they count, mm."""
    corners = _plane_corners(triangles, center, axis)
    if len(corners) == 0:
        return 0.0
    if _holds_origin(corners):
        return 2 * math.pi
    if reach is None:
        return _union(*_seen(corners, corners, np.ones(corners.shape[:2], bool)))
    held = np.hypot(corners[..., 0], corners[..., 1]) <= reach
    # Only what is not wholly within reach is cut off by it.
    whole, cut = held.all(axis=1), corners[~held.all(axis=1)]
    crossings, real = _circle_crossings(cut, np.roll(cut, -1, axis=1), reach)
    inner = _seen(corners[whole], corners[whole], held[whole])
    outer = _seen(cut, np.concatenate([cut, crossings], axis=1), np.concatenate([held[~whole], real], axis=1))
    return _union(np.concatenate([inner[0], outer[0]]), np.concatenate([inner[1], outer[1]]))


def way_round(triangles: np.ndarray, center, axis=FORWARD, reach: float = math.inf) -> np.ndarray:
    """Numbers (k,), among the 3 n corners of triangles (n, 3, 3), of a closed way along their sides around an axis and within reach of it,
    which shows that they close it (`goes_round`); none where none is found from the corner that is nearest to the axis."""
    plane = _plane_corners(triangles, center, axis)
    away = np.hypot(plane[..., 0], plane[..., 1])
    chosen = np.flatnonzero((away <= reach).all(axis=1))
    none = np.zeros(0, dtype=int)
    if len(chosen) == 0:
        return none
    points, flat = triangles[chosen].reshape(-1, 3), plane[chosen].reshape(-1, 2)
    angle = np.arctan2(flat[:, 1], flat[:, 0])
    # Corners that are one, told by a number that hardly any others share; those that share it by chance are left out.
    mark = points @ (1.0, math.sqrt(2.0), math.sqrt(3.0))
    order = np.argsort(mark)
    begins = np.flatnonzero(np.diff(mark[order], prepend=-np.inf, append=np.inf) > JOINED)
    place = np.repeat(np.arange(len(begins) - 1), np.diff(begins))
    one = (np.abs(points[order] - points[order[begins[:-1]]][place]) <= JOINED).all(axis=1)
    numbers = np.empty(len(points), dtype=int)
    numbers[order] = np.where(one, place, -1)
    start = int(np.argmin(away[chosen]))
    # One after another: plain numbers.
    of, angles, ends = numbers.tolist(), angle.tolist(), begins.tolist()
    # How far round each is, the corner by which it was come to, and the one before it; the farthest goes on first.
    turned, before, waiting = {of[start]: 0.0}, {of[start]: (start, -1)}, [(0.0, of[start])]
    for _try in range(MOST_TRIED):
        if not waiting:
            break
        _ahead, here = heapq.heappop(waiting)
        for corner in order[ends[here]:ends[here + 1]].tolist():
            first = corner - corner % 3
            for other in (first + (corner + 1) % 3, first + (corner + 2) % 3):
                there = of[other]
                if of[corner] < 0 or there < 0:
                    continue
                far = turned[here] + (angles[other] - angles[corner] + math.pi) % (2 * math.pi) - math.pi
                if there not in turned:
                    turned[there], before[there] = far, (other, here)
                    heapq.heappush(waiting, (-far, there))
                elif abs(far - turned[there]) > math.pi:
                    way = np.array([*_back(before, here), *_back(before, there)[-2::-1]])
                    return 3 * chosen[way // 3] + way % 3
    return none


def _back(before: Mapping[int, tuple[int, int]], end: int) -> list[int]:
    """The corners from an end back to where it was begun."""
    found = []
    while end >= 0:
        corner, end = before[end]
        found.append(corner)
    return found


def _between(turn: ArrayLike) -> np.ndarray:
    """A turn, rad, as one of at most half a turn."""
    return (np.asarray(turn) + math.pi) % (2 * math.pi) - math.pi


def goes_round(way: np.ndarray, center, axis=FORWARD, reach: float = math.inf) -> bool:
    """Whether a closed way through points (k, 3) leads around an axis within reach of it: what it lies on is then seen from there all
    around."""
    if len(way) == 0:
        return False
    left, up = _plane_coordinates(way, center, axis)[:, :2].T
    angle = np.arctan2(up, left)
    return bool(np.hypot(left, up).max() <= reach and abs(_between(np.roll(angle, -1) - angle).sum()) > math.pi)


def _seen(corners: np.ndarray, points: np.ndarray, valid: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """From which angle to which the valid ones of points, (n, k, 2) and (n, k), of triangles are seen from the origin, (m,) each."""
    middle = corners[:, 0] + corners[:, 1] + corners[:, 2]      # three times as far out, in the same direction
    base = np.arctan2(middle[:, 1], middle[:, 0])
    angle = _between(np.arctan2(points[..., 1], points[..., 0]) - base[:, None])
    low = np.where(valid, angle, np.inf).min(axis=1, initial=np.inf)
    high = np.where(valid, angle, -np.inf).max(axis=1, initial=-np.inf)
    kept = low <= high
    return (base + low)[kept], (base + high)[kept]


def _union(low: np.ndarray, high: np.ndarray) -> float:
    """Total length of a union of intervals on the circle."""
    turn = 2 * math.pi
    shift = np.floor(low / turn) * turn
    low, high = low - shift, high - shift
    past = high > turn
    low, high = np.concatenate([low, np.zeros(past.sum())]), np.concatenate([np.minimum(high, turn), high[past] - turn])
    if len(low) == 0:
        return 0.0
    order = np.argsort(low)
    low, high = low[order], high[order]
    so_far = np.maximum.accumulate(high)
    # Neighboring triangles share a corner to the last bits only.
    gaps = np.maximum(0.0, low[1:] - so_far[:-1])
    missing = low[0] + max(0.0, turn - so_far[-1]) + gaps[gaps > 1e-9].sum()
    return float(turn - (missing if missing > 1e-9 else 0.0))


def _circle_crossings(start: np.ndarray, end: np.ndarray, radius: float) -> tuple[np.ndarray, np.ndarray]:
    """Points where edges cross a circle about the origin, (n, 6, 2), and which of them exist."""
    step = end - start
    a = (step ** 2).sum(-1)
    b = (start * step).sum(-1)
    c = (start ** 2).sum(-1) - radius ** 2
    root = b ** 2 - a * c
    real = (root >= 0) & (a > 0)
    safe, spread = np.where(a > 0, a, 1.0), np.sqrt(np.where(real, root, 0.0))
    ways = [(-b - spread) / safe, (-b + spread) / safe]
    return (np.concatenate([start + way[..., None] * step for way in ways], axis=1),
            np.concatenate([real & (way >= 0) & (way <= 1) for way in ways], axis=1))


def _holds_origin(corners: np.ndarray) -> bool:
    """Whether the axis passes through a triangle."""
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    turn = [p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0] for p, q in ((a, b), (b, c), (c, a))]
    signs = np.stack(turn)
    area = np.abs(signs.sum(axis=0))
    return bool((((signs > 0).all(0) | (signs < 0).all(0)) & (area > 1e-9)).any())


def _basis(axis) -> np.ndarray:
    """Rows: left and up in the loop's plane, and its axis."""
    forward = np.asarray(axis, dtype=float) / np.linalg.norm(axis)
    up = np.array([0.0, 0.0, 1.0]) if abs(forward[2]) < 0.9 else np.array([1.0, 0.0, 0.0])
    left = np.cross(up, forward)
    left /= np.linalg.norm(left)
    return np.stack([left, np.cross(forward, left), forward])


def _plane_corners(triangles: np.ndarray, center, axis) -> np.ndarray:
    """Corners (n, 3, 2) of triangles, (left, up) from the center."""
    return _plane_coordinates(triangles.reshape(-1, 3), center, axis)[:, :2].reshape(-1, 3, 2)


def _plane_coordinates(points: np.ndarray, center, axis) -> np.ndarray:
    """Points as (left, up, along) from the center."""
    return (points - np.asarray(center, dtype=float)) @ _basis(axis).T


def section(shape: Part.Shape, center, axis=FORWARD, angle: float = TOP) -> Section | None:
    """The section nearest to the axis in a half plane at an angle; None where nothing is met.

    A cut that is not square to the material shows it too large: take the top or the bottom, where a ring is square.
    """
    left, up, forward = _basis(axis)
    outward = math.cos(angle) * left + math.sin(angle) * up
    normal = np.cross(forward, outward)
    center = np.asarray(center, dtype=float)
    wires = _cut(shape, center, normal, outward)
    spans = []
    for wire in wires:
        points = np.array([tuple(p) for p in wire.discretize(Number=max(180, 12 * len(wire.Edges)))]) - center
        r, x = points @ outward, points @ forward
        if r.max() > 0.0:
            spans.append((r.min(), r.max(), x.min(), x.max(), wire))
    if not spans:
        return None
    first = min(spans, key=lambda span: span[0])
    inside = [span for span in spans if span is not first and span[0] > first[0] and span[1] < first[1]
              and span[2] > first[2] and span[3] < first[3]]
    thickness, width = first[1] - first[0], first[3] - first[2]
    area = Part.Face(first[4]).Area
    is_round = abs(area / (math.pi / 4 * thickness * width) - 1.0) < ROUND and abs(thickness / width - 1.0) < ROUND
    wall = 0.0
    if inside:
        bore = max(inside, key=lambda span: span[1] - span[0])
        wall = min(bore[0] - first[0], first[1] - bore[1], bore[2] - first[2], first[3] - bore[3])
    return Section(is_round, thickness, width, wall, first[0], first[2], first[3])


def _cut(shape: Part.Shape, center: np.ndarray, normal: np.ndarray, outward: np.ndarray) -> list:
    """Wires of a cut by the plane of a half plane, those of the half plane at least."""
    met = _met(shape, center, normal, outward)
    if not met:
        return []
    place = Vector(*normal), float(normal @ center)
    edges = [edge for wire in Part.Compound(met).slice(*place) for edge in wire.Edges]
    wires = [Part.Wire(group) for group in Part.sortEdges(edges)]
    # Faces that were cut at an edge of theirs leave gaps.
    return wires if all(wire.isClosed() for wire in wires) else shape.slice(*place)


def _met(shape: Part.Shape, center: np.ndarray, normal: np.ndarray, outward: np.ndarray) -> list:
    """Faces whose boxes a half plane meets: cut alone they cost a tenth of the whole shape."""
    found = []
    for face in shape.Faces:
        box = face.BoundBox
        middle, half = np.array(box.Center) - center, 0.5 * np.array([box.XLength, box.YLength, box.ZLength])
        if abs(middle @ normal) <= np.abs(normal) @ half and middle @ outward + np.abs(outward) @ half >= 0.0:
            found.append(face)
    return found


def seats(shape: Part.Shape, axis=FORWARD) -> tuple[tuple[Vector, bool], ...]:
    """Seats of pins along the loop's axis, from the full cylinders of no more than ``PIN_RADIUS`` on the shape: a point of
    each in the plane through the frame's origin, and whether it is an open hole.

    A pin is a cylinder seen from outside, a hole one seen from inside; faces about one line are one seat.
    """
    forward = Vector(*axis).normalize()
    lines: list[Vector] = []
    holes: list[bool] = []
    for face in shape.Faces:
        surface = face.Surface
        if surface.TypeId != "Part::GeomCylinder" or surface.Radius > PIN_RADIUS or surface.Axis.cross(forward).Length > 1e-6:
            continue
        first, last, low, high = face.ParameterRange
        if last - first < 2 * math.pi - 0.01:
            continue
        line = surface.Center - forward * surface.Center.dot(forward)
        point = face.valueAt(first, (low + high) / 2)
        outward = point - surface.Center
        outward -= forward * outward.dot(forward)
        hole = face.normalAt(first, (low + high) / 2).dot(outward) < 0.0
        near = next((i for i, known in enumerate(lines) if (known - line).Length < 0.5), None)
        if near is None:
            lines.append(line)
            holes.append(hole)
        else:
            holes[near] |= hole
    return tuple(zip(lines, holes))
