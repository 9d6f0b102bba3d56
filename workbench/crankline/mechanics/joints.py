"""Universal (Cardan) joints: true joint angles in space, what one joint does to speed, what two leave over.

Axes are forward-pointing vectors. Angles rad, speeds rad/s, torsional accelerations rad/s2. Textbook kinematics of the
Cardan joint: tan(theta_in) = tan(theta_out) cos(beta), with theta_in counted from the position in which the output
turns fastest.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..units import INCH
from .frames import cross, dot


def angle_between(a: ArrayLike, b: ArrayLike) -> np.ndarray:
    """True angle in space between vectors of shape (..., 3), 0 to pi; full precision for the smallest angles."""
    a, b = np.asarray(a, dtype=float), np.asarray(b, dtype=float)
    across = cross(a, b)
    return np.arctan2(np.sqrt(dot(across, across)), dot(a, b))


# --- two joints and the shaft between ---------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Driveline:
    """A driveshaft between its two joints, one entry a placement.

    front_angle, rear_angle: true joint angles. front_plane, rear_plane: the way in which the forward end of the output
    axis and of the pinion axis lean off the shaft, as an angle about the shaft's forward axis, right-handed, 0 = up, so
    positive = toward the right; without meaning at a joint angle of 0. residual: joint angle of the single joint that
    would shake as much as both together. length: between joint centers, mm. shaft_axis: forward unit vector (..., 3).
    """

    front_angle: np.ndarray
    rear_angle: np.ndarray
    front_plane: np.ndarray
    rear_plane: np.ndarray
    residual: np.ndarray
    length: np.ndarray
    shaft_axis: np.ndarray


def driveline(
    front_joint: ArrayLike,
    output_axis: ArrayLike,
    rear_joint: ArrayLike,
    pinion_axis: ArrayLike,
    phase: ArrayLike = 0.0,
) -> Driveline:
    """Joint angles, their planes, the residual and the joint distance of a two-joint driveline.

    front_joint, rear_joint: joint centers (..., 3), mm; output_axis, pinion_axis: forward directions (..., 3).
    residual = sqrt|b1^2 e^(2i f1) - b2^2 e^(2i (f2 + phase))|: zero for equal angles in one plane or mirrored ones.
    phase: rad by which the shaft's rear yoke leads its front yoke in the direction a standard-rotation engine turns
    (counter-clockwise seen from behind); 0 = the shaft's own yokes in line. nan where both joints coincide.
    """
    span = np.asarray(front_joint, dtype=float) - np.asarray(rear_joint, dtype=float)
    length = np.sqrt(dot(span, span))
    with np.errstate(divide="ignore", invalid="ignore"):
        shaft_axis = span / length[..., None]
    front_angle, front_plane = _lean(output_axis, shaft_axis)
    rear_angle, rear_plane = _lean(pinion_axis, shaft_axis)
    left_over = front_angle**2 * np.exp(2j * front_plane) - rear_angle**2 * np.exp(2j * (rear_plane + phase))
    return Driveline(
        front_angle=front_angle,
        rear_angle=rear_angle,
        front_plane=front_plane,
        rear_plane=rear_plane,
        residual=np.sqrt(np.abs(left_over)),
        length=length,
        shaft_axis=shaft_axis,
    )


def _lean(axis: ArrayLike, shaft_axis: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """A joint angle and its plane: how far an axis leans off the shaft, and which way, about the shaft from up."""
    axis = np.asarray(axis, dtype=float)
    # Up made square to the shaft; forward instead of up, should the shaft stand on end.
    on_end = np.abs(shaft_axis[..., 2:]) > 0.999999
    reference = np.where(on_end, [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]) if on_end.any() else np.array([0.0, 0.0, 1.0])
    up = reference - dot(reference, shaft_axis)[..., None] * shaft_axis
    right = cross(shaft_axis, up)
    plane = np.arctan2(dot(axis, right), dot(axis, up))
    return angle_between(axis, shaft_axis), plane


def phase_error(phase: ArrayLike) -> np.ndarray:
    """How far a shaft's own yokes are out of phase, rad, 0 to pi/2: yokes half a turn apart are in line again."""
    return np.abs((np.asarray(phase, dtype=float) + 0.5 * np.pi) % np.pi - 0.5 * np.pi)


# --- one joint --------------------------------------------------------------------------------------------------------


def nonuniformity(beta: ArrayLike) -> np.ndarray:
    """Spread of output speed over one turn as a share of input speed: U = 1/cos(beta) - cos(beta)."""
    return np.sin(beta) * np.tan(beta)  # the same, without the cancellation near zero


def inertia_excitation(beta: ArrayLike, omega: ArrayLike) -> np.ndarray:
    """Small-angle peak acceleration beta^2 omega^2, rad/s2: with a joint angle the inertia excitation of the shaft,
    with the `residual` of a driveline the torsional excitation that is left."""
    return (np.asarray(beta, dtype=float) * omega) ** 2


# --- limits that come from a formula ----------------------------------------------------------------------------------


def angle_limit(omega: ArrayLike, acceleration: ArrayLike = 1000.0) -> np.ndarray:
    """Joint angle (rad) at which `inertia_excitation` reaches acceleration (rad/s2) at shaft speed omega."""
    return np.sqrt(acceleration) / np.asarray(omega, dtype=float)


def length_angle_limit(length: ArrayLike, intersecting: ArrayLike = False) -> np.ndarray:
    """Workshop limit for a joint angle (rad) from the joint distance (mm): length in inches over 5 in degrees, when the
    end center lines are parallel, over 10 when they intersect."""
    return np.radians(np.asarray(length, dtype=float) / INCH / np.where(intersecting, 10.0, 5.0))
