"""Where chains of straight chords meet: the geometry behind the checks of ``outline``; numpy only."""
from __future__ import annotations

import numpy as np


def meeting(p: np.ndarray, q: np.ndarray, r: np.ndarray, s: np.ndarray) -> np.ndarray:
    """Index pairs (k, 2) of the chords p-q (n) and r-s (m) that meet, touching included."""
    low, high, low2, high2 = np.minimum(p, q), np.maximum(p, q), np.minimum(r, s), np.maximum(r, s)
    near = np.ones((len(p), len(r)), dtype=bool)
    for axis in (0, 1):
        near &= (high[:, None, axis] >= low2[None, :, axis]) & (high2[None, :, axis] >= low[:, None, axis])
    pairs = np.argwhere(near)

    def side(a, b, c):
        return (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])

    p, q, r, s = p[pairs[:, 0]], q[pairs[:, 0]], r[pairs[:, 1]], s[pairs[:, 1]]
    return pairs[(side(p, q, r) * side(p, q, s) <= 0.0) & (side(r, s, p) * side(r, s, q) <= 0.0)]


def self_crossing(points: np.ndarray) -> np.ndarray | None:
    """A point near which a closed chain of chords meets itself."""
    ends = np.roll(points, -1, axis=0)
    pairs = meeting(points, ends, points, ends)
    gap = (pairs[:, 1] - pairs[:, 0]) % len(points)
    pairs = pairs[(gap > 1) & (gap < len(points) - 1)]          # neighbors share their corner
    return points[pairs[0, 0]] if len(pairs) else None


def chains_meet(a: np.ndarray, b: np.ndarray) -> bool:
    """Whether two closed chains of chords meet, touching included."""
    return len(meeting(a, np.roll(a, -1, axis=0), b, np.roll(b, -1, axis=0))) > 0
