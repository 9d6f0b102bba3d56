"""Rotations and frames in the car's axes: X forward, Y left, Z up, right-handed (the directions of ISO 8855).

Angles are right-handed about these axes: positive pitch lowers the front and raises the rear (nose down), positive
yaw turns the front to the left, positive roll lowers the right side. A rotation is R = Rz(yaw) Ry(pitch) Rx(roll):
its columns are the moved axes, written in the car frame.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike


def cross(a: ArrayLike, b: ArrayLike) -> np.ndarray:
    """Cross product of vectors of shape (..., 3) that broadcast. Bit for bit numpy's own, which takes several times as long for single
    pairs: a placement needs some dozens of them."""
    a, b = np.asarray(a, dtype=float), np.asarray(b, dtype=float)
    ax, ay, az, bx, by, bz = a[..., 0], a[..., 1], a[..., 2], b[..., 0], b[..., 1], b[..., 2]
    result = np.empty(a.shape if a.shape == b.shape else np.broadcast_shapes(a.shape, b.shape))
    result[..., 0] = ay * bz - az * by
    result[..., 1] = az * bx - ax * bz
    result[..., 2] = ax * by - ay * bx
    return result


def dot(a: ArrayLike, b: ArrayLike) -> np.ndarray:
    """Scalar product of vectors of shape (..., 3) that broadcast: numpy's sum over the last axis bit for bit, several times as fast on many
    vectors."""
    a, b = np.asarray(a, dtype=float), np.asarray(b, dtype=float)
    return np.asarray(a[..., 0] * b[..., 0] + a[..., 1] * b[..., 1] + a[..., 2] * b[..., 2])


def rotation(roll: ArrayLike = 0.0, pitch: ArrayLike = 0.0, yaw: ArrayLike = 0.0) -> np.ndarray:
    """Rotation matrices Rz(yaw) Ry(pitch) Rx(roll), shape (..., 3, 3), from angles in rad that broadcast."""
    roll, pitch, yaw = np.broadcast_arrays(*(np.asarray(angle, dtype=float) for angle in (roll, pitch, yaw)))
    sin_r, cos_r = np.sin(roll), np.cos(roll)
    sin_p, cos_p = np.sin(pitch), np.cos(pitch)
    sin_y, cos_y = np.sin(yaw), np.cos(yaw)
    result = np.empty(roll.shape + (3, 3))
    result[..., 0, 0] = cos_y * cos_p
    result[..., 0, 1] = cos_y * sin_p * sin_r - sin_y * cos_r
    result[..., 0, 2] = cos_y * sin_p * cos_r + sin_y * sin_r
    result[..., 1, 0] = sin_y * cos_p
    result[..., 1, 1] = sin_y * sin_p * sin_r + cos_y * cos_r
    result[..., 1, 2] = sin_y * sin_p * cos_r - cos_y * sin_r
    result[..., 2, 0] = -sin_p
    result[..., 2, 1] = cos_p * sin_r
    result[..., 2, 2] = cos_p * cos_r
    return result


def direction(pitch: ArrayLike, yaw: ArrayLike = 0.0) -> np.ndarray:
    """Forward unit vectors, shape (..., 3), of axes with this pitch and yaw in rad (pinion, crank, shaft)."""
    pitch, yaw = np.broadcast_arrays(np.asarray(pitch, dtype=float), np.asarray(yaw, dtype=float))
    cos_p = np.cos(pitch)
    return np.stack([np.cos(yaw) * cos_p, np.sin(yaw) * cos_p, -np.sin(pitch)], axis=-1)


def as_point(values: ArrayLike) -> tuple[float, float, float]:
    """Three coordinates as plain floats."""
    x, y, z = np.asarray(values, dtype=float)
    return float(x), float(y), float(z)


@dataclass(frozen=True, eq=False)
class Frame:
    """A local frame (or an array of them) standing in the car frame.

    rotation: (..., 3, 3), columns are the local axes in the car frame; origin: (..., 3), mm in the car frame. Leading
    axes of frame and points broadcast; `frame[:, None]` makes room for several points in each of several frames.
    """

    rotation: np.ndarray
    origin: np.ndarray

    def to_car(self, points: ArrayLike) -> np.ndarray:
        """Points given in this frame, shape (..., 3), written in the car frame."""
        return self.directions_to_car(points) + self.origin

    def to_local(self, points: ArrayLike) -> np.ndarray:
        """Points given in the car frame, shape (..., 3), written in this frame."""
        return self.directions_to_local(np.asarray(points, dtype=float) - self.origin)

    def directions_to_car(self, vectors: ArrayLike) -> np.ndarray:
        """Directions (not moved by the origin) given in this frame, written in the car frame."""
        return np.einsum("...ij,...j->...i", self.rotation, np.asarray(vectors, dtype=float))

    def directions_to_local(self, vectors: ArrayLike) -> np.ndarray:
        """Directions (not moved by the origin) given in the car frame, written in this frame."""
        return np.einsum("...ji,...j->...i", self.rotation, np.asarray(vectors, dtype=float))

    @property
    def axis(self) -> np.ndarray:
        """The frame's forward axis as unit vectors in the car frame, shape (..., 3)."""
        return np.asarray(self.rotation)[..., :, 0]

    @property
    def matrix(self) -> np.ndarray:
        """Homogeneous matrices of shape (..., 4, 4) that take local points to the car frame."""
        turned, origin = np.asarray(self.rotation, dtype=float), np.asarray(self.origin, dtype=float)
        shape = np.broadcast_shapes(turned.shape[:-2], origin.shape[:-1])
        result = np.zeros(shape + (4, 4))
        result[..., :3, :3] = turned
        result[..., :3, 3] = origin
        result[..., 3, 3] = 1.0
        return result

    def __getitem__(self, key: Any) -> Frame:
        """Frames picked from, or axes added to, the leading axes: frame[3], frame[mask], frame[:, None]."""
        key = key if isinstance(key, tuple) else (key,)
        turned, origin = np.asarray(self.rotation, dtype=float), np.asarray(self.origin, dtype=float)
        shape = np.broadcast_shapes(turned.shape[:-2], origin.shape[:-1])
        turned = np.broadcast_to(turned, shape + (3, 3))
        origin = np.broadcast_to(origin, shape + (3,))
        if any(part is Ellipsis for part in key):
            return Frame(turned[key + (slice(None), slice(None))], origin[key + (slice(None),)])
        return Frame(turned[key + (Ellipsis, slice(None), slice(None))], origin[key + (Ellipsis, slice(None))])
