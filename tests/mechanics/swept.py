"""Surface points of a driveshaft, made without the code under test: a tube, and at each joint a cylinder with a ball."""
import numpy as np


def basis(axis):
    """Two unit vectors square to an axis (..., 3)."""
    first = np.cross(axis, [0.0, 0.0, 1.0])
    first = first / np.linalg.norm(first, axis=-1, keepdims=True)
    return first, np.cross(axis, first)


def surface(rear, axis, length, body, stations, angles):
    """Points of the surface at stations along the shaft (from the rear joint) and angles about it, (..., s, a, 3), and those
    of both balls, (..., b, a, 3). One shaft or many: rear and axis are (..., 3), length (...), stations (..., s), angles (..., a)."""
    stations, length = np.asarray(stations, dtype=float), np.asarray(length, dtype=float)[..., None]
    left, up = basis(axis)
    around = np.cos(angles)[..., None] * left[..., None, :] + np.sin(angles)[..., None] * up[..., None, :]
    near = np.minimum(stations, length - stations)
    radius = np.where(near <= body.reach, body.joint, body.tube)
    line = rear[..., None, :] + stations[..., None] * axis[..., None, :]
    side = line[..., None, :] + radius[..., None, None] * around[..., None, :, :]
    tilt = np.linspace(0.0, np.pi / 2, 9)
    balls = []
    for center, way in ((rear, -1.0), (rear + length * axis, 1.0)):
        middles = center[..., None, :] + body.joint * way * np.sin(tilt)[:, None] * axis[..., None, :]
        balls.append(middles[..., None, :] + body.joint * np.cos(tilt)[:, None, None] * around[..., None, :, :])
    return side, np.concatenate(balls, axis=-3)
