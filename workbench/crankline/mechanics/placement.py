"""Where a powertrain stands: three numbers (axle-to-block, crank height, pitch) to a frame in the car, and back.

Engine frame: origin where the crank centerline pierces the plane of the block's rear face; x forward along the
crank, y left, z up in that plane. The base point of the block's rear face is (0, 0, -base_drop) in it. The output
shaft of the transmission lies on the crank centerline. Everything is closed form but the two pitch modes that depend on
where the joints come to stand; those are solved by Newton's method on all placements at once.

Lengths mm, angles rad; fields and arguments may be arrays that broadcast.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from .frames import Frame, direction, rotation

STATIONS = ("block_rear", "block_middle", "block_front")
"""Places along the crank at which a crank height may be stated."""

PITCH_MODES = ("parallel", "in_line", "balanced")
"""Ways of letting the rear joint decide the pitch; a `fixed` pitch needs no solving."""


@dataclass(frozen=True)
class Block:
    """What placement must know of an engine block, mm.

    base_drop: crank centerline down to the base of the rear face, in the plane of that face; length: rear face to
    front face along the crank.
    """

    base_drop: ArrayLike
    length: ArrayLike


@dataclass(frozen=True)
class Placement:
    """Where the powertrain stands, mm and rad; every field but height_at may be an array.

    axle_to_block: X of the base of the block's rear face; crank_height: Z of the crank centerline at the station
    height_at (`block_rear`, `block_middle`, `block_front`); pitch: positive raises the rear; lateral: Y of the crank
    centerline at the rear face, positive left; roll and yaw right-handed about X and Z.
    """

    axle_to_block: ArrayLike
    crank_height: ArrayLike
    pitch: ArrayLike
    lateral: ArrayLike = 0.0
    roll: ArrayLike = 0.0
    yaw: ArrayLike = 0.0
    height_at: str = "block_rear"


def station(block: Block, height_at: str) -> np.ndarray:
    """Engine x (mm forward of the rear face) of a height station; ValueError names the stations that exist."""
    length = np.asarray(block.length, dtype=float)
    if height_at == "block_rear":
        return np.zeros_like(length)
    if height_at == "block_middle":
        return 0.5 * length
    if height_at == "block_front":
        return length
    raise ValueError(f"height_at: found {height_at!r}; use one of {', '.join(STATIONS)}.")


def locate(placement: Placement, block: Block) -> Frame:
    """The engine frame in the car frame, in closed form.

    The base of the rear face comes to X = axle_to_block, the crank centerline at the station to Z = crank_height, and
    at the rear face to Y = lateral. Without roll and yaw the crank stands base_drop sin(pitch) ahead of the base.
    """
    turned = rotation(placement.roll, placement.pitch, placement.yaw)
    x = np.asarray(placement.axle_to_block, dtype=float) + block.base_drop * turned[..., 0, 2]
    y = np.asarray(placement.lateral, dtype=float)
    z = np.asarray(placement.crank_height, dtype=float) - station(block, placement.height_at) * turned[..., 2, 0]
    x, y, z = np.broadcast_arrays(x, y, z)
    return Frame(turned, np.stack([x, y, z], axis=-1))


# --- measures of a placed powertrain ----------------------------------------------------------------------------------


def crank_point(frame: Frame, x_engine: ArrayLike) -> np.ndarray:
    """Points of the crank centerline (and of the output shaft on it) at engine x (mm), in the car frame, (..., 3)."""
    return np.asarray(frame.origin) + np.asarray(x_engine, dtype=float)[..., None] * frame.axis


def crank_height_at(frame: Frame, x_engine: ArrayLike) -> np.ndarray:
    """Height of the crank centerline above the track at engine x (mm forward of the block's rear face)."""
    return crank_point(frame, x_engine)[..., 2]


def front_joint(frame: Frame, output_setback: ArrayLike) -> np.ndarray:
    """Centre of the front joint, output_setback (mm) behind the block's rear face on the crank axis, (..., 3)."""
    return crank_point(frame, -np.asarray(output_setback, dtype=float))


def block_base_rear(frame: Frame, block: Block) -> np.ndarray:
    """Base of the block's rear face in the car frame, (..., 3); its X is the axle-to-block."""
    drop = np.asarray(block.base_drop, dtype=float)
    return np.asarray(frame.origin) - drop[..., None] * np.asarray(frame.rotation)[..., :, 2]


def number_one_plug_distance(frame: Frame, plug: ArrayLike) -> np.ndarray:
    """Rear axle centerline forward to the center of the number one plug hole, along the car (its X), mm.

    plug: engine coordinates (..., 3) of the hole. The older reference for a placement; it depends on pitch: at 2 deg
    9.6 in of plug height are 0.34 in of this distance.
    """
    return frame.to_car(plug)[..., 0]


def setback(frame: Frame, foremost_plug: ArrayLike, wheelbase: ArrayLike) -> np.ndarray:
    """Front axle centerline back to the center of the foremost plug hole, along the car, mm; divide by the wheelbase
    for the share that rule books limit. Positive = the hole is behind the front axle.

    foremost_plug: engine coordinates (..., 3); on engines with staggered banks it need not be number one.
    """
    return np.asarray(wheelbase, dtype=float) - frame.to_car(foremost_plug)[..., 0]


def mid_plate_front(placement: Placement, block: Block, protector: ArrayLike) -> np.ndarray:
    """Rear axle centerline forward to the front face of the mid plate, along the car, mm.

    Exactly: X of the point (-protector, 0, -base_drop) of the engine frame, where the front face of the mid plate, one
    protector thickness behind the block's rear face, meets the level of the block's base in the engine's center
    plane: axle_to_block - protector cos(pitch) cos(yaw). protector = 0 without one.
    """
    forward = direction(placement.pitch, placement.yaw)[..., 0]
    return np.asarray(placement.axle_to_block, dtype=float) - np.asarray(protector, dtype=float) * forward


# --- pitch from the rear joint ----------------------------------------------------------------------------------------


def pitch_parallel(pinion_pitch: ArrayLike, yaw: ArrayLike = 0.0) -> np.ndarray:
    """Pitch at which the output axis is parallel to the pinion axis in side view: the pinion pitch itself, when the
    powertrain has no yaw. Front and rear joint angle are then equal and of opposite sense (Z layout)."""
    return np.arctan(np.tan(np.asarray(pinion_pitch, dtype=float)) * np.cos(yaw))


def pitch_in_line(
    axle_to_block: ArrayLike,
    crank_height: ArrayLike,
    height_at: str,
    block: Block,
    joint_x: ArrayLike,
    joint_z: ArrayLike,
    roll: ArrayLike = 0.0,
    yaw: ArrayLike = 0.0,
) -> np.ndarray:
    """Pitch at which the output axis, produced rearward, passes through the rear joint center in side view.

    Axle-to-block and crank height are held. With base drop 0 and the height stated at the rear face it is
    tan(pitch) = (joint_z - crank_height) / (axle_to_block - joint_x). nan where no pitch does it.
    """
    return _solve(1.0, axle_to_block, crank_height, height_at, block, 0.0, joint_x, joint_z, 0.0, roll, yaw)


def pitch_balanced(
    axle_to_block: ArrayLike,
    crank_height: ArrayLike,
    height_at: str,
    block: Block,
    output_setback: ArrayLike,
    joint_x: ArrayLike,
    joint_z: ArrayLike,
    pinion_pitch: ArrayLike,
    roll: ArrayLike = 0.0,
    yaw: ArrayLike = 0.0,
) -> np.ndarray:
    """Pitch at which front and rear joint angle are equal in size, in side view: the root that is not parallel.

    With the shaft at pitch s, the angles are s - pitch and s - pinion_pitch. Equal size has two roots: pitch =
    pinion_pitch (axes parallel, Z layout), which is the mode `parallel`, and pitch + pinion_pitch = 2 s (axes meet
    over the middle of the shaft, W or broken-back layout), which is returned here: whoever asks for equal angles and
    not for parallel axes wants the other root. Both cancel with the shaft's yokes in line. The W root stands near the
    in-line pitch, so its angles are small; its secondary couples add up where those of the Z root subtract. nan where
    no pitch does it. The two roots meet where the pinion already points at the front joint.
    """
    return _solve(
        2.0, axle_to_block, crank_height, height_at, block, output_setback, joint_x, joint_z, pinion_pitch, roll, yaw
    )


def solve_pitch(
    mode: str,
    axle_to_block: ArrayLike,
    crank_height: ArrayLike,
    height_at: str,
    block: Block,
    output_setback: ArrayLike,
    joint: ArrayLike,
    pinion_pitch: ArrayLike,
    roll: ArrayLike = 0.0,
    yaw: ArrayLike = 0.0,
) -> np.ndarray:
    """Pitch in rad by mode: `parallel`, `in_line` or `balanced`, axle-to-block and crank height held.

    output_setback: block rear face back to the front joint center along the crank axis, mm; joint: rear joint center
    in the car frame, (x, z) or (x, y, z) on the last axis. ValueError names the modes that exist; nan where a placement
    has no such pitch.
    """
    joint = np.asarray(joint, dtype=float)
    if joint.ndim == 0 or joint.shape[-1] not in (2, 3):
        raise ValueError(f"joint: found an array of shape {joint.shape}; give (x, z) or (x, y, z) on its last axis.")
    joint_x, joint_z = joint[..., 0], joint[..., -1]
    if mode == "parallel":
        # Depends on the pinion alone; take the shape that the other modes would have, and refuse what they refuse.
        along = station(block, height_at)
        size = np.broadcast(axle_to_block, crank_height, block.base_drop, along, output_setback, joint_x, roll)
        return pitch_parallel(pinion_pitch, yaw) + np.zeros(size.shape)
    if mode == "in_line":
        return pitch_in_line(axle_to_block, crank_height, height_at, block, joint_x, joint_z, roll, yaw)
    if mode == "balanced":
        return pitch_balanced(
            axle_to_block, crank_height, height_at, block, output_setback, joint_x, joint_z, pinion_pitch, roll, yaw
        )
    raise ValueError(f"pitch: found the mode {mode!r}; use one of {', '.join(PITCH_MODES)}, or an angle.")


def _solve(weight: float, axle_to_block: ArrayLike, crank_height: ArrayLike, height_at: str, block: Block, output_setback: ArrayLike,
           joint_x: ArrayLike, joint_z: ArrayLike, pinion_pitch: ArrayLike, roll: ArrayLike, yaw: ArrayLike) -> np.ndarray:
    """Newton's method on weight * s - (weight - 1) * pinion_pitch - side_pitch = 0, all placements at once.

    s is the pitch, in side view, of the line from the rear joint forward to the point output_setback behind the block.
    weight 1 lays the output axis on that line, weight 2 lays the line midway between both axes. While the joint is
    behind that point the left side falls steadily with pitch, so there is one root and the way to it is short.
    """
    axle_to_block, crank_height, drop, along, setback_, joint_x, joint_z, pinion_pitch, roll, yaw = np.broadcast_arrays(
        *(
            np.asarray(value, dtype=float)
            for value in (
                axle_to_block, crank_height, block.base_drop, station(block, height_at), output_setback,
                joint_x, joint_z, pinion_pitch, roll, yaw,
            )
        )
    )  # fmt: skip
    sin_r, cos_r, sin_y, cos_y = np.sin(roll), np.cos(roll), np.sin(yaw), np.cos(yaw)
    limit = np.radians(80.0)

    def residual(pitch: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        sin_p, cos_p = np.sin(pitch), np.cos(pitch)
        run = axle_to_block + drop * (cos_y * sin_p * cos_r + sin_y * sin_r) - setback_ * cos_y * cos_p - joint_x
        rise = joint_z - crank_height - (along + setback_) * sin_p
        run_slope = drop * cos_y * cos_p * cos_r + setback_ * cos_y * sin_p
        rise_slope = -(along + setback_) * cos_p
        side = np.arctan2(sin_p, cos_y * cos_p)
        side_slope = cos_y / (sin_p**2 + (cos_y * cos_p) ** 2)
        value = weight * np.arctan2(rise, run) - (weight - 1.0) * pinion_pitch - side
        slope = weight * (rise_slope * run - rise * run_slope) / (run**2 + rise**2) - side_slope
        return value, slope, run

    pitch = np.zeros(axle_to_block.shape)
    with np.errstate(divide="ignore", invalid="ignore"):
        for _ in range(50):
            value, slope, _run = residual(pitch)
            step = value / slope
            pitch = np.clip(pitch - step, -limit, limit)
            if not np.any(np.abs(step) > 1e-15):
                break
        value, _slope, run = residual(pitch)
    return np.where((np.abs(value) < 1e-12) & (run > 0.0), pitch, np.nan)


# --- surface plate ----------------------------------------------------------------------------------------------------


def plate_frame(height: ArrayLike, rake: ArrayLike) -> Frame:
    """Axes of the surface plate as a frame in the car frame.

    The plate's top lies height (mm, square to the plate) below the car frame's origin, and the track plane lies
    pitched nose down by rake (rad) on the plate: a pitch to the plate is the pitch to the track plus the rake. The
    plate's origin is the foot on its top square below the car's origin; its X runs forward, its Z square to the plate.
    """
    turned = rotation(pitch=-np.asarray(rake, dtype=float))
    return Frame(turned, -np.asarray(height, dtype=float)[..., None] * turned[..., :, 2])


def to_plate(points: ArrayLike, height: ArrayLike, rake: ArrayLike) -> np.ndarray:
    """Car-frame points (..., 3) in axes of the surface plate (see `plate_frame`)."""
    return plate_frame(height, rake).to_local(points)
