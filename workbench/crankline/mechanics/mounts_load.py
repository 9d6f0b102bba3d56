"""What the powertrain's mounts have to carry: launch torque and inertia, shared among the mounts; mm, N, kg, N.mm.

Car frame: X forward, Y left, Z up. Screening arithmetic for a builder, never a certificate.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from . import frames
from .balance import STANDARD_GRAVITY
from .shaft import KG_MM_PER_NEWTON


@dataclass(frozen=True)
class LoadCase:
    """One state of the car: its acceleration in g along X, Y, Z (forward, left, up; gravity comes on top) and the share
    of the launch torque that acts in it."""

    name: str
    forward: float = 0.0
    left: float = 0.0
    up: float = 0.0
    torque: float = 0.0


ASSUMED_CASES = (
    LoadCase("launch", forward=3.0, torque=1.0),
    LoadCase("landing", up=4.0),
    LoadCase("braking", forward=-2.5),
    LoadCase("side left", left=2.0),
    LoadCase("side right", left=-2.0),
    LoadCase("torque reversal", forward=-1.5, torque=-0.5),
)
"""Assumed defaults, common practice, no source: launch on slicks, coming down from a wheelstand, parachute and brakes, a
slide, and the driveline's kick-back after wheelspin. A builder who has measured replaces them."""


@dataclass(frozen=True, eq=False)
class Spring:
    """One mount as a spring: name, point in the car frame, stiffness (3, 3) in N/mm: force on it over its displacement.

    A spring that gives along the axes only has a diagonal one; one that pushes across as it gives (a leaning foot, a strut) has not.
    """
    name: str
    point: tuple[float, float, float]
    stiffness: np.ndarray


def reaction_torque(shaft_torque: ArrayLike, output_axis: ArrayLike = (1.0, 0.0, 0.0), clockwise: bool = True) -> np.ndarray:
    """Moment (..., 3) in N.mm on the powertrain from the torque it puts into the driveshaft.

    A standard engine turns clockwise seen from the front, so it drives the shaft about -X; the shaft holds against it, and
    the powertrain is turned about +X: its left side rises. output_axis: forward along the output shaft.
    """
    sign = 1.0 if clockwise else -1.0
    return sign * np.asarray(shaft_torque, dtype=float)[..., None] * np.asarray(output_axis, dtype=float)


def case_loads(
    mass: float, cg: ArrayLike, shaft_torque: float, cases: Sequence[LoadCase] = ASSUMED_CASES,
    output_axis: ArrayLike = (1.0, 0.0, 0.0),
) -> tuple[np.ndarray, np.ndarray]:
    """Force (cases, 3) in N through the center of gravity and moment (cases, 3) in N.mm about the car's origin.

    mass in kg and cg (3,) of the whole powertrain. Inertia acts against the acceleration, weight down.
    """
    acceleration = np.array([[case.forward, case.left, case.up + 1.0] for case in cases])
    force = -float(mass) * STANDARD_GRAVITY / KG_MM_PER_NEWTON * acceleration
    torque = reaction_torque(shaft_torque * np.array([case.torque for case in cases]), output_axis)
    return force, frames.cross(np.asarray(cg, dtype=float), force) + torque


def shares(held: Sequence[Spring], force: ArrayLike, moment: ArrayLike, give: ArrayLike | None = None) -> np.ndarray:
    """Forces (..., n, 3) in N that a rigid powertrain puts on its n springs; their sum is force, their moment is moment.

    With more springs than statics can tell apart the stiffness decides who carries what, so only its ratios matter; three springs not in
    line are enough. force (..., 3); moment (..., 3) about the car's origin, N.mm. give: compliance (3n, 3n), mm/N, of what the springs
    stand on, each seat's movement under a force on each; absent: it is rigid; (k, 3n, 3n): k of them, forces are then (k, ..., n, 3).
    ValueError where a stiffness is none, or where the springs
    leave a motion free.
    """
    points = np.array([spring.point for spring in held], dtype=float)
    stiffness = np.array([spring.stiffness for spring in held], dtype=float)
    if not (np.all(np.isfinite(stiffness)) and np.all(np.linalg.eigvalsh(stiffness) >= -1e-9 * np.abs(stiffness).max())):
        raise ValueError("mounts: found a stiffness below 0 or not finite; give N/mm of 0 or above")
    force, moment = np.broadcast_arrays(np.asarray(force, dtype=float), np.asarray(moment, dtype=float))
    # Turning about the middle of the springs, in units of their extent, keeps the equations well scaled.
    middle = points.mean(axis=0)
    extent = max(float(np.linalg.norm(points - middle, axis=-1).max()), 1e-9)
    arm, unit = (points - middle) / extent, np.eye(3)
    moved = np.concatenate([np.broadcast_to(unit, (len(held), 3, 3)), frames.cross(unit, arm[:, None]).swapaxes(1, 2)], axis=-1)
    size = 3 * len(held)
    whole = np.zeros((size, size))
    for number, own in enumerate(stiffness):
        whole[3 * number:3 * number + 3, 3 * number:3 * number + 3] = own
    if give is not None:
        # Springs and what they stand on give one behind the other: F = K (u - C F), so F = (1 + K C)^-1 K u.
        give = np.asarray(give, dtype=float)
        whole = np.linalg.solve(np.eye(size) + whole @ give, np.broadcast_to(whole, give.shape))
    columns = moved.reshape(size, 6)
    pushed = whole @ columns
    matrix = columns.T @ pushed
    # The least and the most that holds any motion.
    held_by = np.linalg.eigvalsh(matrix)
    if not np.all(held_by[..., 0] > 1e-12 * held_by[..., -1]):
        raise ValueError("mounts: found a motion of the powertrain that no mount holds; add a front plate, a transmission mount or a "
                         "support tube")
    load = np.concatenate([force, (moment - frames.cross(middle, force)) / extent], axis=-1)
    loads = load.reshape(-1, 6).T
    found = pushed @ np.linalg.solve(matrix, np.broadcast_to(loads, (*matrix.shape[:-2], *loads.shape)))
    return found.swapaxes(-1, -2).reshape(*matrix.shape[:-2], *load.shape[:-1], len(held), 3)
