"""Lower bounds of how far the faces of a long slender body keep from triangles around it, as a shaft's do from its tunnel's. Plain
numbers, no host.

Boxes of such faces and triangles are as long as these, and overlap because they lean; seen along the body they stand apart. A direction
keeps a face and a triangle apart by what is between the planes square to it that hold them (as the separating axes of S. Gottschalk,
M. C. Lin, D. Manocha, OBBTree, 1996).
"""
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from .skin import ROUNDING, Skin

DIRECTIONS = 24
"""Directions around a body."""

SLENDER = 4.0
"""How many times as long as it is wide a body is that is taken for one, by the spread of its corners."""

MOST = 1000
"""Triangles around a body beyond which their boxes are small enough to tell as much in less time."""


@dataclass(frozen=True, eq=False)
class Slabs:
    """Unit vectors (k, 3) in a slender body's frame, square to its length and along it, and how far each of its faces reaches along them at
    most, mm, (f, k)."""
    ways: np.ndarray
    reaches: np.ndarray

    def gaps(self, other: Skin, pose: np.ndarray) -> np.ndarray:
        """What its faces keep at least from the triangles of another skin, mm, (f, t), less than 0 where that is not known; pose: (4, 4),
        from the other's frame to the body's."""
        lows = (other.corners @ (self.ways @ pose[:3, :3]).T).min(axis=1) + self.ways @ pose[:3, 3] - other.slack[other.face, None]
        found = np.full((len(self.reaches), len(lows)), -np.inf)
        for reach, low in zip(self.reaches.T, lows.T):
            np.maximum(found, low - reach[:, None], out=found)
        return found - ROUNDING


def of(skin: Skin) -> Slabs | None:
    """The slabs of a skin in its own frame; None of a body that is not slender."""
    corners = skin.corners.reshape(-1, 3)
    off = corners - corners.mean(axis=0)
    spreads, axes = np.linalg.eigh(off.T @ off)
    if not math.isfinite(skin.slack.max()) or spreads[2] < SLENDER ** 2 * spreads[1]:
        return None
    turn = np.arange(DIRECTIONS) * (2.0 * math.pi / DIRECTIONS)
    ways = np.concatenate([np.cos(turn)[:, None] * axes[:, 0] + np.sin(turn)[:, None] * axes[:, 1], (axes[:, 2], -axes[:, 2])])
    order, starts = skin.by_face
    return Slabs(ways, np.maximum.reduceat((skin.corners @ ways.T).max(axis=1)[order], starts) + skin.slack[:, None])
