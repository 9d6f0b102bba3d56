"""Surface points of a driveshaft, made without the code under test: a tube, and at each joint a cylinder with a ball."""
import numpy as np


def basis(axis):
    """Two unit vectors square to an axis (3,)."""
    first = np.cross(axis, [0.0, 0.0, 1.0])
    first = first / np.linalg.norm(first)
    return first, np.cross(axis, first)


def surface(rear, axis, length, body, stations, angles):
    """Points of the surface at stations along the shaft (from the rear joint) and angles about it, (s, a, 3), and those
    of both balls, (b, a, 3)."""
    stations = np.asarray(stations, dtype=float)
    left, up = basis(axis)
    around = np.cos(angles)[:, None] * left + np.sin(angles)[:, None] * up
    near = np.minimum(stations, length - stations)
    radius = np.where(near <= body.reach, body.joint, body.tube)
    side = rear + stations[:, None, None] * axis + radius[:, None, None] * around
    tilt = np.linspace(0.0, np.pi / 2, 9)
    balls = []
    for center, way in ((rear, -1.0), (rear + length * axis, 1.0)):
        balls.append(center + body.joint * (way * np.sin(tilt)[:, None, None] * axis + np.cos(tilt)[:, None, None] * around))
    return side, np.concatenate(balls)
