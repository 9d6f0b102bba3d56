"""Where a part's mark is etched on its flat pattern: the place with the most room around it, as large as there is room."""
from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from ..geometry.outline import Circle, Flat, Loop
from ..geometry.piece import Line2
from . import stroke_letters
from .stroke_letters import Point

HEIGHTS = (20.0, 12.0, 8.0, 6.0, 4.0, 3.0)
"""mm of the letters, the largest that fits being taken (common practice, no source)."""
CLEAR = 2.0
"""mm from the letters to any cut or line (common practice, no source)."""
GRID, STEP = 32, 2.0
"""Places tried along each side, and mm between the points of the cuts that they are held against (numerical)."""


def strokes(flat: Flat, text: str, bends: Sequence[Sequence[Point]] = (), trims: Sequence[Line2] = ()) -> tuple[tuple[Point, ...], ...]:
    """Lines of the mark in the flat's plane, level or upright; none where a flat has no room for the smallest letters. It keeps clear of
    bend lines (and whatever else is given as such) and trim lines, and is not on what is trimmed off."""
    cuts = np.concatenate([_points(item) for item in (flat.outer, *flat.inner)] + [_along(line) for line in (*bends, *trims)])
    for height in HEIGHTS:
        length = stroke_letters.width(text, height)
        best = max((_roomiest(flat, cuts, trims, size) for size in ((length, height), (height, length))), key=lambda found: found[0])
        if best[0] >= CLEAR:
            _room, (y, z), size = best
            upright = size[0] < size[1]

            def placed(point: Point, y: float = y, z: float = z, length: float = length, height: float = height,
                       upright: bool = upright) -> Point:
                across, up = point[0] - length / 2.0, point[1] - height / 2.0
                return (y - up, z + across) if upright else (y + across, z + up)

            return tuple(tuple(map(placed, line)) for line in stroke_letters.strokes(text, height))
    return ()


def beside(flat: Flat, hole: Circle, text: str, held: Sequence[Sequence[Point]] = ()) -> tuple[tuple[Point, ...], ...]:
    """Lines of a text close to a hole, level, clear of all cuts and of other lines that are etched; none where there is no room."""
    cuts = np.concatenate([_points(item) for item in (flat.outer, *flat.inner)] + [_along(line) for line in held])
    for height in HEIGHTS[2:]:
        length = stroke_letters.width(text, height)
        away = hole.diameter / 2.0 + CLEAR + STEP
        for turn in np.linspace(0.0, 2.0 * np.pi, 16, endpoint=False):
            across, up = float(np.cos(turn)), float(np.sin(turn))
            y, z = hole.y + across * (away + length / 2.0), hole.z + up * (away + height / 2.0)
            off = np.maximum(np.abs(np.array([y, z]) - cuts) - np.array([length, height]) / 2.0, 0.0)
            if float(np.hypot(off[:, 0], off[:, 1]).min()) - STEP / 2.0 >= CLEAR and _inside(flat, y, z):
                return tuple(tuple((y + a - length / 2.0, z + b - height / 2.0) for a, b in line)
                             for line in stroke_letters.strokes(text, height))
    return ()


def _roomiest(flat: Flat, cuts: np.ndarray, trims: Sequence[Line2],
              size: tuple[float, float]) -> tuple[float, tuple[float, float], tuple[float, float]]:
    """(mm from the box to the nearest cut, its middle, its size) where a box of a size has the most room; -1 where it has none."""
    low_y, low_z, high_y, high_z = flat.bounds
    ys, zs = np.linspace(low_y, high_y, GRID + 2)[1:-1], np.linspace(low_z, high_z, GRID + 2)[1:-1]
    places = np.array(np.meshgrid(ys, zs)).reshape(2, -1).T
    # Squares of how far each column and each row of places is off each cut; row by row, so that little is held at once.
    across, up = (np.maximum(np.abs(at[:, None] - cuts[:, i]) - size[i] / 2.0, 0.0) ** 2 for i, at in enumerate((ys, zs)))
    room = np.sqrt(np.concatenate([(across + row).min(axis=1) for row in up]))
    for i in np.argsort(-room, kind="stable"):
        # The line itself is sampled: what stands between two of its points is not seen.
        if room[i] - STEP / 2.0 < CLEAR:
            break
        if _inside(flat, *places[i]) and all(_kept(flat, trim, *places[i]) for trim in trims):
            return float(room[i] - STEP / 2.0), (float(places[i, 0]), float(places[i, 1])), size
    return -1.0, (0.0, 0.0), size


def _inside(flat: Flat, y: float, z: float) -> bool:
    """Whether a place is on the material."""
    def holds(item: Loop | Circle) -> bool:
        return math.hypot(y - item.y, z - item.z) < item.diameter / 2.0 if isinstance(item, Circle) else item.holds(y, z)

    return flat.outer.holds(y, z) and not any(map(holds, flat.inner))


def _kept(flat: Flat, trim: Line2, y: float, z: float) -> bool:
    """Whether a place is on the side of a trim line that the middle of the flat is on: less than half is trimmed off."""
    (y0, z0), (y1, z1) = trim

    def side(at: Point) -> float:
        return (y1 - y0) * (at[1] - z0) - (z1 - z0) * (at[0] - y0)

    return side((y, z)) * side(flat.centroid) > 0.0


def _points(item: Loop | Circle) -> np.ndarray:
    """Points on a cut no farther apart than ``STEP``, (n, 2)."""
    if isinstance(item, Circle):
        turn = np.linspace(0.0, 2.0 * np.pi, max(8, math.ceil(item.perimeter / STEP)), endpoint=False)
        return np.column_stack([item.y + item.diameter / 2.0 * np.cos(turn), item.z + item.diameter / 2.0 * np.sin(turn)])
    found = [segment.at(i / pieces) for segment in item.segments for pieces in (max(1, math.ceil(segment.length / STEP)),)
             for i in range(pieces)]
    return np.array(found)


def _along(line: Sequence[Point]) -> np.ndarray:
    """Points on a line of straight pieces, (n, 2)."""
    corners = np.array(line, float)
    return np.concatenate([np.linspace(a, b, max(2, math.ceil(float(np.linalg.norm(b - a)) / STEP) + 1))
                           for a, b in pairwise(corners)])
