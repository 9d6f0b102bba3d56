"""The placed powertrain as every part, rule and drawing sees it: records with defaults filled in, and where things stand.

One scene is one placement of one car. It is computed from records alone, in closed form, and is the same whether the
records came from a car file or from a document.
"""
from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from .. import model
from ..record import filled
from ..units import sized
from . import frames, joints
from . import placement as placing

QUARTER_INCH = 6.35


class SceneError(ValueError):
    """A placement that cannot be computed. The message is one sentence naming the field and the way out."""


@dataclass(frozen=True)
class Stack:
    """What is between block and transmission, mm, in the order from the front; 0 for a plate that is not there."""
    protector: float
    mid_plate: float

    @property
    def total(self) -> float:
        """Distance from the block's rear face to the bell's front face."""
        return self.protector + self.mid_plate


@dataclass(frozen=True)
class Scene:
    """Records (defaults filled) and frames of one placed car. Points are (3,) arrays in the car frame, mm, rad.

    ``engine_frame``: axes x forward along the crank, y left, z up in the plane of the block; ``shaft_frame``: origin in
    the rear joint, x forward along the driveshaft, y left and level.
    """
    chassis: model.Chassis
    rear_end: model.RearEnd
    engine: model.Engine
    transmission: model.Transmission
    placement: model.Placement
    stack: Stack
    pitch: float
    engine_frame: frames.Frame
    front_joint: np.ndarray
    rear_joint: np.ndarray
    pinion_axis: np.ndarray
    shaft_frame: frames.Frame
    driveline: joints.Driveline

    @property
    def block(self) -> placing.Block:
        """The block as placement mathematics wants it."""
        return placing.Block(self.engine.base_drop, self.engine.block_length)

    @property
    def located(self) -> placing.Placement:
        """The placement with its pitch solved."""
        return located(self.placement, self.pitch)

    def engine_point(self, x: float, y: float = 0.0, z: float = 0.0) -> np.ndarray:
        """A point of the engine frame in the car frame."""
        return self.engine_frame.to_car(np.array([x, y, z], dtype=float))

    def shaft_at(self, x: float) -> np.ndarray:
        """Point of the shaft's axis, produced beyond the joints, at a chassis station."""
        span = self.front_joint - self.rear_joint
        return self.rear_joint + span * ((x - self.rear_joint[0]) / span[0])

    def loop_center(self, loop: model.Loop) -> np.ndarray:
        """Centre of a loop: stated, or on the shaft axis to the nearest quarter inch.

        Loops are welded or pinned to chassis tubes, so their seat is a round number and does not follow the shaft by
        hundredths when the placement is adjusted.
        """
        on_axis = np.round(self.shaft_at(loop.x) / QUARTER_INCH) * QUARTER_INCH
        y = on_axis[1] if loop.center_y is None else loop.center_y
        z = on_axis[2] if loop.center_z is None else loop.center_z
        return np.array([loop.x, y, z])


def located(placement: model.Placement, pitch: float) -> placing.Placement:
    """A placement record as the arrays that placement mathematics wants."""
    return placing.Placement(placement.axle_to_block, placement.crank_height, pitch, placement.lateral, placement.roll,
                             placement.yaw, placement.height_at)


def pinion(chassis: model.Chassis, rear_end: model.RearEnd) -> tuple[np.ndarray, float]:
    """Rear joint center (3,) and pinion pitch at static ride height; the housing gives the joint where none is stated."""
    pitch = rear_end.pinion_pitch
    if pitch is None:
        raise SceneError("rear_end.pinion_pitch is missing; give it in degrees, or a pinion line in the side sketch")
    if rear_end.pinion_joint is not None:
        joint = rear_end.pinion_joint
        return np.array([joint.x, joint.y, joint.z]), pitch
    if rear_end.housing is None:
        raise SceneError("rear_end.pinion_joint is missing; give the joint, the housing, or a pinion line in the side sketch")
    turned = frames.rotation(0.0, pitch, 0.0)
    offset = turned @ np.array([rear_end.housing.joint_ahead, 0.0, -rear_end.housing.hypoid_drop])
    return offset + np.array([0.0, 0.0, chassis.rear_tire.loaded_radius]), pitch


def stack_of(plates: model.Plates) -> Stack:
    """The stack that a car's plates make."""
    return Stack(*(plate.thickness if plate is not None else 0.0 for plate in (plates.protector, plates.mid)))


def of(car: model.Car) -> Scene:
    """The scene of a car; SceneError where the placement has no solution."""
    absent: Any = None
    # Further tubes are parts of their own; a document's scene holds none either.
    return build(replace(car.chassis, tubes=absent), car.rear_end, car.engine, car.transmission, car.placement, stack_of(car.plates))


def build(chassis: model.Chassis, rear_end: model.RearEnd, engine: model.Engine, transmission: model.Transmission,
          placement: model.Placement, stack: Stack) -> Scene:
    """The scene of separate records (a document keeps them on separate objects); SceneError where there is none."""
    chassis, rear_end, engine = filled(chassis), filled(rear_end), filled(engine)
    transmission, placement = filled(transmission), filled(placement)
    rear_joint, pinion_pitch = pinion(chassis, rear_end)
    block = placing.Block(engine.base_drop, engine.block_length)
    setback = stack.total + transmission.bell_to_seal + transmission.joint_from_seal
    if placement.pitch_mode == "fixed":
        if placement.pitch is None:
            raise SceneError("placement.pitch is missing; give an angle such as 2.0 deg, or parallel, in_line or balanced")
        pitch = float(placement.pitch)
    else:
        pitch = float(placing.solve_pitch(placement.pitch_mode, placement.axle_to_block, placement.crank_height,
                                          placement.height_at, block, setback, rear_joint, pinion_pitch, placement.roll,
                                          placement.yaw))
        if not np.isfinite(pitch):
            raise SceneError(f"placement.pitch: {placement.pitch_mode} has no solution for this axle-to-block and crank "
                             "height; move the powertrain forward or give an angle")
    frame = placing.locate(located(placement, pitch), block)
    front_joint = placing.front_joint(frame, setback)
    if front_joint[0] - rear_joint[0] < 1.0:
        raise SceneError(f"placement.axle_to_block: the front joint comes to X = {sized(front_joint[0], 2)}, not ahead "
                         f"of the rear joint at X = {sized(rear_joint[0], 2)}; move the powertrain forward")
    axis = frames.direction(pinion_pitch)
    line = joints.driveline(front_joint, frame.axis, rear_joint, axis)
    return Scene(chassis, rear_end, engine, transmission, replace(placement), stack, pitch, frame, front_joint, rear_joint,
                 axis, shaft_frame(rear_joint, front_joint), line)


def shaft_frame(rear_joint: np.ndarray, front_joint: np.ndarray) -> frames.Frame:
    """Frame of a shaft: origin in the rear joint, x forward along it, y left and level."""
    forward = front_joint - rear_joint
    forward = forward / np.linalg.norm(forward)
    left = frames.cross([0.0, 0.0, 1.0], forward)
    left = left / np.linalg.norm(left)
    return frames.Frame(np.column_stack([forward, left, frames.cross(forward, left)]), np.asarray(rear_joint, dtype=float))
