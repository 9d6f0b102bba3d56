"""Distances of triangles, many pairs at once. Plain numbers, no host.

The least distance of two triangles that do not cross lies between two of their edges, or between a corner of one and the inside of
the other (C. Ericson, Real-Time Collision Detection, 2005, 5.1); if they cross, an edge of one pierces the other.
"""
from __future__ import annotations

import math

import numpy as np

from ..mechanics.frames import cross, dot

TINY = 1e-12

NEXT = [1, 2, 0]
"""The corner after each."""


def distances(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Distance of each triangle of a, (n, 3, 3), from the one beside it in b, (n, 3, 3); 0 where they meet."""
    found = _edges(a, b)
    for one, other in ((a, b), (b, a)):
        normal = cross(other[:, 1] - other[:, 0], other[:, 2] - other[:, 0])
        size = np.sqrt(dot(normal, normal))
        flat = size > TINY
        unit = normal / np.where(flat, size, 1.0)[:, None]
        heights = dot(one - other[:, None, 0], unit[:, None])
        # A corner over the inside of the other.
        feet = one - heights[..., None] * unit[:, None]
        inward = _inward(other, unit)
        over = _inside(feet, other, inward) & flat[:, None]
        found = np.minimum(found, np.where(over, np.abs(heights), np.inf).min(axis=1))
        # An edge through the inside of the other.
        first, second = heights, heights[:, NEXT]
        through = (first * second <= 0.0) & (np.abs(first - second) > TINY) & flat[:, None]
        if through.any():
            share = np.where(through, first / np.where(through, first - second, 1.0), 0.0)
            places = one + share[..., None] * (one[:, NEXT] - one)
            found[(through & _inside(places, other, inward)).any(axis=1)] = 0.0
    return found


def _inward(triangles: np.ndarray, unit: np.ndarray) -> np.ndarray:
    """Directions (n, 3, 3) in the planes of triangles from each of their sides to the inside; unit: their normals, (n, 3)."""
    return cross(unit[:, None], triangles[:, NEXT] - triangles)


def _inside(points: np.ndarray, triangles: np.ndarray, inward: np.ndarray) -> np.ndarray:
    """Whether points (n, k, 3) in the planes of triangles (n, 3, 3) lie in them, (n, k)."""
    # What a side's corner lies along its own inward direction is the same for all points.
    return np.asarray((points @ inward.swapaxes(1, 2) >= dot(triangles, inward)[:, None]).all(axis=-1))


def _edges(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Least distance of the edges of triangles, (n,)."""
    found = segments(a[:, :, None], (a[:, NEXT] - a)[:, :, None], b[:, None], (b[:, NEXT] - b)[:, None])
    return np.asarray(found.reshape(len(a), 9).min(axis=1))


def segments(p: np.ndarray, u: np.ndarray, q: np.ndarray, v: np.ndarray) -> np.ndarray:
    """Distance of the segments p to p + u and q to q + v, arrays (..., 3)."""
    r = p - q
    a, e, f, c, b = dot(u, u), dot(v, v), dot(v, r), dot(u, r), dot(u, v)
    long_a, long_e = a > TINY, e > TINY
    safe_a, safe_e = np.where(long_a, a, 1.0), np.where(long_e, e, 1.0)
    both = a * e
    determinant = both - b * b
    askew = determinant > TINY * both
    s = _share(np.where(askew, (b * f - c * e) / np.where(askew, determinant, 1.0), 0.0))
    held = _share(np.where(long_e, (b * s + f) / safe_e, 0.0))
    s = _share(np.where(long_a, (b * held - c) / safe_a, 0.0))
    # The nearest point of the second segment to where the first one now ends.
    t = _share(np.where(long_e, (b * s + f) / safe_e, 0.0))
    gap = r + s[..., None] * u - t[..., None] * v
    return np.sqrt(dot(gap, gap))


def _share(values: np.ndarray) -> np.ndarray:
    """Held between 0 and 1; numpy's own clip takes several times as long on few."""
    return np.minimum(np.maximum(values, 0.0), 1.0)


def from_line(triangles: np.ndarray, point: np.ndarray, axis: np.ndarray) -> np.ndarray:
    """Least distance of triangles (n, 3, 3) from a line through a point along a unit axis, each (3,)."""
    # Seen along the axis the line is a point.
    x, y = ((triangles - point) @ across(axis).T).transpose(2, 0, 1)
    step_x, step_y = x[:, NEXT] - x, y[:, NEXT] - y
    length = step_x * step_x + step_y * step_y
    share = _share(-(x * step_x + y * step_y) / np.where(length > TINY, length, np.inf))
    near_x, near_y = x + share * step_x, y + share * step_y
    nearest = np.sqrt((near_x * near_x + near_y * near_y).min(axis=1))
    # The line passes through the triangle where all its sides turn the same way around it.
    turns = x * step_y - y * step_x
    nearest[(turns > 0.0).all(axis=1) | (turns < 0.0).all(axis=1)] = 0.0
    return nearest


def across(axis: np.ndarray) -> np.ndarray:
    """Two unit directions square to a unit axis and to each other, (2, 3)."""
    first = cross(axis, [0.0, 0.0, 1.0] if abs(axis[2]) < 0.5 else [1.0, 0.0, 0.0])
    first /= math.sqrt(float(first @ first))
    return np.stack([first, cross(axis, first)])
