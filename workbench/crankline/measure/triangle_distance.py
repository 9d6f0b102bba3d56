"""Distances of triangles, many pairs at once. Plain numbers, no host.

The least distance of two triangles that do not cross lies between two of their edges, or between a corner of one and the inside of
the other (C. Ericson, Real-Time Collision Detection, 2005, 5.1); if they cross, an edge of one pierces the other.
"""
from __future__ import annotations

import numpy as np

from ..mechanics.frames import cross

TINY = 1e-12


def distances(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Distance of each triangle of a, (n, 3, 3), from the one beside it in b, (n, 3, 3); 0 where they meet."""
    found = _edges(a, b)
    for one, other in ((a, b), (b, a)):
        normal = cross(other[:, 1] - other[:, 0], other[:, 2] - other[:, 0])
        size = np.linalg.norm(normal, axis=1)
        flat = size > TINY
        unit = normal / np.where(flat, size, 1.0)[:, None]
        heights = np.einsum("nij,nj->ni", one - other[:, None, 0], unit)
        # A corner over the inside of the other.
        feet = one - heights[..., None] * unit[:, None]
        over = _inside(feet, other, unit) & flat[:, None]
        found = np.minimum(found, np.where(over, np.abs(heights), np.inf).min(axis=1))
        # An edge through the inside of the other.
        first, second = heights, np.roll(heights, -1, axis=1)
        through = (first * second <= 0.0) & (np.abs(first - second) > TINY) & flat[:, None]
        share = np.where(through, first / np.where(through, first - second, 1.0), 0.0)
        places = one + share[..., None] * (np.roll(one, -1, axis=1) - one)
        pierced = (through & _inside(places, other, unit)).any(axis=1)
        found[pierced] = 0.0
    return found


def _inside(points: np.ndarray, triangles: np.ndarray, unit: np.ndarray) -> np.ndarray:
    """Whether points (n, k, 3) in the planes of triangles (n, 3, 3) with unit normals lie in them, (n, k)."""
    held = np.ones(points.shape[:2], bool)
    for i in range(3):
        start, step = triangles[:, i], triangles[:, (i + 1) % 3] - triangles[:, i]
        inward = cross(unit, step)
        held &= np.einsum("nkj,nj->nk", points - start[:, None], inward) >= 0.0
    return held


def _edges(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Least distance of the edges of triangles, (n,)."""
    best = np.full(len(a), np.inf)
    for i in range(3):
        p, u = a[:, i, None], (a[:, (i + 1) % 3] - a[:, i])[:, None]                        # (n, 1, 3)
        q, v = b, np.roll(b, -1, axis=1) - b                                                # (n, 3, 3)
        best = np.minimum(best, segments(p, u, q, v).min(axis=1))
    return best


def segments(p: np.ndarray, u: np.ndarray, q: np.ndarray, v: np.ndarray) -> np.ndarray:
    """Distance of the segments p to p + u and q to q + v, arrays (..., 3)."""
    r = p - q
    a, e, f = (u * u).sum(-1), (v * v).sum(-1), (v * r).sum(-1)
    c, b = (u * r).sum(-1), (u * v).sum(-1)
    safe_a, safe_e = np.where(a > TINY, a, 1.0), np.where(e > TINY, e, 1.0)
    determinant = a * e - b * b
    s = np.where(determinant > TINY * a * e, (b * f - c * e) / np.where(determinant > TINY * a * e, determinant, 1.0), 0.0).clip(0.0, 1.0)
    t = np.where(e > TINY, (b * s + f) / safe_e, 0.0)
    held = t.clip(0.0, 1.0)
    s = np.where(a > TINY, (b * held - c) / safe_a, 0.0).clip(0.0, 1.0)
    # The nearest point of the second segment to where the first one now ends.
    t = np.where(e > TINY, (b * s + f) / safe_e, 0.0).clip(0.0, 1.0)
    gap = r + s[..., None] * u - t[..., None] * v
    return np.sqrt((gap * gap).sum(-1))


def from_line(triangles: np.ndarray, point: np.ndarray, axis: np.ndarray) -> np.ndarray:
    """Least distance of triangles (n, 3, 3) from lines through points along unit axes, each (3,) or (n, 3)."""
    axis = np.broadcast_to(axis, (len(triangles), 3))
    off = triangles - (point if np.ndim(point) == 1 else np.asarray(point)[:, None])
    # Seen along the axis the line is a point.
    off = off - np.einsum("nij,nj->ni", off, axis)[..., None] * axis[:, None]
    step = np.roll(off, -1, axis=1) - off
    length = (step * step).sum(-1)
    share = np.where(length > TINY, -(off * step).sum(-1) / np.where(length > TINY, length, 1.0), 0.0).clip(0.0, 1.0)
    nearest = np.linalg.norm(off + share[..., None] * step, axis=-1).min(axis=1)
    # The line passes through the triangle where all its sides turn the same way around it.
    turns = np.einsum("nij,nj->ni", cross(off, np.roll(off, -1, axis=1)), axis)
    return np.where((turns > 0.0).all(axis=1) | (turns < 0.0).all(axis=1), 0.0, nearest)
